"""The logbook's files to the letter: their marks, their modes, their limits, and what an odd entry is told."""

from __future__ import annotations

import json
import os
import sqlite3
import stat
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from sternwatch.logbook.actions import kinds
from sternwatch.logbook.actions.kinds import Action, ActionError, load_actions
from sternwatch.logbook.store import aside as aside_module
from sternwatch.logbook.store import logbook as logbook_module
from sternwatch.logbook.store import results, schema, soundings, trips, writing
from sternwatch.logbook.store.aside import Aside
from sternwatch.logbook.store.lock import LogbookBusyError, WriterLock
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.sample_columns import SampleColumns
from sternwatch.logbook.store.samples import BoatRow, HitRow, Rig, RodRow, Sample, from_stored, hit_body, to_stored
from sternwatch.logbook.store.soundings import Charted
from sternwatch.logbook.store.trips import Event, Trip

Act = Callable[..., Action]
BEGUN = datetime(2026, 7, 18, 23, 0, 0, 250_000, tzinfo=UTC)
BEGUN_MS = 1_784_415_600_250


@pytest.fixture
def file() -> Iterator[sqlite3.Connection]:
    """A logbook in memory with one trip."""
    made = schema.connect(None)
    writing.write(made, writing.begin(Trip("t", BEGUN)))
    yield made
    made.close()


