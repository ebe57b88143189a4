"""One member of an ensemble: numbers dealt out by name, and rigs made of them.

What is uncertain, and by how much, is in ``gear.uncertain``; a calibration says what observations have taught since.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.arrays import Rig, RodNow, rig_of
from sternwatch.answers.calibration import Calibration
from sternwatch.gear.defaults import Default
from sternwatch.gear.lines import LineSpec, resolve_line
from sternwatch.gear.spread import LineItem, Rod, Spread, TackleItem
from sternwatch.gear.uncertain import SPEED, WATER_SHEAR_M_S, Uncertain, prior_names, uncertain
from sternwatch.hydro.chain import Body, BodyKind, Chain, Line
from sternwatch.hydro.coefficients import cn
from sternwatch.water.properties import HIGHEST_C, LOWEST_C, Water, fresh_water

__all__ = ["MEMBERS", "SHEAR_DEPTH_M", "SPEED", "WATER_SHEAR_M_S", "Draws", "member_rigs"]

Floats = NDArray[np.float64]

MEMBERS = 16
SHEAR_DEPTH_M = 20.0  # down to which the shear of ``gear.uncertain`` grows

# A 90 % interval of a normal law is this many standard deviations to either side.
Z90 = NormalDist().inv_cdf(0.95)
# Cross-flow at which the drag of a line is compared at two temperatures: half of a usual towing speed.
_CROSS_FLOW_M_S = 0.55
_SURFACE_C = 10.0


@dataclass(frozen=True, slots=True)
class Draws:
    """Standard normal numbers by name: the same for a name whatever else is drawn, whoever asks, in any order.

    Each name's numbers are one of every part of the law cut in ``members`` equal parts (Latin hypercube: McKay,
    Beckman & Conover 1979), in an order of the name's own. With a ``calibration`` the names that it holds have its
    mean and covariance instead, made of the very same numbers. ``width`` scales how far members lie from the mean.
    """

    seed: int = 0
    members: int = MEMBERS
    calibration: Calibration | None = None
    width: float = 1.0

    @classmethod
    def nominal(cls, calibration: Calibration | None = None) -> Draws:
        """One member that is the mean itself: what is believed most."""
        return cls(0, 1, calibration, 0.0)

    def normal(self, name: str) -> Floats:
        """(members,)"""
        learned = self.calibration
        if learned is None or name not in learned.index:
            made: Floats = self.width * _dealt(self.seed, self.members, name)
        else:
            made = _correlated(self.seed, self.members, learned, self.width)[learned.index[name]]
        return made

    def factor(self, name: str, prior: Default) -> Floats:
        """(members,) factors on the prior's value, log-normal on either side of it, 1 where it has no room."""
        return factor_at(self.normal(name), prior.low / prior.value, prior.high / prior.value)

    def shift(self, name: str, prior: Default) -> Floats:
        """(members,) shifts off the prior's value, normal on either side."""
        return shift_at(self.normal(name), prior.low - prior.value, prior.high - prior.value)

    def value(self, one: Uncertain) -> Floats:
        """(members,) factors or shifts of a quantity."""
        return value_at(self.normal(one.name), one)


@lru_cache(maxsize=4096)
def _dealt(seed: int, members: int, name: str) -> Floats:
    rng = np.random.default_rng([seed, zlib.crc32(name.encode())])
    shares = (rng.permutation(members) + rng.random(members)) / members
    law = NormalDist()
    made = np.array([law.inv_cdf(min(max(share, 1e-6), 1 - 1e-6)) for share in shares])
    made.setflags(write=False)
    return made


@lru_cache(maxsize=64)
def _correlated(seed: int, members: int, learned: Calibration, width: float) -> Floats:
    """(names, members)"""
    own = np.stack([_dealt(seed, members, name) for name in learned.names])
    made: Floats = learned.mean[:, None] + width * (learned.root @ own)
    made.setflags(write=False)
    return made


def factor_at(z: Floats, low: float, high: float) -> Floats:
    """Factors at standard normal numbers: log-normal on either side of 1, ``low`` and ``high`` at its 5 % points."""
    z = z / Z90
    factors: Floats = np.exp(np.where(z > 0, np.log(high) * z, -np.log(low) * z))
    return factors


def shift_at(z: Floats, low: float, high: float) -> Floats:
    """Shifts at standard normal numbers: normal on either side of 0."""
    z = z / Z90
    return np.where(z > 0, high * z, -low * z)


def value_at(z: Floats, one: Uncertain) -> Floats:
    """A quantity's factors or shifts at standard normal numbers."""
    return (factor_at if one.law == "factor" else shift_at)(np.asarray(z, dtype=float), one.low, one.high)


def dealt(spread: Spread, draws: Draws) -> dict[str, Floats]:
    """Every uncertain quantity of a spread as (members,) factors or shifts."""
    return {name: draws.value(one) for name, one in uncertain(spread).items()}


def named(spread: Spread, draws: Draws, name: str) -> Floats:
    """(members,) factors or shifts of one quantity of a spread; 1 or 0 for one that is certain there."""
    one = uncertain(spread).get(name)
    if one is not None:
        return draws.value(one)
    return np.full(draws.members, 0.0 if prior_names(spread).get(name) == "shift" else 1.0)


