"""Advice against touches from one renewal to the next: whose turn it is, how long it stays. With made forecasts."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from made_outlooks import forecast

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.forecast.slowed import SLOWED
from sternwatch.watch.outlook import kept_advice
from sternwatch.watch.outlook.kept_advice import Case, Counsel, _least_m, _limit, _pressing
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre
from sternwatch.watch.picture.outlook import Advice, Forecast, Limits, SideLimit, SpeedLimit, Touch


def case(t_s: float, *, ground: Any = "ground") -> Case:
    return Case(t_s, None, None, 1.0, None, SYSTEMS["us"], 0.1, ground)  # type: ignore[arg-type]


class Asked:
    """Which touches each manoeuvre has, and which cures were asked for, in order."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.touching: dict[str, tuple[Touch, ...]] = {}
        self.asked: list[tuple[str, str]] = []
        monkeypatch.setattr(kept_advice, "on_purpose", lambda _: ())
        monkeypatch.setattr(kept_advice, "_names", lambda _: {})
        monkeypatch.setattr(
            kept_advice, "touches", lambda one, _ground, _meant: self.touching.get(one.manoeuvre.name, ())
        )
        monkeypatch.setattr(kept_advice, "advise_touch", self.cure)

    def cure(self, _fleet: object, made: Forecast, key: str, _ground: object, **_: object) -> tuple[Advice, ...]:
        assert made.touches == self.touching[made.manoeuvre.name]
        self.asked.append((made.manoeuvre.name, key))
        return (Advice(f"cure {len(self.asked)}", {}, 0.0),)


@pytest.fixture
def sea(monkeypatch: pytest.MonkeyPatch) -> Asked:
    return Asked(monkeypatch)


def made(*names: str) -> tuple[Forecast, ...]:
    return tuple(forecast(name) for name in names)


def cures(done: tuple[Forecast, ...]) -> dict[tuple[str, str], str]:
    return {
        (one.manoeuvre.name, touch.key): "".join(cure.text for cure in touch.advice)
        for one in done for touch in one.touches
    }  # fmt: skip


def test_each_touch_waits_its_turn_and_its_cure_is_made_anew_after_six_seconds(sea: Asked) -> None:
    """One cure every four seconds at most: the soonest touch first, then the oldest cure."""
    sea.touching = {"hold": (Touch("1", 30.0, 1.0), Touch("2", 10.0, 1.0))}
    counsel, told = Counsel(), []
    for t in range(0, 17, 2):
        told.append(cures(counsel.with_touches(case(float(t)), made("hold"))))
    assert sea.asked == [("hold", "2"), ("hold", "1"), ("hold", "2"), ("hold", "1"), ("hold", "2")]
    assert told[0] == {("hold", "1"): "", ("hold", "2"): "cure 1"}
    assert told[1] == told[0], "two seconds after it none is made"
    assert told[2] == {("hold", "1"): "cure 2", ("hold", "2"): "cure 1"}
    assert told[3] == told[2], "six seconds old, but only two since the other"
    assert told[4] == {("hold", "1"): "cure 2", ("hold", "2"): "cure 3"}


def test_one_alone_is_cured_anew_every_six_seconds(sea: Asked) -> None:
    sea.touching = {"hold": (Touch("1", 30.0, 1.0),)}
    counsel = Counsel()
    made_at = []
    for t in range(25):
        before = len(sea.asked)
        counsel.with_touches(case(float(t)), made("hold"))
        if len(sea.asked) > before:
            made_at.append(t)
    assert made_at == [0, 6, 12, 18, 24]


def test_what_she_does_comes_before_a_plan_and_slowing_for_a_fish_has_no_cure(sea: Asked) -> None:
    sea.touching = {
        PLAN: (Touch("1", 1.0, 1.0),), "hold": (Touch("2", 90.0, 1.0),), SLOWED: (Touch("3", 0.0, 1.0),),
    }  # fmt: skip
    counsel = Counsel()
    for t in (0.0, 4.0, 8.0):
        done = counsel.with_touches(case(t), made(PLAN, "hold", SLOWED))
    assert sea.asked == [("hold", "2"), (PLAN, "1"), ("hold", "2")]
    assert cures(done) == {(PLAN, "1"): "cure 2", ("hold", "2"): "cure 3", (SLOWED, "3"): ""}