def test_a_logbook_is_known_by_its_mark_in_the_files_head(tmp_path: Path) -> None:
    """SQLite keeps an application's number at byte 68: ours reads STWL. Byte 60 is the version."""
    path = tmp_path / "logbook.sqlite"
    schema.connect(path).close()
    head = path.read_bytes()[:100]
    assert head[68:72] == b"STWL"
    assert int.from_bytes(head[60:64], "big") == 4


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")
def test_journal_and_lock_are_written_by_their_owner_alone(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        Aside(tmp_path / "a.jsonl").append([{"op": "x"}])
        WriterLock(tmp_path / "l.sqlite").release()
    finally:
        os.umask(before)
    for name in ("a.jsonl", "l.sqlite.lock"):
        assert stat.S_IMODE((tmp_path / name).stat().st_mode) == 0o644, name


@pytest.mark.skipif(os.name == "nt", reason="Windows syncs no folders")
def test_the_name_of_a_new_journal_and_that_it_is_gone_are_kept_on_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a loss of power leaves the folder without the file, or with a journal that was stored already."""
    synced: list[int] = []
    real = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: synced.append(os.fstat(handle).st_ino) or real(handle))
    journal, folder = Aside(tmp_path / "a.jsonl"), tmp_path.stat().st_ino
    journal.append([{"op": "x"}])
    assert synced.count(folder) == 1
    journal.append([{"op": "y"}])
    assert synced.count(folder) == 1
    journal.clear([])
    assert synced.count(folder) == 2


def test_what_the_disk_is_asked_to_keep_of_a_journal_is_written_by_then(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a loss of power takes an entry that was called saved."""
    path, asked = tmp_path / "a.jsonl", []
    monkeypatch.setattr(aside_module, "to_disk", lambda _: asked.append(path.read_bytes()))
    Aside(path).append([{"op": "x"}])
    assert asked == [b'{"op": "x"}\n']


@pytest.mark.parametrize(
    ("before", "after"), [(b"", b""), (b"x", b"x\n"), (b"\n", b"\n"), (b'{"a": 1}\n{"b"', b'{"a": 1}\n{"b"\n')]
)
def test_a_journals_line_begins_on_a_line_of_its_own(tmp_path: Path, before: bytes, after: bytes) -> None:
    path = tmp_path / "a.jsonl"
    path.write_bytes(before)
    Aside(path).append([{"op": "x"}, {"op": "y"}])
    assert path.read_bytes() == after + b'{"op": "x"}\n{"op": "y"}\n'


def test_how_large_a_journal_and_a_file_of_entries_may_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """256 and 64 MiB: nobody enters as much."""
    asked: list[int] = []

    def read(_: Path, most_bytes: int) -> Any:
        asked.append(most_bytes)
        raise FileNotFoundError

    monkeypatch.setattr(aside_module, "read_bytes", read)
    monkeypatch.setattr(kinds, "read_text", read)
    assert Aside(tmp_path / "a.jsonl").read() == ([], [])
    with pytest.raises(ActionError, match="there is no such file"):
        load_actions(tmp_path / "a.jsonl")
    assert asked == [268_435_456, 67_108_864]


def test_what_is_no_journal_is_put_away_under_the_first_free_name(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    for number in (1, 2):
        path.mkdir()
        assert Aside(path).read() == ([], [])
        assert not path.exists()
        assert (tmp_path / f"a.jsonl.unread.{number}").is_dir()


def test_at_most_ninety_nine_such_names_are_used(tmp_path: Path) -> None:
    for number in range(1, 99):
        (tmp_path / f"a.jsonl.unread.{number}").touch()
    path = tmp_path / "a.jsonl"
    for there in (False, True):
        if not path.exists():
            path.mkdir()
        assert Aside(path).read() == ([], [])
        assert path.exists() is there
    assert (tmp_path / "a.jsonl.unread.99").is_dir()
    assert not (tmp_path / "a.jsonl.unread.100").exists()


def test_lines_that_are_no_entries_are_told_apart_and_kept(tmp_path: Path) -> None:
    journal = Aside(tmp_path / "a.jsonl")
    journal.path.write_bytes(b'{"op": "x"}\n\n  \n[1]\n{"op"\n{"op": "y"}\n')
    entries, bad = journal.read()
    assert (entries, bad) == ([{"op": "x"}, {"op": "y"}], [b"[1]", b'{"op"'])
    journal.clear(bad)
    assert not journal.path.exists()
    assert journal.unread.read_bytes() == b'[1]\n{"op"\n'


def test_who_holds_the_lock_is_said_and_a_second_release_does_nothing(tmp_path: Path) -> None:
    path = tmp_path / "l.sqlite"
    lock = WriterLock(path)
    assert lock.path.read_text() == f"{os.getpid()}\n"
    with pytest.raises(LogbookBusyError, match=rf"l\.sqlite: another console \(process {os.getpid()}\) is writing"):
        WriterLock(path)
    lock.release()
    lock.release()
    again = WriterLock(path)
    lock.release()
    with pytest.raises(LogbookBusyError):
        WriterLock(path)
    again.release()


def test_another_programs_lock_is_waited_for_a_second_and_tried_again_after_three(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[float] = []
    real = schema.connect
    monkeypatch.setattr(
        logbook_module.schema, "connect", lambda path, busy_s: (asked.append(busy_s), real(path, busy_s))[1]
    )
    with Logbook(tmp_path / "l.sqlite") as book:
        assert book._retry_s == 3.0
    assert asked == [1.0]


def test_nothing_of_the_logbook_holds_up_the_programs_end() -> None:
    with Logbook(None):
        (thread,) = [one for one in threading.enumerate() if one.name == "logbook"]
        assert thread.daemon


# -- entries -------------------------------------------------------------------------------------------------------


def test_an_action_lies_in_its_row_with_its_moments(file: sqlite3.Connection, act: Act) -> None:
    hit = act("h", 1.5, "hit", "3")
    before = time.time_ns() // 1_000_000
    assert writing.write(file, {"op": "action", "trip": "t", "action": kinds.dump(hit)}) == ""
    row = file.execute("SELECT id, kind, rod, time_ms, elapsed_s, body, stored_ms FROM action").fetchone()
    assert row[:5] == ("h", "hit", "3", BEGUN_MS - 250 + 1500, 1.5)
    assert row[5] == json.dumps(kinds.dump(hit), separators=(",", ":"))
    assert before <= row[6] <= time.time_ns() // 1_000_000


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ({"op": "nothing", "x": "y" * 80},
         "an entry of no known kind: {'op': 'nothing', 'x': 'yyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyyy"),
        ({"op": "end", "trip": "t", "time": "no time", "x": "y" * 80},
         "{'op': 'end', 'trip': 't', 'time': 'no time', 'x': 'yyyyyyyy: not an entry of a logbook: ValueError("),
        ({"op": "begin", "trip": "u"}, "{'op': 'begin', 'trip': 'u'}: not an entry of a logbook: KeyError("),
        ({"op": "result", "trip": "t",
          "result": {"drill": "hump", "seed": 1, "score": float("nan"), "passed": None, "par": None}},
         "{'op': 'result', 'trip': 't', 'result': {'drill': 'hump', 's: not an entry of a logbook: ValueError("),
    ],
)  # fmt: skip
def test_an_odd_entry_is_refused_with_its_first_sixty_letters(
    file: sqlite3.Connection, entry: dict[str, Any], said: str
) -> None:
    told = writing.write(file, entry)
    assert told.startswith(said)
    assert len(told) < 160
    assert "not an entry" in told or told == said


def test_a_trip_that_is_not_there_begins_with_its_first_entry(file: sqlite3.Connection, act: Act) -> None:
    writing.write(file, {"op": "action", "trip": "u", "action": kinds.dump(act("h", 2, "hit", "3"))})
    said = Event("e", 1.0, "bottom", "caution", "active", (), "text")
    writing.write(file, writing.event("v", said))
    assert [(t.id, t.session, t.start, round(t.begun.timestamp() * 1000)) for t in trips.trips(file)] == [
        ("v", "live", "in", 0), ("t", "live", "in", BEGUN_MS), ("u", "live", "in", BEGUN_MS - 250 + 2000),
    ]  # fmt: skip
    assert trips.events(file, "v") == [said]
    assert [trips.trip_no(file, name) for name in ("t", "u", "v", "w")] == [1, 2, 3, None]


def test_an_end_stays_and_can_be_undone(file: sqlite3.Connection) -> None:
    def ended() -> datetime | None:
        return trips.trips(file)[0].ended

    first = BEGUN + timedelta(hours=1)
    for hours in (1, 2):
        writing.write(file, {"op": "end", "trip": "t", "time": kinds.iso(BEGUN + timedelta(hours=hours))})
        assert ended() == first
        assert trips.open_trip(file) is None
    writing.write(file, {"op": "end", "trip": "t", "time": None})
    assert ended() is None
    assert trips.open_trip(file) is not None


def test_moments_are_whole_milliseconds() -> None:
    assert trips.to_ms(BEGUN) == BEGUN_MS
    assert trips.to_ms(BEGUN.replace(microsecond=250_600)) == BEGUN_MS + 1
    assert trips.from_ms(BEGUN_MS) == BEGUN
    assert trips.from_ms(None) is None
    made = trips.new_trip(BEGUN, session="practice")
    assert made.id[:17] == "20260718T230000Z-"
    assert len(made.id) == 25
    assert made.session == "practice"


@pytest.mark.parametrize(("passed", "kept"), [(True, True), (False, False), (None, None)])
def test_a_result_comes_back_as_it_was(file: sqlite3.Connection, passed: bool | None, kept: bool | None) -> None:
    body = {"drill": "hump", "seed": 7, "score": 61.5, "passed": passed, "par": 80.0, "more": [1]}
    results.write(file, 1, body)
    (found,) = results.attempts(file)
    assert (found.trip, found.begun, found.drill, found.seed) == ("t", BEGUN, "hump", 7)
    assert (found.score, found.passed, found.par, found.body) == (61.5, kept, 80.0, body)
    assert type(found.passed) is type(kept)
    assert results.of_trip(file, "t") == body
    assert results.of_trip(file, "u") is None


class _Coded(sqlite3.OperationalError):
    def __init__(self, code: str) -> None:
        super().__init__("words of SQLite")
        self.sqlite_errorname = code


@pytest.mark.parametrize(
    ("fault", "said", "passing"),
    [
        (_Coded("SQLITE_BUSY_SNAPSHOT"), "is locked by another program", True),
        (_Coded("SQLITE_LOCKED"), "is locked by another program", True),
        (_Coded("SQLITE_FULL"), "does not fit on the disk: the disk is full", True),
        (
            _Coded("SQLITE_READONLY_DBMOVED"),
            "cannot be written: the file, its folder or the disk is read-only",
            False,
        ),
        (_Coded("SQLITE_IOERR_FSYNC"), "cannot be written: the disk reports an error", False),
        (_Coded("SQLITE_AUTH"), "failed: words of SQLite", False),
        (sqlite3.Error("no code"), "failed: no code", False),
        (OSError(28, "No space left on device"), "cannot be written: the disk is full", False),
        (OSError("odd"), "cannot be written: odd", False),
        (ValueError("x" * 130), f"is damaged: what it holds cannot be read (ValueError: {'x' * 120})", False),
    ],
)
def test_a_fault_in_one_sentence(fault: Exception, said: str, passing: bool) -> None:
    assert writing.sentence(fault, Path("/b/log")) == f"{Path('/b/log')} {said}"
    assert writing.sentence(fault, None) == f"the logbook in memory {said}"
    assert writing.passing(fault) is passing


def test_other_faults_speak_for_themselves() -> None:
    assert writing.sentence(schema.SchemaError("as it is"), Path("/b")) == "as it is"
    assert writing.sentence(RuntimeError("as it is"), Path("/b")) == "as it is"


def test_files_that_are_no_logbook_are_told_apart(tmp_path: Path) -> None:
    folder, empty = tmp_path / "folder", tmp_path / "empty"
    folder.mkdir()
    empty.touch()
    with pytest.raises(schema.SchemaError, match="is not a file, so it cannot be a logbook"):
        schema.connect(folder)
    with pytest.raises(schema.SchemaError, match="is empty, though a logbook never is"):
        schema.connect(empty)
    for statement in ("PRAGMA application_id = 7", "CREATE TABLE other (a)"):
        path = tmp_path / statement[:6]
        other = sqlite3.connect(path)
        other.execute(statement)
        other.execute("PRAGMA user_version = 1")
        other.commit()
        other.close()
        with pytest.raises(schema.SchemaError, match="is a database, but not a logbook"):
            schema.connect(path)
    newer = tmp_path / "newer"
    made = schema.connect(newer)
    made.execute("PRAGMA user_version = 5")
    made.close()
    with pytest.raises(schema.SchemaError, match=r"version 5 was written by a newer sternwatch; .* 4$"):
        schema.connect(newer)


# -- derived rows --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "value", "stored"),
    [
        ("depth_m", 12.3456, 12346), ("depth_m", -0.0004, 0), ("depth_m", None, None),
        ("latitude_deg", 47.12345678, 471234568), ("trend", "rising", 0), ("trend", "steady", 1),
        ("trend", "sinking", 2), ("turn", "straight", 0), ("turn", "inside", 1), ("turn", "outside", 2),
        ("turn", "turning", 3), ("pace", "slowing", 0), ("pace", "steady", 1), ("pace", "quickening", 2),
        ("current", "with", 0), ("current", "against", 1), ("current", "little", 2),
    ],
)  # fmt: skip
def test_a_value_as_the_file_holds_it(name: str, value: Any, stored: int | None) -> None:
    """Files outlive the program: these numbers stay."""
    assert to_stored(name, value) == stored
    back = from_stored(name, stored)
    assert back == value or back == pytest.approx(value, abs=0.0005)