def member_rigs(
    spread: Spread, rods: dict[str, RodNow], water: Water, draws: Draws | None
) -> tuple[dict[str, Rig], ...]:
    """The rigs of every member, by rod key: one dictionary a member; without draws the nominal one alone."""
    chosen = [rod for rod in spread.rods if rod.key in rods]
    if draws is None:
        return ({rod.key: rig_of(spread, rod, rods[rod.key], water) for rod in chosen},)
    values = dealt(spread, draws)
    return tuple(
        varied_rigs(spread, chosen, rods, water, {name: float(v[member]) for name, v in values.items()})
        for member in range(draws.members)
    )


def varied_rigs(
    spread: Spread, chosen: list[Rod], rods: Mapping[str, RodNow], water: Water, values: Mapping[str, float]
) -> dict[str, Rig]:
    """Rigs by rod key with the uncertain quantities at ``values`` (factors and shifts by name, else as in use)."""
    wanted = {item.line for rod in chosen for item in rod.deployed if isinstance(item, LineItem)}
    wanted |= {rod.rod_line.line for rod in chosen if rod.rod_line is not None}
    cooler_K = values.get("water temperature", 0.0)
    lines = {
        name: _line(name, spec, values, cooler_K, water) if name in wanted else spec
        for name, spec in spread.line.items()
    }
    own = spread.model_copy(update={"line": lines})
    made = {}
    for rod in chosen:
        counter = values.get(f"rod {rod.key} counter")
        reeled = rod
        if counter is not None:
            scale = rod.counter.scale * counter
            reeled = rod.model_copy(update={"counter": rod.counter.model_copy(update={"scale": scale})})
        rig = rig_of(own, reeled, rods[rod.key], water)
        made[rod.key] = replace(rig, chain=_bodies(spread, rod, rods[rod.key], rig, values))
    return made


def _line(name: str, spec: LineSpec, values: Mapping[str, float], cooler_K: float, water: Water) -> LineSpec:
    """A kind of line with its factors put in."""
    numbers = resolve_line(spec)
    subject = f"line {name}"
    diameter = numbers.diameter_m * values.get(f"{subject} diameter", 1.0)
    drag = numbers.drag_factor * values.get(f"{subject} drag", 1.0) * values.get(f"{subject} strumming", 1.0)
    if np.isnan(numbers.normal_drag) and cooler_K != 0.0:
        drag *= _cooler(diameter, cooler_K, water)
    changed = {
        "diameter_m": diameter,
        "drag_factor": drag,
        "tangential_drag": numbers.tangential_drag * values.get(f"{subject} tangential", 1.0),
    }
    weight = values.get(f"{subject} weight")
    if weight is not None:
        changed["mass_kg_m"] = numbers.mass_kg_m * weight
    return spec.model_copy(update=changed)


def _cooler(diameter_m: float, by_K: float, water: Water) -> float:
    """Factor on a smooth line's drag in water so much warmer (negative: colder) than where it was measured."""
    warm = fresh_water(_SURFACE_C).viscosity_m2_s
    cold = fresh_water(min(max(_SURFACE_C + by_K, LOWEST_C), HIGHEST_C)).viscosity_m2_s
    there = water.viscosity_m2_s * cold / warm
    past = _CROSS_FLOW_M_S * diameter_m
    return float(cn(past / there) / cn(past / water.viscosity_m2_s))


def _bodies(spread: Spread, rod: Rod, now: RodNow, rig: Rig, values: Mapping[str, float]) -> Chain:
    tackle = iter([item for item in rod.deployed if isinstance(item, TackleItem)])
    items: list[Line | Body] = []
    for item in rig.chain.items:
        items.append(item if isinstance(item, Line) else _body(spread, rod, now, next(tackle), item, values))
    return replace(rig.chain, items=tuple(items))


def _body(spread: Spread, rod: Rod, now: RodNow, item: TackleItem, body: Body, values: Mapping[str, float]) -> Body:
    """A body with the factors and shifts of its tackle, its setting and its rod."""

    def factor(what: str) -> float:
        return values.get(f"tackle {item.tackle} {what}", 1.0)

    wet = body.wet_weight_N * factor("weight")
    rod_line = body.rod_line
    if rod_line is not None:
        rod_line = replace(rod_line, pull_N=rod_line.pull_N * values.get(f"rod {rod.key} pull", 1.0))
    if body.kind is BodyKind.DIVER:
        label = now.setting if now.setting is not None and item is spread.setting_item(rod) else item.setting
        # One label's error is the kind's; each disc adds a little of its own. Both grow the pull to its side.
        side = float(np.sign(body.roll_rad))
        roll = body.roll_rad + side * values.get(f"tackle {item.tackle} roll {label}", 0.0)
        return replace(
            body,
            wet_weight_N=wet,
            trim_rad=body.trim_rad * factor("trim"),
            plate_factor=body.plate_factor * factor("plate"),
            plate_area_m2=body.plate_area_m2 * factor("ring"),
            roll_rad=float(roll + values.get(f"rod {rod.key} roll", 0.0)),
        )
    tripped = spread.tackle[item.tackle].kind == "diver"
    return replace(
        body,
        wet_weight_N=wet,
        drag_area_m2=body.drag_area_m2 * factor("tripped" if tripped else "drag"),
        lift_area_m2=body.lift_area_m2 * factor("lift"),
        buoyancy_N=body.buoyancy_N * factor("buoyancy"),
        rod_line=rod_line,
    )
