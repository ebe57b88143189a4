"""Steps, pictures and the chart, by hand: when a session begins, what lies astern, what a view needs."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.feed.readings import Quantity, Reading, SensorState, SensorValue
from sternwatch.feed.recording.reader import UNNAMED
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.state import CrewHit, When
from sternwatch.watch.alerts.causes import _silent
from sternwatch.watch.alerts.rod_care import RodCare, unchecked
from sternwatch.watch.alerts.rules import AlertBook, Cause
from sternwatch.watch.alerts.sensor_causes import _no_bottom
from sternwatch.watch.bottom.over_ground import OverGround
from sternwatch.watch.bottom.soundings import Sounding, Soundings
from sternwatch.watch.chart.bed import Bed, _bands
from sternwatch.watch.chart.charting import Charting, View
from sternwatch.watch.chart.gridded import Window
from sternwatch.watch.core import player as player_module
from sternwatch.watch.core.compose import _bottom_track, _depth_speed, _hit, _of_the_chain
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.inbox import Inbox
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.alert import Priority

# -- the first step ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("since_s", "to_s", "first"), [(0.0, 9.99, None), (0.0, 10.0, 10.0), (4.5, 14.49, None), (4.5, 14.5, 15.0)]
)
def test_without_any_reading_it_begins_after_ten_seconds(since_s: float, to_s: float, first: float | None) -> None:
    assert Inbox(since_s).begin(to_s, SensorBoard()) == first


def test_a_new_session_begins_at_nought() -> None:
    assert Inbox().begin(9.9, SensorBoard()) is None
    assert Inbox().begin(10.0, SensorBoard()) == Inbox(0.0).begin(10.0, SensorBoard())
    assert Inbox().begin(10.0, SensorBoard()) is not None


@pytest.mark.parametrize(("to_s", "first"), [(3.49, None), (3.5, 4.0), (9.0, 4.0)])
def test_without_a_clock_it_begins_three_seconds_after_the_first_reading(to_s: float, first: float | None) -> None:
    inbox = Inbox()
    inbox.hear(Reading(0.5, "gps", Quantity.STW, 1.0))
    inbox.hear(Reading(3.6, "gps", Quantity.CLOCK, 1_000_000_003.9))
    assert inbox.begin(to_s, SensorBoard()) == first


def test_actions_are_due_in_the_order_of_their_moments_and_then_of_entry() -> None:
    def note(name: str, elapsed_s: float | None) -> Any:
        time = datetime(2026, 7, 18, 23, 0, 7, tzinfo=UTC)
        given = {"id": name, "time": time, "kind": "note", "text": "x"}
        return parse(given if elapsed_s is None else given | {"elapsed_s": elapsed_s})

    inbox = Inbox()
    for name, at in (("b", 5.0), ("a", 5.0), ("c", 1.0), ("d", None), ("e", 9.0)):
        inbox.enter(note(name, at))
    assert [one.id for one in inbox.soon(5.0)] == ["c", "b", "a"]
    assert [one.id for one in inbox.actions(5.0, None)] == ["c", "b", "a"]
    assert inbox.holds("d")
    offset = datetime(2026, 7, 18, 23, tzinfo=UTC).timestamp()
    assert inbox.actions(6.99, offset) == []
    assert [one.id for one in inbox.actions(7.0, offset)] == ["d"]
    assert not inbox.holds("d")
    assert inbox.holds("e")


# -- the picture ---------------------------------------------------------------------------------------------------


def test_soundings_astern_of_the_boat_to_beyond_the_last_lure() -> None:
    """She heads east at the origin; soundings every metre of the way that she came, two of them of earlier trips."""
    soundings = Soundings()
    for k in range(120):
        soundings.add(Sounding(float(k), -1.2, -120.0 + k, 9.0))  # beside her way
    for k in range(120):
        soundings.add(Sounding(float(k), 0.0, -120.0 + k, 20.0 + k / 10.0))
    place = SimpleNamespace(astern_m=40.0)
    chains = {"1": SimpleNamespace(place=place), "2": SimpleNamespace(place=None)}
    bottom = SimpleNamespace(over=OverGround((0.0, 0.0), (0.0, 1.0), 0.0), soundings=soundings)
    step: Any = SimpleNamespace(bottom=bottom, chains=chains, t_s=200.0)
    track, age = _bottom_track(step)
    backs = [back for back, _ in track]
    assert backs == [6.0 * k for k in range(11)], "to 24 m beyond it"
    for back, depth in track[1:]:
        assert depth == pytest.approx(32.0 - back / 10.0, abs=0.6)
    assert age is None
    step.chains = {}
    assert [back for back, _ in _bottom_track(step)[0]] == [0.0, 6.0, 12.0, 18.0, 24.0], "no lure is out"
    bottom.over = OverGround()
    assert _bottom_track(step) == ((), None)


def test_a_speed_read_at_a_depth_and_a_hit_have_the_feeds_time_or_the_clocks() -> None:
    time = datetime(2026, 7, 18, 23, tzinfo=UTC)
    gauge = SimpleNamespace(time=time, elapsed_s=None, speed_m_s=0.9, depth_m=20.0)
    crew: Any = SimpleNamespace(gauges=(gauge,))
    made = _depth_speed(crew, None)
    assert made is not None
    assert made.t_s == time.timestamp()
    made = _depth_speed(crew, time.timestamp() - 7.0)
    assert made is not None
    assert made.t_s == 7.0
    hit = CrewHit("h", "3", When(time, None), When(time, None))
    assert _hit(hit, None, None).t_s == time.timestamp()
    assert _hit(hit, time.timestamp() - 9.0, None).t_s == 9.0
    assert _hit(CrewHit("h", "3", When(time, 4.0), When(time, 4.0)), 50.0, None).t_s == 4.0


# -- the chart -----------------------------------------------------------------------------------------------------


def test_the_node_nearest_to_a_place_and_none_beyond_the_window() -> None:
    window = Window(-10.0, -20.0, 10.0, 3, 5)
    bed = Bed(window, np.arange(15.0).reshape(3, 5), np.zeros((3, 5)), np.ones((3, 5), dtype=bool))
    points = np.array(
        [(-10.0, -20.0), (10.0, 20.0), (-14.9, -24.9), (14.9, 24.9), (-15.1, 0.0), (0.0, 25.1), (np.nan, 0.0)]
    )
    row, column, inside = bed.nodes(points)
    assert inside.tolist() == [True, True, True, True, False, False, False]
    assert row.tolist() == [0, 2, 0, 2, 0, 1, 1]
    assert column.tolist() == [0, 4, 0, 4, 2, 4, 2]
    assert bed.depths_at(points)[:4].tolist() == [0.0, 14.0, 0.0, 14.0]
    assert np.isnan(bed.depths_at(points)[4:]).all()


def test_the_shade_changes_at_three_depths() -> None:
    assert _bands((1.0, 2.0, 3.0)) == (1.0, 2.0, 3.0)
    assert _bands((1.0, 2.0, 3.0, 4.0)) == (2.0, 3.0, 3.0)
    assert _bands(tuple(map(float, range(9)))) == (2.0, 4.0, 6.0)


@pytest.mark.parametrize(
    ("t_s", "half_m", "north_m", "anew"),
    [(109.9, 100.0, 0.0, False), (110.0, 100.0, 0.0, True), (99.9, 100.0, 0.0, True), (100.0, 139.0, 0.0, False),
     (100.0, 141.0, 0.0, True), (100.0, 71.0, 0.0, False), (100.0, 69.0, 0.0, True), (100.0, 100.0, 40.0, False),
     (100.0, 100.0, 60.0, True)],
)  # fmt: skip
def test_when_a_chart_is_made_anew(t_s: float, half_m: float, north_m: float, anew: bool) -> None:
    charting, asked = Charting(SYSTEMS["metric"]), []
    charting._beside.stop()
    charting._beside = SimpleNamespace(ask=asked.append, made=None)  # type: ignore[assignment]
    charting.look("a", 100.0, None, View(0.0, 0.0, 100.0))  # type: ignore[arg-type]
    charting.look("a", t_s, None, View(north_m, 0.0, half_m))  # type: ignore[arg-type]
    assert len(asked) == 1 + anew
    assert asked[0].window.step_m == pytest.approx(200.0 / 150.0)


# -- alerts --------------------------------------------------------------------------------------------------------


def value(
    age_s: float | None, state: SensorState = SensorState.FRESH, quantity: Quantity = Quantity.SOG
) -> SensorValue:
    return SensorValue(quantity, state, 1.0, age_s)


@pytest.mark.parametrize(
    ("sensors", "silent"),
    [
        ({}, True), ({Quantity.SOG: value(None)}, True), ({Quantity.SOG: value(5.0)}, False),
        ({Quantity.SOG: value(5.01)}, True), ({Quantity.SOG: value(9.0), Quantity.CLOCK: value(4.0)}, False),
        ({Quantity.SOG: value(9.0, SensorState.NONE)}, False), ({Quantity.CLOCK: value(9.0, SensorState.NONE)}, True),
    ],
)  # fmt: skip
def test_five_seconds_without_a_word_are_silence(sensors: dict[Quantity, SensorValue], silent: bool) -> None:
    assert _silent(sensors) is silent


@pytest.mark.parametrize(("age_s", "said"), [(59.9, None), (60.0, "1 min"), (150.0, "2 min"), (600.0, "10 min")])
def test_no_bottom_for_so_many_minutes(age_s: float, said: str | None) -> None:
    crew = SimpleNamespace(rods={"1": SimpleNamespace(state="fishing")})
    step: Any = SimpleNamespace(sensors={Quantity.BOTTOM: value(age_s, quantity=Quantity.BOTTOM)}, crew=crew)
    told = [cause.text for cause in _no_bottom(step)]
    assert told == ([] if said is None else [f"No bottom for {said}: nothing warns of it"])
    crew.rods["1"].state = "in"
    assert list(_no_bottom(step)) == []


def test_an_alarm_stands_before_an_older_warning_and_that_before_an_older_caution() -> None:
    book = AlertBook()
    book.step(0.0, [Cause("running", "c")])
    book.step(1.0, [Cause("running", "c"), Cause("speeds differ", "b")])
    book.step(2.0, [Cause("running", "c"), Cause("speeds differ", "b"), Cause("cannot save", "a")])
    assert [one.priority for one in book.standing()] == [Priority.ALARM, Priority.WARNING, Priority.CAUTION]


def moment(t_s: float, **more: Any) -> Any:
    rod = SimpleNamespace(
        in_water=True, temperature_c=more.pop("temperature_c", 10.0), lure_speed_m_s=more.pop("lure", 1.0)
    )
    return SimpleNamespace(t_s=t_s, rate_of_turn_deg_s=more.pop("rate", 0.0), rods={"3": rod})


CREW: Any = SimpleNamespace(rods={"3": SimpleNamespace(state="fishing")})


def test_a_rod_has_left_its_zone_after_a_minute_out_of_it() -> None:
    care = RodCare()
    care.step(moment(100.0), CREW, [], (8.0, 12.0))
    assert care.left_zone_s("3", False, 159.9) is None
    assert care.left_zone_s("3", False, 160.0) == 60.0
    assert care.left_zone_s("3", True, 200.0) is None
    assert care.left_zone_s("3", None, 200.0) is None
    assert care.left_zone_s("4", False, 200.0) is None
    never = RodCare()
    never.step(moment(100.0, temperature_c=12.1), CREW, [], (8.0, 12.0))
    assert never.left_zone_s("3", False, 900.0) is None
    for edge in (8.0, 12.0):
        never.step(moment(100.0, temperature_c=edge), CREW, [], (8.0, 12.0))
        assert never.left_zone_s("3", False, 160.0) == 60.0


@pytest.mark.parametrize(("rate", "calm"), [(1.0, True), (1.01, False), (-1.01, False), (None, True)])
def test_a_lures_mean_speed_is_of_half_a_calm_minute(rate: float | None, calm: bool) -> None:
    care = RodCare()
    for k in range(61):
        care.step(moment(float(k), lure=1.0 + k / 100.0, rate=rate if k == 30 else 0.0), CREW, [], None)
    mean = 1.0 + (31 + 60) / 2 / 100.0
    assert care.mean_speed_m_s("3", 60.0) == (pytest.approx(mean))
    assert (care.mean_speed_m_s("3", 59.9) is not None) is calm
    assert care.mean_speed_m_s("3", 60.1) is None, "nothing is known of now"
    young = RodCare()
    for k in range(26):
        assert young.mean_speed_m_s("3", float(k)) is None
        young.step(moment(float(k)), CREW, [], None)
    assert young.mean_speed_m_s("3", 25.0) == pytest.approx(1.0)
    gone = moment(61.0)
    gone.rods["3"].in_water = False
    care.step(gone, CREW, [], None)
    assert care.mean_speed_m_s("3", 61.0) is None


def test_a_line_is_unchecked_after_forty_minutes() -> None:
    def rod(state: str, set_s: float | None, checked_s: float | None = None) -> Any:
        at = [None if s is None else SimpleNamespace(elapsed_s=s) for s in (set_s, checked_s)]
        return SimpleNamespace(state=state, set_at=at[0], checked_at=at[1])

    assert [unchecked(rod("fishing", 0.0), t) for t in (2399.9, 2400.0)] == [False, True]
    assert [unchecked(rod("fishing", 0.0, 100.0), t) for t in (2400.0, 2500.0)] == [False, True]
    assert not unchecked(rod("in", 0.0), 9999.0)
    assert not unchecked(rod("fishing", None), 9999.0)


@pytest.mark.parametrize(("heard_s", "hole"), [(None, True), (39.9, True), (40.0, False), (100.0, False)])
def test_after_a_minute_without_a_word_there_is_a_hole_in_the_feed(heard_s: float | None, hole: bool) -> None:
    from sternwatch.watch.core.engine import Watch

    told: list[tuple[float, bool]] = []
    boat = SimpleNamespace(
        choose=lambda *_: None, take=lambda *_: None, step=lambda *_: "follows",
        follow=lambda t_s, *, hole: told.append((t_s, hole)),
    )  # fmt: skip
    watch: Any = SimpleNamespace(inbox=SimpleNamespace(heard_s=heard_s), boat=boat)
    assert Watch._sail(watch, 100.0, [], {}) == "follows"
    assert told == [(100.0, hole)]


def test_each_body_stands_in_the_picture_where_it_hangs() -> None:
    chain: Any = SimpleNamespace(rig=SimpleNamespace(what=("ball", "spoon")), rod=SimpleNamespace(key="1"))
    place: Any = SimpleNamespace(bodies_m=((4.0, -2.0, 15.0), (9.0, -3.0, 14.0)), shape_m="as it is")
    ground: Any = SimpleNamespace(least=lambda *_: None)
    made = _of_the_chain(place, chain, ground, (SimpleNamespace(room_m=5.0), None))  # type: ignore[arg-type]
    assert [(p.what, p.depth_m, p.astern_m, p.abeam_m, p.clearance_m) for p in made["points"]] == [
        ("ball", 15.0, 4.0, -2.0, 5.0), ("spoon", 14.0, 9.0, -3.0, None),
    ]  # fmt: skip
    assert (made["bottom"], made["shape_m"]) == (None, "as it is")


def test_before_the_first_step_no_time_of_day_is_told(two_rods: Spread) -> None:
    """However well the clock is known: the picture is of no moment yet."""
    watch = new_watch(Setup(two_rods, members=0))
    watch.observe(Reading(0.5, "gps", Quantity.CLOCK, 1_784_000_000.5))
    assert watch.picture().utc_s is None
    watch.observe(Reading(0.6, "gps", Quantity.SOG, 1.0))
    watch.advance(4.0)
    assert watch.picture().utc_s == 1_784_000_000.0 + watch.now_s
    clockless = new_watch(Setup(two_rods, members=0))
    clockless.observe(Reading(0.6, "gps", Quantity.SOG, 1.0))
    clockless.advance(4.0)
    assert (clockless.t_s, clockless.picture().utc_s) == (4.0, None), "nor without a clock"


@pytest.mark.parametrize(("by_choice", "unchecked"), [(False, {"old"}), (True, {"gps", "old", UNNAMED})])
def test_a_source_that_was_recorded_without_checksums_is_played_without(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread, by_choice: bool, unchecked: set[str]
) -> None:
    heard: list[Any] = []
    monkeypatch.setattr(player_module, "Decoder", lambda **given: heard.append(given))
    given = {"probe": False, "speech": "nmea0183", "priority": 0}
    sources = [
        SimpleNamespace(name="gps", checked=True, **given),
        SimpleNamespace(name="old", checked=False, **given),
    ]
    recording: Any = SimpleNamespace(sources=sources, written="", lines=lambda: iter(()))
    chosen = {"unchecked": True} if by_choice else {}
    player_module.Player(recording, Setup(two_rods, members=0), **chosen)
    assert heard[0]["unchecked"] == unchecked


def test_the_newest_entry_is_said_as_soon_as_it_is_there(two_rods: Spread) -> None:
    watch = new_watch(Setup(two_rods, start="fishing", members=0))
    watch.observe(Reading(0.5, "gps", Quantity.SOG, 1.0))
    watch.advance(5.0)
    assert watch.picture().newest_entry == ""
    said = []
    for number, text in enumerate(("one", "two")):
        time = datetime(2026, 7, 18, 23, 0, 7, tzinfo=UTC)
        watch.act(parse({"id": text, "time": time, "kind": "note", "text": text, "elapsed_s": 5.5 + number}))
        watch.advance(7.0 + number)
        said.append(watch.picture().newest_entry)
    assert ["one" in said[0], "two" in said[1]] == [True, True]
    assert [entry.id for entry in watch.picture().entries] == ["one", "two"]


def test_marks_are_shown_from_the_first_fix_on(two_rods: Spread, hand_feed: type[Any]) -> None:
    """Those of earlier trips, and one that was entered with its place before there was any fix."""

    def mark(name: str, north_deg: float) -> Any:
        return parse({
            "id": name, "time": datetime(2026, 7, 1, tzinfo=UTC), "elapsed_s": 1.5, "kind": "mark", "what": "net",
            "latitude_deg": north_deg, "longitude_deg": -90.0,
        })  # fmt: skip

    feed = hand_feed(new_watch(Setup(two_rods, start="fishing", members=0, marked=(mark("a", 46.999),))))
    feed.watch.act(mark("b", 47.001))
    feed.run(4, sog=None)
    assert feed.watch.picture().marks == ()
    feed.run(3)
    assert sorted(round(one.astern_m / 10.0) for one in feed.watch.picture().marks) == [-10, 12]
