"""The search for a pass with ratings that are made here, and when a pass beside a session is planned anew."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.plan import Cannot
from sternwatch.watch.again.steering import Steering
from sternwatch.watch.whole_pass import plan as module
from sternwatch.watch.whole_pass.following import Passing, _Answer
from sternwatch.watch.whole_pass.plan import (
    WholePass,
    _Alone,
    _best_of,
    _changed,
    _confirmed,
    _searched,
    confirm,
    propose,
)
from sternwatch.watch.whole_pass.wish import Wish
from sternwatch.watch.whole_pass.words import in_words, row, wish_in_words
from sternwatch.watch.whole_pass.worth import LEVELS, Lying

METRIC = SYSTEMS["metric"]
WISH = Wish(depth_m=(10.0, 20.0), lasts_s=600.0, risk=0.1)
WAY = (Leg(100.0), Leg(60.0, 1.0), Leg(440.0))
PATH: Any = SimpleNamespace(
    time_s=np.array([0.0, 600.0]), speed_m_s=np.array([1.0, 1.0]), heading_rad=np.array([0.0, 1.0])
)


def asked(members: int = 16, rods: int = 2, **more: Any) -> Any:
    cast = SimpleNamespace(keys=tuple("1234567890"[:rods]), members=members)
    given = {
        "wish": WISH, "fleet": SimpleNamespace(cast=cast), "speed_m_s": 1.0, "radius": lambda _: 60.0,
        "floor": SimpleNamespace(known=1.0), "in_zone": None, **more,
    }  # fmt: skip
    return SimpleNamespace(**given)


def run(worth: float, risk: float | None = 0.0, legs: tuple[Leg, ...] = WAY, members: int = 4, **more: Any) -> Any:
    """As a fleet ran it."""
    wanted = np.linspace(worth - 30.0, worth + 30.0, members)
    given = {
        "legs": legs, "worth": worth, "wanted_s": wanted, "path": PATH, "over_ground_m": np.zeros((2, 2)),
        "by_rod_s": np.stack([0.75 * wanted, 0.25 * wanted], axis=1), "on_bottom_s": np.zeros((members, 2)),
        "risk": None, **more,
    }  # fmt: skip
    if risk is not None:
        given["risk"] = SimpleNamespace(any=risk, members=members, worst=("1", "2") if risk else None)
    return SimpleNamespace(**given)


def test_crossing_is_asked_of_the_best_three_and_those_that_may_join_them(monkeypatch: pytest.MonkeyPatch) -> None:
    beyond: list[float] = []
    worths = iter([10.0, 30.0, None, 20.0, 25.0, 5.0])

    def rated(*_: object, beyond: float, around_m: object, seen: list[float] = beyond) -> Any:
        seen.append(beyond)
        assert around_m == "around"
        worth = next(worths)
        return None if worth is None else run(worth)

    monkeypatch.setattr(module, "rated", rated)
    alone = _Alone(asked(), None, "around")  # type: ignore[arg-type]
    for _ in range(6):
        alone.rated(WAY)
    assert beyond == [-math.inf, -math.inf, -math.inf, -math.inf, 10.0, 20.0]


@pytest.mark.parametrize(
    ("rods", "lasts_s", "soon", "runs"),
    [
        (2, 600.0, False, 60),
        (2, 600.0, True, 8),
        (10, 600.0, False, 30),
        (10, 2400.0, False, 8),
        (10, 900.0, False, 20),
    ],
)
def test_as_many_ways_are_run_as_take_a_core_half_a_second(rods: int, lasts_s: float, soon: bool, runs: int) -> None:
    """The first four in ten are the beginnings, in their order; then changes of the best."""
    one = asked(rods=rods, wish=replace(WISH, lasts_s=lasts_s))
    begins = np.zeros((99, 6))
    begins[:, 0] = np.arange(99.0)
    seen: list[float] = []

    def rated(legs: tuple[Leg, ...]) -> Any:
        seen.append(legs[0].length_m)
        return run(100.0 - len(seen), legs=legs)

    begins[:, 1] = 1.0
    alone: Any = SimpleNamespace(asked=one, rated=rated)
    done = list(_searched(alone, begins, None, np.random.default_rng(1), soon=soon))
    first = max(round(0.4 * runs), 2)
    assert len(done) == runs
    assert seen[1:first] == [float(k) for k in range(1, first)]
    assert len(list(_searched(alone, begins[:1], None, np.random.default_rng(1), soon=True))) == 8
    blocked: Any = SimpleNamespace(asked=one, rated=lambda _: None)
    assert list(_searched(blocked, begins, None, np.random.default_rng(1), soon=True)) == []


def test_the_best_of_two_lots_without_duplicates(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "KEPT_WAYS", 3)
    ways, worths = np.array([[1.0, 0.0], [2.0, 0.0]]), np.array([5.0, 1.0])
    more, their = np.array([[3.0, 0.0], [1.0, 0.0], [4.0, 0.0]]), np.array([9.0, 5.0, 3.0])
    best, of = _best_of(ways, worths, more, their)
    assert best[:, 0].tolist() == [3.0, 1.0, 4.0]
    assert of.tolist() == [9.0, 5.0, 3.0]


def test_of_many_ways_two_dozen_are_kept() -> None:
    ways, worths = np.arange(80.0).reshape(40, 2), np.arange(40.0)
    best, of = _best_of(ways[:20], worths[:20], ways[20:], worths[20:])
    assert of.tolist() == list(range(39, 15, -1))
    assert best[:, 0].tolist() == [2.0 * worth for worth in of]


def test_a_change_is_of_one_number_or_of_a_turn_and_its_opposite() -> None:
    """Half of them leave the course at the end as it was; nothing else of the way is touched."""
    way = np.array([[100.0, 0.5, 80.0, -0.4, 60.0, 0.3]])
    made = _changed(way, np.tile([10.0, 0.1], 3), np.random.default_rng(3), 4000) - way
    assert np.array_equal(way, [[100.0, 0.5, 80.0, -0.4, 60.0, 0.3]])
    straights, turns = np.abs(made[:, 0::2]) > 0.0, np.abs(made[:, 1::2]) > 0.0
    kinds = np.stack([straights.sum(axis=1), turns.sum(axis=1)], axis=1)
    found, counts = np.unique(kinds, axis=0, return_counts=True)
    assert found.tolist() == [[0, 1], [0, 2], [1, 0], [1, 2]]
    assert counts == pytest.approx([1000] * 4, abs=120)
    both = turns.sum(axis=1) == 2
    assert made[both, 1::2].sum(axis=1) == pytest.approx(0.0, abs=1e-12)
    at = np.argmax(straights[both & (straights.sum(axis=1) == 1)], axis=1)
    assert set(at) == {0, 1, 2}
    assert np.std(made[:, 0::2][straights]) == pytest.approx(0.35 * 10.0, rel=0.05)
    assert np.std(made[:, 1::2][turns]) == pytest.approx(0.35 * 0.1, rel=0.05)


@pytest.mark.parametrize(
    ("risks", "on_risk", "asked_for", "chosen"),
    [
        ((0.1, 0.0, 0.0), 0.0, ["a", "on"], 300.0), ((0.11, 0.0, 0.0), 0.0, ["a", "b", "on"], 250.0),
        ((0.2, 0.3, 0.0), 0.0, ["a", "b", "on"], 50.0), ((0.2, 0.3, 0.0), 0.2, ["a", "b", "on"], 300.0),
        ((0.3, 0.2, 0.0), 0.25, ["a", "b", "on"], 250.0), ((0.3, 0.2, 0.0), 0.15, ["a", "b", "on"], 50.0),
        ((None, 0.0, 0.0), 0.0, ["a", "b", "on"], 250.0),
    ],
)  # fmt: skip
def test_the_best_within_the_risk_of_all_members(
    monkeypatch: pytest.MonkeyPatch, risks: tuple[Any, ...], on_risk: float, asked_for: list[str], chosen: float
) -> None:
    """Two are asked; straight on in any case. Where none keeps the risk, the one with the least is taken."""
    ways = {"a": (Leg(1.0),), "b": (Leg(2.0),), "c": (Leg(3.0),), "on": (Leg(600.0),)}
    worths = {"a": 300.0, "b": 250.0, "c": 240.0, "on": 50.0}
    seen: list[str] = []

    def rated(_asked: object, _fleet: object, legs: tuple[Leg, ...]) -> Any:
        name = next(name for name, way in ways.items() if way == legs)
        seen.append(name)
        risk = on_risk if name == "on" else risks["abc".index(name)]
        return run(worths[name], risk, legs)

    monkeypatch.setattr(module, "rated", rated)
    fleet: Any = SimpleNamespace(cast=SimpleNamespace(keys=("1", "2"), members=4))
    made = _confirmed(asked(), fleet, [run(worths[n], legs=ways[n]) for n in "abc"], ways["on"])
    assert seen == asked_for
    assert made.wanted_s == chosen
    assert made.straight_on_s == 50.0
    assert made.provisional
    assert made.within_risk is (made.risk <= 0.1)


def test_straight_on_is_taken_where_all_members_find_it_better_than_the_one_did(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It was said of the demo: 80 lure-minutes, straight on 85."""
    on = (Leg(600.0),)
    monkeypatch.setattr(module, "rated", lambda _asked, _fleet, legs: run(85.0 if legs == on else 80.0, legs=legs))
    fleet: Any = SimpleNamespace(cast=SimpleNamespace(keys=("1", "2"), members=4))
    made = _confirmed(asked(), fleet, [run(90.0)], on)
    assert (made.legs, made.wanted_s, made.straight_on_s) == (on, 85.0, 85.0)


