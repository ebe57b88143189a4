"""Moments made by hand: where exactly words about turn, pace and current change, and what is looked up."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.feed.readings import Quantity
from sternwatch.watch.memory.moments import Moment, Moments, RodMoment, _current, _current_told, _pace, _trend, _turn
from sternwatch.watch.picture.model import RodState, SolverState

# As agreed: a change of one is to be noticed.
KEPT_S = 900


def moment(t_s: float, **more: Any) -> Moment:
    fields = dict.fromkeys(Moment.__dataclass_fields__)
    return Moment(**{**fields, "t_s": t_s, "points_deg": 0.0, "rods": {}, **more})  # type: ignore[arg-type]


def kept(*moments: Moment) -> Moments:
    made = Moments()
    for one in moments:
        made.add(one)
    return made


def rods(state: RodState) -> dict[str, Any]:
    return {"1": SimpleNamespace(state=state, in_water=state is not RodState.FIGHTING)}


@pytest.mark.parametrize(
    ("change_m", "said"),
    [(None, None), (0.305, "sinking"), (0.304, "steady"), (-0.304, "steady"), (-0.305, "rising")],
)
def test_a_foot_in_ten_seconds_is_rising_or_sinking(change_m: float | None, said: str | None) -> None:
    assert _trend(change_m) == said


@pytest.mark.parametrize(
    ("speed", "said"), [(1.09, "quickening"), (1.0893, "steady"), (0.9107, "steady"), (0.91, "slowing"), (None, None)]
)
def test_a_fifth_of_a_mile_an_hour_in_fifteen_seconds_is_another_pace(speed: float | None, said: str | None) -> None:
    past = kept(*(moment(float(t), speed_m_s=1.0 if t == 0 else 5.0) for t in range(15)))
    assert _pace(past, speed) == said
    assert _pace(kept(*(moment(float(t), speed_m_s=1.0) for t in range(14))), speed) is None
    assert _pace(kept(*(moment(float(t)) for t in range(15))), 1.0) is None


@pytest.mark.parametrize(
    ("astern_m", "speed", "lag"),
    [(50.0, 1.0, 50), (5.0, 1.0, 10), (500.0, 1.0, 180), (30.0, 0.1, 180), (36.0, 2.0, 18)],
)
def test_a_lure_is_in_the_turn_that_she_made_where_it_is_now(astern_m: float, speed: float, lag: int) -> None:
    """Ten to 180 seconds ago; she has turned 20 degrees to starboard just after."""
    rod: Any = SimpleNamespace(sign=1.0)
    for turned_at, said in ((lag, "inside"), (lag + 1, "straight")):
        past = kept(
            *(moment(float(-k), speed_m_s=1.0, points_deg=20.0 if k < turned_at else 0.0) for k in range(200, 0, -1))
        )
        assert _turn(past, rod, astern_m, speed, 20.0) == said


@pytest.mark.parametrize(
    ("turned", "sign", "said"),
    [
        (15.0, 1.0, "inside"), (15.0, -1.0, "outside"), (14.9, 1.0, "straight"), (-15.0, 1.0, "outside"),
        (-14.9, 1.0, "straight"), (-20.0, -1.0, "inside"), (20.0, 0.0, "turning"), (350.0, 1.0, "straight"),
        (340.0, 1.0, "outside"),
    ],
)  # fmt: skip
def test_the_side_of_a_turn(turned: float, sign: float, said: str) -> None:
    past = kept(*(moment(float(t), speed_m_s=1.0) for t in range(30)))
    rod: Any = SimpleNamespace(sign=sign)
    assert _turn(past, rod, 20.0, 1.0, turned) == said


def test_without_way_or_a_past_no_turn_is_known() -> None:
    rod: Any = SimpleNamespace(sign=1.0)
    past = kept(*(moment(float(t), speed_m_s=1.0) for t in range(30)))
    assert _turn(past, rod, 20.0, None, 0.0) is None
    assert _turn(past, rod, 2.0, 0.099, 0.0) is None
    assert _turn(past, rod, 2.0, 0.1, 0.0) == "straight"
    assert _turn(past, rod, 31.0, 1.0, 0.0) is None
    assert _turn(kept(*(moment(float(t)) for t in range(30))), rod, 20.0, 1.0, 0.0) is None


def sensors(sog: float | None, stw: float | None) -> Any:
    def value(number: float | None) -> Any:
        return None if number is None else SimpleNamespace(value=number, state="fresh", suspect="")

    return {q: v for q, v in ((Quantity.SOG, value(sog)), (Quantity.STW, value(stw))) if v is not None}


def test_the_current_by_both_speeds_over_half_a_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    import sternwatch.watch.memory.moments as module

    monkeypatch.setattr(module, "usable", lambda entry: None if entry is None else entry.value)

    def said(past: Moments, sog: float | None = 1.0, stw: float | None = 1.0) -> str | None:
        return _current(past, sensors(sog, stw))

    def past(count: int, off: float, *, unknown: int = 0) -> Moments:
        own = [moment(float(t), sog_m_s=None if t < unknown else 1.0 + off, stw_m_s=1.0) for t in range(count)]
        return kept(*own)

    assert said(past(40, 0.1035)) == "with", "29 of 30 readings are off by it"
    assert said(past(40, 0.1033)) == "little"
    assert said(past(40, -0.1035)) == "against"
    assert said(past(40, -0.1033)) == "little"
    assert said(past(14, 0.0)) == "little"
    assert said(past(13, 0.0)) is None
    assert said(past(14, 0.0), stw=None) is None
    assert said(past(60, 0.5, unknown=46), stw=None) is None
    assert said(past(60, 0.5, unknown=45), stw=None) == "with"


@pytest.mark.parametrize(
    ("along", "said"), [(0.101, "with"), (0.099, "little"), (-0.099, "little"), (-0.101, "against")]
)  # fmt: skip
def test_the_current_that_was_found_along_her_course(along: float, said: str) -> None:
    """Whatever runs across it."""
    for course in (0.0, 1.0, math.pi, -2.0):
        north, east = (
            along * math.cos(course) - 0.4 * math.sin(course), along * math.sin(course) + 0.4 * math.cos(course),
        )  # fmt: skip
        found = SimpleNamespace(
            found=True, along_found=lambda _: True, belief=SimpleNamespace(current_m_s=(north, east))
        )
        boat: Any = SimpleNamespace(velocity_m_s=(math.cos(course), math.sin(course)), t_s=1.0, current=found)
        assert _current_told(boat) == said
        for name, value in (("found", False), ("along_found", lambda _: False)):
            unknown = SimpleNamespace(**{**vars(found), name: value})
            assert _current_told(SimpleNamespace(**{**vars(boat), "current": unknown})) is None  # type: ignore[arg-type]
        assert _current_told(SimpleNamespace(**{**vars(boat), "t_s": None})) is None  # type: ignore[arg-type]


# -- what is looked up ---------------------------------------------------------------------------------------------


def test_a_moment_stands_until_the_next_and_for_two_seconds_at_most() -> None:
    past = kept(moment(10.0), moment(11.0))
    assert [None if (found := past.at(t)) is None else found.t_s for t in (10.0, 10.5, 11.0, 11.1, 13.0, 13.1)] == [
        None, 10.0, 10.0, 11.0, 11.0, None,
    ]  # fmt: skip
    assert (past.back(0), past.back(1), past.back(2)) == (past[1], past[0], None)


def test_a_quarter_of_an_hour_is_kept() -> None:
    past = kept(*(moment(float(t)) for t in range(1000)))
    assert (len(past), past[0].t_s, past[-1].t_s) == (KEPT_S, 100.0, 999.0)
    twin = past.copy()
    twin.add(moment(1000.0))
    assert (past[-1].t_s, twin[-1].t_s) == (999.0, 1000.0)
    assert [one.t_s for one in past[:2]] == [100.0, 101.0]


def test_the_wake_of_half_a_minute_and_the_boats_place() -> None:
    past = kept(*(moment(float(t), position_deg=None if t == 80 else (47.0, t / 1000.0)) for t in range(101)))
    assert [round(1000 * east) for _, east in past.wake_deg()] == [70, 75, 85, 90, 95, 100]
    assert past.boat_at(50.0) == (47.0, 0.05)
    assert past.boat_at(500.0) == (47.0, 0.1), "the last one, where that is not kept"
    assert kept().boat_at(1.0) is None


def test_a_moment_counts_on_utc_where_there_is_a_clock() -> None:
    assert moment(12.4).clock_s == 12
    assert moment(12.4, utc_s=1000.0).clock_s == 1000


@pytest.mark.parametrize(
    ("state", "counts"),
    [(RodState.LETTING_OUT, True), (RodState.FISHING, True), (RodState.REELING, True), (RodState.FIGHTING, False),
     (RodState.IN, False)],
)  # fmt: skip
def test_a_rods_time_counts_with_its_lure_in_the_water(state: RodState, counts: bool) -> None:
    fields = dict.fromkeys(RodMoment.__dataclass_fields__)
    assert RodMoment(**{**fields, "state": state}).in_water is counts  # type: ignore[arg-type]


def test_how_slow_and_how_fast_she_goes_by_her_own_record() -> None:
    """Half of what is usual; or, with twenty seconds of a fight on record after its first twenty, what that was."""
    trolling = [moment(float(t), speed_m_s=1.0 + 0.01 * t, rods=rods(RodState.FISHING)) for t in range(21)]
    assert kept(*trolling[:19]).usual_m_s() is None
    assert kept(*trolling[:20]).usual_m_s() == pytest.approx((0.5 * 1.10, 1.19))
    assert kept(*trolling).usual_m_s() == pytest.approx((0.5 * 1.10, 1.20))

    def fought(seconds: int) -> Moments:
        fight = [moment(100.0 + t, speed_m_s=0.8 - 0.01 * t, rods=rods(RodState.FIGHTING)) for t in range(seconds)]
        return kept(*trolling, *fight)

    assert fought(39).usual_m_s() == pytest.approx((0.55, 1.2))
    assert fought(40).usual_m_s() == pytest.approx((0.8 - 0.39 + 0.02, 1.2)), "a tenth were slower"
    twice = [
        moment(100.0 + t, speed_m_s=0.7, rods=rods(RodState.FIGHTING if t != 30 else RodState.FISHING))
        for t in range(60)
    ]
    assert kept(*trolling, *twice).usual_m_s() == pytest.approx((0.5 * 1.10, 1.2)), "each fight has its beginning"
    unknown = [moment(float(t), rods=rods(RodState.FISHING)) for t in range(40)]
    assert kept(*unknown).usual_m_s() is None


@pytest.mark.parametrize(
    ("change", "known"),
    [({}, True), ({"place": None}, False), ({"ball_only": True}, False), ({"solver": SolverState.FAILED}, False),
     ({"solver": SolverState.UNSETTLED}, True)],
)  # fmt: skip
def test_a_rods_moment_has_a_place_where_its_chain_has_one(
    monkeypatch: pytest.MonkeyPatch, change: dict[str, Any], known: bool
) -> None:
    import sternwatch.watch.memory.moments as module

    place = SimpleNamespace(
        depth_m=14.0, depth_interval_m=(13.0, 16.0), astern_m=30.0, abeam_m=-4.0, lure_speed_m_s=math.nan,
        vertical_speed_m_s=0.1,
    )  # fmt: skip
    given = {"place": place, "ball_only": False, "solver": SolverState.SETTLED, "change_10s_m": -0.5, "spread": None}
    rod = SimpleNamespace(key="1", sign=1.0)
    chain: Any = SimpleNamespace(**{**given, **change}, rod=rod)
    monkeypatch.setattr(module, "rod_state", lambda *_: RodState.FISHING)
    monkeypatch.setattr(module, "line_out_m", lambda *_: 40.0)
    bottom = SimpleNamespace(ground=SimpleNamespace(clearance_m=lambda _: 6.0), degrees_at=lambda *at: at)
    crew = SimpleNamespace(rods={"1": SimpleNamespace(setting="low", lead_m=3.0)})
    column: Any = SimpleNamespace(temperature_c=lambda depth: 20.0 - depth)
    step: Any = SimpleNamespace(crew=crew, bottom=bottom)
    made = module._rod(step, kept(), chain, column, 1.0, 0.0)
    assert (made.state, made.line_out_m, made.setting, made.lead_m) == (RodState.FISHING, 40.0, "low", 3.0)
    assert made.depth_m == (14.0 if known else None)
    if known:
        assert (made.position_deg, made.clearance_m, made.temperature_c, made.trend) == (
            (30.0, -4.0),
            6.0,
            6.0,
            "rising",
        )
        assert made.lure_speed_m_s is None, "not a number"


@pytest.mark.parametrize(
    ("value", "over", "kept_deg"),
    [((47.0, -89.0), (10.0, 20.0), (47.0, -89.0)), ((47.0, -89.0), None, None), (None, (10.0, 20.0), None),
     ("none", (10.0, 20.0), None)],
)  # fmt: skip
def test_a_place_is_kept_while_her_fix_holds(
    monkeypatch: pytest.MonkeyPatch, value: Any, over: Any, kept_deg: Any
) -> None:
    """What a receiver said last is no place once it has been silent: nobody knows where she is then."""
    from sternwatch.watch.memory import moments as module

    for name in ("_pace", "_current", "_current_told", "bottom_m", "usable"):
        monkeypatch.setattr(module, name, lambda *_: None)
    sensors = {} if value == "none" else {Quantity.POSITION: SimpleNamespace(value=value)}
    for known in (True, False):
        boat = SimpleNamespace(known=known, speed_m_s=1.1, heading_deg=40.0, source="log", rate_of_turn_deg_s=0.5)
        step: Any = SimpleNamespace(
            boat=boat, sensors=sensors, utc_offset_s=1000.4, t_s=5.25, silent_s=0.3, column=None, chains={},
            bottom=SimpleNamespace(over=SimpleNamespace(place_m=over)), crew=SimpleNamespace(gauges=()),
            spread=SimpleNamespace(boat=SimpleNamespace(transducer_depth_m=0.3)),
        )  # fmt: skip
        made = module.moment_of(step, Moments())
        assert made.position_deg == kept_deg
        assert (made.t_s, made.utc_s, made.silent_s, made.points_deg) == (5.25, 1006.0, 0.3, 40.0)
        assert (made.speed_m_s, made.rate_of_turn_deg_s) == ((1.1, 0.5) if known else (None, None))
    step.utc_offset_s = None
    assert module.moment_of(step, Moments()).utc_s is None
