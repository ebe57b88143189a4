"""Writes entries into the tables. An entry written twice is stored once."""

from __future__ import annotations

import json
import sqlite3
import time
import zlib
from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from sternwatch.logbook.actions.kinds import Action, ActionError, dump, iso, parse
from sternwatch.logbook.store import results
from sternwatch.logbook.store.schema import SchemaError
from sternwatch.logbook.store.trips import Event, Trip, to_ms
from sternwatch.system_words import reason


def begin(trip: Trip) -> dict[str, Any]:
    """The entry for the beginning of a trip."""
    return {
        "op": "begin",
        "trip": trip.id,
        "time": iso(trip.begun),
        "session": trip.session,
        "start": trip.start,
        "spread_name": trip.spread_name,
        "spread_text": trip.spread_text,
        "calibration": trip.calibration,
        "feed": trip.feed,
        "about": dict(trip.about),
    }


def event(trip_id: str, said: Event) -> dict[str, Any]:
    """The entry for an alert event."""
    return {
        "op": "event",
        "trip": trip_id,
        "id": said.id,
        "elapsed_s": said.elapsed_s,
        "time": iso(said.time) if said.time else None,
        "kind": said.kind,
        "priority": said.priority,
        "state": said.state,
        "keys": list(said.keys),
        "text": said.text,
        "advice": said.advice,
    }


class RefusedError(RuntimeError):
    """One of several entries that belong together was refused. The text says which and why."""


def whole(
    trip: Trip, actions: Iterable[Action], events: Iterable[Event], result: Mapping[str, Any] | None
) -> list[dict[str, Any]]:
    """All entries of a trip that is over, or that comes from another machine."""
    entries = [begin(trip)]
    entries += ({"op": "action", "trip": trip.id, "action": dump(action)} for action in actions)
    entries += (event(trip.id, said) for said in events)
    if result is not None:
        entries.append(results.entry(trip.id, result))
    if trip.ended is not None:
        entries.append({"op": "end", "trip": trip.id, "time": iso(trip.ended)})
    return entries


def write_all(connection: sqlite3.Connection, entries: Iterable[dict[str, Any]]) -> None:
    """Write entries in the open transaction. The caller rolls it back where one is refused.

    Raises RefusedError, sqlite3.Error.
    """
    for entry in entries:
        if why := write(connection, entry):
            raise RefusedError(f"entry {name(entry)}: {why}")


def name(entry: dict[str, Any]) -> str:
    """The id by which callers know the entry."""
    return str(entry["action"]["id"] if entry["op"] == "action" else entry.get("id", entry["trip"]))


def write(connection: sqlite3.Connection, entry: dict[str, Any]) -> str:
    """Write one entry in the open transaction. Returns why it was refused, or "".

    An entry that is there already is skipped. Raises sqlite3.Error for faults of the file. A faulty entry (it may
    come from a journal that somebody edited) is refused.
    """
    try:
        return _write(connection, entry)
    except (KeyError, TypeError, ValueError, OverflowError) as exc:
        return f"{_beginning(entry)}: not an entry of a logbook: {exc!r}"
    except (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError) as exc:
        return f"{_beginning(entry)}: {exc}"


def _beginning(entry: dict[str, Any]) -> str:
    return str(entry)[:60]


def at_once(connection: sqlite3.Connection, entry: dict[str, Any]) -> bool:
    """Store a new action by a single statement. False: it was not stored, and must go the ordinary way.

    A key press waits for this. Every call into SQLite releases the interpreter and must get it back from threads that
    compute, so one call is many times quicker than five. Raises sqlite3.Error for faults of the file.
    """
    if entry.get("op") != "action":
        return False
    try:
        action = parse(entry["action"])
        body, *values = _columns(action)
        stored = connection.execute(
            f"INSERT INTO action (trip_no, {_COLUMNS}) SELECT no, {', '.join('?' * 8)} FROM trip "
            "WHERE trip.id = ? AND NOT EXISTS (SELECT 1 FROM action a WHERE a.trip_no = trip.no AND a.id = ?)",
            (body, *values, entry["trip"], action.id),
        )
    except (ActionError, KeyError, sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError):
        return False  # the ordinary way reports the fault
    return stored.rowcount == 1


def _write(connection: sqlite3.Connection, entry: dict[str, Any]) -> str:
    match entry:
        case {"op": "begin"}:
            _begin(connection, entry)
            return ""
        case {"op": "end", "trip": str(trip), "time": None}:
            connection.execute("UPDATE trip SET ended_ms = NULL WHERE no = ?", (_trip_no(connection, trip, None),))
            return ""
        case {"op": "end", "trip": str(trip), "time": str(when)}:
            number = _trip_no(connection, trip, _ms(when))
            connection.execute("UPDATE trip SET ended_ms = ? WHERE no = ? AND ended_ms IS NULL", (_ms(when), number))
            return ""
        case {"op": "event"}:
            _event(connection, entry)
            return ""
        case {"op": "result", "trip": str(trip), "result": dict(result)}:
            results.write(connection, _trip_no(connection, trip, None), result)
            return ""
        case {"op": "action", "trip": str(trip), "action": dict(given)}:
            return _action(connection, trip, given)
    return f"an entry of no known kind: {str(entry)[:60]}"


