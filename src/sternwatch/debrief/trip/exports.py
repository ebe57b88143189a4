"""Exports a trip for other programs: CSV (RFC 4180), GPX 1.1, GeoJSON (RFC 7946), actions as JSON Lines.

SI units with the unit in the column's name; empty where unknown. Places are included only on request.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from sternwatch.debrief.trip.digest import Digest
from sternwatch.debrief.trip.sources import TripData, utc_offset_min
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.logbook.actions.kinds import Action, FishSeen, Marked, Noted, iso, lines
from sternwatch.logbook.crew.facts import UNNAMED
from sternwatch.logbook.store.samples import HitRow

_HIT = (
    "trip", "id", "time", "rod", "rod_name", "rig", "lure", "colour", "setting", "side", "counts", "in_hours",
    "time_from_memory", "outcome", "undersized", "species", "length_m", "mass_kg", "line_out_m", "lead_m", "depth_m",
    "depth_low_m", "depth_high_m", "lure_speed_m_s", "vertical_speed_m_s", "moving", "turn", "boat_pace", "current",
    "temperature_at_lure_c", "water_temperature_c", "clearance_m", "bottom_m", "sog_m_s", "stw_m_s", "course_deg",
    "heading_deg", "note",
)  # fmt: skip
_HIT_PLACES = ("boat_latitude_deg", "boat_longitude_deg", "lure_latitude_deg", "lure_longitude_deg")
_EXPOSURE = (
    "trip", "time", "elapsed_s", "rod", "rod_name", "rig", "lure", "colour", "setting", "line_out_m", "lead_m",
    "depth_m", "depth_low_m", "depth_high_m", "lure_speed_m_s", "vertical_speed_m_s", "moving", "turn", "current",
    "temperature_at_lure_c", "water_temperature_c", "clearance_m", "bottom_m", "speed_m_s", "sog_m_s", "stw_m_s",
    "course_deg", "seconds",
)  # fmt: skip
_EXPOSURE_PLACES = ("boat_latitude_deg", "boat_longitude_deg")
_RETURN = ("date", "trip", "anglers", "hours", "species", "kept", "freed")


def _csv(heading: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out)  # commas, CR LF, quotes doubled
    writer.writerow(heading)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = str(value)
    # A spreadsheet must not read a crew's note as a formula.
    return "'" + text if isinstance(value, str) and text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def _time(ms: int | None) -> str | None:
    return None if ms is None else iso(datetime.fromtimestamp(ms / 1000, UTC))


def hits_csv(data: TripData, digest: Digest, *, positions: bool = False) -> str:
    """Every hit with the known values at its moment."""
    return _csv((*_HIT, *(_HIT_PLACES if positions else ())), (_hit(data.id, h, positions) for h in digest.hits))


def _hit(trip: str, hit: HitRow, positions: bool) -> list[Any]:
    rod, boat = hit.rod_row, hit.boat
    rig = rod.rig if rod is not None else None

    def of_rod(name: str, noted: str = "") -> Any:
        return getattr(rod, name) if rod is not None else hit.noted.get(noted)

    def of_boat(name: str, noted: str = "") -> Any:
        return getattr(boat, name) if boat is not None else hit.noted.get(noted)

    row = [
        trip, hit.id, _time(hit.time_ms), hit.rod, *(
            (rig.name, rig.words, rig.lure, rig.colour, rig.setting, rig.side) if rig is not None
            else (None, None, hit.noted.get("lure"), hit.noted.get("colour"), hit.noted.get("setting"), None)
        ),
        hit.counts, hit.in_hours, hit.from_memory, hit.outcome, hit.undersized, hit.species,
        hit.length_m, hit.mass_kg,
        of_rod("line_out_m", "line_out_m"), of_rod("lead_m"), of_rod("depth_m", "depth_m"), of_rod("depth_low_m"),
        of_rod("depth_high_m"), of_rod("lure_speed_m_s"), of_rod("vertical_speed_m_s"), of_rod("trend"),
        of_rod("turn"), of_boat("pace"), of_boat("current"), of_rod("temperature_c"),
        of_boat("water_temperature_c", "temperature_c"), of_rod("clearance_m"), of_boat("bottom_m", "bottom_m"),
        of_boat("sog_m_s"), of_boat("stw_m_s"), of_boat("course_deg"), of_boat("heading_deg"),
        "; ".join(text for text in (hit.flag, hit.note) if text) or None,
    ]  # fmt: skip
    if positions:
        row += [of_boat("latitude_deg", "latitude_deg"), of_boat("longitude_deg", "longitude_deg")]
        row += list(hit.lure_deg or (None, None))
    return row


def exposure_csv(data: TripData, digest: Digest, *, positions: bool = False) -> str:
    """Every sample of fishing time, one row per rod."""

    def rows() -> Iterable[list[Any]]:
        for sample in digest.samples:
            boat = sample.boat
            for rod in sample.rods:
                row = [
                    data.id, _time(boat.time_ms), boat.at_s, rod.rig.rod, rod.rig.name, rod.rig.words, rod.rig.lure,
                    rod.rig.colour, rod.rig.setting, rod.line_out_m, rod.lead_m, rod.depth_m, rod.depth_low_m,
                    rod.depth_high_m, rod.lure_speed_m_s, rod.vertical_speed_m_s, rod.trend, rod.turn, boat.current,
                    rod.temperature_c, boat.water_temperature_c, rod.clearance_m, boat.bottom_m, boat.speed_m_s,
                    boat.sog_m_s, boat.stw_m_s, boat.course_deg, 10,
                ]  # fmt: skip
                yield row + ([boat.latitude_deg, boat.longitude_deg] if positions else [])

    return _csv((*_EXPOSURE, *(_EXPOSURE_PLACES if positions else ())), rows())


def return_csv(trips: Iterable[tuple[TripData, Digest]]) -> str:
    """A charter's return: date, anglers, hours with a line in the water, fish kept and freed by species."""

    def rows() -> Iterable[list[Any]]:
        for data, digest in trips:
            offset = utc_offset_min(data, digest)
            zone = UTC if offset is None else timezone(timedelta(minutes=offset))
            hours = round(sum(bool(sample.rods) for sample in digest.samples) / 360, 1) if digest.samples else None
            head = [data.begun.astimezone(zone).date().isoformat(), data.id, digest.crew.facts.people, hours]
            kept: dict[str, list[int]] = {}
            for hit in digest.hits:
                if hit.counts and hit.outcome in ("boxed", "freed"):
                    kept.setdefault(hit.species or UNNAMED, [0, 0])[hit.outcome == "freed"] += 1
            if not kept:
                yield [*head, None, 0, 0]
            for species in sorted(kept):
                yield [*head, species, *kept[species]]

    return _csv(_RETURN, rows())


