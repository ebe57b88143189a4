"""The slope just passed: fitted against numpy's least squares, and continued only where it is one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sternwatch.watch.bottom.over_ground import OverGround
from sternwatch.watch.bottom.slope import Slope, _fit, slope_of
from sternwatch.watch.bottom.soundings import Sounding, Soundings

AHEAD = (math.cos(0.6), math.sin(0.6))


def sounded(depth_of, count: int = 30, step_m: float = 1.0) -> Soundings:
    """Once a second, a metre apart on a course of 0.6 rad."""
    made = Soundings()
    for k in range(count):
        along = k * step_m
        made.add(Sounding(float(k), 300.0 + along * AHEAD[0], along * AHEAD[1] - 700.0, depth_of(along)))
    return made


def test_a_slope_is_carried_on_from_the_last_sounding() -> None:
    rng = np.random.default_rng(2)
    rough = 0.02 * rng.normal(size=30)
    slope = slope_of(sounded(lambda m: 30.0 - 0.1 * m + rough[round(m)]), 29.0)
    assert slope is not None
    assert slope.per_m == pytest.approx(-0.1, abs=0.005)
    assert slope.ahead == pytest.approx(AHEAD)
    assert slope.depth_m == pytest.approx(27.1, abs=0.05)
    assert (slope.t_s, slope.reach_m) == (29.0, pytest.approx(29.0))
    assert slope.shoalest_m == pytest.approx(slope.depth_m + slope.per_m * 29.0)
    long = slope_of(sounded(lambda m: 30.0 - 0.1 * m, 30, 2.0), 29.0)
    assert long is not None
    assert long.reach_m == 30.0, "no farther than thirty metres"
    falling = slope_of(sounded(lambda m: 20.0 + 0.1 * m), 29.0)
    assert falling is not None
    assert falling.shoalest_m == falling.depth_m


@pytest.mark.parametrize(
    ("depth_of", "count", "step_m"),
    [
        (lambda _: 20.0, 30, 1.0),  # level
        (lambda m: 20.0 + math.sin(m), 30, 1.0),  # up and down
        (lambda m: 20.0 if m < 15.0 else 15.0, 30, 1.0),  # a step
        (lambda m: 20.0 if m < 22.0 else 15.0, 30, 1.0),  # another, a little while ago
        (lambda m: 20.0 - 0.1 * abs(m - 20.0), 30, 1.0),  # over its top
        (lambda m: 20.0 - 0.1 * m, 11, 1.0),  # too few
        (lambda m: 20.0 - 0.1 * m, 30, 0.27),  # too short a way
    ],
)
def test_what_is_no_slope_is_not_continued(depth_of, count: int, step_m: float) -> None:
    assert slope_of(sounded(depth_of, count, step_m), float(count - 1)) is None


def test_soundings_older_than_half_a_minute_do_not_count() -> None:
    made = sounded(lambda m: 20.0 - 0.1 * m, 12)
    assert slope_of(made, 30.0) is not None
    assert slope_of(made, 30.1) is None
    assert slope_of(sounded(lambda m: 20.0 - 0.1 * m, 30, 0.28), 29.0) is not None, "just over eight metres"


def test_a_slope_tells_of_places_ahead_within_its_reach_and_near_its_way() -> None:
    slope = Slope(0.0, 10.0, 5.0, (0.0, 1.0), 20.0, -0.1, 25.0)
    assert slope.at(10.0, 15.0) == pytest.approx(19.0)
    assert slope.at(10.0, 30.0) == pytest.approx(17.5)
    assert slope.at(10.0, 30.1) is None
    assert slope.at(10.0, 5.0) is None
    assert slope.at(25.0, 15.0) == pytest.approx(19.0)
    assert slope.at(25.1, 15.0) is None
    assert slope.at(-5.1, 15.0) is None


def test_the_fit_is_numpys_and_needs_three_standard_errors() -> None:
    rng = np.random.default_rng(4)
    x = np.arange(12.0)
    for noise, told in ((0.05, True), (3.0, False)):
        y = 0.2 * x + noise * rng.normal(size=12)
        (per_m, _), (((variance, _), _)) = np.polyfit(x, y, 1, cov=True)
        assert bool(abs(per_m) > 3.0 * math.sqrt(variance)) is told
        found = _fit(x, y)
        assert found == (pytest.approx(per_m) if told else None)
    assert _fit(np.ones(12), x) is None
    step = np.where(x < 6.0, 0.0, 1.0)
    assert _fit(x, step) is not None
    assert _fit(x, step, 0.13) is None, "not straight"


def test_places_in_her_axes_and_over_ground() -> None:
    """She points east at (100, 50); the antenna is 3 m forward of the transom."""
    over = OverGround((100.0, 50.0), (0.0, 1.0), 3.0)
    assert over.at(0.0, 0.0) == pytest.approx((100.0, 47.0))
    assert over.at(20.0, 5.0) == pytest.approx((95.0, 27.0))
    assert over.seen((95.0, 27.0)) == pytest.approx((20.0, 5.0))
    assert OverGround().at(0.0, 0.0) is None
    assert OverGround().seen((0.0, 0.0)) is None


def test_a_slope_must_go_the_way_of_its_ends() -> None:
    """The line through all rises, its last sounding lies deeper than the first: ground that goes up and down."""
    rises = slope_of(sounded(lambda m: 30.0 - 0.1 * m), 29.0)
    assert rises is not None
    assert slope_of(sounded(lambda m: 30.0 - 0.1 * m + (4.0 if m == 29.0 else 0.0)), 29.0) is None
    first = sounded(lambda m: 30.0 - 0.1 * m - (4.0 if m == 0.0 else 0.0))
    assert slope_of(first, 29.0) is None, "the first lies shoaler than the last"


def test_it_goes_on_as_gently_as_its_newer_half_and_from_the_median_of_the_last_six() -> None:
    def depth(m: float) -> float:
        rough = {24.0: 0.03, 25.0: -0.02, 26.0: 0.05, 27.0: -0.01, 28.0: 0.02, 29.0: -0.04}.get(m, 0.0)
        return 30.0 - 0.25 * min(m, 15.0) - 0.15 * max(m - 15.0, 0.0) + rough

    slope = slope_of(sounded(depth), 29.0)
    assert slope is not None
    assert slope.per_m == pytest.approx(-0.15, abs=0.003)
    last = [depth(float(m)) + slope.per_m * (29.0 - m) for m in range(24, 30)]
    assert slope.depth_m == pytest.approx(np.median(last), abs=1e-9)


@pytest.mark.parametrize("aside_m", [-15.1, -14.9, 0.0, 14.9, 15.1])
@pytest.mark.parametrize("along_m", [-0.5, 0.5, 24.9, 25.1])
def test_places_are_told_along_her_course_and_beside_it(along_m: float, aside_m: float) -> None:
    slope = Slope(0.0, 10.0, 5.0, (0.6, 0.8), 20.0, -0.1, 25.0)
    found = slope.at(10.0 + 0.6 * along_m - 0.8 * aside_m, 5.0 + 0.8 * along_m + 0.6 * aside_m)
    known = 0.0 < along_m < 25.0 and abs(aside_m) < 15.0
    assert found == (pytest.approx(20.0 - 0.1 * along_m) if known else None)


@pytest.mark.parametrize(("errors", "told"), [(2.98, False), (3.02, True)])
def test_a_slope_is_told_from_three_of_its_standard_errors_on(errors: float, told: bool) -> None:
    """The error by numpy; eight soundings, so that a wrong count of what is left free would show."""
    x = np.linspace(0.0, 0.8, 8)
    noise = np.array([0.3, -0.2, 0.1, -0.4, 0.4, -0.1, -0.3, 0.2])
    rest = noise - np.polyval(np.polyfit(x, noise, 1), x)
    _, variance = np.polyfit(x, rest, 1, cov=True)
    per_m = errors * math.sqrt(variance[0, 0])
    assert _fit(x, per_m * x + rest) == (pytest.approx(per_m) if told else None)
