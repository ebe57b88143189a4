"""One sentence for the radio or the guests. It gives counts, nothing that sounds like a promise."""

from __future__ import annotations

from collections.abc import Sequence

from sternwatch.debrief.counting.factors import OF_RIG
from sternwatch.debrief.counting.producing import Producing
from sternwatch.gear.values.units import FOOT_M, Dimension, DisplaySystem
from sternwatch.logbook.store.samples import HitRow

# With fewer hits than this a middle half means nothing.
LEAST_FOR_RANGE = 3


def radio(said: Producing, hits: Sequence[HitRow], units: DisplaySystem) -> str:
    """ "12 hits, 7 in the box. 9 of them on 2 and 7, most 60–75 ft down where it is 48 °F, lures at 2.2 mph." """
    mine = [hit for hit in hits if hit.counts]
    if not mine:
        return "No hits so far."
    boxed = sum(hit.outcome == "boxed" for hit in mine)
    first = f"{len(mine)} hit{'s' * (len(mine) != 1)}" + (f", {boxed} in the box" if boxed else "")
    best = next((f for f in said.findings if f.better and f.values[0].factor in OF_RIG), None)
    told = [hit for hit in mine if best is None or hit.rod in best.rods]
    parts = [] if best is None else [f"{len(told)} of them on {' and '.join(best.rods)}"]
    parts += _how(told, units)
    second = ", ".join(parts)
    return f"{first}. {second[0].upper()}{second[1:]}." if second else f"{first}."


def _how(hits: Sequence[HitRow], units: DisplaySystem) -> list[str]:
    """The depth, water and speed of the lures at these hits; unknown parts are left out."""
    rows = [hit.rod_row for hit in hits if hit.rod_row is not None]
    parts = []
    if depth := _depths([row.depth_m for row in rows if row.depth_m is not None], units):
        warm = _median([row.temperature_c for row in rows if row.temperature_c is not None])
        where = f" where it is {units.show(warm, Dimension.TEMPERATURE)}" if warm is not None else ""
        parts.append(f"most {depth} down{where}")
    speed = _median([row.lure_speed_m_s for row in rows if row.lure_speed_m_s is not None])
    if speed is not None:
        parts.append(f"lures at {units.show(speed, Dimension.SPEED, 1)}")
    return parts


def _depths(depths: Sequence[float], units: DisplaySystem) -> str:
    """The middle half of the depths, in steps of 5 ft or 1 m."""
    if len(depths) < LEAST_FOR_RANGE:
        return ""
    step = 5 * FOOT_M if units.symbol(Dimension.LENGTH) == "ft" else 1.0
    ordered = sorted(depths)
    low, high = ordered[len(ordered) // 4], ordered[(3 * len(ordered)) // 4]
    low, high = round(low / step) * step, round(high / step) * step
    if high <= low:
        return f"about {units.show(low, Dimension.LENGTH)}"
    return f"{units.show(low, Dimension.LENGTH, label=False)}–{units.show(high, Dimension.LENGTH)}"


def _median(values: Sequence[float]) -> float | None:
    return sorted(values)[len(values) // 2] if len(values) >= LEAST_FOR_RANGE else None
