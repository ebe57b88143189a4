"""What a crew's own observations have taught: better beliefs about the quantities of ``gear.spread_file.uncertain``.

A calibration is a law over the standard normal numbers that ``Draws`` deals out by name: a mean and a covariance,
which are zero and one in the prior, and points drawn from it. Names that it does not hold keep their prior.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Quantities of these subjects hold for one day on the water only, or come from other sources later.
OF_THE_DAY = ("day", "boat")
DAILY = (" zero", " knock")  # of gear, but only for the day

FEWEST_POINTS = 16


def _read_only(array: Floats) -> Floats:
    array.setflags(write=False)
    return array


@dataclass(frozen=True, slots=True)
class Used:
    """An observation that a calibration was made from, in words. ``why``: why it was not used; empty if it was."""

    id: str
    said: str
    used: bool
    why: str = ""


@dataclass(frozen=True, eq=False)
class Calibration:
    """A posterior over k named standard normal quantities. Compared by identity.

    ``mean`` is the most likely point; ``points`` (n, k) are drawn from the posterior, whatever its shape. Without
    points it is taken as normal.

    ``name`` is its name on screens, in rows and in the logbook. ``subjects`` (k): what each quantity belongs to
    ("line wire", "tackle disc", "rod 5", "boat", "day"); ``prints``: how each subject was defined when it was
    learned.
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
        """The index of each name."""
        return {name: i for i, name in enumerate(self.names)}

    def dealt(self, seed: int, members: int) -> Floats:
        """(k, members): members' distances from the mean, for a seed. More members begin with the same ones."""
        assert self.points is not None  # called only with points
        rng = np.random.default_rng([seed, len(self.points)])
        order = np.concatenate([rng.permutation(len(self.points)) for _ in range(-(-members // len(self.points)))])
        made: Floats = self.points[order[:members]].T - self.mean[:, None]
        return made

    @cached_property
    def law(self) -> tuple[Floats, Floats]:
        """Mean (k,) and covariance (k, k) of the points, else of itself."""
        if self.points is None:
            return self.mean, self.covariance
        covariance = np.cov(self.points, rowvar=False).reshape(len(self.names), len(self.names))
        return self.points.mean(axis=0), covariance

    @cached_property
    def root(self) -> Floats:
        """The symmetric square root of the covariance, so that names without new knowledge keep their own draws."""
        values, vectors = np.linalg.eigh(self.covariance)
        made: Floats = (vectors * np.sqrt(np.maximum(values, 0.0))) @ vectors.T
        return made

    def sd(self, name: str) -> float:
        """Standard deviation of a name's number; 1 where it is not held."""
        at = self.index.get(name)
        return 1.0 if at is None else float(np.sqrt(max(self.covariance[at, at], 0.0)))

    def only(self, keep: Callable[[str, str], bool]) -> Calibration:
        """The calibration of only those names for which ``keep(name, subject)`` holds."""
        subjects = self.subjects or ("",) * len(self.names)
        at = [i for i, pair in enumerate(zip(self.names, subjects, strict=True)) if keep(*pair)]
        kept = [subjects[i] for i in at]
        return Calibration(
            self.name, tuple(self.names[i] for i in at), self.mean[at], self.covariance[np.ix_(at, at)], tuple(kept),
            {subject: self.prints[subject] for subject in self.prints if subject in kept}, self.made, self.spread,
            self.observations, None if self.points is None else self.points[:, at],
        )  # fmt: skip

    def lasting(self) -> Calibration:
        """The part worth keeping: without the day's currents, speed error, counter's zero and knock."""
        return self.only(lambda name, subject: subject not in OF_THE_DAY and not name.endswith(DAILY))

    def fitted_to(self, prints: Mapping[str, str]) -> tuple[Calibration, tuple[str, ...]]:
        """The part that holds for gear with these prints, and the subjects that are defined differently there.

        Its print identifies a piece that has another name now, or is on another rod. Subjects that the gear
        does not have are left out silently.
        """
        to: dict[str, str] = {}
        for subject, own in self.prints.items():
            if prints.get(subject) == own:
                to[subject] = subject
            else:
                kind = subject.partition(" ")[0]
                twins = [other for other, its in prints.items() if its == own and other.partition(" ")[0] == kind]
                if len(twins) == 1 and self.prints.get(twins[0]) != own:
                    to[subject] = twins[0]
        changed = tuple(s for s in self.prints if s in prints and s not in to)
        kept = self.only(lambda _, s: s in to)
        if all(a == b for a, b in to.items()):
            return kept, changed
        names = tuple(_moved(name, s, to[s]) for name, s in zip(kept.names, kept.subjects, strict=True))
        return Calibration(
            kept.name, names, kept.mean, kept.covariance, tuple(to[s] for s in kept.subjects),
            {to[s]: own for s, own in kept.prints.items()}, kept.made, kept.spread, kept.observations, kept.points,
        ), changed  # fmt: skip


def _moved(name: str, subject: str, to: str) -> str:
    """A quantity's name after its piece was renamed. A reel goes by its rod's name."""
    old, new = (one.replace("reel ", "rod ", 1) if one.startswith("reel ") else one for one in (subject, to))
    return new + name.removeprefix(old) if name.startswith(f"{old} ") else name
