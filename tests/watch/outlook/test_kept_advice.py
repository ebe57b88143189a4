"""One cure of a crossing from one renewal to the next, and the limit that it makes: with a stand-in for the fleet."""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from made_outlooks import forecast, hold_alone, pair

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.outlook import advice, kept_advice
from sternwatch.watch.outlook.changes import again, other_side, radius_m, slower_turns
from sternwatch.watch.outlook.kept_advice import Case, Counsel
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre
from sternwatch.watch.picture.outlook import Forecast, Limits, SideLimit, SpeedLimit, Touch

SPEED = 1.03


@dataclass
class Sea:
    """Turns wider than a radius do not cross; the other side crosses never."""

    free_m: float = 45.0
    asked: list[float] = field(default_factory=list)

    def after(self, change: Any, *_: Any) -> Any:
        radius = radius_m(change.manoeuvre, SPEED)
        self.asked.append(radius or 0.0)
        ok = change.kind == "side" or (change.kind == "turn" and radius is not None and radius >= self.free_m)
        return type("Outcome", (), {"any": 0.0 if ok else 1.0})()


@pytest.fixture
def sea(monkeypatch: pytest.MonkeyPatch) -> Sea:
    made = Sea()
    monkeypatch.setattr(advice, "_try", made.after)
    monkeypatch.setattr(advice, "one_of", lambda fleet, _member: fleet)
    monkeypatch.setattr(advice, "_in_all", lambda _made, _risk: ())
    monkeypatch.setattr(kept_advice, "on_purpose", lambda _spread: ())
    monkeypatch.setattr(kept_advice, "_names", lambda _case: {})
    return made


def turning(radius: float, left_deg: float = 150.0, share: float = 0.8) -> tuple[Forecast, ...]:
    made = forecast("as it goes", pair(("1", "6"), share))
    going = Manoeuvre("as it goes", math.radians(left_deg), SPEED / radius)
    return forecast("hold", pair(("1", "6"), 0.0)), replace(made, manoeuvre=going)


def case(t_s: float) -> Case:
    return Case(t_s, None, None, SPEED, None, SYSTEMS["us"], 0.1, None)  # type: ignore[arg-type]


def limits(radius: float) -> Limits:
    none = SideLimit("port", None, None, None, None, ())
    side = SideLimit("starboard", radius, 1.0, 180.0, None, ())
    return Limits(0.0, none, side, SpeedLimit(None, "", (), ()))


def test_turning_slower_comes_first_and_only_then_the_other_way(sea: Sea) -> None:
    counsel = Counsel()
    counsel.on_crossings(case(0.0), turning(20.0))
    assert [one.change["what"] for one in counsel.crossing] == ["turn", "turn"]
    assert counsel.crossing[0].text.startswith(
        "Turn more slowly: 180° in 2:33 (12° per 10 s): "
    )  # on 50 m at 1.03 m/s
    assert counsel.crossing[0].short == "slow to 180° in 2:33"
    assert counsel.crossing[1].short == "turn to port instead"
    sea.free_m = math.inf
    counsel = Counsel()
    counsel.on_crossings(case(0.0), turning(20.0))
    assert [one.short for one in counsel.crossing] == ["turn to port instead"]


def test_one_cure_stays_while_it_cures_however_the_turn_goes_on(sea: Sea) -> None:
    counsel, said = Counsel(), set()
    for k in range(18):  # 35 s in which she turns a little faster and slower, and the risk dips for a moment
        share = 0.06 if k == 7 else 0.8
        sea.free_m = 45.0 - k % 5  # a smaller easing would do at times
        counsel.on_crossings(case(2.0 * k), turning(20.0 + k % 3, 150.0 - 5.0 * k, share))
        if counsel.crossing:
            said.add(counsel.crossing[0].short)
    assert said == {"slow to 180° in 2:33"}


def test_a_cure_that_fails_is_replaced(sea: Sea) -> None:
    counsel = Counsel()
    counsel.on_crossings(case(0.0), turning(20.0))
    sea.free_m = 70.0
    counsel.on_crossings(case(2.0), turning(20.0))
    assert counsel.crossing[0].short == "slow to 180° in 2:33"  # it is not tried anew in every renewal
    counsel.on_crossings(case(6.0), turning(20.0))
    assert counsel.crossing[0].short == "slow to 180° in 4:04"


def test_the_cure_is_no_tighter_than_the_limit_and_becomes_it(sea: Sea) -> None:
    counsel = Counsel()
    counsel.on_crossings(case(0.0), turning(20.0), limits(60.0))
    assert counsel.crossing[0].short == "slow to 180° in 3:03"
    assert counsel.limit is not None
    assert (counsel.limit.side, counsel.limit.radius_m) == ("starboard", pytest.approx(60.0))
    assert counsel.limit.limited_by == ("1", "6"), "the pair that the turn is eased for"
    assert counsel.limit.half_circle_s == pytest.approx(math.pi * 60.0 / SPEED)
    sea.free_m = 90.0
    counsel.on_crossings(case(6.0), turning(20.0), limits(60.0))
    assert counsel.limit.radius_m == pytest.approx(100.0)
    sea.free_m = math.inf  # only the other side cures: no turn to this one is known to
    counsel.on_crossings(case(12.0), turning(20.0), limits(60.0))
    assert counsel.limit.radius_m is None
    counsel.on_crossings(case(14.0), turning(20.0, share=0.0))
    assert counsel.limit is None


