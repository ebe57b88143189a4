"""The search alone, over costs that are made here: what a move changes, where it ends, and what a way costs."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterable, Sequence
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.reach import Choice, Reach, Wanted
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.separation.verdicts import Verdict as Met
from sternwatch.watch.planner import search as module
from sternwatch.watch.planner import trial
from sternwatch.watch.planner.search import (
    Planner,
    Score,
    _even_by_inverse,
    _rounds,
    _Search,
    score_of,
    slower_turn_s,
)
from sternwatch.watch.planner.trial import Verdict, _cost, judge, manoeuvres

# As agreed: a change of one is to be noticed.
CROSSES = 10.0
RESOLVE = 2.5

CLEAR = Met.CLEAR_OF_EACH_OTHER
WANTED = Wanted(10.0, 20.0, 1.0, ("1", "2", "3"))


class Trial:
    """Costs of pairs from a table."""

    def __init__(self, ways: Sequence[Choice], seed: int, broken: Iterable[int] = ()) -> None:
        rng = random.Random(seed)
        self.ways, self.broken, self.seen = tuple(ways), set(broken), set[tuple[int, int]]()
        self.alone = 0  # pairs asked for one by one, which would take minutes
        self.table = {pair: rng.choice((0.0, 0.3, 2.0, 11.0)) for pair in itertools.combinations(range(len(ways)), 2)}

    def look(self, pairs: Iterable[tuple[int, int]]) -> None:
        self.seen |= {(min(pair), max(pair)) for pair in pairs}

    def cost(self, a: int, b: int) -> float:
        self.alone += (min(a, b), max(a, b)) not in self.seen
        return self.table[min(a, b), max(a, b)]

    def works(self, way: int) -> bool:
        return way not in self.broken


def searching(two_rods: Spread, seed: int, levels: int = 3, broken: Iterable[int] = ()) -> _Search:
    """Three rods with two or three ways at each of three depths."""
    rng = random.Random(seed)
    own = [
        Reach(key, tuple(
            Choice(key, RodNow(rng.uniform(20.0, 80.0), rng.choice((None, "low", "high"))), level, 10.0 + 5.0 * level)
            for level in range(3) for _ in range(rng.choice((2, 3)))
        ), False)
        for key in "123"
    ]  # fmt: skip
    ways = [choice for reach in own for choice in reach.choices]
    return _Search(two_rods, WANTED, Trial(ways, seed, broken), own, levels, {})  # type: ignore[arg-type]


def neighbours(search: _Search, at: dict[str, int]) -> list[dict[str, int]]:
    """One rod in any other way, or two that exchange their depths."""
    ways, found = search._trial.ways, []
    for there in map(dict, itertools.product(*([(key, n) for n in search._of[key]] for key in at))):
        moved = [key for key in at if there[key] != at[key]]
        levels = [[ways[one[key]].level for key in moved] for one in (at, there)]
        if len(moved) == 1 or (len(moved) == 2 and levels[0] == levels[1][::-1] and levels[0][0] != levels[0][1]):
            found.append(there)
    return found


@pytest.mark.parametrize("seed", range(6))
def test_a_move_costs_what_the_whole_then_costs_more(two_rods: Spread, seed: int) -> None:
    search = searching(two_rods, seed)
    here = {key: numbers[seed % 3] for key, numbers in search._of.items()}
    moves = list(search._moves(here))
    search.cost(here)
    for move in moves:
        there = {**here, **move}
        whole = search.cost(there) - search.cost(here)
        assert search._change(here, move) == pytest.approx(whole, abs=1e-9)
    assert sorted(tuple({**here, **move}.values()) for move in moves) == sorted(
        tuple(there.values()) for there in neighbours(search, here)
    ), "every neighbour once"


@pytest.mark.parametrize("seed", range(6))
def test_it_ends_where_no_neighbour_is_better(two_rods: Spread, seed: int) -> None:
    search = searching(two_rods, seed)
    begun = {key: numbers[0] for key, numbers in search._of.items()}
    search.cost(begun)
    end = search.improved(begun)
    assert search._trial.alone == 0  # type: ignore[attr-defined]
    assert search.cost(end) <= search.cost(begun)
    assert search.cost(end) <= min(map(search.cost, neighbours(search, end))) + 1e-9
    step = search._best_step(begun)
    assert step is not None
    assert search.cost(step[1]) == pytest.approx(min(map(search.cost, neighbours(search, begun))))


def test_a_spread_without_a_choice_stays(two_rods: Spread) -> None:
    own = [Reach("1", (Choice("1", RodNow(30.0), 0, 15.0),), False)]
    search = _Search(two_rods, WANTED, Trial(own[0].choices, 0), own, 1, {})  # type: ignore[arg-type]
    assert search._best_step({"1": 0}) is None
    assert search.improved({"1": 0}) == {"1": 0}
    assert search.numbers({"1": own[0].choices[0]}) == {"1": 0}


def test_what_a_way_costs_by_itself(two_rods: Spread) -> None:
    """0.05 a hundred metres of line, 1 for ten metres outside the band, 0.02 for another setting than now, 0.05 for
    line wound where that changes no depth, and out of the question where its chain is not known."""
    ways = (
        Choice("1", RodNow(50.0, "high"), 0, 15.0), Choice("1", RodNow(50.0, "low"), 0, 15.0),
        Choice("1", RodNow(50.0), 0, 25.0), Choice("1", RodNow(50.0), 0, 4.0), Choice("1", RodNow(), 0, math.nan),
        Choice("2", RodNow(60.0), None, 15.0), Choice("2", RodNow(50.0), None, 15.0), Choice("1", RodNow(), 0, 15.0),
    )  # fmt: skip
    own = [Reach("1", (*ways[:5], ways[7]), False, present_m=40.0), Reach("2", ways[5:7], True, present_m=60.0)]
    search = _Search(two_rods, WANTED, Trial(ways, 0, broken=[7]), own, 1, {})  # type: ignore[arg-type]
    assert search._alone == pytest.approx([0.025, 0.045, 0.525, 0.625, 0.0, 0.03, 0.075, 1000.0])
    assert [search.setting_now(key) for key in "129"] == ["high", None, None]
    other = _Search(two_rods, WANTED, Trial(ways, 0), own, 1, {"1": RodNow(setting="low")})  # type: ignore[arg-type]
    assert other._alone[:2] == pytest.approx([0.045, 0.025])


def test_a_level_that_no_rod_takes_costs_five(two_rods: Spread) -> None:
    search = searching(two_rods, 1)
    ways = search._trial.ways
    for at in itertools.product(*search._of.values()):
        taken = len({ways[n].level for n in at})
        assert search._crowding(dict(zip("123", at, strict=True))) == 5.0 * (3 - taken)


def test_even_by_inverse_takes_levels_in_file_order_at_the_settings_as_they_are(two_rods: Spread) -> None:
    search = searching(two_rods, 2)
    able = list(search._reach.values())
    alone = Choice("9", RodNow(), None, 5.0)
    made = _even_by_inverse(search, able, {})
    assert made is not None
    for level, reach in enumerate(able):
        chosen = search._trial.ways[made[reach.key]]
        mine = [c for c in reach.choices if c.now.setting == search.setting_now(reach.key)] or reach.choices
        assert chosen in mine
        assert abs((chosen.level or 0) - level) == min(abs((c.level or 0) - level) for c in mine)
    assert _even_by_inverse(search, [], {}) is None
    assert alone.level is None


def test_rounds_end_where_the_best_way_was_asked_before() -> None:
    """Each round begins from the result of the one before and from the first beginning."""
    better = iter([({"1": 5}, {"1": 7}), ({"1": 8}, {"1": 3}), ({"1": 3}, {"1": 9})])
    pairs: list[dict[str, int]] = []

    def improved(_start: dict[str, int]) -> dict[str, int]:
        if not pairs:
            pairs.extend(next(better))
        return pairs.pop(0)

    looking: Any = SimpleNamespace(improved=improved, cost=lambda at: at["1"])
    assert [at["1"] for at in _rounds(looking, {"1": 6}, {"1": 0})] == [6, 5, 3]


def choice(depth_m: float, out_m: float | None = 30.0, level: int | None = 0) -> Choice:
    return Choice("1", RodNow(out_m), level, depth_m)


def judged(**shares: float) -> Any:
    return SimpleNamespace(pairs={tuple(key): share for key, share in shares.items()})


def test_a_score_by_hand() -> None:
    verdict = judged(ab=1.0 / 16.0, ac=2.0 / 16.0, bc=0.5)
    score = score_of(
        WANTED, verdict, [choice(12.0), choice(20.0), choice(4.0, None, None), choice(math.nan, 5.0, None)]
    )
    assert score == Score(2, 0.625, 6.0, pytest.approx(math.sqrt(2.0)), 0.6875, 65.0)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        ({}, {"crossing": 1}), ({"risk": 0.1}, {"risk": 0.1011}), ({"off_m": 0.0}, {"off_m": 0.05}),
        ({"uneven_m": 0.0}, {"uneven_m": 0.05}), ({"slight": 0.0}, {"slight": 0.001}),
        ({"line_m": 1.0}, {"line_m": 2.0}),
        ({"risk": 0.0, "off_m": 99.0}, {"risk": 0.5}), ({"off_m": 0.0, "uneven_m": 9.0}, {"off_m": 1.0}),
        ({"uneven_m": 0.0, "slight": 9.0}, {"uneven_m": 1.0}), ({"line_m": 900.0}, {"slight": 0.1}),
    ],
)  # fmt: skip
def test_scores_compare_in_order(better: dict[str, float], worse: dict[str, float]) -> None:
    none = Score(0, 0.0, 0.0, 0.0, 0.0, 0.0)
    assert replace(none, **better).rank < replace(none, **worse).rank  # type: ignore[arg-type]


def test_scores_that_hardly_differ_are_one() -> None:
    """A twentieth of a metre and a thousandth of a share: less is in no boat's hands."""
    none = Score(0, 0.0, 0.0, 0.0, 0.0, 0.0)
    assert replace(none, risk=0.0004, off_m=0.02, uneven_m=0.02, slight=0.0004).rank == none.rank
    assert replace(none, off_m=0.03).rank[2] == 0.05