@pytest.mark.parametrize(
    ("straight", "taken"),
    [({}, True), ({"on_bottom_s": 9.0}, False), ({"risk": 0.2}, False), ({"wanted_s": 79.0}, False)],
)
def test_she_is_not_sent_off_her_course_for_nothing_that_is_told(
    monkeypatch: pytest.MonkeyPatch, straight: dict[str, float], taken: bool
) -> None:
    """A way may be worth more by the mean of the members, and less by what is shown, their median."""
    on, bottom = (Leg(600.0),), np.full((4, 2), straight.get("on_bottom_s", 0.0))

    def rated(_asked: object, _fleet: object, legs: tuple[Leg, ...]) -> Any:
        if legs == on:
            one = run(straight.get("wanted_s", 81.0), straight.get("risk", 0.0), legs, on_bottom_s=bottom)
            return SimpleNamespace(**{**vars(one), "worth": 70.0})
        return SimpleNamespace(**{**vars(run(80.0, legs=legs)), "worth": 90.0})

    monkeypatch.setattr(module, "rated", rated)
    fleet: Any = SimpleNamespace(cast=SimpleNamespace(keys=("1", "2"), members=4))
    assert _confirmed(asked(4), fleet, [run(90.0)], on).legs == (on if taken else WAY)
    assert _confirmed(asked(4), fleet, [run(90.0)], on, WAY).legs == WAY  # it is being steered


