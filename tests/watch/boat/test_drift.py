"""The drift over ground: a mean, taken at once where it begins, and slow to follow a single reading."""

from __future__ import annotations

import math

import pytest

from sternwatch.watch.boat.drift import Drift

# As agreed: a change of one is to be noticed.
OVER_S = 60.0


def test_of_a_sea_that_turns_and_pushes_her_the_current_stays() -> None:
    drift = Drift()
    for second in range(180):
        swing = 0.25 * math.sin(2.0 * math.pi * second / 7.0)
        drift.take(float(second), (1.1 + swing, 0.2 - swing), (1.0, 0.0))
    assert drift.now_m_s == pytest.approx((0.1, 0.2), abs=0.02)


def test_it_begins_with_the_first_and_follows_within_a_minute_or_two() -> None:
    drift = Drift()
    assert drift.now_m_s is None
    drift.take(0.0, (1.0, 0.3), (1.0, 0.0))
    assert drift.now_m_s == pytest.approx((0.0, 0.3))
    for second in range(1, 601):
        drift.take(float(second), (1.0, 0.3), (1.0, 0.0))
    for second in range(601, 601 + round(OVER_S)):
        drift.take(float(second), (1.0, -0.3), (1.0, 0.0))
    assert drift.now_m_s == pytest.approx((0.0, 0.6 * math.exp(-1.0) - 0.3), abs=0.01)


def test_each_reading_counts_by_its_time_in_what_was_told_so_far() -> None:
    """A plain mean of what was told, until a minute is; then a sixtieth a second. A second at least is told."""
    drift, told = Drift(), (0.0, 0.0)
    drift.take(0.0, (1.0, 2.0), (1.0, 2.0))
    seconds = 0.0
    for k, dt in enumerate((0.5, 0.25, 2.0, 5.0, 0.0, 40.0, 30.0, 1.0, 90.0)):
        now = (0.1 * k, -0.2 * k)
        seconds += dt
        drift.take(seconds, (1.0 + now[0], now[1]), (1.0, 0.0))
        share = min(dt / max(min(seconds, 60.0), 1.0), 1.0)
        told = (told[0] + share * (now[0] - told[0]), told[1] + share * (now[1] - told[1]))
        assert drift.now_m_s == pytest.approx(told), k
    drift.take(seconds - 5.0, (9.0, 9.0), (0.0, 0.0))
    assert drift.now_m_s == pytest.approx(told), "time does not go back"