def _begin(connection: sqlite3.Connection, entry: dict[str, Any]) -> None:
    values = [entry[field] for field in ("session", "start", "spread_name", "spread_text", "calibration", "feed")]
    connection.execute(
        "INSERT INTO trip (id, begun_ms, session, start, spread_name, spread_text, calibration, feed, about) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (id) DO NOTHING",
        (entry["trip"], _ms(entry["time"]), *values, json.dumps(entry["about"])),
    )


def _event(connection: sqlite3.Connection, entry: dict[str, Any]) -> None:
    time_ms = _ms(entry["time"]) if entry["time"] else None
    number = _trip_no(connection, entry["trip"], time_ms)
    values = [entry[field] for field in ("kind", "priority", "state", "text", "advice")]
    connection.execute(
        "INSERT INTO event (trip_no, id, elapsed_s, time_ms, keys, kind, priority, state, text, advice) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
        (number, entry["id"], entry["elapsed_s"], time_ms, json.dumps(entry["keys"]), *values),
    )


def _action(connection: sqlite3.Connection, trip: str, given: dict[str, Any]) -> str:
    try:
        action = parse(given)
    except ActionError as exc:
        return str(exc)
    number = _trip_no(connection, trip, to_ms(action.time))
    columns = _columns(action)
    known = connection.execute("SELECT body FROM action WHERE trip_no = ? AND id = ?", (number, action.id)).fetchone()
    if known is not None:
        same = known[0] == columns[0]
        return "" if same else f"the trip already has another entry with the id {action.id!r}"
    connection.execute(
        f"INSERT INTO action (trip_no, {_COLUMNS}) VALUES (?, {', '.join('?' * 8)})", (number, *columns)
    )
    return ""


_COLUMNS = "body, id, kind, rod, time_ms, elapsed_s, crc, stored_ms"


def _columns(action: Action) -> tuple[Any, ...]:
    """An action's row, beginning with its text."""
    body = json.dumps(dump(action), separators=(",", ":"))
    return (
        body, action.id, action.kind, action.rod, to_ms(action.time), action.elapsed_s,
        zlib.crc32(body.encode()), time.time_ns() // 1_000_000,
    )  # fmt: skip


def _trip_no(connection: sqlite3.Connection, trip: str, time_ms: int | None) -> int:
    """The trip's number. A missing trip (its beginning was in a file now gone) is made with its id alone."""
    row = connection.execute("SELECT no FROM trip WHERE id = ?", (trip,)).fetchone()
    if row is None:
        row = connection.execute(
            "INSERT INTO trip (id, begun_ms, session, start, spread_name, spread_text, calibration, feed, about) "
            "VALUES (?, ?, 'live', 'in', '', '', '', '', '{}') RETURNING no",
            (trip, time_ms or 0),
        ).fetchone()
    return int(row[0])


def _ms(written: str) -> int:
    return to_ms(datetime.fromisoformat(written))


_SENTENCES = {
    "SQLITE_BUSY": "is locked by another program",
    "SQLITE_LOCKED": "is locked by another program",
    "SQLITE_FULL": "does not fit on the disk: the disk is full",
    "SQLITE_READONLY": "cannot be written: the file, its folder or the disk is read-only",
    "SQLITE_CANTOPEN": "cannot be opened: look at the folder and its permissions",
    "SQLITE_IOERR": "cannot be written: the disk reports an error",
    "SQLITE_CORRUPT": "is damaged: move it away and put back a copy, or begin a new one",
    "SQLITE_NOTADB": "is damaged or not a logbook: move it away and put back a copy, or begin a new one",
}


UNREADABLE = (ValueError, TypeError, KeyError, IndexError, OverflowError, MemoryError, RecursionError)
"""What reading a damaged file may raise besides what SQLite finds: a text that is none, a moment that is none."""


def passing(exc: Exception) -> bool:
    """Whether the open file is intact and only could not take an entry now: it is locked, or the disk is full."""
    code = getattr(exc, "sqlite_errorname", "") or ""
    return code.startswith(("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_FULL"))


def sentence(exc: Exception, path: Path | None) -> str:
    """The fault of the file in one sentence."""
    where = str(path) if path else "the logbook in memory"
    if isinstance(exc, SchemaError):
        return str(exc)
    if isinstance(exc, sqlite3.Error):
        code = getattr(exc, "sqlite_errorname", "") or ""
        said = next((text for start, text in _SENTENCES.items() if code.startswith(start)), f"failed: {exc}")
        return f"{where} {said}"
    if isinstance(exc, OSError):
        return f"{where} cannot be written: {reason(exc)}"
    if isinstance(exc, UNREADABLE):
        return f"{where} is damaged: what it holds cannot be read ({type(exc).__name__}: {str(exc)[:120]})"
    return str(exc)
