"""A plan as one value, and when the check beside a session is made again: by hand, without a plan being made."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.reach import Choice, Wanted
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.planner import check as check_module
from sternwatch.watch.planner import letting_out as out_module
from sternwatch.watch.planner.check import Checking, Question, steady
from sternwatch.watch.planner.letting_out import Going, LetOut, LettingOut, Passing
from sternwatch.watch.planner.plan import RodOfPlan, SpreadPlan, _fished, minutes
from sternwatch.watch.planner.search import Found

METRIC = SYSTEMS["metric"]
DEG = math.pi / 180.0
ROD = RodOfPlan(
    "1", "P LOW", "low", 40.0, "low", 40.0, 15.0, (12.0, 14.0, 15.0, 16.0, 18.0), 30.0, -4.0, True, "",
)  # fmt: skip


def plan(*rods: RodOfPlan, **more: Any) -> SpreadPlan:
    given: dict[str, Any] = {
        "wanted": Wanted(10.0, 20.0, 1.0, tuple(rod.key for rod in rods)), "u_turn_s": 90.0, "rods": rods,
        "unevenness_m": 0.0, "any_crossing": 0.0, "crossing": (), "slower_s": None,
        "letting_out": LetOut((), (), 0.0), "drawn": None, "ways": 1, "rounds": 1, **more,
    }  # fmt: skip
    return SpreadPlan(**given)


def test_what_a_plan_changes_is_its_entry() -> None:
    """Only what differs from now: a length, a setting, or both; and nothing for what stays."""
    rods = (
        ROD, replace(ROD, key="2", line_out_m=45.0), replace(ROD, key="3", setting="high"),
        replace(ROD, key="4", setting="high", line_out_m=None), replace(ROD, key="5", setting=None, line_out_m=None),
    )  # fmt: skip
    assert [rod.changes for rod in rods] == [False, True, True, True, False]
    assert plan(*rods).entry == [
        {"rod": "2", "line_out_m": 45.0}, {"rod": "3", "line_out_m": 40.0, "setting": "high"},
        {"rod": "4", "setting": "high"},
    ]  # fmt: skip
    assert ROD.depth_interval_m == (12.0, 18.0)
    assert replace(ROD, depth_quantiles_m=None).depth_interval_m is None


def test_a_wish_is_met_where_every_lure_is_in_the_band_and_nothing_crosses() -> None:
    assert plan(ROD).met
    assert not plan(ROD, replace(ROD, key="2", in_band=False)).met
    assert not plan(ROD, crossing=((("1", "2"), 0.2),)).met


def test_what_is_in_the_way_of_a_plan(two_rods: Spread) -> None:
    deep = replace(ROD, key="2", name="DOWN", depth_m=30.0, in_band=False, why="its cable is too short")
    out = (("1", "2"), 0.25)

    def said(**more: Any) -> list[str]:
        return plan(ROD, replace(deep, in_band=True), **more).in_the_way(two_rods, METRIC)

    assert said() == []
    assert plan(ROD, deep).in_the_way(two_rods, METRIC) == ["2 DOWN runs at 30 m: its cable is too short"]
    assert plan(replace(deep, why="")).in_the_way(two_rods, METRIC) == [
        "2 DOWN runs at 30 m: other lines are in the way"
    ]
    crosses = "1 P LOW and 2 DOWN cross"
    assert said(crossing=(out,), u_turn_s=None) == [f"{crosses} on a straight course in 25 % of the versions"]
    assert said(crossing=(out,)) == [
        f"{crosses} in a U-turn in 90 s in 25 % of the versions",
        "No slower U-turn avoids that, not even in four times the time",
    ]
    assert said(crossing=(out,), slower_s=180.0)[1] == "A U-turn in 3 min makes crossing unlikely"
    way_out = LetOut(
        ("1", "2"), (Passing("2", "1", 0.5, Verdict.TOUCH), Passing("1", "2", 2.0, Verdict.NEAR_PASS)), 9.0
    )
    assert said(letting_out=way_out) == ["2 DOWN crosses 1 P LOW on its way out, whatever the order"]
    assert said(letting_out=LetOut((), (), 0.0, ("1", "2"))) == [
        "The way out of 1 P LOW, 2 DOWN could not be computed"
    ]


@pytest.mark.parametrize(("speed", "said"), [(0.79, True), (0.8, False), (1.2, False), (1.21, True)])
def test_a_lure_that_works_at_other_speeds(two_rods: Spread, speed: float, said: bool) -> None:
    rods = tuple(rod.model_copy(update={"speeds_m_s": (0.8, 1.2)}) for rod in two_rods.rods)
    fast = two_rods.model_copy(update={"rod": rods})
    made = plan(ROD, wanted=Wanted(10.0, 20.0, speed, ("1",)))
    told = [line for line in made.in_the_way(fast, METRIC) if "lure works at" in line]
    assert told == (["1 P LOW's lure works at 2.9–4.3 km/h"] if said else [])


@pytest.mark.parametrize(
    ("seconds", "said"), [(60.0, "1 min"), (90.0, "90 s"), (120.0, "2 min"), (119.6, "120 s"), (600.0, "10 min")]
)
def test_a_time_in_words(seconds: float, said: str) -> None:
    assert minutes(seconds) == said


def test_a_rod_on_a_cable_that_is_not_planned_is_not_fished() -> None:
    def rod(key: str, on: str | None = None) -> Any:
        return SimpleNamespace(key=key, clipped_to=None if on is None else SimpleNamespace(rod=on))

    rods = {"1": RodNow(), "2": RodNow()}
    assert [_fished(one, rods) for one in (rod("1"), rod("3"), rod("2", "1"), rod("2", "3"), rod("3", "1"))] == [
        True, False, True, False, False,
    ]  # fmt: skip


# -- the check beside a session ------------------------------------------------------------------------------------

ASKED = Question((), 1.0, True, 0.1, 20.0, 3)


@pytest.mark.parametrize(
    ("more", "kept"),
    [
        ({"speed_m_s": 1.099}, True), ({"speed_m_s": 1.101}, False), ({"speed_m_s": 0.901}, True),
        ({"speed_m_s": 1.05, "own_speed": False}, False), ({"bottom_m": 20.99}, True), ({"bottom_m": 21.0}, False),
        ({"bottom_m": 19.01}, True), ({"bottom_m": None}, False), ({"heading_rad": 0.1 + 14.9 * DEG}, True),
        ({"heading_rad": 0.1 + 15.1 * DEG}, False), ({"heading_rad": 0.1 - 14.9 * DEG + 2.0 * math.pi}, True),
        ({"heading_rad": None}, False), ({"people": 4}, False),
    ],
)  # fmt: skip
def test_numbers_that_hardly_changed_stay(more: dict[str, Any], kept: bool) -> None:
    wanted = replace(ASKED, **more)
    assert (steady(ASKED, wanted) == ASKED) is kept
    assert steady(None, wanted) is wanted
    if not kept:
        assert steady(ASKED, wanted) == wanted


@pytest.mark.parametrize(("mean", "own"), [(0.49, False), (0.5, True), (2.2, True), (2.21, False), (None, False)])
def test_her_own_speed_counts_while_she_trolls(two_rods: Spread, mean: float | None, own: bool) -> None:
    made = Checking(two_rods, METRIC)
    boat = SimpleNamespace(speed_mean_m_s=mean, heading_deg=90.0)
    picture: Any = SimpleNamespace(own=boat, bottom_m=20.0)
    crew: Any = SimpleNamespace(facts=SimpleNamespace(people=2))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(check_module, "spread_of", lambda *_: two_rods)
        asked = made._question(picture, crew)
    assert asked.own_speed is own
    assert asked.speed_m_s == (mean if own else two_rods.boat.usual_m_s)
    assert asked.bottom_m == (20.0 if own else None)
    assert asked.heading_rad is None, "without a current it does not matter"
    assert asked.people == 2


# -- letting out ---------------------------------------------------------------------------------------------------


def going(
    key: str, runs_s: float = 10.0, samples: int = 40, starboard_m: float = 0.0, *, failed: bool = False
) -> Going:
    shape = np.zeros((samples, 5, 3))
    shape[..., 0] = -np.arange(5.0)
    shape[..., 1] = starboard_m
    return Going(
        key, None, runs_s, shape, np.ones((samples, 4)), None, np.zeros(5, dtype=np.bool_),
        np.zeros(4, dtype=np.bool_), failed,
    )  # type: ignore[arg-type]  # fmt: skip


@pytest.mark.parametrize(("t_s", "sample"), [(-5.0, 0), (0.0, 0), (3.4, 3), (38.6, 39), (39.0, 39), (999.0, 39)])
def test_the_sample_of_a_time(t_s: float, sample: int) -> None:
    assert going("1").at(t_s) == sample


def test_the_box_of_a_rod_holds_its_line_to_the_release() -> None:
    one = going("1")
    low, high = one.boxes_m
    assert (low[3].tolist(), high[3].tolist()) == ([-4.0, 0.0, 0.0], [0.0, 0.0, 0.0])
    line = np.zeros((40, 3, 3))
    line[:, 1] = (2.0, -3.0, -1.0)
    low, high = replace(one, rod_line_m=line).boxes_m
    assert (low[3].tolist(), high[3].tolist()) == ([-4.0, -3.0, -1.0], [2.0, 0.0, 0.0])


class Out(LettingOut):
    """Passings as they are told here."""

    def __init__(self, met: dict[str, tuple[float, Verdict]], **goings: Going) -> None:
        self.goings = goings or {key: going(key) for key in sorted({k for pair in met for k in pair})}
        self.told, self.asked, self._met = met, [], {}  # type: ignore[var-annotated]

    def _worst(self, going: Going, out: Going, out_at: Any) -> Passing:
        self.asked.append((going.key, out.key, out_at.tolist()))
        return Passing(
            going.key, out.key, *self.told.get(going.key + out.key, (math.inf, Verdict.CLEAR_OF_EACH_OTHER))
        )


def test_what_a_passing_costs() -> None:
    out = Out({
        "ab": (0.0, Verdict.TOUCH), "ba": (0.5, Verdict.WRAPPED), "ac": (0.25, Verdict.NEAR_PASS),
        "ca": (1.5, Verdict.CLEAR_OF_EACH_OTHER), "bc": (3.0, Verdict.TOUCH),
    })  # fmt: skip
    assert [out_module._cost(out.passing(*pair)) for pair in ("ab", "ba", "ac", "ca", "bc", "cb")] == [
        2000.0,
        1500.0,
        7.5,
        0.0,
        1000.0,
        0.0,
    ]
    assert out.asked[0][2] == [39] * 40, "the other is at rest"
    asked = len(out.asked)
    out.passing("a", "b")
    assert len(out.asked) == asked, "each is computed once"


def test_an_order_in_time() -> None:
    """Each begins when the one before has run out and was attended to."""
    handle = out_module.HANDLE_S
    lines = {
        "a": going("a", 10.0, 200), "b": going("b", 20.0, 200, failed=True), "c": going("c", 5.0, 200)
    }  # fmt: skip
    out = Out({"ba": (2.9, Verdict.NEAR_PASS), "ca": (3.0, Verdict.NEAR_PASS), "cb": (9.0, Verdict.TOUCH)}, **lines)
    made = out.ordered("abc")
    assert made.time_s == 35.0 + 3.0 * handle
    assert made.unknown == ("b",)
    assert [(one.going, one.out) for one in made.passings] == [("c", "b"), ("b", "a")]
    assert [(one.going, one.out) for one in made.crossings] == [("c", "b")]
    starts = {(going_, out_): at[0] for going_, out_, at in out.asked}
    assert starts == {("b", "a"): 10 + handle, ("c", "a"): 30 + 2 * handle, ("c", "b"): 20 + handle}


def test_the_order_with_the_fewest_crossings_is_found() -> None:
    """Only one of six orders has none, and practice is kept where nothing is in the way."""
    touch = (0.5, Verdict.TOUCH)
    out = Out({"ab": touch, "ac": touch, "cb": touch, "bx": (9.0, Verdict.CLEAR_OF_EACH_OTHER)})
    made = out.best("cba")
    assert not made.crossings
    assert Out({"ab": (9.0, Verdict.CLEAR_OF_EACH_OTHER)}).best("ba").keys == ("b", "a")
    hopeless = Out({"ab": touch, "ba": touch})
    assert len(hopeless.best("ab").crossings) == 1


class Ordered(Out):
    """Orders are told here; costs as the search for the fewest saw them are kept."""

    def __init__(self, *crossings: int) -> None:
        super().__init__({"ab": (0.25, Verdict.TOUCH), "ba": (0.5, Verdict.NEAR_PASS)})
        self.left, self.made = list(crossings), 0

    def ordered(self, keys: Any) -> LetOut:
        self.made += 1
        met = Passing("b", "a", 0.5, Verdict.TOUCH)
        return LetOut(tuple(keys), (met,) * self.left.pop(0), float(self.made))


@pytest.mark.parametrize(
    ("crossings", "tried", "taken"),
    [((0, 9), 1, 1), ((2, 2, 0), 2, 1), ((2, 3, 0), 2, 1), ((3, 2, 2, 0), 3, 2), ((3, 2, 0, 9), 3, 3),
     ((9, 8, 7, 6, 5, 4, 3, 2), 6, 6)],
)  # fmt: skip
def test_orders_are_tried_while_each_is_better_than_all_before(
    monkeypatch: pytest.MonkeyPatch, crossings: tuple[int, ...], tried: int, taken: int
) -> None:
    """Six at most. What crossed in the full order costs what that crossing does from then on."""
    out, costs = Ordered(*crossings), []  # type: ignore[var-annotated]
    monkeypatch.setattr(out_module, "fewest", lambda keys, cost: (costs.append(cost["b", "a"]), keys)[1])
    best = out.best("abz")
    assert (out.made, best.time_s) == (tried, taken)
    assert best.keys == ("a", "b"), "only those that go out"
    assert costs == [5.0, *[1500.0] * (tried - 1)]


def test_two_lines_side_by_side_for_separation() -> None:
    """The second has a line to a release: 3 m at the sample before its last, 5 m at its last."""
    one = going("a", samples=4)
    line = np.zeros((4, out_module.POINTS, 3))
    line[:, :, 0] = np.linspace(0.0, 1.0, out_module.POINTS)
    line[2] *= 3.0
    line[3] *= 5.0
    line[..., 0] += 2.0  # the rod's tip
    rest = np.ones((4, 4))
    rest[2], rest[3] = 2.0, 3.0
    tackle = np.array([False, False, False, False, True])
    other = replace(
        going("b", samples=4, starboard_m=2.0), rod_line_m=line, rest_m=rest, body=tackle, leader=tackle[1:]
    )
    strands, places = out_module._strands((one, other), (np.array([0, 1, 3]), np.array([0, 1, 2])))
    wide = out_module.POINTS
    assert strands.n_nodes.tolist() == [5, 5, wide]
    assert strands.owner.tolist() == [0, 1, 1]
    assert strands.arc_m[0].tolist() == [0.0, 1.0, 2.0, 3.0, *[4.0] * (wide - 4)]
    assert strands.arc_m[1].tolist() == [0.0, 2.0, 4.0, 6.0, *[8.0] * (wide - 4)], "as long as it is then"
    assert strands.arc_m[2] == pytest.approx(np.linspace(0.0, 3.0, wide))
    assert strands.whole_m.tolist() == [4.0, 12.0, 5.0], "as long as they become"
    assert [np.flatnonzero(row).tolist() for row in strands.body_node] == [[], [4], []]
    assert [np.flatnonzero(row).tolist() for row in strands.leader] == [[], [3], []]
    assert places.shape == (3, 3, wide, 3)
    assert places[0, 1, :5, 1].tolist() == [2.0] * 5
    assert places[2, 2, -1].tolist() == [5.0, 0.0, 0.0]
    assert places[0, 0, 4:, 0].tolist() == [-4.0] * (wide - 4), "what is short ends where it ends"


def test_a_plan_that_crosses_on_its_way_out_is_exchanged_for_one_that_does_not(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread
) -> None:
    """Where the search finds another, looked for once, and never for one that crosses more while it fishes."""
    import sternwatch.watch.planner.plan as plan_module

    went_out: list[int] = []

    def made(*told: tuple[int, ...]) -> tuple[int, list[int]]:
        """Each: which choices, crossings while it fishes, on its way out, how uneven. The one taken, the blamed."""
        blamed: list[int] = []
        found = [
            SimpleNamespace(choices=n, score=SimpleNamespace(rank=(fishing, 0, uneven)), out=out)
            for n, fishing, out, uneven in [(*one, 0)[:4] for one in told]
        ]

        class Scripted:
            def __init__(self, *_: object, **__: object) -> None:
                self.at = -1

            def best(self) -> Any:
                self.at += 1
                return found[self.at]

            def hold_against(self, of: Any, pairs: Any) -> None:
                blamed.append(of.choices)
                assert pairs == [("2", "1")] * of.out

        def let_out(_: object, of: Any, rate: float) -> Any:
            assert rate == 0.5
            went_out.append(of.choices)
            return None, SimpleNamespace(crossings=[SimpleNamespace(going="2", out="1")] * of.out)

        class Taken(Exception):  # noqa: N818
            pass

        def by_median(_: object, of: Any, __: object) -> None:
            raise Taken(of.choices)

        with monkeypatch.context() as patch:
            patch.setattr(plan_module, "Planner", Scripted)
            patch.setattr(plan_module, "_let_out", let_out)
            patch.setattr(plan_module, "_by_median", by_median)
            with pytest.raises(Taken) as taken:
                plan_module.make_plan(two_rods, Wanted(10.0, 20.0, 1.0, ("1",)), u_turn_s=None, pay_out_m_s=0.5)
        return taken.value.args[0], blamed

    assert made((1, 0, 0)) == (1, [])
    assert made((1, 0, 2), (2, 0, 0)) == (2, [1])
    assert made((1, 0, 2), (2, 1, 0)) == (1, [1]), "it crosses more while it fishes"
    assert made((1, 1, 2), (2, 0, 5)) == (2, [1])
    assert made((1, 1, 2), (2, 1, 2)) == (1, [1]), "of equals the first"
    assert made((1, 0, 2, 0), (2, 0, 1, 9)) == (2, [1]), "how even it is counts for less than a crossing"
    assert made((1, 0, 2, 9), (2, 0, 2, 0)) == (1, [1])
    went_out.clear()
    assert made((1, 0, 2), (1, 0, 2)) == (1, [1]), "the search finds no other"
    assert went_out == [1], "what is the same already is not let out again"


def test_lines_may_be_near_where_their_boxes_are_within_three_times_what_is_required() -> None:
    lines = {"a": going("a"), "b": going("b", starboard_m=9.0), "c": going("c", starboard_m=9.1)}
    out = Out({}, **lines)
    out.required = SimpleNamespace(tackle_m=3.0, line_m=1.0)  # type: ignore[assignment]
    out._boxes = {key: one.boxes_m for key, one in lines.items()}
    at = np.arange(40)
    assert LettingOut._near(out, lines["a"], lines["b"], at).all()
    assert not LettingOut._near(out, lines["a"], lines["c"], at).any()
    assert LettingOut._near(out, lines["b"], lines["c"], at).all()


def test_practice_is_told_where_each_line_ends_to_starboard(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread
) -> None:
    import sternwatch.watch.planner.plan as plan_module

    told: list[dict[str, float]] = []
    end = np.zeros((3, 2, 3))
    end[-1, -1] = (-40.0, 7.0, 12.0)
    out = SimpleNamespace(goings={"1": SimpleNamespace(shape_m=end)}, best=lambda order: order)
    monkeypatch.setattr(plan_module, "LettingOut", lambda *_, **__: out)
    monkeypatch.setattr(plan_module, "practice_order", lambda _, rods, places: (told.append(places), list(rods))[1])
    choices = {"1": SimpleNamespace(now=RodNow(30.0)), "2": SimpleNamespace(now=RodNow(20.0))}
    found: Any = SimpleNamespace(wanted=Wanted(10.0, 20.0, 1.0, ("1", "2")), choices=choices)
    assert plan_module._let_out(two_rods, found, 0.5)[1] == ["1"]
    assert told == [{"1": 7.0}]
    drawn = plan_module._drawn(out)  # type: ignore[arg-type]
    assert drawn.worst_shapes_m["1"][-1].tolist() == [40.0, 7.0, 12.0]


def test_a_rods_line_hangs_in_the_plane_of_its_way() -> None:
    """Nothing sets it aside: the water comes from straight ahead, and pushes it astern."""
    from sternwatch.answers.chains.arrays import water_of
    from sternwatch.gear.spread_file.load import parse_spread
    from sternwatch.hydro.chain.rows import STILL
    from sternwatch.watch.chains.ensemble import cast_of
    from watch.conftest import STACKED

    line = 'rod_line = { line = "mono", tip = { astern = "0 ft", abeam = "0 ft", height = "6 ft" }, pull = "12 N" }'
    spread = parse_spread(STACKED.replace('[[rod]]\nkey = "5"', f'{line}\n[[rod]]\nkey = "5"'))
    rows = cast_of(spread, {"4": RodNow()}, water=water_of(spread), flow=STILL, draws=None).rows
    nodes = int(rows.n_nodes[0])
    ball = np.array([-15.0, 0.0, 20.0])
    shape = np.linspace(0.0, 1.0, nodes)[None, :, None] * ball[None, None, :] * np.ones((4, 1, 1))
    made, still = (out_module._rod_line(rows, 0, shape, speed) for speed in (1.2, 0.0))
    assert made.shape == (4, out_module.POINTS, 3)
    assert made[..., 1] == pytest.approx(0.0, abs=1e-9)
    assert made[:, 0] == pytest.approx(np.tile(rows.rod_tip_m[0], (4, 1)))
    assert (made[:, 1:-1, 0] < still[:, 1:-1, 0] - 1e-3).any(), "it bows astern"
    assert (made[:, 1:-1, 0] <= still[:, 1:-1, 0] + 1e-9).all()


# -- two lines, block by block ---------------------------------------------------------------------------------------


class Blocks:
    """What separation finds of each block, by the block's first second."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, found: dict[float, dict[str, Any]]) -> None:
        self.found, self.asked = found, []  # type: ignore[var-annotated]
        monkeypatch.setattr(out_module, "closest", self.look)
        monkeypatch.setattr(out_module, "_strands", lambda goings, at: ((goings, at[1].tolist()), None))

    def look(self, _lines: object, times: Any, strands: Any, _required: object, *, resolve: float) -> Any:
        assert resolve == 3.0
        first = float(times[0])
        self.asked.append((first, float(times[-1]), strands[1][0], strands[1][-1]))
        told = {
            "ratio": [9.0, math.inf],
            "crosses": False,
            "linked": [0, 0],
            "tackle": 0.0,
            **self.found.get(first, {}),
        }
        passes = np.full((1, 2, 3, 6), np.nan)
        passes[0, 1, 0, 5] = told["tackle"]
        return SimpleNamespace(
            ratio=np.array([told["ratio"]]), crosses=np.array([[False, told["crosses"]]]), passes=passes,
            pairs=np.array([[0, 1], [0, 2]]), linked=np.array([told["linked"]]),
        )  # fmt: skip


