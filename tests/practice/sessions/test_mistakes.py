"""What went wrong, when, and how to avoid it."""

from __future__ import annotations

from typing import Any

import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.practice.drills.files import DrillFile, find_drill
from sternwatch.practice.sessions.kept import Allowed, Kept, Moment
from sternwatch.practice.sessions.mistake_words import bent_words, instead, said
from sternwatch.practice.sessions.mistakes import bent, cause

US = SYSTEMS["us"]
NEAR: dict[str, Any] = {"kind": "near", "t_s": 169.0, "keys": ["1", "2"], "ratio": 0.5}
LIMITS = Allowed(port_deg=13.0, starboard_deg=float("nan"), speed_m_s=0.9, risk=0.1)


def moment(t_s: float, turned: float, speed: float = 1.1, allowed: Allowed | None = LIMITS) -> Moment:
    return Moment(t_s, turned, speed, allowed, None, None, {}, {}, {})


def kept(*moments: Moment) -> Kept:
    made = Kept()
    made.moments.extend(moments)
    return made


def test_the_turn_furthest_beyond_its_limit_is_named_with_what_would_have_kept_it() -> None:
    fact = NEAR | cause(kept(moment(100, -12.0), moment(151, -21.0), moment(160, -15.0), moment(171, -40.0)), 169.0)
    assert said(fact, {}, US) == (
        "At 2:31 you turned 21° per 10 s to port; the limit was 13; "
        "1 and 2 closed to 0.5 of the distance wanted at 2:49."
    )
    assert instead(fact, US).startswith("Turn 13° per 10 s or less (")


@pytest.mark.parametrize(
    ("before", "did", "better"),
    [
        (moment(60, -12.6), "within the limit of 13", "Turn even wider"),
        (moment(60, 20.0), "no turn that was tried kept the risk low", "Go straight on"),
        (moment(60, -12.0, allowed=None), "no limit was known then", "wait until the helm shows the limits"),
        (moment(60, 0.3, 0.8), "went 1.8 mph; the slowest was 2.0 mph", "Keep 2.0 mph or more"),
        (moment(60, -21.0, 0.8), "the limit was 13", "Turn 13°"),
    ],
)
def test_every_cause_has_its_own_words(before: Moment, did: str, better: str) -> None:
    fact = NEAR | cause(kept(before), 169.0)
    assert did in said(fact, {}, US)
    assert better in instead(fact, US)


def test_where_she_went_straight_or_it_was_long_ago_no_cause_is_named() -> None:
    for before in (moment(60, 1.5, 1.1), moment(169 - 181, -30.0)):
        assert cause(kept(before), 169.0) == {}
    assert said(NEAR, {"1": "1 P HIGH", "2": "2 P LOW"}, US).startswith("2:49  1 P HIGH and 2 P LOW closed to 0.5")
    assert "no turn or slowing of yours" in instead(NEAR, US)


def test_a_touch_of_the_bottom_says_how_much_shallower_would_have_passed() -> None:
    fact = {"kind": "bottom", "t_s": 130.0, "keys": ["3"], "cause_t_s": 112.0, "raise_m": 2.5}
    assert said(fact, {"3": "3 P LOW"}, US) == "2:10  3 P LOW touched bottom."
    assert instead(fact, US) == "8 ft shallower at 1:52, when it ran close, would have passed with 3 ft to spare."
    assert "another part of the rig" in instead(fact | {"raise_m": None}, US)


def test_what_a_drill_bends_on_purpose_is_said() -> None:
    def words(file: DrillFile) -> str:
        return "; ".join(bent_words(one, US) for one in bent(file.drill))

    assert words(find_drill("no-gps")) == "an instrument that fails (no fix) from 0:30 to 1:30"
    assert "a current of 0.3 mph to the south at 72 ft" in words(find_drill("shear"))
    assert words(find_drill("reverse-port")) == ""
