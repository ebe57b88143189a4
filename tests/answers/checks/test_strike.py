"""The peak of a strike against closed forms worked by hand, and its limits."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import solve_ivp

from sternwatch.answers.checks.strike import Spring, strike_peak_N


def test_a_linear_line_is_speed_times_root_of_mass_and_stiffness() -> None:
    """Impact of a moving mass on a spring, P = v sqrt(m k) (Roark's Formulas for Stress and Strain)."""
    assert strike_peak_N(5.0, 2.0, 1.0 / 400.0) == pytest.approx(2.0 * math.sqrt(5.0 * 400.0), rel=1e-12)


def test_a_snubber_in_series_softens_it() -> None:
    bare = strike_peak_N(5.0, 2.0, 1.0 / 400.0)
    soft = strike_peak_N(5.0, 2.0, 1.0 / 400.0, [Spring(100.0, 1e9)])
    assert soft == pytest.approx(2.0 * math.sqrt(5.0 * 80.0), rel=1e-12)
    assert soft < bare


@pytest.mark.parametrize("springs", [[Spring(100.0, 60.0)], [Spring(100.0, 20.0), Spring(50.0, 45.0)]])
def test_a_snubber_at_full_stretch_against_an_integration_in_time(springs: list[Spring]) -> None:
    """The fish's own equation of motion, m x'' = -P(x), with the chain's stretch of every pull; scipy."""
    mass, speed, compliance = 5.0, 2.0, 1.0 / 400.0

    def stretch(pull: float) -> float:
        return pull * compliance + sum(min(pull, s.most_N) / s.stiffness_N_m for s in springs)

    def pull_at(x: float) -> float:
        low, high = 0.0, 1e4
        for _ in range(80):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if stretch(middle) < x else (low, middle)
        return low

    def stopped(_t: float, y: list[float]) -> float:
        return y[1]

    stopped.terminal = True  # type: ignore[attr-defined]
    stopped.direction = -1.0  # type: ignore[attr-defined]
    path = solve_ivp(lambda _t, y: [y[1], -pull_at(y[0]) / mass], (0, 5), [0.0, speed], events=stopped, rtol=1e-8,
                     atol=1e-10, max_step=1e-3)  # fmt: skip
    assert strike_peak_N(mass, speed, compliance, springs) == pytest.approx(pull_at(path.y[0, -1]), rel=1e-3)


def test_limits() -> None:
    assert strike_peak_N(5.0, 0.0, 0.01) == 0.0
    assert strike_peak_N(0.0, 2.0, 0.01) == 0.0
    assert math.isinf(strike_peak_N(5.0, 2.0, 0.0))
    # A snubber that bottoms out on a rigid line stops nothing.
    assert math.isinf(strike_peak_N(5.0, 2.0, 0.0, [Spring(100.0, 20.0)]))
