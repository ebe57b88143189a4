"""Computes the whole law of a rod's depth, its median and quantiles, from a few members.

The depth is a smooth function of the uncertain quantities. It is known at the members. Between them a quadratic
surface is fitted by kernel ridge regression [Schoelkopf & Smola 2002: from memory]; each quantity is weighted by its
effect on the depth. The surface is evaluated at two thousand places that fill the law evenly, a lattice
[Korobov 1959; L'Ecuyer & Lemieux 2000: from memory]. Its error at a member left out (in closed form: Stone 1974, from
memory) decides how closely it follows the members, and is added as a separate error. So quantiles have neither a seed
nor the coarseness of a few members, and one rule serves steady answers and moving lines.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.depths.ranks import at_ranks

Floats = NDArray[np.float64]

PLACES = 2039  # places of the law at which a surface is evaluated
_GENERATOR = 1487  # generator of a lattice with that many points
LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
Quantiles = tuple[float, float, float, float, float]

_MOST_LOST = 0.25  # share of the members; with more lost there is no answer
_QUADRATIC = 0.25  # weight of the squares relative to the slopes
_RIDGE = 3e-3  # while the slopes are found
_RIDGES = np.array([3e-4, 1e-3, 3e-3, 1e-2, 3e-2])  # for the surface: a smooth depth needs little, a jumping one more
_ROUNDS = 3
_FLOOR = 0.05  # least weight, shared by all quantities, even those without effect so far
_UNFELT = 3e-4  # a quantity with a smaller share of the variance is left out at the many places
_BEYOND = 0.5  # a quantile may lie beyond the outermost member by this share of its distance to the fourth
_MISSED_AT = 3  # the lattice dimension of that error, after the three that matter most
_LEAST_M = 1e-6  # members that differ by no more than this are equal


@dataclass(frozen=True, slots=True)
class Places:
    """What the members believe of k quantities, and the law that they represent.

    ``members`` (M, k) and the result of ``lay`` for standard normal numbers (PLACES, k) use the same scale, best one
    in which the depth is nearly linear. ``lay`` inserts the values of a calibration.
    """

    members: Floats
    lay: Callable[[Floats], Floats]
    drawn: bool = False  # members are plain draws of the law, which is as wide as they are


@dataclass(slots=True)
class Surface:
    """A surface for any values at the same members; ``kept`` (m,): the members used."""

    kept: NDArray[np.intp]
    inverse: Floats  # (m, m)
    laid: Floats  # (PLACES, k) the places themselves, reused for other values
    members: Floats  # (m, k)
    share: Floats  # (k,) of each quantity in the depth
    used: NDArray[np.bool_]  # (k,) the quantities felt at the many places
    drawn: bool = False
    _reach: Floats | None = field(default=None, init=False, repr=False)
    _diagonal: Floats | None = field(default=None, init=False, repr=False)

    def copy(self) -> Surface:
        """The same surface without the large table that is made from the rest: a checkpoint keeps many of them."""
        return replace(self)

    def _reached(self) -> Floats:
        """(PLACES, m) how every place depends on the members."""
        if self._reach is None:
            self._reach = _kernel(self.laid[:, self.used], self.members[:, self.used], self.share[self.used])
        return self._reach

    def quantiles(self, values: Floats) -> Quantiles:
        """Quantiles of the law whose members (M,) have these values."""
        own = values[self.kept]
        middle, wide = _mean_and_deviation(own)
        if wide < _LEAST_M:
            return (middle,) * 5
        if self._diagonal is None:
            self._diagonal = np.diagonal(self.inverse).copy()
        weights = self.inverse @ ((own - middle) / wide)
        missed = weights / self._diagonal
        law, error = self._reached() @ weights, math.sqrt(float(np.add.reduce(missed * missed)) / len(missed))
        if self.drawn:  # a posterior has more correlation than a few members can show: the surface misses much
            law = law + error * _missed_lattice()
            law, error = law / max(_mean_and_deviation(law)[1], _LEAST_M), 0.0
        # A quadratic surface ignores that a line can at most hang straight. Members that hang straight are equally
        # deep, and no quantile lies beyond those.
        ordered, fourth = sorted(own.tolist()), min(3, len(own) // 8)
        least = ordered[0] - _BEYOND * (ordered[fourth] - ordered[0])
        most = ordered[-1] + _BEYOND * (ordered[-1] - ordered[-1 - fourth])
        q05, q25, q50, q75, q95 = (min(max(middle + wide * at, least), most) for at in _at_levels(law, error))
        return q05, q25, q50, q75, q95


def _mean_and_deviation(values: Floats) -> tuple[float, float]:
    """As numpy has them, whose own functions take most of their time to find out what they are given."""
    count = len(values)
    mean = float(np.add.reduce(values)) / count
    off = values - mean
    return mean, math.sqrt(float(np.add.reduce(off * off)) / count)


_AT = np.array([level * PLACES - 0.5 for level in LEVELS])


def _at_levels(law: Floats, error: float) -> list[float]:
    """The quantiles of ``law`` (PLACES,) with a separate error, linear between the middles of equal shares."""
    made = np.empty(len(_AT))
    if not at_ranks(law, error, _missed_lattice(), _AT, made):
        made[:] = law[0] + error * _missed_lattice()[0]  # all are equal
    return made.tolist()


_DIMENSIONS = 64


@lru_cache(maxsize=1)
def lattice() -> Floats:
    """(PLACES, 64) standard normal numbers. The first dimensions together are the most even."""
    from scipy.special import ndtri

    powers = np.empty(_DIMENSIONS, dtype=np.int64)
    powers[0] = 1
    for j in range(1, _DIMENSIONS):
        powers[j] = powers[j - 1] * _GENERATOR % PLACES
    golden = 0.5 * (np.sqrt(5.0) - 1.0)
    shift = np.arange(1, _DIMENSIONS + 1) * golden % 1.0
    shares = (np.arange(PLACES)[:, None] * powers % PLACES / PLACES + shift) % 1.0
    made: Floats = ndtri(np.clip(shares, 1e-5, 1.0 - 1e-5))
    made.setflags(write=False)
    return made


@lru_cache(maxsize=1)
def _missed_lattice() -> Floats:
    return np.ascontiguousarray(lattice()[:, _MISSED_AT])


def surface_of(places: Places, values: Floats, before: Surface | None = None) -> Surface | None:
    """The surface through members (M,). None where too few of them are known.

    ``before``: a surface of the same places. Its places are reused, because their order by importance may be rough.
    """
    kept = np.flatnonzero(np.isfinite(values))
    if len(kept) < (1.0 - _MOST_LOST) * len(values):
        return None
    own, members = values[kept], places.members[kept]
    k = members.shape[1]
    scaled = (own - own.mean()) / max(float(own.std()), _LEAST_M)
    share: Floats = np.full(k, 1.0 / k)
    ridge = _RIDGE * np.eye(len(kept))
    for _ in range(_ROUNDS):
        slope: Floats = share * (members.T @ np.linalg.solve(_kernel(members, members, share) + ridge, scaled))
        felt = float((slope * slope).sum())
        if felt <= 0.0:
            break
        share = np.asarray((1.0 - _FLOOR) * slope * slope / felt + _FLOOR / k, dtype=np.float64)
    inverse = _inverse(_kernel(members, members, share), scaled)
    laid = _laid(places, share) if before is None else before.laid
    used = share > _FLOOR / k + _UNFELT
    if not used.any():
        used[:] = True
    return Surface(kept, inverse, laid, members, share, used, places.drawn)


def _inverse(kernel: Floats, scaled: Floats) -> Floats:
    """With the ridge that has the least error at members left out."""
    bends, ways = np.linalg.eigh(kernel)
    made = (ways / (bends + _RIDGES[:, None])[:, None, :]) @ ways.T  # (ridges, m, m)
    missed = made @ scaled / np.diagonal(made, axis1=1, axis2=2)
    best: Floats = made[int(np.argmin(np.add.reduce(missed * missed, axis=1)))]
    return best


def _laid(places: Places, share: Floats) -> Floats:
    """(PLACES, k) places, the most even in the quantities that matter most."""
    order = np.argsort(-share, kind="stable")
    numbers = np.zeros((PLACES, len(share)))
    dimensions = [d for d in range(_DIMENSIONS) if d != _MISSED_AT][: len(share)]
    numbers[:, order[: len(dimensions)]] = lattice()[:, dimensions]
    return places.lay(numbers)


def _kernel(a: Floats, b: Floats, share: Floats) -> Floats:
    product = (a * share) @ b.T
    made: Floats = _QUADRATIC * product
    made += 1.0
    made *= product
    made += 1.0
    return made


def quantiles_of(places: Places, values: Floats) -> Quantiles | None:
    """Quantiles of the law that members (M,) with these values represent. None where too few are known."""
    made = surface_of(places, values)
    return None if made is None else made.quantiles(values)
