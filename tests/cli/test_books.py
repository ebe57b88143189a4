"""The logbook as commands open it: alone, beside a console, and where it cannot be read."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from sternwatch.cli.common.books import opened, trip_opened
from sternwatch.cli.common.exits import InputError
from sternwatch.debrief.trip.packing import SUFFIX
from sternwatch.logbook.store import logbook, schema
from sternwatch.logbook.store.logbook import Logbook, LogbookError


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path))
    return tmp_path


@pytest.fixture
def kept(folder: Path) -> Path:
    path = folder / "logbook.sqlite"
    Logbook(path).close()
    return path


def test_before_the_first_trip_there_is_none(folder: Path) -> None:
    with pytest.raises(InputError, match="there is no logbook yet"), opened():
        pass
    assert not (folder / "logbook.sqlite").exists(), "asking makes none"


def test_one_that_a_console_has_open_can_be_read_and_not_written(kept: Path) -> None:
    with opened() as book:
        assert book.writer is not None
    with Logbook(kept), opened() as book:
        assert book.writer is None
        with pytest.raises(InputError, match="so a debrief must wait: close it first"):
            book.need_writer("a debrief")
        assert schema.version(book.reader) == len(schema.MIGRATIONS)


def test_a_console_of_another_version_is_to_be_closed_first(monkeypatch: pytest.MonkeyPatch, kept: Path) -> None:
    with Logbook(kept):
        monkeypatch.setattr(schema, "version", lambda _: 1)
        with pytest.raises(InputError, match="written by a console of another version: close it first"), opened():
            pass


def test_a_file_that_cannot_be_opened_is_a_sentence(monkeypatch: pytest.MonkeyPatch, kept: Path) -> None:
    def refused(_: Path) -> None:
        raise OSError(13, "Permission denied")

    monkeypatch.setattr(logbook, "Logbook", refused)
    with pytest.raises(InputError, match=r"logbook\.sqlite cannot be opened: permission denied"), opened():
        pass
    assert kept.exists()


@pytest.mark.usefixtures("kept")
def test_what_the_file_does_wrong_is_a_sentence_and_a_fault_of_the_program_is_not() -> None:
    with pytest.raises(InputError), opened():
        raise sqlite3.DatabaseError("database disk image is malformed")
    with pytest.raises(InputError, match="no such trip"), opened():
        raise LogbookError("no such trip")
    with pytest.raises(ValueError, match="of the program"), opened():
        raise ValueError("of the program")


def test_a_packed_trip_that_is_not_there_is_a_sentence(folder: Path) -> None:
    with (
        pytest.raises(InputError, match=r"evening\.trip"),
        trip_opened(f"{folder}/evening{SUFFIX}"),
    ):
        pass
