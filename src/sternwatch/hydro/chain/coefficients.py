"""Force coefficients: each function is one formula of a named work, with its range.

Keys in square brackets are those of ``sources.REFERENCES``.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

# Normal-force coefficient of a disc-like plate (aspect ratio 4/pi) by its angle to the stream, degrees.
# 10-30: low-aspect-ratio plate data [Ortiz 2015]; 35-60: from memory, within 15 %; 90: disc [Hoerner 1965].
PLATE_ANGLE_DEG: Final = (0.0, 10.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 60.0, 90.0)
PLATE_CN: Final = (0.0, 0.38, 0.84, 1.13, 1.43, 1.50, 1.50, 1.40, 1.20, 1.15)

# Disc square to the stream [Hoerner 1965: 1.12-1.17].
DISC_CD: Final = 1.12


@njit(cache=True, inline="always")
def cn(re: float) -> float:
    """Normal drag coefficient of a smooth cylinder at cross-flow Reynolds number ``re`` [-].

    1.18 + 6.8 Re^-0.89 + 1.96 Re^-1/2 - 0.0004 Re / (1 + 3.64e-7 Re^2), Sucker and Brauer's correlation as printed
    in [White 1991]; within 4 % of [Wieselsberger 1921] from 196 to 2270. Valid to Re 2e5. Below Re 1 it is constant:
    a line that hardly moves has no drag, and an unbounded coefficient would make the derivative of drag unbounded.
    """
    re = max(re, 1.0)
    return (
        1.18 + 6.8 * math.exp(-0.89 * math.log(re)) + 1.96 / math.sqrt(re) - 0.0004 * re / (1.0 + 3.64e-7 * re * re)
    )


@njit(cache=True, inline="always")
def cn_and_slope(re: float) -> tuple[float, float]:
    """``cn`` and its derivative with respect to ``re`` (zero below Re 1, where ``cn`` is constant)."""
    if re <= 1.0:
        return 1.18 + 6.8 + 1.96 - 0.0004 / (1.0 + 3.64e-7), 0.0
    power = 6.8 * math.exp(-0.89 * math.log(re))
    root = 1.96 / math.sqrt(re)
    q = 1.0 + 3.64e-7 * re * re
    value = 1.18 + power + root - 0.0004 * re / q
    slope = (-0.89 * power - 0.5 * root) / re - 0.0004 * (1.0 - 3.64e-7 * re * re) / (q * q)
    return value, slope


def _monotone_slopes(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Knot slopes of the monotone piecewise cubic [Fritsch Butland 1984]: weighted harmonic means."""
    step = np.diff(x)
    chord = np.diff(y) / step
    slope = np.zeros_like(x)
    for k in range(1, len(x) - 1):
        left, right = chord[k - 1], chord[k]
        if left * right > 0.0:
            a, b = 2.0 * step[k] + step[k - 1], step[k] + 2.0 * step[k - 1]
            slope[k] = (a + b) / (a / left + b / right)
    slope[0] = chord[0]
    slope[-1] = 0.0  # square to the stream the force is even in the angle
    return slope


_ANGLE: Final = np.radians(np.array(PLATE_ANGLE_DEG))
_CN: Final = np.array(PLATE_CN)
_SLOPE: Final = _monotone_slopes(_ANGLE, _CN)


@njit(cache=True)
def plate_cn_and_slope(angle_rad: float) -> tuple[float, float]:
    """Normal-force coefficient of an inclined disc [-] and its derivative [1/rad] at ``angle_rad`` to the stream.

    Monotone piecewise cubic (C1, no overshoot between the knots) through ``PLATE_CN``; odd in the angle, constant
    beyond square to the stream. Within 15 %.
    """
    sign = 1.0
    if angle_rad < 0.0:
        sign, angle_rad = -1.0, -angle_rad
    last = _ANGLE.shape[0] - 1
    if angle_rad >= _ANGLE[last]:
        return sign * _CN[last], 0.0
    k = 0
    while angle_rad >= _ANGLE[k + 1]:
        k += 1
    h = _ANGLE[k + 1] - _ANGLE[k]
    t = (angle_rad - _ANGLE[k]) / h
    u = 1.0 - t
    value = (
        _CN[k] * (1.0 + 2.0 * t) * u * u
        + _SLOPE[k] * h * t * u * u
        + _CN[k + 1] * t * t * (3.0 - 2.0 * t)
        - _SLOPE[k + 1] * h * t * t * u
    )
    slope = (
        6.0 * t * u * (_CN[k + 1] - _CN[k]) / h
        + _SLOPE[k] * u * (1.0 - 3.0 * t)
        + _SLOPE[k + 1] * t * (3.0 * t - 2.0)
    )
    return sign * value, slope


@njit(cache=True)
def plate_cn(angle_rad: float) -> float:
    """Normal-force coefficient of an inclined disc; see ``plate_cn_and_slope``."""
    return plate_cn_and_slope(angle_rad)[0]
