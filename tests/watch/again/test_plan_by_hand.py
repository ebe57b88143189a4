"""What is asked for a way back, and how ways are chosen and passes measured: by hand, without a chain."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.watch.again import plan as module
from sternwatch.watch.again.asking import asked_now, dangers_of, of_hit, of_place, over_ground, radii_of
from sternwatch.watch.again.legs import Leg, end_of
from sternwatch.watch.again.plan import (
    Asked,
    Cannot,
    Proposal,
    Target,
    _chosen,
    _passes,
    _through_water,
    _too_far,
    _track,
    _way,
    propose,
    steered_radius_m,
)
from sternwatch.watch.bottom.passings import MARGIN_M
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.forecast.bottom_ahead import Ground

# As agreed: a change of one is to be noticed.
SPREAD_M = 15.0
AFTER_S = 24.0
LATEST_S = 1800.0
LEAST_RADIUS_M = 45.0

ORIGIN = (47.0, -89.5)
TARGET = Target("1", (300.0, -200.0), 18.0, 0.8, 1.2)
COURSE = module._Course(False, 0.8, 1.2, None, (40.0, 2.0))  # type: ignore[arg-type]


def ground(drift: tuple[float, float] = (0.0, 0.0)) -> Ground:
    return Ground(0.0, (10.0, 5.0), 0.3, 0.0, drift, None)  # type: ignore[arg-type]


def asked(target: Target = TARGET, drift: tuple[float, float] = (0.0, 0.0), **more: Any) -> Asked:
    fleet: Any = SimpleNamespace(heading_rad=0.3, cast=SimpleNamespace(keys=("1",), members=4), velocity_m_s=None)
    return replace(Asked(target, fleet, ground(drift), 1.0, None, {"port": 60.0, "starboard": 50.0}), **more)  # type: ignore[arg-type]


# -- what is asked -------------------------------------------------------------------------------------------------


def context(**more: Any) -> Any:
    moment = SimpleNamespace(speed_m_s=1.1, heading_deg=90.0, points_deg=95.0)
    rod = SimpleNamespace(position_deg=(47.001, -89.5), line_out_m=40.0, depth_m=17.0, setting="low", lead_m=6.0)
    return SimpleNamespace(**{"moment": moment, "rod": "3", "at_rod": rod, **more})


def test_a_hit_is_asked_for_as_it_was() -> None:
    made = of_hit(context(), ORIGIN, 35.0)
    assert isinstance(made, Target)
    assert made == Target(
        "3", local_metres(ORIGIN, (47.001, -89.5)), 17.0, math.radians(90.0), 1.1, longer_m=5.0,
        as_then=RodNow(line_out_as_counter_m=40.0, setting="low", lead_m=6.0),
    )  # fmt: skip
    by_course = of_hit(
        context(moment=SimpleNamespace(speed_m_s=1.1, heading_deg=None, points_deg=95.0)), ORIGIN, 35.0
    )
    assert isinstance(by_course, Target)
    assert by_course.heading_rad == math.radians(95.0)


@pytest.mark.parametrize(
    ("out_m", "longer_m"), [(39.69, 0.31), (39.71, 0.0), (40.29, 0.0), (40.31, -0.31), (None, 0.0), (40.0, 0.0)]
)
def test_line_is_changed_by_a_foot_or_more(out_m: float | None, longer_m: float) -> None:
    made = of_hit(context(), ORIGIN, out_m)
    assert isinstance(made, Target)
    assert made.longer_m == pytest.approx(longer_m)


@pytest.mark.parametrize(
    ("given", "origin", "why"),
    [
        (None, ORIGIN, "Nothing is known"), (context(moment=None), ORIGIN, "Nothing is known"),
        (context(rod=None), ORIGIN, "Nothing is known"), (context(at_rod=None), ORIGIN, "The place of the lure"),
        (context(at_rod=SimpleNamespace(position_deg=None)), ORIGIN, "The place of the lure"),
        (context(), None, "The place of the lure"),
        (context(moment=SimpleNamespace(speed_m_s=None)), ORIGIN, "The boat's speed"),
        (context(moment=SimpleNamespace(speed_m_s=0.0)), ORIGIN, "The boat made no way"),
        (context(moment=SimpleNamespace(speed_m_s=0.2)), ORIGIN, "The boat made no way"),
    ],
)  # fmt: skip
def test_what_is_not_known_of_a_hit(given: Any, origin: Any, why: str) -> None:
    made = of_hit(given, origin, 35.0)
    assert isinstance(made, Cannot)
    assert made.why.startswith(why)


def test_a_place_is_asked_for_on_this_course() -> None:
    boat: Any = SimpleNamespace(heading_deg=270.0, speed_m_s=1.3)
    made = of_place("2", (1.0, 2.0), None, boat)
    assert made == Target("2", (1.0, 2.0), None, math.radians(270.0), 1.3)
    assert isinstance(made, Target)
    assert over_ground(made, 0.9) == replace(made, speed_m_s=0.9, over_ground=True)
    nothing = asked_now(made, None, None, boat)  # type: ignore[arg-type]
    assert isinstance(nothing, Cannot)


def test_nets_and_snags_are_kept_from_by_their_margin_and_the_spreads_width() -> None:
    what = next(iter(MARGIN_M))
    spots = [
        SimpleNamespace(what=what, at_m=(1.0, 2.0)), SimpleNamespace(what="fish", at_m=(3.0, 4.0)),
        SimpleNamespace(what=what, at_m=None),
    ]  # fmt: skip
    bottom: Any = SimpleNamespace(marked=SimpleNamespace(marks=lambda: spots))
    assert dangers_of(bottom) == (((1.0, 2.0), MARGIN_M[what] + SPREAD_M),)


def test_the_tightest_turns_that_are_known() -> None:
    def limits(port: float | None, starboard: float | None) -> Any:
        return SimpleNamespace(port=SimpleNamespace(radius_m=port), starboard=SimpleNamespace(radius_m=starboard))

    assert radii_of(None) == {}
    assert radii_of(limits(30.0, 70.0)) == {"port": 30.0, "starboard": 70.0}
    assert radii_of(limits(None, 70.0)) == {"starboard": 70.0}
    assert radii_of(limits(30.0, None)) == {"port": 30.0}
    assert [steered_radius_m({"port": r}, "port") for r in (LEAST_RADIUS_M - 1.0, 70.0)] == [LEAST_RADIUS_M, 70.0]  # type: ignore[dict-item]
    assert steered_radius_m({}, "port") == 60.0


@pytest.mark.parametrize(
    ("key", "as_then", "put_out"),
    [("1", RodNow(40.0), False), ("1", None, False), ("9", RodNow(40.0), True), ("9", None, False)],
)
def test_a_rod_that_is_in_is_put_out_as_it_was_then(
    monkeypatch: pytest.MonkeyPatch, key: str, as_then: RodNow | None, put_out: bool
) -> None:
    """A mark or a place of the chart says nothing of how a rod was: then it cannot be put out."""
    import sternwatch.watch.again.asking as asking

    put: list[Any] = []
    monkeypatch.setattr(asking, "ground_of", lambda *_: ground())
    monkeypatch.setattr(asking, "Casting", lambda: SimpleNamespace(fleet=lambda _: "fleet"))
    monkeypatch.setattr(asking, "_put_out", lambda *given: put.append(given) or "with it")
    monkeypatch.setattr(asking, "required_of", lambda _: None)
    monkeypatch.setattr(asking, "on_purpose", lambda _: frozenset())
    now: Any = SimpleNamespace(t_s=5.0, rods={"1": RodNow()}, spread=None, speed_m_s=1.3)
    bottom: Any = SimpleNamespace(marked=SimpleNamespace(marks=list))
    target = replace(TARGET, key=key, as_then=as_then, longer_m=3.0)
    made = asked_now(target, now, bottom, None)  # type: ignore[arg-type]
    assert isinstance(made, Asked)
    assert made.fleet == ("with it" if put_out else "fleet")
    assert (made.target.put_out, made.target.longer_m) == (put_out, 0.0 if put_out else 3.0)
    assert put == ([("9", as_then, now)] if put_out else [])
    assert made.speed_m_s == 1.3


# -- ways ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("drift", "speed"),
    [((0.0, 0.0), 1.2), ((0.3, 0.0), 0.9), ((-0.3, 0.0), 1.5), ((0.0, 0.72), 0.96), ((0.2, 0.72), 0.76),
     ((0.0, 1.2), None), ((-0.5, 1.2), None), ((0.0, 1.3), None), ((1.01, 0.0), None), ((0.99, 0.0), 0.21)],
)  # fmt: skip
def test_the_speed_through_the_water_for_one_over_ground(drift: tuple[float, float], speed: float | None) -> None:
    """To the north: what runs along is taken off, and across it the triangle of velocities is closed."""
    one = asked(replace(TARGET, over_ground=True), drift)
    assert _through_water(one, 0.0) == (None if speed is None else pytest.approx(speed))
    assert _through_water(asked(TARGET, drift), 0.0) == 1.2
    turned = asked(replace(TARGET, over_ground=True), (-drift[1], drift[0]))
    assert _through_water(turned, math.pi / 2.0) == (None if speed is None else pytest.approx(speed))


@pytest.mark.parametrize("sides", [("port", "port"), ("starboard", "port"), ("starboard", "starboard")])
@pytest.mark.parametrize("drift", [(0.0, 0.0), (0.15, -0.1)])
def test_a_way_brings_the_lure_over_the_place(sides: Any, drift: tuple[float, float]) -> None:
    """The lure 30 m astern and 4 m to starboard; the place stays over ground while the water drifts."""
    heading, speed, approach_s = 0.8, 1.2, 45.0
    found = _way(asked(TARGET, drift), heading, speed, approach_s, (30.0, 4.0), sides)
    assert found is not None
    legs, (path, over) = found, _track(asked(TARGET, drift), found, speed)
    assert legs[-1].length_m == pytest.approx((approach_s + AFTER_S) * speed)
    assert end_of((0.0, 0.0, 0.3), legs)[2] % (2.0 * math.pi) == pytest.approx(heading)
    passes_s = path.time_s[-1] - AFTER_S
    boat = np.array([np.interp(passes_s, path.time_s, over[:, axis]) for axis in range(2)])
    c, s = math.cos(heading), math.sin(heading)
    lure = boat + np.array([-30.0 * c - 4.0 * s, -30.0 * s + 4.0 * c])
    assert lure == pytest.approx(np.array(TARGET.place_m), abs=1.0)
    far = replace(TARGET, place_m=(1.3 * LATEST_S, 0.0))
    assert _way(asked(far, drift), heading, speed, approach_s, (30.0, 4.0), sides) is None


def test_why_nothing_is_near_enough() -> None:
    def far(metres: float, speed: float = 1.0) -> str:
        return _too_far(asked(replace(TARGET, place_m=(10.0 + metres, 5.0)), speed_m_s=speed))

    assert far(901.0).startswith("It cannot be reached in half an hour: it is 15 min away")
    assert far(899.0).endswith("Ask for another speed")
    assert "15 min away" in far(91.0, 0.0), "no slower than a tenth of a metre a second"


def test_what_cannot_be_proposed() -> None:
    gone = propose(asked(replace(TARGET, key="9")))
    assert gone == Cannot("That rod is not in the water")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "with_line", lambda *_: None)
        assert propose(asked(replace(TARGET, longer_m=-9.0))) == Cannot("So much line cannot be taken in on that rod")
        patch.setattr(module, "_course_of", lambda *_, **__: "a course")
        patch.setattr(module, "_best", lambda *_: (None, False))
        stays = propose(asked(replace(TARGET, longer_m=0.0)))
        assert isinstance(stays, Cannot)
        assert "line" not in stays.why
        tried: list[tuple[bool, float]] = []
        patch.setattr(module, "_course_of", lambda _, *, reverse: reverse)
        patch.setattr(
            module, "_best", lambda _, course, approach_s: (tried.append((course, approach_s)), (None, True))[1]
        )
        blocked = propose(asked())
        assert isinstance(blocked, Cannot)
        assert "net or snag" in blocked.why
        assert tried == [(False, 45.0), (False, 150.0), (True, 45.0), (True, 150.0)]
        tried.clear()
        propose(asked(reverse=True))
        assert tried == [(True, 45.0), (True, 150.0)]
        patch.setattr(module, "_course_of", lambda *_, **__: None)
        assert propose(asked()) == stays
        assert len(tried) == 2, "without a course nothing is tried"


def test_no_course_where_the_speed_cannot_be_or_nobody_knows_where_the_lure_lies() -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "rods_of", lambda *_: "alone")
        patch.setattr(module, "_behind", lambda *_: (40.0, 2.0))
        there, back = (module._course_of(asked(), reverse=reverse) for reverse in (False, True))
        assert there == module._Course(False, 0.8, 1.2, "alone", (40.0, 2.0))  # type: ignore[arg-type]
        assert back == replace(there, reverse=True, heading_rad=0.8 + math.pi)  # type: ignore[type-var]
        patch.setattr(module, "_behind", lambda *_: None)
        assert module._course_of(asked(), reverse=False) is None
        patch.undo()
        patch.setattr(module, "_through_water", lambda *_: None)
        assert module._course_of(asked(), reverse=False) is None


def made(
    way: Proposal,
    time_s: float,
    *,
    risk: float = 0.0,
    near: float = 1.0,
    within_m: float = 4.0,
    reverse: bool = False,
) -> Proposal:
    passed = replace(way.passed, time_s=time_s, near=near, within_m=within_m)
    return replace(way, passed=passed, risk=risk, reverse=reverse, names=())


def test_the_soonest_the_surest_and_one_in_the_same_direction(way: Proposal) -> None:
    def named(*ways: Proposal) -> list[tuple[float, tuple[str, ...]]]:
        return [(one.time_s, one.names) for one in _chosen(ways)]

    one = made(way, 300.0)
    assert named(one) == [(300.0, ("soonest", "surest", "same direction"))]
    assert named(one, made(way, 200.0, reverse=True, within_m=3.0)) == [
        (200.0, ("soonest", "surest")), (300.0, ("same direction",)),
    ]  # fmt: skip
    assert named(one, made(way, 200.0, near=0.4)) == [(300.0, ("soonest", "surest", "same direction"))]
    assert named(made(way, 300.0, near=0.9), made(way, 200.0, near=0.5))[0] == (200.0, ("soonest", "same direction"))
    assert named(one, made(way, 100.0, risk=0.11))[0][0] == 300.0, "lines kept apart come first"
    assert named(one, made(way, 100.0, risk=0.1))[0][0] == 100.0
    assert named(made(way, 400.0, within_m=2.0), one)[1] == (400.0, ("surest",))
    backward = named(made(way, 100.0, reverse=True), made(way, 90.0, reverse=True, near=0.2))
    assert backward == [(100.0, ("soonest", "surest"))]


# -- passes --------------------------------------------------------------------------------------------------------


def passing(
    monkeypatch: pytest.MonkeyPatch,
    off: list[float],
    depths: list[float],
    known: int | None = None,
    way: float = 0.0,
    slant: tuple[float, float] = (0.0, 0.0),
    ahead_m: float = 0.0,
) -> Any:
    """Members whose lures go that way past a place 300 m north and 200 m west, at 1 m/s, ``off`` to starboard.

    ``slant``: how much they go to starboard and deeper in a second, abreast as given. ``ahead_m``: from the start.
    """
    count, times = len(off), np.arange(0.0, 101.0, 4.0)
    c, s = math.cos(way), math.sin(way)
    lures = np.zeros((len(times), count, 3))
    for k in range(count):
        along = times - 50.0 - k + ahead_m
        across, deep = off[k] + slant[0] * along, depths[k] + slant[1] * along
        lures[:, k] = np.stack([300.0 + along * c - across * s, -200.0 + along * s + across * c, deep], axis=1)
    flags = np.arange(count) < (count if known is None else known)
    done = SimpleNamespace(cast=SimpleNamespace(keys=("1",)), known=flags[:, None])
    monkeypatch.setattr(module, "aside_m", lambda *_: None)
    monkeypatch.setattr(module, "run", lambda *_: done)
    monkeypatch.setattr(module, "lures_m", lambda *_: lures)
    path: Any = SimpleNamespace(time_s=times, step_s=np.diff(times))
    return _passes(asked(), None, path, way)  # type: ignore[arg-type]


@pytest.mark.parametrize("way_deg", [0.0, 90.0, 145.0, -60.0])
def test_how_the_members_pass(monkeypatch: pytest.MonkeyPatch, way_deg: float) -> None:
    way = math.radians(way_deg)
    found = passing(monkeypatch, [-3.0, 1.0, 2.0, 11.0], [16.0, 18.0, 19.0, 25.0], way=way)
    assert found is not None
    passed, aside, done = found
    assert done.known.shape == (4, 1), "the run that it was told from"
    assert passed.time_s == pytest.approx(51.5)
    assert (passed.off_m, aside) == pytest.approx((2.5, 1.5))
    assert passed.within_m == pytest.approx(np.quantile([1.0, 2.0, 3.0, 11.0], 0.9))
    assert passed.depth_m == pytest.approx(18.5)
    assert passed.deeper_m == pytest.approx(0.5)
    assert passed.depth_range_m == pytest.approx(tuple(np.quantile([16.0, 18.0, 19.0, 25.0], (0.05, 0.95))))
    assert passed.near == pytest.approx(0.75)


def test_where_a_lure_crosses_the_line_abreast_of_the_place_it_passes(monkeypatch: pytest.MonkeyPatch) -> None:
    """They go aslant and sink: between two moments, 4 s apart, it is told where and how deep they are then."""
    found = passing(monkeypatch, [3.0, 3.0, 3.0], [18.0, 18.0, 18.0], slant=(0.25, 0.5))
    assert found is not None
    passed, aside, _ = found
    assert (passed.off_m, aside) == pytest.approx((3.0, 3.0))
    assert passed.depth_range_m == pytest.approx((18.0, 18.0))


@pytest.mark.parametrize(("ahead_m", "passes"), [(49.5, True), (50.0, False), (50.5, False)])
def test_a_lure_that_is_beyond_from_the_beginning_passes_nothing(
    monkeypatch: pytest.MonkeyPatch, ahead_m: float, passes: bool
) -> None:
    assert (passing(monkeypatch, [1.0], [18.0], ahead_m=ahead_m) is not None) is passes


def test_half_of_the_members_by_the_place_are_enough_and_within_ten_metres_is_near(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = passing(monkeypatch, [1.0] * 102, [18.0] * 102)
    assert found is not None, "51 of 102 come by within the time"
    assert found[0].near == pytest.approx(0.5)
    found = passing(monkeypatch, [10.0, -10.0, 10.25, 0.0], [18.0] * 4)
    assert found is not None
    assert found[0].near == 0.75


def test_a_pass_is_known_where_half_of_the_members_are(monkeypatch: pytest.MonkeyPatch) -> None:
    found = passing(monkeypatch, [1.0] * 4, [18.0] * 4, known=2)
    assert found is not None
    assert found[0].near == 1.0
    assert passing(monkeypatch, [1.0] * 4, [18.0] * 4, known=1) is None
    assert passing(monkeypatch, [1.0] * 60, [18.0] * 60) is not None
    assert passing(monkeypatch, [1.0] * 120, [18.0] * 120) is None, "most never come by"


@pytest.mark.parametrize(("along", "able"), [(0.99, True), (1.0, False)])
def test_no_slower_than_a_fifth_of_a_metre_a_second_through_the_water(along: float, able: bool) -> None:
    """A fifth more than the current over ground is no steerage."""
    one = asked(replace(TARGET, over_ground=True, speed_m_s=1.25), (along + 0.05, 0.0))
    assert (_through_water(one, 0.0) is not None) is able


@pytest.mark.parametrize(("heading", "kept"), [(1.0, 1.0), (-1.0, 2.0 * math.pi - 1.0), (7.0, 7.0 - 2.0 * math.pi)])
def test_a_proposal_says_its_course_within_one_circle(
    monkeypatch: pytest.MonkeyPatch, heading: float, kept: float
) -> None:
    one = asked()
    two: Any = SimpleNamespace(cast=SimpleNamespace(keys=("1", "2")), velocity_m_s=None)
    done: Any = SimpleNamespace(cast=SimpleNamespace(keys=("1",), members=4, strands=None))
    further: list[bool] = []

    def looked_at(*_: object, for_all: bool, aside_m: Any) -> str:
        assert aside_m("any fleet") is None
        further.append(for_all)
        return "the further members"

    monkeypatch.setattr(module, "aside_m", lambda *_: None)
    monkeypatch.setattr(module, "run", lambda *_: done)
    monkeypatch.setattr(module, "polylines", lambda _: None)
    monkeypatch.setattr(module, "closest", lambda *_, resolve: resolve)
    monkeypatch.setattr(module, "looked_at", looked_at)
    monkeypatch.setattr(
        module, "Risk", lambda _done, at, closer: SimpleNamespace(any=at / 4.0, worst=("1", "2"), members=len(closer))
    )
    looked: list[float] = []
    monkeypatch.setattr(
        module, "run_touches", lambda *_, look_s: (looked.append(look_s), [SimpleNamespace(key="1")])[1]
    )
    path: Any = SimpleNamespace(time_s=np.arange(3.0))
    done.path, passed = path, SimpleNamespace()
    made = module._tried(replace(one, fleet=two), (), np.zeros((3, 2)), heading, True, passed, done)  # type: ignore[arg-type]
    assert made.heading_rad == pytest.approx(kept)
    assert (made.risk, made.worst, made.touching, made.members, made.reverse) == (0.25, ("1", "2"), ("1",), 19, True)
    assert looked == [LATEST_S], "the bottom is looked for to the end of the way"
    assert further == [True], "only the whole spread is asked about"
    for module_part in ("run", "closest", "looked_at"):
        monkeypatch.setattr(module, module_part, lambda *_, **__: pytest.fail("the only rod has been run"))
    alone = module._tried(one, (), np.zeros((3, 2)), heading, True, passed, done)  # type: ignore[arg-type]
    assert (alone.risk, alone.worst, alone.touching, alone.members) == (0.0, None, ("1",), 4)


@pytest.mark.parametrize(
    ("beside", "aims", "able"),
    [
        ([0.4], 0, True),
        ([30.0, 0.4], 1, True),
        ([30.0, None], 1, False),
        ([0.6, 0.4], 1, True),
        ([-0.6, 0.4], 1, True),
    ],
)
def test_the_aim_is_moved_by_what_the_lure_passes_beside(
    monkeypatch: pytest.MonkeyPatch, beside: list[float | None], aims: int, able: bool
) -> None:
    """On the same sides; and where no way leads to the corrected aim there is none."""
    left, offsets = list(beside), list[float]()

    def way(_: object, __: float, ___: float, ____: float, offset: Any, _____: object) -> Any:
        offsets.append(offset[1])
        return ()

    def passes(*_: object) -> Any:
        off = left.pop(0)
        return None if off is None else (SimpleNamespace(off_m=off), off, "run")

    monkeypatch.setattr(module, "_way", way)
    monkeypatch.setattr(module, "_track", lambda *_: ("path", np.zeros((2, 2))))
    monkeypatch.setattr(module, "_passes", passes)
    monkeypatch.setattr(module, "_tried", lambda *told: told[-1])
    found, blocked = module._best(asked(), COURSE, 30.0)
    assert (found is not None, blocked) == (able, False)
    assert offsets == [2.0] * len(module.SIDES) + [2.0 + (beside[0] or 0.0)] * aims


def test_a_way_past_a_danger_is_left_for_the_next_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """The shortest sides first. Where the lure's passing is not known there is no way."""
    metres = iter([90.0, 60.0, 70.0, 80.0])
    monkeypatch.setattr(module, "_way", lambda *_: (Leg(next(metres)),))
    monkeypatch.setattr(module, "_track", lambda _, legs, __: (f"path of {legs[0].length_m:.0f} m", None))
    monkeypatch.setattr(module, "_tried", lambda *told: (*told[1], *told[4:7]))
    monkeypatch.setattr(module, "_passes", lambda _, __, path, ___: ("passed", 0.1, path))
    dangers = iter([True, False])
    monkeypatch.setattr(module, "nears", lambda *_: next(dangers))
    found = module._best(asked(), replace(COURSE, reverse=True), 30.0)
    assert found == ((Leg(70.0), True, "passed", "path of 70 m"), True)
    monkeypatch.setattr(module, "nears", lambda *_: True)
    metres = iter([90.0, 60.0, 70.0, 80.0])
    assert module._best(asked(), COURSE, 30.0) == (None, True)
    monkeypatch.setattr(module, "nears", lambda *_: False)
    monkeypatch.setattr(module, "_passes", lambda *_: None)
    metres = iter([90.0, 60.0, 70.0, 80.0])
    assert module._best(asked(), COURSE, 30.0) == (None, False)


