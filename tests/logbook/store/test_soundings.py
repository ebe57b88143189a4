"""What one trip sounded is there for the next, by place, with its age."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.soundings import Charted, charted, keep_soundings
from sternwatch.logbook.store.trips import Trip, trip_no

HERE = (47.3, -91.0)


def _keep(book: Logbook, trip: str, soundings: list[Charted]) -> None:
    def write(connection: object) -> None:
        number = trip_no(connection, trip)  # type: ignore[arg-type]
        assert number is not None
        keep_soundings(connection, number, soundings)  # type: ignore[arg-type]

    book.derive(write).result()


def test_the_newest_of_a_place_comes_back_as_it_was_kept(tmp_path: Path, begin: datetime) -> None:
    with Logbook(tmp_path / "log.sqlite") as book:
        for k, trip in enumerate(("first", "second")):
            book.begin_trip(Trip(trip, begin + timedelta(days=k)))
        early, late = (begin + timedelta(days=k) for k in (0, 1))
        away = Charted(47.31, -91.0, 55.5, early.timestamp() + 1.0)
        _keep(book, "first", [Charted(*HERE, 30.123, early.timestamp()), away])
        _keep(book, "second", [Charted(HERE[0] + 1e-6, HERE[1], 31.5, late.timestamp())])
        found = book.ask(charted)
        assert [(c.depth_m, c.time_s) for c in found] == [(55.5, early.timestamp() + 1.0), (31.5, late.timestamp())]
        assert found[0].latitude_deg == pytest.approx(47.31, abs=1e-7)
    with Logbook(tmp_path / "log.sqlite") as book:
        assert [c.depth_m for c in book.ask(charted)] == [55.5, 31.5]
        before = book.ask(lambda c: charted(c, late.timestamp()))
        assert [c.depth_m for c in before] == [30.123, 55.5]


def test_practice_on_invented_water_is_not_taken_up(begin: datetime) -> None:
    with Logbook(None) as book:
        book.begin_trip(Trip("drill", begin, session="practice"))
        _keep(book, "drill", [Charted(*HERE, 30.0, begin.timestamp())])
        assert book.ask(charted) == ()
