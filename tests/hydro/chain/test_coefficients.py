"""Coefficients against the works named beside each; where a value's source is a person's memory it says so."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from sternwatch.gear.values.defaults import SPHERE_DRAG, STRUMMING
from sternwatch.hydro.chain import coefficients as co


@pytest.mark.parametrize(("re", "measured"), [(196, 1.27), (356, 1.15), (892, 0.964), (2270, 0.886)])
def test_cylinder_drag_is_within_4_percent_of_measurement(re: float, measured: float) -> None:
    """Wieselsberger 1921, measured drag of cylinders."""
    assert co.cn(re) == pytest.approx(measured, rel=0.04)


@pytest.mark.parametrize(
    ("re", "value"), [(100, 1.4490), (200, 1.3006), (500, 1.1113), (1000, 0.9633), (2000, 0.9059)]
)
def test_cylinder_drag_is_the_printed_correlation(re: float, value: float) -> None:
    """Sucker and Brauer as printed in White 1991, worked to four places."""
    assert co.cn(re) == pytest.approx(value, abs=6e-5)


@settings(deadline=None)  # the first call compiles, and machines are busy
@given(st.floats(1.001, 2e5))
def test_cylinder_slope_is_the_derivative(re: float) -> None:
    h = 1e-5 * re
    assert co.cn_and_slope(re)[0] == co.cn(re)
    assert co.cn_and_slope(re)[1] == pytest.approx((co.cn(re + h) - co.cn(re - h)) / (2 * h), rel=1e-4, abs=1e-9)


@pytest.mark.parametrize("re", [0.0, 1e-9, 0.5, 1.0])
def test_cylinder_drag_is_held_below_one(re: float) -> None:
    assert co.cn(re) == pytest.approx(co.cn(1.0), abs=0)
    assert co.cn_and_slope(re) == (pytest.approx(co.cn(1.0), rel=1e-15), 0.0)


@pytest.mark.parametrize(
    ("degrees", "value"),
    [(10, 0.38), (20, 0.84), (25, 1.13), (30, 1.43), (35, 1.50), (40, 1.50), (45, 1.40), (60, 1.20), (90, 1.15)],
)
def test_plate_table(degrees: float, value: float) -> None:
    """10-30: low-aspect-ratio plate data (Ortiz 2015); 35-60 from memory; 90: disc, Hoerner 1965."""
    assert co.plate_cn(math.radians(degrees)) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("degrees", [10, 15, 20, 25, 30])
def test_plate_is_within_15_percent_of_theory(degrees: float) -> None:
    """Independent of the table: Polhamus 1966, C_L = Kp sin a cos^2 a + Kv cos a sin^2 a, with Kp from Helmbold's
    slope for aspect ratio 4/pi and Kv = pi; the force is normal to the plate, so C_N = C_L / cos a."""
    aspect = 4.0 / math.pi
    kp = 2.0 * math.pi * aspect / (2.0 + math.sqrt(4.0 + aspect**2))
    a = math.radians(degrees)
    theory = kp * math.sin(a) * math.cos(a) + math.pi * math.sin(a) ** 2
    assert co.plate_cn(a) == pytest.approx(theory, rel=0.15)


def test_plate_square_to_the_stream_is_a_disc() -> None:
    """Hoerner 1965: 1.12-1.17."""
    assert 1.12 <= co.plate_cn(math.pi / 2) <= 1.17
    assert 1.12 <= co.DISC_CD <= 1.17


@settings(deadline=None)  # the first call compiles, and machines are busy
@given(st.floats(-1.7, 1.7))
def test_plate_is_odd_smooth_and_never_overshoots(angle: float) -> None:
    value, slope = co.plate_cn_and_slope(angle)
    assert abs(value) <= 1.5 * (1 + 1e-15)
    assert co.plate_cn(-angle) == -value
    h = 1e-7
    ahead, behind = co.plate_cn(angle + h), co.plate_cn(angle - h)
    assert slope == pytest.approx((ahead - behind) / (2 * h), abs=1e-4)


@pytest.mark.parametrize("re", [5e4, 7e4, 1e5])
def test_drag_of_a_trolled_ball_against_two_libraries_of_correlations(re: float) -> None:
    """fluids 1.x: Barati (2014) and Clift, Grace and Weber (1978), both written by others from other fits.

    The range is told to two decimals: 0.45 to 0.50. Clift gives 0.5018 at the upper end.
    """
    from fluids.drag import Barati_high, Clift

    assert SPHERE_DRAG.low <= round(Clift(re), 2) <= SPHERE_DRAG.high
    assert SPHERE_DRAG.low <= round(Barati_high(re), 2) <= SPHERE_DRAG.high


def test_strumming_lies_between_none_and_half_a_diameter() -> None:
    """Blevins 1990: drag grows by 1 + 2.1 A/D. Wire shows about a third of a diameter, and is believed two-sided."""
    assert STRUMMING.low == 1.0
    assert STRUMMING.low < STRUMMING.value < STRUMMING.high < 1.0 + 2.1 * 0.5


def test_the_slopes_of_the_plates_curve_are_those_of_an_independent_library():
    """scipy's monotone cubic has the same weighted harmonic means [Fritsch and Butland 1984] at inner knots."""
    angle, cn = co._ANGLE, co._CN
    theirs = PchipInterpolator(angle, cn).derivative()(angle)
    assert co._SLOPE[1:-1] == pytest.approx(theirs[1:-1], rel=1e-12, abs=1e-12)
    assert co._SLOPE[0] == pytest.approx((cn[1] - cn[0]) / (angle[1] - angle[0]))
    assert co._SLOPE[-1] == 0.0


def test_slopes_between_knots_are_weighted_harmonic_means_and_none_at_a_turn() -> None:
    """Fritsch and Butland 1984: even for small chords; 0 where the data turn."""
    from sternwatch.hydro.chain.coefficients import _monotone_slopes

    x = np.array([0.0, 1.0, 3.0, 4.0, 6.0])
    y = np.array([0.0, 0.1, 0.5, 0.4, 0.4])
    slopes = _monotone_slopes(x, y)
    a, b = 2.0 * 2.0 + 1.0, 2.0 + 2.0 * 1.0
    assert slopes == pytest.approx([0.1, (a + b) / (a / 0.1 + b / 0.2), 0.0, 0.0, 0.0])
