"""Makes plain rows from the watch's moments: the boat and every rod."""

from __future__ import annotations

import math

from sternwatch.gear.spread_file.models import LineItem, Rod, Spread
from sternwatch.logbook.store.samples import BoatRow, Rig, RodRow, Sample, quantised
from sternwatch.watch.memory.moments import Moment, RodMoment

# Divers set up to this angle run steep and near the boat: low divers (memory).
LOW_UP_TO_RAD = math.radians(30.0)


def sample_of(moment: Moment, *, fishing: bool) -> Sample:
    """A moment as rows, without the rods outside fishing time."""
    rods = [row_of(rod) for rod in moment.rods.values() if rod.in_water] if fishing else []
    return Sample(boat_of(moment), tuple(sorted(rods, key=lambda row: (row.rig.rod, row.rig.words, row.rig.setting))))


def boat_of(moment: Moment) -> BoatRow:
    """The boat at a moment."""
    latitude, longitude = moment.position_deg or (None, None)
    values: dict[str, float | None] = {
        "speed_m_s": moment.speed_m_s,
        "sog_m_s": moment.sog_m_s,
        "stw_m_s": moment.stw_m_s,
        "course_deg": moment.course_deg,
        "heading_deg": moment.heading_deg,
        "rate_of_turn_deg_s": moment.rate_of_turn_deg_s,
        "latitude_deg": latitude,
        "longitude_deg": longitude,
        "water_temperature_c": moment.water_temperature_c,
        "bottom_m": moment.bottom_m,
    }
    return BoatRow(
        at_s=round(moment.t_s, 3),
        time_ms=None if moment.utc_s is None else round(moment.utc_s * 1000),
        pace=moment.pace,
        current=moment.current,
        **{name: quantised(name, value) for name, value in values.items()},
    )


def row_of(rod: RodMoment) -> RodRow:
    """A rod at a moment."""
    low, high = rod.depth_interval_m or (None, None)
    values: dict[str, float | None] = {
        "line_out_m": rod.line_out_m,
        "lead_m": rod.lead_m,
        "depth_m": rod.depth_m,
        "depth_low_m": low,
        "depth_high_m": high,
        "lure_speed_m_s": rod.lure_speed_m_s,
        "vertical_speed_m_s": rod.vertical_speed_m_s,
        "temperature_c": rod.temperature_c,
        "clearance_m": rod.clearance_m,
    }
    return RodRow(
        rig=rig_of(rod.spread, rod.rod, rod.setting),
        trend=rod.trend,
        turn=rod.turn,
        **{name: quantised(name, value) for name, value in values.items()},
    )


_rigs: dict[tuple[int, str | None], tuple[Spread, Rod, Rig]] = {}


def rig_of(spread: Spread, rod: Rod, setting: str | None) -> Rig:
    """A rod's rig in words."""
    known = _rigs.get((id(rod), setting))
    if known is not None and known[0] is spread and known[1] is rod:
        return known[2]
    rig = _rig(spread, rod, setting)
    if len(_rigs) > 1000:
        _rigs.clear()
    _rigs[id(rod), setting] = (spread, rod, rig)
    return rig


def _rig(spread: Spread, rod: Rod, setting: str | None) -> Rig:
    tackle = [(item.tackle, spread.tackle[item.tackle]) for item in rod.deployed if not isinstance(item, LineItem)]
    lures = [(name, piece.colour or "") for name, piece in tackle if piece.kind == "lure"]
    lure, colour = lures[-1] if lures else ("", "")
    rest = [name for name, piece in tackle if piece.kind == "attractor"]
    angles = [piece.settings[setting] for _, piece in tackle if piece.kind == "diver" and setting in piece.settings]
    level = "" if not angles else "low diver" if abs(angles[-1]) <= LOW_UP_TO_RAD else "high diver"
    device = "stacked on a downrigger" if rod.clipped_to is not None else _device(spread, rod)
    words = f"{device or 'flat line'}: {', '.join([*rest, lure]) if lure or rest else 'bare'}"
    return Rig(rod.key, rod.name, rod.side, level, words, lure, colour, setting or "")


# Names of the devices that carry a line, and of the metals of lines that sink by themselves.
_DEVICES = {"diver": "diver", "ball": "downrigger", "weight": "in-line weight", "board": "board"}
_METALS = ("lead-core", "copper")


def _device(spread: Spread, rod: Rod) -> str:
    """The devices that carry a rod's line, in words, from the tip outward."""
    device = ""
    for item in rod.deployed:
        if isinstance(item, LineItem):
            material = spread.line[item.line].material or ""
            for metal in _METALS:
                if metal in material and metal not in device:
                    device = f"{metal} on a {device}" if device == "board" else device or metal
        elif word := _DEVICES.get(spread.tackle[item.tackle].kind):
            device = f"{word}, {device}" if device and device != word else word
    return device
