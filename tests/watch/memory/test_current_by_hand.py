"""What a current learnt later makes of what was kept: by hand, with a stand-in for the steady depth."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.store.samples import BoatRow, HitRow, Rig, RodRow, Sample
from sternwatch.watch.memory.current_carried_back import Learning, Learnt, carried_hit, carried_sample
from sternwatch.watch.memory.sample_rows import rig_of
from sternwatch.watch.picture.model import SpeedSource
from sternwatch.water.profile import TemperatureProfile

COLUMN = TemperatureProfile.from_pairs([(0.0, 20.0), (20.0, 10.0)])
# North at 1.0 m/s over ground, as of the water too as long as no current was known.
BOAT = BoatRow(100.0, speed_m_s=1.0, sog_m_s=1.0, course_deg=0.0)


def learnt(spread: Any = None, current: tuple[float, float] = (0.2, 0.0), **more: Any) -> Learnt:
    made = {"before_m_s": (0.0, 0.0), "speed_m_s": 0.8, "spread": spread, "column": COLUMN, "water": None} | more
    return Learnt(50.0, 150.0, current, **made)


def depths(monkeypatch: pytest.MonkeyPatch, at: float, quicker: float, asked: list[float] | None = None) -> None:
    """What the rod's steady depth is at the speed, and at 1.15 of it."""

    def depth_m(one: Learnt, spread: object, as_set: object, speed_m_s: float) -> float:
        del spread, as_set
        if asked is not None:
            asked.append(speed_m_s / one.speed_m_s)
        return at if speed_m_s == one.speed_m_s else quicker

    monkeypatch.setattr(Learnt, "_depth_m", depth_m)


@pytest.mark.parametrize(
    ("course_deg", "before", "speed"),
    [
        (0.0, (0.0, 0.0), 0.8), (180.0, (0.0, 0.0), 1.2), (90.0, (0.0, 0.0), math.hypot(1.0, 0.2)),
        (0.0, (-0.1, 0.0), 0.7), (30.0, (0.0, 0.0), math.hypot(math.cos(math.pi / 6) - 0.2, 0.5)),
        (0.0, (-1.9, 0.0), 0.0),
    ],
)  # fmt: skip
def test_the_speed_through_the_water_by_the_current(
    course_deg: float, before: tuple[float, float], speed: float
) -> None:
    made = learnt(before_m_s=before).boat(replace(BOAT, course_deg=course_deg))
    assert made is not None
    assert made.speed_m_s == pytest.approx(speed, abs=1e-3)


@pytest.mark.parametrize("missing", ["sog_m_s", "course_deg", "speed_m_s"])
def test_without_speed_over_ground_or_with_a_log_nothing_is_carried_back(missing: str) -> None:
    assert learnt().boat(replace(BOAT, **{missing: None})) is None
    assert learnt().boat(replace(BOAT, stw_m_s=1.0)) is None


@pytest.mark.parametrize(
    ("at", "quicker", "power"),
    [
        (10.0, 8.0, math.log(0.8) / math.log(1.15)), (0.5, 0.4, math.log(0.8) / math.log(1.15)), (10.0, 10.0, 0.0),
        (0.0, 8.0, 0.0), (10.0, 0.0, 0.0), (math.nan, 8.0, 0.0), (10.0, math.nan, 0.0), (math.inf, 8.0, 0.0),
    ],
)  # fmt: skip
def test_a_slower_lure_is_deeper_as_its_steady_depth_goes_with_the_speed(
    monkeypatch: pytest.MonkeyPatch, at: float, quicker: float, power: float
) -> None:
    asked: list[float] = []
    depths(monkeypatch, at, quicker, asked)
    row = RodRow(Rig("1"), 30.0, None, 8.0, 7.0, 9.0, 1.1, None, 16.0, 5.0)
    one = learnt()
    made = one.rod(None, row, 1.0, 0.8)  # type: ignore[arg-type]
    ratio = 0.8**power
    assert (made.depth_m, made.depth_low_m, made.depth_high_m) == pytest.approx(
        (8.0 * ratio, 7.0 * ratio, 9.0 * ratio), abs=0.01
    )
    assert made.lure_speed_m_s == pytest.approx(0.9)
    assert made.clearance_m == pytest.approx(13.0 - 8.0 * ratio, abs=0.01)
    assert made.temperature_c == pytest.approx(20.0 - 0.5 * 8.0 * ratio, abs=0.05)
    assert one.rod(None, row, 1.0, 0.8) == made  # type: ignore[arg-type]
    assert asked == pytest.approx([1.0, 1.15]), "once for each rod as it is set"


