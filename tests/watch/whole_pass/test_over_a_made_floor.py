"""What ways are worth over a floor made by hand: its lookup, a lure's worth, and ways grown and screened over it."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.chart.gridded import Window, gridded
from sternwatch.watch.whole_pass import beam, rating, worth
from sternwatch.watch.whole_pass.asked import wanted
from sternwatch.watch.whole_pass.beam import grown
from sternwatch.watch.whole_pass.floor import Floor, floor_of
from sternwatch.watch.whole_pass.rating import Rated, screened
from sternwatch.watch.whole_pass.wish import Box, Wish
from sternwatch.watch.whole_pass.worth import Lying, Trailing, _bottom_at, trailing

# As agreed: a change of one is to be noticed.
REACH_M = 60.0
STEP_M = 8.0
TURN_S = 4.0
CROSSING = 0.5
EACH_S = 6.0

WINDOW = Window(100.0, -40.0, 10.0, 5, 4)
NODES = 20


def made(depth_m: Any = lambda n, e: 3.0 + 0.1 * n - 0.05 * e + 0.01 * n * e) -> Floor:
    return Floor(WINDOW, depth_m(WINDOW.norths_m[:, None], WINDOW.easts_m[None, :]))


def test_between_nodes_the_floor_is_what_its_four_nodes_say() -> None:
    """A product of north and east is met exactly by lines between lines."""
    floor, rng = made(), np.random.default_rng(1)
    north, east = rng.uniform(100.0, 140.0, 50), rng.uniform(-40.0, -10.0, 50)
    assert floor.depth_m(north, east) == pytest.approx(3.0 + 0.1 * north - 0.05 * east + 0.01 * north * east)


@pytest.mark.parametrize(
    ("north", "east", "known"),
    [
        (100.0, -40.0, True), (139.9, -10.1, True), (99.9, -40.0, False), (100.0, -40.1, False),
        (140.0, -20.0, False),
        (120.0, -10.0, False), (140.1, -20.0, False), (115.0, -25.0, True),
    ],
)  # fmt: skip
def test_beyond_its_window_a_floor_is_unknown(north: float, east: float, known: bool) -> None:
    assert np.isfinite(made().depth_m(np.array([north]), np.array([east])))[0] == known


def test_a_place_with_an_unknown_node_about_it_is_unknown() -> None:
    floor = made()
    floor.depths_m[2, 1] = np.nan
    assert floor.known == pytest.approx(19.0 / 20.0)
    beside = [(n, e) for n in (105.0, 115.0, 125.0, 135.0) for e in (-35.0, -25.0, -15.0)]
    unknown = [place for place in beside if np.isnan(floor.depth_m(*(np.array([x]) for x in place)))[0]]
    assert unknown == [(115.0, -35.0), (115.0, -25.0), (125.0, -35.0), (125.0, -25.0)]


def test_the_nearest_node_counted_row_by_row() -> None:
    north = np.array([100.0, 104.9, 105.1, 140.0, 144.9, 145.1, 94.9, 95.1, 100.0, 100.0, 100.0])
    east = np.array([-40.0, -40.0, -35.1, -10.0, -5.1, -10.0, -40.0, -44.9, -45.1, -5.1, -4.9])
    assert made().nodes(north, east).tolist() == [0, 0, 4, 19, 19, NODES, NODES, 0, NODES, 3, NODES]


class Chart:
    """Of 20 m, known north of 0 only."""

    def __init__(self, depth_m: float, from_m: float) -> None:
        self.depth_m, self.from_m = depth_m, from_m

    def depths_m(self, origin: object, norths: np.ndarray, easts: np.ndarray) -> np.ndarray:
        assert origin == (47.0, -89.5)
        return np.where(norths[:, None] >= self.from_m, self.depth_m, np.nan) + 0.0 * easts[None, :]


def test_where_a_chart_was_imported_soundings_say_how_far_off_it_is() -> None:
    """The first chart counts before the second, and where there is none soundings count alone."""
    soundings = np.array([(40.0, 0.0, 21.5, 5.0), (-60.0, 8.0, 12.0, 5.0)])
    floor = floor_of(
        soundings, 10.0, (0.0, 0.0), 160.0, [Chart(20.0, 0.0), Chart(30.0, -16.0)], (47.0, -89.5)
    )  # fmt: skip

    def at(north: float, east: float = 0.0) -> float:
        return float(floor.depth_m(np.array([north]), np.array([east]))[0])

    assert at(40.0) == pytest.approx(21.5)
    assert at(60.0) == pytest.approx(21.5), "its shape goes on about the sounding"
    assert at(120.0) == pytest.approx(20.0), "beyond the reach it is as it is"
    assert at(-14.0, 150.0) == pytest.approx(30.0)
    assert at(-60.0, 8.0) == pytest.approx(12.0)
    assert math.isnan(at(-150.0))
    assert floor.window.step_m == STEP_M
    alone = floor_of(soundings, 10.0, (0.0, 0.0), 160.0)
    own = gridded(soundings, alone.window, 10.0, REACH_M).depth_m
    assert np.array_equal(alone.depths_m, own, equal_nan=True)
    unplaced = floor_of(soundings, 10.0, (0.0, 0.0), 160.0, [Chart(20.0, 0.0)], None)
    assert np.array_equal(unplaced.depths_m, own, equal_nan=True), "a chart needs a place of origin"


def asking(floor: Floor, wish: Wish, **more: Any) -> Any:
    ground = SimpleNamespace(place_m=(120.0, -25.0), antenna_m=0.0, heading_rad=0.0, drift_m_s=(0.0, 0.0))
    given = {
        "floor": floor, "wish": wish, "speed_m_s": 1.0, "dangers_m": (), "in_zone": None, "on_bottom": frozenset(),
        "ground": ground, "radius": {"port": 12.0, "starboard": 9.0}.__getitem__,
        "fleet": SimpleNamespace(heading_rad=0.3, cast=SimpleNamespace(keys=("1", "2", "3"))),
    }  # fmt: skip
    return SimpleNamespace(**{**given, **more})


def test_a_lure_counts_within_its_bands_and_a_little_about_them() -> None:
    wish = Wish(over_bottom_m=(2.0, 8.0), depth_m=(10.0, 20.0))
    bottom, depth = np.array([18.0, 18.0, 18.0, 18.0, 18.0, np.nan]), np.array([10.0, 16.0, 16.75, 17.5, 9.25, 12.0])
    hard = wanted(asking(made(), wish), bottom, bottom, depth, bottom)
    soft = wanted(asking(made(), wish), bottom, bottom, depth, bottom, 1.5)
    assert hard.tolist() == [1.0, 1.0, 0.0, 0.0, 0.0, 0.0]
    assert soft == pytest.approx([1.0, 1.0, 0.5, 0.0, 0.25, 0.0])


def test_zone_and_box_are_conditions_too() -> None:
    box = Box(100.0, -40.0, 120.0, -20.0)
    one = asking(made(), Wish(zone=True, box=box), in_zone=lambda depth: (depth > 5.0) * 0.8)
    north, east = (
        np.array([100.0, 120.0, 120.1, 110.0, 110.0, 110.0]),
        np.array([-40.0, -20.0, -30.0, -19.9, -40.1, -30.0]),
    )
    depth = np.array([6.0, 6.0, 6.0, 6.0, 6.0, 4.0])
    assert wanted(one, north, east, depth, depth).tolist() == [0.8, 0.8, 0.0, 0.0, 0.0, 0.0]
    assert wanted(one, north, east, depth, depth, anywhere=True).tolist() == [0.8] * 5 + [0.0]


def lying() -> Lying:
    """Three rods of two members; the chain of the last is unknown."""
    behind = np.array([
        [(30.0, 4.0, 10.0), (34.0, 6.0, 12.0)], [(20.0, -3.0, 5.0), (20.0, -3.0, 5.0)],
        [(np.nan, 0.0, 0.0), (1.0, 1.0, 1.0)],
    ])  # fmt: skip
    levels = np.array([[10.0, 10.5, 11.0, 11.5, 12.0], [5.0] * 5, [np.nan] * 5])
    return Lying(behind, np.nanmedian(behind, axis=1), levels)


def test_a_lures_worth_is_the_mean_over_depths_less_ten_for_a_touch() -> None:
    """Wanted 2 to 3 m over the bottom, softly for 1.5 m; half a metre over it is a touch."""
    floor = made(lambda n, e: np.where(n < 120.0, 13.0, 11.2) + 0.0 * e)
    floor.depths_m[0, 0] = np.nan
    one = trailing(asking(floor, Wish(over_bottom_m=(2.0, 3.0))), lying())
    assert (one.lag_s.tolist(), one.abeam_m.tolist()) == ([32.0, 20.0], [5.0, -3.0])
    # Over 13 m the heights are 3, 2.5, 2, 1.5 and 1; over 11.2 m they are 1.2, 0.7, 0.2, -0.3 and -0.8.
    over_13 = (1.0 + 1.0 + 1.0 + (1.0 - 0.5 / 1.5) + (1.0 - 1.0 / 1.5)) / 5.0
    over_11 = ((1.0 - 0.8 / 1.5) + (1.0 - 1.3 / 1.5) - 30.0) / 5.0
    assert one.worth[0, [5, 19]] == pytest.approx([over_13, over_11], abs=1e-6)
    assert one.worth[0, [0, NODES]].tolist() == [0.0, 0.0], "no height over a bottom that is unknown"
    assert one.worth[1, [5, 19]].tolist() == [0.0, 0.0]
    where = np.array([105.0, 135.0]), np.array([-30.0, -10.0])
    assert one.there(floor, 0, *where) == pytest.approx([over_13, over_11], abs=1e-6)
    both = one.all_there(floor, np.array([where[0]] * 2), np.array([where[1]] * 2))
    assert both.tolist() == [one.there(floor, row, *where).tolist() for row in (0, 1)]


def test_beyond_the_box_only_a_touch_counts_and_rods_on_the_bottom_do_not() -> None:
    floor = made(lambda n, e: np.where(n < 120.0, 13.0, 11.2) + 0.0 * e)
    box = Box(100.0, -40.0, 110.0, -30.0)
    ground = SimpleNamespace(drift_m_s=(0.1, -0.2))
    wish = Wish(over_bottom_m=(2.0, 3.0), box=box)
    one = trailing(asking(floor, wish, ground=ground, on_bottom=frozenset("2")), lying())
    assert len(one.worth) == 1
    assert one.drift_m == pytest.approx(np.array([[3.2, -6.4]]))
    assert [one.worth[0, k] > 0.0 for k in (0, 1, 2, 4, 5, 8)] == [True, True, False, True, True, False]
    assert one.worth[0, 19] < -5.0
    assert one.worth[0, NODES] == 0.0


def test_the_member_that_stands_for_all_lies_nearest_the_middle_in_standard_deviations() -> None:
    """A metre of depth is more than a metre astern, since members differ less in it."""
    behind = np.array([[(30.0, 0.0, 10.0), (50.0, 0.0, 10.1), (40.0, 0.0, 10.6), (41.0, 0.0, 9.6), (9.0, 0.0, 10.0)]])
    one = Lying(behind, np.median(behind, axis=1), np.array([[9.0, 9.5, 10.0, 10.5, 11.0]]))
    off = (behind[0] - one.middle_m[0]) ** 2
    spread = np.where(off.mean(axis=0) > 0.0, off.mean(axis=0), 1.0)
    assert one.order.tolist() == np.argsort((off / spread).sum(axis=1), kind="stable").tolist()
    assert one.order[0] == 0
    assert one.apart_m(2) == pytest.approx(np.array([[-1.6, -1.1, -0.6, -0.1, 0.4]]))
    unknown = behind.copy()
    unknown[0, 0, 2] = np.nan
    assert Lying(unknown, one.middle_m, one.levels_m).order[-1] == 0
    assert Lying(unknown, one.middle_m, one.levels_m).apart_m(0).tolist() == [[0.0] * 5]


# -- ways over it --------------------------------------------------------------------------------------------------


def pattern(seed: int, rods: int = 2) -> tuple[Any, Trailing]:
    """Four steps over nodes of random worth, in a current."""
    rng = np.random.default_rng(seed)
    ground = SimpleNamespace(place_m=(118.0, -28.0), antenna_m=2.0, heading_rad=0.3, drift_m_s=(0.08, -0.05))
    one = asking(made(), Wish(depth_m=(0.0, 1.0), lasts_s=4.0 * EACH_S), ground=ground)
    lags, abeam = np.array([2.0, 7.0])[:rods], np.array([4.0, -6.0])[:rods]
    worth = rng.uniform(-1.0, 1.0, (rods, NODES + 1)).astype(np.float32)
    return one, Trailing(lags, abeam, lags[:, None] * np.array(ground.drift_m_s), worth)


def lived(one: Any, trails: Trailing, acts: tuple[int, ...], turn_s: float) -> tuple[float, int]:
    """What a boat gets that goes through these acts, step by step, and how often she begins a turn."""
    begin = (118.0 - 2.0 * math.cos(0.3), -28.0 - 2.0 * math.sin(0.3))
    north, east, heading, got, turns, before = *begin, 0.3, 0.0, 0, 0
    for k, act in enumerate(acts, 1):
        rate = {-1: -1.0 / 12.0, 0: 0.0, 1: 1.0 / 9.0}[act]
        turns += act != before and act != 0
        got -= turn_s * (act != before and act != 0)
        middle = heading + 0.5 * rate * EACH_S
        north += (math.cos(middle) + 0.08) * EACH_S
        east += (math.sin(middle) - 0.05) * EACH_S
        heading, before = heading + rate * EACH_S, act
        for rod, (lag, abeam) in enumerate(zip(trails.lag_s, trails.abeam_m, strict=True)):
            at_n = north - abeam * math.sin(heading) + lag * 0.08
            at_e = east + abeam * math.cos(heading) - lag * 0.05
            if k * EACH_S + lag <= 4.0 * EACH_S:
                got += EACH_S * float(trails.there(one.floor, rod, np.array([at_n]), np.array([at_e]))[0])
    return got, turns


def numbers(acts: tuple[int, ...], turns: int) -> list[float]:
    """The way's numbers: seconds of straight and angle of each turn."""
    out: list[float] = []
    straight = 0.0
    for act, group in itertools.groupby(acts):
        seconds = EACH_S * len(list(group))
        if act == 0:
            straight += seconds
        else:
            out += [straight, seconds / 9.0 if act > 0 else -seconds / 12.0]
            straight = 0.0
    return out + [0.0] * (2 * turns - len(out))


