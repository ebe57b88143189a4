"""One speaker of a quantity: fresh, silent or without a value, its rhythm, and when it is trusted."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sternwatch.feed.readings import Quantity, Reading, SensorState
from sternwatch.feed.sensors.candidates import Candidate

FIRST = Reading(100.0, "gps", Quantity.SOG, 1.2, "GP")


def heard(*times: float, value: float | None = 1.2) -> Candidate:
    made = Candidate(replace(FIRST, t_s=times[0]), 0)
    for t_s in times:
        made.take(replace(FIRST, t_s=t_s, value=value))
    return made


def test_one_that_never_failed_is_trusted_from_the_first_and_one_that_is_back_after_a_while() -> None:
    made = heard(100.0, 101.0, 102.0)
    assert made.trusted(102.0)
    made.take(replace(FIRST, t_s=103.0, value=None))
    assert made.state(103.0) is SensorState.NONE
    made.take(replace(FIRST, t_s=104.0))
    assert made.state(104.0) is SensorState.FRESH
    first = next(t / 10.0 for t in range(1040, 3000) if made.trusted(t / 10.0))
    assert first > 105.0
    made.take(replace(FIRST, t_s=400.0))
    assert not made.trusted(400.0), "it was silent"


def test_silent_after_its_own_rhythm_and_fresh_at_it() -> None:
    made = heard(*(100.0 + k for k in range(10)))
    assert made.state(109.0 + made.timeout_s) is SensorState.FRESH
    assert made.state(109.0 + made.timeout_s + 0.01) is SensorState.SILENT
    assert heard(100.0, value=None).state(100.0) is SensorState.NONE


@pytest.mark.parametrize("slow_s", [4.0, 5.0])
def test_one_long_interval_is_a_failure_and_two_are_a_slower_rhythm(slow_s: float) -> None:
    made = heard(*(100.0 + k for k in range(20)))
    usual = made.timeout_s
    made.take(replace(FIRST, t_s=119.0 + usual + slow_s))
    assert made.timeout_s == usual
    made.take(replace(FIRST, t_s=119.0 + 2.0 * (usual + slow_s)))
    assert made.rhythm_s == pytest.approx(usual + slow_s)
    assert made.count == 22


@pytest.mark.parametrize("quantity", list(Quantity))
def test_each_quantity_has_its_shortest_and_longest_silence(quantity: Quantity) -> None:
    """As agreed: what steers within seconds, a sounder and a clock within five, what water changes within ten."""
    slow = {Quantity.WATER_TEMPERATURE, Quantity.PROBE_SPEED, Quantity.PROBE_TEMPERATURE, Quantity.PROBE_DEPTH}
    shortest, longest = (10.0, 120.0) if quantity in slow else (3.0, 15.0)
    if quantity in (Quantity.BOTTOM, Quantity.CLOCK):
        shortest, longest = 5.0, 60.0
    quick, lazy = (Candidate(replace(FIRST, quantity=quantity), 0) for _ in range(2))
    for k in range(50):
        quick.take(replace(FIRST, t_s=100.0 + 0.1 * k, quantity=quantity))
        lazy.take(replace(FIRST, t_s=100.0 + 0.99 * longest * k, quantity=quantity))
    assert (quick.timeout_s, lazy.timeout_s) == (shortest, longest)
