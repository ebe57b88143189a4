"""The sounder's depths by place: written while a trip runs, read by later trips.

Each trip keeps one sounding, the newest, for each place about ten metres wide. A sounding is a derived row and is
replaced.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass

# Cells of a ten-thousandth of a degree: 11 m from north to south, 8 m from east to west at 45 deg of latitude.
_CELLS_PER_DEG = 10_000
MOST = 200_000
"""No more soundings than this are read: the newest ones, about three hundred trips of four hours over fresh water."""

TABLES: tuple[str, ...] = (
    """
    CREATE TABLE sounding (
        north         INTEGER NOT NULL,  -- the cell: ten-thousandths of a degree of latitude
        east          INTEGER NOT NULL,  -- and of longitude
        trip_no       INTEGER NOT NULL REFERENCES trip (no),
        time_ms       INTEGER NOT NULL,
        latitude_e7   INTEGER NOT NULL,
        longitude_e7  INTEGER NOT NULL,
        depth_mm      INTEGER NOT NULL,  -- of the bottom, below the surface
        PRIMARY KEY (north, east, trip_no)
    ) STRICT, WITHOUT ROWID
    """,
)


@dataclass(frozen=True, slots=True)
class Charted:
    """The bottom sounded at a place: its depth below the surface and its moment in Unix time."""

    latitude_deg: float
    longitude_deg: float
    depth_m: float
    time_s: float


def keep_soundings(connection: sqlite3.Connection, trip_no: int, soundings: Iterable[Charted]) -> None:
    """Write soundings in the open transaction. They replace older ones of the same trip and place."""
    connection.executemany(
        "INSERT OR REPLACE INTO sounding VALUES (?, ?, ?, ?, ?, ?, ?)",
        (
            (
                round(s.latitude_deg * _CELLS_PER_DEG), round(s.longitude_deg * _CELLS_PER_DEG), trip_no,
                round(s.time_s * 1000), round(s.latitude_deg * 1e7), round(s.longitude_deg * 1e7),
                round(s.depth_m * 1000),
            )
            for s in soundings
        ),
    )  # fmt: skip


def charted(connection: sqlite3.Connection, before_s: float | None = None) -> tuple[Charted, ...]:
    """The newest sounding of each place from trips on the water, oldest first.

    ``before_s``: leave out soundings from this Unix time on, so that replaying a trip uses only what was known then.
    """
    rows = connection.execute(
        # With max() the other columns come from the row of the maximum.
        "SELECT latitude_e7, longitude_e7, depth_mm, max(time_ms) AS newest FROM sounding "
        "JOIN trip ON trip_no = no WHERE session = 'live' AND time_ms < ? "
        "GROUP BY north, east ORDER BY newest DESC LIMIT ?",
        (2**62 if before_s is None else round(before_s * 1000), MOST),
    ).fetchall()
    return tuple(Charted(lat / 1e7, lon / 1e7, mm / 1e3, ms / 1e3) for lat, lon, mm, ms in reversed(rows))