def passing_of(
    monkeypatch: pytest.MonkeyPatch, found: dict[float, dict[str, Any]], near: tuple[float, float] = (0.0, 99.0)
) -> tuple[Passing, list[Any]]:
    """A line that runs for 9.5 s and is followed for 39; the other one is 3 s ahead of it."""
    blocks = Blocks(monkeypatch, found)
    one, other = going("b", 9.5), going("a")
    out = Out({}, a=other, b=one)
    out.required = SimpleNamespace()  # type: ignore[assignment]
    at = np.arange(40)
    out._near = lambda *_: (at >= near[0]) & (at <= near[1])  # type: ignore[method-assign,assignment]
    return LettingOut._worst(out, one, other, np.minimum(at + 3, 39)), blocks.asked


def test_blocks_are_four_seconds_while_the_line_runs_and_then_one(monkeypatch: pytest.MonkeyPatch) -> None:
    passing, asked = passing_of(monkeypatch, {})
    assert asked == [(0.0, 4.0, 3, 7), (4.0, 8.0, 7, 11), (8.0, 10.0, 11, 13), (10.0, 39.0, 13, 39)]
    assert (passing.going, passing.out, passing.ratio) == ("b", "a", 9.0)
    assert passing.verdict == Verdict.CLEAR_OF_EACH_OTHER
    _, asked = passing_of(monkeypatch, {}, near=(9.0, 9.0))
    assert asked == [(8.0, 10.0, 11, 13)], "where the boxes are far apart nothing is measured"


