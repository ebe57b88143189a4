"""Beside a session: what an interval is made of and the fit, made once for a question and kept on the disk."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any, TypeVar

import pytest

from sternwatch.answers.belief import calibration_file
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.season.keeping import Season
from sternwatch.feed.readings import Quantity, Reading
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, SpeedSource
from sternwatch.watch.sessions import how_sure
from sternwatch.watch.sessions.how_sure import Knowing, Lesson, PartsAsked, _alike, _keep, _told

# As agreed: a change of one is to be noticed.
HEADING_STEP_RAD = math.radians(15.0)
LINE_STEP_M = 0.5
SPEED_STEP_M_S = 0.05
TOLD_STEP = 0.1

Made = TypeVar("Made")


def awaited(ask: Callable[[], Made | None]) -> Made:
    """What comes of asking again and again, for at most a minute."""
    for _ in range(600):
        made = ask()
        if made is not None:
            return made
        time.sleep(0.1)
    raise AssertionError("no answer came")


@pytest.fixture(scope="module")
def session(two_rods: Spread) -> tuple[Spread, Picture, Picture]:
    """The spread, a picture of a settled course with a logger's depth entered, and one before that was."""
    watch = new_watch(Setup(two_rods, start="fishing"))
    now = [0.0]

    def run(seconds: int) -> Picture:
        for _ in range(seconds):
            now[0] += 1.0
            said = {Quantity.CLOCK: 1.784e9 + now[0], Quantity.STW: 1.0, Quantity.SOG: 1.0, Quantity.COG: 0.0}
            for quantity, value in said.items():
                watch.observe(Reading(now[0], "hand", quantity, value, "TST"))
            watch.advance(now[0])
        return watch.picture()

    before = run(240)

    def observed(number: int, **fields: Any) -> None:
        given = {"id": f"o{number}", "time": datetime.fromtimestamp(1.784e9 + now[0], UTC), "elapsed_s": now[0]}
        watch.act(parse(given | {"kind": "observed"} | fields))

    observed(1, rod="1", what="logger", depth_m=18.0)
    run(2)
    observed(2, rod="2", what="cable angle", angle_deg=15.0)
    return two_rods, before, run(2)


def test_parts_are_made_once_for_a_rod_as_it_is(session: tuple[Spread, Picture, Picture]) -> None:
    spread, before, after = session
    knowing = Knowing(spread, None)
    assert knowing.parts(before, "1") is None  # asked, and never waited for
    found = awaited(lambda: knowing.parts(before, "1"))
    assert found.off_m is not None
    assert sum(part.share for part in found.parts) == pytest.approx(1.0)
    assert knowing.parts(after, "1") is found  # four seconds on nothing has changed
    other = awaited(lambda: knowing.parts(after, "2"))
    assert other.key == "2"
    assert other is not found
    assert knowing.parts(before, "no such rod") is None
    assert knowing.trouble == ""
    knowing.stop()


def test_they_agree_with_the_members_of_the_picture(session: tuple[Spread, Picture, Picture]) -> None:
    spread, before, _ = session
    knowing = Knowing(spread, None)
    for rod in before.rods:
        found = awaited(lambda key=rod.key: knowing.parts(before, key))  # type: ignore[misc]
        assert rod.depth_interval_m is not None
        low, high = rod.depth_interval_m
        # Sixteen members: their interval is wider by Student's t, and by chance off by a fifth.
        assert 0.6 < found.off_m / (0.5 * (high - low)) < 1.3
    knowing.stop()


def test_a_fit_is_made_when_there_is_something_and_kept(
    session: tuple[Spread, Picture, Picture], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    spread, before, after = session
    knowing = Knowing(spread, None)
    assert not knowing.anything(before)
    assert knowing.fitted(before) is None
    assert knowing.anything(after)
    fitted = awaited(lambda: knowing.fitted(after))
    assert [one.used for one in fitted.fit.observations] == [True, True]
    first = next(rod for rod in fitted.report.rods if rod.key == "1")
    assert first.interval_before_m is not None
    assert first.interval_after_m is not None
    wide, tight = (high - low for low, high in (first.interval_before_m, first.interval_after_m))
    assert tight < 0.6 * wide
    assert knowing.fitted(after) is fitted
    assert knowing.kept is None
    knowing.keep(fitted)
    kept = awaited(lambda: knowing.kept)
    assert kept.saved
    assert kept.name == fitted.fit.calibration.name
    newest, words = calibration_file.newest_for(spread)
    assert newest is not None
    assert newest.name == kept.name
    assert words == ()
    knowing.stop()


def test_what_cannot_be_kept_says_so(
    session: tuple[Spread, Picture, Picture], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("not a folder")
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(in_the_way))
    spread, _, after = session
    knowing = Knowing(spread, None)
    fitted = awaited(lambda: knowing.fitted(after))
    knowing.keep(fitted)
    kept = awaited(lambda: knowing.kept)
    assert not kept.saved
    assert "cannot be saved" in kept.words
    knowing.stop()


def test_on_the_water_a_trips_end_teaches_the_season_beside_the_logbook(
    session: tuple[Spread, Picture, Picture], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path))
    spread, _, after = session
    knowing = Knowing(spread, None, "a trip")
    knowing.teach(spread, after.observations)
    kept = awaited(lambda: knowing.kept)
    knowing.stop()
    assert kept.saved
    assert "beside the logbook" in kept.words
    (update,) = Season(tmp_path / "season").updates
    assert update.trip == "a trip"
    assert update.used == sum(one.used for one in after.observations) > 0
    ashore = Knowing(spread, None)
    ashore.teach(spread, after.observations)
    assert ashore.kept is None


