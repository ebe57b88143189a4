"""Counts across trips: hits and hours of a whole season, straight from the logbook's rollups.

Nothing is recomputed. Hours come from ``exposure`` in one pass in the order of its key; for a place they come from
the rows of ``exposure_at`` in its cells. Hits are counted one by one. Only debriefed trips count. Notebook hits are
listed, but left out of rates.
"""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from sternwatch.debrief.clocks import clock_of, said_clock
from sternwatch.debrief.counting.factors import Factor
from sternwatch.debrief.counting.tally import Tally
from sternwatch.logbook.store.samples import Rig, block_of, cell_centre, hit_from, rigs
from sternwatch.watch.bottom.soundings import local_metres


@dataclass(frozen=True, slots=True)
class Filters:
    """What to count; None or empty: everything.

    ``species`` filters only hits: hours fished for one fish are hours fished for all.
    """

    species: str = ""
    months: frozenset[int] = frozenset()
    years: frozenset[int] = frozenset()
    near_deg: tuple[float, float] | None = None
    radius_m: float = 0.0
    rig: str = ""  # a part of the rod's name, rig, lure, colour or setting

    @property
    def words(self) -> str:
        """The filters in words for a heading, without the place."""
        said = [self.species] if self.species else []
        if self.rig:
            said.append(f"rigs with “{self.rig}”")
        if self.months:
            said.append("months " + ", ".join(str(month) for month in sorted(self.months)))
        if self.years:
            said.append(", ".join(str(year) for year in sorted(self.years)))
        if self.near_deg is not None:
            said.append(f"within {self.radius_m / 1000:.1f} km of a place")
        return ", ".join(said)


@dataclass(frozen=True, slots=True)
class Season:
    """Counts across trips, and what could not be counted."""

    tally: Tally
    trips: int  # trips counted
    undigested: tuple[str, ...]  # ids of trips not debriefed yet
    species: tuple[tuple[str, int], ...]  # species of all hits, the most frequent first
    notebook: int  # hits without hours


def season(connection: sqlite3.Connection, filters: Filters = Filters()) -> Season:
    """Count a season. Raises sqlite3.Error."""
    known = rigs(connection)
    wanted_rigs = {no for no, rig in known.items() if _fits(rig, filters.rig)}
    trips = {
        no: (trip_id, session, digested)
        for no, trip_id, begun_ms, session, about, digested in connection.execute(
            "SELECT t.no, t.id, t.begun_ms, t.session, t.about, d.trip_no IS NOT NULL FROM trip t "
            "LEFT JOIN digest d ON d.trip_no = t.no WHERE t.session IN ('live', 'notebook') ORDER BY t.begun_ms"
        )
        if _in_time(connection, trip_id, begun_ms, about, filters)
    }
    counted = {no for no, (_, session, digested) in trips.items() if digested and session == "live"}
    places = _cells(connection, filters)
    result = Tally()
    for factor, value, rig, seconds in _hours(connection, counted, wanted_rigs if filters.rig else None, places):
        result.add(Factor(factor), value, known[rig], seconds=seconds)
    species, notebook = _count_hits(connection, result, trips, counted, known, wanted_rigs, places, filters)
    waiting = tuple(trip_id for trip_id, session, digested in trips.values() if session == "live" and not digested)
    return Season(result, len(counted), waiting, species, notebook)


def _fits(rig: Rig, wanted: str) -> bool:
    text = f"{rig.rod} {rig.name}|{rig.words}|{rig.lure}|{rig.colour}|{rig.setting}|{rig.level}"
    return wanted.lower() in text.lower()


def _in_time(connection: sqlite3.Connection, trip_id: str, begun_ms: int, about: str, filters: Filters) -> bool:
    if not (filters.months or filters.years):
        return True
    begun = clock_of(json.loads(about), said_clock(connection, trip_id)).at(begun_ms / 1000)
    return (not filters.months or begun.month in filters.months) and (
        not filters.years or begun.year in filters.years
    )  # fmt: skip


