"""Means of ten seconds: when a window closes, when it tells nothing, and what it tells."""

from __future__ import annotations

import math

import pytest

from sternwatch.watch.boat.legs import Means, Window


def closed(fixes: list[tuple[float, float]], headings: list[float] = [], window: Window | None = None) -> Means:  # noqa: B006
    """A window of these fixes [m/s, degrees] and headings."""
    window = window or Window()
    if window.begun_s is None:
        assert window.close(100.0) is None
    begun = window.begun_s or 0.0
    for fix in fixes:
        window.take_ground(*fix)
    for heading in headings:
        window.take_heading(heading)
    assert window.close(begun + 9.9) is None
    made = window.close(begun + 10.0)
    assert made is not None
    assert made.t_s == begun + 10.0
    return made


STEADY = [(1.0, 90.0)] * 10


def test_what_a_steady_window_tells() -> None:
    made = closed([(1.0, 0.0), (1.2, 0.0)] * 5, [80.0, 84.0] * 5)
    assert made.usable
    assert made.ground_m_s == pytest.approx((1.1, 0.0))
    # Scatter of 0.1 along and none across, of ten fixes: half the sum of squares over 9, over 10.
    assert made.ground_sd_m_s == pytest.approx(math.sqrt(10 * 0.01 / 2.0 / 9.0 / 10.0))
    assert made.heading_rad == pytest.approx(math.radians(82.0))
    assert (made.log_m_s, made.probe_m_s) == (None, None)


def test_logs_count_from_two_and_fixes_and_headings_from_five() -> None:
    window = Window()
    window.close(0.0)
    window.logs += [1.0]
    window.probes += [0.9, 1.1]
    made = closed(STEADY, [90.0] * 4, window)
    assert (made.log_m_s, made.probe_m_s, made.heading_rad) == (None, pytest.approx(1.0), None)
    assert closed(STEADY, [90.0] * 5).heading_rad is not None
    assert not closed(STEADY[:4]).usable
    assert closed(STEADY[:5]).usable


@pytest.mark.parametrize(("speed", "usable"), [(0.29, False), (0.3, True), (3.0, True), (3.01, False)])
def test_only_at_speeds_of_trolling(speed: float, usable: bool) -> None:
    assert closed([(speed + 1e-12 * (speed == 0.3) - 1e-12 * (speed == 3.0), 0.0)] * 10).usable is usable


@pytest.mark.parametrize(
    ("second", "usable"), [((1.14, 0.0), True), ((1.16, 0.0), False), ((1.0, 7.9), True), ((1.0, 8.1), False)]
)
def test_a_window_whose_halves_differ_is_no_leg(second: tuple[float, float], usable: bool) -> None:
    assert closed([(1.0, 0.0)] * 5 + [second] * 5).usable is usable
    assert closed([(1.0, 356.0)] * 5 + [(second[0], second[1] - 4.0)] * 5).usable is usable, "across north"


@pytest.mark.parametrize(("turned", "usable"), [(7.9, True), (8.1, False)])
def test_a_heading_that_turns_is_no_leg_either(turned: float, usable: bool) -> None:
    assert closed(STEADY, [0.0] * 5 + [turned] * 5).usable is usable
    assert closed(STEADY, [0.0] * 2 + [turned] * 2).usable is usable
    assert closed(STEADY, [0.0] + [99.0] * 2).usable, "too few to tell"


def test_after_a_turn_she_finds_her_speed_for_one_window() -> None:
    window = Window()
    assert not closed([(1.0, 0.0)] * 5 + [(1.0, 30.0)] * 5, window=window).usable
    twin = window.copy()
    assert not closed(STEADY, window=window).usable
    assert closed(STEADY, window=window).usable
    assert not closed(STEADY, window=twin).usable, "a copy goes on by itself"
    assert closed(STEADY, window=window).ground_m_s == pytest.approx((0.0, 1.0)), "each window has its own fixes"
