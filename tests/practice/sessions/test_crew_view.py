"""What the practice boat's crew see: strikes and their ends, another boat, the goal in words."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.practice.sessions import crew_view
from sternwatch.practice.sessions.crew_view import LOOKOUT_M, Event, event_words, goal_words, shown_of
from sternwatch.practice.world.fish import KEY_WITHIN_S, TELLS_S


def world(*strikes: Any, t_s: float = 100.0, **more: Any) -> Any:
    fields = {
        "t_s": t_s, "drill_s": t_s, "fish": SimpleNamespace(strikes=strikes), "crew": None, "turned_deg": 0.0,
        "below": SimpleNamespace(touches=()), "drill": SimpleNamespace(vessel=None), "place_m": (0.0, 0.0),
        "boat": SimpleNamespace(rudder_deg=3.0, heading_deg=90.0, velocity_m_s=(0.0, 1.0)),
        "orders": SimpleNamespace(heading_deg=None, engine="main", lever=0.5),
        "tally": SimpleNamespace(passed=1, over=False, done_s=None, held_s=None),
        "lake": SimpleNamespace(surface_current_at=lambda _: (0.0, 0.0)),
    }  # fmt: skip
    return SimpleNamespace(**{**fields, **more})


def strike(key: str = "1", t_s: float = 95.0, kind: str = "fish", **more: Any) -> Any:
    return SimpleNamespace(**{"key": key, "t_s": t_s, "kind": kind, "ready_s": None, "off_s": None, **more})


@pytest.fixture(autouse=True)
def entered(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Hits that the crew entered, by rod."""
    hits: dict[str, Any] = {}
    monkeypatch.setattr(crew_view, "keyed", lambda one, _: hits.get(one.key))
    monkeypatch.setattr(crew_view, "vessel_at", lambda drill, _: None if drill.vessel is None else drill.vessel.at)
    return hits


def seen(made: Any) -> list[tuple[str, str, float]]:
    return [(event.kind, event.key, event.t_s) for event in shown_of(made).events]


def test_a_strike_is_felt_until_its_entries_are_complete(entered: dict[str, Any]) -> None:
    fish = strike(ready_s=97.0, off_s=99.0)
    assert seen(world(fish)) == [("strike", "1", 95.0), ("net", "1", 97.0), ("off", "1", 99.0)]
    entered["1"] = SimpleNamespace(outcome=None)
    assert len(seen(world(fish))) == 3
    entered["1"] = SimpleNamespace(outcome="boxed")
    assert seen(world(fish)) == []


def test_a_false_release_is_told_after_a_while() -> None:
    false = strike(kind="false release", off_s=98.0)
    assert seen(world(false, t_s=95.0 + TELLS_S - 0.1)) == [("strike", "1", 95.0)]
    assert seen(world(false, t_s=95.0 + TELLS_S))[1:] == [("nothing", "1", 95.0 + TELLS_S)], "no line goes slack"


@pytest.mark.parametrize(("age_s", "said"), [(40.0, True), (40.1, False)])
def test_what_is_old_is_said_no_more(age_s: float, said: bool) -> None:
    touch = SimpleNamespace(t_s=100.0 - age_s, key="2")
    assert bool(seen(world(below=SimpleNamespace(touches=(touch,))))) is said


@pytest.mark.parametrize(
    ("age_s", "off_s", "waits"),
    [(1.0, None, True), (KEY_WITHIN_S, None, True), (KEY_WITHIN_S + 0.1, None, False), (1.0, 99.5, False)],
)
def test_a_rod_goes_off_until_it_is_entered(
    entered: dict[str, Any], age_s: float, off_s: float | None, waits: bool
) -> None:
    made = world(strike(t_s=100.0 - age_s, off_s=off_s))
    assert (shown_of(made).striking == ("1",)) is waits
    entered["1"] = SimpleNamespace(outcome=None)
    assert shown_of(made).striking == ()


@pytest.mark.parametrize(
    ("at", "distance", "bearing", "closing"),
    [
        ((0.0, 300.0), 300.0, 0.0, 3.0), ((300.0, 0.0), 300.0, -90.0, 0.0), ((-400.0, 0.0), 400.0, 90.0, 0.0),
        ((0.0, -200.0), 200.0, -180.0, -3.0), ((0.0, LOOKOUT_M), LOOKOUT_M, 0.0, 3.0),
    ],
)  # fmt: skip
def test_another_boat_that_comes_west_at_two_metres_a_second(
    at: tuple[float, float], distance: float, bearing: float, closing: float
) -> None:
    """She herself goes east at one."""
    other = SimpleNamespace(at=at, speed_m_s=2.0, heading_rad=1.5 * math.pi)
    vessel = shown_of(world(drill=SimpleNamespace(vessel=other))).vessel
    assert vessel is not None
    assert (vessel.distance_m, vessel.closing_m_s) == pytest.approx((distance, closing), abs=1e-9)
    assert (vessel.bearing_deg - bearing) % 360.0 == pytest.approx(0.0, abs=1e-9)
    other.at = (0.0, LOOKOUT_M + 0.1)
    assert shown_of(world(drill=SimpleNamespace(vessel=other))).vessel is None
    other.at = (0.0, 0.0)
    none = shown_of(world(drill=SimpleNamespace(vessel=other))).vessel
    assert none is not None
    assert none.closing_m_s == 0.0


def test_a_current_carries_both() -> None:
    other = SimpleNamespace(at=(0.0, 300.0), speed_m_s=0.0, heading_rad=0.0)
    lake = SimpleNamespace(surface_current_at=lambda _: (0.0, 0.4))
    vessel = shown_of(world(drill=SimpleNamespace(vessel=other), lake=lake)).vessel
    assert vessel is not None
    assert vessel.closing_m_s == pytest.approx(1.4)


def test_words() -> None:
    assert event_words(Event(1.0, "strike", "3"), {"3": "P LOW"}) == "3 P LOW: goes off"
    assert event_words(Event(1.0, "tick", "9"), {}) == "9: ticks on the bottom"
    empty = dict.fromkeys(("turned", "heading_rad", "speed_m_s", "rods", "boxed", "marks", "elapsed_s"))
    goals: list[tuple[dict[str, Any], str]] = [
        ({"turned": -180.0}, "turned 180° to port"), ({"turned": 90.0}, "turned 90° to starboard"),
        ({"heading_rad": math.radians(5.0)}, "heading 005°"), ({"rods": "out"}, "every rod set"),
        ({"speed_m_s": (1.0, 1.5)}, "3.6–5.4 km/h through the water"), ({"rods": "in"}, "every rod in"),
        ({"boxed": 1}, "a fish landed"), ({"boxed": 2}, "2 fish landed"), ({"marks": (1, 2)}, "2 marks passed"),
        ({"elapsed_s": 900.0}, "15 min fished"), ({"rods": "in", "boxed": 1}, "every rod in, a fish landed"),
    ]  # fmt: skip
    for more, said in goals:
        goal = SimpleNamespace(**{**empty, "hold_s": 90.0, **more})
        drill: Any = SimpleNamespace(goal=goal)
        assert goal_words(drill, SYSTEMS["metric"]) == f"{said}, held for 1:30"
    assert goal_words(SimpleNamespace(goal=None), SYSTEMS["metric"]) == ""  # type: ignore[arg-type]
