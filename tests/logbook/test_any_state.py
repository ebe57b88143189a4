"""No state of the logbook's file stops a start: it ends in a logbook that answers and a sentence."""

import random
import sqlite3
from datetime import UTC, datetime

import pytest

from sternwatch.logbook.store.logbook import Logbook, LogbookError
from sternwatch.logbook.store.trips import new_trip

_WHEN = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    path = tmp_path_factory.mktemp("good") / "logbook.sqlite"
    with Logbook(path) as book:
        for _ in range(3):
            book.begin_trip(new_trip(_WHEN, spread_text="x" * 500))
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    return path.read_bytes()


def _asked(path):
    """Everything a start asks; returns the sentences said."""
    said = []
    with Logbook(path, busy_s=0.1) as book:
        said.append(book.trouble)
        for question in (book.trips, book.open_trip, book.verify):
            try:
                said += [str(line) for line in question()] if question == book.verify else []
                question()
            except LogbookError as fault:
                said.append(str(fault))
        kept = book.begin_trip(new_trip(_WHEN)).kept
    return said, kept


def _damaged(data, rng):
    data = bytearray(data)
    match rng.randrange(3):
        case 0:  # a byte of the schema
            data[rng.randrange(0, 4096)] = rng.randrange(256)
        case 1:
            for _ in range(rng.randrange(1, 200)):
                data[rng.randrange(len(data))] = rng.randrange(256)
        case _:
            del data[rng.randrange(len(data)) :]
    return bytes(data)


def _campaign(good, folder, count, seed):
    rng = random.Random(seed)
    for n in range(count):
        path = folder / f"{n}" / "logbook.sqlite"
        path.parent.mkdir()
        path.write_bytes(_damaged(good, rng))
        if rng.random() < 0.2:
            path.with_name(path.name + "-wal").write_bytes(rng.randbytes(5000))
        said, kept = _asked(path)
        assert kept in ("logbook", "aside"), (n, said, kept)
        assert all("Traceback" not in line for line in said)


def test_a_damaged_logbook_answers(good, tmp_path):
    _campaign(good, tmp_path, 25, 1)


@pytest.mark.campaign
def test_ten_thousand_damaged_logbooks_answer(good, tmp_path):
    _campaign(good, tmp_path, 10_000, 2)


def test_an_empty_file_is_said_and_not_taken_as_new(tmp_path):
    path = tmp_path / "logbook.sqlite"
    path.write_bytes(b"")
    said, kept = _asked(path)
    assert "is empty" in said[0]
    assert kept == "aside"
    assert path.stat().st_size == 0


def test_a_folder_in_its_place_is_said(tmp_path):
    path = tmp_path / "logbook.sqlite"
    path.mkdir()
    said, kept = _asked(path)
    assert "is not a file" in said[0]
    assert kept == "aside"
