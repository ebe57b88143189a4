"""Depths of real gear that somebody measured, against what would be shown of it by its labels alone."""

from __future__ import annotations

import pytest

from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.gear.spread_file.load import parse_spread

KNOT = 0.514444
TROLLED = """
[line.main]
material = "nylon"
diameter = "{diameter} mm"
[tackle.sinker]
kind = "weight"
mass = "9 kg"
[[rod]]
key = "1"
name = "TROLLED"
side = "port"
tip = {{ abeam = "1 m", height = "1 m" }}
counter = {{ taped = true }}
chain = [{{ line = "main", out = "180 m" }}, {{ tackle = "sinker" }}]
"""
# Trolling lines off Jeju with depth loggers on them (Korean journal of fishing technology 2018, abstract read:
# koreascience JAKO201817968656596): at 1.9 knots, a sinker of 9 kg and 180 m of main line, 16 to 23 m above a ground
# of 120 m after five minutes. Not read, and assumed: nylon of 2 to 4 mm, no branch lines before the sinker, a length
# as measured, and that five minutes bring it near its steady state.
JEJU_M = (120.0 - 23.0, 120.0 - 16.0)


def shown(diameter_mm: float) -> tuple[float, ...]:
    spread = parse_spread(TROLLED.format(diameter=diameter_mm))
    found = depth_quantiles(spread, spread.rods[0], 1.9 * KNOT)
    assert found is not None
    return found


def test_trolling_lines_off_jeju_lie_in_the_middle_half_of_what_is_shown_of_the_middle_diameter() -> None:
    low, quarter, median, three_quarters, high = shown(3.0)
    assert low < quarter < JEJU_M[0]
    assert JEJU_M[1] < three_quarters < high
    assert JEJU_M[0] < median < JEJU_M[1]
    assert high - low < 0.5 * median  # it says something


@pytest.mark.parametrize("diameter_mm", [2.0, 4.0])
def test_the_middle_of_what_was_logged_off_jeju_lies_in_the_interval_of_every_diameter_assumed(
    diameter_mm: float,
) -> None:
    low, *_, high = shown(diameter_mm)
    assert low < 0.5 * sum(JEJU_M) < high
