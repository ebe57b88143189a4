"""Shares of a law along parallel lines, against many places on each of them."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest

from sternwatch.answers.depths.along_lines import at_shares

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
