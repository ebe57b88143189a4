"""From the watch's moments to plain rows: the trip's fishing time, and its hits with what was known at them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from sternwatch.feed.readings import SensorState
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread
from sternwatch.logbook.crew.state import CrewHit
from sternwatch.logbook.store.samples import BoatRow, HitRow, Rig, RodRow, Sample, quantised
from sternwatch.logbook.store.trips import to_ms

if TYPE_CHECKING:
    from sternwatch.watch.memory.hits import HitContext
    from sternwatch.watch.memory.moments import Moment, RodMoment

# Divers rolled up to this angle run steep and near the boat: low divers (memory).
LOW_UP_TO_RAD = math.radians(30.0)
HEARD_WITHIN_S = 10.0


@dataclass(slots=True)
class Fishing:
    """The samples of a session, append-only; a copy shares those that are there."""

    _all: list[Sample] = field(default_factory=list)
    _count: int = 0

    @classmethod
    def of(cls, earlier: list[Sample]) -> Fishing:
        """Going on from those of a trip taken up again."""
        return cls(earlier, len(earlier))

    def copy(self) -> Fishing:
        return Fishing(self._all, self._count)

    def __len__(self) -> int:
        return self._count

    def add(self, sample: Sample) -> None:
        if self._count != len(self._all):
            self._all = self._all[: self._count]  # another copy has gone on from here
        self._all.append(sample)
        self._count += 1

    def since(self, first: int = 0) -> list[Sample]:
        """All from the ``first`` on."""
        return self._all[first : self._count]


def sample_of(moment: Moment, *, fishing: bool) -> Sample:
    """A moment as rows; without the rods where it is not fishing time."""
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
    device, lure, colour, rest, level = "", "", "", [], ""
    for item in rod.deployed:
        if isinstance(item, LineItem):
            material = spread.line[item.line].material or ""
            for metal in ("lead-core", "copper"):
                if metal in material and metal not in device:
                    device = f"{metal} on a {device}" if device == "board" else device or metal
            continue
        tackle = spread.tackle[item.tackle]
        if tackle.kind == "lure":
            lure, colour = item.tackle, tackle.colour or ""
        elif tackle.kind == "attractor":
            rest.append(item.tackle)
        elif tackle.kind in ("diver", "ball", "weight", "board"):
            word = {"ball": "downrigger", "weight": "in-line weight"}.get(tackle.kind, tackle.kind)
            device = f"{word}, {device}" if device and device != word else word
            if tackle.kind == "diver" and setting in tackle.settings:
                level = "low diver" if abs(tackle.settings[setting]) <= LOW_UP_TO_RAD else "high diver"
    if rod.clipped_to is not None:
        device = "stacked on a downrigger"
    words = f"{device or 'flat line'}: {', '.join([*rest, lure]) if lure or rest else 'bare'}"
    return Rig(rod.key, rod.name, rod.side, level, words, lure, colour, setting or "")


def hit_row(hit: CrewHit, context: HitContext | None, earlier: HitRow | None = None) -> HitRow:
    """A hit with its moment; ``earlier``: the row kept of it, for what is no longer in memory."""
    at_s = None if context is None or context.t_s is None else round(context.t_s, 3)
    row = HitRow(
        id=hit.id,
        rod=hit.rod or "",
        at_s=at_s,
        time_ms=to_ms(hit.when.time),
        counts=hit.counts,
        in_hours=False,
        from_memory=hit.from_memory,
        outcome=hit.outcome,
        undersized=hit.undersized,
        species=hit.species,
        length_m=hit.length_m,
        mass_kg=hit.mass_kg,
        note=hit.note,
        flag=hit.flag or (f"doubtful: {hit.why}" if hit.doubtful else ""),
        noted=hit.noted.model_dump(exclude={"id", "time", "elapsed_s", "rod", "kind", "of"}, exclude_none=True)
        if hit.noted is not None
        else {},
    )
    at_rod = context.at_rod if context is not None else None
    if context is None or context.moment is None or at_rod is None:
        if earlier is None or (earlier.rod, earlier.at_s) != (row.rod, row.at_s):
            return row
        return replace(
            row, in_hours=earlier.in_hours, boat=earlier.boat, rod_row=earlier.rod_row, lure_deg=earlier.lure_deg,
            state=earlier.state, chain=earlier.chain, readings=earlier.readings,
        )  # fmt: skip
    moment = context.moment
    heard = moment.silent_s is not None and moment.silent_s <= HEARD_WITHIN_S
    lure = at_rod.position_deg
    return replace(
        row,
        in_hours=heard and at_rod.in_water and not context.over,
        boat=boat_of(moment),
        rod_row=row_of(at_rod),
        lure_deg=None if lure is None else (round(lure[0], 7), round(lure[1], 7)),
        state=at_rod.state.value,
        chain=_chain(at_rod),
        readings=_readings(moment),
    )


def _chain(at_rod: RodMoment) -> tuple[Mapping[str, Any], ...]:
    """The chain in order outward, as it was: lengths and settings of that moment in place of the file's."""
    items: list[Mapping[str, Any]] = []
    diver = at_rod.spread.setting_item(at_rod.rod)
    for item in at_rod.rod.deployed:
        if isinstance(item, LineItem):
            length = at_rod.line_out_m if item.out_m is not None else item.length_m
            if item.adjust and at_rod.lead_m is not None:
                length = at_rod.lead_m
            items.append({"line": item.line, "length_m": quantised("length_m", length)})
        elif item is diver:
            items.append({"tackle": item.tackle, "setting": at_rod.setting})
        else:
            items.append({"tackle": item.tackle})
    return tuple(items)


def _readings(moment: Moment) -> tuple[Mapping[str, Any], ...]:
    """Every quantity heard of, with its age and who said it."""
    found: list[Mapping[str, Any]] = []
    for quantity, value in sorted(moment.sensors.items()):
        if value.state is SensorState.NEVER or value.value is None or quantity.value in ("position", "clock"):
            continue
        said = {
            "quantity": quantity.value,
            "state": value.state.value,
            "value": round(value.value, 3) if isinstance(value.value, float) else None,
            "age_s": quantised("age_s", value.age_s),
            "source": value.source,
            "sentence": value.sentence,
            "suspect": value.suspect,
        }
        found.append({name: part for name, part in said.items() if part not in (None, "")})
    return tuple(found)
