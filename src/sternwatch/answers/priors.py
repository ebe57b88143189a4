"""What is not known of a spread on the water, and how one member of an ensemble may be.

Each uncertain quantity has a value, and a low and a high that bound about 90 % of what is believed. Draws are shared
by everything of one name: all rods with the same wire hum alike, all discs of one kind keep the same trim. What the
spread file gives is used as given, for every member alike.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.arrays import Rig, RodNow, rig_of
from sternwatch.gear import defaults
from sternwatch.gear.defaults import Default
from sternwatch.gear.lines import LineSpec, resolve_line
from sternwatch.gear.spread import Rod, Spread
from sternwatch.gear.tackle import Attractor, Ball, Board, Diver, Lure, Snubber, Weight
from sternwatch.hydro.chain import Body, BodyKind, Chain
from sternwatch.water.properties import Water

Floats = NDArray[np.float64]

MEMBERS = 16

# A 90 % interval of a normal law is this many standard deviations to either side.
_Z90 = NormalDist().inv_cdf(0.95)

# Factors on what the nominal member has, where gear.defaults has no range of its own.
SPEED = Default(1.0, 0.95, 1.05, "1", "calibration of a paddle wheel, or what is left of a current in SOG: memory")
CYLINDER_DRAG = Default(1.0, 0.93, 1.07, "1", "scatter about the correlation (Wieselsberger, 4 %), roughness: memory")
BRAID_DRAG = Default(1.0, 0.85, 1.2, "1", "braid: Cn 1.2 to 1.8")
SETTING_ROLL_RAD = Default(0.0, -0.087, 0.087, "rad", "5 degrees either way of what a setting's label says: memory")
GIVEN_ROLL_RAD = Default(0.0, -0.035, 0.035, "rad", "2 degrees: how one disc of a kind differs from the next: memory")
BALL_DRAG = Default(1.0, 0.85, 1.4, "1", "a sphere's drag on a ball with a fin, an eye and a release: memory")
WATER_SHEAR_M_S = Default(
    0.0, -0.05, 0.05, "m/s", "each component, 20 m down against the surface, light wind: memory"
)
SHEAR_DEPTH_M = 20.0


@dataclass(frozen=True, slots=True)
class Draws:
    """Standard normal numbers by name: the same for a name whatever else is drawn, whoever asks, in any order.

    Each name's numbers are one of every part of the law cut in ``members`` equal parts (Latin hypercube: McKay,
    Beckman & Conover 1979), in an order of the name's own.
    """

    seed: int = 0
    members: int = MEMBERS

    def normal(self, name: str) -> Floats:
        """(members,)"""
        rng = np.random.default_rng([self.seed, zlib.crc32(name.encode())])
        shares = (rng.permutation(self.members) + rng.random(self.members)) / self.members
        law = NormalDist()
        return np.array([law.inv_cdf(min(max(share, 1e-6), 1 - 1e-6)) for share in shares])

    def factor(self, name: str, prior: Default) -> Floats:
        """(members,) factors on the prior's value, log-normal on either side of it, 1 where it has no room."""
        z = self.normal(name) / _Z90
        up, down = np.log(prior.high / prior.value), np.log(prior.value / prior.low)
        factors: Floats = np.exp(np.where(z > 0, up * z, down * z))
        return factors

    def shift(self, name: str, prior: Default) -> Floats:
        """(members,) shifts off the prior's value, normal on either side."""
        z = self.normal(name) / _Z90
        return np.where(z > 0, (prior.high - prior.value) * z, (prior.value - prior.low) * z)


def member_rigs(
    spread: Spread, rods: dict[str, RodNow], water: Water, draws: Draws | None
) -> tuple[dict[str, Rig], ...]:
    """The rigs of every member, by rod key: one dictionary a member; without draws the nominal one alone."""
    chosen = [rod for rod in spread.rods if rod.key in rods]
    if draws is None:
        return ({rod.key: rig_of(spread, rod, rods[rod.key], water) for rod in chosen},)
    hum = {name: _line_factors(name, spec, draws) for name, spec in spread.line.items()}
    out: list[dict[str, Rig]] = []
    bodies = {rod.key: _Tackle(spread, rod, draws) for rod in chosen}
    for member in range(draws.members):
        lines = {
            name: spec.model_copy(update={"drag_factor": resolve_line(spec).drag_factor * float(hum[name][member])})
            for name, spec in spread.line.items()
        }
        own = spread.model_copy(update={"line": lines})
        rigs = {}
        for rod in chosen:
            rig = rig_of(own, rod, rods[rod.key], water)
            rigs[rod.key] = replace(rig, chain=bodies[rod.key].vary(rig, member))
        out.append(rigs)
    return tuple(out)