@pytest.mark.parametrize(("seed", "turns", "turn_s"), [(1, 1, 0.0), (2, 2, 1.0), (3, 2, 3.0), (4, 3, 0.0)])
def test_the_best_of_all_ways_is_grown(monkeypatch: pytest.MonkeyPatch, seed: int, turns: int, turn_s: float) -> None:
    """Against every way there is, where no two boats fall into one cell."""
    monkeypatch.setattr(beam, "CELL_M", 1e-4)
    one, trails = pattern(seed)
    every = {acts: lived(one, trails, acts, turn_s) for acts in itertools.product((-1, 0, 1), repeat=4)}
    able = sorted((acts for acts in every if every[acts][1] <= turns), key=lambda acts: -every[acts][0])
    found = grown(one, trails, turns, turn_s, 5)
    assert found.shape == (5, 2 * turns)
    for way, acts in zip(found, able, strict=False):
        assert way == pytest.approx(numbers(acts, turns), abs=1e-9)


def test_of_boats_in_one_cell_the_best_goes_on_and_no_more_than_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    one, _ = pattern(1)
    n, e = np.array([1.0, 14.0, 16.0, 1.0, 1.0]), np.zeros(5)
    act, score = np.array([1, 1, 1, 0, 1]), np.array([3.0, 4.0, 1.0, 2.0, 9.0])
    h, allowed = np.zeros(5), np.array([True, True, True, True, False])
    assert beam._kept(one, n, e, h, act, score, allowed).tolist() == [1, 3, 2]
    monkeypatch.setattr(beam, "KEPT", 2)
    assert beam._kept(one, n, e, h, act, score, allowed).tolist() == [1, 3]
    h[0] = math.radians(19.0)
    assert beam._kept(one, n, e, h, act, score, allowed).tolist() == [1, 0]
    one.dangers_m = (((14.0, 0.0), 0.0),)  # half a step more is kept from it
    assert beam._kept(one, n, e, h, act, score, allowed).tolist() == [0, 3]
    one.dangers_m = (((11.0 + 6.0, 0.0), 0.0),)
    assert 1 in beam._kept(one, n, e, h, act, score, allowed), "3 m away is as far as is asked"


