"""What stands beside a session: the question of a plan, what a fit tells of a purpose, and what is said meanwhile."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session
from sternwatch.watch.planner.beside_session import question_of
from sternwatch.watch.sessions import companions, how_sure, live, prepare, warm
from sternwatch.watch.sessions.companions import Companions
from sternwatch.watch.sessions.how_sure import Knowing
from watch.conftest import TWO_RODS

CURRENT = '[water]\ncurrent = [{ depth = "0 m", speed = "0.1 m/s", towards = "0 deg" }]\n'


# -- the question of a plan ------------------------------------------------------------------------------------------


def picture(spread: Spread, mean_m_s: float | None = 1.1, heading_deg: float | None = 90.0) -> Any:
    rods = {
        "1": SimpleNamespace(line_out_m=30.0, setting="low", lead_m=None),
        "2": SimpleNamespace(line_out_m=18.0, setting=None, lead_m=6.0),
    }
    own = SimpleNamespace(speed_mean_m_s=mean_m_s, heading_deg=heading_deg)
    return SimpleNamespace(crew=SimpleNamespace(gear=Rigging.of(spread), rods=rods), own=own)


@pytest.mark.parametrize(("mean", "own"), [(None, False), (0.49, False), (0.5, True), (2.2, True), (2.21, False)])
def test_a_plan_is_asked_for_at_her_own_speed_while_she_trolls(
    two_rods: Spread, mean: float | None, own: bool
) -> None:
    asked = question_of(picture(two_rods, mean), 10.0, 20.0, 90.0, 0.6)
    assert asked is not None
    assert asked.own_speed is own
    assert asked.speed_m_s == (mean if own else two_rods.boat.usual_m_s)
    assert dict(asked.rods) == {"1": RodNow(30.0, "low", None), "2": RodNow(18.0, None, 6.0)}
    assert (asked.from_m, asked.to_m, asked.u_turn_s, asked.pay_out_m_s) == (10.0, 20.0, 90.0, 0.6)


def test_her_heading_matters_in_a_current_alone(two_rods: Spread) -> None:
    flowing = parse_spread(CURRENT + TWO_RODS)
    for spread, heading, asked_rad in (
        (two_rods, 90.0, None), (flowing, 90.0, math.pi / 2.0), (flowing, None, None), (flowing, 0.0, 0.0),
    ):  # fmt: skip
        asked = question_of(picture(spread, heading_deg=heading), 10.0, 20.0, None, 0.6)
        assert asked is not None
        assert asked.heading_rad == (None if asked_rad is None else pytest.approx(asked_rad))


def test_where_the_rigs_are_not_known_no_plan_is_asked_for(two_rods: Spread) -> None:
    made = picture(two_rods)
    made.crew.gear = object()
    assert question_of(made, 10.0, 20.0, None, 0.6) is None
    made.crew = None
    assert question_of(made, 10.0, 20.0, None, 0.6) is None


# -- what a fit tells of a purpose -----------------------------------------------------------------------------------


def test_what_the_touches_of_a_purpose_have_told(two_rods: Spread, monkeypatch: pytest.MonkeyPatch) -> None:
    rows = [
        SimpleNamespace(key="1", interval_before_m=(9.0, 15.0), interval_after_m=(11.0, 13.0)),
        SimpleNamespace(key="2", interval_before_m=None, interval_after_m=(5.0, 6.0)),
    ]
    fits: list[Any] = [SimpleNamespace(report=SimpleNamespace(rods=rows))]
    monkeypatch.setattr(Knowing, "fitted", lambda *_: fits[0])
    knowing = Knowing(two_rods, None)
    asked: Any = None
    assert knowing.purpose_interval(asked) is None, "none is wanted"
    given: dict[str, Any] = {"begun_s": 0.0, "before": frozenset()}
    knowing.purpose = how_sure.Purpose(**given, key="1", interval_m=(1.0, 2.0))
    assert knowing.purpose_interval(asked) == (11.0, 13.0)
    assert knowing.purpose is not None
    assert knowing.purpose.interval_m == (9.0, 15.0), "as it was before them"
    knowing.purpose = how_sure.Purpose(**given, key="2", interval_m=(1.0, 2.0))
    assert knowing.purpose_interval(asked) == (5.0, 6.0)
    assert knowing.purpose.interval_m == (1.0, 2.0)
    knowing.purpose = how_sure.Purpose(**given, key="9", interval_m=None)
    assert knowing.purpose_interval(asked) is None
    fits[0] = None
    assert knowing.purpose_interval(asked) is None


@pytest.mark.parametrize(
    ("session", "trip"), [(Session.LIVE, "t1"), (Session.REPLAY, ""), (Session.DEMO, ""), (Session.PRACTICE, "")]
)
def test_what_is_fitted_belongs_to_the_trip_on_the_water_alone(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread, session: Session, trip: str
) -> None:
    known: list[tuple[Any, ...]] = []
    monkeypatch.setattr(companions, "gc", SimpleNamespace(collect=lambda: 0, freeze=lambda: None))
    monkeypatch.setattr(companions, "Knowing", lambda *given: known.append(given))
    monkeypatch.setattr(companions, "Checking", lambda *_: None)
    made = Companions()
    lookout = made._accompany(Setup(two_rods, session, trip="t1"), calm_every_s=4.0)
    lookout.stop()
    assert known == [(two_rods, None, trip)]


# -- what is said meanwhile ------------------------------------------------------------------------------------------


def test_what_keeps_a_session_busy_is_said_first_and_a_fault_of_the_lookout_last(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rest = ["the rest"]
    monkeypatch.setattr(companions.prepare, "preparing", lambda: "being compiled")
    monkeypatch.setattr(companions.prepare, "rest", lambda: rest[0])
    made = Companions()
    made._busy = prepare.PREPARING
    assert made.busy == "being compiled"
    made._busy = "it has stopped"
    assert made.busy == "it has stopped"
    made._busy = ""
    assert made.busy == "the rest"
    rest[0] = ""
    assert made.busy == ""
    made._lookout = SimpleNamespace(trouble="no forecast")  # type: ignore[assignment]
    assert made.busy == "no forecast"
    assert made._whole_solver() is True
    rest[0] = "again"
    assert made._whole_solver() is True, "what is compiled stays so"
    assert made.busy == "no forecast"


def test_nothing_is_asked_of_the_rest_of_the_solver_before_it_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    rest = ["the rest"]
    monkeypatch.setattr(companions.prepare, "rest", lambda: rest[0])
    offered: list[str] = []

    def takes(name: str, answer: bool | None = None) -> Any:
        return SimpleNamespace(offer=lambda *_: offered.append(name) or answer, outlook=None, checked="findings")

    made = Companions()
    assert (made.findings(), made.outlook(), made.knowing, made.trips) == (None, None, None, None)
    made._lookout, made._checking = takes("lookout", True), takes("check")
    made._knowing, made._again, made._passing = takes("knowing"), takes("again"), takes("pass")
    made._units = SYSTEMS["metric"]
    watch: Any = object()
    made._check(watch)
    assert made._look_ahead(watch) is False
    assert made.knowing is None
    assert offered == []
    rest[0] = ""
    made._check(watch)
    assert made._look_ahead(watch) is True
    assert offered == ["check", "lookout", "again", "pass"]
    assert made.findings() == "findings"
    assert made.knowing is made._knowing


@pytest.mark.parametrize("another", [None, lambda: None])
def test_another_trip_can_be_begun_where_one_can_be_made(another: Any) -> None:
    made = live.Live.__new__(live.Live)
    made._another = another
    assert (made.trips is made) is (another is not None)


# -- the first compile -----------------------------------------------------------------------------------------------


class Compiler:
    """Lines can be towed after so many looks, and all is compiled after some more."""

    def __init__(self, tows: int, ends: int) -> None:
        self.tows, self.ends, self.looks, self.begun = tows, ends, 0, 0

    def begin(self) -> None:
        self.begun += 1

    def ended(self, within_s: float = 0.0) -> bool:
        assert within_s == 0.1
        self.looks += 1
        return self.looks >= self.ends


@pytest.mark.parametrize(("tows", "ends", "looks"), [(0, 9, 0), (3, 9, 3), (9, 3, 3)])
def test_it_is_waited_for_until_lines_can_be_towed(
    monkeypatch: pytest.MonkeyPatch, tows: int, ends: int, looks: int
) -> None:
    made = Compiler(tows, ends)
    monkeypatch.setattr(prepare, "_compiler", made)
    monkeypatch.setattr(prepare, "is_prepared", lambda: False)
    monkeypatch.setattr(prepare, "can_tow", lambda: made.looks >= tows)
    prepare.prepare()
    assert (made.begun, made.looks) == (1, looks)
    if looks < ends:
        prepare.prepare_all()
        assert made.looks == ends
    monkeypatch.setattr(prepare, "is_prepared", lambda: True)
    prepare.prepare()
    assert made.begun == (2 if looks < ends else 1)


def test_what_is_compiled_is_marked_by_a_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Any) -> None:
    monkeypatch.setattr(prepare.places, "kernels_dir", lambda: tmp_path / "a" / "b")
    assert not prepare.can_tow()
    prepare.mark("tows")
    prepare.mark("tows")
    assert prepare.can_tow()
    assert not prepare.is_prepared()
    prepare.mark("ready")
    assert prepare.is_prepared()


@pytest.mark.parametrize(("heard_after", "alive", "waits"), [(0, True, 0), (3, True, 3), (99, False, 0)])
def test_a_part_is_waited_for_while_somebody_compiles_it(
    monkeypatch: pytest.MonkeyPatch, heard_after: int, alive: bool, waits: int
) -> None:
    slept: list[float] = []
    monkeypatch.setattr(warm.time, "sleep", slept.append)
    progress: Any = SimpleNamespace(heard=lambda: {"motion"} if len(slept) >= heard_after else set())
    process: Any = SimpleNamespace(poll=lambda: None if alive else 1)
    warm._wait("motion", progress, [process])
    assert slept == [0.05] * waits
    warm._wait("separation", progress, [])
    assert len(slept) == waits


@pytest.mark.parametrize("parts", [[], ["motion"], ["motion", "separation"]])
def test_one_process_begins_plays_and_ends_and_others_do_their_parts(
    monkeypatch: pytest.MonkeyPatch, parts: list[str]
) -> None:
    from sternwatch.hydro import warm as kernels
    from sternwatch.watch.sessions import compiling

    did: list[Any] = []
    for name in ("begin", "end", "listen"):
        monkeypatch.setattr(compiling.Progress, name, lambda _, name=name: did.append(name))
    monkeypatch.setattr(compiling.Progress, "done", lambda _, part: did.append(f"{part} done"))
    for name in ("steady", "told", "motion", "separation"):
        monkeypatch.setattr(kernels, name, lambda name=name: did.append(name))
    monkeypatch.setattr(warm.os, "nice", lambda by: did.append(f"steps back by {by}"), raising=False)
    monkeypatch.setattr(warm.gc, "set_threshold", lambda *after: did.append(after))
    monkeypatch.setattr(warm, "_beside", lambda count: [f"{count} cores"])
    monkeypatch.setattr(warm, "cores", lambda: 4)
    monkeypatch.setattr(warm, "_play", lambda _, beside: did.append(beside))
    assert warm.main(parts) == 0
    assert did.pop(0) == (50_000, 1_000, 1_000), "rubbish is seldom looked for"
    if parts:
        later = {"separation": ["steps back by 10"]}  # no depth waits for it
        assert did == ["listen", *(said for part in parts for said in (*later.get(part, []), part, f"{part} done"))]
    else:
        assert did == ["begin", "listen", "steady", "told", ["4 cores"], "end"]


def test_where_processes_cannot_step_back_they_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(warm.os, "nice", raising=False)
    warm._yield()


def test_the_cores_of_this_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(warm.os, "sched_getaffinity", lambda _: {0, 3, 5}, raising=False)
    assert warm.cores() == 3
    monkeypatch.delattr(warm.os, "sched_getaffinity")
    monkeypatch.setattr(warm.os, "cpu_count", lambda: None)
    assert warm.cores() == 1


def test_all_that_stands_beside_a_session_ends_with_it() -> None:
    made, stopped = Companions(), []  # type: ignore[var-annotated]
    made._part()
    for name in ("_lookout", "_checking", "_knowing", "_again", "_passing"):
        setattr(made, name, SimpleNamespace(stop=lambda name=name: stopped.append(name)))
    made._part()
    assert sorted(stopped) == ["_again", "_checking", "_knowing", "_lookout", "_passing"]