@pytest.mark.parametrize(
    ("found", "ratio", "verdict"),
    [
        ({4.0: {"ratio": [2.0, 1.2]}, 8.0: {"ratio": [1.5, math.inf]}}, 1.2, Verdict.CLEAR_OF_EACH_OTHER),
        ({10.0: {"ratio": [0.8, 3.0]}}, 0.8, Verdict.NEAR_PASS),
        ({4.0: {"ratio": [0.1, 3.0], "crosses": True}}, 0.1, Verdict.TOUCH),
        ({4.0: {"ratio": [0.1, 3.0], "crosses": True, "linked": [0, 1]}}, 0.1, Verdict.WRAPPED),
        ({0.0: {"crosses": True, "linked": [0, 1]}, 8.0: {"crosses": True, "linked": [0, -1]}}, 9.0, Verdict.TOUCH),
        ({0.0: {"crosses": True, "linked": [1, 0]}, 8.0: {"crosses": True, "linked": [0, -1]}}, 9.0, Verdict.WRAPPED),
        ({0.0: {"crosses": True, "tackle": 1.0}}, 9.0, Verdict.WRAPPED),
    ],
)  # fmt: skip
def test_the_worst_of_all_blocks_is_told(
    monkeypatch: pytest.MonkeyPatch, found: dict[float, dict[str, Any]], ratio: float, verdict: Verdict
) -> None:
    """A pass and one back, in whichever blocks, leave nothing wrapped; on tackle they do."""
    passing, _ = passing_of(monkeypatch, found)
    assert (passing.ratio, passing.verdict) == (ratio, verdict)


