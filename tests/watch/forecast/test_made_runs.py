"""Runs made by hand: their risk, shapes in the boat's axes, depths of their rods; and limits over a made risk."""

from __future__ import annotations

import math
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.hydro.chain.forces import B_KIND
from sternwatch.hydro.chain.model import BodyKind
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.forecast import make as module
from sternwatch.watch.forecast import turn_limit
from sternwatch.watch.forecast.make import (
    Risk,
    _in_boat_axes,
    _own_track,
    _rod,
    body_nodes,
    shapes_at,
    ways,
)
from sternwatch.watch.forecast.meetings import columns_of
from sternwatch.watch.forecast.turn_limit import finish, side_limit, slowest, touches
from sternwatch.watch.picture.outlook import SideLimit, SpeedLimit

DIVER_AT = 2


def made(members: int = 4, samples: int = 6, heading_deg: float = 90.0, known: Any = None) -> Any:
    """Two rods of four nodes behind a boat that goes to the east at 1 m/s, a sample every two seconds.

    Node k lies 10 k m astern, 2 m to port or starboard, 3 k m deep, and each member's a metre deeper than the last's.
    """
    times = 2.0 * np.arange(samples)
    heading = math.radians(heading_deg)
    c, s = math.cos(heading), math.sin(heading)
    positions = np.zeros((samples, members, 2, 4, 3))
    track = np.zeros((samples, members, 3))
    track[..., 0], track[..., 1], track[..., 2] = (times * c)[:, None], (times * s)[:, None], heading
    for rod, abeam in enumerate((-2.0, 2.0)):
        for node in range(4):
            astern = 10.0 * node
            positions[:, :, rod, node, 0] = (times * c - astern * c - abeam * s)[:, None]
            positions[:, :, rod, node, 1] = (times * s - astern * s + abeam * c)[:, None]
            positions[:, :, rod, node, 2] = 3.0 * node + np.arange(members)[None]
    body = np.zeros((2, 1, B_KIND + 1))
    body[0, 0, B_KIND] = BodyKind.DIVER
    body[1, 0, B_KIND] = next(kind for kind in BodyKind if kind != BodyKind.DIVER)
    rows = SimpleNamespace(
        n_nodes=np.array([4, 4]), body_node=np.array([[DIVER_AT, 3], [-1, -1]]), body=body,
        node_body=np.array([[-1, -1, 0, -1], [-1, -1, -1, -1]]),
    )  # fmt: skip
    cast = SimpleNamespace(
        keys=("1", "2"), rods=2, members=members, rows=rows, rod_line_of=(1,),
        strands=SimpleNamespace(n_nodes=np.array([4, 4, 3])), flow=None,
    )  # fmt: skip
    path = SimpleNamespace(
        time_s=times, step_s=np.diff(times), starts_s=0.0, heading_rad=np.full(samples, heading),
        north_m=times * c, east_m=times * s,
    )  # fmt: skip
    flags = np.ones((members, 2), dtype=np.bool_) if known is None else known
    return SimpleNamespace(
        cast=cast, path=path, positions_m=positions, track=track, known=flags,
        tensions_N=np.full((samples - 1, members, 2, 3), 50.0),
    )  # fmt: skip


def test_a_lures_water_flows_by_its_depth_and_its_member() -> None:
    """Each member's own current, at the depth of the middle of each step."""
    done = made(members=2, samples=4)
    moved_m = np.cumsum([[0.0, 0.0, 0.0], [2.0, 1.0, 1.0], [4.0, -2.0, 2.0], [2.0, 0.0, -2.0]], axis=0)
    done.positions_m[:, :, 1, 2] = moved_m[:, None]
    own = np.zeros((4, 2, 2))  # by member and rod: at 0 and at 10 m, to the north and to the east
    own[1], own[3] = [[0.0, 0.0], [1.0, 0.0]], [[0.0, 0.5], [0.0, -0.5]]
    done.cast.flow = SimpleNamespace(depths_m=np.array([0.0, 10.0]), by_row=lambda rows: own[:rows])
    found = module._flow_past(done, 1, 2)
    velocities = [(1.0, 0.5, 0.5), (2.0, -1.0, 1.0), (1.0, 0.0, -1.0)]
    for step, (depth, (north, east, down)) in enumerate(zip((0.5, 2.0, 2.0), velocities, strict=True)):
        waters = ((0.1 * depth, 0.0), (0.0, 0.5 - 0.1 * depth))
        for member, water in enumerate(waters):
            assert found[step, member] == pytest.approx(math.hypot(north - water[0], east - water[1], down))


