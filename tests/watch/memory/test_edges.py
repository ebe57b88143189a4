"""What is kept of hits and carried back, by hand: where exactly it is known and where not."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.answers.belief.observations import Observation, What
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.state import CrewHit, When
from sternwatch.logbook.store.samples import BoatRow, Rig, RodRow, Sample
from sternwatch.watch.boat.runs import AFTER_S
from sternwatch.watch.memory import fishing_time, observed
from sternwatch.watch.memory.current_carried_back import Learnt
from sternwatch.watch.memory.hits import HitContext, HitContexts, hit_row, hit_time
from sternwatch.watch.picture.fishing import Fishing
from sternwatch.watch.picture.model import SolverState, SpeedSource

WHEN = When(parse({"id": "a", "time": "2026-07-18T23:00:00Z", "kind": "bite"}).time, 12.34567)


def hit(**more: Any) -> CrewHit:
    return CrewHit("h", **{"rod": "3", "when": WHEN, "entered": WHEN} | more)


@pytest.mark.parametrize(("t_s", "at_s"), [(12.34567, 12.346), (None, None), (0.0, 0.0)])
def test_a_hits_row_has_its_moment_where_the_feed_has_one(t_s: float | None, at_s: float | None) -> None:
    row = hit_row(hit(), HitContext(t_s, "3", None, False, False))
    assert (row.at_s, row.time_ms, row.counts, row.in_hours) == (at_s, 1_784_415_600_000, True, False)
    assert hit_row(hit(), None).at_s is None


@pytest.mark.parametrize(
    ("more", "flag"),
    [({}, ""), ({"doubtful": True, "why": "two keys"}, "doubtful: two keys"), ({"flag": "rod was in"}, "rod was in"),
     ({"flag": "rod was in", "doubtful": True, "why": "two keys"}, "rod was in"), ({"why": "two keys"}, "")],
)  # fmt: skip
def test_what_is_odd_of_a_hit_is_told_beside_it(more: dict[str, Any], flag: str) -> None:
    assert hit_row(hit(**more), None).flag == flag


def test_a_hit_without_the_feeds_seconds_has_those_of_the_clock() -> None:
    bare = hit(when=When(WHEN.time, None))
    assert hit_time(hit(), 5.0) == 12.34567
    assert hit_time(bare, None) is None
    assert hit_time(bare, 1_784_415_590.0) == pytest.approx(10.0)


# -- a current carried back ----------------------------------------------------------------------------------------


class Powered(Learnt):
    """Depth goes as the square of the speed."""

    def _power(self, _spread: Any, _row: RodRow) -> float:
        return 2.0


@pytest.fixture
def learnt() -> Learnt:
    column: Any = SimpleNamespace(temperature_c=lambda depth_m: 20.0 - 0.5 * depth_m)
    return Powered(10.0, 20.0, (0.0, 0.2), (0.1, 0.0), 1.0, None, column, None)  # type: ignore[arg-type]


ROW = RodRow(
    Rig("3"),
    depth_m=10.0,
    depth_low_m=8.0,
    depth_high_m=13.0,
    lure_speed_m_s=0.9,
    clearance_m=5.0,
    temperature_c=15.0,
)


def test_depths_go_with_the_speed_that_is_believed_now(learnt: Learnt) -> None:
    made = learnt.rod(None, ROW, 1.0, 1.2)  # type: ignore[arg-type]
    assert (made.depth_m, made.depth_low_m, made.depth_high_m) == (14.4, 11.52, 18.72)
    assert (made.lure_speed_m_s, made.clearance_m, made.temperature_c) == (1.1, 0.6, 12.8)
    assert learnt.rod(None, ROW, 1.2, 0.1).lure_speed_m_s == 0.0  # type: ignore[arg-type]
    for was, now in ((None, 1.0), (1.0, None), (0.0, 1.0), (1.0, 0.0)):
        assert learnt.rod(None, ROW, was, now) is ROW  # type: ignore[arg-type]
    unknown = RodRow(Rig("3"))
    assert learnt.rod(None, unknown, 1.0, 1.2) is unknown  # type: ignore[arg-type]
    alone = learnt.rod(None, RodRow(Rig("3"), depth_m=10.0), 1.0, 1.2)  # type: ignore[arg-type]
    assert (alone.depth_m, alone.depth_low_m, alone.clearance_m, alone.temperature_c) == (14.4, None, None, None)


def test_the_boats_speed_is_changed_where_ground_drove_the_depths(learnt: Learnt) -> None:
    """To the east at 1 m/s: sqrt(1 + 0.01) before by a current to the north, 0.8 by one with her."""
    row = BoatRow(15.0, sog_m_s=1.0, course_deg=90.0, speed_m_s=1.05)
    made = learnt.boat(row)
    assert made is not None
    assert made.speed_m_s == pytest.approx(1.05 + 0.8 - 1.01**0.5, abs=5e-4)
    slow = learnt.boat(BoatRow(15.0, sog_m_s=1.0, course_deg=90.0, speed_m_s=0.1))
    assert slow is not None
    assert slow.speed_m_s == 0.0
    for change in ({"stw_m_s": 1.0}, {"sog_m_s": None}, {"course_deg": None}, {"speed_m_s": None}):
        given: dict[str, Any] = {"sog_m_s": 1.0, "course_deg": 90.0, "speed_m_s": 1.05} | change
        assert learnt.boat(BoatRow(15.0, **given)) is None
    assert [learnt.covers(t) for t in (9.9, 10.0, 20.0, 20.1)] == [False, True, True, False]


# -- fishing time --------------------------------------------------------------------------------------------------


def test_the_end_of_a_session_releases_what_was_not_judged_yet(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []
    monkeypatch.setattr(fishing_time, "released", lambda *given: asked.append(given[3]))
    assert fishing_time.rest(None, None, None) == []  # type: ignore[arg-type]
    assert asked == list(range(round(AFTER_S) - 1, -1, -1))


@pytest.mark.parametrize(
    ("clock_s", "silent_s", "made"),
    [(20, 1.0, True), (21, 1.0, False), (20, 10.0, True), (20, 10.1, False), (20, None, False)],
)
def test_a_sample_is_of_a_tenth_second_in_which_something_was_heard(
    monkeypatch: pytest.MonkeyPatch, clock_s: int, silent_s: float | None, made: bool
) -> None:
    moment = SimpleNamespace(clock_s=clock_s, silent_s=silent_s, t_s=5.0)
    monkeypatch.setattr(fishing_time, "sample_of", lambda _, *, fishing: fishing)
    for over, covered in ((False, False), (True, False), (False, True)):
        crew: Any = SimpleNamespace(facts=SimpleNamespace(over_at=lambda _, over=over: over))
        running: Any = SimpleNamespace(covers=lambda *_, covered=covered: covered)
        moments: Any = SimpleNamespace(back=lambda _: moment)
        found = fishing_time.released(moments, crew, running, 0)
        assert found is ((not over and not covered) if made else None)


def test_samples_made_anew_begin_with_the_one_of_that_moment() -> None:
    made = Fishing()
    for k in range(5):
        made.add(Sample(BoatRow(10.0 * k, speed_m_s=1.0), ()))
    before = list(made)
    made.again(20.0, lambda sample: Sample(BoatRow(sample.boat.at_s, speed_m_s=2.0), ()))
    assert [s.boat.speed_m_s for s in made] == [1.0, 1.0, 2.0, 2.0, 2.0]
    assert [s.boat.at_s for s in made.since(3)] == [30.0, 40.0]
    assert len(before) == len(made) == 5


def test_fishing_time_is_the_same_where_its_samples_are() -> None:
    made = Fishing.of([Sample(BoatRow(10.0 * k, speed_m_s=1.0), ()) for k in range(3)])
    twin = made.copy()
    assert made == twin
    twin.add(Sample(BoatRow(30.0, speed_m_s=1.0), ()))
    assert made != twin
    assert made.copy() != twin, "of one record it has less"
    other = Fishing.of([Sample(BoatRow(10.0 * k, speed_m_s=1.0), ()) for k in range(3)])
    assert made == other
    other.add(Sample(BoatRow(30.0, speed_m_s=2.0), ()))
    assert other != twin
    assert made != [1, 2, 3]


# -- observations --------------------------------------------------------------------------------------------------


def step(**more: Any) -> Any:
    boat = {"dark_since_s": None, "known": True, "rate_of_turn_deg_s": 0.1} | {
        name: more.pop(name) for name in ("dark_since_s", "known", "rate_of_turn_deg_s") if name in more
    }
    state = more.pop("state", "fishing")
    return SimpleNamespace(
        boat=SimpleNamespace(**boat), silent_s=more.pop("silent_s", 1.0),
        crew=SimpleNamespace(rods={"3": SimpleNamespace(state=state)}),
    )  # fmt: skip


def chain(**more: Any) -> Any:
    usual = {
        "rod": SimpleNamespace(key="3"), "ball_only": False, "moving": 0.0, "why": "", "place": object(),
        "solver": SolverState.SETTLED, "rig": SimpleNamespace(kinds=("diver", "attractor", "lure")),
    }  # fmt: skip
    return SimpleNamespace(**usual | more)


@pytest.mark.parametrize(
    ("now", "line", "why"),
    [
        ({}, {}, ""), ({"dark_since_s": 4.0}, {}, "no speed was known"), ({"known": False}, {}, "no speed was known"),
        ({"silent_s": 61.0}, {}, "the feed had been silent for 61 s"), ({"silent_s": None}, {}, ""),
        ({"rate_of_turn_deg_s": 4.0}, {}, "the boat was turning, 4° a second"),
        ({"rate_of_turn_deg_s": -4.0}, {}, "the boat was turning, 4° a second"),
        ({"rate_of_turn_deg_s": None}, {}, ""),
        ({"state": "in"}, {}, "the rod was in"), ({"state": "fighting"}, {}, "a fish was on"),
        ({}, {"ball_only": True}, "a fish was on"), ({}, {"moving": 1.0}, "its line was running"),
        ({}, {"place": None}, "nothing was known of its line"), ({}, {"place": None, "why": "no shape"}, "no shape"),
        ({}, {"solver": SolverState.SLACK}, "its line was slack"),
        ({}, {"solver": SolverState.UNSETTLED}, "the line had not been towed long enough"),
    ],
)  # fmt: skip
def test_why_a_moment_tells_nothing_of_a_line(now: dict[str, Any], line: dict[str, Any], why: str) -> None:
    assert observed._why_not(step(**now), chain(**line)) == why


def test_the_bottom_under_the_piece_that_touched() -> None:
    ground: Any = SimpleNamespace(below={"3": ("disc", "paddle", "fly")}, least=lambda _, below: ("least", below))
    assert observed._sounded(ground, chain(), "lure") == "fly"
    assert observed._sounded(ground, chain(), "device") == "disc"
    assert observed._sounded(ground, chain(), "ball") is None
    assert observed._sounded(ground, chain(rig=SimpleNamespace(kinds=("ball", "lure"))), "ball") == "disc"
    assert observed._sounded(ground, chain(), None) == ("least", ("disc", "paddle", "fly"))
    bare: Any = SimpleNamespace(below={}, least=lambda _, below: below)
    assert observed._sounded(bare, chain(), "lure") is None
    assert observed._sounded(bare, chain(), None) == ()


@pytest.mark.parametrize(
    ("source", "heading_deg", "along", "scale", "left"),
    [
        (SpeedSource.OVER_GROUND, 0.0, 0.15, 9.0, 0.5),  # of 0.3 m/s along her heading
        (SpeedSource.OVER_GROUND, 90.0, 0.15, 9.0, 0.75),  # of 0.2
        (SpeedSource.OVER_GROUND, 90.0, 0.25, 9.0, 1.0),  # never more than was there
        (SpeedSource.THROUGH_WATER, 0.0, 9.0, 0.02, 0.4),
        (SpeedSource.THROUGH_WATER, 0.0, 9.0, 0.06, 1.0),
    ],
)
def test_how_much_of_the_speeds_spread_is_left(
    source: SpeedSource, heading_deg: float, along: float, scale: float, left: float
) -> None:
    belief = SimpleNamespace(along_sd_m_s=lambda _: along, scale_sd=scale)
    prior = SimpleNamespace(current_sd_m_s=(0.3, 0.2), scale_sd=0.05)
    boat: Any = SimpleNamespace(
        current=SimpleNamespace(belief=belief, prior=prior), source=source, heading_deg=heading_deg
    )
    assert observed._told(boat) == pytest.approx(left)
    prior.current_sd_m_s, prior.scale_sd = (0.0, 0.0), 0.0
    assert observed._told(boat) == 1.0, "there was none"


@pytest.mark.parametrize(("at_s", "ago"), [(96.9, True), (97.1, False), (400.0, False)])
def test_an_entry_without_its_feed_time_is_placed_by_its_clock(at_s: float, ago: bool) -> None:
    """Feed time is the clock's time less the offset of the two."""
    action: Any = SimpleNamespace(elapsed_s=None, time=SimpleNamespace(timestamp=lambda: 1_000_000.0 + at_s))
    step: Any = SimpleNamespace(utc_offset_s=1_000_000.0, t_s=100.0)
    assert observed._long_ago(step, action) is ago
    step.utc_offset_s = None
    assert observed._long_ago(step, action) is False