def test_a_touch_that_goes_takes_its_cure_along_and_without_a_bottom_none_is_known(sea: Asked) -> None:
    sea.touching = {"hold": (Touch("1", 30.0, 1.0),)}
    counsel, there = Counsel(), made("hold")
    counsel.with_touches(case(0.0), there)
    sea.touching = {}
    assert cures(counsel.with_touches(case(1.0), there)) == {}
    sea.touching = {"hold": (Touch("1", 30.0, 1.0),)}
    assert cures(counsel.with_touches(case(2.0), there)) == {("hold", "1"): ""}, "made anew, in its turn"
    assert cures(counsel.with_touches(case(4.0), there)) == {("hold", "1"): "cure 2"}
    assert counsel.with_touches(case(5.0, ground=None), there) is there
    assert cures(counsel.with_touches(case(6.0), there)) == {("hold", "1"): ""}


# -- which danger presses most, and what a cure limits ---------------------------------------------------------------


def going(name: str, share: float | None, turn_rad: float = 0.0) -> Forecast:
    return replace(forecast("hold"), manoeuvre=Manoeuvre(name, turn_rad), any_crossing=share)


def test_a_turn_under_way_presses_before_holding_on_and_both_before_a_plan() -> None:
    turning, holding, plan = going("as it goes", 0.1, 1.0), going("hold", 0.9), going(PLAN, 1.0, 1.0)
    assert sorted((plan, holding, turning), key=_pressing) == [plan, holding, turning]
    slight = going("as it goes", 0.09, 1.0)
    assert sorted((holding, slight, plan), key=_pressing) == [slight, plan, holding], "what is likely comes first"
    assert _pressing(going("hold", None)) == (False, False, 0.0)


@pytest.mark.parametrize(
    ("name", "turn_rad", "rate", "least_m"),
    [("as it goes", 1.0, 0.02, 70.0), ("as it goes", -1.0, 0.02, 40.0), (PLAN, 1.0, 0.02, 0.0),
     ("hold", 0.0, None, 0.0)],
)  # fmt: skip
def test_an_eased_turn_is_no_tighter_than_its_sides_limit(
    name: str, turn_rad: float, rate: float | None, least_m: float
) -> None:
    port, starboard = (
        SideLimit(side, radius, 1.0, 180.0, None, ()) for side, radius in (("port", 40.0), ("starboard", 70.0))
    )
    limits = Limits(0.0, port, starboard, SpeedLimit(None, "", (), ()))
    turn = replace(going(name, 0.5), manoeuvre=Manoeuvre(name, turn_rad, rate))
    assert _least_m(turn, limits, 1.0) == least_m
    assert _least_m(turn, None, 1.0) == 0.0
    unknown = replace(limits, port=replace(port, radius_m=None), starboard=replace(starboard, radius_m=None))
    assert _least_m(turn, unknown, 1.0) == 0.0


@pytest.mark.parametrize(
    ("kind", "after", "known"), [("turn", 0.1, True), ("turn", 0.11, False), ("side", 0.0, False)]
)
def test_the_first_slower_turn_that_cures_is_the_limit(kind: str, after: float, known: bool) -> None:
    """At 1 m/s on 50 m: 1.15 degrees a second, half a circle in 157 s."""
    change: Any = SimpleNamespace(kind=kind, manoeuvre=Manoeuvre("as it goes", 1.0, 1.0 / 50.0))
    made_of = _limit(going("as it goes", 0.8, -1.0), [(change, after)], case(0.0))
    assert made_of.side == "port"
    assert (made_of.radius_m, made_of.rate_deg_s, made_of.half_circle_s) == (
        (pytest.approx(50.0), pytest.approx(1.14592, abs=1e-5), pytest.approx(157.0796, abs=1e-3))
        if known
        else (None,) * 3
    )
    assert made_of.tried_m == (((pytest.approx(50.0), after),) if known else ())
    assert _limit(going("as it goes", 0.8, 1.0), [], case(0.0)).side == "starboard"


# -- what cures a touch ----------------------------------------------------------------------------------------------


