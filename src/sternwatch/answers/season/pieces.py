"""What a season knows of every piece of gear: since when, from how many observations, how wide before and now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from sternwatch.answers.belief.priors import value_at
from sternwatch.answers.season.keeping import Update
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import Uncertain, uncertain

WORTH = 0.95  # a number that keeps a larger share of its spread is not shown
Z90 = 1.645


@dataclass(frozen=True, slots=True)
class Known:
    """One quantity: the median and 90 % interval, at first and now. ``widths`` (updates,): relative to the first.

    ``since`` None: its piece was never observed by itself.
    """

    name: str
    unit: str
    subject: str
    since: datetime | None
    last: datetime | None
    observations: int
    then: tuple[float, float, float]
    now: tuple[float, float, float]
    widths: tuple[float, ...]

    @property
    def half_then(self) -> float:
        return 0.5 * (self.then[2] - self.then[0])

    @property
    def half_now(self) -> float:
        return 0.5 * (self.now[2] - self.now[0])


def known(spread: Spread, updates: Sequence[Update]) -> tuple[Known, ...]:
    """All quantities of a spread that the season has narrowed, by piece, the best known first."""
    if not updates:
        return ()
    quantities, last = uncertain(spread, fitted=True), updates[-1]
    out = []
    for name, sd in last.sd.items():
        one = quantities.get(name)
        if one is None or (sd > WORTH and abs(last.mean[name]) < 0.5):
            continue
        told = [update for update in updates if update.by_subject.get(one.subject, 0)]
        out.append(
            Known(
                name, one.unit, one.subject, told[0].made if told else None, told[-1].made if told else None,
                sum(update.by_subject[one.subject] for update in told),
                (one.low, 1.0 if one.law == "factor" else 0.0, one.high), _range(one, last.mean[name], sd),
                tuple(update.sd.get(name, 1.0) for update in updates),
            )
        )  # fmt: skip
    first = {one.subject: number for number, one in reversed(list(enumerate(out)))}
    return tuple(sorted(out, key=lambda row: (first[row.subject], row.widths[-1])))


def _range(one: Uncertain, mean: float, sd: float) -> tuple[float, float, float]:
    low, middle, high = value_at(np.array([mean - Z90 * sd, mean, mean + Z90 * sd]), one)
    return float(low), float(middle), float(high)
