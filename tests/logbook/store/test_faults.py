"""The logbook in trouble: a clear sentence, nothing lost, nothing doubled, and the order kept."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.store import logbook as store
from sternwatch.logbook.store import schema
from sternwatch.logbook.store.logbook import Logbook, LogbookError, Stored
from sternwatch.logbook.store.trips import Trip, new_trip

Act = Callable[..., Action]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "logbook.sqlite"


@pytest.fixture
def trip(begin: datetime) -> Trip:
    return new_trip(begin, spread_text="spread")


def aside(path: Path) -> Path:
    return path.with_name(path.name + ".aside.jsonl")


def ids(book: Logbook, trip: Trip) -> list[str]:
    return [action.id for action in book.actions(trip.id)]


def until(condition: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 10
    while not condition():
        assert time.monotonic() < deadline, "it did not come"
        time.sleep(0.01)


class Told:
    """A listener that remembers."""

    def __init__(self) -> None:
        self.all: list[Stored] = []

    def __call__(self, stored: Stored) -> None:
        self.all.append(stored)

    def kept(self) -> list[str]:
        return [stored.kept for stored in self.all]


def test_where_nothing_is_kept_aside_nothing_is_cleared_there(
    path: Path, trip: Trip, act: Act, monkeypatch: pytest.MonkeyPatch
) -> None:
    cleared: list[list[bytes]] = []
    monkeypatch.setattr(store.Aside, "clear", lambda _, bad: cleared.append(bad))
    with contextlib.closing(Logbook(path)) as book:
        book.begin_trip(trip)
        assert book.submit(trip.id, act("a", 1, "hit", "3")).result().kept == "logbook"
    assert cleared == []


def test_while_another_program_locks_the_file_entries_are_kept_aside(path: Path, trip: Trip, act: Act) -> None:
    troubles: list[str] = []
    told = Told()
    with Logbook(path, troubles.append, busy_s=0.05, retry_s=0.1) as book:
        book.begin_trip(trip)
        book.submit(trip.id, act("a", 1, "hit", "3")).result()
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        stored = book.submit(trip.id, act("b", 2, "hit", "3"), told).result()
        assert stored.kept == "aside"
        assert stored.error == f"{path} is locked by another program; the entry is kept aside until it can be written"
        assert book.submit(trip.id, act("c", 3, "hit", "3"), told).result().kept == "aside"
        assert len(aside(path).read_text().splitlines()) == 2
        assert (book.waiting, book.trouble) == (2, f"{path} is locked by another program")
        other.execute("ROLLBACK")
        other.close()
        until(lambda: book.waiting == 0 and not book.trouble)
        assert ids(book, trip) == ["a", "b", "c"]
        assert book.submit(trip.id, act("d", 4, "hit", "3")).result().kept == "logbook"
        assert ids(book, trip) == ["a", "b", "c", "d"]
        assert book.verify() == []
    assert told.kept() == ["aside", "aside", "logbook", "logbook"]
    assert troubles == [f"{path} is locked by another program", ""]
    assert not aside(path).exists()


def test_while_one_fails_the_next_does_not_wait_for_the_lock(path: Path, trip: Trip, act: Act) -> None:
    with Logbook(path, busy_s=0.3, retry_s=60) as book:
        book.begin_trip(trip)
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        book.submit(trip.id, act("a", 1, "hit", "3")).result()
        before = time.monotonic()
        for number in range(5):
            assert book.submit(trip.id, act(f"b{number}", 2, "hit", "3")).result().kept == "aside"
        assert time.monotonic() - before < 1.5, "five waits for the lock would take as long"
        other.close()


def test_a_full_disk(path: Path, trip: Trip, act: Act) -> None:
    with Logbook(path, retry_s=0.05) as book:
        book.begin_trip(trip)
        pages = book._call(lambda c: c.execute("PRAGMA page_count").fetchone()[0])
        book._call(lambda c: c.execute(f"PRAGMA max_page_count = {pages}").fetchone())
        acts = [act(f"h{number}", number, "hit", "3", why="x" * 200) for number in range(60)]
        stored = [book.submit(trip.id, action).result() for action in acts]
        assert {one.kept for one in stored} == {"logbook", "aside"}
        assert "the disk is full" in next(one.error for one in stored if one.kept == "aside")
        book._call(lambda c: c.execute("PRAGMA max_page_count = 1000000").fetchone())
        until(lambda: book.waiting == 0)
        assert book.actions(trip.id) == acts


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="a small file system is mounted in memory")
def test_a_small_disk_that_fills_up_and_is_cleared(tmp_path: Path, trip: Trip, act: Act) -> None:
    """On a real file system of 512 KiB, where the journal has no room either."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("mounting a small file system is not allowed here")
    try:
        with Logbook(disk / "logbook.sqlite", retry_s=0.05) as book:
            book.begin_trip(trip)
            ballast = disk / "ballast"
            with contextlib.suppress(OSError), ballast.open("wb", buffering=0) as file:
                while True:
                    file.write(b"x" * 4096)
            assert shutil.disk_usage(disk).free == 0
            acts = [act(f"h{number}", number, "hit", "3", why="x" * 400) for number in range(100)]
            stored = [book.submit(trip.id, action).result() for action in acts]
            assert stored[-1].kept == "memory"
            assert "entries cannot be kept aside either (the disk is full)" in stored[-1].error
            assert book.trouble
            ballast.unlink()
            until(lambda: book.waiting == 0 and not book.trouble)
            assert book.actions(trip.id) == acts
            assert book.verify() == []
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_file_that_turns_read_only(path: Path, trip: Trip, act: Act) -> None:
    with Logbook(path, retry_s=60) as book:
        book.begin_trip(trip)
        book._call(lambda c: c.execute("PRAGMA query_only = ON"))
        stored = book.submit(trip.id, act("a", 1, "hit", "3")).result()
        assert (stored.kept, "read-only" in stored.error) == ("aside", True)
    with Logbook(path) as book:
        assert ids(book, trip) == ["a"]