def actions_jsonl(actions: Iterable[Action], *, positions: bool = False) -> str:
    """The crew's actions. Importing them gives the same actions."""
    places = {"latitude_deg": None, "longitude_deg": None}
    told = Noted | Marked | FishSeen
    kept = (a.model_copy(update=places) if isinstance(a, told) and not positions else a for a in actions)
    return lines(kept)


def geojson(digest: Digest, trip: str, *, positions: bool) -> str:
    """Hits as points at the lure's place and the track as lines (RFC 7946); without positions, no geometry."""
    features: list[dict[str, Any]] = []
    if positions:
        parts = [part for part in _track(digest) if len(part) >= 2]
        if parts:
            coordinates = [[[east, north] for north, east, _ in part] for part in parts]
            features.append({
                "type": "Feature",
                "geometry": {"type": "MultiLineString", "coordinates": coordinates},
                "properties": {"trip": trip, "what": "track"},
            })  # fmt: skip
    for hit in digest.hits:
        place = _place(hit) if positions else None
        said = dict(zip(_HIT, _hit(trip, hit, positions=False), strict=True))
        features.append({
            "type": "Feature",
            "id": hit.id,
            "geometry": None if place is None else {"type": "Point", "coordinates": [place[1], place[0]]},
            "properties": {"what": "hit", **{k: v for k, v in said.items() if v is not None}},
        })  # fmt: skip
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False) + "\n"


def _place(hit: HitRow) -> tuple[float, float] | None:
    if hit.lure_deg is not None:
        return hit.lure_deg
    north, east = hit.noted.get("latitude_deg"), hit.noted.get("longitude_deg")
    return (north, east) if north is not None and east is not None else None


def _track(digest: Digest) -> list[list[tuple[float, float, int | None]]]:
    """The track in unbroken parts: (latitude, longitude, Unix ms)."""
    parts: list[list[tuple[float, float, int | None]]] = [[]]
    last_s: float | None = None
    for sample in digest.samples:
        boat = sample.boat
        if boat.latitude_deg is None or boat.longitude_deg is None:
            continue
        if last_s is not None and boat.at_s - last_s > 60.0 and parts[-1]:
            parts.append([])
        parts[-1].append((boat.latitude_deg, boat.longitude_deg, boat.time_ms))
        last_s = boat.at_s
    return [part for part in parts if part]


def gpx(digest: Digest, trip: str, units: DisplaySystem) -> str:
    """Track and hits as GPX 1.1, with sentences in ``units``. It consists of places: ask before writing it."""
    import gpxpy.gpx as g

    digits = 0 if units.length == "ft" else 1
    made = g.GPX()
    made.creator = "sternwatch"
    made.name = trip
    made.description = "Depths are computed, not measured. Not for navigation."
    for hit in digest.hits:
        place = _place(hit)
        if place is None or not hit.counts:
            continue
        depth = hit.rod_row.depth_m if hit.rod_row is not None else None
        down = "" if depth is None else f"lure {units.show(depth, Dimension.LENGTH, digits)} down"
        said = [hit.species or "", hit.outcome or "", down]
        made.waypoints.append(
            g.GPXWaypoint(
                place[0],
                place[1],
                time=datetime.fromtimestamp(hit.time_ms / 1000, UTC),
                name=f"hit on {hit.rod}",
                description=", ".join(text for text in said if text) or None,
            )
        )
    track = g.GPXTrack(name=trip)
    for part in _track(digest):
        segment = g.GPXTrackSegment()
        segment.points += [
            g.GPXTrackPoint(n, e, time=None if ms is None else datetime.fromtimestamp(ms / 1000, UTC))
            for n, e, ms in part
        ]
        track.segments.append(segment)
    if track.segments:
        made.tracks.append(track)
    return str(made.to_xml(version="1.1")) + "\n"
