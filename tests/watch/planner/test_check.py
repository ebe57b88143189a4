"""The check of a spread beside a session: made for what the rods have now, and only when that has changed."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace

import pytest

from sternwatch.answers.checks.findings import Finding
from sternwatch.gear.spread_file.models import USUAL_M_S, Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.fold import apply
from sternwatch.watch.background import Beside
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.planner.check import KINDS, Checked, Checking, Question, steady

# As agreed: a change of one is to be noticed.
SPEED_STEP_M_S = 0.1

US = SYSTEMS["us"]
BEGIN = "2026-08-20T01:00:00+00:00"


def until(wanted: Callable[[], bool]) -> None:
    end = time.monotonic() + 180.0  # the solver may have to be compiled first
    while not wanted():
        assert time.monotonic() < end, "nothing came"
        time.sleep(0.005)


class TestBeside:
    def test_the_newest_question_is_answered_and_older_ones_are_passed_over(self) -> None:
        go, asked = threading.Event(), []

        def work(question: int) -> int:
            asked.append(question)
            go.wait(5.0)
            return question * 10

        beside: Beside[int, int] = Beside(work, "test")
        beside.ask(1)
        until(lambda: asked == [1])
        beside.ask(2)
        beside.ask(3)
        assert beside.made is None
        go.set()
        until(lambda: beside.made == 30)
        assert asked == [1, 3]
        beside.stop()

    def test_a_failure_is_said_keeps_the_last_answer_and_ends_nothing(self) -> None:
        beside: Beside[int, float] = Beside(lambda question: 1 / question, "test")
        beside.ask(1)
        until(lambda: beside.made == 1.0)
        beside.ask(0)
        until(lambda: beside.trouble != "")
        assert "ZeroDivisionError" in beside.trouble
        assert beside.made == 1.0
        beside.ask(2)
        until(lambda: beside.made == 0.5)
        assert beside.trouble == ""
        beside.stop()

    def test_nothing_is_begun_after_the_stop(self) -> None:
        asked: list[int] = []
        beside: Beside[int, None] = Beside(asked.append, "test")
        beside.stop()
        beside.ask(1)
        time.sleep(0.05)
        assert asked == []


ASKED = Question((), 1.0, True, None, 30.0, None)


class TestSteady:
    @pytest.mark.parametrize(
        "wanted",
        [replace(ASKED, speed_m_s=1.0 + 0.9 * SPEED_STEP_M_S), replace(ASKED, bottom_m=30.9)],
    )
    def test_what_hardly_moved_is_the_same_question(self, wanted: Question) -> None:
        assert steady(ASKED, wanted) == ASKED

    @pytest.mark.parametrize(
        "wanted",
        [
            replace(ASKED, speed_m_s=1.0 + 1.1 * SPEED_STEP_M_S),
            replace(ASKED, bottom_m=28.5),
            replace(ASKED, bottom_m=None),
            replace(ASKED, people=2),
            replace(ASKED, own_speed=False),
        ],
    )
    def test_what_may_change_the_answer_is_asked_anew(self, wanted: Question) -> None:
        assert steady(ASKED, wanted) == wanted


@pytest.fixture
def resting(spread: Spread) -> Picture:
    """The evening's boat before she moves, all rods in."""
    return new_watch(Setup(spread, start="in", members=0)).picture()


def acted(picture: Picture, kind: str, **fields: object) -> Picture:
    assert picture.crew is not None
    action = parse({"id": f"{kind} {len(picture.crew.entries)}", "time": BEGIN, "kind": kind, **fields})
    return replace(picture, crew=apply(picture.crew, action))


def checked(checking: Checking, picture: Picture, before: Checked | None = None) -> Checked:
    checking.offer(picture)
    until(lambda: checking.checked is not None and checking.checked is not before)
    assert checking.checked is not None
    return checking.checked