def test_where_every_way_is_blocked_none_is_grown() -> None:
    one, trails = pattern(1)
    one.dangers_m = (((118.0, -28.0), 500.0),)
    assert grown(one, trails, 2, 0.0, 5).shape == (0, 4)


def test_screening_counts_as_a_lure_trails_and_takes_four_a_rod_for_a_turn() -> None:
    """A boat straight on to the north, over a floor of which the lure is worth its node's row."""
    ground = SimpleNamespace(place_m=(100.0, -30.0), antenna_m=0.0, heading_rad=0.0, drift_m_s=(0.0, 0.0))
    one = asking(made(), Wish(depth_m=(0.0, 1.0), lasts_s=5.0 * EACH_S), ground=ground)
    one.fleet.heading_rad = 0.0
    worth = np.repeat(np.arange(5.0), 4).astype(np.float32)
    trails = Trailing(np.array([12.4]), np.array([3.0]), np.zeros((1, 2)), np.append(worth, 0.0)[None])
    # She is at 100, 106, 112, 118 m when the lure 12 s later passes there: rows 0, 1, 1, 2.
    assert screened(np.zeros((1, 2)), one, trails) == pytest.approx([EACH_S * 4.0])
    turning = np.array([[900.0, 0.5], [900.0, 0.0]])
    assert screened(turning, one, trails) == pytest.approx([EACH_S * 4.0 - 3 * TURN_S, EACH_S * 4.0])
    twice = np.array([[300.0, 0.5, 300.0, 0.0], [300.0, 0.0, 300.0, 0.5], [300.0, 0.5, 300.0, -0.5]])
    turns = [(EACH_S * 4.0 - worth) / (3 * TURN_S) for worth in screened(twice, one, trails)]
    assert turns == pytest.approx([1.0, 1.0, 2.0]), "every turn of a way counts, whichever it is"
    for margin, blocked in ((2.0, True), (1.9, True), (0.9, False)):
        near = asking(made(), one.wish, ground=ground, fleet=one.fleet, dangers_m=(((112.0, -26.0), margin),))
        assert np.isinf(screened(np.zeros((1, 2)), near, trails))[0] == blocked
    drifting = asking(made(), one.wish, fleet=one.fleet, ground=replace_drift(ground, (0.45, 0.0)))
    # The place where she was drifts on until the lure passes it: 105, 114, 123 and 132 m.
    assert screened(np.zeros((1, 2)), drifting, trails) == pytest.approx([EACH_S * (1.0 + 1.0 + 2.0 + 3.0)])


