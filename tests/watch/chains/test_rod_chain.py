"""One rod's chain: what the crew's acts make of it, and when it is settled, old, slack or under."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.chain.model import Line
from sternwatch.logbook.crew.state import CrewRod, When
from sternwatch.watch.chains import rod_chain as module
from sternwatch.watch.chains.chains import Chains
from sternwatch.watch.chains.members import Members, at_length, first_length_m
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.picture.model import SolverState


def crewed(key: str, state: str = "fishing", **more: Any) -> CrewRod:
    return CrewRod(key, f"ROD {key}", state, **{"line_out_m": 30.0, "setting": None, "lead_m": None, **more})  # type: ignore[arg-type]


@pytest.fixture
def diver(two_rods: Spread) -> RodChain:
    return RodChain.of(two_rods, two_rods.rods[0], crewed("1"), 0.5)


@pytest.fixture
def ball(two_rods: Spread) -> RodChain:
    return RodChain.of(two_rods, two_rods.rods[1], crewed("2"), 0.5)


def in_water(chain: RodChain, length_m: float = 40.0) -> RodChain:
    """As after some steps; nothing is computed."""
    chain.place = SimpleNamespace(depth_m=12.0)  # type: ignore[assignment]
    chain.rig = SimpleNamespace(length_m=length_m)  # type: ignore[assignment]
    chain.state = chain.rows = SimpleNamespace()  # type: ignore[assignment]
    chain.t_s, chain.started_s, chain.towed_m = 100.0, 60.0, 1000.0
    return chain


def follow(chain: RodChain, state: str, **more: Any) -> None:
    chain.follow_crew(chain.crew, replace(chain.crew, state=state, **more))  # type: ignore[arg-type]


@pytest.mark.parametrize(("down", "clipped"), [(False, True), (True, False)])
def test_a_rod_clipped_to_a_cable_that_is_not_down_is_dropped(diver: RodChain, down: bool, clipped: bool) -> None:
    chain = in_water(diver)
    chain.attached_to = "2"
    chain.rig = SimpleNamespace(attach=("2", 3.0) if clipped else None)  # type: ignore[assignment]
    parent: Any = SimpleNamespace(cable_point=lambda _: None) if down else None
    assert chain._parts(0.0, parent, None) == []
    assert (chain.place, chain.why) == (None, "rod 2 is not down")


def test_a_clipped_rods_members_begin_on_their_own_cables(diver: RodChain) -> None:
    attached: Any = SimpleNamespace(attach=("2", 3.0))
    cable: Any = SimpleNamespace(members=SimpleNamespace(clips=lambda above_m: ("clips", above_m)))
    for rig, parent in ((attached, None), (attached, SimpleNamespace(members=None)), (None, cable)):
        diver.rig = rig
        assert diver._member_clips(parent) is None  # type: ignore[arg-type]
    diver.rig = SimpleNamespace(attach=None)  # type: ignore[assignment]
    assert diver._member_clips(cable) is None
    diver.rig = attached
    assert diver._member_clips(cable) == ("clips", 3.0)


def test_chains_are_rigged_anew_only_where_the_gear_changes() -> None:
    """One that is rigged differently takes those clipped to its cable along."""
    asked: list[Any] = []

    class One:
        def __init__(self, key: str, on: str | None, *, other: bool) -> None:
            self.key, self.attached_to, self.other, self.dropped = key, on, other, False

        def rig_as(self, spread: Any) -> bool:
            asked.append((self.key, spread))
            return self.other

        def drop(self) -> None:
            self.dropped = True

        def follow_crew(self, *_: Any) -> None:
            asked.append(self.key)

    ones = [One("1", None, other=True), One("2", "1", other=False), One("3", "4", other=False)]
    chains: Any = Chains({one.key: one for one in ones}, None)  # type: ignore[misc]
    gear, rods = object(), dict.fromkeys("123")
    before: Any = SimpleNamespace(gear=gear, rods=rods)
    chains.follow_crew(before, SimpleNamespace(gear=gear, rods=rods), "other")
    assert asked == ["1", "2", "3"]
    chains.follow_crew(before, SimpleNamespace(gear=object(), rods=rods), "other")
    assert asked[3:] == [("1", "other"), ("2", "other"), ("3", "other"), "1", "2", "3"]
    assert [one.dropped for one in ones] == [False, True, False]
    after: Any = SimpleNamespace(gear=gear, rods=rods)
    chains.follow_crew(before, after, "other")
    chains.follow_crew(before, after, "other")
    assert asked[9:] == ["1", "2", "3"], "nothing new to follow"


def test_a_rod_that_fishes_has_its_whole_line_out_and_one_going_out_begins_at_the_water(diver: RodChain) -> None:
    assert (diver.out, diver.reading_m, diver.moving) == (True, 30.0, 0.0)
    going = RodChain.of(diver.spread, diver.rod, crewed("1", "letting out"), 0.5)
    assert going.out
    assert going.reading_m is not None
    assert going.reading_m < 5.0
    assert going.moving == 1.0
    later = RodChain.of(diver.spread, diver.rod, crewed("1", "letting out", let_out_s=10.0), 0.5)
    assert later.reading_m == pytest.approx(going.reading_m + 10.0 * 0.5)
    for state in ("in", "fighting"):
        none = RodChain.of(diver.spread, diver.rod, crewed("1", state), 0.5)
        assert (none.out, none.moving) == (False, 0.0)


@pytest.mark.parametrize(
    ("change", "restarts"),
    [({}, False), ({"setting": "low"}, True), ({"lead_m": 5.0}, True), ({"line_out_m": 50.0}, False)],
)
def test_what_the_crew_had_in_hand_restarts(diver: RodChain, change: dict[str, Any], restarts: bool) -> None:
    in_water(diver)
    follow(diver, "fishing", **change)
    assert (diver.place is None) is restarts
    assert diver.out
    assert diver.reel.target_m == change.get("line_out_m", 30.0)
    assert diver.reading_m == 30.0, "line runs as quickly as it does"


def test_a_fight_takes_the_line_and_leaves_a_ball(diver: RodChain, ball: RodChain) -> None:
    for chain, stays in ((diver, False), (ball, True)):
        assert chain.keeps_ball is stays
        in_water(chain)
        follow(chain, "fighting")
        assert (chain.out, chain.ball_only, chain.place) == (stays, stays, None)
        follow(chain, "fishing")
        assert (chain.out, chain.ball_only) == (True, False)
        follow(chain, "in")
        assert (chain.out, chain.ball_only) == (False, False)


def test_with_its_length_lost_nothing_is_known_of_a_line_but_the_ball_stays(diver: RodChain, ball: RodChain) -> None:
    for chain, stays in ((diver, False), (ball, True)):
        in_water(chain)
        follow(chain, "fishing", length_lost=True)
        assert (chain.out, chain.ball_only, chain.place) == (stays, stays, None)
        follow(chain, "fishing", length_lost=False)
        assert (chain.out, chain.ball_only) == (True, False)


def test_another_rig_of_the_spread_restarts_and_the_same_does_not(diver: RodChain, spread: Spread) -> None:
    in_water(diver)
    assert not diver.rig_as(diver.spread)
    assert diver.place is not None
    assert diver.rig_as(spread)
    assert diver.rod is spread.rods[0]
    assert (diver.place, diver.out, diver.reel.rod) == (None, False, spread.rods[0])


@pytest.mark.parametrize(
    ("towed_m", "since_s", "settled"),
    [(60.0, 20.0, True), (59.9, 20.0, False), (60.0, 19.9, False), (900.0, 900.0, True)],
)
def test_settled_after_one_and_a_half_lengths_and_twenty_seconds(
    diver: RodChain, towed_m: float, since_s: float, settled: bool
) -> None:
    in_water(diver, 40.0)
    diver.towed_m, diver.t_s, diver.started_s = towed_m, 100.0 + since_s, 100.0
    assert diver.settled is settled
    assert diver.solver is (SolverState.SETTLED if settled else SolverState.UNSETTLED)
    diver.begin_anew(100.0 + since_s)
    assert not diver.settled
    assert (diver.towed_m, diver.started_s) == (0.0, 100.0 + since_s)


def test_the_worst_that_is_known_of_a_chain_is_said(diver: RodChain) -> None:
    assert diver.solver is SolverState.NONE
    assert not diver.settled
    in_water(diver)
    said = [diver.solver]
    for name, value in (
        ("slack", True),
        ("under", True),
        ("why", "it did not converge"),
        ("dark", True),
        ("out", False),
    ):
        setattr(diver, name, value)
        said.append(diver.solver)
    assert said == [
        SolverState.SETTLED, SolverState.SLACK, SolverState.PULLED_UNDER, SolverState.FAILED, SolverState.OLD,
        SolverState.NONE,
    ]  # fmt: skip
    diver.out, diver.dark, diver.place = True, False, None
    assert diver.solver is SolverState.FAILED, "why it is not known"


def test_dropped_nothing_of_it_stays(diver: RodChain) -> None:
    in_water(diver)
    diver.slack = diver.under = diver.rough = True
    diver.under_since_s, diver.failed, diver.why = 5.0, 3, "why"
    diver.trend.append((1.0, 2.0))
    diver.drop()
    assert (diver.slack, diver.under, diver.rough, diver.under_since_s, diver.failed) == (False,) * 3 + (None, 0)
    assert (diver.why, diver.place, diver.state, list(diver.trend)) == ("", None, None, [])
    assert diver.change_10s_m is None


def test_before_it_is_towed_nothing_is_said_of_it(diver: RodChain) -> None:
    assert (diver.slack, diver.under, diver.rough, diver.dark, diver.failed, diver.why) == (*(False,) * 4, 0, "")


@pytest.mark.parametrize(("hidden", "gone"), [(False, False), (True, False), (True, True)])
def test_without_a_speed_a_chain_grows_old_is_hidden_and_goes(diver: RodChain, hidden: bool, gone: bool) -> None:
    in_water(diver)
    diver.trend.append((1.0, 2.0))
    diver.go_dark(hidden=hidden, gone=gone)
    assert (diver.place is None, len(diver.trend) == 0, diver.state is None) == (hidden, hidden, gone)
    assert diver.solver is (SolverState.NONE if hidden else SolverState.OLD)


@pytest.mark.parametrize(
    ("begun_s", "change"), [(90.0, 3.0), (90.1, None), (89.0, 3.0), (90.0 + 1e-7, 3.0)]
)  # fmt: skip
def test_the_change_of_ten_seconds_is_told_once_ten_are_known(
    diver: RodChain, begun_s: float, change: float | None
) -> None:
    diver.trend = deque([(begun_s, 10.0), (95.0, 99.0), (100.0, 13.0)])
    assert diver.change_10s_m == change
    diver.trend = deque([(100.0, 13.0)])
    assert diver.change_10s_m is None


def looked(monkeypatch: pytest.MonkeyPatch, *, under: bool = False, slack: bool = False) -> None:
    """The solver's state is read, as it is told here."""
    report = SimpleNamespace(slack=slack, board_under=under)
    monkeypatch.setattr(module.motion_report, "report", lambda *_: report)
    place = SimpleNamespace(depth_m=10.0, depth_interval_m=(8.0, 12.0))
    monkeypatch.setattr(module, "place_of", lambda *_: place)


