"""What was seen or felt of a rod, as numbers, and what the steady solver predicts.

An observation holds the circumstances of its moment: lengths, setting, speed. One that tells nothing is not used, but
kept with the reason (``why``).
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.priors import SHEAR_DEPTH_M, Z90, varied_rigs
from sternwatch.answers.chains.arrays import AS_FILED, Rig, RodNow, water_of
from sternwatch.answers.depths.depth import current_in_boat_axes, place_on_cable
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread, TackleItem
from sternwatch.gear.spread_file.uncertain import AXES, BOAT, DAY, Uncertain, prints, uncertain
from sternwatch.hydro.steady.solver import Steady, solve
from sternwatch.water.properties import Water

Floats = NDArray[np.float64]

DEVICES = ("diver", "ball", "weight")
# The solver's error must be far smaller than any observation's.
_TOLERANCE = 1e-6


class What(StrEnum):
    """What was observed, in metres, radians or newtons."""

    DEPTH = "depth"
    ENTRY_ANGLE = "entry angle"  # of the line at the water, below the horizontal
    CABLE_ANGLE = "cable angle"  # of a downrigger's cable at the water, off the vertical
    PULL = "pull"  # at the rod tip


# Usual errors, at 90 %, where none is given: all from memory.
TOUCHED_M = 1.0  # the sounder, the swell, and the moment of the key press
SEEN_M = 1.2  # a 20 degree cone shows a ball beside its axis too deep
LOGGED_M = 0.4
KNOWN_M = 2.0
ANGLE_RAD = math.radians(5.0)
PULL_SHARE = 0.15
LEAST_PULL_N = 1.0


def usual_error(what: What, value: float) -> float:
    """The usual error at 90 % of this kind of observation."""
    if what is What.PULL:
        return max(LEAST_PULL_N, PULL_SHARE * value)
    return KNOWN_M if what is What.DEPTH else ANGLE_RAD


@dataclass(frozen=True, slots=True)
class Observation:
    """One observation, SI. ``error``: the 90 % bound to either side.

    ``at``: which piece of the chain a depth belongs to: "lure", "device" or "ball"; None: the deepest piece of
    tackle. ``speed_m_s``: through the surface water as believed then, from speed over ground where ``over_ground``
    holds. ``told``: the share that was left of the prior spread of that speed's error (or of the current's).
    ``unsteady``: the difference of the moving chain from the steady one, in the observation's own unit. ``gear``: the
    print of the rod's rig (``rig_print``), empty for the spread's own.
    """

    id: str
    rod: str
    what: What
    value: float
    error: float
    speed_m_s: float | None
    said: str
    at: str | None = None
    now: RodNow = AS_FILED
    over_ground: bool = False
    heading_rad: float = 0.0
    water: Water | None = None
    told: float = 1.0
    unsteady: float = 0.0
    gear: str = ""
    when: datetime | None = None
    why: str = ""
    trip: str = ""  # observations of one trip share its day; empty: today

    @property
    def used(self) -> bool:
        """Whether a fit uses it."""
        return not self.why

    @property
    def sd(self) -> float:
        """Standard deviation of its error."""
        return self.error / Z90

    def refused(self, why: str) -> Observation:
        """The same observation, kept but not used."""
        return replace(self, why=why)


def known_of(spread: Spread) -> tuple[Observation, ...]:
    """The ``[[known]]`` entries of a spread file."""
    out = []
    for number, one in enumerate(spread.known, 1):
        what, value = next(
            (what, value)
            for what, value in (
                (What.DEPTH, one.depth_m),
                (What.ENTRY_ANGLE, one.entry_angle_rad),
                (What.CABLE_ANGLE, one.cable_angle_rad),
                (What.PULL, one.pull_N),
            )
            if value is not None
        )
        error = one.error_si if one.error_si is not None else usual_error(what, value)
        now = RodNow(one.out_m, one.setting, one.lead_m)
        said = one.note or "known"
        out.append(
            Observation(f"known {number}", one.rod, what, value, error, one.speed_m_s, said, at=one.at, now=now)
        )
    return tuple(out)


def rods_behind(spread: Spread, rod: Rod) -> list[Rod]:
    """The rod and, before it, the one whose cable it is clipped to."""
    carrier = spread.rod_by_key(rod.clipped_to.rod) if rod.clipped_to is not None else None
    return [carrier, rod] if carrier is not None else [rod]


def concerns(spread: Spread, rod: Rod, quantities: Mapping[str, Uncertain]) -> tuple[str, ...]:
    """Names of the quantities on which a rod's place may depend."""
    subjects = {BOAT, DAY}
    for one in rods_behind(spread, rod):
        subjects.update((f"rod {one.key}", f"reel {one.key}"))
        for item in one.deployed:
            subjects.add(f"line {item.line}" if isinstance(item, LineItem) else f"tackle {item.tackle}")
        if one.rod_line is not None:
            subjects.add(f"line {one.rod_line.line}")
    return tuple(name for name, one in quantities.items() if one.subject in subjects)


def rig_print(spread: Spread, rod: Rod) -> str:
    """Identifies a rod's rig. What was learned of one print says little of another."""
    made = prints(spread)
    quantities = uncertain(spread)
    subjects = {quantities[name].subject for name in concerns(spread, rod, quantities)}
    return hashlib.blake2s(repr(sorted((s, made[s]) for s in subjects)).encode(), digest_size=6).hexdigest()