def test_straight_on_runs_once_where_it_is_the_best(monkeypatch: pytest.MonkeyPatch) -> None:
    on, seen = (Leg(600.0),), []
    monkeypatch.setattr(module, "rated", lambda _asked, _fleet, legs: (seen.append(legs), run(85.0, legs=legs))[1])  # type: ignore[func-returns-value]
    fleet: Any = SimpleNamespace(cast=SimpleNamespace(keys=("1", "2"), members=4))
    made = _confirmed(asked(), fleet, [run(90.0, legs=on)], on)
    assert seen == [on]
    assert made.straight_on_s == made.wanted_s == 85.0


def test_what_a_pass_says_of_its_members(monkeypatch: pytest.MonkeyPatch) -> None:
    bottom = np.array([[6.0, 5.9], [6.0, 5.9], [np.nan, 99.0], [6.0, 0.0]])
    by_rod = np.array([[10.0, np.nan], [20.0, np.nan], [30.0, np.nan], [90.0, np.nan]])
    monkeypatch.setattr(
        module, "rated",
        lambda _asked, _fleet, legs: (
            run(300.0, 0.05, on_bottom_s=bottom, by_rod_s=by_rod) if legs == WAY else None
        ),
    )  # fmt: skip
    fleet: Any = SimpleNamespace(cast=SimpleNamespace(keys=("1", "2"), members=4))
    made = _confirmed(asked(4), fleet, [run(300.0)], (Leg(600.0),))
    assert not made.provisional
    assert made.touching == ("1",)
    assert made.by_rod_s == {"1": 25.0, "2": 0.0}
    assert made.wanted_range_s == pytest.approx((273.0, 327.0))
    assert (made.straight_on_s, made.straight_touching) == (None, ())
    assert (made.lasts_s, made.time_s, made.worst) == (600.0, 600.0, ("1", "2"))