@pytest.mark.parametrize(
    ("more", "alike"),
    [
        ({}, True), ({"speed_m_s": 1.0 + 0.9 * SPEED_STEP_M_S}, True),
        ({"speed_m_s": 1.0 + 1.1 * SPEED_STEP_M_S}, False),
        ({"heading_rad": 6.2 - 0.9 * HEADING_STEP_RAD}, True), ({"heading_rad": 6.2 + 1.1 * HEADING_STEP_RAD}, False),
        ({"told": 0.5 + 0.9 * TOLD_STEP}, True), ({"told": 0.5 + 1.1 * TOLD_STEP}, False), ({"key": "2"}, False),
        ({"over_ground": True}, False), ({"now": RodNow(40.0 + 0.9 * LINE_STEP_M, "low")}, True),
        ({"now": RodNow(40.0 + 1.1 * LINE_STEP_M, "low")}, False), ({"now": RodNow(40.0, "high")}, False),
        ({"now": RodNow(None, "low")}, False),
    ],
)  # fmt: skip
def test_an_answer_holds_while_hardly_anything_changes(two_rods: Spread, more: dict[str, Any], alike: bool) -> None:
    asked = PartsAsked(two_rods, "1", RodNow(40.0, "low"), 1.0, 6.2, False, 0.5)
    assert _alike(asked, replace(asked, **more)) is alike
    unknown = replace(asked, now=RodNow(None, "low"))
    assert _alike(unknown, unknown)


@pytest.mark.parametrize(
    ("source", "current_off", "scale_off", "told"),
    [
        (SpeedSource.OVER_GROUND, 0.0, None, 0.0), (SpeedSource.OVER_GROUND, 0.175, None, 0.5),
        (SpeedSource.OVER_GROUND, 9.0, None, 1.0), (SpeedSource.THROUGH_WATER, 9.0, 0.025, 0.5),
        (SpeedSource.THROUGH_WATER, 9.0, None, 0.0), (SpeedSource.THROUGH_WATER, 0.0, 9.0, 1.0),
        (SpeedSource.OVER_GROUND, 0.35 / 3.0, None, 0.33),
    ],
)  # fmt: skip
def test_what_is_left_of_the_speeds_error(
    two_rods: Spread, source: SpeedSource, current_off: float, scale_off: float | None, told: float
) -> None:
    """Of 0.35 m/s of current over ground, and of a twentieth of the log's scale: what is believed before (90 %)."""
    water = SimpleNamespace(current_off_m_s=current_off, scale_off=scale_off)
    own = SimpleNamespace(water=water, speed_source=source)
    assert _told(two_rods, SimpleNamespace(own=own)) == pytest.approx(told, abs=0.01)  # type: ignore[arg-type]
    assert round(100.0 * _told(two_rods, SimpleNamespace(own=own)), 9) % 1.0 == 0.0, "in hundredths"  # type: ignore[arg-type]
    own.water = None
    assert _told(two_rods, SimpleNamespace(own=own)) == 1.0  # type: ignore[arg-type]


def test_what_is_asked_of_a_rods_parts(two_rods: Spread) -> None:
    knowing = Knowing.__new__(Knowing)
    knowing._spread_of = lambda _: two_rods  # type: ignore[method-assign]
    own = SimpleNamespace(
        water=None, speed_source=SpeedSource.OVER_GROUND, speed_m_s=1.1, speed_mean_m_s=1.0, heading_deg=None,
        course_deg=90.0,
    )  # fmt: skip
    rod = SimpleNamespace(key="1", depth_m=10.0, line_out_m=40.0, setting="low", lead_m=None)
    picture: Any = SimpleNamespace(own=own, rods=[rod])
    asked = knowing._parts_of(picture, "1")
    assert asked == PartsAsked(two_rods, "1", RodNow(40.0, "low"), 1.0, math.pi / 2.0, True, 1.0)
    own.speed_source, own.speed_mean_m_s, own.heading_deg = SpeedSource.THROUGH_WATER, None, 180.0
    asked = knowing._parts_of(picture, "1")
    assert asked is not None
    assert (asked.over_ground, asked.speed_m_s, asked.heading_rad) == (False, 1.1, math.pi)
    assert knowing._parts_of(picture, "2") is None
    for name, value in (("speed_m_s", None), ("speed_source", SpeedSource.NONE)):
        unknown = SimpleNamespace(**{**vars(own), name: value})
        assert knowing._parts_of(SimpleNamespace(own=unknown, rods=[rod]), "1") is None  # type: ignore[arg-type]
    rod.depth_m = None
    assert knowing._parts_of(picture, "1") is None


