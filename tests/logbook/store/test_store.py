"""The logbook in ordinary running: what is told as stored is there, once, in order, and the trip resumes."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
import zlib
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.store import schema, trips, writing
from sternwatch.logbook.store.lock import LogbookBusyError, WriterLock
from sternwatch.logbook.store.logbook import Logbook, LogbookError, Stored
from sternwatch.logbook.store.trips import Event, Trip, new_trip

Act = Callable[..., Action]


@pytest.fixture(params=["file", "memory"])
def book_path(request: pytest.FixtureRequest, tmp_path: Path) -> Path | None:
    return tmp_path / "logbook.sqlite" if request.param == "file" else None


def test_actions_come_back_equal_and_in_order(book_path: Path | None, begin: datetime, act: Act) -> None:
    # Times run against the order of entry: hits are entered late.
    acts = [act(f"h{number}", 100 - number, "hit", "3", why="ü ✓") for number in range(50)]
    with Logbook(book_path) as book:
        trip = new_trip(
            begin, spread_name="evening.toml", spread_text="[boat]\n", calibration="mine", about={"people": 3}
        )
        assert book.begin_trip(trip).kept == "logbook"
        told = [book.submit(trip.id, action) for action in acts]
        assert [future.result().kept for future in told] == ["logbook"] * 50
        assert book.actions(trip.id) == acts
        assert book.open_trip() == trip
        assert book.verify() == []
        assert (book.trouble, book.waiting) == ("", 0)


def test_an_action_is_told_after_it_can_be_read_by_another(tmp_path: Path, begin: datetime, act: Act) -> None:
    path = tmp_path / "logbook.sqlite"
    seen: list[int] = []
    done = threading.Event()

    def told(_: Stored) -> None:
        other = trips.open_read_only(path)
        seen.append(len(trips.actions(other, trip.id)))
        other.close()
        done.set()

    with Logbook(path) as book:
        trip = new_trip(begin)
        book.begin_trip(trip)
        book.submit(trip.id, act("h", 1, "hit", "3"), told)
        assert done.wait(10)
    assert seen == [1]


def test_commits_wait_for_the_disk(tmp_path: Path) -> None:
    with Logbook(tmp_path / "logbook.sqlite") as book:
        modes = book._call(
            lambda c: [
                c.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous", "foreign_keys")
            ]
        )
    assert modes == ["wal", 2, 1]


@pytest.mark.parametrize(("system", "full"), [("darwin", 1), ("linux", 0)])
def test_on_macos_the_disk_itself_is_waited_for(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, system: str, full: int
) -> None:
    """There a plain sync leaves the drive's own cache unwritten; SQLite has two settings for that."""
    monkeypatch.setattr(schema.sys, "platform", system)
    connection = schema.connect(tmp_path / "logbook.sqlite")
    assert [schema._pragma(connection, name) for name in ("fullfsync", "checkpoint_fullfsync")] == [full] * 2
    connection.close()


def test_the_same_action_twice_is_stored_once(book_path: Path | None, begin: datetime, act: Act) -> None:
    with Logbook(book_path) as book:
        trip, other = new_trip(begin), new_trip(begin + timedelta(hours=1))
        book.begin_trip(trip)
        book.begin_trip(other)
        hit = act("h", 1, "hit", "3")
        assert [book.submit(trip.id, hit).result().kept for _ in range(3)] == ["logbook"] * 3
        assert book.submit(other.id, hit).result().kept == "logbook"
        assert book.actions(trip.id) == [hit] == book.actions(other.id)
        refused = book.submit(trip.id, act("h", 1, "hit", "5")).result()
        assert (refused.kept, refused.error) == ("refused", "the trip already has another entry with the id 'h'")
        assert book.actions(trip.id) == [hit]