def proposing(monkeypatch: pytest.MonkeyPatch, found: list[float], stays: float | None) -> None:
    lying: Any = SimpleNamespace(order=np.arange(16), apart_m=lambda _: None)
    alone = SimpleNamespace(
        rated=lambda legs: (None if stays is None else run(stays, legs=legs)) if legs == WAY else run(1.0)
    )
    monkeypatch.setattr(module, "lying_of", lambda _: lying)
    monkeypatch.setattr(module._Alone, "of", lambda *_: alone)
    monkeypatch.setattr(module, "trailing", lambda *_: None)
    monkeypatch.setattr(module, "_screen", lambda *_: np.zeros((3, 20)))
    monkeypatch.setattr(module, "_searched", lambda *_, **__: (run(worth, legs=(Leg(worth),)) for worth in found))
    monkeypatch.setattr(module, "members_of", lambda _, some: some)
    monkeypatch.setattr(
        module, "_confirmed",
        lambda _, fleet, tried, *_on: replace(
            pass_of(legs=tried[0].legs), wanted_s=tried[0].worth, members=len(fleet)
        ),
    )  # fmt: skip


@pytest.mark.parametrize(("high", "nowhere"), [(0.0, True), (0.5, False)])
def test_where_no_lure_ever_comes_there_no_way_is_proposed(
    monkeypatch: pytest.MonkeyPatch, high: float, nowhere: bool
) -> None:
    """It was "313° for 14:55; 0 lure-minutes ... (0 to 0), straight on 0", with a course to steer."""
    proposing(monkeypatch, [10.0], 10.0)
    monkeypatch.setattr(module, "_confirmed", lambda *_: pass_of(wanted_s=0.0, wanted_range_s=(0.0, high)))
    for made in (propose(asked(), soon=True), propose(asked()), confirm(asked(), WAY)):
        assert isinstance(made, Cannot) is nowhere
        assert not nowhere or "brings a lure there" in made.why


def pass_of(legs: tuple[Leg, ...] = WAY, **more: Any) -> WholePass:
    given: dict[str, Any] = {
        "legs": legs, "path": PATH, "over_ground_m": np.zeros((2, 2)), "wanted_s": 300.0,
        "wanted_range_s": (240.0, 360.0), "by_rod_s": {"1": 200.0, "2": 100.0}, "straight_on_s": 60.0,
        "lasts_s": 600.0,
        "risk": 0.0, "members": 16, "of_members": 16, "worst": None, "touching": (), "straight_touching": (),
        "within_risk": True, **more,
    }  # fmt: skip
    return WholePass(**given)


@pytest.mark.parametrize(
    ("found", "stays", "kept"),
    [
        ([90.0, 104.9], 100.0, True), ([90.0, 105.0], 100.0, False), ([-95.1], -100.0, True),
        ([-95.0], -100.0, False),
        ([], 5.0, True), ([7.0], None, False),
    ],
)  # fmt: skip
def test_the_way_being_steered_stays_unless_another_is_worth_a_twentieth_more(
    monkeypatch: pytest.MonkeyPatch, found: list[float], stays: float | None, kept: bool
) -> None:
    proposing(monkeypatch, found, stays)
    one = asked()
    one.fleet = range(16)
    made = propose(one, WAY)
    assert isinstance(made, WholePass)
    assert made.stays is kept
    assert made.wanted_s == (stays if kept else max(found))


