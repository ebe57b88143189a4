"""Values at ranks are those that a sort gives, to the last bit."""

from __future__ import annotations

import numpy as np
import pytest

from sternwatch.answers.depths.ranks import BINS, at_ranks

AT = np.array([0.5, 3.25, 250.0, 997.9])


def sorted_at(values: np.ndarray) -> np.ndarray:
    ordered = np.sort(values)
    low = AT.astype(int)
    return ordered[low] + (AT - low) * (ordered[low + 1] - ordered[low])


@pytest.mark.parametrize("law", ["normal", "few values", "far outliers", "two heaps", "all but one equal"])
def test_as_a_sort(law: str) -> None:
    rng = np.random.default_rng(7)
    values = rng.normal(size=1000)
    if law == "few values":
        values = np.round(values, 1)
    elif law == "far outliers":
        values[:3] = (1e9, -1e9, 1e12)  # nearly all of the others fall into one bin
    elif law == "two heaps":
        values[:500] += 1e3 * BINS
    elif law == "all but one equal":
        values[1:] = values[1]
    made = np.empty(len(AT))
    assert at_ranks(values, AT, made)
    assert np.array_equal(made, sorted_at(values))


@pytest.mark.parametrize("odd", [np.nan, np.inf])
def test_nothing_is_set_where_a_value_is_not_finite_or_all_are_equal(odd: float) -> None:
    made = np.full(len(AT), 7.0)
    values = np.ones(1000)
    assert not at_ranks(values, AT, made)
    values[5] = odd
    assert not at_ranks(values, AT, made)
    assert (made == 7.0).all()