@dataclass(frozen=True, slots=True)
class Seen:
    """The steady solver's prediction for one rod at one speed."""

    rig: Rig
    state: Steady

    def of(self, what: What, at: str | None) -> float:
        """The value that an observation would have; nan where unknown."""
        state = self.state
        if not state.ok:
            return math.nan
        if what is What.PULL:
            return state.tip_tension_N
        if what is What.ENTRY_ANGLE:
            return math.radians(state.entry_angle_deg)
        if what is What.CABLE_ANGLE:
            return math.radians(90.0 - state.entry_angle_deg)
        return depth_at(state.body_m[:, 2], self.rig.kinds, at, state.depth_m)


def depth_at(depths_m: Sequence[float] | Floats, kinds: Sequence[str], at: str | None, end_m: float) -> float:
    """Depth of the piece of a chain that ``at`` names; nan where there is none."""
    if not len(kinds):
        return end_m
    if at is None:
        return float(np.max(depths_m))
    if at == "lure":
        return float(depths_m[-1])
    wanted = DEVICES if at == "device" else ("ball",)
    found = next((i for i, kind in enumerate(kinds) if kind in wanted), None)
    return math.nan if found is None else float(depths_m[found])


def see(spread: Spread, one: Observation, values: Mapping[str, float]) -> Seen:
    """Predict an observation's rod in its circumstances, with the uncertain quantities at ``values``."""
    rod = spread.rod_by_key(one.rod)
    assert rod is not None  # the makers of observations check this
    water = one.water or water_of(spread)
    rods = rods_behind(spread, rod)
    nows = {other.key: one.now if other is rod else RodNow() for other in rods}
    rigs = varied_rigs(spread, rods, nows, water, values)
    speed, current = flow_past(spread, one, values)
    rigs = {key: rig.towed(speed) for key, rig in rigs.items()}
    chain = rigs[rod.key].chain
    if len(rods) > 1:
        attach = rigs[rod.key].attach
        assert attach is not None  # it is clipped
        carrier = rigs[rods[0].key]
        cable = solve(carrier.chain, speed, water=water, current=current, tolerance=_TOLERANCE)
        place = place_on_cable(carrier, cable, attach[1])
        if place is not None:
            chain = replace(chain, tip_m=place)
    arcs = np.array([0.0, rigs[rod.key].length_m])
    return Seen(rigs[rod.key], solve(chain, speed, water=water, current=current, arc_m=arcs, tolerance=_TOLERANCE))


def flow_past(
    spread: Spread, one: Observation, values: Mapping[str, float]
) -> tuple[float, tuple[Floats, Floats] | None]:
    """Speed through the surface water, and the current below relative to it, in boat axes."""
    assert one.speed_m_s is not None  # used observations have one
    c, s = math.cos(one.heading_rad), math.sin(one.heading_rad)
    speed = one.speed_m_s
    if one.over_ground:
        north, east = (one.told * values.get(f"current {axis}", 0.0) for axis in AXES)
        along = speed + values.get("speed over ground noise", 0.0) - (north * c + east * s)
        speed = math.hypot(along, east * c - north * s)
    else:
        speed *= 1.0 + one.told * (values.get("speed", 1.0) - 1.0)
    shear = [values.get(f"shear {axis}", 0.0) for axis in AXES]
    given = current_in_boat_axes(spread.water, one.heading_rad)
    if given is None and shear == [0.0, 0.0]:
        return speed, None
    depths = np.array([0.0, SHEAR_DEPTH_M])
    if given is not None:
        depths = np.union1d(given[0], depths)
    table = np.zeros((len(depths), 2))
    if given is not None:
        for axis in range(2):
            table[:, axis] = np.interp(depths, given[0], given[1][:, axis])
    boat = np.array([shear[0] * c + shear[1] * s, shear[1] * c - shear[0] * s])
    return speed, (depths, table + np.clip(depths / SHEAR_DEPTH_M, 0.0, 1.0)[:, None] * boat)


def predicted(spread: Spread, one: Observation, values: Mapping[str, float]) -> float:
    """The predicted observation; nan where there is no steady state."""
    return see(spread, one, values).of(one.what, one.at) + one.unsteady


def unfit(spread: Spread, one: Observation) -> str:
    """Why an observation tells nothing at any moment. Empty where it tells something."""
    if one.why:
        return one.why
    rod = spread.rod_by_key(one.rod)
    if rod is None:
        return f"the spread has no rod {one.rod}"
    if one.gear and one.gear != rig_print(spread, rod):
        return f"rod {rod.key} was rigged otherwise then"
    if one.speed_m_s is None:
        return "no speed was known"
    if one.now.setting is not None and one.now.setting not in spread.settings(rod):
        return f"rod {rod.key} has no setting {one.now.setting}"
    kinds = [spread.tackle[item.tackle].kind for item in rod.deployed if isinstance(item, TackleItem)]
    if one.at is not None and not math.isfinite(depth_at(np.zeros(len(kinds)), kinds, one.at, 0.0)):
        return f"rod {rod.key} has no {one.at}"
    if one.what is What.CABLE_ANGLE and "ball" not in kinds:
        return f"rod {rod.key} has no ball on a cable"
    if not (math.isfinite(one.value) and one.error > 0.0):
        return "it has no value"
    seen = see(spread, one, {})
    if not seen.state.ok:
        return f"no steady shape is known for it: {seen.state.why}"
    if seen.state.slack:
        return "the diver does not hold its line at that speed"
    if not math.isfinite(seen.of(one.what, one.at)):
        return "the line does not enter the water"
    return ""
