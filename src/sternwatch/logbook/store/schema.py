"""The logbook's tables, their versions, and how to open an SQLite file so that commits last.

Times are whole milliseconds of Unix time, feed time is seconds. Rows of ``action`` and ``event`` never change and are
never deleted; the file itself refuses it.
"""

from __future__ import annotations

import sqlite3
import sys
from pathlib import Path

from sternwatch.files import move
from sternwatch.logbook.store import results, samples, soundings

APPLICATION_ID = 0x53_54_57_4C  # "STWL"

_V1 = (
    """
    CREATE TABLE trip (
        no          INTEGER PRIMARY KEY,
        id          TEXT NOT NULL UNIQUE,
        begun_ms    INTEGER NOT NULL,
        ended_ms    INTEGER,
        session     TEXT NOT NULL,
        start       TEXT NOT NULL,  -- state of the rods before the first action
        spread_name TEXT NOT NULL,
        spread_text TEXT NOT NULL,
        calibration TEXT NOT NULL,
        feed        TEXT NOT NULL,  -- the recording that belongs to it, if any
        about       TEXT NOT NULL   -- a JSON object: people aboard, target, wind and sea
    ) STRICT
    """,
    """
    CREATE TABLE action (
        seq       INTEGER PRIMARY KEY AUTOINCREMENT,
        trip_no   INTEGER NOT NULL REFERENCES trip (no),
        id        TEXT NOT NULL,
        kind      TEXT NOT NULL,
        rod       TEXT,
        time_ms   INTEGER NOT NULL,
        elapsed_s REAL,
        body      TEXT NOT NULL,  -- the action as one JSON object
        crc       INTEGER NOT NULL,  -- CRC-32 of body: SQLite's own check does not see a changed value
        stored_ms INTEGER NOT NULL,
        UNIQUE (trip_no, id)
    ) STRICT
    """,
    """
    CREATE TABLE event (
        seq       INTEGER PRIMARY KEY AUTOINCREMENT,
        trip_no   INTEGER NOT NULL REFERENCES trip (no),
        id        TEXT NOT NULL,  -- of the alert
        elapsed_s REAL NOT NULL,
        time_ms   INTEGER,
        kind      TEXT NOT NULL,
        priority  TEXT NOT NULL,
        state     TEXT NOT NULL,
        keys      TEXT NOT NULL,  -- rod keys, in a JSON array
        text      TEXT NOT NULL,
        advice    TEXT NOT NULL,
        UNIQUE (trip_no, id, state, elapsed_s)
    ) STRICT
    """,
    """
    CREATE TABLE sample (
        trip_no               INTEGER NOT NULL REFERENCES trip (no),
        elapsed_s             REAL NOT NULL,
        rod                   TEXT NOT NULL,
        time_ms               INTEGER,
        state                 TEXT NOT NULL,
        line_out_m            REAL,
        setting               TEXT,
        lead_m                REAL,
        depth_m               REAL,
        depth_low_m           REAL,
        depth_high_m          REAL,
        lure_speed_m_s        REAL,
        vertical_speed_m_s    REAL,
        temperature_c         REAL,
        clearance_m           REAL,
        sog_m_s               REAL,
        stw_m_s               REAL,
        course_deg            REAL,
        rate_of_turn_deg_s    REAL,
        water_temperature_c   REAL,
        bottom_m              REAL,
        PRIMARY KEY (trip_no, elapsed_s, rod)
    ) STRICT, WITHOUT ROWID
    """,
    *(
        f"CREATE TRIGGER {table}_keeps_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE (ABORT, '{table}s are kept as they were stored'); END"
        for table in ("action", "event")
        for verb in ("UPDATE", "DELETE")
    ),
)

_V2 = (results.TABLE,)

MIGRATIONS: tuple[tuple[str, ...], ...] = (_V1, _V2, samples.TABLES, soundings.TABLES)
"""Statements that lead from each version to the next; the version of a file is how many of them it has had."""