def test_a_trip_ends_no_earlier_than_it_began(tmp_path: Path, begin: datetime) -> None:
    """The computer's clock was set back meanwhile; a packed trip with such an end is refused elsewhere."""
    with Logbook(tmp_path / "logbook.sqlite") as book:
        trip = new_trip(begin)
        book.begin_trip(trip)
        book.end_trip(trip.id, begin - timedelta(hours=1))
        (found,) = book.trips()
        assert found.ended == trip.begun
        assert book.open_trip() is None


def test_a_trip_is_resumed_until_it_is_ended(tmp_path: Path, begin: datetime, act: Act) -> None:
    path = tmp_path / "folder" / "logbook.sqlite"
    trip = new_trip(begin, spread_text="x", start="fishing")
    with Logbook(path) as book:
        assert book.open_trip() is None
        book.begin_trip(trip)
        book.submit(trip.id, act("a", 1, "set", "3"))
    with Logbook(path) as book:
        assert book.open_trip() == trip
        assert [action.id for action in book.actions(trip.id)] == ["a"]
        ended = begin + timedelta(hours=2)
        assert book.end_trip(trip.id, ended).error == ""
        assert book.end_trip(trip.id, ended + timedelta(hours=1)).error == ""
        assert book.open_trip() is None
        assert book.trips() == [Trip(trip.id, begin, start="fishing", spread_text="x", ended=ended)]


def test_alerts_are_kept_as_raised(book_path: Path | None, begin: datetime) -> None:
    raised = Event(
        "bottom 3", 12.5, "bottom", "warning", "active", ("3", "4"), "3 P LOW 2 ft over the bottom", "shorten", begin
    )
    seen = Event("bottom 3", 14.0, "bottom", "warning", "acknowledged", ("3", "4"), "3 P LOW 2 ft over the bottom")
    with Logbook(book_path) as book:
        trip = new_trip(begin)
        book.begin_trip(trip)
        for event in (raised, seen, raised):
            assert book.record(trip.id, event).result().error == ""
        assert book.events(trip.id) == [raised, seen]


def test_stored_actions_can_be_neither_changed_nor_deleted(tmp_path: Path, begin: datetime, act: Act) -> None:
    path = tmp_path / "logbook.sqlite"
    with Logbook(path) as book:
        trip = new_trip(begin)
        book.begin_trip(trip)
        book.submit(trip.id, act("h", 1, "hit", "3")).result()
        book.record(trip.id, Event("x", 1.0, "bottom", "caution", "active", (), "text")).result()
    other = sqlite3.connect(path)
    for statement in (
        "DELETE FROM action",
        "UPDATE action SET rod = '5'",
        "DELETE FROM event",
        "UPDATE event SET text = ''",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="are kept as they were stored"):
            other.execute(statement)
    other.close()


def test_verify_finds_a_changed_text_a_missing_entry_and_disagreeing_columns(
    tmp_path: Path, begin: datetime, act: Act
) -> None:
    path = tmp_path / "logbook.sqlite"
    with Logbook(path) as book:
        trip = new_trip(begin)
        book.begin_trip(trip)
        for number in range(4):
            book.submit(trip.id, act(f"h{number}", number, "hit", "3"))
    other = sqlite3.connect(path)
    other.executescript("DROP TRIGGER action_keeps_update; DROP TRIGGER action_keeps_delete")
    other.execute('UPDATE action SET body = replace(body, \'"rod":"3"\', \'"rod":"5"\') WHERE id = \'h0\'')
    other.execute("DELETE FROM action WHERE id = 'h1'")
    other.execute("UPDATE action SET rod = '5' WHERE id = 'h2'")
    nonsense = "[]"
    other.execute("UPDATE action SET body = ?, crc = ? WHERE id = 'h3'", (nonsense, zlib.crc32(nonsense.encode())))
    other.commit()
    other.close()
    with Logbook(path) as book:
        assert book.verify() == [
            "1 of 4 entries are missing",
            "entry 1: its text is not what was stored (checksum)",
            "entry 3: its columns and its text disagree",
            "entry 4: [] is not a JSON object with fields id, time, kind …",
        ]


