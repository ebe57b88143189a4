"""The layer under SQLite whose syncs fail, and what the logbook makes of it."""

from __future__ import annotations

import contextlib
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from simulation.syncs import failing, library
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip

pytestmark = pytest.mark.skipif(library() is None, reason="this interpreter's SQLite cannot be reached from outside")
BEGUN = datetime(2026, 7, 18, 12, 0, tzinfo=UTC)


def test_a_failed_sync_is_a_failed_write_and_the_next_one_is_whole(tmp_path: Path) -> None:
    ails = [False]
    with failing(lambda: ails[0]), contextlib.closing(sqlite3.connect(tmp_path / "a", isolation_level=None)) as book:
        book.execute("PRAGMA journal_mode = wal")
        book.execute("PRAGMA synchronous = full")
        book.execute("CREATE TABLE t (x)")
        ails[0] = True
        with pytest.raises(sqlite3.OperationalError) as found:
            book.execute("INSERT INTO t VALUES (1)")
        assert found.value.sqlite_errorname == "SQLITE_IOERR_FSYNC"
        ails[0] = False
        book.execute("INSERT INTO t VALUES (2)")
        assert book.execute("SELECT x FROM t").fetchall() == [(2,)]


def test_an_entry_whose_sync_fails_is_kept_aside_and_is_in_the_logbook_once_afterwards(tmp_path: Path) -> None:
    ails = [False]
    path = tmp_path / "logbook.sqlite"
    with failing(lambda: ails[0]) as asked:
        with Logbook(path) as book:
            book.begin_trip(Trip("t", BEGUN))
            kept = []
            for number, ill in enumerate((False, True, True, False)):
                ails[0] = ill
                hit = parse({"id": f"h{number}", "time": BEGUN, "elapsed_s": 1.0, "kind": "hit", "rod": "1"})
                kept.append(book.submit("t", hit).result().kept)
            assert kept[:3] == ["logbook", "aside", "aside"]
            assert asked[1] >= 1
        with Logbook(path) as book:
            assert sorted(action.id for action in book.actions("t")) == ["h0", "h1", "h2", "h3"]
            assert not book.verify()
