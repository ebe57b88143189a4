"""A net or snag on a chain's way is told with the side to pass it; fish seen name the rods that pass them."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime
from itertools import count
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import Marked, parse
from sternwatch.watch.alerts.causes import _passing_cause
from sternwatch.watch.bottom import marked_places as module
from sternwatch.watch.bottom.charted_ground import _place
from sternwatch.watch.bottom.marked_places import MarkedPlaces, Spot, fish_pictures, mark_pictures
from sternwatch.watch.bottom.passings import Passing
from sternwatch.watch.bottom.soundings import local_degrees
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.alert import Alert, Priority
from sternwatch.watch.picture.model import LineForFish

ORIGIN = (47.0, -90.0)


@pytest.fixture
def sail(two_rods: Spread, hand_feed: Callable[[Watch], Any]) -> Callable[..., Any]:
    def make(**setup: Any) -> Any:
        return hand_feed(new_watch(Setup(two_rods, start="fishing", members=0, **setup)))

    return make


_ids = count()


def _act(feed: Any, kind: str, **fields: Any) -> str:
    """An entry at this moment of the hand feed; its id."""
    time = datetime.fromtimestamp(1_784_000_000.0 + feed.t_s, UTC)
    given = {"id": f"x{next(_ids)}", "time": time, "elapsed_s": feed.t_s, "kind": kind}
    feed.watch.act(parse(given | fields))
    return str(given["id"])


def _ahead(feed: Any, metres: float, abeam: float, what: str) -> None:
    """A mark so far north of the boat, her course being north."""
    latitude, longitude = local_degrees(ORIGIN, (feed.t_s + metres, abeam))
    _act(feed, "mark", what=what, latitude_deg=latitude, longitude_deg=longitude)


def _alerts(feed: Any) -> list[Alert]:
    return [alert for alert in feed.watch.picture().alerts if alert.kind.endswith(" ahead")]


def test_a_net_ahead_names_the_rods_the_time_and_the_side(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(90, bottom=60.0)
    _ahead(feed, 100.0, -38.0, "net")
    feed.run(6, bottom=60.0)
    alert = _alerts(feed)[0]
    assert alert.priority is Priority.WARNING
    assert alert.keys == ("1",)  # the diver runs some ten metres to port of the boat, the ball to starboard
    assert alert.text == "A net lies on the way of this line"
    rod = next(rod for rod in feed.watch.picture().rods if rod.key == "1")
    assert rod.abeam_m is not None
    shift = -38.0 + 30.0 - rod.abeam_m
    assert alert.advice == f"Pass {shift / 0.3048:.0f} ft farther to starboard"
    assert alert.time_left_s == pytest.approx(94.0, abs=40.0)
    mark = feed.watch.picture().marks[0]
    assert (mark.what, mark.earlier) == ("net", False)
    assert mark.astern_m == pytest.approx(-94.0, abs=1.0)
    assert mark.abeam_m == pytest.approx(-38.0, abs=0.5)


def test_what_lies_beside_the_way_or_is_no_danger_is_no_alert(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(90, bottom=60.0)
    _ahead(feed, 100.0, 60.0, "net")
    _ahead(feed, 100.0, -5.0, "bait")
    _ahead(feed, 400.0, 0.0, "net")  # too far yet
    feed.run(10, bottom=60.0)
    assert len(feed.watch.picture().marks) == 3
    assert not _alerts(feed)


@pytest.mark.parametrize(("bottom", "expected"), [(60.0, []), (20.0, ["A snag lies on the way of this line"])])
def test_a_snag_matters_to_what_runs_near_the_bottom(
    sail: Callable[..., Any], bottom: float, expected: list[str]
) -> None:
    feed = sail()
    feed.run(90, bottom=bottom)
    latitude, longitude = local_degrees(ORIGIN, (30.0, 2.0))  # where it was sounded, then passed again
    earlier = Marked(
        id="old", time=datetime.fromtimestamp(1_700_000_000.0, UTC), what="snag",
        latitude_deg=latitude, longitude_deg=longitude,
    )  # fmt: skip
    again = sail(marked=(earlier,))
    again.watch.bottom.soundings = feed.watch.bottom.soundings.copy()
    again.run(14, bottom=bottom)
    assert [alert.text for alert in _alerts(again)] == expected
    assert all(mark.earlier and mark.age_s is not None and mark.age_s > 8e7 for mark in again.watch.picture().marks)


def test_a_mark_without_a_place_is_where_the_boat_was_then(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(40, bottom=60.0)
    _act(feed, "mark", what="bait")
    feed.run(30, bottom=60.0)
    mark = feed.watch.picture().marks[0]
    assert mark.astern_m == pytest.approx(30.0, abs=1.5)
    assert not feed.watch.picture().alerts


def test_fish_seen_name_who_passes_them_and_the_line_for_the_others(
    sail: Callable[..., Any], two_rods: Spread
) -> None:
    feed = sail()
    feed.run(120, bottom=60.0)
    down = next(rod for rod in feed.watch.picture().rods if rod.key == "2")
    assert down.depth_m is not None
    _act(feed, "fish seen", depth_m=down.depth_m + 1.0)
    feed.run(2, bottom=60.0)
    fish = feed.watch.picture().fish_seen[0]
    assert fish.passing == ("2",)
    assert [line.key for line in fish.others] == ["1"]
    line = fish.others[0]
    assert line.line_out_m is not None
    assert fish.speed_m_s == pytest.approx(1.0, abs=0.02)
    # From the other side: with that line out the diver settles at that depth.
    rod = depth_answer(two_rods, 1.0, now={"1": RodNow(line.line_out_m)}).rods[0]
    assert rod.depth_m == pytest.approx(fish.depth_m, abs=0.15)
    feed.run(60, bottom=60.0)
    later = feed.watch.picture().fish_seen[0]
    assert later.age_s == pytest.approx(62.0, abs=1.1)
    assert later.astern_m == pytest.approx(62.0, abs=2.0)


def test_taken_up_from_a_copy_the_sights_go_on_the_same(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(90, bottom=60.0)
    _ahead(feed, 100.0, -38.0, "net")
    _act(feed, "fish seen", depth_m=18.0)
    feed.run(5, bottom=60.0)
    twin = type(feed)(feed.watch.copy())
    twin.t_s, twin.heading_deg = feed.t_s, feed.heading_deg
    for one in (feed, twin):
        one.run(20, bottom=40.0)
    mine, its = feed.watch.picture(), twin.watch.picture()
    assert mine.fish_seen == its.fish_seen != ()
    assert mine.marks == its.marks != ()
    assert mine.alerts == its.alerts
    assert [rod.bottom for rod in mine.rods] == [rod.bottom for rod in its.rods]


def test_fish_taken_back_are_gone_and_old_ones_are_not_told(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(30, bottom=60.0)
    seen = _act(feed, "fish seen", depth_m=20.0)
    feed.run(2, bottom=60.0)
    assert len(feed.watch.picture().fish_seen) == 1
    _act(feed, "undo", of=seen)
    feed.run(2, bottom=60.0)
    assert feed.watch.picture().fish_seen == ()


@pytest.mark.parametrize(
    ("time_s", "text"), [(0.0, "A net is among these lines"), (0.1, "A net lies on the way of these lines")]
)
def test_a_mark_that_the_lines_have_reached_is_among_them(time_s: float, text: str) -> None:
    passing = Passing(Spot("m", "net", (0.0, 0.0), 5.0), ("1", "2"), time_s, 12.0)
    assert _passing_cause(passing, SYSTEMS["metric"]).text == text


@pytest.mark.parametrize(("now_s", "age_s"), [(5.0, 0.0), (4.5, 0.0), (5.5, 0.5)])
def test_a_marks_age_is_never_negative(now_s: float, age_s: float) -> None:
    place = _place(Spot("m", "net", (1.0, 2.0), 5.0), now_s)
    assert place is not None
    assert place.age_s == age_s


@pytest.mark.parametrize(
    ("astern", "abeam", "shown"), [(999.0, 0.0, 1), (1001.0, 0.0, 0), (-600.0, 800.0, 1), (-600.0, 801.0, 0)]
)
def test_marks_are_shown_within_a_kilometre(astern: float, abeam: float, shown: int) -> None:
    over: Any = SimpleNamespace(seen=lambda _: (astern, abeam))
    made = mark_pictures(MarkedPlaces({"m": Spot("m", "net", (1.0, 2.0), 5.0)}), over, 8.0)
    assert [(mark.id, mark.astern_m, mark.age_s) for mark in made] == [("m", astern, 3.0)] * shown


@pytest.mark.parametrize(("ago_s", "shown"), [(1799.0, 1), (1800.0, 1), (1801.0, 0)])
def test_fish_are_shown_for_half_an_hour_and_rods_within_five_feet_pass_them(ago_s: float, shown: int) -> None:
    lines = (LineForFish("1", 30.0, ""), LineForFish("2", 40.0, ""), LineForFish("3", 50.0, ""))
    places = MarkedPlaces({"f": Spot("f", "fish", (1.0, 2.0), 0.0, False, 12.0, lines, 1.1)})
    over: Any = SimpleNamespace(seen=lambda _: (30.0, -4.0))
    rods: Any = [SimpleNamespace(key=key, depth_m=depth) for key, depth in (("1", 13.5), ("2", 10.4), ("3", None))]
    made = fish_pictures(places, over, ago_s, rods)
    assert [(one.passing, [line.key for line in one.others]) for one in made] == [(("1",), ["2", "3"])] * shown
    assert [(one.astern_m, one.abeam_m, one.age_s) for one in made] == [(30.0, -4.0, ago_s)] * shown


@pytest.mark.parametrize(
    ("speed", "known", "lines"), [(0.19, True, 0), (0.2, True, 2), (1.0, True, 2), (1.0, False, 0)]
)
def test_lines_for_fish_are_told_while_she_trolls(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread, speed: float, known: bool, lines: int
) -> None:
    asked: list[tuple[float, float, float]] = []

    def answer(_: object, __: object, depth: float, speed_m_s: float, *, heading_rad: float, now: RodNow) -> Any:
        assert now == RodNow()
        asked.append((depth, speed_m_s, heading_rad))
        return SimpleNamespace(line_out_as_counter_m=33.0, why="")

    monkeypatch.setattr(module, "line_out_for_depth", answer)
    entry: Any = parse({"id": "a", "time": datetime.fromtimestamp(0.0, UTC), "kind": "fish seen", "depth_m": 12.0})
    crew: Any = SimpleNamespace(rods={key: SimpleNamespace(setting=None, lead_m=None) for key in "12"})
    boat: Any = SimpleNamespace(speed_m_s=speed, t_s=5.0 if known else None, heading_deg=90.0)
    spot = module._new(entry, 5.0, None, crew, two_rods, boat)
    assert [line.line_out_m for line in spot.lines] == [33.0] * lines
    assert spot.speed_m_s == (speed if lines else None)
    assert asked == [(12.0, speed, pytest.approx(math.pi / 2.0))] * lines
    assert (spot.earlier, spot.t_s, spot.depth_m) == (False, 5.0, 12.0)


def places_after(*steps: tuple[Any, Any, float | None]) -> MarkedPlaces:
    """Steps with (entries, origin, offset of the clock); she is at (47.001, -90) at 50 s."""
    made = MarkedPlaces()
    boat: Any = SimpleNamespace(t_s=1.0, speed_m_s=1.0, heading_deg=0.0)
    for standing, origin, offset in steps:
        crew: Any = SimpleNamespace(places=standing, rods={})
        made.step(crew, None, boat, (), origin, offset, lambda t: (47.001, -90.0) if t == 50.0 else None)  # type: ignore[arg-type]
    return made


def mark(elapsed_s: float | None, **place: float) -> Any:
    time = datetime.fromtimestamp(1050.0, UTC)
    given = {"id": "m", "time": time, "kind": "mark", "what": "net", **place}
    return parse(given if elapsed_s is None else given | {"elapsed_s": elapsed_s})


@pytest.mark.parametrize(
    ("entry", "steps", "north_m", "t_s"),
    [
        (mark(50.0), [(ORIGIN, None)], 111.195, 50.0),  # where the boat was then
        (mark(None), [(ORIGIN, 1000.0)], 111.195, 50.0), (mark(None), [(ORIGIN, None)], None, None),
        (mark(None), [(ORIGIN, None), (ORIGIN, 1000.0)], None, None),  # looked for once
        (mark(60.0), [(ORIGIN, None)], None, 60.0),
        (mark(60.0, latitude_deg=47.002, longitude_deg=-90.0), [(ORIGIN, None)], 222.39, 60.0),
        (mark(60.0, latitude_deg=47.002, longitude_deg=-90.0), [(None, None)], None, 60.0),
        (mark(60.0, latitude_deg=47.002, longitude_deg=-90.0), [(None, None), (ORIGIN, None)], 222.39, 60.0),
        (mark(50.0), [(None, None), (ORIGIN, None)], None, 50.0),
    ],
)  # fmt: skip
def test_where_a_mark_is(entry: Any, steps: list[Any], north_m: float | None, t_s: float | None) -> None:
    """At its own place as soon as there is a plane to put it in; else where the boat was, by its time."""
    spot = places_after(*(((entry,), origin, offset) for origin, offset in steps)).spots["m"]
    assert (None if spot.at_m is None else spot.at_m[0]) == (
        None if north_m is None else pytest.approx(north_m, abs=0.01)
    )
    assert spot.t_s == t_s


def test_a_mark_taken_back_is_gone() -> None:
    assert places_after(((mark(50.0),), ORIGIN, None), ((), ORIGIN, None)).spots == {}


@pytest.mark.parametrize(("now_s", "seen"), [(100.0, True), (1900.0, True), (1900.1, False)])
def test_fish_are_kept_for_half_an_hour(now_s: float, seen: bool) -> None:
    """Those whose time nobody knows stay."""
    spots = {
        "a": Spot("a", "fish", None, 100.0),
        "b": Spot("b", "fish", (1.0, 2.0), None),
        "c": Spot("c", "net", None, 0.0),
    }
    assert [one.id for one in MarkedPlaces(spots).fish(now_s)] == (["a", "b"] if seen else ["b"])