@pytest.mark.parametrize(
    ("ratio", "verdict", "cost"),
    [
        (RESOLVE, CLEAR, 0.0), (9.0, CLEAR, 0.0), (1.0, CLEAR, 1.0), (1.75, Met.NEAR_PASS, 0.25),
        (0.25, Met.NEAR_PASS, 2.25), (1.0, Met.TOUCH, CROSSES), (5.0, Met.TOUCH, CROSSES), (0.0, Met.TOUCH, 20.0),
        (0.5, Met.TOUCH, 15.0), (0.5, Met.WRAPPED, 20.0),
    ],
)  # fmt: skip
def test_what_a_pair_costs(ratio: float, verdict: Met, cost: float) -> None:
    assert _cost(ratio, verdict) == pytest.approx(cost)


def test_a_plan_is_tried_in_a_half_circle_to_each_side_or_straight_on() -> None:
    (straight,) = manoeuvres(None)
    assert straight.turn_rad == 0.0
    turns = manoeuvres(90.0)
    assert [turn.turn_rad for turn in turns] == pytest.approx([-math.pi, math.pi])
    assert [turn.rate_rad_s for turn in turns] == pytest.approx([math.pi / 90.0] * 2)


def test_the_most_over_the_manoeuvres_counts() -> None:
    def made(any_crossing: float | None, **pairs: float | None) -> Any:
        of = [SimpleNamespace(keys=tuple(key), known_probability=share or 0.0) for key, share in pairs.items()]
        return SimpleNamespace(known_crossing=any_crossing or 0.0, pairs=of)

    both = Verdict((made(0.2, ab=0.1, ac=None), made(0.1, ab=0.3, ac=0.0), made(None)))
    assert both.any_crossing == 0.2
    assert both.pairs == {("a", "b"): 0.3, ("a", "c"): 0.0}
    assert Verdict(()).any_crossing == 0.0