@pytest.mark.parametrize("heading_deg", [0.0, 90.0, 200.0])
def test_shapes_in_the_axes_of_the_boat_at_any_moment(heading_deg: float) -> None:
    done = made(heading_deg=heading_deg)
    for moment in (-1.0, 0.0, 3.0, 7.5, 10.0, 99.0):
        shapes = shapes_at(done, 2, moment)
        for key, abeam in (("1", -2.0), ("2", 2.0)):
            astern = 10.0 * np.arange(4.0)
            assert shapes[key] == pytest.approx(
                np.stack([astern, np.full(4, abeam), 3.0 * np.arange(4.0) + 2.0], axis=1), abs=1e-9
            )
    one = _in_boat_axes(done, 0, 4.0, done.positions_m[2, 0, 0, 3])
    assert one == pytest.approx([30.0, -2.0, 9.0])


def test_what_is_not_known_has_no_shape() -> None:
    known = np.array([[True, False]] * 4)
    assert list(shapes_at(made(known=known), 0, 3.0)) == ["1"]


@pytest.mark.parametrize("heading_deg", [0.0, 130.0])
def test_her_track_and_the_ways_of_her_tackle_from_where_she_is_now(heading_deg: float) -> None:
    done = made(heading_deg=heading_deg)
    track = _own_track(done)
    assert track == pytest.approx(np.stack([-done.path.time_s, np.zeros(6), np.zeros(6)], axis=1), abs=1e-9)
    assert body_nodes(done.cast, 0).tolist() == [DIVER_AT, 3]
    assert body_nodes(done.cast, 1).tolist() == [3], "a bare line's end counts as its lure"
    bare: Any = SimpleNamespace(rows=SimpleNamespace(body_node=np.full((3, 2), -1), n_nodes=np.array([4, 6, 5])))
    assert [body_nodes(bare, rod).tolist() for rod in range(3)] == [[3], [5], [4]]
    way = ways(done, 0)
    assert way.shape == (6, 4, 2, 3)
    assert way[3, 1, 1] == pytest.approx([30.0 - 6.0, -2.0, 10.0], abs=1e-9)


def test_depths_of_a_rod_over_its_members(monkeypatch: pytest.MonkeyPatch) -> None:
    flow = np.full((5, 4), 0.9)
    flow[2, 3], flow[1, 0] = 0.2, 0.05
    monkeypatch.setattr(module, "_flow_past", lambda *_: flow)
    done = made()
    done.positions_m[4, :, 0, 3, 2] += 5.0
    found = _rod(done, 0, lambda depth: depth < 11.0)
    assert (found.depth_min_m, found.depth_max_m) == (10.5, 15.5)
    assert (found.depth_low_m, found.depth_high_m, found.known) == (9.0, 17.0, 1.0)
    assert found.speed_min_m_s == pytest.approx(np.median([0.05, 0.9, 0.9, 0.2]))
    assert found.depth_m[0] == pytest.approx(np.quantile([9.0, 10.0, 11.0, 12.0], (0.05, 0.5, 0.95)))
    # Out of the zone, each step by its middle: two seconds for members 0 and 1 in two steps, all five for the others.
    assert found.out_of_zone_s == pytest.approx(np.median([4.0, 4.0, 10.0, 10.0]))
    assert found.bodies_m.shape == (2, 6, 3)
    assert found.bodies_m[1, 0] == pytest.approx([30.0, -2.0, 10.5])
    assert _rod(done, 1, None).slack_s is None, "a ball is never slack"
    assert found.slack_s == 1.0, "two seconds in two of four members"
    done.tensions_N[3:, :, 0, DIVER_AT - 1] = 0.0
    assert _rod(done, 0, None).slack_s == 5.0
    assert _rod(done, 0, None).out_of_zone_s is None
    some = made(known=np.array([[True, True], [True, True], [False, True], [False, True]]))
    assert (_rod(some, 0, None).known, _rod(some, 0, None).depth_max_m) == (0.5, 9.5)
    none = _rod(made(known=np.zeros((4, 2), dtype=np.bool_)), 0, None)
    assert (none.depth_min_m, none.known) == (None, 0.0)
    assert np.isnan(none.depth_m).all()