def test_what_crosses_most_is_told_first_and_of_equals_the_first_rods(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread
) -> None:
    import sternwatch.watch.planner.plan as plan_module

    pairs = {("2", "4"): 0.3, ("1", "4"): 0.3, ("1", "2"): 0.1, ("3", "4"): 0.9, ("1", "3"): 0.3}
    found = SimpleNamespace(choices={}, verdict=SimpleNamespace(pairs=pairs, any_crossing=0.9), ways=1, rounds=1)
    clear = SimpleNamespace(crossings=())
    monkeypatch.setattr(plan_module, "Planner", lambda *_, **__: SimpleNamespace(best=lambda: found))
    monkeypatch.setattr(plan_module, "_let_out", lambda *_: (None, clear))
    monkeypatch.setattr(plan_module, "_by_median", lambda *_: found)
    monkeypatch.setattr(plan_module, "believed_answer", lambda *_, **__: SimpleNamespace(rods=()))
    monkeypatch.setattr(plan_module, "_drawn", lambda _: None)
    made = plan_module.make_plan(two_rods, Wanted(10.0, 20.0, 1.0, ()), u_turn_s=None)
    assert made.crossing == (
        (("3", "4"), 0.9), (("1", "3"), 0.3), (("1", "4"), 0.3), (("2", "4"), 0.3),
    )  # fmt: skip