def test_a_first_proposal_is_confirmed_by_four_members_from_the_middle_to_the_oddest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    proposing(monkeypatch, [5.0], None)
    chosen: list[list[int]] = []
    monkeypatch.setattr(module, "members_of", lambda _, some: (chosen.append(some), some)[1])
    one = asked()
    one.fleet = range(16)
    soon = propose(one, soon=True)
    assert isinstance(soon, WholePass)
    assert (soon.members, chosen) == (4, [[0, 4, 8, 12]])
    whole = propose(one)
    assert isinstance(whole, WholePass)
    assert (whole.members, whole.stays) == (16, False)
    proposing(monkeypatch, [], None)
    nothing = propose(one, WAY)
    assert isinstance(nothing, Cannot)
    assert "net or snag" in nothing.why


def test_what_is_not_known_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    proposing(monkeypatch, [5.0], None)
    unsounded = asked(wish=replace(WISH, over_bottom_m=(1.0, 3.0)), floor=SimpleNamespace(known=0.0))
    zoned = asked(wish=replace(WISH, zone=True))
    for one, why in ((unsounded, "No bottom is known"), (zoned, "No zone of temperatures")):
        found = propose(one)
        assert isinstance(found, Cannot)
        assert found.why.startswith(why)
    for able in (
        asked(floor=SimpleNamespace(known=0.0)),
        asked(wish=zoned.wish, in_zone=1),
        asked(wish=unsounded.wish),
    ):
        able.fleet = range(16)
        assert isinstance(propose(able), WholePass)


def test_a_way_is_confirmed_or_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    for stays in (None, 80.0):
        proposing(monkeypatch, [], stays)
        one = asked()
        one.fleet = range(16)
        made = confirm(one, WAY)
        assert isinstance(made, Cannot if stays is None else WholePass)
        if isinstance(made, WholePass):
            assert made.stays
            assert made.wanted_s == 80.0


# -- beside a session ----------------------------------------------------------------------------------------------

ON_IT = Steering(course_deg=0.0, off_m=0.0, turn_in_s=None, turn_deg=0.0, pass_in_s=500.0, sample=0)


class Clock:
    now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def passing(clock: Clock) -> Passing:
    made = Passing(clock=clock)
    made.want(WISH)
    made._asked_s, made._wall_s = 50.0, clock.now_s
    return made


def answer(passing: Passing, found: WholePass | Cannot, seconds: float = 2.0) -> None:
    passing._asked += 1
    passing._beside.made = _Answer(passing._asked, found, seconds)
    passing._take()


@pytest.mark.parametrize(("took_s", "wall_s"), [(0.0, 10.0), (5.0, 10.0), (9.0, 18.0)])
def test_a_pass_is_renewed_after_ten_seconds_of_both_clocks_at_half_a_core(
    passing: Passing, clock: Clock, took_s: float, wall_s: float
) -> None:
    answer(passing, pass_of(), took_s)
    due = []
    for wall, feed in ((wall_s, 60.0), (wall_s - 0.01, 60.0), (wall_s, 59.9)):
        clock.now_s = 1000.0 + wall
        due.append(passing._is_due(feed))
    assert due == [True, False, False]
    passing._asked += 1
    clock.now_s = 9999.0
    assert not passing._is_due(9999.0), "one is being made"


def test_a_first_look_is_confirmed_as_soon_as_half_a_core_allows(passing: Passing, clock: Clock) -> None:
    answer(passing, pass_of(members=4), 3.0)
    due = []
    for wall in (5.99, 6.0):
        clock.now_s = 1000.0 + wall
        due.append(passing._is_due(50.0))
    assert due == [False, True]


def test_its_last_two_minutes_stay_as_they_are(passing: Passing, clock: Clock) -> None:
    answer(passing, pass_of())
    clock.now_s = 5000.0
    assert passing._ends_s == 650.0
    assert [passing._is_due(t) for t in (530.0, 530.1)] == [True, False]
    answer(passing, pass_of(lasts_s=900.0))
    assert passing._ends_s == 650.0, "it ends when the first one would"


def test_an_answer_to_an_older_wish_is_not_taken(passing: Passing) -> None:
    passing._asked += 1
    passing._beside.made = _Answer(passing._asked, pass_of(), 1.0)
    passing.want(WISH)
    passing._take()
    assert passing.found is None
    assert not passing.waiting


