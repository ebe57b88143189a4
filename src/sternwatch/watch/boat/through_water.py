"""How well the speed through the water is known: what the crew entered, and what the picture shows."""

from __future__ import annotations

import math
from typing import Final

from sternwatch.answers.belief.priors import Z90
from sternwatch.logbook.actions.trip_acts import CurrentSaid
from sternwatch.logbook.crew.state import Crew
from sternwatch.watch.boat.current import CurrentFilter, GaugeSpeed, Said
from sternwatch.watch.picture.model import SpeedSource, WaterSpeed

TURN: Final = "turn onto another heading to tell current from speed"
TURN_FOR_LOG: Final = "turn onto another heading to tell current from the log's error"


def said_current(crew: Crew) -> Said | None:
    """The last current that the helm entered and has not taken back."""
    for key in reversed(crew.standing):
        act = crew.entries[key]
        if isinstance(act, CurrentSaid):
            a = math.radians(act.towards_deg)
            return Said(act.id, (act.speed_m_s * math.cos(a), act.speed_m_s * math.sin(a)))
    return None


def read_gauge(crew: Crew) -> GaugeSpeed | None:
    """The last speed that the crew read off a gauge."""
    for gauge in reversed(crew.gauges):
        if gauge.speed_m_s is not None:
            return GaugeSpeed(gauge.id, gauge.speed_m_s)
    return None


def through_water(
    found: CurrentFilter,
    source: SpeedSource,
    speed_m_s: float,
    velocity_m_s: tuple[float, float],
    heading_deg: float,
    apart_m_s: float = 0.0,
) -> WaterSpeed:
    """The picture's account of a known speed. ``found``: the current filter; ``source``: the speed in use.

    ``apart_m_s``: the difference of log and speed over ground while the two contradict each other.
    """
    belief = found.belief
    north, east = velocity_m_s
    if north == 0.0 and east == 0.0:
        a = math.radians(heading_deg)
        north, east = math.cos(a), math.sin(a)
    course = math.atan2(east, north)
    along_off = Z90 * belief.along_sd_m_s(course)
    told, current = "", None
    if found.found:
        told, current = "legs" if found.said is None else "helm", found.driving_m_s
    elif found.prior.given_m_s != (0.0, 0.0):
        told, current = "file", found.prior.given_m_s
    if source is SpeedSource.THROUGH_WATER:
        scale_off = Z90 * belief.scale_sd
        return WaterSpeed(
            off_m_s=speed_m_s * scale_off,
            current_m_s=current,
            current_off_m_s=along_off,
            told=told,
            scale=found.driving_scale if found.scale_found else None,
            scale_off=scale_off,
            missing="" if found.scale_found else TURN_FOR_LOG,
        )
    return WaterSpeed(
        off_m_s=math.hypot(along_off, apart_m_s),
        current_m_s=current,
        current_off_m_s=along_off,
        told=told,
        scale=None,
        scale_off=None,
        missing="" if found.along_found(course) else TURN,
    )