def replace_drift(ground: Any, drift: tuple[float, float]) -> Any:
    return SimpleNamespace(**{**vars(ground), "drift_m_s": drift})


def test_the_worth_of_a_way_that_was_run() -> None:
    """The mean of the members, less ten a second on the bottom and four a rod for a turn; half where lines cross."""
    legs: Any = (SimpleNamespace(turn_rad=0.0), SimpleNamespace(turn_rad=0.4), SimpleNamespace(turn_rad=-0.4))
    by_rod, bottom = np.array([[100.0, np.nan], [60.0, 80.0]]), np.array([[1.0, np.nan], [0.0, 2.0]])
    made_: Any = Rated(legs, None, None, by_rod, bottom, None)  # type: ignore[arg-type]
    assert made_.wanted_s.tolist() == [100.0, 140.0]
    worth = 0.5 * ((100.0 - 10.0) + (140.0 - 20.0)) - 16.0
    assert made_.worth == pytest.approx(worth)
    for any_risk, share in ((0.0, 1.0), (0.1, CROSSING)):
        assert replace(made_, risk=SimpleNamespace(any=any_risk)).worth == pytest.approx(worth * share)
    bad = replace(made_, on_bottom_s=bottom + 50.0, risk=SimpleNamespace(any=1.0))
    assert bad.worth == replace(bad, risk=None).worth < 0.0


