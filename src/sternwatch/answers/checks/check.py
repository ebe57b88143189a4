"""The check of a spread before it goes out: what could part, trip, tangle, touch bottom or not come to the net.

It says what it found and what it could not check. Finding nothing is no guarantee: it knows no weather, no
other boats and no worn knot.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sternwatch.answers.belief.answer import carried_now, stretch
from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.answers.chains.arrays import AS_FILED, RodNow, rig_of, water_of
from sternwatch.answers.checks.findings import Finding, Setting
from sternwatch.answers.checks.layout import counts, holders, neighbours, reaches, readings, ways
from sternwatch.answers.checks.loads import Loads, loads_of, pulls, strikes
from sternwatch.answers.checks.strike import FISH_MASS_KG, FISH_SPEED_M_S
from sternwatch.answers.depths.depth import current_in_boat_axes, steady_rigs
from sternwatch.cautions import WIRE
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem

MOST_KEPT = 256  # medians; twelve rods at some twenty speeds and headings


@dataclass(frozen=True, slots=True)
class Check:
    """The result of a check at one speed. ``unchecked``: what could not be checked, and what is missing for it."""

    speed_through_water_m_s: float
    findings: tuple[Finding, ...]
    unchecked: tuple[str, ...]
    loads: tuple[Loads, ...]  # one for each rod, in file order
    cautions: tuple[str, ...]


@dataclass(slots=True)
class Medians:
    """Median depths kept from one check to the next: over another bottom the same ones are asked for."""

    _spread: Spread | None = None
    _kept: dict[tuple[str, float, float, RodNow | None, RodNow | None], float | None] = field(default_factory=dict)

    def of(
        self, spread: Spread, rod: Rod, speed_m_s: float, now: Mapping[str, RodNow], heading_rad: float
    ) -> float | None:
        """The median depth of a rod's lure; None where it is not known."""
        if spread is not self._spread:
            self._spread, self._kept = spread, {}
        carrier = None if rod.clipped_to is None else now.get(rod.clipped_to.rod)
        asked = rod.key, speed_m_s, heading_rad, now.get(rod.key), carrier
        if asked not in self._kept:
            if len(self._kept) >= MOST_KEPT:
                self._kept.clear()
            self._kept[asked] = _median_m(spread, rod, speed_m_s, now, heading_rad)
        return self._kept[asked]


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
    medians: Medians | None = None,
) -> Check:
    """Every finding at a steady speed through the surface water, on a straight course.

    ``now``: what differs from the file, by rod key. ``bottom_m``: the depth of the water, compared with the median
    depth of each rod. ``fish_kg`` and ``fish_m_s``: the fish of the strike that lines must hold. Sentences are in
    ``units``. ``medians``: of earlier checks of this spread.
    """
    medians = medians or Medians()
    water = water_of(spread)
    current = current_in_boat_axes(spread.water, heading_rad or 0.0)
    at = Setting(spread, speed_m_s, water, current, units)
    rigs = {rod.key: rig_of(spread, rod, (now or {}).get(rod.key, AS_FILED), water) for rod in spread.rods}
    states = steady_rigs(rigs, speed_m_s, water=water, current=current)
    loads = {rod.key: loads_of(at, rod, rigs[rod.key], states[rod.key], fish_kg, fish_m_s) for rod in spread.rods}
    stretched = {
        rod.key: stretch(states[rod.key].depth_m, median_m)
        for rod in spread.rods
        if bottom_m is not None
        and states[rod.key].ok
        and (median_m := medians.of(spread, rod, speed_m_s, now or {}, heading_rad or 0.0)) is not None
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
    parts += [counts(at), holders(at), readings(at, now or {}), neighbours(at, rigs, states)]
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
