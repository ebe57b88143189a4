"""The words and limits of causes, from steps made by hand: what is said of the bottom, a release, a lure, a mark."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.feed.readings import Quantity, SensorState
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.alerts import causes as causes_module
from sternwatch.watch.alerts import tackle_causes
from sternwatch.watch.alerts.causes import SILENT_S, _passing_cause, _silent, causes
from sternwatch.watch.alerts.sensor_causes import contradictions
from sternwatch.watch.alerts.tackle_causes import (
    _bottom,
    _dragging,
    _propeller,
    _release,
    _speed,
    cautions,
    raise_words,
)
from sternwatch.watch.bottom.room import Ahead
from sternwatch.watch.picture.model import SpeedSource

METRIC, US = SYSTEMS["metric"], SYSTEMS["us"]


@pytest.fixture(autouse=True)
def lengths_are_as_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tackle_causes, "per_read", lambda _spread, _rod: 1.0)


def chain(**more: Any) -> Any:
    """A ball on twenty metres of cable."""
    rod = SimpleNamespace(key="4", name="S DOWN", bottom=None, speeds_m_s=None, deployed=())
    given = {
        "rod": rod, "rig": SimpleNamespace(kinds=("ball", "lure"), what=("ball", "spoon")), "attached_to": None,
        "place": SimpleNamespace(depth_m=20.0, shape_m=np.zeros((2, 3))), "state": object(), "out": True,
        "dark": False, "spread": None, "past_tip_m": 50.0,
    }  # fmt: skip
    return SimpleNamespace(**{**given, **more})


def ground(ahead: Ahead | None = None, *below: Any, **more: Any) -> Any:
    given = {"turning": False, "velocity_m_s": (1.0, 0.0), "below": {"4": below}}
    return SimpleNamespace(ahead={} if ahead is None else {"4": ahead}, **{**given, **more})


@pytest.mark.parametrize(
    ("touches_s", "bottom_m", "sloped", "said"),
    [
        (12.0, 21.04, False, "4 S DOWN: spoon touches bottom at 21.0 m"),
        (0.1, None, False, "4 S DOWN: spoon touches bottom"),
        (0.0, 21.04, False, "4 S DOWN: spoon is on the bottom at 21.0 m"),
        (-3.0, None, False, "4 S DOWN: spoon is on the bottom"),
        (12.0, None, True, "4 S DOWN: spoon touches bottom if the bottom keeps rising like this"),
    ],
)
def test_a_touch_is_said_with_its_depth_and_what_it_rests_on(
    touches_s: float, bottom_m: float | None, sloped: bool, said: str
) -> None:
    ahead = Ahead("spoon", touches_s, 1.04, None, sloped, bottom_m)
    (cause,) = _bottom(ground(ahead), chain(), "4 S DOWN", METRIC)
    assert (cause.kind, cause.text, cause.keys) == ("bottom touch", said, ("4",))
    assert cause.time_left_s == touches_s
    assert cause.advice == "Raise the ball 1.1 m"


def test_how_little_warning_there_is_is_said_in_feet_too() -> None:
    ahead = Ahead("ball", None, 0.0, 12.4, False, None)
    below = SimpleNamespace(what="ball", room_m=3.05)
    spoon = SimpleNamespace(what="spoon", room_m=1.0)
    (cause,) = _bottom(ground(ahead, None, below, spoon), chain(), "4 S DOWN", US)
    assert cause.text == "4 S DOWN: ball 10 ft off the bottom, at most 12 s of warning"
    assert cause.keys == ("4",)
    assert not list(_bottom(ground(ahead, spoon), chain(), "4 S DOWN", US)), "only of the piece that it is about"


@pytest.mark.parametrize(("room_m", "said"), [(-0.99, None), (-1.0, "1.0 m"), (-2.52, "2.5 m")])
def test_a_lure_a_metre_under_the_bottom_drags(room_m: float, said: str | None) -> None:
    """The lure is the outermost piece; what hangs before it does not count."""
    below = SimpleNamespace(what="spoon", room_m=room_m)
    ball = SimpleNamespace(what="ball", room_m=-9.0)
    found = list(_dragging(ground(None, ball, below), chain(), "4 S DOWN", METRIC))
    assert [one.kind for one in found] == ([] if said is None else ["dragging"])
    if said is not None:
        assert found[0].text == f"4 S DOWN: spoon drags, its depth would be {said} below the bottom"
        assert found[0].keys == ("4",)
        assert found[0].advice == f"Raise the ball {'2.6 m' if room_m < -2.0 else '1.0 m'}"
    assert not list(_dragging(ground(None, below), chain(place=None), "4 S DOWN", METRIC))
    assert not list(_dragging(ground(None), chain(), "4 S DOWN", METRIC)), "nothing is known of the bottom there"
    assert not list(_dragging(ground(None, below, below={}), chain(), "4 S DOWN", METRIC))
    assert not list(_dragging(ground(None, below, None), chain(), "4 S DOWN", METRIC)), "nor under its lure"


def test_what_to_do_depends_on_what_carries_the_line() -> None:
    ahead = Ahead("spoon", 5.0, 2.0, None, False, None)
    bare = SimpleNamespace(kinds=("lure",), what=("spoon",))
    boarded = SimpleNamespace(kinds=("board", "lure"), what=("board", "spoon"))
    for one, said in (
        (chain(), "Raise the ball 2.0 m"),
        (chain(attached_to="5"), "Raise rod 5's ball 2.0 m"),
        (chain(rig=boarded), "Speed up, or take it in: 2.0 m too deep"),
        (chain(rig=bare), "Take in about 5.0 m: it must come up 2.0 m"),  # 50 m of line for 20 m of depth
        (chain(rig=None), "Take in about 5.0 m: it must come up 2.0 m"),
        (chain(rig=bare, place=None), "Raise it 2.0 m"),
        (chain(rig=bare, state=None), "Raise it 2.0 m"),
        (chain(place=SimpleNamespace(depth_m=2.0)), "Take it in: the water is too shallow for it"),
        (chain(place=SimpleNamespace(depth_m=2.0), attached_to="5"),
         "Take rod 5's ball in: the water is too shallow for it"),
        (chain(rig=bare, place=SimpleNamespace(depth_m=0.0)), "Raise it 2.0 m"),
        (chain(rig=bare, place=SimpleNamespace(depth_m=-0.5)), "Raise it 2.0 m"),
    ):  # fmt: skip
        assert raise_words(one, ahead, METRIC) == said


@pytest.mark.parametrize(("share", "said"), [(None, None), (0.849, None), (0.85, "85 %"), (1.2, "120 %")])
def test_a_release_that_is_nearly_opened_is_told(
    monkeypatch: pytest.MonkeyPatch, share: float | None, said: str | None
) -> None:
    monkeypatch.setattr(tackle_causes, "release_share", lambda *_: share)
    found = list(_release(None, chain(), "4 S DOWN"))  # type: ignore[arg-type]
    assert [one.text for one in found] == (
        [] if said is None else [f"4 S DOWN: its release may open: it holds {said} of what opens it"]
    )
    assert all(one.keys == ("4",) for one in found)


@pytest.mark.parametrize(
    ("mean", "said"),
    [(None, None), (0.79, ("too slow", "Quicken")), (0.8, None), (1.2, None), (1.21, ("too fast", "Slow down"))],
)
def test_a_lure_is_told_outside_its_range_alone(mean: float | None, said: tuple[str, str] | None) -> None:
    rod = SimpleNamespace(key="4", speeds_m_s=(0.8, 1.2))
    found = list(_speed(mean, chain(rod=rod), "4 S DOWN", METRIC))
    assert [(said[0] in one.text, one.advice, one.keys) for one in found] == (
        [] if said is None else [(True, said[1], ("4",))]
    )
    assert not list(_speed(mean, chain(rod=SimpleNamespace(key="4", speeds_m_s=None)), "4 S DOWN", METRIC))


def test_only_lines_in_the_water_with_a_known_place_are_spoken_of(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("_propeller", "_bottom", "_release"):
        monkeypatch.setattr(tackle_causes, name, lambda *_: ())
    monkeypatch.setattr(tackle_causes, "_speed", lambda _mean, one, name, _units: [(one.rod.key, name)])
    care: Any = SimpleNamespace(mean_speed_m_s=lambda _key, _t_s: None)

    def told(source: SpeedSource = SpeedSource.THROUGH_WATER, **more: Any) -> list[Any]:
        boat = SimpleNamespace(source=source, speed_m_s=1.0)
        step: Any = SimpleNamespace(
            boat=boat, chains={"4": chain(**more)}, sensors={}, bottom=SimpleNamespace(ground=None), spread=None,
            t_s=9.0,
        )  # fmt: skip
        return list(cautions(step, care, METRIC))

    assert told() == [("4", "4 S DOWN")]
    assert told(SpeedSource.OVER_GROUND) == [("4", "4 S DOWN")]
    assert told(SpeedSource.NONE) == told(out=False) == told(dark=True) == told(place=None) == []


@pytest.mark.parametrize(
    ("aside_m", "side"), [(30.0, "starboard"), (0.5, "starboard"), (-30.0, "port"), (0.0, "port")]
)
@pytest.mark.parametrize(
    ("time_s", "where"), [(40.0, "lies on the way of"), (0.5, "lies on the way of"), (0.0, "is among")]
)
def test_a_mark_ahead_is_said_with_the_side_to_pass_it(aside_m: float, side: str, time_s: float, where: str) -> None:
    for keys, lines in ((("1",), "this line"), (("1", "2"), "these lines")):
        spot = SimpleNamespace(what="net", id="abc")
        passing: Any = SimpleNamespace(spot=spot, aside_m=aside_m, time_s=time_s, keys=keys)
        cause = _passing_cause(passing, METRIC)
        assert (cause.kind, cause.about, cause.keys) == ("net ahead", "abc", keys)
        assert cause.text == f"A net {where} {lines}"
        assert cause.advice == f"Pass {METRIC.show(abs(aside_m), causes_module.Dimension.LENGTH)} farther to {side}"
        assert cause.time_left_s == time_s


# -- what the sensors say -------------------------------------------------------------------------------------------


def step(**more: Any) -> Any:
    """A boat that knows her speed and her course, with a rod fishing."""
    boat = {
        "running": SimpleNamespace(words=lambda *_: ""), "source": SpeedSource.THROUGH_WATER, "way_known": True,
        "way_assumed": False, "why_no_speed": "", "speeds_differ": SimpleNamespace(words=lambda _units: ""),
        "compass_differs": SimpleNamespace(stands=False, words="Compass and course contradict"),
    }  # fmt: skip
    given = {
        "sensors": {Quantity.SOG: SimpleNamespace(state=SensorState.FRESH, age_s=0.5)}, "chains": {}, "t_s": 100.0,
        "crew": SimpleNamespace(rods={"4": SimpleNamespace(state="fishing")}),
        "twins": SimpleNamespace(by_quantity={}), "bottom": SimpleNamespace(passings=lambda _chains: ()),
    }  # fmt: skip
    boat |= {name: more.pop(name) for name in list(more) if name in boat}
    return SimpleNamespace(boat=SimpleNamespace(**boat), **{**given, **more})


def kinds(given: Any, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    monkeypatch.setattr(causes_module, "cautions", lambda *_: ())
    monkeypatch.setattr(causes_module, "why_no_way", lambda _sensors: "no heading")
    return [one.kind for one in causes(given, None, METRIC)]  # type: ignore[arg-type]


def test_of_speed_course_and_turns_the_worst_is_said_and_only_with_a_rod_out(monkeypatch: pytest.MonkeyPatch) -> None:
    none = {"source": SpeedSource.NONE, "way_known": False, "way_assumed": True}
    assert kinds(step(), monkeypatch) == []
    assert kinds(step(**none), monkeypatch) == ["no speed"]
    assert kinds(step(way_known=False, way_assumed=True), monkeypatch) == ["no course"]
    (said,) = causes(step(way_known=False, way_assumed=True), None, METRIC)  # type: ignore[arg-type]
    assert said.text == "No course, so no depths: no heading"
    (said,) = causes(step(way_assumed=True), None, METRIC)  # type: ignore[arg-type]
    assert said.text == "Depths as on a straight course, since turns cannot be seen: no heading"
    all_in = SimpleNamespace(rods={"4": SimpleNamespace(state="in")})
    for more in (none, {"way_known": False}, {"way_assumed": True}):
        assert kinds(step(crew=all_in, **more), monkeypatch) == []
    running = SimpleNamespace(words=lambda *_: "Four lines in, and she runs")
    assert kinds(step(running=running, **none), monkeypatch) == ["running", "no speed"]
    assert kinds(step(sensors={}, **none), monkeypatch) == ["no feed"]


def test_the_feed_is_silent_after_more_than_five_seconds() -> None:
    def aged(*ages: float | None) -> Any:
        return {k: SimpleNamespace(state=SensorState.FRESH, age_s=age) for k, age in enumerate(ages)}

    assert SILENT_S == 5.0
    assert not _silent(aged(5.0, 60.0))
    assert _silent(aged(5.01, 60.0, None))
    assert _silent(aged(None))


def test_a_compass_off_its_course_and_speeds_apart_are_said() -> None:
    said = SimpleNamespace(
        words=lambda units: f"Log and GPS differ by {units.show(0.5, tackle_causes.Dimension.SPEED)}"
    )
    off = SimpleNamespace(stands=True, words="Compass and course contradict")
    found = list(contradictions(step(speeds_differ=said, compass_differs=off), METRIC))
    assert [(one.kind, one.about) for one in found] == [("speeds differ", ""), ("sensors differ", "heading")]
    assert found[0].text.startswith("Log and GPS differ by ")
    assert found[1].text == "Compass and course contradict"
    assert not list(contradictions(step(), METRIC))


HANGS = np.array([(1.0, 0.5, -1.0), (1.0, 0.5, 20.0)])  # a line by the propeller


@pytest.mark.parametrize(
    ("speed_m_s", "sog", "course", "heading", "said"),
    [
        (0.35, None, None, None, None), (0.34, None, None, None, "stopping"),
        (0.5, 0.2, 180.0, 0.0, "going astern"), (0.5, 0.19, 180.0, 0.0, None), (0.1, 0.19, 180.0, 0.0, "stopping"),
        (0.5, 0.6, 100.0, 280.0, "going astern"), (0.5, 0.6, 170.0, 290.0, None), (0.5, 0.6, 10.0, 350.0, None),
        (0.5, 0.6, 170.0, 291.0, "going astern"), (0.5, 0.6, 291.0, 170.0, "going astern"),
        (0.5, None, 180.0, 0.0, None), (0.5, 0.6, None, 0.0, None), (0.5, 0.6, 180.0, None, None),
    ],
)  # fmt: skip
def test_she_goes_astern_where_her_course_is_120_degrees_from_where_she_points(
    speed_m_s: float, sog: float | None, course: float | None, heading: float | None, said: str | None
) -> None:
    told = ((Quantity.SOG, sog), (Quantity.COG, course), (Quantity.HEADING, heading))
    sensors = {quantity: sensor(value, "A") for quantity, value in told if value is not None}
    by = chain(place=SimpleNamespace(shape_m=HANGS))
    far = chain(place=SimpleNamespace(shape_m=HANGS + np.array([9.0, 0.0, 0.0])))
    lines: Any = {"1": by, "2": far, "3": chain(place=None), "4": chain(place=by.place, dark=True), "5": by}
    found = list(_propeller(speed_m_s, lines, sensors))
    assert [one.text for one in found] == ([] if said is None else [f"Lines 1 5 near the propeller, {said}"])
    assert all((one.keys, one.about) == (("1", "5"), "propeller") for one in found)


def sensor(value: float, source: str, sentence: str = "DPT") -> Any:
    return SimpleNamespace(
        value=value, source=source, sentence=sentence, state=SensorState.FRESH, suspect="", age_s=0.5
    )


@pytest.mark.parametrize(
    ("quantity", "text", "advice"),
    [
        (Quantity.BOTTOM, "Sounders contradict each other: 20 m (A DPT), 40 m (B DPT)",
         "The shallower counts until you know which is wrong"),
        (Quantity.WATER_TEMPERATURE, "Thermometers contradict each other: 20 °C (A DPT), 40 °C (B DPT)",
         "Check both; the first is in use"),
    ],
)  # fmt: skip
def test_two_of_a_kind_are_said_by_name(quantity: Quantity, text: str, advice: str) -> None:
    pair = sensor(20.0, "A"), sensor(40.0, "B")
    twin = SimpleNamespace(stands=True, pair=pair, quantity=quantity)
    rest = [SimpleNamespace(stands=False, pair=pair, quantity=quantity),
            SimpleNamespace(stands=True, pair=None, quantity=quantity)]  # fmt: skip
    twins = SimpleNamespace(by_quantity=dict(enumerate([*rest, twin])))
    (cause,) = contradictions(step(twins=twins), METRIC)
    assert (cause.text, cause.advice) == (text, advice)
    assert cause.about == quantity.value


@pytest.mark.parametrize(("age_s", "said"), [(None, None), (59.9, None), (60.0, "1 min"), (150.0, "2 min")])
def test_a_bottom_long_lost_is_said_in_minutes(age_s: float | None, said: str | None) -> None:
    sensors = {Quantity.BOTTOM: SimpleNamespace(age_s=age_s, state=SensorState.SILENT)}
    found = list(contradictions(step(sensors=sensors), METRIC))
    assert [one.text for one in found] == ([] if said is None else [f"No bottom for {said}: nothing warns of it"])
    all_in = SimpleNamespace(rods={"4": SimpleNamespace(state="in")})
    assert not list(contradictions(step(sensors=sensors, crew=all_in), METRIC))