def test_before_she_moves_the_spread_is_checked_at_the_usual_speed(spread: Spread, resting: Picture) -> None:
    checking = Checking(spread, US)
    found = checked(checking, resting)
    assert found.question.speed_m_s == USUAL_M_S
    assert not found.question.own_speed
    assert found.check is not None
    assert found.check.speed_through_water_m_s == USUAL_M_S
    assert [load.key for load in found.check.loads] == [rod.key for rod in spread.rods]
    assert (found.findings, found.line) == ((), "")
    checking.stop()


def test_the_crews_own_lengths_and_people_are_checked_and_the_worst_is_named(
    spread: Spread, resting: Picture
) -> None:
    checking = Checking(spread, US)
    first = checked(checking, resting)
    # Rod 3's diver at its neighbour's setting and length: the two run into one another.
    same = acted(acted(resting, "setting", rod="3", setting="high"), "length", rod="3", line_out_m=165 * 0.3048)
    second = checked(checking, acted(same, "trip", people=2), first)
    kinds = [finding.kind for finding in second.findings]
    assert kinds[0] == "neighbours"
    assert set(second.findings[0].keys) == {"2", "3"}
    assert "rods" in kinds  # eight rods, and three each for two people
    assert second.line.startswith(f"Check: {len(kinds)} findings, worst: 2 and 3, too close")
    checking.stop()


def test_the_bottom_counts_where_she_trolls_not_at_the_dock(spread: Spread, resting: Picture) -> None:
    checking = Checking(spread, US)
    shallow = replace(resting, bottom_m=4.0)
    first = checked(checking, shallow)
    assert first.question.bottom_m is None
    trolling = replace(shallow, own=replace(resting.own, speed_mean_m_s=1.0))
    second = checked(checking, trolling, first)
    assert second.question.bottom_m == 4.0
    assert {finding.kind for finding in second.findings} >= {"bottom"}
    checking.stop()


def test_an_unchanged_picture_is_not_checked_again(spread: Spread, resting: Picture) -> None:
    checking = Checking(spread, US)
    first = checked(checking, resting)
    checking.offer(replace(resting, t_s=resting.t_s + 60.0))
    time.sleep(0.2)
    assert checking.checked is first
    checking.stop()


def test_a_check_that_fails_is_said(spread: Spread, resting: Picture) -> None:
    checking = Checking(spread, US)
    assert resting.crew is not None
    rods = dict(resting.crew.rods)
    rods["2"] = replace(rods["2"], setting="nowhere")  # the fold never lets it come so far
    found = checked(checking, replace(resting, crew=replace(resting.crew, rods=rods)))
    assert found.check is None
    assert "no setting" in found.trouble
    assert found.line == ""
    checking.stop()


def test_the_findings_in_one_line_the_worst_first() -> None:
    kinds = list(KINDS)
    question = Question((), 1.0, False, None, None, None)
    found = ((kinds[1], ("3",)), (kinds[0], ("1", "2")), ("new", ()))
    made = [Finding(kind, keys, "", "", "", "", {}) for kind, keys in found]

    def line(*findings: Finding) -> str:
        return Checked(SimpleNamespace(findings=findings), question).line  # type: ignore[arg-type]

    assert line() == ""
    assert Checked(None, question).line == ""
    assert line(made[0]) == f"Check: 1 finding: 3, {KINDS[kinds[1]]}"
    assert line(*made) == f"Check: 3 findings, worst: 1 and 2, {KINDS[kinds[0]]}"
    assert line(made[2]) == "Check: 1 finding: the whole spread, new"


def test_with_another_number_of_people_it_is_one_spread_as_long_as_neither_changes(two_rods: Spread) -> None:
    made = Checking(two_rods, US)
    assert made._of_people(two_rods, None) is two_rods
    three = made._of_people(two_rods, 3)
    assert three.boat.people == 3
    assert made._of_people(two_rods, 3) is three
    assert made._of_people(two_rods, 4).boat.people == 4
    other = two_rods.model_copy()
    assert made._of_people(other, 4) is not made._of_people(two_rods, 4)
