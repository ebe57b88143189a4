"""When a way that is followed is planned anew, which of the new ways is taken, and what the helm is told of it."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again import following as module
from sternwatch.watch.again.following import Following, Wanted, _Answer, _Question
from sternwatch.watch.again.looking_back import Nearest
from sternwatch.watch.again.plan import Cannot, Proposal, Target
from sternwatch.watch.again.steering import Steering

METRIC = SYSTEMS["metric"]
ON_IT = Steering(course_deg=0.0, off_m=0.0, turn_in_s=None, turn_deg=0.0, pass_in_s=300.0, sample=7)


@pytest.fixture
def wanting() -> Following:
    made = Following()
    made.want_place("2", (-50.0, 80.0))
    return made


@pytest.fixture
def steered(wanting: Following, way: Proposal) -> Following:
    """Asked at 100 s; that plan is steered."""
    wanting.found, wanting.steering, wanting._asked_s = (way,), ON_IT, 100.0
    return wanting


def answer(
    following: Following, *found: Proposal, keeping: bool = False, t_s: float = 100.0, instead: str = ""
) -> None:
    """A plan comes for the newest question."""
    following._asked += 1
    question = _Question(following._asked, None, t_s, keeping)  # type: ignore[arg-type]
    following._beside.made = _Answer(question, found or Cannot("No way"), instead)


def in_(way: Proposal, time_s: float, **changed: Any) -> Proposal:
    return replace(way, passed=replace(way.passed, time_s=time_s), **changed)


def test_without_a_way_it_asks_at_once_and_every_ten_seconds(wanting: Following) -> None:
    assert wanting._is_due(0.0)
    wanting._asked_s = 100.0
    assert [wanting._is_due(t) for t in (109.9, 110.0)] == [False, True]
    wanting._asked += 1
    assert wanting.waiting
    assert not wanting._is_due(900.0), "the plan under way is waited for"
    wanting._beside.trouble = "ValueError: of the planner"
    assert wanting._is_due(900.0), "a plan that failed is not waited for"
    assert wanting.words(METRIC, {})[0] == "AGAIN ValueError: of the planner"


def test_a_way_that_is_not_steered_yet_is_as_none(steered: Following) -> None:
    steered.steering = None
    assert [steered._is_due(t) for t in (109.9, 110.0)] == [False, True]


@pytest.mark.parametrize(
    ("now", "again_s"),
    [
        (ON_IT, 30.0),
        (replace(ON_IT, pass_in_s=45.0), 30.0),
        (replace(ON_IT, pass_in_s=44.9), None),
        (replace(ON_IT, turn_in_s=15.1), 30.0),
        (replace(ON_IT, turn_in_s=15.0), None),
        (replace(ON_IT, turn_in_s=0.0), None),
    ],
)
def test_on_the_way_it_is_aimed_again_on_straights_that_last(
    steered: Following, now: Steering, again_s: float | None
) -> None:
    steered.steering = now
    due = [t / 10.0 for t in range(3600) if steered._is_due(100.0 + t / 10.0)]
    assert (due[0] if due else None) == again_s


def test_off_the_way_it_is_planned_anew_after_six_seconds_and_ten_since_the_last_plan(steered: Following) -> None:
    steered._lost_since_s = 103.0
    assert [steered._is_due(t) for t in (109.5, 110.0)] == [False, True]
    steered._lost_since_s = 200.0
    assert [steered._is_due(t) for t in (205.9, 206.0)] == [False, True]


def test_after_the_pass_nothing_is_asked(steered: Following) -> None:
    steered.passed = "AGAIN passed"
    assert not steered._is_due(900.0)
    assert steered.bar == ""


def test_a_way_aimed_again_is_the_one_that_passes_as_soon(steered: Following, way: Proposal) -> None:
    """300 s to go. Planned 20 s ago: of ways of 290, 330 and 400 s the second comes at 310 s, nearest to that."""
    sooner, same, later = in_(way, 290.0), in_(way, 330.0), in_(way, 400.0)
    answer(steered, later, same, sooner, keeping=True)
    steered._take(120.0)
    assert steered.chosen is not None
    assert steered.chosen.time_s == 330.0
    assert steered.chosen.names == ("soonest",)
    assert steered.steering is None, "steered from the first piece on"


@pytest.mark.parametrize(("time_s", "taken"), [(360.0, True), (360.1, False), (280.0, True), (279.9, False)])
def test_a_pass_at_quite_another_time_is_another_way(
    steered: Following, way: Proposal, time_s: float, taken: bool
) -> None:
    answer(steered, in_(way, time_s), keeping=True)
    steered._take(120.0)
    assert (steered.chosen is not way) is taken
    assert (steered.steering is None) is taken


def test_a_way_that_is_kept_stays_where_no_other_is_found(steered: Following, way: Proposal) -> None:
    answer(steered, keeping=True)
    steered._take(120.0)
    assert steered.chosen is way
    assert steered.steering is ON_IT


def test_only_the_way_that_is_steered_is_aimed_again(steered: Following, way: Proposal) -> None:
    back = in_(way, 500.0, reverse=True, names=("surest",))
    steered.found, steered.index = (way, back), 1
    answer(steered, in_(way, 320.0, reverse=True, names=("soonest", "surest")), keeping=True)
    steered._take(120.0)
    assert isinstance(steered.found, tuple)
    assert steered.found[0] is way
    assert (steered.found[1].time_s, steered.found[1].names, steered.index) == (320.0, ("surest",), 1)


def test_planned_anew_she_goes_on_in_the_same_direction(steered: Following, way: Proposal) -> None:
    steered._lost_since_s = 90.0
    back = in_(way, 100.0, reverse=True)
    answer(steered, back, in_(way, 200.0))
    steered._take(120.0)
    assert (steered.index, steered.steering, steered._lost_since_s) == (1, None, None)
    assert steered.words(METRIC, {"2": "S LOW"})[1].startswith("soonest: ")
    steered.steering = ON_IT
    answer(steered, back)
    steered._take(140.0)
    assert steered.index == 0
    for now_s, told in ((140.0, True), (200.0, True), (200.1, False)):
        steered._now_s = now_s
        said = steered.words(METRIC, {"2": "S LOW"})[1]
        assert said.startswith("The way steered so far can no longer be kept; instead soonest:") is told


def test_the_first_ways_are_steered_from_the_soonest(wanting: Following, way: Proposal) -> None:
    answer(wanting, way, in_(way, 900.0), instead="Not at that speed; instead")
    wanting._take(120.0)
    assert wanting.chosen is way
    assert not wanting.waiting
    wanting._now_s = 121.0
    assert wanting.words(METRIC, {})[1].startswith("Not at that speed; instead soonest")


def test_an_answer_to_an_older_wish_is_not_taken(wanting: Following, way: Proposal) -> None:
    answer(wanting, way)
    wanting.want_hit("h")
    wanting._take(120.0)
    assert wanting.found is None
    assert wanting.wanted == Wanted(hit="h")
    answer(wanting, way)
    wanting._take(121.0)
    assert wanting.chosen is way
    wanting.found = None
    wanting._take(122.0)
    assert wanting.found is None, "an answer is taken once"


def test_next_goes_round(steered: Following, way: Proposal) -> None:
    steered.found = (way, in_(way, 500.0), in_(way, 600.0))
    seen = []
    for _ in range(4):
        steered.steering, steered.passed, steered._past_s = ON_IT, "AGAIN passed", 90.0
        steered.next()
        assert (steered.steering, steered.passed, steered._past_s) == (None, "", None)
        assert steered.chosen is not None
        seen.append(steered.chosen.time_s)
    assert seen == [500.0, 600.0, way.time_s, 500.0]
    for nothing in (None, (), Cannot("No way")):
        steered.found, steered.index = nothing, 0
        steered.next()
        assert (steered.index, steered.chosen) == (0, None)


def test_the_report_comes_twenty_seconds_after_the_pass_and_stands_for_a_minute(
    steered: Following, way: Proposal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "nearest_now", lambda *_: Nearest(3.0, 18.0, (17.0, 19.0), 4.0))
    for pass_in_s, told in ((-19.9, False), (-20.0, True)):
        now = replace(ON_IT, pass_in_s=pass_in_s)
        steered._look_back(SimpleNamespace(now_s=500.0), way, now, METRIC)  # type: ignore[arg-type]
        assert bool(steered.passed) is told
        assert (steered.words(METRIC, {})[0] == steered.passed) is told
    for now_s, stands in ((560.0, True), (560.1, False)):
        steered._look_back(SimpleNamespace(now_s=now_s), way, ON_IT, METRIC)  # type: ignore[arg-type]
        assert (steered.wanted is not None) is stands
    assert steered._past_s is None
    assert math.isinf(steered._asked_s)


def test_a_step_is_steered_once_however_often_it_is_offered(
    wanting: Following, way: Proposal, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[float] = []

    def steer(watch: Any, _: object) -> None:
        steps.append(watch.t_s)
        wanting.steering = replace(ON_IT, pass_in_s=10.0)

    monkeypatch.setattr(wanting, "_steer", steer)
    monkeypatch.setattr(wanting, "_ask", lambda *_: None)
    wanting.found = (way,)
    for t_s in (1.0, 1.0, 1.0, 2.0, 2.0):
        wanting.offer(SimpleNamespace(now_s=t_s, t_s=t_s), None, METRIC)  # type: ignore[arg-type]
    assert steps == [1.0, 2.0]


def test_lost_counts_from_when_she_left_the_way(wanting: Following, way: Proposal) -> None:
    """40 m beside it is on it still, 60 m is not."""
    wanting.found = (way,)
    seen = []
    for now_s, east in ((1.0, -40.0), (2.0, -60.0), (3.0, -60.0), (5.0, 0.0), (6.0, -60.0)):
        watch = SimpleNamespace(
            now_s=now_s,
            bottom=SimpleNamespace(over=SimpleNamespace(transom_m=(40.0, east))),
            boat=SimpleNamespace(heading_deg=0.0, drift=SimpleNamespace(now_m_s=None)),
        )
        wanting._look_back = lambda *_: None  # type: ignore[method-assign]
        wanting._steer(watch, METRIC)  # type: ignore[arg-type]
        seen.append(wanting._lost_since_s)
    assert seen == [None, 2.0, 2.0, None, 6.0]


@pytest.mark.parametrize(
    ("by_ground", "sog", "speed"), [(False, None, 1.1), (True, 1.4, 1.4), (True, None, None), (True, 0.0, None)]
)
def test_a_hit_is_passed_again_at_its_speed_over_ground_where_that_is_known(
    wanting: Following, monkeypatch: pytest.MonkeyPatch, by_ground: bool, sog: float | None, speed: float | None
) -> None:
    target = Target("2", (1.0, 2.0), 17.0, 0.0, 1.1)
    outs: list[float | None] = []
    monkeypatch.setattr(module, "of_hit", lambda _context, _origin, out: (outs.append(out), target)[1])
    wanting.over_ground = by_ground
    wanting.want_hit("h")
    context = SimpleNamespace(rod="2", moment=SimpleNamespace(sog_m_s=sog))
    watch: Any = SimpleNamespace(
        memory=SimpleNamespace(hits=SimpleNamespace(by_id={"h": context})), bottom=SimpleNamespace(origin_deg=None),
        crew=SimpleNamespace(rods={"2": SimpleNamespace(line_out_m=33.0)}),
    )  # fmt: skip
    found = wanting._target_of(watch)
    if speed is None:
        assert isinstance(found, Cannot)
        assert "speed over ground at that hit" in found.why
    else:
        assert isinstance(found, Target)
        assert (found.speed_m_s, found.over_ground) == (speed, by_ground)
    assert outs == [33.0]


def test_where_a_speed_over_ground_cannot_be_had_the_way_at_her_speed_through_the_water_is_told(
    monkeypatch: pytest.MonkeyPatch, wanting: Following, way: Proposal
) -> None:
    possible: list[bool] = []
    targets: list[Target] = []

    def propose(asked: Any) -> Any:
        targets.append(asked.target)
        return (way,) if possible.pop(0) else Cannot("No way")

    monkeypatch.setattr(module, "propose", propose)
    monkeypatch.setattr(module, "replace", lambda one, **more: SimpleNamespace(**{**vars(one), **more}))

    def planned(*said: bool, over_ground: bool) -> _Answer:
        possible[:], targets[:] = said, []
        asked: Any = SimpleNamespace(speed_m_s=1.1, target=SimpleNamespace(speed_m_s=0.8, over_ground=over_ground))
        return wanting._plan(_Question(1, asked, 0.0, False))

    assert (planned(True, over_ground=True).instead, len(targets)) == ("", 1)
    assert (planned(False, over_ground=False).found, len(targets)) == (Cannot("No way"), 1)
    other = planned(False, True, over_ground=True)
    assert (other.found, [(one.speed_m_s, one.over_ground) for one in targets]) == (
        (way,), [(0.8, True), (1.1, False)],
    )  # fmt: skip
    assert other.instead == "Not possible at that speed over ground; shown for the speed through the water"
    assert (planned(False, False, over_ground=True).instead, len(targets)) == ("", 2)
