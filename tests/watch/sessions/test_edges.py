"""When a guide is asked anew, when a plan is still being made, and that a compiling's end may come twice."""

from __future__ import annotations

from collections import deque
from contextlib import nullcontext
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.planner.beside_session import SpreadPlanning
from sternwatch.watch.sessions import live
from sternwatch.watch.sessions.compiling import Progress
from sternwatch.watch.sessions.how_sure import Knowing


class Asked:
    """Beside a session: what was asked, answered when the test says so."""

    def __init__(self) -> None:
        self.questions: list[Any] = []
        self.made: Any = None
        self.trouble = ""

    def ask(self, question: Any) -> None:
        self.questions.append(question)


def seen(speed_m_s: float | None, bottom_m: float | None) -> Any:
    own = SimpleNamespace(speed_mean_m_s=None, speed_m_s=speed_m_s)
    return SimpleNamespace(own=own, bottom_m=bottom_m, t_s=9.0, observations=(), rods=(), crew=None)


def test_a_guide_is_asked_anew_only_where_its_question_changes(two_rods: Spread) -> None:
    knowing, beside = Knowing(two_rods, None), Asked()
    knowing._guides = beside  # type: ignore[assignment]
    assert knowing.guide(seen(1.0, 20.0)) is None
    assert beside.questions == [], "no rod is under calibration"
    knowing.begin_purpose(seen(1.0, 20.0), "1")
    for unknown in (seen(None, 20.0), seen(1.0, None)):
        assert knowing.guide(unknown) is None
    assert beside.questions == [], "without a speed and a bottom there is none"
    for bottom_m, asked in ((20.0, 1), (20.0, 1), (20.5, 1), (19.5, 1), (20.51, 2), (20.1, 2), (20.0, 3)):
        assert knowing.guide(seen(1.2, bottom_m)) is None
        assert len(beside.questions) == asked, bottom_m
    first, *_, newest = beside.questions
    assert (first.purpose.key, first.purpose.speed_m_s, first.bottom_m) == ("1", 1.2, 20.0)
    beside.made = (first, "an older guide")
    assert knowing.guide(seen(1.2, 20.0)) is None
    beside.made = (newest, "the guide")
    assert knowing.guide(seen(1.9, 20.0)) == "the guide", "the speed is that of the beginning"
    assert knowing.purpose is not None
    knowing.purpose = replace(knowing.purpose, speed_m_s=1.3)
    assert knowing.guide(seen(1.2, 20.0)) is None
    assert len(beside.questions) == 4


def test_a_plan_is_being_made_until_its_own_answer_or_a_trouble() -> None:
    planning, beside = SpreadPlanning(), Asked()
    planning._beside = beside  # type: ignore[assignment]
    assert (planning.busy, planning.newest, planning.proposal) == (False, None, None)
    first, second = object(), object()
    planning.ask(first)  # type: ignore[arg-type]
    assert planning.busy
    beside.made = SimpleNamespace(question=first)
    assert not planning.busy
    assert planning.proposal is planning.newest is beside.made
    planning.ask(second)  # type: ignore[arg-type]
    assert (planning.busy, planning.newest) == (True, None), "the answer is that of the question before"
    beside.trouble = "no water"
    assert not planning.busy
    beside.trouble, beside.made = "", SimpleNamespace(question=second)
    planning.done(entered=True)
    assert (planning.busy, planning.proposal, planning.was_entered) == (False, None, True)
    assert planning.newest is beside.made


def test_compiling_may_end_twice() -> None:
    progress = Progress()
    progress.begin()
    progress.end()
    progress.end()
    assert not progress.path.exists()