def test_a_way_that_was_run_member_by_member(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two rods and two members over 20 m, a sample every two seconds: who is wanted and who touches, in seconds."""
    from sternwatch.watch.again.legs import Leg
    from sternwatch.watch.whole_pass import rating

    legs = (Leg(12.0),)
    floor = made(lambda n, e: 20.0 + 0.0 * (n + e))
    wish = Wish(over_bottom_m=(2.0, 5.0))
    ground = SimpleNamespace(place_m=(110.0, -30.0), antenna_m=0.0, heading_rad=0.0, drift_m_s=(0.0, 0.0))
    depths = {0: (17.0, 19.8), 1: (12.0, 19.6)}  # of the members: wanted and touching, too shoal and touching
    done = SimpleNamespace(
        cast=SimpleNamespace(keys=("1", "2"), strands=None), known=np.array([[True, True], [True, False]])
    )

    def lures(_done: object, _fleet: object, _ground: object, rod: int, _aside: object) -> np.ndarray:
        samples = len(rating.track_of(legs, heading_rad=0.0, speed_m_s=1.0, to_speed_m_s=1.0).time_s)
        out = np.zeros((samples, 2, 3))
        out[..., 0], out[..., 1], out[..., 2] = 115.0, -30.0, np.array(depths[rod])
        return out

    for name, value in (
        ("run", lambda *_: done), ("aside_m", lambda *_: None), ("lures_m", lures), ("polylines", lambda _: None),
        ("closest", lambda *_, **__: "found"), ("Risk", lambda *_: SimpleNamespace(any=0.25)),
        ("looked_at", lambda *_, **__: None),
    ):  # fmt: skip
        monkeypatch.setattr(rating, name, value)
    asked_: Any = asking(floor, wish, ground=ground, required=None)
    fleet: Any = SimpleNamespace(heading_rad=0.0)
    one = rating.rated(asked_, fleet, legs)
    assert one is not None
    assert one.by_rod_s == pytest.approx(np.array([[12.0, 0.0], [0.0, np.nan]]), nan_ok=True)
    assert one.on_bottom_s == pytest.approx(np.array([[0.0, 0.0], [12.0, np.nan]]), nan_ok=True)
    assert one.risk is not None
    asked_.on_bottom = frozenset("1")
    dragged = rating.rated(asked_, fleet, legs, beyond=5.9)
    assert dragged is not None
    assert dragged.on_bottom_s[:, 0].tolist() == [0.0, 0.0], "on purpose"
    assert dragged.worth == pytest.approx(0.5 * 6.0), "lines cross"
    assert dragged.risk is not None
    poor = rating.rated(asked_, fleet, legs, beyond=6.0)
    assert poor is not None
    assert poor.risk is None, "it cannot be worth more by crossing"
    deeper = rating.rated(asked_, fleet, legs, around_m=np.array([[0.0, 1.5], [0.0, 4.0]]))
    assert deeper is not None
    assert deeper.by_rod_s[0] == pytest.approx([6.0, 6.0]), "each of two depths that a lure may have counts for half"
    asked_.dangers_m = (((115.0, -30.0), 1.0),)
    assert rating.rated(asked_, fleet, legs) is None


def test_levels_are_depths_that_one_to_nine_tenths_of_the_members_do_not_exceed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    behind = np.zeros((2, 11, 3))
    behind[0, :, 2] = np.arange(11.0)
    behind[1, 3] = np.nan
    monkeypatch.setattr(worth, "settled", lambda *_, **__: SimpleNamespace(cast=SimpleNamespace(rods=2)))
    monkeypatch.setattr(worth, "behind_m", lambda _, rod: behind[rod])
    asked: Any = SimpleNamespace(fleet=SimpleNamespace(cast=None, heading_rad=0.0), speed_m_s=1.0)
    made = worth.lying_of(asked)
    assert made.levels_m[0] == pytest.approx([1.0, 3.0, 5.0, 7.0, 9.0])
    assert np.isnan(made.levels_m[1]).all(), "a rod that is unknown in one member"


def test_a_bottom_is_looked_up_to_ten_centimetres_and_one_deeper_than_400_m_at_its_end() -> None:
    """The last place of the table is that of an unknown bottom, which lies beyond the floor as well."""
    table = np.append(np.arange(0.0, 400.05, 0.1), np.nan)
    floor: Any = SimpleNamespace(depths_m=np.array([[12.34, 12.36], [np.nan, 512.0]]))
    assert _bottom_at(floor, table).tolist() == [123, 124, len(table) - 1, 4000, len(table) - 1]


def test_a_lure_is_taken_to_follow_the_boats_way_beside_it_and_later(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every number by hand: her places, the drift until the lure comes by, and the starboard side of her heading."""
    north, east = np.array([[0.0, 6.0, 11.0, 14.0]]), np.array([[0.0, 1.0, 4.0, 9.0]])
    heading = np.array([[0.2, 0.5, 0.8, 1.1]])
    monkeypatch.setattr(rating, "tracks", lambda *_: (north, east, heading))
    monkeypatch.setattr(rating, "transom_m", lambda _: (100.0, -50.0))
    monkeypatch.setattr(rating, "turn_s", lambda rods: 2.0 * rods)
    monkeypatch.setattr(rating, "between_m", lambda _: 1.0)
    seen: list[tuple[int, Any, Any]] = []

    def there(_: object, rod: int, at_n: Any, at_e: Any) -> Any:
        seen.append((rod, at_n[0].tolist(), at_e[0].tolist()))
        return np.full(at_n.shape, 0.5)

    trails: Any = SimpleNamespace(abeam_m=(-3.0, 7.0), lag_s=(12.0, 0.0), there=there)
    one: Any = SimpleNamespace(
        ground=SimpleNamespace(drift_m_s=(0.3, -0.2)), floor=None, dangers_m=(), fleet=SimpleNamespace(
            cast=SimpleNamespace(keys=("1", "2"))),
    )  # fmt: skip
    ways = np.array([[9.0, 0.4, 9.0, 0.0, 9.0, 0.7]])  # two turns
    assert screened(ways, one, trails) == pytest.approx(6.0 * 0.5 * (2 + 4) - 2 * 4.0)
    for (rod, at_n, at_e), abeam, lag in zip(seen, (-3.0, 7.0), (2, 0), strict=True):
        for k in range(4 - lag):
            later_s = 6.0 * (k + lag)
            h = heading[0, k]
            assert at_n[k] == pytest.approx(100.0 + north[0, k] - abeam * math.sin(h) + 0.3 * later_s), rod
            assert at_e[k] == pytest.approx(-50.0 + east[0, k] + abeam * math.cos(h) - 0.2 * later_s), rod
        assert len(at_n) == 4 - lag
    # At her third place she lies at 111 + 3.6 m north, 46 + 2.4 m west of the origin.
    for margin, blocked in ((4.1, True), (3.9, False)):
        one.dangers_m = (((114.6, -48.4 - 5.0), margin),)
        assert np.isinf(screened(ways, one, trails))[0] == blocked
