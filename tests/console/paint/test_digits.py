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


def laid_over(one: np.ndarray, other: np.ndarray) -> list[tuple[np.ndarray, np.ndarray]]:
    """Flush left and flush right, where one is narrower."""
    wide = max(one.shape[1], other.shape[1])
    sides = [[(0, wide - ink.shape[1]), (wide - ink.shape[1], 0)] for ink in (one, other)]
    return [(np.pad(one, ((0, 0), sides[0][side])), np.pad(other, ((0, 0), sides[1][side]))) for side in (0, 1)]


def told_apart(one: np.ndarray, other: np.ndarray) -> float:
    """How much of the ink differs to an eye that blurs over half a cell, whatever the sign's size."""
    a, b = (gaussian_filter(np.pad(ink, 2), 0.5) for ink in (one, other))
    return float(((a - b) ** 2).sum() / ((a**2).sum() * (b**2).sum()) ** 0.5)


@pytest.mark.parametrize(("one", "other"), list(combinations("0123456789", 2)))
def test_two_digits_differ_in_four_dots_and_out_of_focus_at_every_size(one: str, other: str) -> None:
    for a, b in laid_over(inked(big(one)), inked(big(other))):
        assert np.abs(a - b).sum() >= LEAST_DOTS
    for scale in (1, 2, 3, 4):
        for a, b in laid_over(inked(big(one, scale)), inked(big(other, scale))):
            assert told_apart(a, b) > LEAST_SEEN, f"at scale {scale}"
    for a, b in laid_over(quartered(narrow(one)), quartered(narrow(other))):
        assert told_apart(a, b) > LEAST_SEEN, "narrow"


def test_every_digit_is_as_wide_as_another_but_for_the_narrow_1() -> None:
    assert {len(big(sign)[0]) for sign in "023456789"} == {3}
    assert len(big("1")[0]) == 2


def test_a_degree_in_ascii_is_no_unknown_sign() -> None:
    assert big("12 °", plain=True)[1].rstrip().endswith("d")
    for text in ("– °", "12 °F", "9.5 °C"):
        assert "?" not in "".join(big(text, plain=True))
