"""A process to be killed: resumes the open trip, and prints each hit's id as soon as it is told that it is stored.

``recorder.py LOGBOOK TRIP [PAUSE_S]``. The first line it prints says that it is ready.
"""

from __future__ import annotations

import os
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.store.logbook import Logbook, Stored
from sternwatch.logbook.store.trips import Trip


def say(text: str) -> None:
    # One write call for one short line: it is either there as a whole or not at all.
    os.write(1, f"{text}\n".encode())


def told(stored: Stored) -> None:
    if stored.kept in ("logbook", "aside"):
        say(stored.id)


def main(path: Path, trip_id: str, pause_s: float) -> None:
    book = Logbook(path, busy_s=0.02, retry_s=0.05)
    trip = book.open_trip() if not book.trouble else None
    if trip is None:
        trip = Trip(trip_id, datetime.now(UTC))
        book.begin_trip(trip)
    say(f"ready {trip.id}")
    number = 0
    while True:
        number += 1
        hit = {"id": f"{os.getpid()}-{number}", "time": datetime.now(UTC), "kind": "hit", "rod": str(number % 8 + 1)}
        book.submit(trip.id, parse(hit), told)
        if number % 7 == 0:  # now and then several at once, so that kills fall between and into grouped commits
            continue
        time.sleep(pause_s)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], float(sys.argv[3]) if len(sys.argv) > 3 else 0.0005)