class Bottom:
    """Changes by their names: which cure the oddest member, and what then comes of all."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, by: list[float]) -> None:
        from sternwatch.watch.outlook import advice

        self.module, self.by, self.deep = advice, np.array(by), -1
        self.cures: set[str] = set()
        self.crossing, self.touching, self.after = 0.0, {"1"}, [0.0, 0.0]
        self.failed = False
        for name, made in {
            "rods_of": lambda fleet, keys: (fleet, keys), "path_of": lambda *_, **__: None, "run": lambda *_: "run",
            "raised_by": self.raised, "one_of": self.one, "_touching": self.left, "_has_ball": lambda *_: False,
            "_try": self.tried, "run_touches": lambda *_: [SimpleNamespace(key=key) for key in sorted(self.touching)],
            "sentence": lambda change, *_, **__: change.kind, "record": lambda *_: {}, "short": lambda *_: "",
        }.items():  # fmt: skip
            monkeypatch.setattr(advice, name, made)

    def raised(self, done: object, _key: str, _ground: object) -> tuple[Any, float]:
        return (self.by if done == "run" else np.array(self.after)), 1.0

    def one(self, fleet: object, member: int) -> object:
        self.deep = member
        return fleet

    def left(self, change: Any, *_: object) -> Any:
        return np.array([0.0 if change.kind in self.cures else 0.5])

    def tried(self, *_: object) -> Any:
        return None if self.failed else SimpleNamespace(any=self.crossing, run="tried")

    def advised(self, *, any_crossing: float | None = 0.0, risk: float = 0.1) -> list[tuple[str, float]]:
        turn = Manoeuvre("as it goes", 1.0, 1.0 / 30.0)
        made_of = replace(going("as it goes", any_crossing, 1.0), manoeuvre=turn, touches=(Touch("3", 5.0, 1.0),))
        fleet: Any = SimpleNamespace(heading_rad=0.0)
        found = self.module.advise_touch(
            fleet, made_of, "1", None, speed_m_s=1.0, required=None, units=SYSTEMS["us"], names={}, set_risk=risk,  # type: ignore[arg-type]
        )  # fmt: skip
        return [(one.text, one.probability_after) for one in found]


@pytest.mark.parametrize(
    ("by", "risk", "deep"),
    [
        ([0.1, 0.5, 0.3, math.nan], 0.1, 1), ([0.1, 0.5, 0.3, math.nan], 0.34, 2),
        ([0.1, 0.5, 0.3, math.nan], 1.0, 0),
        ([0.0, 0.0, 0.2], 0.1, 2),
    ],
)  # fmt: skip
def test_changes_are_tried_on_the_member_that_the_risk_leaves(
    monkeypatch: pytest.MonkeyPatch, by: list[float], risk: float, deep: int
) -> None:
    """The deepest; with a risk of a third, of three members the second deepest."""
    bottom = Bottom(monkeypatch, by)
    assert bottom.advised(risk=risk) == []
    assert bottom.deep == deep


@pytest.mark.parametrize("by", [[math.nan, math.nan], [0.0, 0.0], []])
def test_where_no_member_touches_nothing_is_advised(monkeypatch: pytest.MonkeyPatch, by: list[float]) -> None:
    bottom = Bottom(monkeypatch, by)
    bottom.cures = {"turn", "side", "speed", "line", "away"}
    assert bottom.advised() == []
    assert bottom.deep == -1


def test_a_cure_may_cross_no_more_than_before_and_bring_no_other_rod_to_the_bottom(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bottom = Bottom(monkeypatch, [0.5, 0.5])
    bottom.cures = {"turn"}
    assert bottom.advised() == [("turn", 0.0)]
    for touching, advised in (({"1", "3"}, True), ({"3"}, True), (set(), True), ({"2"}, False)):
        bottom.touching = touching
        assert bool(bottom.advised()) is advised, touching
    bottom.touching = {"1"}
    for crossing, before, advised in (
        (0.1, 0.0, True),
        (0.11, 0.0, False),
        (0.4, 0.4, True),
        (0.41, 0.4, False),
        (0.11, None, False),
    ):
        bottom.crossing = crossing
        assert bool(bottom.advised(any_crossing=before)) is advised, (crossing, before)
    bottom.crossing, bottom.failed = 0.0, True
    assert bottom.advised() == []
    bottom.failed, bottom.after = False, [0.4, math.nan]
    assert bottom.advised() == [], "all that are known still touch"