@pytest.mark.parametrize(
    ("silent_s", "in_water", "over", "counts"),
    [(10.0, True, False, True), (10.1, True, False, False), (None, True, False, False), (0.0, False, False, False),
     (0.0, True, True, False)],
)  # fmt: skip
def test_a_hit_is_in_fishing_time_where_something_was_heard_within_ten_seconds(
    monkeypatch: pytest.MonkeyPatch, silent_s: float | None, in_water: bool, over: bool, counts: bool
) -> None:
    from sternwatch.watch.memory import hits

    for name in ("boat_of", "row_of"):
        monkeypatch.setattr(hits, name, lambda _: None)
    at_rod = SimpleNamespace(
        position_deg=(45.123456789, -87.000000049),
        in_water=in_water,
        state=SimpleNamespace(value="fishing"),
        spread=None,
    )
    monkeypatch.setattr(hits, "_chain", lambda _: ())
    monkeypatch.setattr(hits, "_readings", lambda _: ())
    moment: Any = SimpleNamespace(silent_s=silent_s, rods={"3": at_rod})
    row = hit_row(hit(), HitContext(5.0, "3", moment, False, over))
    assert row.in_hours is counts
    assert row.lure_deg == (45.1234568, -87.0), "to a hundredth of a metre"


@pytest.mark.parametrize(("pull_N", "error_N"), [(5.0, 1.0), (200.0, 30.0)])
def test_how_well_a_pull_is_known_where_nobody_says(two_rods: Spread, pull_N: float, error_N: float) -> None:
    action: Any = parse({
        "id": "t", "time": "2026-07-18T23:10:00Z", "kind": "observed", "rod": "1", "what": "pull", "pull_N": pull_N,
        "speed_m_s": 1.0,
    })  # fmt: skip
    one = observed.observation_of(SimpleNamespace(spread=two_rods), action, None)  # type: ignore[arg-type]
    assert (one.value, one.error) == (pull_N, pytest.approx(error_N))


