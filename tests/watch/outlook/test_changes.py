"""Single changes: their candidates from the smallest up, what is left of one later, and their words."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.boat.manoeuvres import hold, turn
from sternwatch.watch.forecast.turn_limit import RADII_M
from sternwatch.watch.outlook.changes import (
    LINE_IN_STEPS,
    Change,
    again,
    line_step_m,
    lines,
    other_side,
    radius_m,
    record,
    sentence,
    short,
    slower_turns,
    speeds,
    turn_words,
    turns_away,
)
from sternwatch.watch.picture.manoeuvre import Manoeuvre

US, METRIC = SYSTEMS["us"], SYSTEMS["metric"]
SPEED = 1.0
NAMES = {"1": "PORT"}
BY_RATE = Manoeuvre("as it goes", math.pi, 0.05)  # on a radius of 20 m
BY_RADIUS = turn("port", 180.0, radius_m=20.0)


def test_the_radius_of_a_turn() -> None:
    assert radius_m(hold(), SPEED) is None
    assert radius_m(BY_RADIUS, SPEED) == 20.0
    assert radius_m(BY_RATE, SPEED) == pytest.approx(20.0)
    assert radius_m(BY_RATE, 1.5) == pytest.approx(30.0)
    # Nothing said: half a circle in two minutes.
    assert radius_m(Manoeuvre("plan", -math.pi), SPEED) == pytest.approx(120.0 / math.pi, rel=0.02)


@pytest.mark.parametrize(("lasts_s", "counts_s"), [(1.5, 1.5), (0.5, 1.0)])
def test_a_touch_of_the_helm_has_the_radius_of_its_time_which_is_a_second_at_least(
    lasts_s: float, counts_s: float
) -> None:
    """At a quarter of a circle in two minutes."""
    by = lasts_s * math.pi / 240.0
    assert radius_m(Manoeuvre("plan", by), SPEED) == pytest.approx(counts_s / by, rel=1e-3)


def test_wider_turns_are_those_of_the_limits_and_none_tighter_than_the_limit() -> None:
    wider = sorted(r for r in RADII_M if r > 20.0)
    made = list(slower_turns(BY_RATE, SPEED))
    assert [SPEED / change.manoeuvre.rate_rad_s for change in made] == pytest.approx(wider)
    assert [change.kind for change in made] == ["turn"] * len(wider)
    assert made[0].effort == pytest.approx(math.log(wider[0] / 20.0) / math.log(1.0 / 0.7))
    by_radius = list(slower_turns(BY_RADIUS, SPEED))
    assert [change.manoeuvre.radius_m for change in by_radius] == wider
    least = wider[2]
    assert [c.manoeuvre.radius_m for c in slower_turns(BY_RADIUS, SPEED, least)] == wider[2:]
    assert list(slower_turns(hold(), SPEED)) == []
    widest = replace(BY_RADIUS, radius_m=max(RADII_M))
    assert [c.manoeuvre.radius_m for c in slower_turns(widest, SPEED)] == pytest.approx(
        [1.4 * max(RADII_M), 2.0 * max(RADII_M)]
    )


@pytest.mark.parametrize("way", [BY_RATE, BY_RADIUS])
def test_a_boat_that_lies_still_and_swings_has_no_radius_and_no_wider_turn(way: Manoeuvre) -> None:
    assert radius_m(way, 0.0) is None
    assert list(slower_turns(way, 0.0)) == []
    (wider, *_) = slower_turns(way, SPEED)
    assert again(wider, way, 0.0) is None, "a cure from before she lay still is none now"
    (other,) = other_side(way)
    assert sentence(other, 0.0, 0.0, US, {}, 0.1, members=16)


@pytest.mark.parametrize(("turned_deg", "left"), [(20.0, None), (180.0, None), (-20.0, 20.0), (-180.0, 180.0)])
def test_to_turn_the_other_way_is_left_to_do_only_where_she_still_turns_as_before(
    turned_deg: float, left: float | None
) -> None:
    """What was advised is a turn to starboard, of any size."""
    for size in (10.0, 180.0):
        change = Change("side", 1.5, Manoeuvre("as it goes", math.radians(size), 0.05))
        found = again(change, Manoeuvre("as it goes", math.radians(turned_deg), 0.05), SPEED)
        assert (None if found is None else math.degrees(found.manoeuvre.turn_rad)) == (
            left if left is None else pytest.approx(left)
        )


def test_other_kinds_of_change() -> None:
    (side,) = other_side(BY_RATE)
    assert (side.kind, side.manoeuvre.turn_rad) == ("side", -math.pi)
    assert list(other_side(hold())) == []
    away = list(turns_away(hold(), -1.0))
    assert [math.degrees(c.manoeuvre.turn_rad) for c in away] == pytest.approx([-20.0, -45.0, -90.0])
    assert [c.effort for c in away] == pytest.approx([1.0 + 20.0 / 45.0, 2.0, 3.0])
    assert all(c.manoeuvre.rate_rad_s == math.radians(1.0) for c in away)
    assert list(turns_away(BY_RATE, 1.0)) == []
    paces = list(speeds(hold(), 1.2))
    assert [c.manoeuvre.to_speed_m_s for c in paces] == pytest.approx([1.32, 1.08, 1.44, 0.96, 1.56, 0.84])
    assert paces[0].effort == pytest.approx(1.2)
    assert paces[1].effort == pytest.approx(1.2 * math.log(1.0 / 0.9) / math.log(1.1))
    slowing = Manoeuvre("as it goes", to_speed_m_s=0.5)
    assert next(speeds(slowing, 1.2)).manoeuvre.to_speed_m_s == pytest.approx(0.55)
    assert list(speeds(Manoeuvre("stop", stop_s=10.0), 1.2)) == []
    out = list(lines(hold(), "1", 3.0))
    assert [(c.by_m, c.effort, c.rod, c.ball) for c in out] == [
        (3.0, 1.5, "1", False), (6.0, 2.5, "1", False), (12.0, 4.5, "1", False)
    ]  # fmt: skip
    assert [c.by_m for c in lines(hold(), "1", -3.0, (1, 8), ball=True)] == [-3.0, -24.0]
    assert [c.by_m for c in lines(hold(), "1", -3.0, LINE_IN_STEPS)] == [-3.0, -6.0, -9.0, -12.0, -18.0, -24.0]
    assert line_step_m(US) == pytest.approx(3.048)
    assert line_step_m(METRIC) == 3.0


def test_what_is_left_of_a_change_later() -> None:
    slower = next(slower_turns(BY_RATE, SPEED))
    later = replace(BY_RATE, turn_rad=2.0)
    kept = again(slower, later, SPEED)
    assert kept is not None
    assert (kept.manoeuvre.turn_rad, kept.manoeuvre.rate_rad_s) == (2.0, slower.manoeuvre.rate_rad_s)
    eased = replace(later, rate_rad_s=slower.manoeuvre.rate_rad_s)
    assert again(slower, eased, SPEED) is None, "she turns so slowly already"
    assert again(slower, replace(later, turn_rad=-2.0), SPEED) is None, "the other way"
    assert again(slower, hold(), SPEED) is None
    (side,) = other_side(BY_RATE)
    moved = again(side, later, SPEED)
    assert moved is not None
    assert moved.manoeuvre.turn_rad == -2.0
    assert again(side, replace(later, turn_rad=-2.0), SPEED) is None, "done"
    pace = next(speeds(hold(), 1.2))
    kept = again(pace, later, SPEED)
    assert kept is not None
    assert (kept.manoeuvre.to_speed_m_s, kept.manoeuvre.turn_rad) == (pytest.approx(1.32), 2.0)
    line = next(lines(hold(), "1", 3.0))
    kept = again(line, later, SPEED)
    assert kept is not None
    assert kept.manoeuvre is later
    assert again(next(turns_away(hold(), 1.0)), later, SPEED) is None


@pytest.mark.parametrize(
    ("change", "said", "briefly"),
    [
        (Change("turn", 1.0, BY_RATE), "Turn more slowly: 180° in 1:03 (29° per 10 s)", "slow to 180° in 1:03"),
        (Change("turn", 1.0, replace(BY_RADIUS, radius_m=30.0)),
         "Turn slower, 180° to port in 1:34 (19° per 10 s)", "slow to 180° in 1:34"),
        (Change("side", 1.0, BY_RATE), "Turn to starboard instead, 180° in 1:03", "turn to starboard instead"),
        (Change("away", 1.0, turn("port", 45.0, seconds=45.0)), "Turn 45° to port now", "turn 45° to port now"),
        (Change("speed", 1.0, Manoeuvre("hold", to_speed_m_s=1.2)),
         "Go 4.3 km/h from now on", "go 4.3 km/h from now on"),
        (Change("line", 1.0, hold(), "1", 6.0), "Let out 6 m on PORT", "let out 6 m on PORT"),
        (Change("line", 1.0, hold(), "2", -6.0), "Take in 6 m on 2", "take in 6 m on 2"),
        (Change("line", 1.0, hold(), "1", 3.0, True), "Lower PORT's ball 3 m", "lower PORT's ball 3 m"),
        (Change("line", 1.0, hold(), "1", -3.0, True), "Raise PORT's ball 3 m", "raise PORT's ball 3 m"),
    ],
)  # fmt: skip
def test_words(change: Change, said: str, briefly: str) -> None:
    assert short(change, SPEED, METRIC, NAMES) == briefly
    whole = sentence(change, 0.1, SPEED, METRIC, NAMES, 0.1, members=16)
    assert whole == f"{said}: crossing unlikely (10 %)."
    still = sentence(change, 0.25, SPEED, METRIC, NAMES, 0.1, "a touch of the bottom", members=16)
    assert still == f"{said}: a touch of the bottom still 25 %."
    most = sentence(change, 0.75, SPEED, METRIC, NAMES, 0.1, members=16)
    assert most == f"{said}: crossing still 75 %."
    assert sentence(change, 0.0, SPEED, METRIC, NAMES, 0.1, members=16) == f"{said}: crossing in none of 16."


def test_rows() -> None:
    assert record(Change("line", 1.0, hold(), "1", 6.0), SPEED) == {"what": "line", "rod": "1", "by_m": 6.0}
    assert record(Change("speed", 1.0, Manoeuvre("hold", to_speed_m_s=1.2)), SPEED) == {
        "what": "speed", "to_speed_m_s": 1.2
    }  # fmt: skip
    made = record(Change("turn", 1.0, BY_RADIUS), SPEED)
    assert (made["what"], made["side"], made["radius_m"]) == ("turn", "port", 20.0)
    assert made["turn_deg"] == pytest.approx(180.0)
    assert made["turn_s"] == pytest.approx(20.0 * math.pi, abs=1e-3)
    assert "radius_m" not in record(Change("turn", 1.0, BY_RATE), SPEED)
    assert turn_words("port", 90.0, 45.0) == "90° to port in 0:45 (20° per 10 s)"
    assert turn_words("port", 5.0, 1.0) == "5° to port in 0:01 (50° per 10 s)"
    assert turn_words("port", 5.0, 0.0) == "5° to port"


@pytest.mark.parametrize("wait_s", [0.0, 30.0])
@pytest.mark.parametrize(("turn_deg", "seconds"), [(180.0, 120.0), (360.0, 120.0), (90.0, 120.0), (-45.0, 60.0)])
def test_the_radius_of_a_turn_without_a_rate_is_that_of_the_time_it_takes(
    turn_deg: float, seconds: float, wait_s: float
) -> None:
    """A wait before it is no part of it."""

    plan = Manoeuvre("plan", math.radians(turn_deg), wait_s=wait_s)
    assert radius_m(plan, 1.2) == pytest.approx(1.2 * seconds / math.radians(abs(turn_deg)))
    assert radius_m(Manoeuvre("plan", wait_s=wait_s), 1.2) is None
    assert radius_m(Manoeuvre("plan", 1.0, 0.02), 1.2) == pytest.approx(60.0)
    assert radius_m(Manoeuvre("plan", 1.0, radius_m=33.0), 1.2) == 33.0