def test_what_was_not_known_of_a_rod_stays_so(monkeypatch: pytest.MonkeyPatch) -> None:
    depths(monkeypatch, 10.0, 8.0)
    bare = RodRow(Rig("1"), depth_m=8.0)
    made = learnt().rod(None, bare, 1.0, 0.8)  # type: ignore[arg-type]
    assert made == replace(bare, depth_m=made.depth_m)
    for row, was, now in (
        (replace(bare, depth_m=None), 1.0, 0.8),
        (bare, None, 0.8),
        (bare, 0.0, 0.8),
        (bare, 1.0, 0.0),
    ):
        assert learnt().rod(None, row, was, now) is row  # type: ignore[arg-type]


def test_two_currents_are_the_same_whatever_was_asked_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    depths(monkeypatch, 10.0, 8.0)
    one = learnt()
    one.rod(None, RodRow(Rig("1"), depth_m=8.0), 1.0, 0.8)  # type: ignore[arg-type]
    assert one == learnt()


def test_hits_on_its_legs_alone_are_told_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    depths(monkeypatch, 10.0, 8.0)
    hit = HitRow("h", "1", 100.0, 0, True, True, boat=BOAT, rod_row=RodRow(Rig("1"), depth_m=8.0))
    one = learnt()

    def carried(**more: Any) -> bool:
        row = replace(hit, **more)
        made = carried_hit(row, None, (one,))  # type: ignore[arg-type]
        assert made is row or made.speed_by == "speed and depth by a current learnt later"
        return made is not row

    assert [carried(at_s=t_s) for t_s in (49.9, 50.0, 150.0, 150.1, None)] == [False, True, True, False, False]
    assert not carried(boat=None)
    assert not carried(rod_row=None)
    assert not carried(boat=replace(BOAT, stw_m_s=1.0))
    assert carried_hit(hit, None, ()) is hit  # type: ignore[arg-type]


def test_samples_of_a_rod_that_is_rigged_otherwise_by_now_keep_their_depth(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread
) -> None:
    depths(monkeypatch, 10.0, 8.0)
    one, rod = learnt(two_rods), two_rods.rods[1]
    rig = rig_of(two_rods, rod, None)
    rows = tuple(RodRow(of, depth_m=8.0) for of in (rig, replace(rig, lure="another"), replace(rig, rod="none")))
    made = carried_sample(Sample(BOAT, rows), one)
    assert made.boat.speed_m_s == pytest.approx(0.8)
    assert [row.depth_m == 8.0 for row in made.rods] == [False, True, True]
    late = Sample(replace(BOAT, at_s=151.0), rows)
    assert carried_sample(late, one) is late


def step(t_s: float, spread: Spread, *, found: bool = True, **more: Any) -> Any:
    current = {"found": found, "said": None, "since_s": 10.0, "told_m_s": (0.2, 0.0), "through_m_s": 0.8} | more
    source = current.pop("source", SpeedSource.OVER_GROUND)
    prior = SimpleNamespace(given_m_s=(0.0, 0.1))
    waters = SimpleNamespace(water=lambda _: None)
    boat = SimpleNamespace(current=SimpleNamespace(prior=prior, **current), source=source)
    return SimpleNamespace(t_s=t_s, boat=boat, spread=spread, waters=waters, column=COLUMN, sensors={})


def test_a_current_is_learnt_once_when_it_is_found(two_rods: Spread) -> None:
    made = Learning()
    assert made.step(step(50.0, two_rods, found=False)) is None
    one = made.step(step(100.0, two_rods))
    assert one is not None
    assert (one.since_s, one.until_s, one.current_m_s, one.before_m_s, one.speed_m_s) == (
        10.0, 100.0, (0.2, 0.0), (0.0, 0.1), 0.8
    )  # fmt: skip
    assert made.step(step(101.0, two_rods)) is None
    assert made.copy().step(step(102.0, two_rods)) is None
    made.step(step(200.0, two_rods, found=False))
    again = made.step(step(300.0, two_rods))
    assert again is not None
    assert again.since_s == 100.0, "no further back than the one before"
    assert made.all == (one, again)


def test_a_current_is_carried_back_an_hour_at_most(two_rods: Spread) -> None:
    one = Learning().step(step(5000.0, two_rods))
    assert one is not None
    assert one.since_s == 1400.0


@pytest.mark.parametrize("more", [{"said": (0.1, 0.0)}, {"source": SpeedSource.THROUGH_WATER}, {"since_s": None}])
def test_a_current_that_was_said_or_drives_nothing_teaches_nothing(two_rods: Spread, more: dict[str, Any]) -> None:
    assert Learning().step(step(100.0, two_rods, **more)) is None
