"""A process that records hits is killed at random moments: what it was told is stored is there, once.

A kill ends the process, not the machine: that a commit also outlives a power cut rests on the settings that
``test_commits_wait_for_the_disk`` reads back.
"""

from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path

import pytest

from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import RodDefaults
from sternwatch.logbook.store.logbook import Logbook

RECORDER = Path(__file__).parents[1].joinpath("recorder.py")
TRIP = "20260718T230000Z-killtest"


def run_and_kill(path: Path, wait_s: float) -> list[str]:
    """Start the recorder, let it record for so long, kill it; what it said was stored."""
    process = subprocess.Popen([sys.executable, str(RECORDER), str(path), TRIP], stdout=subprocess.PIPE)
    assert process.stdout is not None
    first = process.stdout.readline().decode()
    killer = threading.Timer(wait_s, process.kill)
    killer.start()
    rest = process.stdout.read().decode()
    process.wait()
    killer.join()
    assert first == f"ready {TRIP}\n", "each start resumes the same trip"
    assert process.returncode != 0, "it was killed, it did not end"
    return rest.split()


def check(path: Path, acknowledged: list[str]) -> None:
    with Logbook(path) as book:
        trip = book.open_trip()
        assert trip is not None
        assert trip.id == TRIP
        stored = Counter(action.id for action in book.actions(TRIP))
        assert book.verify() == []
        crew = fold(book.actions(TRIP), [RodDefaults(str(key)) for key in range(1, 9)])
    lost = [one for one in acknowledged if one not in stored]
    assert lost == []
    assert [one for one, times in stored.items() if times > 1] == []
    assert len(crew.hits) == len(stored)


def kills(path: Path, times: int, rng: random.Random, least: int) -> int:
    """So many kills, and more on a slow machine, until that many hits were told as stored."""
    acknowledged: list[str] = []
    for number in range(1, 10 * times):
        acknowledged += run_and_kill(path, rng.uniform(0.0, 0.12))
        check(path, acknowledged)
        if number >= times and len(acknowledged) >= least:
            break
    assert len(acknowledged) == len(set(acknowledged))
    return len(acknowledged)


def test_no_hit_that_was_told_as_stored_is_lost_or_doubled_in_eight_kills(tmp_path: Path) -> None:
    assert kills(tmp_path / "logbook.sqlite", 8, random.Random(20), 80) >= 80, "too few hits to show anything"


@pytest.mark.campaign
def test_no_hit_that_was_told_as_stored_is_lost_or_doubled_in_200_kills(tmp_path: Path) -> None:
    stored = kills(tmp_path / "logbook.sqlite", 200, random.Random(200), 2000)
    print(f"200 kills, {stored} hits told as stored, none lost, none doubled")
    assert stored >= 2000


@pytest.mark.campaign
def test_kills_while_another_program_locks_the_file_now_and_then(tmp_path: Path) -> None:
    """Hits told as kept aside are in the journal, and come in with the next start."""
    path = tmp_path / "logbook.sqlite"
    Logbook(path).close()
    stop = threading.Event()

    def meddle() -> None:
        other = sqlite3.connect(path, isolation_level=None, timeout=5)
        while not stop.is_set():
            other.execute("BEGIN IMMEDIATE")
            time.sleep(0.06)
            other.execute("ROLLBACK")
            time.sleep(0.04)
        other.close()

    acknowledged: list[str] = []
    rng = random.Random(60)
    for _ in range(60):
        stop.clear()
        meddler = threading.Thread(target=meddle)
        meddler.start()
        acknowledged += dict.fromkeys(run_and_kill(path, rng.uniform(0.0, 0.3)))
        stop.set()
        meddler.join()
        check(path, acknowledged)
    print(f"60 kills under a lock, {len(acknowledged)} hits told as kept, none lost, none doubled")
    assert len(acknowledged) > 600
