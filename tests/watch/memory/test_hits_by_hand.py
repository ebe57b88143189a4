"""When a hit's moment is looked up, and when its row is told anew: with stand-ins for the crew and the moments."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

from sternwatch.logbook.crew.state import CrewHit, When
from sternwatch.watch.memory.hits import HitContexts


def hit(name: str, t_s: float | None, rod: str | None = "1", **more: Any) -> CrewHit:
    when = When(datetime.fromtimestamp(1000.0 + (t_s or 0.0), UTC), t_s)
    return CrewHit(name, rod, when, when, **more)


class Past:
    """Moments that say when they were asked for."""

    def __init__(self) -> None:
        self.asked: list[float] = []

    def at(self, t_s: float) -> Any:
        self.asked.append(t_s)
        return SimpleNamespace(t_s=t_s, rods={})


def step(made: HitContexts, past: Past, *hits: CrewHit, over_s: float = 1e9, offset_s: float | None = None) -> None:
    crew: Any = SimpleNamespace(
        hits_by_id={one.id: one for one in hits}, facts=SimpleNamespace(over_at=lambda t_s: t_s >= over_s)
    )
    made.step(crew, past, offset_s)  # type: ignore[arg-type]


def test_a_moment_is_looked_up_once_and_again_when_it_was_moved() -> None:
    made, past = HitContexts(), Past()
    step(made, past, hit("a", 5.0))
    step(made, past, hit("a", 5.0), hit("b", 6.0))
    step(made, past, hit("a", 5.0, rod="2"), hit("b", 6.0))  # on another rod, at the same moment
    assert past.asked == [5.0, 6.0]
    step(made, past, hit("a", 4.0, rod="2"), hit("b", 6.0))
    assert past.asked == [5.0, 6.0, 4.0]
    assert made.by_id["a"].moment is not None
    assert (made.by_id["a"].moment.t_s, made.by_id["a"].rod) == (4.0, "2")


def test_a_hit_of_a_bite_has_the_bites_moment_and_only_hits_on_rods_have_rows() -> None:
    made, past = HitContexts(), Past()
    bite = hit("b", 5.0, rod=None)
    step(made, past, bite)
    assert made.rows == ()
    step(made, past, bite, hit("h", 5.0, bite="b"))
    assert past.asked == [5.0]
    assert made.by_id["h"].moment is made.by_id["b"].moment
    assert [(row.id, row.rod) for row in made.rows] == [("h", "1")]
    step(made, past, hit("h", 5.0, bite="b"))
    assert set(made.by_id) == {"h"}, "what was taken back is gone"


def test_without_a_clock_nothing_is_looked_up_until_there_is_one() -> None:
    made, past = HitContexts(), Past()
    step(made, past, hit("a", None))
    assert (past.asked, made.rows[0].at_s) == ([], None)
    step(made, past, hit("a", None), offset_s=400.0)
    assert (past.asked, made.rows[0].at_s) == ([600.0], 600.0)


def test_a_row_is_told_anew_when_the_hit_changes_or_its_moment_and_else_is_the_same() -> None:
    made, past = HitContexts(), Past()
    one = hit("a", 5.0)
    step(made, past, one)
    first = made.rows[0]
    step(made, past, one)
    assert made.rows[0] is first
    landed = replace(one, outcome="landed")
    step(made, past, landed)
    assert (made.rows[0].outcome, made.rows[0].at_s) == ("landed", 5.0)
    later = made.rows[0]
    step(made, past, landed, over_s=4.0)
    assert made.by_id["a"].over
    assert made.rows[0] is not later
