"""Rates against examples in print, named beside each, and scipy.stats."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from sternwatch.debrief.counting import rates


class TestInPrint:
    @pytest.mark.parametrize(
        ("events", "low", "high"),
        # Garwood (1936), 95 % limits: our own values, half the chi-square quantiles below, to four places.
        [(0, 0.0, 3.6889), (1, 0.0253, 5.5716), (5, 1.6235, 11.6683), (20, 12.2165, 30.8884)],
    )
    def test_garwood_limits(self, events: int, low: float, high: float) -> None:
        got = rates.poisson_interval(events, 0.95)
        assert got == pytest.approx((low, high), abs=5e-5)
        chi2 = stats.chi2
        own = (chi2.ppf(0.025, 2 * events) / 2 if events else 0.0, chi2.ppf(0.975, 2 * events + 2) / 2)
        assert (low, high) == pytest.approx(own, abs=5e-5)

    def test_the_example_of_r_poisson_test(self) -> None:
        # R's help page of poisson.test: 11 in 800 against 21 in 3011.
        got = rates.two_rates(11, 800.0, 21, 3011.0, 0.95)
        assert got is not None
        assert got.ratio == pytest.approx(1.971, abs=5e-4)
        assert (got.low, got.high) == pytest.approx((0.858, 4.277), abs=5e-4)
        assert got.p == pytest.approx(0.0797, abs=5e-5)

    def test_benjamini_and_hochbergs_own_example(self) -> None:
        # Benjamini & Hochberg (1995), section 4.1: of fifteen p values, four are discoveries at q = 0.05.
        p = [
            0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528,
            0.7590, 1.0,
        ]  # fmt: skip
        assert rates.discoveries(p, 0.05) == [True] * 4 + [False] * 11


class TestAgainstScipy:
    @given(st.integers(0, 400), st.floats(0.5, 0.999))
    @settings(deadline=None)
    def test_poisson_limits_are_quantiles_of_chi_squared(self, events: int, level: float) -> None:
        tail = (1 - level) / 2
        low = stats.chi2.ppf(tail, 2 * events) / 2 if events else 0.0
        high = stats.chi2.ppf(1 - tail, 2 * events + 2) / 2
        assert rates.poisson_interval(events, level) == pytest.approx((low, high), rel=1e-8)

    @given(st.integers(0, 300), st.integers(0, 300), st.floats(0.02, 0.98))
    @settings(deadline=None)
    def test_the_two_sided_test(self, events: int, others: int, share: float) -> None:
        n = events + others
        if n == 0:
            assert rates.binomial_p(0, 0, share) == 1.0
            return
        expected = stats.binomtest(events, n, share).pvalue
        assert rates.binomial_p(events, n, share) == pytest.approx(expected, rel=1e-6, abs=1e-300)

    @given(st.integers(0, 200), st.integers(1, 200), st.floats(0.5, 0.999))
    @settings(deadline=None)
    def test_limits_of_a_share(self, events: int, others: int, level: float) -> None:
        expected = stats.binomtest(events, events + others).proportion_ci(level, "exact")
        got = rates.share_interval(events, events + others, level)
        assert got == pytest.approx((expected.low, expected.high), rel=1e-8, abs=1e-12)

    @given(st.lists(st.floats(1e-9, 1.0), min_size=1, max_size=80), st.floats(0.01, 0.3))
    @settings(deadline=None)
    def test_false_discoveries(self, p: list[float], q: float) -> None:
        adjusted = stats.false_discovery_control(p)
        edge = np.abs(np.asarray(adjusted) - q) < 1e-12
        got = np.array(rates.discoveries(p, q))
        assert (got == (np.asarray(adjusted) <= q))[~edge].all()


class TestLimits:
    def test_nothing_to_compare_with(self) -> None:
        assert rates.two_rates(3, 1.0, 0, 0.0) is None
        assert rates.two_rates(0, 0.0, 3, 1.0) is None

    def test_no_events_at_all_say_nothing(self) -> None:
        got = rates.two_rates(0, 1.0, 0, 7.0)
        assert got == rates.TwoRates(None, 0.0, math.inf, 1.0)

    def test_all_events_on_one_side(self) -> None:
        got = rates.two_rates(6, 1.0, 0, 3.0)
        assert got is not None
        assert got.ratio == math.inf
        assert got.high == math.inf
        assert got.p == pytest.approx(0.25**6)

    @pytest.mark.parametrize(("events", "level"), [(-1, 0.9), (3, 0.0), (3, 1.0)])
    def test_what_cannot_be_is_refused(self, events: int, level: float) -> None:
        with pytest.raises(ValueError, match=r"events|level"):
            rates.poisson_interval(events, level)

    def test_more_events_than_trials_are_refused(self) -> None:
        with pytest.raises(ValueError, match="6 events of 5"):
            rates.share_interval(6, 5)


class TestHoursToTell:
    def test_already_told(self) -> None:
        assert rates.hours_to_tell(9, 10.0, 1, 30.0, 0.01) == 0.0

    def test_equal_rates_never_tell(self) -> None:
        assert rates.hours_to_tell(2, 10.0, 6, 30.0, 0.01) is None

    def test_so_many_more_hours_do_tell(self) -> None:
        more = rates.hours_to_tell(3, 5.0, 4, 15.0, 0.002)
        assert more is not None
        times = 1.0 + more / 20.0
        n = round(7 * times)
        assert stats.binomtest(round(3 * times), n, 0.25).pvalue <= 0.002
        before = 0.6 * times
        assert stats.binomtest(round(3 * before), round(7 * before), 0.25).pvalue > 0.002

    def test_without_hits_nobody_knows(self) -> None:
        assert rates.hours_to_tell(0, 5.0, 0, 15.0, 0.002) is None


@pytest.mark.parametrize(
    ("p", "words"),
    [
        (0.9, "more often than not"),
        (0.5, "about every second time"),
        (0.25, "about 1 time in 4"),
        (1 / 871, "about 1 time in 900"),
        (1 / 1240, "about 1 time in 1,200"),
        (1 / 23, "about 1 time in 25"),
        (1 / 52_000, "about 1 time in 50,000"),
        (1e-9, "less than 1 time in a million"),
    ],
)
def test_a_probability_in_words(p: float, words: str) -> None:
    assert rates.one_in(p) == words