@pytest.mark.parametrize(
    ("clear_from_s", "said_s"), [(0.0, 90.0), (91.0, 120.0), (121.0, 240.0), (241.0, None)]
)  # fmt: skip
def test_a_slower_turn_is_said_where_one_helps(
    two_rods: Spread, monkeypatch: pytest.MonkeyPatch, clear_from_s: float, said_s: float | None
) -> None:
    """Of 60 s: half as long again, twice, four times, in whole half minutes."""

    def judge(_spread: object, _rods: object, _wanted: object, seconds: float, _draws: object) -> Any:
        return judged(ab=0.1 if seconds >= clear_from_s else 0.101)

    monkeypatch.setattr(module, "judge", judge)
    found: Any = SimpleNamespace(choices={})
    assert slower_turn_s(two_rods, found, WANTED, 60.0) == said_s
    monkeypatch.setattr(module, "judge", lambda *given: judged(ab=float(given[3] != 60.0)))
    assert slower_turn_s(two_rods, found, WANTED, 31.0) == 60.0, "46.5 s are a minute"


class Made(Planner):
    """A planner whose ways are numbers and whose members say what they are told to say."""

    def __init__(self, *said: int) -> None:
        self._said, self.asked, self.blamed = said, [], []  # type: ignore[var-annotated]
        self._wanted, self._able, self._alone, self._judged = WANTED, [], {}, {}
        self._reaches = (Reach("2", tuple(choice(n) for n in range(20)), False), Reach("3", (choice(99.0),), False))
        self._trial: Any = SimpleNamespace(ways=self._reaches[0].choices)
        self._looking: Any = SimpleNamespace(improved=lambda at: at, cost=lambda at: at["2"])
        self._starts = [{"2": 4}, {"2": 0}, {"2": 2}]

    def _look(self, at: Any) -> tuple[Any, Score]:
        self.asked.append(at["2"])
        pairs = self._said[len(self.asked) - 1]
        return judged(**({"23": 0.25, "24": 0.0} if pairs else {})), Score(pairs, 0.0, 0.0, 0.0, 0.0, 0.0)

    def _blame(self, _: object, pair: tuple[str, str], cost: float) -> None:
        self.blamed.append((pair, cost))