def test_a_line_no_longer_than_it_takes_to_reach_the_water_takes_no_time(two_rods: Spread) -> None:
    short = LettingOut(two_rods, {"1": RodNow(0.1)}, 1.0)
    assert short.goings["1"].runs_s == 0.0


def test_a_line_without_a_steady_state_begins_straight_astern_and_down() -> None:
    rows: Any = SimpleNamespace(tip_m=np.array([[0.0, 0.0, 0.0], [-1.0, 2.0, -1.5]]),
                                arc_m=np.array([[0.0, 0.0, 0.0, 0.0], [0.0, 2.0, 10.0, 11.0]]))  # fmt: skip
    found = out_module._astern(rows, 1, 3)
    assert np.linalg.norm(found - [-1.0, 2.0, -1.5], axis=1) == pytest.approx([0.0, 2.0, 10.0])
    assert found[:, 1].tolist() == [2.0] * 3
    assert found[:, 2] + 1.5 == pytest.approx(-(found[:, 0] + 1.0)), "as deep as it is astern"


@pytest.mark.parametrize(
    ("depth_m", "in_band"), [(9.5, True), (9.25, False), (20.5, True), (20.75, False), (15.0, True), (None, False)]
)
def test_half_a_metre_beside_the_band_counts_as_in_it(two_rods: Spread, depth_m: float | None, in_band: bool) -> None:
    import sternwatch.watch.planner.plan as plan_module

    rod = two_rods.rods[0]
    found: Any = SimpleNamespace(
        choices={rod.key: SimpleNamespace(now=RodNow(30.0, "low"))}, wanted=Wanted(10.0, 20.0, 1.0, (rod.key,)),
        reaches=[SimpleNamespace(key=rod.key, present_m=36.0, why="")],
    )  # fmt: skip
    answer: Any = SimpleNamespace(depth_m=depth_m, depth_quantiles_m=None, astern_m=None, abeam_m=None)
    made = plan_module._rod(two_rods, rod, found, {}, answer)
    assert (made.in_band, made.setting, made.line_out_m) == (in_band, "low", 30.0)