@pytest.mark.parametrize(("given_m", "off_m", "error_m"), [(None, 8.0, 1.0), (None, 0.0, 0.6), (0.6, 8.0, 0.6)])
def test_a_bottom_sounded_beside_the_tackle_may_differ_by_a_metre_in_ten(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread, given_m: float | None, off_m: float, error_m: float
) -> None:
    """On top of what a touch is uncertain by, unless the crew said how sure they are."""
    settled: list[Any] = []
    monkeypatch.setattr(observed, "_ERRORS", {"touched bottom": 0.6})
    monkeypatch.setattr(observed, "_now", lambda _, one: one)
    monkeypatch.setattr(observed, "_why_not", lambda *_: "")
    monkeypatch.setattr(observed, "_sounded", lambda *_: SimpleNamespace(bottom_m=21.0, off_m=off_m))
    monkeypatch.setattr(observed, "_settled", lambda *asked: settled.append(asked[3]))
    fields = {} if given_m is None else {"error_m": given_m}
    action: Any = parse({
        "id": "t", "time": "2026-07-18T23:10:00Z", "elapsed_s": 100.0, "kind": "observed", "rod": "1",
        "what": "touched bottom", **fields,
    })  # fmt: skip
    bottom = SimpleNamespace(ground=None)
    step: Any = SimpleNamespace(
        spread=two_rods, t_s=100.0, utc_offset_s=None, chains={"1": SimpleNamespace()}, bottom=bottom
    )
    observed.observation_of(step, action, None)
    (one,) = settled
    assert (one.value, one.error) == (21.0, pytest.approx(error_m))


