"""How long a key press takes to be stored, beside a bare SQLite commit of the same row in the same run."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import RodDefaults
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import new_trip

pytestmark = pytest.mark.bench
NOW = datetime(2026, 7, 18, 23, 0, tzinfo=UTC)
HITS = 5000


def hits(number: int) -> list[Action]:
    return [
        parse({"id": f"h{index}", "time": NOW, "elapsed_s": float(index), "kind": "hit", "rod": str(index % 8 + 1)})
        for index in range(number)
    ]


def shares(call: Callable[[int], None]) -> dict[str, float]:
    """Milliseconds of the calls 0 … HITS-1: half of them, 99 of 100, and the slowest."""
    took = []
    for index in range(HITS):
        before = time.perf_counter()
        call(index)
        took.append((time.perf_counter() - before) * 1e3)
    took.sort()
    return {"p50_ms": took[HITS // 2], "p99_ms": took[HITS * 99 // 100], "worst_ms": took[-1]}


def test_from_submit_to_stored_against_a_bare_commit(tmp_path: Path) -> None:
    bare = sqlite3.connect(tmp_path / "bare.sqlite", isolation_level=None)
    bare.execute("PRAGMA journal_mode = WAL")
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute("CREATE TABLE hit (id TEXT PRIMARY KEY, body TEXT)")
    acts = hits(HITS)

    def commit(index: int) -> None:
        bare.execute("BEGIN IMMEDIATE")
        bare.execute("INSERT INTO hit VALUES (?, ?)", (f"h{index}", acts[index].model_dump_json()))
        bare.execute("COMMIT")

    peer = shares(commit)
    bare.close()
    with Logbook(tmp_path / "logbook.sqlite") as book:
        trip = new_trip(NOW)
        book.begin_trip(trip)
        ours = shares(lambda index: book.submit(trip.id, acts[index]).result() and None)
        assert len(book.actions(trip.id)) == HITS
    print(f"\n{HITS} hits, submit to stored: { {k: round(v, 3) for k, v in ours.items()} }")
    print(f"bare commits in the same run: { {k: round(v, 3) for k, v in peer.items()} }")
    print(f"ratio of the halves: {ours['p50_ms'] / peer['p50_ms']:.2f}")


def test_folding_five_thousand_actions() -> None:
    acts = hits(HITS)
    rods = [RodDefaults(str(key)) for key in range(1, 9)]
    before = time.perf_counter()
    crew = fold(acts, rods)
    whole = time.perf_counter() - before
    before = time.perf_counter()
    crew = apply(crew, parse({"id": "b", "time": NOW, "kind": "bite"}))
    one = time.perf_counter() - before
    before = time.perf_counter()
    crew = apply(crew, parse({"id": "u", "time": NOW, "kind": "undo", "of": "b"}))
    undo = time.perf_counter() - before
    assert len(crew.hits) == HITS
    print(f"\n{HITS} actions: fold {whole * 1e3:.1f} ms, one more {one * 1e3:.2f} ms, undo {undo * 1e3:.1f} ms")