@pytest.mark.parametrize(
    ("said", "rounds"),
    [([0] * 9, 1), ([1] * 9, 4), ([9, 8, 7, 6, 5, 4, 3, 2], 6), ([9, 8, 8, 8, 8, 7], 5), ([9, 0, 9], 2)],
)
def test_rounds_go_on_until_nothing_crosses_and_end_when_nothing_better_comes(
    monkeypatch: pytest.MonkeyPatch, said: list[int], rounds: int
) -> None:
    """After three rounds that bring nothing better it is enough, and after six in all."""
    made = Made(*said)
    monkeypatch.setattr(module, "_rounds", lambda *_: iter([{"2": n} for n in range(20)]))
    monkeypatch.setattr(module, "_even_by_inverse", lambda *_: None)
    found = made.best()
    assert found.rounds == rounds
    assert made.asked == list(range(rounds))
    assert found.score.crossing == min(said[:rounds])
    assert made.blamed == [(("2", "3"), 2.5)] * (rounds - 1)
    assert found.ways == 20
    assert [one.depth_m for one in found.choices.values()] == [said.index(min(said[:rounds])), 99.0]


@pytest.mark.parametrize(("even", "chosen"), [(1, 9.0), (3, 0.0), (5, 0.0)])
def test_even_spacing_by_inverse_is_taken_where_it_is_better(
    monkeypatch: pytest.MonkeyPatch, even: int, chosen: float
) -> None:
    made = Made(3, 3, 3, 3, even)
    monkeypatch.setattr(module, "_rounds", lambda _, at, other: iter([at, other] * 9))
    monkeypatch.setattr(module, "_even_by_inverse", lambda *_: {"2": 9})
    found = made.best()
    assert made.asked == [0, 0, 0, 0, 9], "from the cheapest of the beginnings"
    assert found.choices["2"].depth_m == chosen