# -- risk ----------------------------------------------------------------------------------------------------------


def closest(*crossing: tuple[int, int], members: int = 4) -> Any:
    """Three strands: two chains, and the second rod's line. ``crossing``: (member, column)."""
    pairs = np.array([(0, 1), (0, 2)])
    crosses = np.zeros((members, 2), dtype=np.bool_)
    for at in crossing:
        crosses[at] = True
    return SimpleNamespace(pairs=pairs, crosses=crosses)


def test_the_share_of_members_in_which_any_lines_touch() -> None:
    """A rod's line to its release is a part of the rod."""
    assert columns_of(made().cast, closest().pairs) == {("1", "2"): [0, 1]}
    one = Risk(made(), closest((0, 0), (0, 1), (2, 1)))
    assert (one.any, one.by_pair, one.worst) == (0.5, {("1", "2"): 0.5}, ("1", "2"))
    assert Risk(made(), closest()).worst is None
    known = np.array([[True, True], [False, False], [True, False], [True, True]])
    assert Risk(made(known=known), closest((0, 0), (1, 0))).any == pytest.approx(1.0 / 3.0)
    nothing = Risk(made(known=np.zeros((4, 2), dtype=np.bool_)), closest())
    assert (nothing.any, nothing.by_pair) == (1.0, {("1", "2"): 1.0})


CLEAR, NEAR, TOUCH = Verdict.CLEAR_OF_EACH_OTHER, Verdict.NEAR_PASS, Verdict.TOUCH


@pytest.mark.parametrize(
    ("verdicts", "known", "told"),
    [
        ([CLEAR] * 4, 4, False),
        ([NEAR, CLEAR, CLEAR, CLEAR], 4, False),
        ([NEAR, NEAR, CLEAR, CLEAR], 4, True),  # half of the members is said
        ([NEAR, CLEAR, CLEAR, CLEAR], 2, True),
        ([CLEAR, CLEAR, CLEAR, TOUCH], 4, True),
        ([CLEAR, CLEAR, CLEAR, TOUCH], 3, False),
        ([CLEAR] * 4, 0, None),
    ],
)
def test_which_pairs_can_raise_an_alert(verdicts: list[Verdict], known: int, told: bool | None) -> None:
    flags = np.zeros((4, 2), dtype=np.bool_)
    flags[:known] = True
    found: Any = SimpleNamespace(pairs=np.array([[0, 1]]), verdict=np.array(verdicts)[:, None])
    worst = module._worst_of_members(made(known=flags), found, None)
    assert {keys: module.can_raise(of) for keys, of in worst.items()} == ({} if told is None else {("1", "2"): told})


def test_further_members_can_raise_it_too() -> None:
    found: Any = SimpleNamespace(pairs=np.array([[0, 1]]), verdict=np.array([CLEAR] * 4)[:, None])
    closer: Any = SimpleNamespace(worst={("1", "2"): np.array([NEAR, TOUCH])})
    worst = module._worst_of_members(made(), found, closer)
    assert worst["1", "2"].tolist() == [CLEAR] * 4 + [NEAR, TOUCH]
    assert module.can_raise(worst["1", "2"])


@pytest.mark.parametrize(
    ("bottom_m", "shares"),
    [(None, {}), (13.0, {"1": 0.0, "2": 0.0}), (12.0, {"1": 0.25, "2": 0.25}), (9.5, {"1": 0.75, "2": 0.75})],
)
def test_the_share_of_members_that_touch_a_level_bottom(bottom_m: float | None, shares: dict[str, float]) -> None:
    found: Any = SimpleNamespace(run=made())
    assert touches(found, bottom_m, ()) == shares
    assert touches(found, bottom_m, ("1",)) == {key: share for key, share in shares.items() if key == "2"}
    unknown: Any = SimpleNamespace(run=made(known=np.array([[True, False]] * 4)))
    assert list(touches(unknown, 9.5, ())) == ["1"]