def test_a_way_that_its_corrected_aim_leads_past_a_danger_is_left_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """The next sides are aimed from the beginning."""
    offsets, beside = list[float](), iter([30.0, 0.0, 7.0, 0.0])

    def way(*told: Any) -> Any:
        offsets.append(told[4][1])
        return (Leg(told[4][1]),)

    monkeypatch.setattr(module, "_way", way)
    monkeypatch.setattr(module, "_track", lambda _, legs, __: ("path", legs[0].length_m))
    monkeypatch.setattr(module, "_passes", lambda *_: ("passed", next(beside), "run"))
    monkeypatch.setattr(module, "_tried", lambda *told: told[2])
    monkeypatch.setattr(module, "nears", lambda over, _: over == 32.0)
    assert module._best(asked(), COURSE, 30.0) == (9.0, True)
    assert offsets == [2.0] * len(module.SIDES) + [32.0, 9.0]


def test_the_aim_is_corrected_for_drift_only_until_it_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without drift the second way is the first; with a drift the time on the way settles in a few."""
    real, ways = module.way_of, list[Any]()
    monkeypatch.setattr(module, "way_of", lambda *given: (ways.append(given), real(*given))[1])
    for drift, turns in (((0.0, 0.0), {2}), ((0.1, -0.2), set(range(3, 8)))):
        ways.clear()
        assert _way(asked(drift=drift), 0.5, 1.0, 30.0, (40.0, 0.0), ("port", "port")) is not None
        assert len(ways) in turns