def _line_factors(name: str, spec: LineSpec, draws: Draws) -> Floats:
    """On the normal drag of a line: strumming where it may hum, and scatter; none on a drag that is given."""
    if spec.normal_drag is not None:
        return np.ones(draws.members)
    if np.isnan(resolve_line(spec).normal_drag):
        factor = draws.factor(f"line {name} drag", CYLINDER_DRAG)
        if spec.drag_factor is None:
            factor = factor * draws.factor(f"line {name} strumming", defaults.STRUMMING)
        return factor
    return draws.factor(f"line {name} drag", BRAID_DRAG)


class _Tackle:
    """The draws for one rod's bodies."""

    def __init__(self, spread: Spread, rod: Rod, draws: Draws) -> None:
        self.spread = spread
        self.draws = draws
        self.pull = np.ones(draws.members)
        if rod.rod_line is not None and rod.rod_line.pull_N is None:
            self.pull = draws.factor(f"rod {rod.key} pull", defaults.ROD_LINE_PULL)
        self.own_roll = draws.shift(f"rod {rod.key} roll", GIVEN_ROLL_RAD)

    def vary(self, rig: Rig, member: int) -> Chain:
        names = iter(rig.what)
        items = tuple(
            self._body(next(names), item, member) if isinstance(item, Body) else item for item in rig.chain.items
        )
        return replace(rig.chain, items=items)

    def _factor(self, name: str, what: str, prior: Default, member: int) -> float:
        return float(self.draws.factor(f"tackle {name} {what}", prior)[member])

    def _body(self, name: str, body: Body, member: int) -> Body:
        tackle = self.spread.tackle[name]
        drag, wet = body.drag_area_m2, body.wet_weight_N
        heavy = tackle.wet_weight_N is None and tackle.mass_kg is None
        match tackle:
            case Diver():
                return self._diver(name, tackle, body, member)
            case Ball() | Weight():
                if tackle.drag_area_m2 is None:
                    drag *= self._factor(name, "drag", BALL_DRAG, member)
                varied = replace(body, drag_area_m2=drag)
                if body.rod_line is not None:
                    pull = body.rod_line.pull_N * float(self.pull[member])
                    varied = replace(varied, rod_line=replace(body.rod_line, pull_N=pull))
                return varied
            case Board():
                lift = body.lift_area_m2
                if tackle.drag_area_m2 is None:
                    drag *= self._factor(name, "drag", defaults.BOARD_DRAG, member)
                if tackle.lift_area_m2 is None:
                    lift *= self._factor(name, "lift", defaults.BOARD_LIFT, member)
                buoyancy = body.buoyancy_N
                if tackle.buoyancy_N is None:
                    buoyancy *= self._factor(name, "buoyancy", defaults.BOARD_BUOYANCY, member)
                return replace(body, drag_area_m2=drag, lift_area_m2=lift, buoyancy_N=buoyancy)
            case Attractor():
                if tackle.drag_area_m2 is None:
                    drag *= self._factor(name, "drag", defaults.ATTRACTOR_DRAG_AREA, member)
                if heavy:
                    wet *= self._factor(name, "weight", defaults.ATTRACTOR_WET_WEIGHT, member)
            case Lure():
                if tackle.drag_area_m2 is None:
                    form = defaults.LURES[tackle.form or defaults.DEFAULT_LURE_FORM]
                    drag *= self._factor(name, "drag", form.drag_area, member)
            case Snubber():
                if tackle.drag_area_m2 is None:
                    drag *= self._factor(name, "drag", defaults.SNUBBER_DRAG_AREA, member)
        return replace(body, drag_area_m2=drag, wet_weight_N=wet)

    def _diver(self, name: str, diver: Diver, body: Body, member: int) -> Body:
        wet = body.wet_weight_N
        if diver.wet_weight_N is None and diver.mass_kg is None:
            wet *= self._factor(name, "weight", defaults.DIVER_WET_WEIGHT, member)
        if body.kind is not BodyKind.DIVER:  # tripped
            drag = body.drag_area_m2 * self._factor(name, "tripped", defaults.DIVER_TRIPPED_DRAG_AREA, member)
            return replace(body, wet_weight_N=wet, drag_area_m2=drag)
        trim, factor = body.trim_rad, body.plate_factor
        if diver.trim_rad is None and diver.lift_area_m2 is None:
            trim *= self._factor(name, "trim", defaults.DIVER_TRIM, member)
        if diver.lift_area_m2 is None and diver.drag_area_m2 is None:
            factor *= self._factor(name, "plate", defaults.DIVER_PLATE, member)
        roll = body.roll_rad
        if roll != 0.0:
            # One label's error is the kind's; each disc adds a little of its own. Both grow the pull to its side.
            label = float(self.draws.shift(f"tackle {name} roll", SETTING_ROLL_RAD)[member])
            roll += np.sign(roll) * label
        roll += float(self.own_roll[member])
        return replace(body, wet_weight_N=wet, trim_rad=trim, plate_factor=factor, roll_rad=float(roll))
