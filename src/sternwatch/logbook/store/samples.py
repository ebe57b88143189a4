"""Describes a trip in rows: the boat and every fishing rod each ten seconds, and the moment of every hit.

The rows follow from the trip's two streams and can be made again, so unlike actions they are replaced. The values are
plain: nothing here knows how a depth is computed. They are stored as whole thousandths (latitude and longitude as
ten-millionths of a degree), which is finer than their accuracy and takes a third of the space.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any

TRENDS = ("rising", "steady", "sinking")
TURNS = ("straight", "inside", "outside", "turning")
PACES = ("slowing", "steady", "quickening")
CURRENTS = ("with", "against", "little")

# Decimals stored; columns not listed have three.
_DECIMALS = {"latitude_deg": 7, "longitude_deg": 7}
_WORDS: dict[str, tuple[str, ...]] = {"trend": TRENDS, "turn": TURNS, "pace": PACES, "current": CURRENTS}


@dataclass(frozen=True, slots=True)
class Rig:
    """A rod's gear in words; empty where it has no such piece."""

    rod: str
    name: str = ""
    side: str = ""  # port | starboard | centre
    level: str = ""  # low diver | high diver
    words: str = ""  # the whole rig in words
    lure: str = ""
    colour: str = ""
    setting: str = ""


@dataclass(frozen=True, slots=True)
class BoatRow:
    """The boat at one moment of feed time."""

    at_s: float
    time_ms: int | None = None
    speed_m_s: float | None = None  # the speed that drove the chains
    sog_m_s: float | None = None
    stw_m_s: float | None = None
    course_deg: float | None = None
    heading_deg: float | None = None
    rate_of_turn_deg_s: float | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    water_temperature_c: float | None = None
    bottom_m: float | None = None
    pace: str | None = None
    current: str | None = None


@dataclass(frozen=True, slots=True)
class RodRow:
    """A rod with its lure swimming. One row counts as ten seconds of fishing."""

    rig: Rig
    line_out_m: float | None = None
    lead_m: float | None = None
    depth_m: float | None = None
    depth_low_m: float | None = None  # lower end of the depth's 90 % interval
    depth_high_m: float | None = None
    lure_speed_m_s: float | None = None
    vertical_speed_m_s: float | None = None
    temperature_c: float | None = None  # at the lure
    clearance_m: float | None = None  # height of the lure above the bottom
    trend: str | None = None
    turn: str | None = None


@dataclass(frozen=True, slots=True)
class Sample:
    """One moment: the boat, and every rod that was fishing."""

    boat: BoatRow
    rods: tuple[RodRow, ...]


@dataclass(frozen=True, slots=True)
class HitRow:
    """A hit and its moment. ``boat`` and ``rod_row`` are None where nothing is known of that moment."""

    id: str
    rod: str
    at_s: float | None
    time_ms: int
    counts: bool
    in_hours: bool  # its moment is in fishing time, so it counts for rates
    from_memory: bool = False
    outcome: str | None = None
    undersized: bool | None = None
    species: str | None = None
    length_m: float | None = None
    mass_kg: float | None = None
    note: str = ""
    flag: str = ""
    boat: BoatRow | None = None
    rod_row: RodRow | None = None
    lure_deg: tuple[float, float] | None = None
    state: str = ""  # of the rod just before the hit
    chain: tuple[Mapping[str, Any], ...] = ()
    readings: tuple[Mapping[str, Any], ...] = ()  # quantity, value, age and source of each
    noted: Mapping[str, Any] = field(default_factory=dict)
    speed_by: str = ""  # set where speed and depth are not those of the moment itself


def quantised(name: str, value: float | None) -> float | None:
    """A number rounded as the file rounds it."""
    return None if value is None else round(value, _DECIMALS.get(name, 3))


def scale_of(name: str) -> int:
    """How many of the file's units make one of a number's."""
    return 1000 if name not in _DECIMALS else 10 ** _DECIMALS[name]


