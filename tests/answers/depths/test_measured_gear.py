"""Depths of real gear that somebody measured, against what would be shown of it by its labels alone."""

from __future__ import annotations

import math

import pytest

from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.gear.spread_file.load import load_spread, parse_spread
from sternwatch.gear.values import defaults
from sternwatch.places import shipped

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
    assert high - low < 0.6 * median  # it says something: other laws of drag move it by a quarter


@pytest.mark.parametrize("diameter_mm", [2.0, 4.0])
def test_the_middle_of_what_was_logged_off_jeju_lies_in_the_interval_of_every_diameter_assumed(
    diameter_mm: float,
) -> None:
    low, *_, high = shown(diameter_mm)
    assert low < 0.5 * sum(JEJU_M) < high


SPOONED = """
[line.cable]
material = "stainless steel"
diameter = "0.9 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
{drag}
[tackle.ball]
kind = "ball"
mass = "12 lb"
[tackle.spoon]
kind = "lure"
form = "spoon"
[[rod]]
key = "4"
name = "DOWN"
side = "port"
tip = {{ abeam = "1 m", height = "1 m" }}
chain = [{{ line = "cable", out = "75 ft" }}, {{ tackle = "ball" }}, {{ line = "mono", length = "40 ft" }},
  {{ tackle = "spoon" }}]
"""


def below_its_ball_m(drag: str, speed_m_s: float = 1.03) -> float:
    ball, spoon = depth_answer(parse_spread(SPOONED.format(drag=drag)), speed_m_s).rods[0].points
    assert ball.depth_m is not None
    assert spoon.depth_m is not None
    return spoon.depth_m - ball.depth_m


def test_a_spoon_weighs_what_a_stamped_sheet_and_a_hook_weigh() -> None:
    """An ellipse of brass sheet, 10 cm by 3 cm by 0.5 mm, and 2 g of steel, brass of 8500 kg/m³: arithmetic."""
    sheet_m3 = math.pi / 4 * 0.10 * 0.03 * 0.0005
    mass_kg = 8500.0 * sheet_m3 + 0.002
    wet_N = 9.81 * ((8500.0 - 1000.0) * sheet_m3 + 0.002 * (1.0 - 1.0 / 7.85))
    spoon = defaults.LURES["spoon"]
    assert spoon.mass_kg == pytest.approx(mass_kg, rel=0.05)
    assert spoon.wet_weight_N == pytest.approx(wet_N, rel=0.05)


def test_a_spoon_forty_feet_back_sinks_below_its_ball_as_the_catenary_says() -> None:
    """A neutral line with a weight and a drag at its end is a catenary in closed form (oracle 4 of the solver)."""
    spoon = defaults.LURES["spoon"]
    drag_N = 0.5 * 1000.0 * spoon.drag_area.value * 1.03**2
    per_m = 0.5 * 1000.0 * 1.5 * 0.00045 * 1.03**2
    a = math.hypot(spoon.wet_weight_N, drag_N) / per_m
    start = a * drag_N / spoon.wet_weight_N
    length = 40 * 0.3048
    # Seen from the free end, the catenary's depth falls by what two hyperbolic sines differ.
    sinks_m = a * (math.asinh((length + start) / a) - math.asinh(start / a))
    fixed = below_its_ball_m('normal_drag = 1.5\ntangential_drag = 0.0001\ndensity = "1000 kg/m^3"')
    assert fixed == pytest.approx(sinks_m, rel=0.01)
    # What is shown of it by its label: the drag of a line at a low Reynolds number, and along it, take a tenth off.
    shown_m = below_its_ball_m("")
    assert 0.8 * sinks_m < shown_m < 1.05 * sinks_m
    assert 4.2 < shown_m / 0.3048 < 5.4


def test_a_disc_pulls_as_the_square_of_the_speed_in_a_flume() -> None:
    """Trolling depressors in a flume, 0.75 to 1.05 m/s: pull as speed squared (Fuwa 2002, abstract read)."""
    spread = parse_spread(DISC)
    pulls = [depth_answer(spread, speed).rods[0].tension_N for speed in (0.75, 1.05)]
    assert pulls[0] is not None
    assert pulls[1] is not None
    exponent = math.log(pulls[1] / pulls[0]) / math.log(1.05 / 0.75)
    assert 1.8 < exponent < 2.0  # a disc's own weight pulls at any speed


DISC = """
[line.mono]
material = "nylon"
diameter = "0.8 mm"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { straight = "0 deg" }
[[rod]]
key = "1"
name = "FLUME"
side = "port"
tip = { abeam = "0 m", height = "0.1 m" }
chain = [{ line = "mono", out = "1.5 m" }, { tackle = "disc", setting = "straight" }]
"""


def test_the_four_divers_that_were_given_lie_in_what_is_shown_of_their_labels() -> None:
    """The demo's four divers run at 60, 70, 65 and 64 ft with coefficients that are plausible and not the defaults.

    The first law showed 71, 83, 76 and 75 ft, all too deep. Nothing was fitted to the four: the high divers are shown
    within a twentieth of them now, the low ones a sixth deeper, and all four lie in their intervals.
    """
    spread = load_spread(shipped("demo_logs") / "evening.toml")
    ratios = []
    for key, given_ft in (("2", 60.0), ("3", 70.0), ("6", 65.0), ("7", 64.0)):
        rod = spread.rod_by_key(key)
        assert rod is not None
        found = depth_quantiles(spread, rod, 1.028)
        assert found is not None
        assert found[0] < given_ft * 0.3048 < found[4]
        ratios.append(found[2] / (given_ft * 0.3048))
    assert min(ratios) < 1.0 < max(ratios)
    assert sum(ratios) / 4.0 < 1.12
