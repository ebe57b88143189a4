"""The logbook's contents as values, and functions that read them. Each takes an open connection."""

from __future__ import annotations

import json
import sqlite3
import uuid
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sternwatch.logbook.actions.kinds import Action, ActionError, parse
from sternwatch.logbook.crew.state import RodWord


@dataclass(frozen=True, slots=True)
class Trip:
    """One trip. ``ended`` None: it is open, and the next start resumes it."""

    id: str
    begun: datetime
    session: str = "live"
    start: RodWord = "in"  # state of the rods before the first action
    spread_name: str = ""
    spread_text: str = ""  # the text of the spread file then
    calibration: str = ""
    feed: str = ""  # its recording
    about: Mapping[str, Any] = field(default_factory=dict)  # people aboard, target, wind and sea: JSON values
    ended: datetime | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """The moment when an alert was raised, acknowledged or rectified."""

    id: str  # the alert's
    elapsed_s: float
    kind: str
    priority: str
    state: str
    keys: tuple[str, ...]
    text: str
    advice: str = ""
    time: datetime | None = None


def new_trip(begun: datetime, **fields: Any) -> Trip:
    """A trip with a unique id that shows its date."""
    return Trip(f"{begun.astimezone(UTC):%Y%m%dT%H%M%SZ}-{uuid.uuid4().hex[:8]}", begun, **fields)


def to_ms(moment: datetime) -> int:
    """A moment as whole milliseconds of Unix time."""
    return round(moment.timestamp() * 1000)


def from_ms(value: int | None) -> datetime | None:
    """The moment of a stored time."""
    return None if value is None else datetime.fromtimestamp(value / 1000, UTC)


_TRIP = "id, begun_ms, session, start, spread_name, spread_text, calibration, feed, about, ended_ms"


def _trip(row: tuple[Any, ...]) -> Trip:
    trip_id, begun_ms, session, start, spread_name, spread_text, calibration, feed, about, ended_ms = row
    begun = datetime.fromtimestamp(begun_ms / 1000, UTC)
    if ended_ms is not None and ended_ms < begun_ms:  # the computer's clock was set back meanwhile
        ended_ms = begun_ms
    return Trip(
        trip_id,
        begun,
        session,
        start,
        spread_name,
        spread_text,
        calibration,
        feed,
        json.loads(about),
        from_ms(ended_ms),
    )


def trips(connection: sqlite3.Connection) -> list[Trip]:
    """Every trip, oldest first."""
    return [_trip(row) for row in connection.execute(f"SELECT {_TRIP} FROM trip ORDER BY begun_ms, no")]


def trip_no(connection: sqlite3.Connection, trip_id: str) -> int | None:
    """The number of a trip in its rows; None for an unknown trip."""
    row = connection.execute("SELECT no FROM trip WHERE id = ?", (trip_id,)).fetchone()
    return int(row[0]) if row else None


def open_trip(connection: sqlite3.Connection) -> Trip | None:
    """The newest trip on the water that has not ended."""
    row = connection.execute(
        f"SELECT {_TRIP} FROM trip WHERE ended_ms IS NULL AND session = 'live' "
        "ORDER BY begun_ms DESC, no DESC LIMIT 1"
    ).fetchone()
    return _trip(row) if row else None


def actions(connection: sqlite3.Connection, trip_id: str) -> list[Action]:
    """A trip's actions in the order in which they were stored.

    Raises ActionError for one that cannot be read.
    """
    rows = connection.execute(
        "SELECT seq, body FROM action JOIN trip ON trip_no = no WHERE trip.id = ? ORDER BY seq", (trip_id,)
    )
    return [parse(body, f"logbook, entry {seq}") for seq, body in rows]


def events(connection: sqlite3.Connection, trip_id: str) -> list[Event]:
    """A trip's alert events, in the order in which they were stored."""
    rows = connection.execute(
        "SELECT e.id, elapsed_s, kind, priority, state, keys, text, advice, time_ms "
        "FROM event e JOIN trip t ON e.trip_no = t.no WHERE t.id = ? ORDER BY seq",
        (trip_id,),
    )
    return [
        Event(alert, elapsed_s, kind, priority, state, tuple(json.loads(keys)), text, advice, from_ms(time_ms))
        for alert, elapsed_s, kind, priority, state, keys, text, advice, time_ms in rows
    ]


def verify(connection: sqlite3.Connection) -> list[str]:
    """The faults of the logbook, one sentence each; an empty list where there are none."""
    return list(_faults(connection))


def _faults(connection: sqlite3.Connection) -> Iterator[str]:
    try:
        for (found,) in connection.execute("PRAGMA integrity_check"):
            if found != "ok":
                yield f"SQLite finds: {found}"
        for table, row, parent, _ in connection.execute("PRAGMA foreign_key_check"):
            yield f"{table} {row}: belongs to a {parent} that is not there"
        count, newest = connection.execute("SELECT count(*), coalesce(max(seq), 0) FROM action").fetchone()
        if count != newest:
            yield f"{newest - count} of {newest} entries are missing"
        rows = connection.execute("SELECT seq, id, kind, rod, time_ms, body, crc FROM action ORDER BY seq")
        for seq, action_id, kind, rod, time_ms, body, crc in rows:
            if zlib.crc32(body.encode()) != crc:
                yield f"entry {seq}: its text is not what was stored (checksum)"
                continue
            try:
                action = parse(body, f"entry {seq}")
            except ActionError as exc:
                yield str(exc)
                continue
            if (action.id, action.kind, action.rod, to_ms(action.time)) != (action_id, kind, rod, time_ms):
                yield f"entry {seq}: its columns and its text disagree"
    except sqlite3.DatabaseError as exc:
        yield f"cannot be read further: {exc}"


def open_read_only(path: Path) -> sqlite3.Connection:
    """A connection that cannot write, for use while a console writes. Raises sqlite3.Error."""
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)
