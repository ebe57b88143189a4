"""One member of an ensemble: a drawn number for each uncertain quantity, and the rigs that follow.

``gear.spread_file.uncertain`` names what is uncertain, a calibration what observations have taught since.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.chains.arrays import Rig, RodNow, rig_of
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.spread_file.uncertain import Uncertain, prior_names, uncertain
from sternwatch.gear.values.defaults import Default
from sternwatch.water.properties import Water

Floats = NDArray[np.float64]

MEMBERS = 16  # members that outlooks and plans run through turns: the first of those carried
DECIDING = 48  # members that decide where lines touch in a few of those: the first of those carried
CARRIED = 144  # members behind every depth and its interval, live and steady
_SLICE = 8
_SLICES = DECIDING // _SLICE
# Where in its part of the law every block of members has its sizes. Together they lie in the middles of finer parts.
_WITHIN = (1 / 2, 1 / 6, 5 / 6)
SHEAR_DEPTH_M = 12.0  # the shear of ``gear.spread_file.uncertain`` grows down to this depth

# A 90 % interval of a normal law reaches this many standard deviations to either side.
Z90 = NormalDist().inv_cdf(0.95)


@dataclass(frozen=True, slots=True)
class Draws:
    """Standard normal numbers by name. A name's numbers never depend on what else is drawn, or in which order.

    Without a ``seed`` the numbers follow one rule (``_even``), and the first members are the same however many are
    asked for, up to ``CARRIED``. With a seed, each name gets one number from each of ``members`` equal parts of the
    law (Latin hypercube: McKay, Beckman & Conover 1979), in an order of its own. With a ``calibration``, the names
    that it holds are dealt from it together instead. ``width`` scales the members' distance from the mean.
    """

    seed: int | None = None
    members: int = MEMBERS
    calibration: Calibration | None = None
    width: float = 1.0

    @classmethod
    def nominal(cls, calibration: Calibration | None = None) -> Draws:
        """One member, the mean itself: the most likely values."""
        return cls(0, 1, calibration, 0.0)

    def normal(self, name: str, part: str = "") -> Floats:
        """(members,) numbers of a name. ``part``: deal an unlearned name as this one, which others may share."""
        learned = self.calibration
        if learned is None or name not in learned.index:
            made: Floats = self.width * _dealt(self.seed, self.members, part or name)
        else:
            made = _correlated(self.seed, self.members, learned, self.width)[learned.index[name]]
        return made

    def factor(self, name: str, prior: Default) -> Floats:
        """(members,) factors on the prior's value, log-normal on either side of it; 1 where the prior is certain."""
        return factor_at(self.normal(name), prior.low / prior.value, prior.high / prior.value)

    def shift(self, name: str, prior: Default) -> Floats:
        """(members,) shifts from the prior's value, normal on either side."""
        return shift_at(self.normal(name), prior.low - prior.value, prior.high - prior.value)

    def value(self, one: Uncertain) -> Floats:
        """(members,) factors or shifts of a quantity."""
        return value_at(self.normal(one.name), one)


