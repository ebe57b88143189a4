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
