"""Which chains came closest on a trip, and what came of them."""

from __future__ import annotations

from sternwatch.debrief.trip.trip_events import Separation, separations
from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.chains.encounters import Encounters, Least


def test_the_worst_comes_first_and_what_was_never_near_is_left_out() -> None:
    met = Encounters(Required())
    for ratio, keys in (
        (0.4, ("1", "2")),
        (0.9, ("2", "3")),
        (2.0, ("3", "4")),
        (3.5, ("4", "5")),
        (0.7, ("5", "6")),
    ):
        met.least_of[keys] = Least(ratio, 0.3 * ratio, 0.3, 100.0 * ratio, keys)
    met._standing[("2", "3")] = 90.0  # they touched
    assert separations(met) == [
        Separation(("2", "3"), 0.27, 90.0, 0.3, "touch"),
        Separation(("1", "2"), 0.12, 40.0, 0.3, "near_pass"),
        Separation(("5", "6"), 0.21, 70.0, 0.3, "near_pass"),
        Separation(("3", "4"), 0.6, 200.0, 0.3, "clear_of_each_other"),
    ]