def test_line_is_planned_for_the_median_depth_where_a_depth_was_chosen(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread
) -> None:
    import sternwatch.watch.planner.plan as plan_module

    asked: list[tuple[str, float]] = []

    def line(_: object, rod: Any, depth_m: float, *__: object, **___: object) -> Any:
        asked.append((rod.key, depth_m))
        return SimpleNamespace(line_out_as_counter_m=None if depth_m > 30.0 else 2.0 * depth_m)

    monkeypatch.setattr(plan_module, "believed_line", line)
    as_tried = Choice("1", RodNow(11.0), 0, 12.0)

    def planned(choice: Choice, key: str = "1") -> float | None:
        nothing: Any = None
        found = Found(Wanted(10.0, 20.0, 1.0, ("1",)), {key: choice}, (), nothing, nothing, 1, 1)
        return plan_module._by_median(two_rods, found, None).choices[key].now.line_out_as_counter_m

    assert planned(as_tried) == 24.0
    assert planned(replace(as_tried, depth_m=31.0)) == 11.0, "no line gives it"
    assert asked == [("1", 12.0), ("1", 31.0)]
    assert planned(replace(as_tried, level=None)) == 11.0
    assert planned(as_tried, "9") == 11.0
    assert len(asked) == 2


def test_a_plan_tells_what_crosses_too_often_and_how_uneven_it_is(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread
) -> None:
    """A share of members that is just allowed is not told; a rod whose depth was not chosen makes nothing uneven."""
    import sternwatch.watch.planner.plan as plan_module

    wanted = Wanted(10.0, 20.0, 1.0, ("1", "2"))
    choices = {"1": Choice("1", RodNow(30.0), 0, 12.0), "2": Choice("2", RodNow(20.0), 1, 18.0),
               "3": Choice("3", RodNow(20.0), None, 55.0)}  # fmt: skip
    pairs = {("1", "2"): plan_module.MOST_SHARE, ("1", "3"): 0.3, ("2", "3"): 0.6}
    verdict: Any = SimpleNamespace(pairs=pairs, any_crossing=0.7)
    nothing: Any = None
    found = Found(wanted, choices, (), verdict, nothing, 5, 2)
    monkeypatch.setattr(plan_module, "Planner", lambda *_, **__: SimpleNamespace(best=lambda: found))
    monkeypatch.setattr(plan_module, "_let_out", lambda *_: (None, LetOut((), (), 0.0)))
    monkeypatch.setattr(plan_module, "_by_median", lambda _, of, __: of)
    monkeypatch.setattr(plan_module, "_rod", lambda *_: ROD)
    monkeypatch.setattr(plan_module, "_drawn", lambda _: None)
    monkeypatch.setattr(plan_module, "believed_answer", lambda *_, **__: SimpleNamespace(rods=()))
    monkeypatch.setattr(plan_module, "slower_turn_s", lambda *asked: 2.0 * asked[3])
    made = plan_module.make_plan(two_rods, wanted, u_turn_s=60.0)
    assert made.crossing == ((("2", "3"), 0.6), (("1", "3"), 0.3))
    assert made.slower_s == 120.0
    assert made.unevenness_m == plan_module.unevenness_m(wanted, [12.0, 18.0])
    assert made.unevenness_m != plan_module.unevenness_m(wanted, [12.0, 18.0, 55.0])
    pairs.pop(("2", "3")), pairs.pop(("1", "3"))
    alone = plan_module.make_plan(two_rods, wanted, u_turn_s=60.0)
    assert (alone.crossing, alone.slower_s) == ((), None)


def test_what_is_drawn_of_a_plan_is_every_line_once_it_is_out() -> None:
    import sternwatch.watch.planner.plan as plan_module

    shape = np.array([[[0.0, 1.0, 0.0], [-1.0, 1.0, 1.0]], [[0.0, 2.0, 0.0], [-8.0, 3.0, 5.0]]])
    out: Any = SimpleNamespace(goings={"1": SimpleNamespace(shape_m=shape)})
    drawn = plan_module._drawn(out)
    assert drawn.worst_shapes_m["1"].tolist() == [[0.0, 2.0, 0.0], [8.0, 3.0, 5.0]], "astern, abeam, depth"
    assert (drawn.members, drawn.ends_s, drawn.horizon_s) == (1, 0.0, 0.0), "one chain each, at one moment"
    assert (drawn.time_s.shape, drawn.track_m.shape) == ((0,), (0, 3)), "nobody moves"
