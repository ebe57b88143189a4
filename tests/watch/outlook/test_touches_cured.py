"""Advice against touches from one renewal to the next: whose turn it is, how long it stays. With made forecasts."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from made_outlooks import forecast

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.forecast.slowed import SLOWED
from sternwatch.watch.outlook import kept_advice
from sternwatch.watch.outlook.kept_advice import Case, Counsel, _least_m, _limit, _pressing
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre
from sternwatch.watch.picture.outlook import Advice, Forecast, SideLimit, Touch


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
    limits: Any = SimpleNamespace(port=port, starboard=starboard)
    turn = replace(going(name, 0.5), manoeuvre=Manoeuvre(name, turn_rad, rate))
    assert _least_m(turn, limits, 1.0) == least_m
    assert _least_m(turn, None, 1.0) == 0.0
    unknown: Any = SimpleNamespace(port=replace(port, radius_m=None), starboard=replace(starboard, radius_m=None))
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