def _cells(connection: sqlite3.Connection, filters: Filters) -> _Places | None:
    """The fished cells that the filters cover; None: all."""
    if filters.near_deg is None:
        return None
    # Steps from key to key, not row by row.
    fished = connection.execute(
        "WITH RECURSIVE seen (cell) AS (SELECT min(cell) FROM exposure_at WHERE cell > 0 UNION ALL "
        "SELECT (SELECT min(cell) FROM exposure_at e WHERE e.cell > seen.cell) FROM seen WHERE cell IS NOT NULL) "
        "SELECT cell FROM seen WHERE cell IS NOT NULL"
    ).fetchall()
    hit = connection.execute("SELECT DISTINCT cell FROM hit WHERE cell > 0").fetchall()
    near = filters.near_deg
    inside: set[int] = set()
    parts: set[int] = set()
    blocks: dict[int, list[int]] = {}
    for (cell,) in {*fished, *hit}:
        if math.hypot(*local_metres(near, cell_centre(cell))) <= filters.radius_m:
            inside.add(cell)
        else:
            parts.add(block_of(cell))
    for cell in inside:
        blocks.setdefault(block_of(cell), []).append(cell)
    read = {key for block, cells in blocks.items() for key in (cells if block in parts else (block,))}
    return _Places(frozenset(inside), frozenset(read))


@dataclass(frozen=True, slots=True)
class _Places:
    """``cells``: those whose middle is within the radius. ``read``: the same, with whole blocks by their number."""

    cells: frozenset[int]
    read: frozenset[int]


def _hours(
    connection: sqlite3.Connection, trips: set[int], wanted: set[int] | None, places: _Places | None
) -> Iterator[tuple[int, int, int, int]]:
    """(factor, value, rig, seconds). SQLite sums the rows in their stored order."""
    table = "exposure" if places is None else "exposure_at"
    where = []
    read = places.read if places is not None else None
    for column, numbers in (("cell", read), ("trip_no", trips), ("rig_no", wanted)):
        if numbers is not None:
            # The numbers are our own integers; a season has too many of them to pass as parameters.
            where.append(f"{column} IN ({','.join(str(int(number)) for number in sorted(numbers))})")
    yield from connection.execute(
        f"SELECT factor, value, rig_no, sum(seconds) FROM {table} WHERE {' AND '.join(where)} "
        "GROUP BY factor, value, rig_no"
    )


def _count_hits(
    connection: sqlite3.Connection,
    result: Tally,
    trips: dict[int, tuple[str, str, int]],
    counted: set[int],
    known: dict[int, Rig],
    wanted: set[int],
    places: _Places | None,
    filters: Filters,
) -> tuple[tuple[tuple[str, int], ...], int]:
    by_species: dict[str, int] = {}
    notebook = 0
    rows = connection.execute(
        "SELECT trip_no, rig_no, cell, in_hours, species, factors, body FROM hit WHERE counts = 1"
        + (" AND species = ?" if filters.species else ""),
        (filters.species,) if filters.species else (),
    )
    for trip, rig, cell, in_hours, species, factors, body in rows:
        if trip not in trips:
            continue
        if trips[trip][1] == "notebook":
            if _noted_fits(body, filters):
                notebook += 1
                by_species[species or ""] = by_species.get(species or "", 0) + 1
            continue
        elsewhere = places is not None and cell not in places.cells
        if trip not in counted or elsewhere or (filters.rig and rig not in wanted):
            continue
        by_species[species or ""] = by_species.get(species or "", 0) + 1
        if not in_hours or rig is None:
            result.outside += 1
            continue
        for factor, at in json.loads(factors).items():
            result.add(Factor(int(factor)), at, known[rig], hits=1)
    ordered = sorted(by_species.items(), key=lambda pair: (-pair[1], pair[0]))
    return tuple(ordered), notebook


def _noted_fits(body: str, filters: Filters) -> bool:
    hit = hit_from(body)
    noted = hit.noted
    if filters.rig and filters.rig.lower() not in f"{hit.rod}|{noted.get('lure')}|{noted.get('colour')}".lower():
        return False
    if filters.near_deg is None:
        return True
    place = noted.get("latitude_deg"), noted.get("longitude_deg")
    if place[0] is None or place[1] is None:
        return False
    return math.hypot(*local_metres(filters.near_deg, (place[0], place[1]))) <= filters.radius_m
