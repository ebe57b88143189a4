"""A picture as one JSON object: the contract of ``replay --headless --json``.

SI units, with the unit in the field's name. Unknown values are null, never zero.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime
from typing import Any

from sternwatch.feed.readings import Quantity, SensorState
from sternwatch.watch.picture.alert import Alert
from sternwatch.watch.picture.model import FishPicture, OwnBoat, Picture, RodPicture


def iso_utc(unix_s: float) -> str:
    """ISO 8601 with a Z, to the second (rows are for whole UTC seconds)."""
    return datetime.fromtimestamp(round(unix_s), UTC).isoformat().replace("+00:00", "Z")


def number(value: float | None, digits: int = 6) -> float | None:
    """A finite number rounded for output; anything else is null."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), digits)


def _pair(value: tuple[float, float] | None) -> list[float | None] | None:
    return None if value is None else [number(value[0]), number(value[1])]


def rod_row(rod: RodPicture) -> dict[str, Any]:
    """One rod of a row."""
    return {
        "key": rod.key,
        "name": rod.name,
        "state": rod.state.value,
        "solver": rod.solver.value,
        "line_out_m": number(rod.line_out_m),
        "past_tip_m": number(rod.past_tip_m),
        "setting": rod.setting,
        "lead_m": number(rod.lead_m),
        "depth_m": number(rod.depth_m),
        "astern_m": number(rod.astern_m),
        "abeam_m": number(rod.abeam_m),
        "depth_interval_m": _pair(rod.depth_interval_m),
        "depth_quantiles_m": None if rod.depth_quantiles_m is None else list(rod.depth_quantiles_m),
        "lure_speed_m_s": number(rod.lure_speed_m_s),
        "vertical_speed_m_s": number(rod.vertical_speed_m_s),
        "temperature_c": number(rod.temperature_c),
        "clearance_m": number(rod.clearance_m),
        "least_clearance_m": None if rod.bottom is None else number(rod.bottom.room_m),
        "least_clearance_what": None if rod.bottom is None else rod.bottom.what,
        "touches_bottom_s": None if rod.bottom is None else number(rod.bottom.touches_s, 1),
        "nearest_m": number(rod.nearest_m),
        "nearest_key": rod.nearest_key,
        "tension_N": number(rod.tension_N),
        "entry_angle_deg": number(rod.entry_angle_deg),
        "points": [
            {
                "what": p.what,
                "depth_m": number(p.depth_m),
                "astern_m": number(p.astern_m),
                "abeam_m": number(p.abeam_m),
                "clearance_m": number(p.clearance_m),
            }
            for p in rod.points
        ],
    }


def fish_row(fish: FishPicture) -> dict[str, Any]:
    """Fish seen on the sounder: the rods that pass them, and the line out for the others."""
    return {
        "depth_m": number(fish.depth_m),
        "age_s": number(fish.age_s, 1),
        "passing": list(fish.passing),
        "others": [{"key": line.key, "line_out_m": number(line.line_out_m), "why": line.why} for line in fish.others],
        "speed_m_s": number(fish.speed_m_s),
    }


def alert_row(alert: Alert) -> dict[str, Any]:
    """One alert of a row."""
    return {
        "id": alert.id,
        "kind": alert.kind,
        "priority": alert.priority.value,
        "state": alert.state.value,
        "keys": list(alert.keys),
        "text": alert.text,
        "advice": alert.advice,
    }


def water_row(own: OwnBoat) -> dict[str, Any]:
    """How well the speed through the surface water is known. Half widths are at 90 %."""
    water = own.water
    north, east = (None, None) if water is None or water.current_m_s is None else water.current_m_s
    return {
        "speed_through_water_m_s": number(own.speed_m_s),
        "speed_through_water_off_m_s": None if water is None else number(water.off_m_s),
        "current_north_m_s": number(north),
        "current_east_m_s": number(east),
        "current_along_off_m_s": None if water is None else number(water.current_off_m_s),
        "log_scale": None if water is None else number(water.scale),
        "log_scale_off": None if water is None else number(water.scale_off),
    }


def picture_row(picture: Picture) -> dict[str, Any]:
    """One row: the boat, every rod in file order, the standing alerts."""
    own = picture.own
    temperature = picture.sensors.get(Quantity.WATER_TEMPERATURE)
    surface = (
        temperature.value
        if temperature is not None
        and temperature.state is SensorState.FRESH
        and not temperature.suspect
        and isinstance(temperature.value, float)
        else None
    )
    return {
        "time": None if picture.utc_s is None else iso_utc(picture.utc_s),
        "elapsed_s": number(picture.t_s, 3),
        "sog_m_s": number(own.sog_m_s),
        "stw_m_s": number(own.stw_m_s),
        "course_deg": number(own.course_deg),
        "heading_deg": number(own.heading_deg),
        "speed_source": own.speed_source.value,
        **water_row(own),
        "water_temperature_c": number(surface),
        "bottom_m": number(picture.bottom_m),
        "rods": [rod_row(rod) for rod in picture.rods],
        "fish_seen": [fish_row(fish) for fish in picture.fish_seen],
        "alerts": [alert_row(alert) for alert in picture.alerts],
        "calibration": picture.calibration or None,
    }