def test_a_backup_made_while_running_is_whole(tmp_path: Path, begin: datetime, act: Act) -> None:
    with Logbook(tmp_path / "logbook.sqlite") as book:
        trip = new_trip(begin)
        book.begin_trip(trip)
        acts = [act(f"h{number}", number, "hit", "3") for number in range(300)]
        for action in acts:
            book.submit(trip.id, action)
        book.backup(tmp_path / "copy.sqlite")
        with pytest.raises(LogbookError, match=r"cannot be opened"):
            book.backup(tmp_path / "nowhere" / "copy.sqlite")
    with Logbook(tmp_path / "copy.sqlite") as copy:
        assert copy.verify() == []
        assert copy.actions(trip.id) == acts


def test_a_second_writer_in_this_process_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    with (
        Logbook(path),
        pytest.raises(LogbookBusyError, match=r"another console \(process \d+\) is writing this logbook"),
    ):
        Logbook(path)
    Logbook(path).close()


def test_a_second_writer_in_another_process_is_refused_until_the_first_is_gone(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    holder = subprocess.Popen(
        [
            sys.executable, "-c",
            "import sys, time, pathlib; from sternwatch.logbook.store.logbook import Logbook;"
            "Logbook(pathlib.Path(sys.argv[1])); print('held', flush=True); time.sleep(60)",
            str(path),
        ],
        stdout=subprocess.PIPE,
    )  # fmt: skip
    try:
        assert holder.stdout is not None
        assert holder.stdout.readline().strip() == b"held"
        with pytest.raises(LogbookBusyError, match=f"process {holder.pid}"):
            Logbook(path)
    finally:
        holder.kill()
        holder.wait()
    Logbook(path).close()


def test_a_lock_is_not_inherited_by_a_child(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    lock = WriterLock(path)
    child = subprocess.Popen([sys.executable, "-c", "import sys; sys.stdin.read()"], stdin=subprocess.PIPE)
    try:
        lock.release()
        WriterLock(path).release()
    finally:
        child.communicate()


def test_a_listener_that_fails_does_not_stop_the_storing(tmp_path: Path, begin: datetime, act: Act) -> None:
    def fails(_: Stored) -> None:
        raise ValueError("listener")

    with Logbook(tmp_path / "logbook.sqlite") as book:
        trip = new_trip(begin)
        book.begin_trip(trip)
        book.submit(trip.id, act("a", 1, "hit", "3"), fails)
        assert book.submit(trip.id, act("b", 2, "hit", "3")).result().kept == "logbook"
        assert len(book.actions(trip.id)) == 2


def test_nothing_is_taken_after_closing(begin: datetime, act: Act) -> None:
    book = Logbook(None)
    trip = new_trip(begin)
    last = book.submit(trip.id, act("a", 1, "hit", "3"))
    book.close()
    book.close()
    assert last.result().kept == "logbook", "what came before the end is still stored"
    with pytest.raises(LogbookError, match="closed"):
        book.submit(trip.id, act("b", 1, "hit", "3"))
    with pytest.raises(LogbookError, match="closed"):
        book.trips()


def test_a_key_press_is_stored_by_one_statement_and_nothing_else_is(begin: datetime, act: Act) -> None:
    connection = schema.connect(None)
    trip = new_trip(begin)
    beginning, hit = writing.whole(trip, [act("h", 1, "hit", "3")], (), None)
    assert not writing.at_once(connection, beginning)
    assert not writing.at_once(connection, hit), "its trip is not there yet"
    writing.write(connection, beginning)
    assert [writing.at_once(connection, hit) for _ in range(2)] == [True, False]
    assert [one.id for one in trips.actions(connection, trip.id)] == ["h"]
    connection.close()


def test_the_folders_of_a_logbook_are_made(tmp_path: Path) -> None:
    path = tmp_path / "not" / "yet" / "logbook.sqlite"
    with Logbook(path) as book:
        assert not book.trouble
    assert path.exists()
