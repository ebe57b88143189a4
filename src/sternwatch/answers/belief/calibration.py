"""What a crew's own observations have taught: better beliefs about the quantities of ``gear.spread_file.uncertain``.

A calibration is a law over the standard normal numbers that ``Draws`` deals out by name: a middle and a covariance,
where the prior has zero and one, and points drawn from it. Names that it does not hold keep their prior.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Quantities of these subjects hold for a day on the water and no longer, or are told by other means from then on.
OF_THE_DAY = ("day", "boat")

FEWEST_POINTS = 16


def _read_only(array: Floats) -> Floats:
    array.setflags(write=False)
    return array


@dataclass(frozen=True, slots=True)
class Used:
    """An observation that a calibration was made from, in words; ``why`` says why it was not used, if it was not."""

    id: str
    said: str
    used: bool
    why: str = ""


@dataclass(frozen=True, eq=False)
class Calibration:
    """A posterior over named standard normal quantities; k of them. Compared by identity.

    ``mean`` is what is believed most; ``points`` (n, k) are drawn from the posterior, whatever its shape. Without any
    it is taken as normal.

    ``name`` is what screens, rows and the logbook call it. ``subjects`` (k) says of what each is ("line wire",
    "tackle disc", "rod 5", "boat", "day"), ``prints`` how each subject was defined when it was learned.
    """

    name: str
    names: tuple[str, ...]
    mean: Floats  # (k,)
    covariance: Floats  # (k, k)
    subjects: tuple[str, ...] = ()
    prints: Mapping[str, str] = field(default_factory=dict)
    made: datetime | None = None
    spread: str = ""  # the boat's name in the spread it was made with
    observations: tuple[Used, ...] = ()
    points: Floats | None = None

    def __post_init__(self) -> None:
        k = len(self.names)
        mean, covariance = np.array(self.mean, dtype=float), np.array(self.covariance, dtype=float)
        if mean.shape != (k,) or covariance.shape != (k, k):
            raise ValueError(f"{k} names need a mean of {k} and a covariance of {k} × {k}")
        if not (np.isfinite(mean).all() and np.isfinite(covariance).all()):
            raise ValueError("a mean and a covariance are finite numbers")
        if k and (np.abs(covariance - covariance.T).max() > 1e-9 or np.linalg.eigvalsh(covariance).min() < -1e-9):
            raise ValueError("a covariance is symmetric and none of its variances is negative")
        if len(set(self.names)) != k:
            raise ValueError("a name stands twice")
        object.__setattr__(self, "mean", _read_only(mean))
        object.__setattr__(self, "covariance", _read_only(covariance))
        if self.points is not None:
            points = np.array(self.points, dtype=float)
            if points.ndim != 2 or points.shape[1] != k or len(points) < FEWEST_POINTS:
                raise ValueError(f"at least {FEWEST_POINTS} points of {k} numbers each are wanted")
            if not np.isfinite(points).all():
                raise ValueError("a point's numbers are finite")
            object.__setattr__(self, "points", _read_only(points))

    @cached_property
    def index(self) -> dict[str, int]:
        """Where each name stands."""
        return {name: i for i, name in enumerate(self.names)}

    def dealt(self, seed: int, members: int) -> Floats:
        """(k, members): how far members lie from the middle, drawn for a seed; more of them begin with the same."""
        assert self.points is not None  # asked only then
        rng = np.random.default_rng([seed, len(self.points)])
        order = np.concatenate([rng.permutation(len(self.points)) for _ in range(-(-members // len(self.points)))])
        made: Floats = self.points[order[:members]].T - self.mean[:, None]
        return made

    @cached_property
    def root(self) -> Floats:
        """The symmetric square root of the covariance: names that nothing was learned of keep their own draws."""
        values, vectors = np.linalg.eigh(self.covariance)
        made: Floats = (vectors * np.sqrt(np.maximum(values, 0.0))) @ vectors.T
        return made

    def sd(self, name: str) -> float:
        """Standard deviation of a name's number: 1 where it is not held."""
        at = self.index.get(name)
        return 1.0 if at is None else float(np.sqrt(max(self.covariance[at, at], 0.0)))

    def only(self, keep: Callable[[str, str], bool]) -> Calibration:
        """Of the names for which ``keep(name, subject)`` holds; what was learned of the others is left out."""
        subjects = self.subjects or ("",) * len(self.names)
        at = [i for i, pair in enumerate(zip(self.names, subjects, strict=True)) if keep(*pair)]
        kept = [subjects[i] for i in at]
        return Calibration(
            self.name, tuple(self.names[i] for i in at), self.mean[at], self.covariance[np.ix_(at, at)], tuple(kept),
            {subject: self.prints[subject] for subject in self.prints if subject in kept}, self.made, self.spread,
            self.observations, None if self.points is None else self.points[:, at],
        )  # fmt: skip

    def lasting(self) -> Calibration:
        """What of it is worth keeping: currents and the speed's own error belong to the day."""
        return self.only(lambda _, subject: subject not in OF_THE_DAY)

    def fitted_to(self, prints: Mapping[str, str]) -> tuple[Calibration, tuple[str, ...]]:
        """What of it holds for gear with these prints, and the subjects that are defined otherwise there.

        Subjects that the gear does not have are left out in silence.
        """
        changed = tuple(s for s, own in self.prints.items() if s in prints and prints[s] != own)
        return self.only(lambda _, s: s in prints and s not in changed), changed
