"""Results of practice sessions in the logbook."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip

BEGUN = datetime(2026, 7, 18, 23, 0, tzinfo=UTC)


def result(drill: str, score: float | None, **more: Any) -> dict[str, Any]:
    return {
        "drill": drill,
        "seed": 7,
        "score": score,
        "passed": None if score is None else score > 50,
        "par": 80.0,
    } | more


def practised(book: Logbook, name: str, minutes: int, what: dict[str, Any]) -> None:
    book.begin_trip(Trip(name, BEGUN + timedelta(minutes=minutes), session="practice"))
    assert book.keep_result(name, what).kept == "logbook"


def test_attempts_come_back_in_order_and_by_drill(tmp_path: Path) -> None:
    path = tmp_path / "logbook.sqlite"
    with Logbook(path) as book:
        practised(book, "b", 5, result("hump", 61.5, measures={"crossings": 2}))
        practised(book, "a", 0, result("hump", 40.0))
        practised(book, "c", 9, result("free", None))
    with Logbook(path) as book:
        assert [(one.trip, one.score, one.passed) for one in book.attempts("hump")] == [
            ("a", 40.0, False), ("b", 61.5, True),
        ]  # fmt: skip
        assert book.attempts("hump")[1].body["measures"] == {"crossings": 2}
        assert [(one.drill, one.score, one.passed) for one in book.attempts()][-1] == ("free", None, None)
        assert book.attempts("squall") == []


def test_the_first_result_of_a_trip_stays(tmp_path: Path) -> None:
    with Logbook(tmp_path / "logbook.sqlite") as book:
        practised(book, "a", 0, result("hump", 40.0))
        assert book.keep_result("a", result("hump", 99.0)).kept == "logbook"
        assert [one.score for one in book.attempts()] == [40.0]


def test_a_practice_left_open_is_no_trip_to_resume(tmp_path: Path) -> None:
    with Logbook(tmp_path / "logbook.sqlite") as book:
        book.begin_trip(Trip("water", BEGUN))
        book.begin_trip(Trip("practice", BEGUN + timedelta(hours=1), session="practice"))
        resumed = book.open_trip()
        assert resumed is not None
        assert resumed.id == "water"