# -- limits --------------------------------------------------------------------------------------------------------

RADII = (100.0, 80.0, 60.0, 40.0, 20.0)


@pytest.fixture
def tries(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Radii (or speeds, for a straight course) that are tried; risky as ``risks`` says."""
    seen: list[float] = []

    def risk(_fleet: object, manoeuvre: Any, *, speed_m_s: float, **_: object) -> Any:  # noqa: ARG001
        value = manoeuvre.radius_m if manoeuvre.radius_m is not None else manoeuvre.to_speed_m_s
        seen.append(value)
        any_ = risks(value)
        return SimpleNamespace(any=any_, worst=("1", "2") if any_ > 0.0 else None, run=None)

    monkeypatch.setattr(turn_limit, "risk", risk)
    monkeypatch.setattr(turn_limit, "touches", lambda _, bottom, __: {} if bottom is None else bottom)
    return seen


risks: Callable[[float], float] = lambda _: 0.0  # noqa: E731


def below(limit: float, bad: float = 0.11, good: float = 0.1) -> None:
    global risks
    risks = lambda value: bad if value < limit else good  # noqa: E731


def limit(before: SideLimit | None = None, speed: float = 2.0) -> SideLimit:
    return finish(
        side_limit(None, "port", speed_m_s=speed, required=None, radii_m=RADII, before=before)  # type: ignore[arg-type]
    )


def test_the_tightest_turn_above_which_all_pass(tries: list[float]) -> None:
    """At the allowed risk it passes; half a circle of 60 m at 2 m/s lasts 94 s."""
    below(60.0)
    found = limit()
    assert tries == [100.0, 80.0, 60.0, 40.0, 49.0]
    assert (found.radius_m, found.limited_by) == (60.0, ("1", "2"))
    assert found.half_circle_s == pytest.approx(math.pi * 30.0)
    assert found.rate_deg_s == pytest.approx(180.0 / (math.pi * 30.0))
    failed = ((49.0, 0.11), (40.0, 0.11))
    assert found.tried_m == ((100.0, 0.1), (80.0, 0.1), (60.0, 0.1), *failed)
    below(0.0)
    assert (limit().radius_m, limit().limited_by) == (20.0, None)
    below(999.0)
    none = limit()
    assert (none.radius_m, none.rate_deg_s, none.half_circle_s, none.limited_by) == (None, None, None, ("1", "2"))
    assert limit(speed=0.0).tried_m == ()


@pytest.mark.parametrize(
    ("now", "tried", "radius"),
    [
        (60.0, [60.0, 40.0, 49.0], 60.0),
        (40.0, [60.0, 40.0, 20.0, 28.0], 40.0),
        (80.0, [60.0, 100.0, 80.0, 60.0, 69.0], 80.0),
        (45.0, [60.0, 40.0, 49.0], 49.0),
    ],
)
def test_from_the_edges_of_the_last_limit(tries: list[float], now: float, tried: list[float], radius: float) -> None:
    below(60.0)
    before = limit()
    tries.clear()
    below(now)
    found = limit(before)
    assert tries == tried
    assert found.radius_m == radius
    assert [one for one, _ in found.tried_m] == sorted({one for one, _ in found.tried_m}, reverse=True)
    assert found.tried_m[0][0] == 100.0, "wider ones are still known to pass"


def test_a_limit_between_two_radii_is_found_and_kept(tries: list[float]) -> None:
    below(45.0)
    found = limit()
    assert tries == [100.0, 80.0, 60.0, 40.0, 49.0]
    assert (found.radius_m, found.limited_by) == (49.0, ("1", "2"))
    assert found.tried_m == ((100.0, 0.1), (80.0, 0.1), (60.0, 0.1), (49.0, 0.1), (40.0, 0.11))
    tries.clear()
    assert limit(found).radius_m == 49.0
    assert tries == [49.0, 40.0, 44.0]
    tries.clear()
    below(35.0)
    assert limit(found).radius_m == 40.0
    assert tries == [49.0, 40.0, 20.0, 28.0]


def slow(before: SpeedLimit | None = None, bottom: Any = None) -> SpeedLimit:
    return finish(
        slowest(None, speed_m_s=2.0, required=None, bottom_m=bottom, shares=(0.5, 0.75, 0.25), before=before)  # type: ignore[arg-type]
    )


def test_the_slowest_speed_that_keeps_lines_apart_and_off_the_bottom(tries: list[float]) -> None:
    below(1.0)
    found = slow()
    assert tries == [2.0, 1.5, 1.0, 0.5]
    assert (found.speed_m_s, found.limited_by, found.keys) == (1.0, "crossing", ("1", "2"))
    below(0.0)
    assert (slow().speed_m_s, slow().limited_by, slow().keys) == (0.5, "", ())
    shoal = slow(bottom={"3": 0.2, "4": 0.1})
    assert (shoal.speed_m_s, shoal.limited_by, shoal.keys) == (None, "bottom", ("3",))
    below(9.0)
    assert slow(bottom={"3": 0.9}).limited_by == "crossing"


@pytest.mark.parametrize(
    ("now", "tried", "speed"),
    [
        (1.0, [1.0, 0.5], 1.0),
        (1.5, [1.0, 2.0, 1.5, 1.0], 1.5),
        (0.1, [1.0, 0.5], 0.5),
        (1.8, [1.0, 2.0, 1.5], 2.0),
    ],
)
def test_from_the_last_slowest_speed(tries: list[float], now: float, tried: list[float], speed: float) -> None:
    below(1.0)
    before = slow()
    tries.clear()
    below(now)
    found = slow(before)
    assert (tries, found.speed_m_s) == (tried, speed)
    assert found.tried_m_s[0][0] == 2.0


def test_each_pair_is_told_by_the_nearest_of_its_own_strands(monkeypatch: pytest.MonkeyPatch) -> None:
    """A rod on a release has two strands, and all pairs of one member are looked at in one go."""
    asked: list[tuple[float, list[int]]] = []

    def looked(lines: Any, *_: Any, pairs: Any) -> Any:
        asked.append((float(lines.flat[0]), pairs[:, 1].tolist()))
        return SimpleNamespace(ratio=np.array([[9.0, 8.0, 3.0, 1.0, 2.0]])[:, : len(pairs)])

    monkeypatch.setattr(module, "closest", looked)
    found: Any = SimpleNamespace(pairs=np.array([[0, column] for column in range(6)]))
    columns = {("1", "2"): [0, 2], ("1", "3"): [1, 3, 4], ("2", "3"): [5]}
    lines = np.arange(4.0)[None, :, None, None, None]  # every member's first number is its own
    exact = module._exactly(
        made(),
        lines,
        Any,
        found,
        columns,
        {("1", "2"): 3, ("1", "3"): 3, ("2", "3"): 1},  # type: ignore[arg-type]
    )
    assert asked == [(1.0, [5]), (3.0, [0, 2, 1, 3, 4])]
    assert {keys: at for keys, (_, at) in exact.items()} == {("1", "2"): 1, ("1", "3"): 3, ("2", "3"): 0}


def test_how_far_each_member_must_come_up_is_asked_over_its_own_water(monkeypatch: pytest.MonkeyPatch) -> None:
    """She makes 1 m/s to the east by what is believed now; the third member's water takes it 0.5 m/s to the north.

    Over the ground that has another drift for that member, and no member goes another way.
    """
    from sternwatch.watch.forecast import bottom_ahead

    known = np.ones((4, 2), dtype=np.bool_)
    known[1] = False
    done = made(known=known)
    done.path.speed_m_s = np.full(6, 1.0)
    done.track[1:, 2, 0] += 1.0  # two seconds
    asked: list[tuple[float, float]] = []
    shares = iter([0.9, 0.6, 0.8])

    def meets(_: object, drift: tuple[float, float], times: Any, bodies: Any, *, all_of_it: bool) -> Any:
        assert all_of_it
        assert bodies.shape == (2, 6, 3), "the diver and the lure"
        assert times is done.path.time_s
        asked.append(drift)
        return SimpleNamespace(by_m=float(bodies[1, 0, 2]), sounded=next(shares))

    monkeypatch.setattr(bottom_ahead, "_meets", meets)
    by, sounded = bottom_ahead.raised_by(done, "1", SimpleNamespace(drift_m_s=(0.3, -0.1)))  # type: ignore[arg-type]
    assert asked == [pytest.approx((0.3, -0.1)), pytest.approx((-0.2, -0.1)), pytest.approx((0.3, -0.1))]
    assert by == pytest.approx(np.array([9.0, np.nan, 11.0, 12.0]), nan_ok=True)
    assert sounded == 0.6, "that of the worst member"


@pytest.mark.parametrize("turned", [False, True])
def test_a_contact_is_told_from_the_rod_that_is_named_first(monkeypatch: pytest.MonkeyPatch, turned: bool) -> None:
    """Columns of two strands; those whose first strand is the other rod's are swapped."""
    found = SimpleNamespace(
        pairs=np.array([[0, 1], [1, 0], [0, 2]]), contact_s=np.array([[9.0, 7.0, 8.0]] * 4),
        contact_m=np.full((4, 3, 3), 5.0), touching_s=np.full((4, 3), 2.5), slides_m=np.full((4, 3), 1.5),
    )  # fmt: skip
    told: list[Any] = []
    monkeypatch.setattr(module, "first_contact", lambda *_: (3, 1))
    monkeypatch.setattr(module, "passes", lambda *given: told.append(given[1:]) or ())
    keys = ("2", "1") if turned else ("1", "2")
    done = made()
    done.path.starts_s = 2.0
    one = module._contact(done, keys, found, [0, 1, 2], np.ones(4, dtype=np.bool_))  # type: ignore[arg-type]
    assert told == [(3, [0, 1, 2], [turned, not turned, turned], 2.0)]
    assert one is not None
    assert (one.time_s, one.depth_m, one.touching_s, one.slides_m, one.member) == (5.0, 5.0, 2.5, 1.5, 3)
    monkeypatch.setattr(module, "first_contact", lambda *_: None)
    assert module._contact(done, keys, found, [0], np.ones(4, dtype=np.bool_)) is None  # type: ignore[arg-type]


@pytest.mark.parametrize("deeper", [0, 1])
@pytest.mark.parametrize(("again_s", "until"), [(40.0, 30.0), (math.inf, None)])
def test_a_near_pass_counts_its_times_from_the_beginning_of_the_manoeuvre(
    monkeypatch: pytest.MonkeyPatch, deeper: int, again_s: float, until: float | None
) -> None:
    """It begins after two seconds; the line that is less deep where they pass is over the other."""
    asked: list[Any] = []
    monkeypatch.setattr(module, "over_until", lambda a, b, _, at: asked.append((a.shape, b.shape, at)) or until)
    done = made()
    done.path.starts_s = 2.0
    places = np.zeros((1, 1, 3)), np.zeros((1, 1, 3))
    places[deeper][..., 2] = 5.0
    sure: Any = SimpleNamespace(
        verdict=np.array([[Verdict.NEAR_PASS]]), pairs=np.array([[0, 1]]), where_m=places[0], other_where_m=places[1],
        apart_again_s=np.array([[again_s]]), time_s=np.array([[9.0]]), arc_m=np.array([[[12.0, 15.0]]]),
    )  # fmt: skip
    near = module._near_pass(done, done.positions_m, 1, sure, 0)
    assert near is not None
    assert (near.over, near.under) == (("2", "1") if deeper == 0 else ("1", "2"))
    assert near.apart_again_s == (38.0 if math.isfinite(again_s) else None)
    assert near.over_until_s == (None if until is None else 28.0)
    assert near.arc_m == 15.0
    assert asked == [((6, 4, 3), (6, 4, 3), 9.0)]
    sure.verdict = np.array([[Verdict.TOUCH]])
    assert module._near_pass(done, done.positions_m, 1, sure, 0) is None


def test_her_track_keeps_to_the_axes_that_she_has_now_while_she_turns() -> None:
    done = made(heading_deg=90.0)
    done.path.heading_rad = math.pi / 2.0 + 0.1 * np.arange(6.0)
    done.path.north_m = -0.5 * np.arange(6.0) ** 2  # to starboard of one who goes to the east
    track = _own_track(done)
    assert track[:, 0] == pytest.approx(-done.path.east_m)
    assert track[:, 1] == pytest.approx(0.5 * np.arange(6.0) ** 2)
    assert track[:, 2] == pytest.approx(0.1 * np.arange(6.0))
