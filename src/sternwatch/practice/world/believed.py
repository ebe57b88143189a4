"""Compares the console's computed depth of every lure with the true one: the pairs of a session and their sums."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from sternwatch.practice.world.truth import Below
from sternwatch.watch.picture.model import RodPicture, SolverState

# How often a pair is kept.
EVERY_S: Final = 5.0


@dataclass(frozen=True, slots=True)
class Pair:
    """One rod's lure at one moment: computed depth with its interval, and true depth."""

    t_s: float
    believed_m: float
    interval_m: tuple[float, float] | None
    true_m: float
    settled: bool


@dataclass(frozen=True, slots=True)
class RodError:
    """Computed minus true depth of one rod over a session; None where there is nothing to compare."""

    key: str
    name: str
    kind: str
    pairs: int
    believed_m: float | None  # means over the pairs
    true_m: float | None
    mean_m: float | None
    rms_m: float | None
    worst_m: float | None  # the largest error, with its sign
    covered: float | None  # share of the pairs whose interval holds the truth


@dataclass(slots=True)
class Believed:
    """Takes the rods of pictures in the order of their times."""

    pairs: dict[str, list[Pair]] = field(default_factory=dict)
    _last_s: float = -math.inf

    def take(self, t_s: float, rods: Iterable[RodPicture], below: Below) -> None:
        """Keep a pair for every rod with both depths, every few seconds."""
        if t_s - self._last_s < EVERY_S - 1e-6:
            return
        self._last_s = t_s
        for rod in rods:
            true = below.at(rod.key, t_s)
            if rod.depth_m is None or true is None or rod.solver in (SolverState.OLD, SolverState.FAILED):
                continue
            settled = rod.solver is not SolverState.UNSETTLED
            self.pairs.setdefault(rod.key, []).append(
                Pair(t_s, rod.depth_m, rod.depth_interval_m, true.depth_m, settled)
            )

    def errors(self, names: Mapping[str, str], kinds: Mapping[str, str]) -> tuple[RodError, ...]:
        """The errors by rod, in the order of ``names``, without unsettled pairs."""
        return tuple(_error(key, name, kinds[key], self.pairs.get(key, [])) for key, name in names.items())


def _error(key: str, name: str, kind: str, pairs: list[Pair]) -> RodError:
    used = [pair for pair in pairs if pair.settled]
    if not used:
        return RodError(key, name, kind, 0, None, None, None, None, None, None)
    errors = [pair.believed_m - pair.true_m for pair in used]
    held = [pair.interval_m[0] <= pair.true_m <= pair.interval_m[1] for pair in used if pair.interval_m is not None]
    return RodError(
        key, name, kind, len(used),
        sum(pair.believed_m for pair in used) / len(used),
        sum(pair.true_m for pair in used) / len(used),
        sum(errors) / len(errors),
        math.sqrt(sum(e * e for e in errors) / len(errors)),
        max(errors, key=abs),
        sum(held) / len(held) if held else None,
    )  # fmt: skip


def pair_rows(believed: Believed) -> dict[str, list[dict[str, Any]]]:
    """The pairs as JSON values, rounded to a centimetre."""
    return {
        key: [
            {
                "t_s": round(pair.t_s, 1),
                "believed_m": round(pair.believed_m, 2),
                "interval_m": None if pair.interval_m is None else [round(v, 2) for v in pair.interval_m],
                "true_m": round(pair.true_m, 2),
            }
            for pair in pairs
        ]
        for key, pairs in believed.pairs.items()
    }