def test_a_folder_that_cannot_be_made(tmp_path: Path, trip: Trip, act: Act) -> None:
    (tmp_path / "data").write_text("a file where a folder should be")
    with Logbook(tmp_path / "data" / "logbook.sqlite", retry_s=0.05) as book:
        assert "cannot be written" in book.trouble
        with pytest.raises(LogbookError, match="cannot be written"):
            book.open_trip()
        assert book.begin_trip(trip).kept == "memory"
        assert book.submit(trip.id, act("a", 1, "hit", "3")).result().kept == "memory"
        (tmp_path / "data").unlink()
        until(lambda: book.waiting == 0 and not book.trouble)
        assert ids(book, trip) == ["a"]
        assert book.open_trip() == trip


def test_a_file_that_is_damaged_at_the_start_is_left_alone(path: Path, trip: Trip, act: Act) -> None:
    path.write_bytes(b"not a database at all " * 400)
    with Logbook(path, retry_s=0.05) as book:
        assert book.trouble.startswith(f"{path} is damaged or not a logbook: move it away")
        assert book.begin_trip(trip).kept == "aside"
        assert book.submit(trip.id, act("a", 1, "hit", "3")).result().kept == "aside"
        assert path.read_bytes().startswith(b"not a database at all")
        path.rename(path.with_name("old"))
        until(lambda: not book.trouble)
        assert ids(book, trip) == ["a"]
        assert book.open_trip() == trip


def test_a_file_damaged_while_running(path: Path, trip: Trip, act: Act) -> None:
    with Logbook(path, retry_s=0.05) as book:
        book.begin_trip(trip)
        acts = [act(f"h{number}", number, "hit", "3") for number in range(200)]
        for action in acts[:100]:
            book.submit(trip.id, action).result()
        book._call(lambda c: c.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone())
        with path.open("r+b") as file:
            file.write(os.urandom(path.stat().st_size))
        book._call(lambda c: c.execute("PRAGMA shrink_memory"))  # forget the pages it still remembers
        stored = [book.submit(trip.id, action).result() for action in acts[100:]]
        assert stored[-1].kept == "aside"
        assert "is damaged" in stored[-1].error
        path.rename(path.with_name("old"))
        until(lambda: not book.trouble)
        assert book.actions(trip.id) == acts, "the session is put into the new file as a whole"
        assert book.verify() == []


