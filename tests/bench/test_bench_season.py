"""Questions across a season: from the rollup, beside the same question asked of every sample."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from sternwatch.debrief.counting.factors import DEPTH_M, Factor
from sternwatch.debrief.counting.producing import producing
from sternwatch.debrief.counting.season import Filters, season
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.store import schema

from ..debrief.invented_season import invent

QUESTIONS = {
    "all": Filters(),
    "species": Filters(species="coho"),
    "month": Filters(months=frozenset({7})),
    "rig": Filters(rig="diver"),
    "place": Filters(near_deg=(47.0, -89.5), radius_m=5000.0),
    "wide place": Filters(near_deg=(47.0, -89.5), radius_m=100_000.0),
    "all at once": Filters("coho", frozenset({6, 7}), near_deg=(47.0, -89.5), radius_m=8000.0, rig="fly"),
}


def seconds(call: Callable[[], object], times: int = 3) -> float:
    best = float("inf")
    for _ in range(times):
        begin = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - begin)
    return best


@pytest.fixture(scope="module")
def make(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[int, int, int], sqlite3.Connection]]:
    opened = []

    def made(trips: int, hits: int, samples: int) -> sqlite3.Connection:
        connection = schema.connect(tmp_path_factory.mktemp("season") / "logbook.sqlite")
        connection.execute("PRAGMA synchronous = OFF")  # making it is not what is measured
        invent(connection, trips, hits, samples)
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        opened.append(connection)
        return connection

    yield made
    for connection in opened:
        connection.close()


def ask(connection: sqlite3.Connection, filters: Filters) -> None:
    producing(season(connection, filters).tally, SYSTEMS["us"])


@pytest.mark.bench
def test_the_rollup_beside_every_sample(make: Callable[[int, int, int], sqlite3.Connection]) -> None:
    connection = make(20, 400, 500_000)
    width = round(DEPTH_M * 1000)

    def peer() -> dict[int, int]:
        rows = connection.execute(
            "SELECT max(depth_m, 0) / ?, count(*) * 10 FROM sample WHERE depth_m IS NOT NULL GROUP BY 1", (width,)
        )
        return dict(rows.fetchall())

    found = {v.at: c.seconds for v, c in season(connection).tally.values(Factor.DEPTH)}
    assert found == peer()
    every, one = seconds(lambda: ask(connection, Filters())), seconds(peer)
    print(
        f"\nall questions from the rollup {every:.3f} s; depth alone from the samples {one:.3f} s: {one / every:.1f}"
    )
    for name, filters in QUESTIONS.items():
        print(f"{name}: {seconds(lambda f=filters: ask(connection, f)):.3f} s")  # type: ignore[misc]


@pytest.mark.campaign
def test_two_hundred_trips_answer_within_a_second(make: Callable[[int, int, int], sqlite3.Connection]) -> None:
    connection = make(200, 4000, 5_000_000)
    size = Path(connection.execute("PRAGMA database_list").fetchone()[2]).stat().st_size
    count = connection.execute("SELECT count(*) FROM sample").fetchone()[0]
    print(f"\n{count} samples, {size / 1e6:.0f} MB")
    assert count == 5_000_000
    for name, filters in QUESTIONS.items():
        took = seconds(lambda f=filters: ask(connection, f))  # type: ignore[misc]
        print(f"{name}: {took:.3f} s")
        assert took < 1.0, name
