"""Shares of a law along parallel lines, against many places on each of them."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest
from scipy.special import ndtr

from sternwatch.answers.depths.along_lines import at_shares, limited, weigh

SHARES = np.array([0.05, 0.25, 0.5, 0.75, 0.95])
NORMAL = np.array([NormalDist().inv_cdf(share) for share in SHARES])
ALONG = 1.5


def found(start: np.ndarray, rise: np.ndarray, bend: np.ndarray, add: float, beside: np.ndarray) -> np.ndarray:
    values = np.stack([start + t * rise + t * t * bend for t in (-ALONG, 0.0, ALONG)])
    made = np.empty(len(SHARES))
    at_shares(values, ALONG, add, beside, SHARES, NORMAL, made)
    return made


@pytest.mark.parametrize(
    ("rise", "bend"), [(1.0, 0.0), (-1.0, 0.0), (1.0, 0.1), (-1.0, 0.1), (0.5, -0.4), (-0.5, -0.4), (0.0, 1.0)]
)
def test_as_many_places_on_every_line(rise: float, bend: float) -> None:
    rng = np.random.default_rng(5)
    start, beside = 0.3 * rng.normal(size=50), rng.normal(size=50)
    rises, bends = rise + 0.1 * rng.normal(size=50), bend * np.exp(0.1 * rng.normal(size=50))
    made = found(start, rises, bends, 0.2, beside)
    even = np.array([NormalDist().inv_cdf((i + 0.5) / 4000) for i in range(4000)])[:, None]
    places = start + 0.2 * beside + even * rises + even**2 * bends
    assert [float((places < value).mean()) for value in made] == pytest.approx(SHARES, abs=5e-4)


def share_below(value: float, start: np.ndarray, rise: np.ndarray, bend: np.ndarray) -> float:
    """In closed form, with the normal law of an independent code (scipy); bends are not zero."""
    square = rise**2 - 4.0 * bend * (start - value)
    root = np.sqrt(np.maximum(square, 0.0))
    ends = np.sort(np.stack([(-rise - root) / (2.0 * bend), (-rise + root) / (2.0 * bend)]), axis=0)
    between = np.where(square > 0.0, ndtr(ends[1]) - ndtr(ends[0]), 0.0)
    return float(np.where(bend > 0.0, between, 1.0 - between).mean())


@pytest.mark.parametrize(
    ("rise", "bend", "within"),
    [(1.0, 0.01, 1e-9), (-1.0, 0.1, 1e-9), (0.5, -0.4, 1e-6), (-0.5, -0.4, 1e-6), (0.1, 1.0, 1e-6)],
)
def test_the_share_below_what_is_found_is_the_one_asked_for(rise: float, bend: float, within: float) -> None:
    """Where many lines turn back within the law, less exactly: there the share has no even slope."""
    rng = np.random.default_rng(6)
    start, beside = 0.3 * rng.normal(size=251), rng.normal(size=251)
    rises, bends = rise + 0.1 * rng.normal(size=251), bend * np.exp(0.1 * rng.normal(size=251))
    made = found(start, rises, bends, 0.2, beside)
    shares = [share_below(value, start + 0.2 * beside, rises, bends) for value in made]
    assert shares == pytest.approx(SHARES, abs=within)


def test_a_normal_law_and_one_turned_about() -> None:
    none = np.zeros(7)
    assert found(none + 2.0, none + 3.0, none, 0.0, none) == pytest.approx(2.0 + 3.0 * NORMAL, abs=1e-5)
    assert found(none + 2.0, none - 3.0, none, 0.0, none) == pytest.approx(2.0 + 3.0 * NORMAL, abs=1e-5)


def test_level_lines_have_the_shares_of_their_starts() -> None:
    none = np.zeros(100)
    made = found(np.arange(100.0) / 30.0, none, none, 0.0, none)
    assert made == pytest.approx(np.array([5.0, 25.0, 50.0, 75.0, 95.0]) / 30.0, abs=1.0 / 30.0)


def test_what_is_not_finite_is_unknown() -> None:
    start = np.zeros(7)
    start[3] = np.nan
    assert np.isnan(found(start, np.ones(7), np.zeros(7), 0.0, np.zeros(7))).all()


@pytest.mark.parametrize("root", [False, True])
def test_members_weigh_as_their_kernels_inverse_says(root: bool) -> None:
    rng = np.random.default_rng(7)
    own, half = rng.uniform(4.0, 9.0, size=12), rng.normal(size=(12, 12))
    inverse = half @ half.T
    weights = np.empty(12)
    middle, wide, error = weigh(own, root, inverse, np.diagonal(inverse).copy(), weights)
    scaled = np.sqrt(own) if root else own
    assert (middle, wide) == pytest.approx((scaled.mean(), scaled.std()))
    wanted = inverse @ ((scaled - middle) / wide)
    assert weights == pytest.approx(wanted)
    assert error == pytest.approx(np.sqrt(np.mean((wanted / np.diagonal(inverse)) ** 2)))


def test_equal_members_have_no_weight() -> None:
    assert weigh(np.full(5, 9.0), True, np.eye(5), np.ones(5), np.zeros(5)) == (3.0, 0.0, 0.0)


def test_a_quantile_goes_beyond_the_members_by_half_the_way_to_the_fourth_at_most() -> None:
    own = np.array([5.0, 9.0, 12.0, 6.0, 7.0, 10.0, 8.0, 11.0, *([8.0] * 16)])
    far = np.array([-9.0, -1.0, 0.0, 1.0, 9.0])
    assert limited(own, False, 8.0, 1.0, far) == (5.0 - 0.5 * 3.0, 7.0, 8.0, 9.0, 12.0 + 0.5 * 3.0)
    assert limited(own, True, 3.0, 0.1, far)[0] == pytest.approx(2.1**2), "the root knows the surface"
    assert limited(own, True, 3.0, 1.0, far) == (0.0, 4.0, 9.0, 13.5, 13.5)