def test_a_way_without_crossings_may_still_be_made_more_even(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where it lies outside the band, is uneven, or some members cross in it; more line alone makes no way worse."""
    monkeypatch.setattr(module, "_rounds", lambda *_: iter([{"2": 0}]))
    monkeypatch.setattr(module, "_even_by_inverse", lambda *_: {"2": 9})
    for score, tried in (
        (Score(0, 0.1, 0.0, 0.0, 0.0, 0.0), True), (Score(0, 0.0, 0.5, 0.0, 0.0, 0.0), True),
        (Score(0, 0.0, 0.0, 0.5, 0.0, 0.0), True), (Score(0, 0.0, 0.0, 0.0, 0.5, 0.0), False),
        (Score(0, 0.0, 0.0, 0.0, 0.0, 50.0), False),
    ):  # fmt: skip
        made = Made(0, 0)
        monkeypatch.setattr(made, "_look", lambda at, made=made, score=score: (
            made.asked.append(at["2"]), (judged(), score)
        )[1])  # fmt: skip
        made.best()
        assert made.asked == ([0, 9] if tried else [0])


def test_nothing_is_better_than_a_perfect_way(monkeypatch: pytest.MonkeyPatch) -> None:
    made = Made(0)
    monkeypatch.setattr(module, "_rounds", lambda *_: iter([{"2": 0}]))
    monkeypatch.setattr(module, "_even_by_inverse", lambda *_: {"2": 9})
    assert made.best().choices["2"].depth_m == 0.0
    assert made.asked == [0]


def test_blame_adds_to_what_two_ways_cost() -> None:
    from sternwatch.watch.planner.trial import Trial as Real

    trial = Real.__new__(Real)
    trial._costs = {(1, 2): 3.0}
    trial.blame(2, 1, 2.5)
    assert trial.cost(1, 2) == trial.cost(2, 1) == 5.5


@pytest.mark.parametrize(
    ("pair", "blamed"),
    [(("1", "2"), [(4, 7, 2.5)]), (("5", "2"), [(4, 7, 2.5)]), (("2", "5"), [(7, 4, 2.5)]), (("1", "5"), []),
     (("9", "2"), []), (("2", "9"), []), (("6", "2"), [])],
)  # fmt: skip
def test_a_clipped_rods_crossing_counts_against_its_carrier(pair: tuple[str, str], blamed: list[Any]) -> None:
    """Rod 5 hangs on 1, and 6 on 9, which is not planned. Two on one cable cannot be told apart."""
    planner, told = Planner.__new__(Planner), []  # type: ignore[var-annotated]
    planner._carriers = {"5": "1", "6": "9"}
    planner._trial = SimpleNamespace(blame=lambda *given: told.append(given))  # type: ignore[assignment]
    planner._blame({"1": 4, "2": 7}, pair, 2.5)
    assert told == blamed


def test_each_way_is_a_rod_of_one_spread_with_what_hangs_on_it(stacked: Spread) -> None:
    from sternwatch.watch.planner.trial import _as_one_spread

    ways = (Choice("4", RodNow(10.0), 0, 9.0), Choice("4", RodNow(20.0), 1, 18.0))
    made, now, own = _as_one_spread(stacked, ways, {"5": RodNow(3.0)})
    assert own == [["4 0", "5 0"], ["4 1", "5 1"]]
    assert [rod.clipped_to and rod.clipped_to.rod for rod in made.rods] == [None, "4 0", None, "4 1"]
    assert [now[key].line_out_as_counter_m for key in ("4 0", "5 0", "4 1", "5 1")] == [10.0, 3.0, 20.0, 3.0]
    alone, _, own = _as_one_spread(stacked, ways, {})
    assert own == [["4 0"], ["4 1"]], "what is not fished is left out"
    assert [rod.clipped_to for rod in alone.rods] == [None, None]
    other = (Choice("5", RodNow(1.0), 0, 9.0),)
    assert _as_one_spread(stacked, other, {"5": RodNow(3.0)})[2] == [["5 0"]]


def test_without_a_heading_a_current_is_that_of_a_course_to_the_north(two_rods: Spread) -> None:
    from sternwatch.gear.spread_file.load import parse_spread
    from sternwatch.watch.planner.trial import flow_of
    from watch.conftest import TWO_RODS

    still = '{ depth = "0 m", speed = "0 m/s", towards = "0 deg" }'
    below = '{ depth = "9 m", speed = "0.2 m/s", towards = "90 deg" }'
    flowing = parse_spread(f"[water]\ncurrent = [{still}, {below}]\n{TWO_RODS}")
    assert flow_of(flowing, None).velocity_m_s[-1] == pytest.approx([0.0, 0.2])
    assert flow_of(flowing, math.pi / 2.0).velocity_m_s[-1] == pytest.approx([0.2, 0.0])
    assert len(flow_of(two_rods, None).depths_m) == 0


@pytest.mark.parametrize(
    ("turn", "straight", "cost"),
    [
        (CLEAR, CLEAR, 2.0), (Met.NEAR_PASS, CLEAR, 2.0), (CLEAR, Met.NEAR_PASS, 11.0), (Met.TOUCH, CLEAR, 11.0),
        (Met.TOUCH, Met.NEAR_PASS, 20.0), (Met.WRAPPED, Met.WRAPPED, 40.0),
    ],
)  # fmt: skip
def test_lines_too_near_in_a_straight_tow_stay_so_all_day_and_count_as_crossing(
    monkeypatch: pytest.MonkeyPatch, turn: Met, straight: Met, cost: float
) -> None:
    """Both at the required distance: one of each costs a near pass, ten of each a touch."""
    import numpy as np

    from sternwatch.watch.planner import trial as trial_module

    asked: list[list[list[int]]] = []

    def closest(
        _lines: object, times: float, _strands: object, _required: object, *, pairs: Any, resolve: float
    ) -> Any:
        assert resolve == 2.5
        asked.append(pairs.tolist())
        count = len(pairs)
        verdict = straight if times < 0.0 else turn
        # Of the polylines of a pair the worst counts.
        ratios = [3.0] * (count - 1) + [1.0]
        verdicts = [CLEAR] * (count - 1) + [verdict]
        return SimpleNamespace(ratio=np.array([ratios]), verdict=np.array([[int(one) for one in verdicts]]))

    monkeypatch.setattr(trial_module, "closest", closest)
    monkeypatch.setattr(trial_module, "_some", lambda _, rows: rows)
    made = trial_module.Trial.__new__(trial_module.Trial)
    lines = np.zeros((2, 9, 4, 3))
    made._tows = [trial_module._Tow(lines, 1.0), trial_module._Tow(lines, -1.0)]  # type: ignore[arg-type]
    made._rows, made._costs = [[4], [2, 7], []], {}
    made._strands, made._required = None, None  # type: ignore[assignment]
    made.look([(1, 0), (0, 2)])
    assert made.cost(0, 1) == pytest.approx(cost)
    assert made.cost(2, 0) == 0.0, "nothing of it is in the water"
    assert asked == [[[1, 0], [1, 2]]] * 2
    made.look([(0, 1)])
    assert len(asked) == 2, "computed once"


@pytest.mark.parametrize("dealt", [False, True])
def test_without_members_the_nominal_lines_are_judged(monkeypatch: pytest.MonkeyPatch, dealt: bool) -> None:
    """Every manoeuvre of one fleet, at the speed that is wanted."""
    for name in ("flow_of", "water_of", "required_of", "cast_of"):
        monkeypatch.setattr(trial, name, lambda *_, name=name, **__: name)
    monkeypatch.setattr(trial, "settled", lambda cast, **told: ("nominal", cast, told["speed_m_s"]))
    monkeypatch.setattr(trial, "settled_members", lambda *_, **told: ("members", told["water"], told["speed_m_s"]))
    monkeypatch.setattr(trial, "forecast", lambda fleet, manoeuvre, **_: (*fleet, manoeuvre))
    draws: Any = object() if dealt else None
    made: Any = judge(None, {}, replace(WANTED, speed_m_s=1.3), 60.0, draws).forecasts  # type: ignore[arg-type]
    fleet = ("members", "water_of", 1.3) if dealt else ("nominal", "cast_of", 1.3)
    assert made == tuple((*fleet, one) for one in manoeuvres(60.0))
    assert len(made) == 2