@lru_cache(maxsize=4096)
def _even(slices: int, name: str, block: int = 0) -> Floats:
    """(8 × slices,) numbers in pairs of opposite sign, with one size from each part of the law; so is every 8.

    Slices of a Latin hypercube [Qian 2012: from memory] of antithetic pairs. Every ``block`` has its own order.
    """
    rng = np.random.default_rng([20 + block, zlib.crc32(name.encode())])
    pairs = _SLICE // 2
    # Row g holds neighbouring parts of half the law, one for each slice.
    parts = np.stack([group * slices + rng.permutation(slices) for group in range(pairs)])
    law = NormalDist()
    made = np.empty((slices, pairs, 2))
    for number in range(slices):
        own = rng.permutation(parts[:, number])
        sizes = np.array([law.inv_cdf(0.5 + 0.5 * (part + _WITHIN[block]) / (pairs * slices)) for part in own])
        made[number, :, 0] = sizes * np.where(rng.permutation(pairs) < pairs // 2, 1.0, -1.0)
        made[number, :, 1] = -made[number, :, 0]
    out = made.ravel()
    out.setflags(write=False)
    return out


@lru_cache(maxsize=4096)
def _dealt(seed: int | None, members: int, name: str) -> Floats:
    if seed is None:
        if members > CARRIED:
            return _even(-(-members // _SLICE), name)[:members]
        blocks: Floats = np.concatenate([_even(_SLICES, name, block) for block in range(len(_WITHIN))])[:members]
        blocks.setflags(write=False)
        return blocks
    rng = np.random.default_rng([seed, zlib.crc32(name.encode())])
    shares = (rng.permutation(members) + rng.random(members)) / members
    law = NormalDist()
    made = np.array([law.inv_cdf(min(max(share, 1e-6), 1 - 1e-6)) for share in shares])
    made.setflags(write=False)
    return made


@lru_cache(maxsize=64)
def _correlated(seed: int | None, members: int, learned: Calibration, width: float) -> Floats:
    """(names, members)"""
    if learned.points is not None:
        off = learned.dealt(seed or 0, members)
    else:
        off = learned.root @ np.stack([_dealt(seed, members, name) for name in learned.names])
    made: Floats = learned.mean[:, None] + width * off
    made.setflags(write=False)
    return made


def factor_at(z: Floats, low: float, high: float) -> Floats:
    """Factors at standard normal numbers: log-normal on either side of 1; ``low`` and ``high`` are the 5 % points."""
    z = z / Z90
    factors: Floats = np.exp(np.where(z > 0, np.log(high) * z, -np.log(low) * z))
    return factors


def shift_at(z: Floats, low: float, high: float) -> Floats:
    """Shifts at standard normal numbers: normal on either side of 0."""
    z = z / Z90
    return np.where(z > 0, high * z, -low * z)


_FAR = 0.4


def far_out(z: Floats) -> Floats:
    """A heavy-tailed number for a standard normal one: the same at the 5 % points, farther beyond."""
    made: Floats = Z90 * np.sinh(_FAR * z) / math.sinh(_FAR * Z90)
    return made


def value_at(z: Floats, one: Uncertain) -> Floats:
    """A quantity's factors or shifts at standard normal numbers."""
    z = np.asarray(z, dtype=float)
    return (factor_at if one.law == "factor" else shift_at)(far_out(z) if one.heavy else z, one.low, one.high)


def dealt(spread: Spread, draws: Draws) -> dict[str, Floats]:
    """Every uncertain quantity of a spread as (members,) factors or shifts."""
    return {name: draws.value(one) for name, one in believed_of(spread, draws.calibration).items()}


def believed_of(spread: Spread, learned: Calibration | None) -> Mapping[str, Uncertain]:
    """Every uncertain quantity by name. With a calibration, also those that keep it from being too certain."""
    return uncertain(spread, fitted=learned is not None and bool(learned.names))


def named(spread: Spread, draws: Draws, name: str) -> Floats:
    """(members,) factors or shifts of one quantity of a spread; 1 or 0 where it is certain."""
    one = believed_of(spread, draws.calibration).get(name)
    if one is not None:
        return draws.value(one)
    return np.full(draws.members, 0.0 if prior_names(spread).get(name) == "shift" else 1.0)


def member_spreads(spread: Spread, draws: Draws) -> tuple[Spread, ...]:
    """The spread as every member believes it."""
    values = dealt(spread, draws)
    return tuple(
        spread.with_values({name: float(of_members[member]) for name, of_members in values.items()})
        for member in range(draws.members)
    )


def member_rigs(
    spread: Spread, rods: dict[str, RodNow], water: Water, draws: Draws | None, speed_m_s: float | None = None
) -> tuple[dict[str, Rig], ...]:
    """The rigs of every member, one dictionary by rod key for each; without draws the nominal member alone.

    ``speed_m_s``: apply the drag of each rig's discrepancy at that speed; None: apply none.
    """
    chosen = [rod for rod in spread.rods if rod.key in rods]
    if draws is None:
        return ({rod.key: rig_of(spread, rod, rods[rod.key], water) for rod in chosen},)
    made = tuple(
        {rod.key: rig_of(own, rod, rods[rod.key], water) for rod in chosen} for own in member_spreads(spread, draws)
    )
    if speed_m_s is None or draws.calibration is None:
        return made
    return tuple({key: rig.towed(speed_m_s) for key, rig in own.items()} for own in made)


def varied_rigs(
    spread: Spread, chosen: Iterable[Rod], rods: Mapping[str, RodNow], water: Water, values: Mapping[str, float]
) -> dict[str, Rig]:
    """Rigs by rod key with the uncertain quantities at ``values`` (factors and shifts by name; others as in use)."""
    own = spread.with_values(values)
    return {rod.key: rig_of(own, rod, rods[rod.key], water) for rod in chosen}


def believed(spread: Spread, learned: Calibration | None) -> Spread:
    """The spread with its quantities at a calibration's mean; unchanged without one."""
    if learned is None:
        return spread
    nominal = dealt(spread, Draws.nominal(learned))
    return spread.with_values({name: float(v[0]) for name, v in nominal.items() if name in learned.index})