@pytest.mark.usefixtures("sea")
def test_only_the_turn_that_she_makes_has_a_limit() -> None:
    counsel = Counsel()
    counsel.on_crossings(case(0.0), turning(20.0))
    assert counsel.limit is not None
    counsel.on_crossings(case(6.0), (hold_alone(0.8),))
    assert counsel.limit is None, "lines that touch straight ahead say nothing of how tight she may turn"
    (going,) = (one for one in turning(20.0) if one.manoeuvre.name == "as it goes")
    planned = replace(going, manoeuvre=replace(going.manoeuvre, name=PLAN))
    counsel.on_crossings(case(12.0), (hold_alone(0.0), planned))
    assert counsel.crossing_for == PLAN
    assert counsel.limit is None, "a plan is not yet a turn"


def test_cures_are_kept_as_long_as_the_first_still_cures(monkeypatch: pytest.MonkeyPatch) -> None:
    """A change of which nothing is left to do, or that brings others to the bottom, is kept no longer."""

    def still(*after: float | str | None) -> list[float]:
        left = iter([share for share in after if share != "done"])
        monkeypatch.setattr(kept_advice, "again", lambda change, *_: None if change == "done" else change)
        danger = SimpleNamespace(
            made=SimpleNamespace(manoeuvre=None), speed_m_s=SPEED, set_risk=0.1, left=lambda _: next(left)
        )
        kept: Any = [("done", 0.0) if share == "done" else ("turn", 0.0) for share in after]
        return [share for _, share in kept_advice._still(danger, kept)]  # type: ignore[arg-type]

    assert still() == []
    assert still(0.1) == [0.1]
    assert still(0.11) == []
    assert still(0.0, 0.2, 0.05) == [0.0, 0.05]
    assert still(0.2, 0.0) == []
    assert still(None, 0.0) == []
    assert still(0.0, None, 0.1) == [0.0, 0.1]
    assert still("done", 0.0) == []
    assert still(0.0, "done", 0.1) == [0.0, 0.1]


@pytest.mark.parametrize(
    ("then", "left"), [((), 0.25), (("1",), 0.25), (("1", "3"), 0.25), (("2",), None), (("1", "2", "3"), None)]
)
def test_a_cure_brings_no_rod_to_the_bottom_that_does_not_touch_already(
    monkeypatch: pytest.MonkeyPatch, then: tuple[str, ...], left: float | None
) -> None:
    """Rods 1 and 3 touch as she goes."""
    outcome = SimpleNamespace(any=0.25, run=None)
    monkeypatch.setattr(advice, "_try", lambda *_: outcome)
    monkeypatch.setattr(advice, "run_touches", lambda *_: [Touch(key, 5.0, 1.0) for key in then])
    made = replace(turning(20.0)[1], touches=(Touch("1", 5.0, 1.0), Touch("3", 5.0, 1.0)))
    ground: Any = object()
    danger = advice.Danger(None, made, SPEED, None, ground=ground)  # type: ignore[arg-type]
    change: Any = None
    assert danger.left(change) == left
    assert replace(danger, ground=None).left(change) == 0.25, "where nothing is sounded nothing is known to touch"
    monkeypatch.setattr(advice, "_try", lambda *_: None)
    assert danger.left(change) is None


def test_slower_turns_lie_on_the_radii_of_the_limits() -> None:
    going = Manoeuvre("as it goes", math.radians(100.0), SPEED / 30.0)
    found = [radius_m(change.manoeuvre, SPEED) for change in slower_turns(going, SPEED)]
    assert found == pytest.approx([32.0, 40.0, 50.0, 60.0, 80.0, 100.0, 120.0])
    assert list(slower_turns(Manoeuvre("hold"), SPEED)) == []


def test_what_was_done_already_is_no_change_any_more() -> None:
    going = Manoeuvre("as it goes", math.radians(100.0), SPEED / 30.0)
    ease = next(iter(slower_turns(going, SPEED)))
    assert again(ease, replace(going, rate_rad_s=SPEED / 50.0), SPEED) is None
    assert again(ease, replace(going, turn_rad=-1.0), SPEED) is None
    kept = again(ease, replace(going, turn_rad=1.0), SPEED)
    assert kept is not None
    assert (kept.manoeuvre.turn_rad, kept.manoeuvre.rate_rad_s) == (1.0, ease.manoeuvre.rate_rad_s)
    nearly_over = again(ease, replace(going, turn_rad=0.1), SPEED)
    assert nearly_over is not None, "the last of it is steered as the whole"
    side = next(iter(other_side(going)))
    flipped = again(side, replace(going, turn_rad=1.0), SPEED)
    assert flipped is not None
    assert flipped.manoeuvre.turn_rad == -1.0