def cell_of(latitude_deg: float | None, longitude_deg: float | None) -> int:
    """The number of a place's cell, a hundredth of a degree (about 1 km) wide; 0 without a place."""
    if latitude_deg is None or longitude_deg is None:
        return 0
    return int((latitude_deg + 90.0) * 100.0) * 36_000 + int((longitude_deg + 180.0) * 100.0) + 1


def block_of(cell: int) -> int:
    """The number (negative) of a cell's block, a tenth of a degree wide; 0 without a place."""
    north, east = divmod(cell - 1, 36_000)
    return -(north // 10 * 3_600 + east // 10 + 1) if cell else 0


def cell_centre(cell: int) -> tuple[float, float]:
    """Latitude and longitude of a cell's middle."""
    north, east = divmod(cell - 1, 36_000)
    return (north + 0.5) / 100.0 - 90.0, (east + 0.5) / 100.0 - 180.0


BOAT = tuple(f.name for f in fields(BoatRow))[2:]
ROD = tuple(f.name for f in fields(RodRow))[1:]
_RIG = tuple(f.name for f in fields(Rig))

TABLES: tuple[str, ...] = (
    "DROP TABLE sample",  # a table of version 1 in which no version ever wrote
    f"CREATE TABLE rig (no INTEGER PRIMARY KEY, {', '.join(f'{name} TEXT NOT NULL' for name in _RIG)}, "
    f"UNIQUE ({', '.join(_RIG)})) STRICT",
    "CREATE TABLE moment (trip_no INTEGER NOT NULL REFERENCES trip (no), at_ms INTEGER NOT NULL, time_ms INTEGER, "
    f"{', '.join(f'{name} INTEGER' for name in BOAT)}, PRIMARY KEY (trip_no, at_ms)) STRICT, WITHOUT ROWID",
    "CREATE TABLE sample (trip_no INTEGER NOT NULL REFERENCES trip (no), at_ms INTEGER NOT NULL, "
    f"rig_no INTEGER NOT NULL REFERENCES rig (no), {', '.join(f'{name} INTEGER' for name in ROD)}, "
    "PRIMARY KEY (trip_no, at_ms, rig_no)) STRICT, WITHOUT ROWID",
    """
    CREATE TABLE hit (
        trip_no  INTEGER NOT NULL REFERENCES trip (no),
        id       TEXT NOT NULL,
        time_ms  INTEGER NOT NULL,
        rig_no   INTEGER REFERENCES rig (no),
        cell     INTEGER NOT NULL,
        counts   INTEGER NOT NULL,
        in_hours INTEGER NOT NULL,
        species  TEXT,
        outcome  TEXT,
        factors  TEXT NOT NULL,  -- number of factor to its value, a JSON object
        body     TEXT NOT NULL,  -- the whole of it as one JSON object
        PRIMARY KEY (trip_no, id)
    ) STRICT, WITHOUT ROWID
    """,
    """
    CREATE TABLE digest (
        trip_no INTEGER PRIMARY KEY REFERENCES trip (no),
        basis   TEXT NOT NULL,  -- what it was made from
        made_ms INTEGER NOT NULL,
        body    TEXT NOT NULL   -- alerts, separations: a JSON object
    ) STRICT
    """,
    """
    CREATE TABLE exposure (  -- seconds of fishing by value of a factor: every question about rates in one pass
        factor  INTEGER NOT NULL,
        value   INTEGER NOT NULL,
        rig_no  INTEGER NOT NULL REFERENCES rig (no),
        trip_no INTEGER NOT NULL REFERENCES trip (no),
        seconds INTEGER NOT NULL,
        PRIMARY KEY (factor, value, rig_no, trip_no)
    ) STRICT, WITHOUT ROWID
    """,
    """
    CREATE TABLE exposure_at (  -- the same by place, for questions about a place: only its rows are read
        cell    INTEGER NOT NULL,  -- negative: a whole block of cells
        factor  INTEGER NOT NULL,
        value   INTEGER NOT NULL,
        rig_no  INTEGER NOT NULL REFERENCES rig (no),
        trip_no INTEGER NOT NULL REFERENCES trip (no),
        seconds INTEGER NOT NULL,
        PRIMARY KEY (cell, factor, value, rig_no, trip_no)
    ) STRICT, WITHOUT ROWID
    """,
    *(f"CREATE INDEX {table}_of_trip ON {table} (trip_no)" for table in ("exposure", "exposure_at")),
)


def to_stored(name: str, value: Any) -> int | None:
    """A value as the file holds it: thousandths, or the number of a word."""
    if value is None:
        return None
    if name in _WORDS:
        return _WORDS[name].index(value)
    whole: int = round(value * scale_of(name))
    return whole


def from_stored(name: str, value: int | None) -> Any:
    """The inverse of ``to_stored``."""
    if value is None:
        return None
    if name in _WORDS:
        return _WORDS[name][value]
    return value / scale_of(name)


def rig_no(connection: sqlite3.Connection, rig: Rig) -> int:
    """The number of a rig; a rig not stored yet gets a new one."""
    values = tuple(getattr(rig, name) for name in _RIG)
    where = " AND ".join(f"{name} = ?" for name in _RIG)
    row = connection.execute(f"SELECT no FROM rig WHERE {where}", values).fetchone()
    if row is None:
        marks = ", ".join("?" * len(values))
        row = connection.execute(
            f"INSERT INTO rig ({', '.join(_RIG)}) VALUES ({marks}) RETURNING no", values
        ).fetchone()
    return int(row[0])


def rigs(connection: sqlite3.Connection) -> dict[int, Rig]:
    """Every rig by its number."""
    return {row[0]: Rig(*row[1:]) for row in connection.execute(f"SELECT no, {', '.join(_RIG)} FROM rig")}


_MOMENT_IN = f"INSERT OR REPLACE INTO moment VALUES ({', '.join('?' * (len(BOAT) + 3))})"
_SAMPLE_IN = f"INSERT OR REPLACE INTO sample VALUES ({', '.join('?' * (len(ROD) + 3))})"


def keep_samples(connection: sqlite3.Connection, trip_no: int, samples: Iterable[Sample]) -> None:
    """Write samples in the open transaction. A sample of the same moment is replaced."""
    numbers: dict[Rig, int] = {}
    for sample in samples:
        boat, at_ms = sample.boat, round(sample.boat.at_s * 1000)
        packed = [to_stored(name, getattr(boat, name)) for name in BOAT]
        connection.execute(_MOMENT_IN, (trip_no, at_ms, boat.time_ms, *packed))
        for row in sample.rods:
            number = numbers.get(row.rig)
            if number is None:
                number = numbers[row.rig] = rig_no(connection, row.rig)
            packed = [to_stored(name, getattr(row, name)) for name in ROD]
            connection.execute(_SAMPLE_IN, (trip_no, at_ms, number, *packed))


def samples_of(connection: sqlite3.Connection, trip_no: int) -> list[Sample]:
    """A trip's samples in order of time."""
    known = rigs(connection)
    rods: dict[int, list[RodRow]] = {}
    for at_ms, number, *values in connection.execute(
        f"SELECT at_ms, rig_no, {', '.join(ROD)} FROM sample WHERE trip_no = ? ORDER BY at_ms, rig_no", (trip_no,)
    ):
        unpacked = [from_stored(name, value) for name, value in zip(ROD, values, strict=True)]
        rods.setdefault(at_ms, []).append(RodRow(known[number], *unpacked))
    found = []
    for at_ms, time_ms, *values in connection.execute(
        f"SELECT at_ms, time_ms, {', '.join(BOAT)} FROM moment WHERE trip_no = ? ORDER BY at_ms", (trip_no,)
    ):
        unpacked = [from_stored(name, value) for name, value in zip(BOAT, values, strict=True)]
        mine = sorted(rods.get(at_ms, ()), key=lambda row: (row.rig.rod, row.rig.words, row.rig.setting))
        found.append(Sample(BoatRow(at_ms / 1000, time_ms, *unpacked), tuple(mine)))
    return found


def _as_json(value: Any) -> Any:
    if isinstance(value, BoatRow | RodRow | Rig):
        pairs = ((f.name, getattr(value, f.name)) for f in fields(value))
        return {name: _as_json(part) for name, part in pairs if part is not None and part != ""}
    return value


def hit_body(hit: HitRow) -> str:
    """A hit as one JSON object."""
    pairs = ((f.name, _as_json(getattr(hit, f.name))) for f in fields(hit))
    kept = {name: part for name, part in pairs if part is not None and part not in ("", (), {})}
    return json.dumps(kept, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def hit_from(body: str) -> HitRow:
    """The hit that ``hit_body`` wrote."""
    given: dict[str, Any] = {"at_s": None, **json.loads(body)}
    if "boat" in given:
        given["boat"] = BoatRow(**given["boat"])
    if "rod_row" in given:
        row = given["rod_row"]
        given["rod_row"] = RodRow(**{**row, "rig": Rig(**row["rig"])})
    if "lure_deg" in given:
        given["lure_deg"] = tuple(given["lure_deg"])
    for name in ("chain", "readings"):
        if name in given:
            given[name] = tuple(given[name])
    return HitRow(**given)


def keep_hit(connection: sqlite3.Connection, trip_no: int, hit: HitRow, factors: Mapping[int, int]) -> None:
    """Write a hit in the open transaction. It replaces the hit's earlier row."""
    boat = hit.boat
    cell = cell_of(boat.latitude_deg, boat.longitude_deg) if boat is not None else 0
    number = rig_no(connection, hit.rod_row.rig) if hit.rod_row is not None else None
    connection.execute(
        "INSERT OR REPLACE INTO hit VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            trip_no, hit.id, hit.time_ms, number, cell, int(hit.counts), int(hit.in_hours), hit.species, hit.outcome,
            json.dumps({str(k): v for k, v in sorted(factors.items())}), hit_body(hit),
        ),
    )  # fmt: skip


def hits_of(connection: sqlite3.Connection, trip_no: int) -> list[HitRow]:
    """A trip's hits in order of time."""
    rows = connection.execute("SELECT body FROM hit WHERE trip_no = ? ORDER BY time_ms, id", (trip_no,))
    return [hit_from(body) for (body,) in rows]


Exposure = Sequence[tuple[int, int, Rig, int, int]]
"""(factor, value, rig, cell, seconds)"""


def keep_exposure(connection: sqlite3.Connection, trip_no: int, exposure: Exposure) -> None:
    """Write a trip's seconds by factor in the open transaction."""
    numbers = {rig: rig_no(connection, rig) for rig in {row[2] for row in exposure}}
    total: dict[tuple[int, int, int], int] = {}
    for factor, value, rig, _, seconds in exposure:
        key = (factor, value, numbers[rig])
        total[key] = total.get(key, 0) + seconds
    connection.executemany(
        "INSERT INTO exposure VALUES (?, ?, ?, ?, ?)", [(*key, trip_no, seconds) for key, seconds in total.items()]
    )
    places: dict[tuple[int, int, int, int], int] = {}
    for factor, value, rig, cell, seconds in exposure:
        for at in (cell, block_of(cell)) if cell else ():
            place = (at, factor, value, numbers[rig])
            places[place] = places.get(place, 0) + seconds
    connection.executemany(
        "INSERT INTO exposure_at VALUES (?, ?, ?, ?, ?, ?)",
        [(*place, trip_no, seconds) for place, seconds in places.items()],
    )


def forget(connection: sqlite3.Connection, trip_no: int) -> None:
    """Delete all derived rows of a trip."""
    for table in ("moment", "sample", "hit", "digest", "exposure", "exposure_at"):
        connection.execute(f"DELETE FROM {table} WHERE trip_no = ?", (trip_no,))