def test_an_entry_that_was_saved_is_taken_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One that was refused, or that the watch knows already, is not; an alert seen is told to the lookout too."""
    acted: list[Any] = []
    seen: list[str] = []
    note, known = SimpleNamespace(id="new"), SimpleNamespace(id="known")
    alert = parse({"id": "a", "time": "2026-07-18T23:00:00Z", "kind": "acknowledge", "alert": "crossing 1"})
    watch: Any = SimpleNamespace(knows=lambda name: name == "known", act=acted.append)
    session: Any = SimpleNamespace(
        _acts=SimpleNamespace(take=lambda: [None, note, known, alert]),
        _lookout=SimpleNamespace(acknowledge=seen.append),
    )
    monkeypatch.setattr(live, "accepted", lambda stored: stored)
    assert live.Live._take_saved(session, watch)
    assert (acted, seen) == ([note, alert], ["crossing 1"])
    session._lookout = None
    live.Live._take_saved(session, watch)
    assert seen == ["crossing 1"]
    session._acts = SimpleNamespace(take=list)
    assert not live.Live._take_saved(session, watch)


# -- on the water, a step of the session by hand ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pending_s", "to_s"), [(None, 10.0), (9.5, 9.499), (8.001, 8.0), (8.0, 10.0), (3.0, 10.0), (12.0, 10.0)]
)
def test_a_step_waits_two_seconds_for_an_entry_that_is_being_stored(pending_s: float | None, to_s: float) -> None:
    """Lines stamped later than the step's end stay for the next."""
    made: Any = live.Live.__new__(live.Live)
    lines = [SimpleNamespace(t_s=t) for t in (1.0, 8.0, 9.499, 9.6, 10.0)]
    taken: list[float] = []
    ended: list[float] = []
    board = SimpleNamespace(utc_offset=lambda now: 1000.0 + now)
    watch = SimpleNamespace(board=board, alerts=SimpleNamespace(outside=()))
    intake: Any = SimpleNamespace(take=lambda line: taken.append(line.t_s), to=ended.append, watch=watch)
    made._turning, made._waiting = nullcontext(), deque(lines[:2])
    made._hub = SimpleNamespace(cut=lambda: (lines[2:], 10.0))
    made._acts = SimpleNamespace(earliest_pending_s=pending_s)
    made._troubles = lambda: ("trouble",)
    made._take_lines(intake)
    assert ended == [pytest.approx(to_s)]
    assert taken == [line.t_s for line in lines if line.t_s <= ended[0]]
    assert [line.t_s for line in made._waiting] == [line.t_s for line in lines if line.t_s > ended[0]]
    assert made._offset_s == 1000.0 + ended[0]
    assert watch.alerts.outside == ("trouble",)


@pytest.mark.parametrize(("offset_s", "stamped"), [(None, 1_784_000_000.25), (1_700_000_000.0, 1_700_000_012.5)])
def test_an_entry_has_the_feeds_time_where_it_is_known_and_else_this_computers(
    offset_s: float | None, stamped: float
) -> None:
    made: Any = live.Live.__new__(live.Live)
    made._turning, made._offset_s = nullcontext(), offset_s
    made._hub = SimpleNamespace(moment=lambda: (12.5, 1_784_000_000_250))
    made._acts = SimpleNamespace(submit=lambda *given: given)
    assert made.submit("hit", "3", species="coho") == ("hit", "3", {"species": "coho"}, 12.5, stamped)


def test_the_end_of_a_trip_is_kept_once_and_so_is_its_undoing() -> None:
    made: Any = live.Live.__new__(live.Live)
    kept: list[tuple[str, bool]] = []
    taught: list[Any] = []
    made._trip, made._ended = "t", None
    made._logbook = SimpleNamespace(end_trip=lambda trip, when: kept.append((trip, when is not None)))
    made._knowing = SimpleNamespace(teach=lambda *given: taught.append(given))
    facts = SimpleNamespace(ended=None)
    watch: Any = SimpleNamespace(
        crew=SimpleNamespace(facts=facts), spread="spread",
        memory=SimpleNamespace(observed=SimpleNamespace(all=("o",))),
    )  # fmt: skip
    for ended, tells, teaches in ((None, 0, 0), (5.0, 1, 1), (5.0, 1, 1), (None, 2, 1), (7.0, 3, 2)):
        facts.ended = ended
        made._keep_end(watch)
        assert (len(kept), len(taught)) == (tells, teaches)
    assert kept == [("t", True), ("t", False), ("t", True)]
    assert taught[0] == ("spread", ("o",))
    made._knowing, facts.ended = None, None
    made._keep_end(watch)
    facts.ended = 9.0
    made._keep_end(watch)
    assert len(taught) == 2
