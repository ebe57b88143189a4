"""Marks and fish seen: kept, folded, said, taken back, and found again on the next trip."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from sternwatch.local_time import BoatTime
from sternwatch.logbook.actions.kinds import Action, ActionError, parse
from sternwatch.logbook.actions.place_acts import marks_before
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import RodDefaults
from sternwatch.logbook.crew.words import describe
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip

Act = Callable[..., Action]
Rods = tuple[RodDefaults, ...]


def test_places_are_kept_in_order_said_and_taken_back(act: Act, rods: Rods) -> None:
    done = [
        act("m1", 10, "mark", what="snag", latitude_deg=47.0, longitude_deg=-90.0),
        act("s1", 20, "fish seen", depth_m=18.9),
        act("u1", 30, "undo", of="m1"),
    ]
    crew = fold(done, rods)
    assert [place.id for place in crew.places] == ["s1"]
    assert describe(done[0], crew, BoatTime(0)).startswith("snag marked 23:00")
    assert describe(done[1], crew, BoatTime(0)).startswith("fish seen at 62 ft")
    assert describe(done[1], crew, BoatTime(0), unit="m").startswith("fish seen at 18.9 m")
    assert [place.id for place in fold([*done, act("r", 40, "restore", of="m1")], rods).places] == ["m1", "s1"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"kind": "mark", "what": "rock"}, 'what: "rock" is not accepted; accepted: '),
        ({"kind": "mark", "what": "net", "latitude_deg": 47.0}, "both latitude_deg and longitude_deg, or neither"),
        ({"kind": "mark", "what": "net", "latitude_deg": 97.0, "longitude_deg": 0.0}, "latitude_deg: 97.0"),
        ({"kind": "fish seen"}, "depth_m: is missing"),
        ({"kind": "fish seen", "depth_m": -1.0}, "depth_m: -1.0 is not accepted"),
    ],
)
def test_a_wrong_one_is_refused_by_name(given: dict[str, Any], said: str) -> None:
    with pytest.raises(ActionError) as fault:
        parse({"id": "x", "time": "2026-07-18T23:42:10Z"} | given)
    assert said in str(fault.value)


def test_marks_of_earlier_trips_come_without_what_was_taken_back(tmp_path: Path, begin: datetime, act: Act) -> None:
    here = {"latitude_deg": 47.0, "longitude_deg": -90.0}
    with Logbook(tmp_path / "log.sqlite") as book:
        for trip, session in (("one", "live"), ("two", "live"), ("drill", "practice")):
            book.begin_trip(Trip(trip, begin, session=session))
        for trip, action in (
            ("one", act("a", 1, "mark", what="net", **here)),
            ("one", act("b", 2, "mark", what="snag", **here)),
            ("one", act("c", 3, "mark", what="bait")),
            ("one", act("d", 4, "undo", of="b")),
            ("two", act("e", 5, "mark", what="break", **here)),
            ("drill", act("f", 6, "mark", what="net", **here)),
        ):
            assert book.submit(trip, action).result().kept == "logbook"
        assert [mark.id for mark in book.ask(marks_before)] == ["a", "e"]
        assert [mark.id for mark in book.ask(lambda c: marks_before(c, "two"))] == ["a"]
