"""The check of a spread before it goes out: what could part, trip, tangle, touch bottom or not come to the net.

It says what it found and what it could not check. Finding nothing is no guarantee: it knows no weather, no
other boats and no worn knot.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sternwatch.answers.belief.answer import carried_now, stretch
from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.answers.chains.arrays import AS_FILED, Rig, RodNow, rig_of, water_of
from sternwatch.answers.checks.findings import Finding, Found, Setting
from sternwatch.answers.checks.layout import counts, holders, neighbours, reaches, readings, ways
from sternwatch.answers.checks.loads import Loads, loads_of, pulls, strikes
from sternwatch.answers.checks.strike import FISH_MASS_KG, FISH_SPEED_M_S
from sternwatch.answers.depths.depth import current_in_boat_axes, steady_rigs
from sternwatch.cautions import WIRE
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem
from sternwatch.hydro.steady.solver import Steady

FINE_ENOUGH = 1e-7  # a fifth of a millimetre of depth, in half of the time of the solver's own
MOST_KEPT = 256  # medians; twelve rods at some twenty speeds and headings


@dataclass(frozen=True, slots=True)
class Check:
    """The result of a check at one speed. ``unchecked``: what could not be checked, and what is missing for it."""

    speed_through_water_m_s: float
    findings: tuple[Finding, ...]
    unchecked: tuple[str, ...]
    loads: tuple[Loads, ...]  # one for each rod, in file order
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Hanging:
    """How every rod hangs on one course, whatever the bottom, by its key."""

    rigs: dict[str, Rig]
    states: dict[str, Steady]
    near: Found  # what is said of neighbours

    @classmethod
    def of(cls, at: Setting, now: Mapping[str, RodNow]) -> Hanging:
        rigs = {rod.key: rig_of(at.spread, rod, now.get(rod.key, AS_FILED), at.water) for rod in at.spread.rods}
        states = steady_rigs(rigs, at.speed_m_s, water=at.water, current=at.current, tolerance=FINE_ENOUGH)
        return cls(rigs, states, neighbours(at, rigs, states))


@dataclass(slots=True)
class Earlier:
    """What holds from one check to the next: over another bottom the rods hang as they did, at the same depths."""

    _spread: Spread | None = None
    _medians: dict[tuple[str, float, float, RodNow | None, RodNow | None], float | None] = field(default_factory=dict)
    _asked: tuple[float, float, DisplaySystem, dict[str, RodNow]] | None = None
    _hanging: Hanging | None = None

    def hanging(self, at: Setting, now: Mapping[str, RodNow], heading_rad: float) -> Hanging:
        """That of the last check, where it was of the same rods on the same course."""
        self._take(at.spread)
        asked = at.speed_m_s, heading_rad, at.units, dict(now)
        if self._hanging is None or self._asked != asked:
            self._asked, self._hanging = asked, Hanging.of(at, now)
        return self._hanging

    def median_m(
        self, spread: Spread, rod: Rod, speed_m_s: float, now: Mapping[str, RodNow], heading_rad: float
    ) -> float | None:
        """The median depth of a rod's lure; None where it is not known."""
        self._take(spread)
        carrier = None if rod.clipped_to is None else now.get(rod.clipped_to.rod)
        asked = rod.key, speed_m_s, heading_rad, now.get(rod.key), carrier
        if asked not in self._medians:
            if len(self._medians) >= MOST_KEPT:
                self._medians.clear()
            self._medians[asked] = _median_m(spread, rod, speed_m_s, now, heading_rad)
        return self._medians[asked]

    def _take(self, spread: Spread) -> None:
        if spread is not self._spread:
            self._spread, self._medians, self._hanging = spread, {}, None


def check_spread(
    spread: Spread,
    speed_m_s: float,
    *,
    heading_rad: float | None = None,
    now: Mapping[str, RodNow] | None = None,
    bottom_m: float | None = None,
    fish_kg: float = FISH_MASS_KG,
    fish_m_s: float = FISH_SPEED_M_S,
    units: DisplaySystem = SYSTEMS["us"],
    earlier: Earlier | None = None,
) -> Check:
    """Every finding at a steady speed through the surface water, on a straight course.

    ``now``: what differs from the file, by rod key. ``bottom_m``: the depth of the water, compared with the median
    depth of each rod. ``fish_kg`` and ``fish_m_s``: the fish of the strike that lines must hold. Sentences are in
    ``units``. ``earlier``: what checks of this spread found before.
    """
    earlier, now, heading = earlier or Earlier(), now or {}, heading_rad or 0.0
    water = water_of(spread)
    current = current_in_boat_axes(spread.water, heading)
    at = Setting(spread, speed_m_s, water, current, units)
    hanging = earlier.hanging(at, now, heading)
    rigs, states = hanging.rigs, hanging.states
    loads = {rod.key: loads_of(at, rod, rigs[rod.key], states[rod.key], fish_kg, fish_m_s) for rod in spread.rods}
    stretched = {
        rod.key: stretch(states[rod.key].depth_m, median_m)
        for rod in spread.rods
        if bottom_m is not None
        and states[rod.key].ok
        and (median_m := earlier.median_m(spread, rod, speed_m_s, now, heading)) is not None
    }
    parts = []
    for rod in spread.rods:
        rig, state = rigs[rod.key], states[rod.key]
        parts += [
            ways(at, rod, rig, state, bottom_m, stretched.get(rod.key, 1.0)),
            pulls(at, rod, state, loads[rod.key]),
            strikes(at, rod, loads[rod.key], fish_kg, fish_m_s),
            reaches(at, rod, rig),
        ]
    parts += [counts(at), holders(at), readings(at, now), hanging.near]
    unchecked = [line for part in parts for line in part.unchecked]
    if bottom_m is None:
        unchecked.append("the bottom: the depth of the water at the place is not given")
    return Check(
        speed_through_water_m_s=speed_m_s,
        findings=tuple(found for part in parts for found in part.findings),
        unchecked=tuple(dict.fromkeys(unchecked)),
        loads=tuple(loads.values()),
        cautions=(WIRE,) if any(load.metal for load in loads.values()) else (),
    )


def _median_m(
    spread: Spread, rod: Rod, speed_m_s: float, now: Mapping[str, RodNow], heading_rad: float
) -> float | None:
    """The median depth of a rod's lure; None where it is not known."""
    carrier = AS_FILED if rod.clipped_to is None else now.get(rod.clipped_to.rod, AS_FILED)
    own = carried_now(spread, rod, carrier)
    law = depth_quantiles(own, rod, speed_m_s, now=now.get(rod.key, AS_FILED), heading_rad=heading_rad)
    return None if law is None else law[2]
