"""When limits are sought again and how long they stand, how she is steered, and which cures are kept: by hand."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.outlook import renewal as module
from sternwatch.watch.outlook.advice import _confirmed, _first_cures, _in_all, _share
from sternwatch.watch.outlook.changes import Change
from sternwatch.watch.outlook.renewal import Helm, OutlookMaker, Wishes, _forecasts, _Searched
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import Limits, PairForecast, SideLimit, SpeedLimit
from watch.outlook.test_renewal import bare

DEG = math.pi / 180.0


def steered(rate_deg_s: float, seconds: float, every_s: float = 2.0, gain: float = 0.0) -> Helm:
    helm, t = Helm(), 0.0
    while t <= seconds:
        helm.take(bare(t, rate_deg_s * DEG * t % (2.0 * math.pi), 1.0 + gain * t))
        t += every_s
    return helm


# -- the helm ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rate", [1.5, -1.5, 7.0])
def test_a_steady_turn_and_a_steady_gain_are_measured_exactly_through_north(rate: float) -> None:
    helm = steered(rate, 300.0, gain=0.004)
    assert helm.trend(1) == pytest.approx(rate * DEG)
    assert helm.trend(2) == pytest.approx(0.004)


@pytest.mark.parametrize(
    ("seconds", "every_s", "known"), [(16.0, 2.0, False), (18.0, 2.0, True), (20.0, 4.0, True), (20.0, 5.0, False)]
)
def test_a_trend_needs_six_looks_over_seventeen_seconds(seconds: float, every_s: float, known: bool) -> None:
    assert (steered(1.0, seconds, every_s).trend(1) is not None) is known


@pytest.mark.parametrize(("hole_s", "forgotten"), [(20.0, False), (20.1, True), (0.0, True), (-1.0, True)])
def test_after_a_hole_how_she_was_steered_is_forgotten(hole_s: float, forgotten: bool) -> None:
    helm = steered(1.0, 30.0)
    helm.take(bare(30.0 + hole_s, 0.0))
    assert (len(helm._past) == 1) is forgotten


def test_ten_minutes_are_remembered() -> None:
    helm = steered(0.0, 900.0, 10.0)
    assert helm._past[0][0] == 300.0
    assert helm._past[-1][0] == 900.0


def test_what_has_been_turned_counts_from_the_last_straight() -> None:
    """At 2 deg/s after a straight, and against another turn."""
    helm = Helm()
    for k in range(0, 102, 2):
        helm.take(bare(float(k), 2.0 * DEG * max(k - 60.0, 0.0)))
    assert helm.turned(2.0 * DEG) == pytest.approx(80.0 * DEG, abs=8.0 * DEG)
    assert helm.turned(-2.0 * DEG) == pytest.approx(0.0)
    bend = Helm()
    for k in range(0, 102, 2):  # at a fifth of the rate first: that is no turn yet
        bend.take(bare(float(k), 2.0 * DEG * (0.2 * min(k, 60.0) + max(k - 60.0, 0.0))))
    assert bend.turned(2.0 * DEG) == pytest.approx(80.0 * DEG, abs=8.0 * DEG)
    circle = steered(2.0, 200.0)
    assert circle.turned(2.0 * DEG) == pytest.approx(400.0 * DEG)
    left = circle.going(bare(200.0, 400.0 * DEG)).turn_rad
    assert left == pytest.approx((180.0 - 40.0) * DEG)
    assert steered(-2.0, 30.0).going(bare(30.0, 0.0)).turn_rad == pytest.approx(-120.0 * DEG)


def test_without_a_trend_the_watchs_own_rate_counts() -> None:
    helm = steered(0.0, 4.0)
    going = helm.going(replace(bare(4.0, 0.0), rate_rad_s=3.0 * DEG))
    assert going.rate_rad_s == pytest.approx(3.0 * DEG)


# -- limits --------------------------------------------------------------------------------------------------------

STATE = _Searched(True, 1.0, np.array([30.0, 60.0]), np.array([5.0, 15.0]), 20.0, 0.1)


@pytest.mark.parametrize(
    ("more", "like"),
    [
        ({}, True), ({"speed_m_s": 1.0299}, True), ({"speed_m_s": 0.9701}, True), ({"speed_m_s": 1.031}, False),
        ({"line_m": np.array([30.29, 59.71])}, True), ({"line_m": np.array([30.31, 60.0])}, False),
        ({"line_m": np.array([30.0])}, False), ({"depth_m": np.array([5.44, 14.26])}, True),
        ({"depth_m": np.array([5.47, 15.0])}, False), ({"depth_m": np.array([5.0, 14.2])}, False),
        ({"depth_m": np.array([5.0])}, False), ({"bottom_m": 20.59}, True), ({"bottom_m": 20.61}, False),
        ({"bottom_m": 19.39}, False), ({"bottom_m": None}, False), ({"set_risk": 0.2}, False),
        ({"steady": False}, False),
    ],
)  # fmt: skip
def test_a_search_would_find_the_same_where_hardly_anything_has_changed(more: dict[str, Any], like: bool) -> None:
    assert STATE.is_like(replace(STATE, **more)) is like
    assert not replace(STATE, steady=False).is_like(STATE)
    unknown = replace(STATE, depth_m=np.array([5.0, math.nan]))  # a member that cannot be followed
    assert unknown.is_like(unknown)
    assert not unknown.is_like(STATE)
    unsounded = replace(STATE, bottom_m=None)
    assert unsounded.is_like(unsounded)
    assert not unsounded.is_like(STATE)


@pytest.mark.parametrize(
    ("age_s", "like", "stands"),
    [(120.0, False, True), (120.1, False, False), (120.1, True, True), (600.0, True, True), (600.1, True, False)],
)
def test_limits_grow_old_after_two_minutes_and_after_ten_where_nothing_changed(
    age_s: float, like: bool, stands: bool
) -> None:
    maker = OutlookMaker()
    assert maker._limits_of(1000.0, STATE) is None
    limits: Any = SimpleNamespace(t_s=1000.0)
    maker._limits, maker._found_for = limits, STATE
    now = STATE if like else replace(STATE, speed_m_s=2.0)
    assert (maker._limits_of(1000.0 + age_s, now) is limits) is stands


class Wall:
    now_s = 50.0

    def __call__(self) -> float:
        self.now_s += 0.1
        return self.now_s


@pytest.fixture
def searches(monkeypatch: pytest.MonkeyPatch) -> list[tuple[float, bool]]:
    """Begun searches of limits: when, and whether from the edges of the last. Each takes one run."""
    begun: list[tuple[float, bool]] = []

    def search(_fleet: object, t_s: float, *, before: Limits | None, **_: object) -> Any:
        begun.append((t_s, before is not None))
        yield
        return SimpleNamespace(t_s=t_s)

    monkeypatch.setattr(module, "search_limits", search)
    monkeypatch.setattr(module, "on_purpose", lambda _: ())
    return begun


def looked(maker: OutlookMaker, t_s: float, state: _Searched = STATE, wishes: Wishes | None = None) -> None:
    now: Any = SimpleNamespace(t_s=t_s, speed_m_s=1.0, spread=None)
    maker._look_for_limits(now, wishes or Wishes(), None, None, state)  # type: ignore[arg-type]


def test_limits_are_sought_every_twenty_seconds_and_seldom_where_nothing_changes(
    searches: list[tuple[float, bool]],
) -> None:
    maker = OutlookMaker()
    for t in range(0, 700, 5):
        looked(maker, float(t))
    assert searches == [(t, t % 600 != 0) for t in map(float, range(0, 700, 150))]
    searches.clear()
    for t in range(700, 800, 5):
        looked(maker, float(t), replace(STATE, steady=False))
    assert searches == [(t, False) for t in (700.0, 720.0, 740.0, 760.0, 780.0)]


def test_a_search_has_its_share_of_the_wall_time_and_more_where_looks_are_far_apart(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """0.4 s for looks two seconds apart, at most three times that; a run takes a tenth."""
    wall = Wall()
    runs: list[float] = []

    def search(*_: object, **__: object) -> Any:
        while True:
            runs.append(wall.now_s)
            yield

    monkeypatch.setattr(module, "search_limits", search)
    monkeypatch.setattr(module, "on_purpose", lambda _: ())
    monkeypatch.setattr(module.time, "perf_counter", wall)
    maker, counts = OutlookMaker(), []
    for at_s in (100.0, 101.0, 103.0, 107.0, 113.0, 200.0):
        wall.now_s, before = at_s, len(runs)
        looked(maker, 5.0)
        counts.append(len(runs) - before)
    assert counts == pytest.approx([4, 4, 4, 8, 12, 12], abs=1)
    looked(maker, 99.0, wishes=Wishes(limits_share_s=0.0))
    assert len(runs) == sum(counts), "with no share there is no search"


@dataclass(frozen=True)
class Made:
    manoeuvre: Manoeuvre


def test_a_manoeuvre_that_holds_is_run_once(monkeypatch: pytest.MonkeyPatch) -> None:
    run: list[str] = []

    def forecast(_fleet: object, manoeuvre: Manoeuvre, **_: object) -> Any:
        run.append(manoeuvre.name)
        return Made(manoeuvre)

    monkeypatch.setattr(module, "forecast", forecast)
    asked = [Manoeuvre("straight on"), Manoeuvre("turn", turn_rad=1.0, rate_rad_s=0.02), Manoeuvre("as it goes")]
    made = _forecasts(None, asked, 1.0, None, Wishes())  # type: ignore[arg-type]
    assert run == ["straight on", "turn"]
    assert [one.manoeuvre.name for one in made] == ["straight on", "turn", "as it goes"]


# -- cures ---------------------------------------------------------------------------------------------------------


def change(kind: str, effort: float, rod: str | None = None) -> Change:
    return Change(kind, effort, Manoeuvre(kind), rod)


def test_of_each_kind_the_smallest_that_cures_and_a_slower_turn_first() -> None:
    """Three are tried with all members."""
    found = [change("speed", 1.0), change("turn", 5.0), change("line", 2.0, "1"), change("line", 3.0, "2")]
    asked: list[str] = []

    def left(one: Change) -> float:
        asked.append(f"{one.kind} {one.rod or ''}".strip())
        return 0.1

    kept = _confirmed(found, left, 0.5, 0.1)
    assert asked == ["turn", "speed", "line 1"]
    assert [one.kind for one, _ in kept] == ["turn", "speed", "line"]
    twice = [change("turn", 1.0), change("turn", 2.0), change("line", 3.0, "1")]
    assert [one.effort for one, _ in _confirmed(twice, lambda _: 0.0, 0.5, 0.1)] == [1.0, 3.0]


@pytest.mark.parametrize(
    ("shares", "kept"),
    [
        ((0.11, 0.1, None), [0.1]), ((0.25, 0.2, 0.26), [0.2]), ((0.26, 0.27, 0.3), []), ((None, None, None), []),
        ((0.25, None, 0.3), [0.25]), ((math.inf, 0.25, 0.3), [0.25]),
    ],
)  # fmt: skip
def test_where_nothing_cures_one_that_halves_the_risk_is_kept(shares: tuple[Any, ...], kept: list[float]) -> None:
    found = [change("speed", 1.0), change("side", 2.0), change("line", 3.0, "1")]
    by_kind = dict(zip(("speed", "side", "line"), shares, strict=True))
    assert [after for _, after in _confirmed(found, lambda one: by_kind[one.kind], 0.5, 0.1)] == kept


def test_the_first_two_that_cure_one_member() -> None:
    tried: list[float] = []

    def cures(one: Change) -> bool:
        tried.append(one.effort)
        return one.effort in (2.0, 4.0, 5.0)

    kinds = [change("line", float(n), "1") for n in range(1, 7)]
    assert [one.effort for one in _first_cures(kinds, cures)] == [2.0, 4.0]
    assert tried == [1.0, 2.0, 3.0, 4.0]
    assert _first_cures(kinds[:1], cures) == []


def test_only_a_rod_in_every_likely_pair_is_changed() -> None:
    def made(*pairs: tuple[str, float | None]) -> Any:
        of = [PairForecast(tuple(keys), p, *[None] * 6) for keys, p in pairs]
        return SimpleNamespace(worst=of[0], pairs=of)

    assert _in_all(made(("12", 0.5)), 0.1) == ("1", "2")
    assert _in_all(made(("12", 0.5), ("23", 0.2)), 0.1) == ("2",)
    assert _in_all(made(("12", 0.5), ("23", 0.1), ("45", None)), 0.1) == ("1", "2")
    assert _in_all(made(("12", 0.5), ("34", 0.2)), 0.1) == ()


def test_the_share_of_members_that_must_still_come_up() -> None:
    assert _share(np.array([1.0, 0.0, -1.0, np.nan])) == pytest.approx(1.0 / 3.0)
    assert _share(np.array([np.nan])) == 1.0


@pytest.mark.parametrize(
    ("kind", "sounded", "by", "known"),
    [
        ("turn", 0.79, 0.0, False), ("side", 0.79, 0.0, False), ("away", 0.79, 0.0, False), ("turn", 0.8, 0.0, True),
        ("speed", 0.1, 0.0, True), ("line", 0.1, 0.0, True), ("line", 1.0, math.nan, False),
    ],
)  # fmt: skip
def test_a_turn_is_advised_only_over_ground_that_is_sounded(
    monkeypatch: pytest.MonkeyPatch, kind: str, sounded: float, by: float, known: bool
) -> None:
    import sternwatch.watch.outlook.advice as advice

    left = np.array([0.5, by])
    for name, value in (
        ("_changed", lambda _, alone: alone), ("path_of", lambda *_, **__: None), ("run", lambda *_: None),
        ("raised_by", lambda *_: (left, sounded)),
    ):  # fmt: skip
        monkeypatch.setattr(advice, name, value)
    alone: Any = SimpleNamespace(heading_rad=0.0)
    found = advice._touching(change(kind, 1.0), alone, "1", None, 1.0)  # type: ignore[arg-type]
    assert (found is not None) is known
    monkeypatch.setattr(advice, "_changed", lambda *_: None)
    assert advice._touching(change(kind, 1.0), alone, "1", None, 1.0) is None  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("past", "rate", "turned"),
    [
        ([(0.0, 0.0), (2.0, 0.0), (4.0, 0.1), (6.0, 0.2)], 0.05, 0.2),
        ([(0.0, 0.0), (2.0, 0.0), (4.0, -0.1), (6.0, -0.2)], -0.05, 0.2),
        ([(0.0, 0.0), (12.0, 0.4), (24.0, 0.8)], 0.033, 0.8),  # looks farther apart than ten seconds
        ([(0.0, 0.5), (12.0, 0.5), (24.0, 0.9)], 0.033, 0.4), ([(0.0, 0.0)], 0.05, 0.0),
        ([(0.0, 0.0), (5.0, 0.3), (10.0, 0.6), (15.0, 0.61), (20.0, 0.62), (25.0, 0.92)], 0.05, 0.3),
        # Two seconds without a turn are no straight way.
        ([(2.0 * k, 0.1 * (k if k < 7 else k - 1)) for k in range(11)], 0.05, 0.9),
    ],
)  # fmt: skip
def test_how_far_a_turn_has_gone_since_she_last_went_straight(
    past: list[tuple[float, float]], rate: float, turned: float
) -> None:
    helm = Helm()
    helm._past.extend((t, heading, 1.0) for t, heading in past)
    assert helm.turned(rate) == pytest.approx(turned)


class Counselled:
    """Remembers what it is asked, and says what it is told to say."""

    def __init__(self, limit: Any) -> None:
        self.limit, self.crossing, self.crossing_for = limit, ("cure",), "as it goes"
        self.crossings: list[tuple[Any, Any]] = []

    def with_touches(self, _: object, made: Any) -> Any:
        return made

    def on_crossings(self, _: object, made: Any, limits: Any) -> None:
        self.crossings.append((made, limits))


@pytest.mark.parametrize("plan", [None, "plan"])
@pytest.mark.parametrize("fish_on", [False, True])
def test_a_look_is_at_holding_at_going_on_and_at_the_plan(
    monkeypatch: pytest.MonkeyPatch, plan: str | None, fish_on: bool
) -> None:
    """And at slowing for a fish, told apart. What limits depend on is the mean speed, lines and lures."""
    states: list[_Searched] = []
    monkeypatch.setattr(module, "required_of", lambda _: None)
    monkeypatch.setattr(module, "_forecasts", lambda _, asked, *__: tuple(one.name for one in asked))
    maker: Any = OutlookMaker()
    rest, places = np.arange(6.0).reshape(2, 3), np.arange(12.0).reshape(2, 2, 3)
    fleet = SimpleNamespace(
        cast=SimpleNamespace(rows=SimpleNamespace(rest_m=rest)), state=SimpleNamespace(position_m=places)
    )
    maker._casting = SimpleNamespace(fleet=lambda _: fleet)
    maker._counsel = Counselled(None)
    going = Manoeuvre("as it goes", 0.5, 0.05)
    maker._helm = SimpleNamespace(take=lambda _: None, going=lambda _: going)
    maker._look_for_limits = lambda *given: states.append(given[-1])
    maker._spread, maker._t_s = "spread", 10.0
    now: Any = SimpleNamespace(t_s=10.0, spread="spread", speed_m_s=1.2, mean_m_s=1.1)
    wishes = Wishes(plan=None if plan is None else Manoeuvre(plan, 1.0), fish_on=fish_on)
    made = maker.renew(now, wishes)
    names = [module.hold().name, "as it goes", *([plan] if plan else [])]
    assert list(made.forecasts) == names
    assert made.if_slowed == (module.slowing(1.2).name if fish_on else None)
    assert (made.advice, made.advice_for, made.t_s) == (("cure",), "as it goes", 10.0)
    assert 0.0 <= made.took_s < 5.0
    (state,) = states
    assert (state.steady, state.speed_m_s) == (False, 1.1)
    assert state.line_m.tolist() == [3.0, 12.0]
    assert state.depth_m.tolist() == [5.0, 11.0]
    now.mean_m_s = None
    assert (maker.renew(now), states[-1].speed_m_s)[1] == 1.2


@pytest.mark.parametrize("side", ["port", "starboard"])
def test_the_limit_of_the_side_she_turns_to_is_the_cure_that_is_shown(
    monkeypatch: pytest.MonkeyPatch, side: Any
) -> None:
    monkeypatch.setattr(module, "required_of", lambda _: None)
    monkeypatch.setattr(module, "_forecasts", lambda _, asked, *__: tuple(one.name for one in asked))
    maker: Any = OutlookMaker()
    none = SideLimit("port", None, None, None, None, ())
    maker._limits = Limits(10.0, none, replace(none, side="starboard"), SpeedLimit(None, "", (), ()))
    maker._found_for, maker._look_for_limits = STATE, lambda *_: None
    rows = SimpleNamespace(rest_m=np.zeros((1, 2)))
    fleet = SimpleNamespace(cast=SimpleNamespace(rows=rows), state=SimpleNamespace(position_m=np.zeros((1, 1, 3))))
    maker._casting = SimpleNamespace(fleet=lambda _: fleet)
    maker._counsel = Counselled(SideLimit(side, 45.0, 1.0, 180.0, None, ()))
    maker._helm = SimpleNamespace(take=lambda _: None, going=lambda _: Manoeuvre("as it goes", 0.5, 0.05))
    maker._spread, maker._t_s = "spread", 10.0
    limits = maker.renew(SimpleNamespace(t_s=10.0, spread="spread", speed_m_s=1.2, mean_m_s=1.1)).limits
    assert {one.side: one.radius_m for one in (limits.port, limits.starboard)} == {
        "port": None, "starboard": None, side: 45.0
    }  # fmt: skip


@pytest.mark.parametrize(("t_s", "spread", "forgets"), [(10.0, "a", False), (9.9, "a", True), (10.0, "b", True)])
def test_with_another_spread_or_before_what_was_found_everything_is_forgotten(
    t_s: float, spread: str, forgets: bool
) -> None:
    forgotten: list[bool] = []
    maker: Any = OutlookMaker()
    maker._spread, maker._t_s = "a", 10.0

    class Enough(Exception):  # noqa: N818
        pass

    def take(_: object) -> None:
        raise Enough

    maker._forget = lambda: forgotten.append(True)
    maker._helm = SimpleNamespace(take=take)
    with pytest.raises(Enough):
        maker.renew(SimpleNamespace(t_s=t_s, spread=spread))
    assert bool(forgotten) is forgets
    assert (maker._spread, maker._t_s) == (spread, t_s)