@pytest.mark.skipif(sys.platform == "win32", reason="Windows does not let go of a file in use")
def test_a_file_removed_while_running_is_made_again(path: Path, trip: Trip, act: Act) -> None:
    with Logbook(path) as book:
        book.begin_trip(trip)
        book.submit(trip.id, act("a", 1, "hit", "3")).result()
        path.unlink()
        assert book.submit(trip.id, act("b", 2, "hit", "3")).result().kept == "logbook"
        assert ids(book, trip) == ["a", "b"]
    with Logbook(path) as book:
        assert ids(book, trip) == ["a", "b"]
        assert book.open_trip() == trip
        assert book.verify() == []


def test_when_nothing_can_be_written_entries_wait_in_memory(path: Path, trip: Trip, act: Act) -> None:
    told = Told()
    with Logbook(path, busy_s=0.05, retry_s=0.1) as book:
        book.begin_trip(trip)
        aside(path).mkdir()
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        stored = book.submit(trip.id, act("a", 1, "hit", "3"), told).result()
        assert stored.kept == "memory"
        shut = "permission denied, or another program has it open"
        refused = shut if os.name == "nt" else "it is a folder"
        assert f"entries cannot be kept aside either ({refused})" in stored.error
        aside(path).rmdir()
        book.submit(trip.id, act("b", 2, "hit", "3"), told).result()
        until(lambda: len(aside(path).read_text().splitlines()) == 2)
        other.close()
        until(lambda: book.waiting == 0)
        assert ids(book, trip) == ["a", "b"]
    assert told.kept() == ["memory", "aside", "logbook", "logbook"]