def test_a_hit_is_stored_legibly_and_never_with_a_number_that_is_none() -> None:
    hit = HitRow("h", "3", 1.0, 5, True, True, species="ü")
    assert hit_body(hit) == (
        '{"id":"h","rod":"3","at_s":1.0,"time_ms":5,"counts":true,"in_hours":true,"from_memory":false,"species":"ü"}'
    )
    with pytest.raises(ValueError, match="not JSON compliant"):
        hit_body(HitRow("h", "3", float("nan"), 5, True, True))


@pytest.mark.parametrize(
    ("metres", "kept"),
    [(2_147_483.647, True), (2_147_483.648, False), (-2_147_483.647, True), (-2_147_483.648, False)],
)
def test_a_column_holds_what_32_bits_hold(metres: float, kept: bool) -> None:
    rig = Rig("3")
    columns = SampleColumns.of([Sample(BoatRow(1.0, bottom_m=metres), (RodRow(rig, depth_m=metres),))])
    (found,) = columns.samples(0, 1)
    assert (found.boat.bottom_m, found.rods[0].depth_m) == ((metres, metres) if kept else (None, None))


def test_the_sounder_keeps_the_newest_depth_of_ten_metres(file: sqlite3.Connection) -> None:
    at = Charted(47.00004, -89.00004, 12.3456, 1000.5)
    soundings.keep_soundings(file, 1, [at, Charted(47.00006, -89.00004, 20.0, 1001.0)])
    soundings.keep_soundings(file, 1, [Charted(47.00003, -89.00003, 13.0, 1002.0)])
    columns = "north, east, time_ms, latitude_e7, longitude_e7, depth_mm"
    assert file.execute(f"SELECT {columns} FROM sounding").fetchall() == [
        (470_000, -890_000, 1_002_000, 470_000_300, -890_000_300, 13_000),
        (470_001, -890_000, 1_001_000, 470_000_600, -890_000_400, 20_000),
    ]  # fmt: skip
    found = soundings.charted(file)
    assert [(c.depth_m, c.time_s) for c in found] == [(20.0, 1001.0), (13.0, 1002.0)]
    assert (found[1].latitude_deg, found[1].longitude_deg) == pytest.approx((47.00003, -89.00003), abs=1e-9)
    assert [c.depth_m for c in soundings.charted(file, 1002.0)] == [20.0]
    assert [c.depth_m for c in soundings.charted(file, 1002.001)] == [20.0, 13.0]


def test_no_more_than_the_newest_two_hundred_thousand_are_read(
    file: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert soundings.MOST == 200_000
    monkeypatch.setattr(soundings, "MOST", 2)
    soundings.keep_soundings(file, 1, [Charted(47.0 + k / 100, -89.0, float(k), 1000.0 + k) for k in range(5)])
    assert [c.depth_m for c in soundings.charted(file)] == [3.0, 4.0]