class SchemaError(RuntimeError):
    """The file cannot be used as a logbook. The text is a sentence."""


def connect(path: Path | None, busy_s: float = 1.0) -> sqlite3.Connection:
    """Open (or make) a logbook and bring it to the newest version. ``None`` gives one in memory.

    Raises SchemaError for a file of another kind, for a newer version, and on a file system that cannot keep it
    durably; sqlite3.Error for faults that SQLite finds. The connection is in autocommit mode, with explicit
    transactions.
    """
    if path is not None and path.exists() and not path.is_file():
        raise SchemaError(f"{path}: is not a file, so it cannot be a logbook; nothing was changed")
    if path is not None and path.is_file() and path.stat().st_size == 0:
        raise SchemaError(
            f"{path}: is empty, though a logbook never is: it was lost; put a copy in its place, or move it away "
            "and a new one is made"
        )
    connection = sqlite3.connect(path or ":memory:", timeout=busy_s, isolation_level=None)
    try:
        check_kind(connection, path)
        _durable(connection, path)
        migrate(connection, path)
    except BaseException:
        connection.close()
        raise
    return connection


def check_kind(connection: sqlite3.Connection, path: Path | None) -> None:
    """Refuse another program's database before anything is written to it."""
    application = _pragma(connection, "application_id")
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if application != APPLICATION_ID and (application or tables):
        raise SchemaError(f"{path}: is a database, but not a logbook; it was left as it is")
    version = _pragma(connection, "user_version")
    if version > len(MIGRATIONS):
        raise SchemaError(
            f"{path}: logbook version {version} was written by a newer sternwatch; "
            f"this one knows versions up to {len(MIGRATIONS)}"
        )


def _durable(connection: sqlite3.Connection, path: Path | None) -> None:
    """Make every commit wait for the disk. Every setting is read back: SQLite ignores those that it cannot apply."""
    wanted = {"synchronous": 2, "foreign_keys": 1}
    if path is not None:
        mode = connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
        if mode != "wal":
            raise SchemaError(f"{path}: this file system does not allow a write-ahead log (journal mode {mode!r})")
        if sys.platform == "darwin":
            wanted |= {"fullfsync": 1, "checkpoint_fullfsync": 1}
    for name, value in wanted.items():
        connection.execute(f"PRAGMA {name} = {value}")
        if (got := _pragma(connection, name)) != value:
            raise SchemaError(f"{path}: SQLite refused the setting {name} = {value} (it is {got})")


def version(connection: sqlite3.Connection) -> int:
    """The version of an open file."""
    return _pragma(connection, "user_version")


def migrate(connection: sqlite3.Connection, path: Path | None) -> None:
    """Bring the tables to the newest version, one transaction per version, so that a stop on the way loses nothing.

    Before it changes an older file it puts a copy beside it as ``<name>.v<version>``.
    """
    version = _pragma(connection, "user_version")
    if path is not None and 0 < version < len(MIGRATIONS):
        _copy(connection, path.with_name(f"{path.name}.v{version}"))
    for number, statements in enumerate(MIGRATIONS[version:], start=version + 1):
        connection.execute("BEGIN IMMEDIATE")
        try:
            for statement in statements:
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {number}")
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise


def _copy(connection: sqlite3.Connection, target: Path) -> None:
    if not target.exists():
        backup(connection, target)


def backup(connection: sqlite3.Connection, target: Path) -> None:
    """Make a whole and consistent copy by SQLite's backup call. Others may write the logbook meanwhile."""
    unfinished = target.with_name(target.name + ".part")
    unfinished.unlink(missing_ok=True)
    copy = sqlite3.connect(unfinished)
    try:
        connection.backup(copy)
    finally:
        copy.close()
    move(unfinished, target)


def _pragma(connection: sqlite3.Connection, name: str) -> int:
    return int(connection.execute(f"PRAGMA {name}").fetchone()[0])
