"""Numbers that are read from two metres: no digit can be taken for another."""

from itertools import combinations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from sternwatch.console.paint.digits import big, narrow

LEAST_DOTS = 4  # of fifteen, in which two digits must differ
LEAST_SEEN = 0.15  # of the ink's square, by which two digits must differ out of focus; a 1 and a 7 of one shape: 0.10

UPPER, LOWER = "▀█", "▄█"
QUARTERS = {sign: bits for bits, sign in enumerate(" ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█")}


def inked(lines: tuple[str, ...]) -> np.ndarray:
    """What is painted, one number for each half of a cell."""
    rows = [[float(cell in half) for cell in line] for line in lines for half in (UPPER, LOWER)]
    return np.array(rows)


def quartered(lines: tuple[str, ...]) -> np.ndarray:
    rows = []
    for line in lines:
        rows.append([float(bool(QUARTERS[c] & bit)) for c in line for bit in (1, 2)])
        rows.append([float(bool(QUARTERS[c] & bit)) for c in line for bit in (4, 8)])
    return np.array(rows)


def told_apart(one: np.ndarray, other: np.ndarray) -> float:
    """How much of the ink differs to an eye that blurs over half a cell, whatever the sign's size."""
    a, b = (gaussian_filter(np.pad(ink, 2), 0.5) for ink in (one, other))
    return float(((a - b) ** 2).sum() / ((a**2).sum() * (b**2).sum()) ** 0.5)


@pytest.mark.parametrize(("one", "other"), list(combinations("0123456789", 2)))
def test_two_digits_differ_in_four_dots_and_out_of_focus_at_every_size(one: str, other: str) -> None:
    assert np.abs(inked(big(one)) - inked(big(other))).sum() >= LEAST_DOTS
    for scale in (1, 2, 3, 4):
        assert told_apart(inked(big(one, scale)), inked(big(other, scale))) > LEAST_SEEN, f"at scale {scale}"
    assert told_apart(quartered(narrow(one)), quartered(narrow(other))) > LEAST_SEEN, "narrow"


def test_every_digit_is_as_wide_as_another() -> None:
    assert {len(big(sign)[0]) for sign in "0123456789"} == {3}
