"""Marks of a replay: turns by side, alerts when they come, hits at their moments."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.watch.sessions.timeline import Marker, hit_marks


def looked(rates: dict[float, float | None], alerts: dict[float, list[str]] | None = None) -> Marker:
    marker = Marker()
    for t, rate in rates.items():
        standing = [SimpleNamespace(id=one, text=f"text {one}") for one in (alerts or {}).get(t, [])]
        book = SimpleNamespace(standing=lambda own=standing: own)
        watch: Any = SimpleNamespace(t_s=t, boat=SimpleNamespace(rate_of_turn_deg_s=rate), alerts=book)
        marker.look(watch)
    return marker


def test_a_turn_begins_above_its_rate_and_ends_after_ten_slow_seconds() -> None:
    rates: dict[float, float | None] = {float(t): 0.0 for t in range(100)}
    rates |= {10.0: 1.49, 20.0: 1.5, 30.0: 3.0, 42.0: -1.5, 60.0: None}
    marks = [(mark.t_s, mark.kind, mark.label) for mark in looked(rates).marks]
    assert marks == [(20.0, "turn", "turn to starboard"), (42.0, "turn", "turn to port")]
    # Slow from 21 to 31 s: the turn is over, and the next begins at 32 s. From 33 to 42 s it is not.
    rates |= {30.0: 0.0, 31.0: 0.0, 32.0: 3.0}
    assert [mark.t_s for mark in looked(rates).marks] == [20.0, 32.0]


def test_an_alert_is_marked_once_while_it_stands() -> None:
    marker = looked({1.0: 0.0, 2.0: 0.0, 3.0: 0.0, 4.0: 0.0}, {1.0: ["a"], 2.0: ["a", "b"], 3.0: ["b"], 4.0: ["a"]})
    assert [(mark.t_s, mark.kind, mark.label) for mark in marker.marks] == [
        (1.0, "alert", "text a"), (2.0, "alert", "text b")
    ]  # fmt: skip
    assert [mark.t_s for mark in marker.until(1.0).marks] == [1.0]
    assert len(marker.marks) == 2


def test_before_the_first_step_there_is_nothing_to_mark() -> None:
    marker = Marker()
    marker.look(SimpleNamespace(t_s=None))  # type: ignore[arg-type]
    assert marker.marks == []


def entry(kind: str, elapsed_s: float | None = None, **more: Any) -> Action:
    when = datetime.fromtimestamp(1_784_000_100.0, UTC)
    return parse({"id": f"{kind}{elapsed_s}", "time": when, "elapsed_s": elapsed_s, "kind": kind, **more})


@pytest.mark.parametrize(("offset", "times"), [(1_784_000_000.0, [40.0, 100.0]), (None, [40.0])])
def test_hits_by_feed_time_else_by_the_clock(offset: float | None, times: list[float]) -> None:
    marks = hit_marks([entry("hit", 40.0, rod="2"), entry("hit", rod="3"), entry("note", 5.0, text="weed")], offset)
    assert [mark.t_s for mark in marks] == times
    assert [mark.label for mark in marks] == ["hit on 2", "hit on 3"][: len(times)]
    assert all(mark.kind == "hit" for mark in marks)
