"""Computes rates from few events, and whether two rates differ. Pure statistics that know nothing of rods.

Hits are modelled as a Poisson process: a number of events in a number of hours. Two rates are compared given their
total: then the events of one are binomial with its share of the hours. This exact test needs no model of how good the
day was (Przyborowski & Wilenski 1940). For many comparisons at once the share of false discoveries is limited
(Benjamini & Hochberg 1995).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

FALSE_DISCOVERIES = 0.10
# Outcomes exactly as improbable as the one seen count too; rounding must not lose them.
_EQUAL = 1.0 + 1e-7
# A forecast of the hours still needed is useless beyond this many times the hours so far.
MOST_TIMES = 50.0


def poisson_interval(events: int, level: float = 0.90) -> tuple[float, float]:
    """Exact limits of a Poisson mean (Garwood 1936), equal tails.

    Parameters
    ----------
    events
        Number seen, not negative.
    level
        Level of the interval, 0 to 1.

    Returns
    -------
    (low, high) of the expected number. ValueError for a negative number or a level out of range.
    """
    _check(events, level)
    tail = (1.0 - level) / 2.0
    low = float(special.gammaincinv(events, tail)) if events > 0 else 0.0
    return low, float(special.gammainccinv(events + 1, tail))


def share_interval(events: int, of: int, level: float = 0.90) -> tuple[float, float]:
    """Exact limits of a binomial share (Clopper & Pearson 1934), equal tails."""
    _check(events, level)
    if events > of:
        raise ValueError(f"{events} events of {of}")
    tail = (1.0 - level) / 2.0
    low = float(special.betaincinv(events, of - events + 1, tail)) if events > 0 else 0.0
    high = float(special.betaincinv(events + 1, of - events, 1.0 - tail)) if events < of else 1.0
    return low, high


def _check(events: int, level: float) -> None:
    if events < 0:
        raise ValueError(f"{events} events; at least 0")
    if not 0.0 < level < 1.0:
        raise ValueError(f"level {level}; between 0 and 1")


def binomial_p(events: int, of: int, share: float) -> float:
    """Two-sided exact binomial test: the probability of every outcome no more probable than the one seen."""
    if of == 0:
        return 1.0
    if share <= 0.0 or share >= 1.0:
        return 1.0 if events == round(of * share) else 0.0
    k = np.arange(of + 1, dtype=np.float64)
    log = (
        special.gammaln(of + 1.0)
        - special.gammaln(k + 1.0)
        - special.gammaln(of - k + 1.0)
        + k * math.log(share)
        + (of - k) * math.log1p(-share)
    )
    chance = np.exp(log)
    return float(min(1.0, chance[chance <= chance[events] * _EQUAL].sum()))


@dataclass(frozen=True, slots=True)
class TwoRates:
    """One rate against another. ``ratio``: None if neither has an event, infinite if only the other has none."""

    ratio: float | None
    low: float
    high: float
    p: float


def two_rates(
    events: int, hours: float, other_events: int, other_hours: float, level: float = 0.90
) -> TwoRates | None:
    """Compare two Poisson rates given their total: exact test, ratio and its interval.

    Parameters
    ----------
    events, hours, other_events, other_hours
        Counts and exposures in any one unit.
    level
        Level of the ratio's interval, which follows from that of the binomial share.

    Returns
    -------
    None where an exposure is 0: then there is nothing to compare with.
    """
    if hours <= 0.0 or other_hours <= 0.0:
        return None
    total = events + other_events
    share = hours / (hours + other_hours)
    low, high = share_interval(events, total, level) if total else (0.0, 1.0)
    scale = other_hours / hours
    ratio = None if total == 0 else math.inf if other_events == 0 else events / other_events * scale
    return TwoRates(ratio, _odds(low) * scale, _odds(high) * scale, binomial_p(events, total, share))


def _odds(share: float) -> float:
    return math.inf if share >= 1.0 else share / (1.0 - share)


def discoveries(p: Sequence[float], q: float = FALSE_DISCOVERIES) -> list[bool]:
    """Which of many tests are discoveries, with at most a share ``q`` of false ones (Benjamini & Hochberg 1995)."""
    m = len(p)
    order = sorted(range(m), key=p.__getitem__)
    last = max((rank for rank, i in enumerate(order, start=1) if p[i] <= q * rank / m), default=0)
    found = [False] * m
    for i in order[:last]:
        found[i] = True
    return found


def hours_to_tell(events: int, hours: float, other_events: int, other_hours: float, threshold: float) -> float | None:
    """The further hours (both exposures together) that bring p under ``threshold`` if both rates stay the same.

    None where ``MOST_TIMES`` the hours so far are not enough; 0 where p is under it already.
    """
    total, exposure = events + other_events, hours + other_hours
    if total == 0 or hours <= 0.0 or other_hours <= 0.0:
        return None
    share = hours / exposure

    def tells(times: float) -> bool:
        n = round(total * times)
        return binomial_p(min(round(events * times), n), n, share) <= threshold

    if tells(1.0):
        return 0.0
    if abs(events / total - share) < 1e-9 or not tells(MOST_TIMES):
        return None
    low, high = 1.0, MOST_TIMES
    while high - low > 0.02 * low:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if tells(middle) else (middle, high)
    return (high - 1.0) * exposure


def one_in(p: float) -> str:
    """A probability in words: "about 1 time in 900"."""
    if p >= 0.4:
        return "about every second time" if p < 0.6 else "more often than not"
    if p < 1e-6:
        return "less than 1 time in a million"
    n = 1.0 / p
    if n < 10.0:
        return f"about 1 time in {n:.0f}"
    size = 10.0 ** math.floor(math.log10(n))
    step = size if n >= 3.0 * size else size / 10.0 if n < 2.0 * size else size / 2.0
    return f"about 1 time in {round(n / step) * step:,.0f}"
