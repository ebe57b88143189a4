"""Guards the days' own tools: pages that were torn are mended from the log, and from nothing else."""

from __future__ import annotations

import gc
import random
import shutil
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import pytest

from simulation import damage
from simulation.clockwork import Clockwork
from simulation.disk import Disk, Sqlite
from sternwatch.logbook.store import schema


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A database as its power went: what was committed lies in the log, and in part in the file."""
    path = tmp_path / "before.sqlite"
    with closing(sqlite3.connect(path, isolation_level=None)) as file:
        file.execute("PRAGMA journal_mode = WAL")
        file.execute("CREATE TABLE t (x TEXT)")
        file.execute("PRAGMA wal_checkpoint(FULL)")
        for k in range(200):
            file.execute("INSERT INTO t VALUES (?)", (f"{k} " + "x" * 200,))
        file.execute("PRAGMA wal_checkpoint(FULL)")
        copy = tmp_path / "after.sqlite"
        for end in ("", "-wal", "-shm"):
            shutil.copy(f"{path}{end}", f"{copy}{end}")
    return copy


def rows(book: Path) -> int:
    with closing(sqlite3.connect(book)) as file:
        assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        return int(file.execute("SELECT count(*) FROM t").fetchone()[0])


def test_torn_pages_are_mended_from_the_log(book: Path) -> None:
    assert damage.tear(book, random.Random(1)) > 5
    assert not Path(f"{book}-shm").exists()
    assert rows(book) == 200


def test_without_the_log_they_are_not(book: Path) -> None:
    damage.tear(book, random.Random(1))
    Path(f"{book}-wal").unlink()
    with pytest.raises((AssertionError, sqlite3.DatabaseError)):
        assert rows(book) == 200


@pytest.mark.skipif(sys.platform == "win32", reason="files are not limited there")
def test_a_file_is_cut_off_at_its_limit(tmp_path: Path) -> None:
    path = tmp_path / "file"
    damage.let_files_grow_to(100)
    try:
        with path.open("wb", buffering=0) as file:
            assert file.write(b"x" * 150) == 100
            with pytest.raises(OSError, match="large"):
                file.write(b"x")
        with damage.from_outside():  # the system's copy of it, say
            assert (tmp_path / "copy").write_bytes(b"x" * 150) == 150
        with (tmp_path / "another").open("wb", buffering=0) as file:
            assert file.write(b"x" * 150) == 100
    finally:
        damage.let_files_grow_to(None)
    path.write_bytes(b"x" * 150)
    assert path.stat().st_size == 150


def test_no_connection_is_left_to_whenever_memory_is_collected(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Day 495: one that could not be opened took the files of a dead process away while they were copied."""
    path = tmp_path / "other.sqlite"
    path.write_bytes(b"no database at all" * 100)
    monkeypatch.setattr(schema, "sqlite3", Sqlite(Disk(Clockwork(0, 0.0))))
    gc.disable()
    try:
        before = _open_connections()
        with pytest.raises(sqlite3.DatabaseError):
            schema.connect(path)
        left = [one for one in _open_connections() if not any(one is other for other in before)]
    finally:
        gc.enable()
    assert left == []


def _open_connections() -> list[sqlite3.Connection]:
    return [one for one in gc.get_objects() if issubclass(type(one), sqlite3.Connection) and _is_open(one)]


def _is_open(connection: sqlite3.Connection) -> bool:
    try:
        return connection.total_changes >= 0
    except sqlite3.ProgrammingError:
        return False
