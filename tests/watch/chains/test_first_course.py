"""A feed of GPS alone that begins with rods out: chains lie along the first known course, whichever it is."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from sternwatch.feed.readings import Quantity, Reading
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, SolverState

ORDINARY, CAMPAIGN = 3, 1000
TOWED_S = 170  # until the longest line has forgotten its start at the slowest speed
SHORT_TOWED_S = 75  # the same of the short lines

LONG_AND_SHORT = """
[boat]
name = "hand boat"
[line.copper]
material = "copper"
diameter = "0.94 mm"
mass_per_length = "4.8 g/m"
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { high = "45 deg" }
[tackle.fly]
kind = "lure"
[[rod]]
key = "1"
name = "COPPER"
side = "centre"
tip = { astern = "1 ft", abeam = "0 ft", height = "5 ft" }
chain = [ { line = "copper", out = "200 ft" }, { line = "mono", length = "20 ft" }, { tackle = "fly" } ]
[[rod]]
key = "2"
name = "DIVER"
side = "port"
tip = { astern = "1 ft", abeam = "7 ft", height = "5 ft" }
chain = [
  { line = "wire", out = "120 ft" }, { tackle = "disc", setting = "high" },
  { line = "mono", length = "8 ft" }, { tackle = "fly" } ]
"""


SHORT = LONG_AND_SHORT.replace('out = "200 ft"', 'out = "80 ft"').replace('out = "120 ft"', 'out = "60 ft"')


@pytest.fixture(scope="module")
def long_and_short() -> Spread:
    return parse_spread(LONG_AND_SHORT)


@pytest.fixture(scope="module")
def short() -> Spread:
    return parse_spread(SHORT)


@dataclass
class Gps:
    """A receiver once a second: speed, then course, as one sentence gives them. No compass, no paddle wheel."""

    watch: Watch
    course_deg: float
    t_s: float = 0.0

    def run(
        self,
        seconds: int,
        *,
        sog: float = 1.1,
        turn_deg_s: float = 0.0,
        course: bool = True,
        each: Callable[[Picture], None] | None = None,
        then: Callable[[Watch], None] | None = None,
    ) -> None:
        """``each`` gets the picture of every second; ``then`` the watch, which costs less."""
        for _ in range(seconds):
            self.t_s += 1.0
            self.course_deg = (self.course_deg + turn_deg_s) % 360.0
            self.watch.observe(Reading(self.t_s, "gps", Quantity.CLOCK, 1_784_000_000.0 + self.t_s, "RMC"))
            self.watch.observe(Reading(self.t_s, "gps", Quantity.SOG, sog, "RMC"))
            if course:
                self.watch.observe(Reading(self.t_s, "gps", Quantity.COG, self.course_deg, "RMC"))
            self.watch.advance(self.t_s, each)
            if then is not None:
                then(self.watch)


def _held(what: str, seed: int) -> None:
    """Print how far a campaign is, so that a part of it tells something."""
    if seed % 50 == 49:
        print(f"{what}: {seed + 1} trips held", flush=True)


def _begun(spread: Spread, course_deg: float, members: int = 0) -> Gps:
    return Gps(new_watch(Setup(spread, start="fishing", members=members)), course_deg)


def _depths(picture: Picture) -> dict[str, float]:
    return {rod.key: rod.depth_m for rod in picture.rods if rod.depth_m is not None}


def _depths_now(watch: Watch) -> dict[str, float]:
    """The same, without the rest of a picture: thousands of seconds are compared."""
    return {key: chain.place.depth_m for key, chain in watch.chains.items() if chain.place is not None}


def test_a_line_laid_on_a_course_of_200_degrees_lies_astern_and_stays_as_deep(long_and_short: Spread) -> None:
    gps = _begun(long_and_short, 200.0)
    seen: list[tuple[float, float]] = []

    def look(picture: Picture) -> None:
        rod = picture.rods[0]
        if rod.depth_m is not None and rod.astern_m is not None:
            seen.append((rod.depth_m, rod.astern_m))

    gps.run(90, each=look)
    assert len(seen) > 80
    assert all(astern > 40.0 for _, astern in seen)
    assert seen[-1][0] == pytest.approx(seen[0][0], abs=0.3)
    assert max(depth for depth, _ in seen) - min(depth for depth, _ in seen) < 0.3


def test_nothing_stands_before_a_course_is_known_and_the_reason_is_said(long_and_short: Spread) -> None:
    gps = _begun(long_and_short, 200.0)
    gps.run(20, course=False)
    picture = gps.watch.picture()
    assert picture.own.speed_m_s == pytest.approx(1.1, abs=0.02)
    assert picture.own.rate_of_turn_deg_s is None
    for rod in picture.rods:
        assert (rod.depth_m, rod.shape_m, rod.solver) == (None, None, SolverState.NONE)
        assert rod.why_no_depth == "no course ever came"
    gps.run(2)
    assert all(rod.depth_m is not None for rod in gps.watch.picture().rods)


def test_with_neither_compass_nor_course_lines_lie_astern_and_a_caution_says_so(long_and_short: Spread) -> None:
    blind, seeing = _begun(long_and_short, 200.0), _begun(long_and_short, 200.0)
    blind.run(29, course=False)
    assert _depths(blind.watch.picture()) == {}
    blind.run(150, course=False)
    seeing.run(150)
    shown, known = blind.watch.picture(), seeing.watch.picture()
    assert _depths(shown) == pytest.approx(_depths(known), abs=0.1)
    assert all(rod.astern_m is not None and rod.astern_m > 20.0 for rod in shown.rods)
    assert shown.own.rate_of_turn_deg_s is None
    (caution,) = [alert for alert in shown.alerts if alert.kind == "no course"]
    assert caution.text == "Depths as on a straight course, since turns cannot be seen: no course ever came"
    # The first course that comes lays them along itself: unsettled, astern, and as deep.
    blind.run(2)
    shown = blind.watch.picture()
    assert {rod.solver for rod in shown.rods} == {SolverState.UNSETTLED}
    assert all(rod.astern_m is not None and rod.astern_m > 20.0 for rod in shown.rods)
    assert _depths(shown) == pytest.approx(_depths(known), abs=0.5)
    blind.run(10)
    assert not [alert for alert in blind.watch.picture().alerts if alert.kind == "no course"]


def test_a_start_from_rest_on_a_steady_course_is_no_turn(long_and_short: Spread) -> None:
    gps = _begun(long_and_short, 240.0)
    gps.run(30, sog=0.1)
    rates: list[float] = []
    gps.run(40, each=lambda picture: rates.append(abs(picture.own.rate_of_turn_deg_s or 0.0)))
    assert max(rates) < 0.1


def test_a_course_that_comes_with_the_speed_after_a_silence_is_waited_for(long_and_short: Spread) -> None:
    gps = _begun(long_and_short, 20.0)
    gps.run(60)
    for _ in range(30):
        gps.t_s += 1.0
        gps.watch.advance(gps.t_s)
    gps.course_deg = 200.0  # she came about unseen
    gps.run(1, course=False)
    assert gps.watch.picture().rods[0].solver in (SolverState.OLD, SolverState.NONE)
    astern: list[float | None] = []
    gps.run(20, each=lambda picture: astern.append(picture.rods[0].astern_m))
    assert all(place is not None and place > 40.0 for place in astern)


# -- turning the whole feed ------------------------------------------------------------------------------------------


def _sail(gps: Gps, rng: random.Random, legs: int, then: Callable[[Watch], None] | None = None) -> float:
    """Legs and turns; the same for the same numbers, whatever the course.

    The throttle stands: a speed over ground that changed from leg to leg would be taken for a current, rightly.
    """
    sog = rng.uniform(0.8, 1.3)
    for _ in range(legs):
        gps.run(rng.randrange(10, 40), sog=sog, then=then)
        gps.run(rng.randrange(5, 30), sog=sog, turn_deg_s=rng.uniform(-5.0, 5.0), then=then)
    return sog


def _turned_feed(spread: Spread, seed: int) -> None:
    """The same feed on a course of 000 and turned by an angle: the same depths, second by second."""
    rng = random.Random(seed)
    angle = rng.uniform(0.0, 360.0)
    runs = []
    for course in (0.0, angle):
        seen: list[dict[str, float]] = []
        gps = _begun(spread, course)
        _sail(gps, random.Random(seed), 3, lambda watch, to=seen: to.append(_depths_now(watch)))  # type: ignore[misc]
        assert _depths(gps.watch.picture()) == seen[-1]
        assert len(seen[-1]) == len(spread.rods)
        runs.append(seen)
    for straight, turned in zip(*runs, strict=True):
        assert straight.keys() == turned.keys(), seed
        for key, depth in straight.items():
            assert turned[key] == pytest.approx(depth, abs=0.01), (seed, angle, key)


def test_turning_the_whole_feed_changes_no_depth(long_and_short: Spread) -> None:
    for seed in range(ORDINARY):
        _turned_feed(long_and_short, seed)


@pytest.mark.campaign
def test_turning_the_whole_feed_changes_no_depth_in_a_thousand_trips(short: Spread) -> None:
    for seed in range(CAMPAIGN):
        _turned_feed(short, seed)
        _held("turned", seed)


# -- a session cut and resumed ---------------------------------------------------------------------------------------


def _resumed(spread: Spread, seed: int, members: int = 16, towed_s: int = TOWED_S) -> None:
    """Cut anywhere: unsettled from there, and what went on is within the interval once it has settled."""
    rng = random.Random(seed)
    whole = _begun(spread, rng.uniform(0.0, 360.0), members=members)
    sog = _sail(whole, rng, 1)
    cut_s = rng.randrange(1, 30)
    turn = rng.choice((0.0, rng.uniform(-4.0, 4.0)))
    whole.run(cut_s, sog=sog, turn_deg_s=turn)
    again = _begun(spread, whole.course_deg, members=members)
    again.t_s = whole.t_s
    first: dict[str, SolverState] = {}
    for feed in (whole, again):
        feed.run(4, sog=sog, turn_deg_s=turn)
        first = {rod.key: rod.solver for rod in feed.watch.picture().rods}
    assert set(first.values()) == {SolverState.UNSETTLED}, seed
    for _ in range(towed_s):
        for feed in (whole, again):
            feed.run(1, sog=sog)
        true = _depths_now(whole.watch)
        for key, chain in again.watch.chains.items():
            if chain.solver is SolverState.SETTLED:
                assert chain.place is not None, seed
                assert chain.place.depth_interval_m is not None, seed
                low, high = chain.place.depth_interval_m
                assert low <= true[key] <= high, (seed, key, true[key], low, high)
    assert {rod.solver for rod in again.watch.picture().rods} == {SolverState.SETTLED}, seed


def test_a_session_cut_and_resumed_is_back_within_its_interval_when_it_says_so(long_and_short: Spread) -> None:
    _resumed(long_and_short, 0)


@pytest.mark.campaign
def test_a_session_cut_and_resumed_anywhere_is_back_in_a_thousand_trips(short: Spread) -> None:
    for seed in range(CAMPAIGN):
        _resumed(short, seed, members=8, towed_s=SHORT_TOWED_S)
        _held("resumed", seed)


def test_the_way_that_she_goes_is_never_read_off_an_empty_filter(long_and_short: Spread) -> None:
    gps = _begun(long_and_short, 90.0)
    gps.run(10, course=False)
    assert not gps.watch.boat.way_known
    assert math.hypot(*gps.watch.boat.velocity_m_s) == 0.0