def test_a_way_that_cannot_be_found_ends_only_one_that_is_lost(passing: Passing) -> None:
    answer(passing, Cannot("first"))
    assert passing.words(METRIC, {}) == ("PASS first", "")
    made = pass_of()
    answer(passing, made)
    passing.steering = ON_IT
    answer(passing, Cannot("later"))
    assert passing.found is made
    passing.steering = replace(ON_IT, lost=True)
    answer(passing, Cannot("later"))
    assert passing.words(METRIC, {})[0] == "PASS later"


def test_a_way_that_stays_goes_on_from_where_it_began(passing: Passing) -> None:
    first = pass_of()
    answer(passing, first)
    passing.steering = ON_IT
    newer = pass_of(legs=WAY[1:], wanted_s=200.0, stays=True)
    answer(passing, newer)
    assert isinstance(passing.found, WholePass)
    assert (passing.found.legs, passing.found.wanted_s, passing.steering) == (WAY, 200.0, ON_IT)
    assert passing._told is newer
    answer(passing, pass_of(legs=WAY[2:]))
    assert passing.found.legs == WAY[2:]
    assert passing.steering is None


def test_how_the_next_plan_is_made(passing: Passing) -> None:
    said = []
    for found, kept in (
        (None, ()),
        (Cannot("x"), WAY),
        (pass_of(members=4), WAY),
        (pass_of(members=4), ()),
        (pass_of(), WAY),
    ):
        passing.found = found
        said.append(passing._how(kept))
    assert said == ["soon", "anew", "all members", "anew", "anew"]


def test_what_is_kept_of_a_way(passing: Passing) -> None:
    """Of 600 s at 1 m/s; in its turn she is to end on the same course, however far she lags."""
    passing.found = pass_of()
    passing.steering = replace(ON_IT, pass_in_s=560.0)
    assert [leg.length_m for leg in passing._kept(0.0)] == pytest.approx([60.0, 60.0, 440.0])
    passing.steering = replace(ON_IT, pass_in_s=470.0)  # 30 of 60 m into the turn: the path is at 130 / 600 rad
    at = 130.0 / 600.0
    for heading, turn in ((at, 0.5), (at - 0.25, 0.75), (at + 0.25, 0.25)):
        kept = passing._kept(heading)
        assert kept[0].turn_rad == pytest.approx(turn)
        assert kept[0].length_m == pytest.approx(60.0 * turn)
    assert passing._kept(at + 0.5) == (Leg(440.0),)
    assert passing._kept(at + 2.0 * math.pi)[0].turn_rad == pytest.approx(0.5)
    for lost in (None, replace(ON_IT, lost=True)):
        passing.steering = lost
        assert passing._kept(0.0) == ()


def test_a_minute_after_its_end_a_pass_is_put_away(passing: Passing, monkeypatch: pytest.MonkeyPatch) -> None:
    answer(passing, pass_of())
    monkeypatch.setattr(passing, "_is_due", lambda _: False)
    place = SimpleNamespace(transom_m=None)
    for now_s, wanted in ((710.0, True), (710.1, False)):
        passing.offer(SimpleNamespace(t_s=now_s, now_s=now_s, bottom=SimpleNamespace(over=place)), None)  # type: ignore
        assert (passing.wish is not None) is wanted
    assert passing.words(METRIC, {}) == ("", "")


# -- in words ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "; lines touch in none of 16"),
        ({"worst": ("1", "2"), "risk": 0.25}, "; 1 and 2 touch in 25 %"),
        (
            {"worst": ("1", "2"), "risk": 0.25, "within_risk": False},
            "; 1 and 2 touch in 25 %, more than you allow",
        ),
        ({"members": 4}, "; lines touch in none of 4; a first look, by 4 of 16 versions"),
        ({"touching": ("1",)}, "; lines touch in none of 16; P LOW comes to the bottom"),
        ({"touching": ("1", "9")}, "; lines touch in none of 16; P LOW, 9 come to the bottom"),
        ({"straight_touching": ("1", "9")}, " with 1, 9 on the bottom; lines touch in none of 16"),
        ({"straight_on_s": None}, " she comes too near a mark; lines touch in none of 16"),
    ],
)
def test_a_pass_in_words(more: dict[str, Any], said: str) -> None:
    made = pass_of(**more)
    way = "000° for 1:40, starboard 57° in 1:00, 057° for 7:20"
    worth = "; 5 lure-minutes 10 to 20 m down in 10:00 (4 to 6), straight on" + (" 1" if made.straight_on_s else "")
    assert in_words(made, WISH, METRIC, {"1": "P LOW"}) == f"{way}{worth}{said}"
    assert in_words(made, WISH, METRIC, {"1": "P LOW"}, 3).startswith(way + ";")
    assert in_words(made, WISH, METRIC, {}, 1).startswith("000° for 1:40 and 2 legs more;")


