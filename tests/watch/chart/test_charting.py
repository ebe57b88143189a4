"""The chart's bottom made beside a session: of this trip alone, and anew only when it does not serve any more."""

from __future__ import annotations

import time
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.bottom.soundings import Sounding, Soundings
from sternwatch.watch.chart.charting import Charting, View
from sternwatch.watch.picture.ground import GroundPicture

# As agreed: a change of one is to be noticed.
EVERY_S = 10.0


@pytest.fixture
def charting():
    made = Charting(SYSTEMS["metric"])
    yield made
    made.stop()


def ground(depth_m=20.0, count=30):
    soundings = Soundings()
    for k in range(count):
        soundings.add(Sounding(float(k), 2.0 * k, 0.0, depth_m))
    return GroundPicture((47.0, -90.0), (0.0, 0.0), 0.0, (), (), soundings)


def until(charting, ready, *asked):
    end = time.monotonic() + 10.0
    while not ready(found := charting.look(*asked)):
        assert time.monotonic() < end, charting.trouble
        time.sleep(0.01)
    return found


VIEW = View(0.0, 0.0, 100.0)


def test_the_bottom_comes_beside_and_stays_while_it_serves(charting):
    over = ground()
    assert charting.look("a", 100.0, over, VIEW) is None
    first = until(charting, lambda bed: bed is not None, "a", 100.0, over, VIEW)
    assert first.at(0.0, 0.0).depth_m == pytest.approx(20.0)
    assert first.at(0.0, 0.0).age_s == pytest.approx(90.0, abs=12.0)
    for t_s, view in (
        (100.0 + EVERY_S - 1.0, VIEW),
        (101.0, View(20.0, 20.0, 100.0)),
        (101.0, View(0.0, 0.0, 120.0)),
    ):
        assert charting.look("a", t_s, over, view) is first


@pytest.mark.parametrize(
    ("t_s", "view"),
    [(100.0 + EVERY_S, VIEW), (50.0, VIEW), (100.0, View(200.0, 0.0, 100.0)), (100.0, View(0.0, 0.0, 200.0))],
)
def test_it_is_made_anew_after_a_while_after_a_jump_and_where_it_does_not_reach(charting, t_s, view):
    first = until(charting, lambda bed: bed is not None, "a", 100.0, ground(), VIEW)
    other = until(charting, lambda bed: bed is not first, "a", t_s, ground(26.0), view)
    assert other.at(50.0, 0.0).depth_m == pytest.approx(26.0)


def test_another_trips_bottom_is_never_shown(charting):
    until(charting, lambda bed: bed is not None, "a", 100.0, ground(), VIEW)
    assert charting.look("b", 100.0, ground(31.0), VIEW) is None
    made = until(charting, lambda bed: bed is not None, "b", 100.0, ground(31.0), VIEW)
    assert np.nanmax(made.depth_m) == pytest.approx(31.0)


def test_what_fails_is_told_in_words():
    def broken():
        raise OSError("the disk is gone")

    charting = Charting(SYSTEMS["metric"], broken)
    charting.look("a", 0.0, ground(), VIEW)
    end = time.monotonic() + 10.0
    while not charting.trouble and time.monotonic() < end:
        time.sleep(0.01)
    charting.stop()
    assert "the disk is gone" in charting.trouble


def test_the_window_must_hold_all_that_is_seen(charting):
    seen = []
    charting.look("a", 100.0, ground(), View(30.0, -70.0, 100.0))
    window = charting._asked.window
    assert window.holds(-70.0, -170.0, 130.0, 30.0)
    charting._asked = replace(
        charting._asked, window=SimpleNamespace(holds=lambda *edges: seen.append(edges) or True)
    )
    charting.look("a", 101.0, ground(), View(30.0, -70.0, 100.0))
    assert seen == [(-70.0, -170.0, 130.0, 30.0)], "south, west, north, east"


def test_what_was_sounded_on_earlier_trips_is_read_once_a_trip(monkeypatch):
    from sternwatch.watch.chart import charting as module

    read, taken = [], []
    monkeypatch.setattr(module, "bed", lambda rows, *_, **__: taken.append(rows.tolist()))
    sounded = SimpleNamespace(
        rows=lambda: np.ones((1, 4)), earlier_rows=lambda: (read.append(True), np.full((1, 4), 2.0 * len(read)))[1]
    )
    made = Charting(SYSTEMS["metric"])
    for trip in ("a", "a", "b", "b"):
        made._make(SimpleNamespace(trip=trip, ground=replace(ground(), sounded=sounded), window=None, t_s=0.0))
    made.stop()
    assert [rows[1][0] for rows in taken] == [2.0, 2.0, 4.0, 4.0]
    assert all(rows[0] == [1.0] * 4 for rows in taken)


@pytest.mark.parametrize(
    ("half_m", "anew"), [(70.0, True), (70.1, False), (139.9, False), (140.0, True), (145.0, True)]
)
def test_a_view_much_narrower_or_wider_asks_for_another_bottom(charting, half_m, anew):
    """The first reaches half as far again as what is seen, with 150 cells over that."""
    charting.look("a", 100.0, ground(), VIEW)
    asked = charting._asked
    south, west, north, east = (-149.0, -149.0, 149.0, 149.0)
    assert asked.window.holds(south, west, north, east)
    assert not asked.window.holds(-152.0, west, north, east)
    assert asked.window.step_m == pytest.approx(200.0 / 150.0)
    charting.look("a", 100.0 + EVERY_S - 0.1, ground(), View(0.0, 0.0, half_m))
    assert (charting._asked is not asked) is anew