@pytest.mark.parametrize(
    ("what", "moving"),
    [
        (What.PULL, 44.0), (What.DEPTH, 20.0 / 1.25), (What.ENTRY_ANGLE, math.radians(30.0)),
        (What.CABLE_ANGLE, math.radians(60.0)),
    ],
)  # fmt: skip
def test_how_far_a_line_is_from_where_it_settles_counts_by_half(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread, what: What, moving: float
) -> None:
    """Twice the error is still settled, more is not. Neither speed nor its noise is asked of the steady shape."""
    off = [0.0]
    asked: list[dict[str, float]] = []

    def see(_: object, __: object, values: dict[str, float]) -> Any:
        asked.append(values)
        return SimpleNamespace(of=lambda *_: moving - off[0])

    dealt = {"speed": [1.0], "speed over ground noise": [0.1], "line drag": [1.1, 9.0]}
    monkeypatch.setattr(observed, "see", see)
    monkeypatch.setattr(observed, "dealt", lambda *_: dealt)
    place = SimpleNamespace(
        tension_N=44.0, bodies_m=[(0.0, 0.0, 12.0), (0.0, 0.0, 20.0)], depth_m=99.0, stretched=1.25,
        entry_angle_deg=30.0,
    )  # fmt: skip
    chain: Any = SimpleNamespace(place=place, rig=SimpleNamespace(kinds=("ball", "lure")))
    one = Observation("o", "1", what, moving, 0.5, 1.0, "logger", at="lure")
    settled = observed._settled(two_rods, None, chain, one)
    assert (settled.why, settled.unsteady, settled.error) == ("", pytest.approx(0.0), pytest.approx(0.5))
    for away in (0.9, -0.9):
        off[0] = away
        moved = observed._settled(two_rods, None, chain, one)
        assert (moved.unsteady, moved.error) == pytest.approx((away, math.hypot(0.5, 0.45)))
    for away in (1.1, -1.1):
        off[0] = away
        assert observed._settled(two_rods, None, chain, one).why == "the line had not settled"
    off[0] = math.nan
    assert observed._settled(two_rods, None, chain, one).why == "no steady shape is known for it"
    assert asked[0] == {"line drag": 1.1}


