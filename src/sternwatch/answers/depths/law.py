"""Computes the whole law of a rod's depth, its median and quantiles, from a few members.

The depth is a smooth function of the uncertain quantities. It is known at the members. Between them a quadratic
surface is fitted to its square root by kernel ridge regression [Schoelkopf & Smola 2002: from memory]; each quantity
is weighted by its effect on the depth. How likely a ridge makes the members' depths (the marginal likelihood of a
Gaussian process: from memory) decides how closely the surface follows them. It is evaluated along a few hundred
parallel lines, which lie the way the depth changes most. They fill the law across it evenly, a lattice [Korobov 1959;
L'Ecuyer & Lemieux 2000: from memory], and along each the law is added up in closed form (``along_lines``). The
surface's error at a member left out (in closed form: Stone 1974, from memory) is added as a separate error. So
quantiles have neither a seed nor the coarseness of a few members, and one rule serves steady answers and moving
lines.

The draws of a posterior lie where they lie. The surface is evaluated at two thousand of them, and their ranks count.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.depths.along_lines import LEAST_M, Quantiles, limited, quantiles_along, weigh
from sternwatch.answers.depths.ranks import at_ranks

Floats = NDArray[np.float64]

LINES = 251  # lines of the law along which a surface is evaluated
ALONG = 1.5  # at their middles and so many standard deviations to either side
PLACES = 2039  # draws of a posterior at which it is evaluated instead
_GENERATORS = {LINES: 57, PLACES: 1487}  # of lattices with that many points
LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)

_MOST_LOST = 0.25  # share of the members; with more lost there is no answer
_QUADRATIC = 0.25  # weight of the squares relative to the slopes
_RIDGE = 3e-3  # while the slopes are found
# For the surface, which is a mean over these: a smooth depth needs little, a jumping one more.
_RIDGES = np.array([3e-4, 1e-3, 3e-3, 1e-2, 3e-2, 1e-1])
_ROUNDS = 3
_FLOOR = 0.05  # least weight, shared by all quantities, even those without effect so far
_UNFELT = 3e-4  # a quantity with a smaller share of the variance is left out at the many places
_MISSED_AT = 3  # the lattice dimension of that error, after the three that matter most
_ROOT_FROM_M = 0.5  # members that are all deeper than this have a nearly normal law of the square root
_ALIGNED = 0.9  # cosine between the steepest way now and the one that the places are turned to
_AS_FITTED = 0.02  # members that have moved among one another by so much of their spread may depend on other things


@dataclass(frozen=True, slots=True)
class Places:
    """What the members believe of k quantities, and the law that they represent.

    ``members`` (M, k) and the result of ``lay`` for standard normal numbers (n, k) use the same scale, best one in
    which the depth is nearly linear. ``lay`` inserts the values of a calibration, for PLACES numbers.
    """

    members: Floats
    lay: Callable[[Floats], Floats]
    drawn: bool = False  # members are plain draws of the law, which is as wide as they are


@dataclass(slots=True)
class Surface:
    """A surface for any values at the same members; ``kept`` (m,): the members used."""

    kept: NDArray[np.intp]
    root: bool  # it is fitted to the square root
    fitted: Floats  # (m,) the values that it was made for, about zero and one wide
    members: Floats  # (m, k)
    share: Floats  # (k,) of each quantity in the depth
    used: NDArray[np.bool_]  # (k,) the quantities felt at the many places
    places: Places
    turned: Turned
    _inverse: Floats | None = field(default=None, init=False, repr=False)  # (m, m)
    _laid: Floats | None = field(default=None, init=False, repr=False)  # (n, k) the places, as ``turned``
    _reach: Floats | None = field(default=None, init=False, repr=False)
    _diagonal: Floats | None = field(default=None, init=False, repr=False)

    def copy(self) -> Surface:
        """The same surface without the large tables that are made from the rest: a checkpoint keeps many of them."""
        return replace(self)

    def laid(self) -> Floats:
        """(n, k) the places themselves: on every line below its middle, at it and above it, or drawn."""
        if self._laid is None:
            self._laid = self.turned.laid(self.places)
        return self._laid

    def _reached(self) -> Floats:
        """(m, n) how every place depends on the members; of lines (m, 3, LINES)."""
        if self._reach is None:
            used = self.used
            self._reach = _kernel(self.members[:, used], self.laid()[:, used], self.share[used])
            if not self.places.drawn:
                self._reach = self._reach.reshape(-1, 3, LINES)
        return self._reach

    def still_suits(self, values: Floats) -> bool:
        """Whether members (M,) lie among one another as they did when it was made."""
        own = values[self.kept]
        scaled = np.sqrt(np.maximum(own, 0.0)) if self.root else own
        middle, wide = _mean_and_deviation(scaled)
        off = (scaled - middle) / max(wide, LEAST_M) - self.fitted
        return float(off @ off) < _AS_FITTED**2 * len(off)

    def quantiles(self, values: Floats) -> Quantiles:
        """Quantiles of the law whose members (M,) have these values."""
        own = np.ascontiguousarray(values if len(self.kept) == len(values) else values[self.kept])
        if self._inverse is None or self._diagonal is None:
            self._inverse = _inverse(_kernel(self.members, self.members, self.share), self.fitted)
            self._diagonal = np.diagonal(self._inverse).copy()
        if not self.places.drawn:
            return quantiles_along(
                own, self.root, self._inverse, self._diagonal, self._reached(), ALONG, _missed_lattice(LINES),
                _SHARES, _NORMAL,
            )  # fmt: skip
        # A posterior has more correlation than a few members can show: much is missed.
        weights = np.zeros(len(own))
        middle, wide, error = weigh(own, self.root, self._inverse, self._diagonal, weights)
        law = weights @ self._reached() + error * _missed_lattice(PLACES)
        levels = _ranked(law / max(_mean_and_deviation(law)[1], LEAST_M))
        return limited(own, self.root, middle, wide, levels)


@dataclass(frozen=True, slots=True)
class Turned:
    """How the lattice is laid: the first dimensions by ``order``, the first axis turned ``toward`` a direction."""

    order: NDArray[np.intp]  # (k,) quantities by importance
    toward: Floats | None  # (k,) unit vector, along which the lines lie; None: not turned

    def laid(self, places: Places) -> Floats:
        """(n, k) places, the most even in the quantities that matter most."""
        if places.drawn:
            return places.lay(self._across(PLACES, self.order))
        numbers = np.stack([self._across(LINES, self.order[1:])] * 3)
        numbers[:, :, self.order[0]] = np.array([-ALONG, 0.0, ALONG])[:, None]
        numbers = numbers.reshape(3 * LINES, -1)
        if self.toward is not None:  # reflected: independent normal numbers stay so
            normal = -self.toward
            normal[self.order[0]] += 1.0
            size = float(normal @ normal)
            if size > 0.0:
                numbers -= np.outer(numbers @ normal, normal * (2.0 / size))
        return places.lay(numbers)

    def _across(self, count: int, order: NDArray[np.intp]) -> Floats:
        """(count, k) lattice points in these quantities; 0 in others."""
        numbers = np.zeros((count, len(self.order)))
        dimensions = [d for d in range(_DIMENSIONS) if d != _MISSED_AT][: len(order)]
        numbers[:, order[: len(dimensions)]] = lattice(count)[:, dimensions]
        return numbers

    def suits(self, slope: Floats) -> bool:
        """Whether these places are still even along that slope."""
        if self.toward is None:
            return True
        return float(self.toward @ slope) >= _ALIGNED * math.sqrt(float(slope @ slope))


def _mean_and_deviation(values: Floats) -> tuple[float, float]:
    """As numpy has them, whose own functions take most of their time to find out what they are given."""
    count = len(values)
    mean = float(np.add.reduce(values)) / count
    off = values - mean
    return mean, math.sqrt(float(np.add.reduce(off * off)) / count)


_AT = np.array([level * PLACES - 0.5 for level in LEVELS])
_SHARES = np.array(LEVELS)
_NORMAL = np.array([NormalDist().inv_cdf(level) for level in LEVELS])


def _ranked(law: Floats) -> Floats:
    """The quantiles of ``law`` (PLACES,), linear between the middles of equal shares."""
    made = np.empty(len(_AT))
    if not at_ranks(law, _AT, made):
        made[:] = law[0]  # all are equal
    return made


_DIMENSIONS = 64


@lru_cache(maxsize=2)
def lattice(count: int) -> Floats:
    """(count, 64) standard normal numbers. The first dimensions together are the most even."""
    from scipy.special import ndtri

    powers = np.empty(_DIMENSIONS, dtype=np.int64)
    powers[0] = 1
    for j in range(1, _DIMENSIONS):
        powers[j] = powers[j - 1] * _GENERATORS[count] % count
    golden = 0.5 * (np.sqrt(5.0) - 1.0)
    shift = np.arange(1, _DIMENSIONS + 1) * golden % 1.0
    shares = (np.arange(count)[:, None] * powers % count / count + shift) % 1.0
    made: Floats = ndtri(np.clip(shares, 1e-5, 1.0 - 1e-5))
    made.setflags(write=False)
    return made


@lru_cache(maxsize=2)
def _missed_lattice(count: int) -> Floats:
    return np.ascontiguousarray(lattice(count)[:, _MISSED_AT])


def surface_of(places: Places, values: Floats, before: Surface | None = None) -> Surface | None:
    """The surface through members (M,). None where too few of them are known.

    ``before``: a surface of the same places. Its places are reused while they are even enough.
    """
    kept = np.flatnonzero(np.isfinite(values))
    if len(kept) < (1.0 - _MOST_LOST) * len(values):
        return None
    own = values[kept]
    members = places.members if len(kept) == len(values) else places.members[kept]
    root = bool(own.min() > _ROOT_FROM_M)
    if root:
        own = np.sqrt(own)
    k = members.shape[1]
    scaled = (own - own.mean()) / max(float(own.std()), LEAST_M)
    share: Floats = np.full(k, 1.0 / k)
    ridge = _RIDGE * np.eye(len(kept))
    for _ in range(_ROUNDS):
        slope: Floats = share * (members.T @ np.linalg.solve(_kernel(members, members, share) + ridge, scaled))
        felt = float((slope * slope).sum())
        if felt <= 0.0:
            break
        share = np.asarray((1.0 - _FLOOR) * slope * slope / felt + _FLOOR / k, dtype=np.float64)
    used = share > _FLOOR / k + _UNFELT
    if not used.any():
        used[:] = True
    kept_places = before is not None and before.turned.suits(slope)
    turned = before.turned if before is not None and kept_places else _turned(places, share, slope)
    made = Surface(kept, root, scaled, members, share, used, places, turned)
    if before is not None and kept_places:
        made._laid = before._laid
    return made


def _inverse(kernel: Floats, scaled: Floats) -> Floats:
    """With the mean of the ridges, each weighted by how likely it makes the members."""
    bends, ways = np.linalg.eigh(kernel)
    stiff = 1.0 / (bends + _RIDGES[:, None])  # (ridges, m)
    along = ways.T @ scaled
    count = len(scaled)
    likely = 0.5 * (np.log(stiff).sum(axis=1) - count * np.log(np.maximum(stiff @ (along * along), 1e-300)))
    weights = np.exp(likely - likely.max())
    mean: Floats = (weights / weights.sum()) @ stiff
    made: Floats = (ways * mean) @ ways.T
    return made


def _turned(places: Places, share: Floats, slope: Floats) -> Turned:
    """Places turned to the steepest slope. Those of a posterior are its own draws and stay as they are."""
    order = np.argsort(-share, kind="stable")
    toward = slope.copy()
    toward[order[_DIMENSIONS - 1 :]] = 0.0  # the lattice has no more dimensions
    size = math.sqrt(float(toward @ toward))
    return Turned(order, None if places.drawn or size <= 0.0 else toward / size)


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
