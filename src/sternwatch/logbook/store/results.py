"""Results of practice sessions: one row per trip, with the whole result."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

TABLE = """
    CREATE TABLE result (
        trip_no INTEGER PRIMARY KEY REFERENCES trip (no),
        drill   TEXT NOT NULL,
        seed    INTEGER NOT NULL,
        score   REAL,     -- NULL: not a drill that is scored
        passed  INTEGER,
        par     REAL,
        body    TEXT NOT NULL  -- the result as one JSON object
    ) STRICT
"""


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt at a drill."""

    trip: str
    begun: datetime
    drill: str
    seed: int
    score: float | None
    passed: bool | None
    par: float | None
    body: Mapping[str, Any]


def entry(trip_id: str, result: Mapping[str, Any]) -> dict[str, Any]:
    """The logbook's entry for a result. It needs the fields drill, seed, score, passed and par."""
    return {"op": "result", "trip": trip_id, "result": dict(result)}


def write(connection: sqlite3.Connection, trip_no: int, result: Mapping[str, Any]) -> None:
    """Store a result. A trip has one; the first stays."""
    passed = result["passed"]
    connection.execute(
        "INSERT INTO result (trip_no, drill, seed, score, passed, par, body) VALUES (?, ?, ?, ?, ?, ?, ?) "
        "ON CONFLICT (trip_no) DO NOTHING",
        (
            trip_no, str(result["drill"]), int(result["seed"]), result["score"],
            None if passed is None else int(passed), result["par"], json.dumps(result, allow_nan=False),
        ),
    )  # fmt: skip


def attempts(connection: sqlite3.Connection, drill: str | None = None) -> list[Attempt]:
    """Attempts at one drill or at all drills, oldest first."""
    rows = connection.execute(
        "SELECT t.id, t.begun_ms, r.drill, r.seed, r.score, r.passed, r.par, r.body FROM result r "
        "JOIN trip t ON r.trip_no = t.no WHERE ? IS NULL OR r.drill = ? ORDER BY t.begun_ms, t.no",
        (drill, drill),
    )
    return [
        Attempt(
            trip, datetime.fromtimestamp(begun_ms / 1000, UTC), name, seed, score,
            None if passed is None else bool(passed), par, json.loads(body),
        )
        for trip, begun_ms, name, seed, score, passed, par, body in rows
    ]  # fmt: skip


def of_trip(connection: sqlite3.Connection, trip_id: str) -> dict[str, Any] | None:
    """The result of one session; None where it has none."""
    row = connection.execute(
        "SELECT r.body FROM result r JOIN trip t ON r.trip_no = t.no WHERE t.id = ?", (trip_id,)
    ).fetchone()
    found: dict[str, Any] | None = json.loads(row[0]) if row is not None else None
    return found