@pytest.mark.parametrize(
    ("action", "what", "value"),
    [
        ({"what": "pull", "pull_N": 30.0}, What.PULL, 30.0),
        ({"what": "seen on sounder", "depth_m": 12.0}, What.DEPTH, 12.0),
        ({"what": "entry angle", "angle_deg": 30.0}, What.ENTRY_ANGLE, math.radians(30.0)),
        ({"what": "cable angle", "angle_deg": 30.0}, What.CABLE_ANGLE, math.radians(30.0)),
        ({"what": "cable angle"}, What.CABLE_ANGLE, None), ({"what": "touched bottom"}, What.DEPTH, None),
    ],
)  # fmt: skip
def test_what_an_entry_measures(action: dict[str, Any], what: What, value: float | None) -> None:
    given: Any = SimpleNamespace(**{"pull_N": None, "depth_m": None, "angle_deg": None, **action})
    assert observed._value(given) == (what, value)


@pytest.mark.parametrize(
    ("astern_m", "abeam_m", "at"), [(40.0, -3.0, (40.0, -3.0)), (None, -3.0, None), (40.0, None, None)]
)
def test_a_lure_was_struck_where_the_first_known_hit_was(
    astern_m: float | None, abeam_m: float | None, at: tuple[float, float] | None
) -> None:
    place = SimpleNamespace(astern_m=astern_m, abeam_m=abeam_m)
    other = SimpleNamespace(at_rod=SimpleNamespace(astern_m=9.0, abeam_m=9.0))
    contexts = HitContexts({"b": SimpleNamespace(at_rod=place), "c": other})  # type: ignore[dict-item]
    assert contexts.struck_at(["a", "b", "c"]) == at
    assert contexts.struck_at(["a"]) is None
    contexts.by_id["b"] = SimpleNamespace(at_rod=None)  # type: ignore[assignment]
    assert contexts.struck_at(["b"]) is None
