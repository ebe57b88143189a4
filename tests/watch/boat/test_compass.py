"""The compass against the course: said in time, never of a current, and the course counts while it stands."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from sternwatch.feed.readings import Quantity
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.boat.compass import HeadingAgainstCourse, Way
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session

ORDINARY_SD_M_S = 0.152


def _after(heading: float, course: float, speed: float = 1.1, *, magnetic: bool = False) -> int | None:
    test = HeadingAgainstCourse()
    for t in range(600):
        test.step(
            float(t), heading, course, speed, (Way.of(course, speed, (0.0, 0.0), ORDINARY_SD_M_S),), magnetic=magnetic
        )
        if test.stands:
            return t
    return None


@pytest.mark.parametrize(("heading", "course"), [(10.0, 100.0), (350.0, 80.0), (0.0, 180.0), (300.0, 210.0)])
def test_a_false_compass_is_said_within_twenty_seconds(heading: float, course: float) -> None:
    after = _after(heading, course)
    assert after is not None
    assert after <= 20


@pytest.mark.parametrize(
    ("heading", "course", "speed", "magnetic"),
    [
        (350.0, 10.0, 1.1, False),
        (0.0, 44.0, 1.1, False),  # a current of 0.3 m/s across the way, and thirty degrees of deviation
        (0.0, 64.0, 1.1, True),
        (0.0, 180.0, 0.5, False),  # she drifts
    ],
)
def test_what_currents_and_compasses_do_is_not_said(
    heading: float, course: float, speed: float, magnetic: bool
) -> None:
    assert _after(heading, course, speed, magnetic=magnetic) is None


def test_lines_lie_along_the_course_while_the_compass_stands_still(two_rods: Spread, hand_feed) -> None:
    feed = hand_feed(new_watch(Setup(two_rods, Session.LIVE, start="fishing", members=0)))
    feed.run(120)

    say = feed.say

    def frozen(quantity: Quantity, value: float, sentence: str = "TST") -> None:
        say(quantity, 0.0 if quantity is Quantity.HEADING else value, sentence)

    feed.say = frozen
    feed.run(30, turn_deg_s=3.0)
    feed.run(25)
    assert "Heading 000° and course 090° contradict each other" in [a.text for a in feed.watch.picture().alerts]
    north, east = feed.watch.boat.velocity_m_s
    assert math.degrees(math.atan2(east, north)) == pytest.approx(90.0, abs=5.0)


@pytest.mark.parametrize(
    ("course", "ground", "current", "way"),
    [
        (0.0, 1.0, (0.5, 0.0), (0.0, 0.5)), (90.0, 1.0, (0.0, 0.25), (90.0, 0.75)),
        (90.0, 1.0, (1.0, 0.0), (135.0, 2**0.5)),
        (0.0, 1.0, (0.0, -1.0), (45.0, 2**0.5)),
    ],
)  # fmt: skip
def test_her_way_through_the_water_is_that_over_ground_less_the_current(
    course: float, ground: float, current: tuple[float, float], way: tuple[float, float]
) -> None:
    made = Way.of(course, ground, current, 0.1)
    assert (made.deg, made.speed_m_s) == pytest.approx(way)


def test_how_far_an_error_of_the_current_may_turn_her() -> None:
    made = Way(0.0, 1.0, 0.1)
    assert made.allowed_deg(2.0) < made.allowed_deg(0.5) <= 90.0
    assert math.sin(math.radians(made.allowed_deg(0.5))) == pytest.approx(
        2.0 * math.sin(math.radians(made.allowed_deg(1.0)))
    )
    assert (made.allowed_deg(0.0), made.allowed_deg(0.001)) == (90.0, 90.0)


@pytest.mark.parametrize("magnetic", [False, True])
@pytest.mark.parametrize("speed", [0.8, 1.1, 1.9])
def test_what_counts_for_a_contradiction_is_the_angle_over_the_allowed_one(speed: float, magnetic: bool) -> None:
    """Thirty degrees of deviation, twenty of variation, two deviations of current across; at most a third more."""
    asked: list[tuple[float, bool, float]] = []
    test = HeadingAgainstCourse()
    test._verdict = SimpleNamespace(  # type: ignore[assignment]
        passed_s=lambda _: 2.0, ask=lambda dt, *, apart, weight: asked.append((dt, apart, weight)), stands=False
    )
    ways = (Way(100.0, 1.2, 0.15), Way(80.0, 1.0, 0.05))
    headings = [100.0, 140.0, 150.0, 160.0, 170.0, 175.0, 178.0, 150.0, 130.0]
    for t, heading in enumerate(headings):
        test.step(float(t), heading, 90.0, speed, ways, magnetic=magnetic)
        seen = headings[max(t - 5, 0) : t + 1]  # of six seconds
        least = math.inf
        for way in ways:
            cosine = sum(math.cos(math.radians(one - way.deg)) for one in seen) / len(seen)
            across = math.degrees(math.asin(min(2.0 * way.sd_m_s / min(way.speed_m_s, speed), 1.0)))
            allowed = (50.0 if magnetic else 30.0) + across
            least = min(least, math.degrees(math.acos(min(cosine, 1.0))) / allowed)
        dt, apart, weight = asked[-1]
        assert (dt, apart) == (2.0, least > 1.0)
        assert weight == pytest.approx(min(max(least, 1.0), 4.0 / 3.0))
    before = len(asked)
    for heading, course, slow in ((None, 90.0, speed), (100.0, None, speed), (100.0, 90.0, 0.79)):
        test.step(99.0, heading, course, slow, ways, magnetic=magnetic)
        assert (len(asked), len(test._angles)) == (before, 0), "nothing is decided, and it begins anew"