def test_touches_on_purpose_are_those_that_inform_of_that_rod_since_it_began() -> None:
    knowing = Knowing.__new__(Knowing)
    knowing.purpose = None

    def seen(name: str, *, used: bool = True, said: str = "touched bottom", rod: str = "1") -> Any:
        return SimpleNamespace(id=name, rod=rod, used=used, said=said)

    picture: Any = SimpleNamespace(t_s=10.0, rods=[], observations=[seen("a")])
    assert knowing.touched(picture) == 0
    knowing.begin_purpose(picture, "1")
    picture.observations += [
        seen("b"), seen("c", used=False), seen("d", said="logger"), seen("e", rod="2"), seen("f"),
    ]  # fmt: skip
    assert knowing.touched(picture) == 2


class Asked:
    """In place of a thread beside: what it was asked, and what went wrong."""

    def __init__(self, trouble: str = "") -> None:
        self.asked: list[Any] = []
        self.trouble = trouble

    def ask(self, question: Any) -> None:
        self.asked.append(question)


@pytest.mark.parametrize(("fits", "keeps", "said"), [("a", "", "a"), ("", "b", "b"), ("a", "b", "a"), ("", "", "")])
def test_what_went_wrong_with_a_fit_or_its_keeping_is_said(fits: str, keeps: str, said: str) -> None:
    knowing = Knowing.__new__(Knowing)
    knowing._fits, knowing._keeps = Asked(fits), Asked(keeps)  # type: ignore[assignment]
    assert knowing.fit_trouble == said


def test_only_observations_that_inform_of_a_trip_under_way_are_taught(two_rods: Spread) -> None:
    knowing = Knowing.__new__(Knowing)
    used, unused = (SimpleNamespace(used=used) for used in (True, False))
    for trip, seen, lessons in (("t", [unused, used], 1), ("t", [unused], 0), ("", [used], 0), ("t", [], 0)):
        knowing.trip, knowing._keeps = trip, Asked()  # type: ignore[assignment]
        knowing.teach(two_rods, seen)  # type: ignore[arg-type]
        assert len(knowing._keeps.asked) == lessons  # type: ignore[attr-defined]


def test_a_calibration_that_teaches_nothing_is_not_kept(two_rods: Spread) -> None:
    nothing: Any = SimpleNamespace(name="of today", lasting=lambda: SimpleNamespace(names=()))
    kept = _keep(Lesson(two_rods, (), "", nothing))
    assert (kept.name, kept.saved) == ("of today", False)
    assert kept.words == "there is nothing to keep: no observation said anything about the tackle"


@pytest.mark.parametrize(("learns", "seasons"), [(True, True), (False, False), (None, False)])
def test_a_fit_goes_on_from_the_season_where_the_season_holds_anything_of_this_gear(
    monkeypatch: pytest.MonkeyPatch, two_rods: Spread, learns: bool | None, seasons: bool
) -> None:
    """Else from what is known of the gear besides. Its name is its moment and the boat, cut to eighty letters."""
    from sternwatch.answers.belief import fit, fit_report, observations

    asked: list[tuple[Any, dict[str, Any]]] = []

    def fitted(_: object, seen: Any, **more: Any) -> Any:
        asked.append((seen, more))
        return SimpleNamespace()

    monkeypatch.setattr(fit, "fit", fitted)
    monkeypatch.setattr(fit_report, "report", lambda _, speed: speed)
    monkeypatch.setattr(fit_report, "usual_speed", lambda _: 1.1)
    monkeypatch.setattr(observations, "known_of", lambda _: ("known",))
    own = SimpleNamespace(names=("line drag",) if learns else ())
    learned: Any = None if learns is None else SimpleNamespace(fitted_to=lambda _: (own, ("tackle",)))
    boat = two_rods.boat.model_copy(update={"name": "b" * 200})
    seen: Any = ("seen",)
    question = how_sure._FitAsked(two_rods.model_copy(update={"boat": boat}), seen, 1_784_000_000.7, learned)
    answer = how_sure._fitted(question)
    assert answer[0] is question
    ((given, more),) = asked
    assert given == (("seen",) if seasons else ("known", "seen"))
    assert more.get("season") is (own if seasons else None)
    assert more["made"] == datetime(2026, 7, 14, 3, 33, 20, tzinfo=UTC)
    assert more["name"] == "2026-07-14 03:33 " + "b" * 63