def test_a_failing_disk_call_is_not_taken_for_kept(
    path: Path, trip: Trip, act: Act, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(_: int) -> None:
        raise OSError(5, "Input/output error")

    with Logbook(path, retry_s=60) as book:
        book.begin_trip(trip)
        book._call(lambda c: c.execute("PRAGMA query_only = ON"))
        with monkeypatch.context() as patched:
            patched.setattr(os, "fsync", fails)
            stored = book.submit(trip.id, act("a", 1, "hit", "3")).result()
        assert (stored.kept, "reports an error" in stored.error) == ("memory", True)
    with Logbook(path) as book:
        assert ids(book, trip) == ["a"], "stored at closing"


def test_entries_aside_are_taken_in_at_the_next_start_after_a_crash(path: Path, trip: Trip, act: Act) -> None:
    with Logbook(path) as book:
        book.begin_trip(trip)
        book.submit(trip.id, act("a", 1, "hit", "3")).result()
    entries = [
        {"op": "action", "trip": trip.id, "action": {"id": "a", "time": "2026-07-18T23:00:01Z", "elapsed_s": 1.0,
         "kind": "hit", "rod": "3"}},
        {"op": "action", "trip": trip.id, "action": {"id": "b", "time": "2026-07-18T23:00:02Z", "kind": "bite"}},
    ]  # fmt: skip
    torn = '{"op": "action", "trip": "x", "act'
    strange = '{"op": "begin", "trip": [1]}'
    aside(path).write_text("\n".join([*map(json.dumps, entries), strange, torn]))
    with Logbook(path) as book:
        assert ids(book, trip) == ["a", "b"], "one was committed before the crash, and is not doubled"
        assert book.trouble == ""
    assert not aside(path).exists()
    kept = aside(path).with_name(aside(path).name + ".unread").read_text().splitlines()
    assert kept == [torn, json.dumps(json.loads(strange), sort_keys=True)], "what cannot be read is kept"


def test_a_line_torn_by_a_crash_does_not_swallow_the_next(path: Path) -> None:
    journal = store.Aside(aside(path))
    aside(path).write_text('{"op": "action", "tr')
    journal.append([{"op": "a"}])
    journal.append([{"op": "b"}, {"op": "c"}])
    assert journal.read() == ([{"op": "a"}, {"op": "b"}, {"op": "c"}], [b'{"op": "action", "tr'])


def test_entries_of_a_trip_whose_beginning_is_gone_are_kept(path: Path, act: Act) -> None:
    with Logbook(path) as book:
        assert book.submit("20260718T230000Z-lost", act("a", 1, "hit", "3")).result().kept == "logbook"
        assert [trip.id for trip in book.trips()] == ["20260718T230000Z-lost"]
        assert len(book.actions("20260718T230000Z-lost")) == 1


# --- versions ----------------------------------------------------------------------------------------------------


def test_a_logbook_of_a_newer_version_is_not_touched(path: Path, trip: Trip, act: Act) -> None:
    Logbook(path).close()
    with sqlite3.connect(path) as other:
        other.execute(f"PRAGMA user_version = {len(schema.MIGRATIONS) + 1}")
    other.close()
    before = path.read_bytes()
    with Logbook(path) as book:
        assert "was written by a newer sternwatch" in book.trouble
        assert book.trouble.endswith(f"this one knows versions up to {len(schema.MIGRATIONS)}")
        assert book.submit(trip.id, act("a", 1, "hit", "3")).result().kept == "aside"
    assert path.read_bytes() == before


def test_a_database_of_another_program_is_not_touched(path: Path) -> None:
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE theirs (x)")
    other.close()
    before = path.read_bytes()
    with Logbook(path) as book:
        assert book.trouble == f"{path}: is a database, but not a logbook; it was left as it is"
    assert path.read_bytes() == before


def test_an_older_logbook_is_copied_and_brought_up(
    path: Path, trip: Trip, act: Act, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Logbook(path) as book:
        book.begin_trip(trip)
        book.submit(trip.id, act("a", 1, "hit", "3"))
    before = len(schema.MIGRATIONS)
    step = ("ALTER TABLE trip ADD COLUMN harbour TEXT NOT NULL DEFAULT ''", "CREATE INDEX hits ON action (kind, rod)")
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, step))
    with Logbook(path) as book:
        assert book.trouble == ""
        assert book.open_trip() == trip
        assert ids(book, trip) == ["a"]
        assert book._call(lambda c: c.execute("PRAGMA user_version").fetchone()[0]) == before + 1
        assert book._call(lambda c: c.execute("SELECT harbour FROM trip").fetchall()) == [("",)]
    with sqlite3.connect(path.with_name(f"{path.name}.v{before}")) as copy:
        assert copy.execute("SELECT count(*) FROM action").fetchone()[0] == 1
        assert copy.execute("PRAGMA user_version").fetchone()[0] == before
    copy.close()


def test_a_migration_that_fails_half_way_changes_nothing(
    path: Path, trip: Trip, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Logbook(path) as book:
        book.begin_trip(trip)
    step = ("ALTER TABLE trip ADD COLUMN harbour TEXT", "CREATE TABLE trip (x)")
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, step))
    with Logbook(path) as book:
        assert "table trip already exists" in book.trouble
    monkeypatch.undo()
    with Logbook(path) as book:
        assert book.trouble == ""
        assert book.open_trip() == trip


def test_an_entry_that_a_logbook_in_memory_cannot_store_is_kept_and_said(
    trip: Trip, act: Act, monkeypatch: pytest.MonkeyPatch
) -> None:
    def failing(*_: object) -> bool:
        raise sqlite3.OperationalError("database or disk is full")

    with Logbook(None, retry_s=0.05) as book:
        book.begin_trip(trip)
        with monkeypatch.context() as broken:
            broken.setattr(store.writing, "at_once", failing)
            broken.setattr(store.writing, "passing", lambda _: True)
            stored = book.submit(trip.id, act("a", 1, "hit", "3")).result(timeout=10)
            assert stored.kept == "memory"
            assert stored.error.endswith("; the entry is only in memory, and saving is tried again")
        until(lambda: ids(book, trip) == ["a"])