def test_a_board_under_for_three_seconds_is_said_and_over_at_once(
    diver: RodChain, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_water(diver)
    waters: Any = SimpleNamespace(flow=None)
    seen = []
    for t_s, under in ((1.0, True), (3.9, True), (4.0, True), (5.0, False), (6.0, True), (8.9, True), (9.0, True)):
        looked(monkeypatch, under=under, slack=under)
        diver._look(t_s, None, waters, None)  # type: ignore[arg-type]
        assert diver.slack is under
        seen.append(diver.under)
    assert seen == [False, False, True, False, False, False, True]
    assert diver.rough, "4 m are more than a quarter of 10"
    diver._look(14.1, None, waters, None)  # type: ignore[arg-type]
    assert [t for t, _ in diver.trend] == [5.0, 6.0, 8.9, 9.0, 14.1], "ten seconds are kept"
    diver._look(15.0, None, waters, None)  # type: ignore[arg-type]
    assert diver.trend[0] == (5.0, 10.0)


def test_every_step_adds_its_way_through_the_water(diver: RodChain, monkeypatch: pytest.MonkeyPatch) -> None:
    looked(monkeypatch)
    in_water(diver)
    diver.state = SimpleNamespace(failed=[False])  # type: ignore[assignment]
    diver.towed_m, diver.dt_s, diver.failed, diver.why = 10.0, 4.0, 2, "it did not converge"
    boat: Any = SimpleNamespace(speed_m_s=1.5)
    diver.end_step(boat, SimpleNamespace(flow=None), None)  # type: ignore[arg-type]
    assert (diver.towed_m, diver.failed, diver.why) == (16.0, 0, "")
    diver.state.failed[0] = True  # type: ignore[index,union-attr]
    diver.end_step(boat, SimpleNamespace(flow=None), None)  # type: ignore[arg-type]
    assert (diver.towed_m, diver.failed, diver.why) == (16.0, 1, "the step did not converge")


def test_of_a_rod_in_the_boat_nothing_is_said(two_rods: Spread) -> None:
    fresh = RodChain.of(two_rods, two_rods.rods[0], crewed("1", "in"), 0.5)
    said = (fresh.out, fresh.ball_only, fresh.slack, fresh.rough, fresh.under, fresh.dark)
    assert said == (False,) * 6
    assert (fresh.failed, fresh.dt_s, fresh.why, fresh.place) == (0, 0.0, "", None)


def test_after_five_steps_that_fail_a_chain_is_laid_anew(diver: RodChain, monkeypatch: pytest.MonkeyPatch) -> None:
    in_water(diver)
    status = iter([1, 1, 0, 1, 1, 1, 1, 1])
    monkeypatch.setattr(RodChain, "_look", lambda *_: None)
    started: list[float] = []
    monkeypatch.setattr(RodChain, "_start", lambda self, t_s, *_: (started.append(t_s), self.drop()))
    monkeypatch.setattr(RodChain, "_recut", lambda *_: None)
    monkeypatch.setattr(RodChain, "_take_up_next", lambda *_: None)
    seen, boat = [], SimpleNamespace(speed_m_s=1.5)
    waters: Any = SimpleNamespace(flow=None)
    for t_s in range(101, 110):
        parts = diver.begin_step(float(t_s), boat, waters, None, True, None)  # type: ignore[arg-type]
        if parts:
            parts[0].state.failed = [next(status)]  # type: ignore[assignment]
            diver.end_step(boat, waters, None)  # type: ignore[arg-type]
        seen.append((diver.failed, bool(diver.why)))
    assert seen == [
        (1, True),
        (2, True),
        (0, False),
        (1, True),
        (2, True),
        (3, True),
        (4, True),
        (5, True),
        (0, False),
    ]
    assert started == [109.0]
    assert diver.towed_m == 1000.0 + 1.5, "only a step that was made tows it"


def test_a_rod_restored_on_its_way_out_has_let_out_since(two_rods: Spread) -> None:
    began = When(None, 40.0)  # type: ignore[arg-type]
    chain = RodChain.of(two_rods, two_rods.rods[0], crewed("1", "letting out", state_since=began), 0.5)
    first = chain.reading_m
    chain._catch_up(64.0)
    assert first is not None
    assert chain.reading_m == pytest.approx(first + 12.0)
    for still in (crewed("1", state_since=began), crewed("1", "letting out")):
        other = RodChain.of(two_rods, two_rods.rods[0], still, 0.5)
        before = other.reading_m
        other._catch_up(64.0)
        assert other.reading_m == before


def test_line_runs_for_the_time_between_two_steps_and_not_before_the_first(
    diver: RodChain, monkeypatch: pytest.MonkeyPatch
) -> None:
    ran: list[float] = []
    monkeypatch.setattr(diver, "reel", SimpleNamespace(run=lambda dt: (ran.append(dt), 0.0)[1]))
    for name in ("_catch_up", "_take_up_next", "_recut", "_start", "_parts"):
        monkeypatch.setattr(RodChain, name, lambda *_: None)
    for t_s in (100.0, 101.0, 103.5):
        diver.begin_step(t_s, None, None, None, True, None)  # type: ignore[arg-type]
    assert ran == [0.0, 1.0, 2.5]
    assert diver.t_s == 103.5


@pytest.mark.parametrize(
    ("target_m", "anew"), [(45.0, False), (45.1, True), (20.0, False), (19.9, True), (30.0, False), (0.5, True)]
)
def test_a_chain_is_cut_anew_for_lengths_half_as_long_again(
    diver: RodChain, monkeypatch: pytest.MonkeyPatch, target_m: float, anew: bool
) -> None:
    in_water(diver)
    diver.cut_for = module.RodNow(30.0)
    diver.reel.target_m = target_m
    laid: list[object] = []
    monkeypatch.setattr(RodChain, "_hanging", lambda _self, now, _: SimpleNamespace(chain=now))
    monkeypatch.setattr(RodChain, "_relay", lambda _self, chain, *_: laid.append(chain))
    diver._recut(None, None)  # type: ignore[arg-type]
    assert laid == ([module.RodNow(target_m)] if anew else [])
    diver.reel.on_reel = 1
    diver.cut_for = module.RodNow(300.0)
    diver._recut(None, None)  # type: ignore[arg-type]
    assert len(laid) == anew, "while other lines are on the reel its cut is that of the next line"


def test_a_copy_goes_its_own_way(diver: RodChain) -> None:
    diver.trend.append((1.0, 2.0))
    twin = diver.copy()
    twin.trend.append((2.0, 3.0))
    twin.reel.target_m = 99.0
    assert (len(diver.trend), diver.reel.target_m) == (1, 30.0)


# -- members -------------------------------------------------------------------------------------------------------


def test_a_chain_with_another_first_line(two_rods: Spread) -> None:
    from sternwatch.answers.chains.arrays import AS_FILED, rig_of, water_of

    chain = rig_of(two_rods, two_rods.rods[0], AS_FILED, water_of(two_rods)).chain
    longer = at_length(chain, first_length_m(chain) + 7.0)
    assert first_length_m(longer) == first_length_m(chain) + 7.0
    assert longer.items[1:] == chain.items[1:]
    assert sum(isinstance(item, Line) for item in longer.items) == sum(isinstance(item, Line) for item in chain.items)


def dragging(log_factors: tuple[float, float]) -> Members:
    made = Members.__new__(Members)
    made.rigs = tuple(
        SimpleNamespace(read_m=30.0, beside=SimpleNamespace(is_nothing=not f, log_factor=lambda v, _m, f=f: f * v))
        for f in log_factors
    )  # type: ignore[assignment]
    made.speeds_m_s, made.put_in = np.array([1.0, 1.0]), np.zeros(2)
    return made


def test_drag_follows_the_mean_speed_of_twenty_seconds(monkeypatch: pytest.MonkeyPatch) -> None:
    beliefs: Any = SimpleNamespace(velocity_m_s=np.array([[0.0, 2.0], [1.2, 1.6]]))
    made = dragging((0.0, 0.0))
    for dt_s, speeds in ((1.0, 1.05), (10.0, 1.525), (0.0, 1.525), (25.0, 2.0)):
        made._drag(dt_s, beliefs)
        assert made.speeds_m_s == pytest.approx([speeds, speeds])
    still: Any = SimpleNamespace(velocity_m_s=np.zeros((2, 2)))
    made._drag(99.0, still)
    assert made.speeds_m_s == pytest.approx([0.15, 0.15]), "no slower than a chain is laid"
    monkeypatch.setattr(made, "speeds_m_s", None)
    made._drag(1.0, beliefs)
    assert made.speeds_m_s is None


@pytest.mark.parametrize(("factor", "again"), [(0.009, False), (0.011, True), (-0.011, True)])
def test_drag_is_put_in_again_once_it_has_changed_by_a_hundredth(factor: float, again: bool) -> None:
    from sternwatch.hydro.chain.forces import B_DRAG, L_NORMAL

    made = dragging((factor, 0.0))
    rows = SimpleNamespace(line=np.ones((2, 3, L_NORMAL + 2)), body=np.ones((2, 3, B_DRAG + 2)))
    made.rows = rows  # type: ignore[assignment]
    beliefs: Any = SimpleNamespace(velocity_m_s=np.array([[1.0, 0.0], [1.0, 0.0]]))
    replaced: list[dict[str, Any]] = []
    import sternwatch.watch.chains.members as members

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(members, "replace", lambda _rows, **new: (replaced.append(new), SimpleNamespace(**new))[1])
        made._drag(0.0, beliefs)
        made._drag(0.0, beliefs)
    assert len(replaced) == again, "and only once"
    if again:
        for key, column in (("line", L_NORMAL), ("body", B_DRAG)):
            new = replaced[0][key]
            assert new[0, :, column] == pytest.approx(math.exp(factor))
            new[0, :, column] = 1.0
            assert (new == 1.0).all(), "the drag of that member and nothing else"


def test_the_interval_is_fitted_again_every_eight_steps_where_it_suits_no_more_and_when_members_fail(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import sternwatch.watch.chains.members as members

    made = Members.__new__(Members)
    made.surface, made.surface_age, made.places = None, 0, None  # type: ignore[assignment]
    depths = np.array([10.0, 11.0, 12.0])
    monkeypatch.setattr(Members, "depths", lambda _: depths)
    fits: list[int] = []

    def fitted(_places: object, now: Any, _before: object) -> Any:
        fits.append(len(fits))
        return SimpleNamespace(
            kept=np.flatnonzero(np.isfinite(now)), quantiles=lambda now: tuple(now),
            still_suits=lambda _: len(fits) == 3,
        )  # fmt: skip

    monkeypatch.setattr(members, "surface_of", fitted)
    seen = []
    for step in range(40):
        if step == 38:
            depths[1] = np.nan
        made.quantiles()
        seen.append(len(fits))
    assert seen == [1] * 8 + [2] * 8 + [3] * 22 + [4] * 2
    monkeypatch.setattr(members, "surface_of", lambda *_: None)
    depths[2] = np.nan
    assert made.quantiles() is None