def test_a_pass_for_programs() -> None:
    told = row(pass_of(worst=("1", "2"), risk=0.0625, touching=("2",), straight_touching=("1",)))["pass"]
    assert [leg["length_m"] for leg in told["legs"]] == [100.0, 60.0, 440.0]
    del told["legs"]
    assert told == {
        "lasts_s": 600.0, "speed_m_s": 1.0, "wanted_s": 300.0, "wanted_interval_s": [240.0, 360.0],
        "by_rod_s": {"1": 200.0, "2": 100.0}, "straight_on_s": 60.0, "straight_touching": ["1"],
        "probability": 0.062, "within_risk": True, "members": 16, "worst": ["1", "2"], "touching": ["2"],
    }  # fmt: skip
    assert row(pass_of(straight_on_s=None))["pass"]["straight_on_s"] is None
    assert row(Cannot("why not")) == {"pass": None, "why": "why not"}
    assert row(pass_of())["pass"]["worst"] is None


def test_a_wish_in_words() -> None:
    from sternwatch.watch.whole_pass.wish import Box

    wish = Wish(over_bottom_m=(1.0, 3.0), depth_m=(10.0, 20.0), zone=True, box=Box(0.0, 0.0, 1.0, 1.0))
    assert wish_in_words(wish, METRIC) == "1 to 3 m over the bottom and 10 to 20 m down and in the zone, in the box"
    assert wish_in_words(Wish(zone=True), METRIC) == "in the zone"
    with pytest.raises(ValueError, match="a pass needs"):
        Wish()


def test_after_the_beginnings_the_best_three_are_changed_by_less_and_less(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of ten rods for a quarter of an hour 20 ways are run, eight of them beginnings."""
    begins = np.zeros((8, 4))
    begins[:, 0] = np.arange(8.0)
    begins[:, 1] = 1.0
    worths = iter([1.0, 8.0, 2.0, 7.0, 3.0, 6.0, 4.0, 5.0, *[0.0] * 12])
    asked_of: list[tuple[list[float], list[float], int]] = []

    def changed(ways: Any, spread: Any, _rng: object, count: int) -> Any:
        asked_of.append((ways[:, 0].tolist(), spread.tolist(), count))
        return ways[:1]

    monkeypatch.setattr(module, "_changed", changed)
    one = asked(rods=10, wish=replace(WISH, lasts_s=900.0))
    alone: Any = SimpleNamespace(asked=one, rated=lambda legs: run(next(worths), legs=legs))
    done = list(_searched(alone, begins, None, np.random.default_rng(1), soon=False))
    assert len(done) == 20
    assert [ways for ways, _, _ in asked_of] == [[1.0, 3.0, 5.0]] * 12
    widest = np.tile([0.8 * 900.0 / 3.0, math.radians(60.0)], 2)
    for k, (_, spread, count) in enumerate(asked_of):
        assert spread == pytest.approx(widest * (1.0 - 0.7 * k / 12.0))
        assert count == 1


def test_the_member_in_the_middle_stands_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "one_of", lambda fleet, member: (fleet, member))
    lying: Any = SimpleNamespace(order=np.array([7, 2, 5]), apart_m=lambda member: f"about {member}")
    one = asked()
    made = _Alone.of(one, lying)
    assert (made.lone, made.around_m, made.worths) == ((one.fleet, 7), "about 7", [])


@pytest.mark.parametrize("begun", [False, True])
def test_ways_are_drawn_about_the_best_and_then_changed_by_less_and_less(
    monkeypatch: pytest.MonkeyPatch, begun: bool
) -> None:
    """Twice seven rounds of 128, the first about the way being steered; then sixteen changes of the best."""
    drawn: list[np.ndarray[Any, Any]] = []
    spreads: list[list[float]] = []

    def screened(ways: Any, *_: object) -> Any:
        drawn.append(ways)
        return -np.abs(ways[:, 0] - 200.0)  # the best has 200 m before its first turn

    def changed(ways: Any, spread: Any, _rng: object, count: int) -> Any:
        assert count == 128
        spreads.append(spread.tolist())
        return ways[:1]

    monkeypatch.setattr(module, "grown", lambda *_: np.zeros((0, 4)))
    monkeypatch.setattr(module, "screened", screened)
    monkeypatch.setattr(module, "_changed", changed)
    monkeypatch.setattr(module, "tamed", lambda ways, _: ways)
    way = np.array([500.0, 0.5, 100.0, -0.5]) if begun else None
    best = module._screen(asked(), None, 2, way, None, np.random.default_rng(3))  # type: ignore[arg-type]
    assert [len(ways) for ways in drawn] == [128] * 14 + [1] * 16
    between, turn = 600.0 / 3.0, math.radians(60.0)
    first, other = drawn[0], drawn[7]
    about = way if way is not None else np.array([between, 0.0, between, 0.0])
    share = 0.5 if begun else 1.0
    widest = np.array([0.8 * between, turn, 0.8 * between, turn])
    assert first.mean(axis=0) == pytest.approx(about, abs=60.0)
    assert first.std(axis=0) == pytest.approx(share * widest, rel=0.2)
    assert other.mean(axis=0)[[1, 3]] == pytest.approx([0.0, 0.0], abs=0.4)
    assert other.std(axis=0) == pytest.approx(widest, rel=0.2)
    # A round's spread: 0.7 of the variance of its best, and 0.3 of half the spread before, squared.
    elite = first[np.argsort(np.abs(first[:, 0] - 200.0), kind="stable")[:16]]
    second = np.sqrt(0.7 * elite.var(axis=0) + 0.3 * (0.5 * share * widest) ** 2)
    assert drawn[1].std(axis=0) == pytest.approx(second, rel=0.25)
    assert drawn[1].mean(axis=0) == pytest.approx(elite.mean(axis=0), abs=40.0)
    assert spreads == [pytest.approx((widest * (1.0 - 0.8 * k / 16.0)).tolist()) for k in range(16)]
    assert best[0, 0] == pytest.approx(200.0, abs=2.0)


def test_how_a_way_is_changed() -> None:
    """A leg, a turn, or a turn and the opposite in the next; with that, one time in two, the leg between."""

    class Told:
        """Numbers in place of drawn ones: of each way which leg and which change."""

        def __init__(self, *ways: tuple[int, int]) -> None:
            self.left = [number for way in ways for number in way]

        def integers(self, low: int, high: int, count: int | None = None) -> Any:
            assert low == 0
            if count is not None:
                return np.zeros(count, dtype=np.int64)
            assert high == (3, 4)[len(self.left) % 2]
            return self.left.pop(0)

        def standard_normal(self, count: int) -> Any:
            return np.arange(1.0, 1.0 + count)

    way, spread = np.array([[10.0, 0.1, 20.0, 0.2, 30.0, 0.3]]), np.array([2.0, 0.5])
    told: Any = Told((1, 0), (1, 1), (1, 2), (1, 3), (2, 3))
    leg, turn = module.CHANGE * 1.0 * 2.0, module.CHANGE * 1.0 * 0.5
    between = module.CHANGE * 2.0 * 2.0
    assert (_changed(way, spread, told, 5) - way).tolist() == pytest.approx(np.array([
        [0.0, 0.0, leg, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, turn, 0.0, 0.0], [0.0, 0.0, 0.0, turn, 0.0, -turn],
        [0.0, 0.0, 0.0, turn, between, -turn], [between, -turn, 0.0, 0.0, 0.0, turn],
    ]))  # fmt: skip


def test_a_member_of_which_nothing_is_known_comes_last_also_where_all_others_are_alike() -> None:
    behind = np.zeros((1, 3, 3))
    behind[0, 0] = np.nan
    lying = Lying(behind, np.zeros((1, 3)), np.zeros((1, len(LEVELS))))
    assert lying.order.tolist() == [1, 2, 0]
