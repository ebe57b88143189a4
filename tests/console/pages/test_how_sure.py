"""How sure a depth is, and the fit: pages made from values, and the screens through the app."""

from __future__ import annotations

import asyncio
import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import fake_picture
import numpy as np
import pytest
from fake_runner import FakeRunner

from sternwatch.answers.belief.attribution import Attribution, Part
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.fit_report import FitReport, Learned, Next, ObservationFit, RodFit
from sternwatch.answers.belief.narrowing import Narrowing
from sternwatch.answers.belief.observations import Observation, What
from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp
from sternwatch.console.frame.bars import FrameBar
from sternwatch.console.pages import fit
from sternwatch.console.pages import how_sure as sure
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.picture.model import Picture, RodPicture, RodState, Session
from sternwatch.watch.sessions.how_sure import Kept

US, METRIC = SYSTEMS["us"], SYSTEMS["metric"]
FOUND = Attribution(
    "3", 1.03, 20.0, 4.0,
    (Part("drag of wire", ("line wire drag",), 0.52, 2.9),
     Part("speed is over ground", ("current north",), 0.31, 2.2),
     Part("its counter", ("rod 3 counter",), 0.169, 1.6), Part("lift of board", ("x",), 0.001, 0.1)),
    narrowed=Narrowing("touch", 1.2),
)  # fmt: skip


def text(lines: list[Any], width: int) -> str:
    """The page as it is painted; no span may leave it."""
    rows = []
    for line in lines:
        row = [" "] * width
        for x, words, _ in line:
            assert x >= 0
            assert x + len(words) <= width, words
            row[x : x + len(words)] = words
        rows.append("".join(row).rstrip())
    return "\n".join(rows)


def rod(picture: Picture, key: str) -> RodPicture:
    return next(rod for rod in picture.rods if rod.key == key)


@pytest.mark.parametrize("width", [80, 120, 200])
def test_what_an_interval_is_made_of_in_words_and_bars(width: int) -> None:
    picture = fake_picture.straight()
    shown = text(sure.page(picture, rod(picture, "3"), FOUND, US, width, "block"), width)
    flat = " ".join(shown.split())
    assert "3 P LOW" in shown
    assert "On a straight course at 2.3 mph: ±13 ft. Half of it: drag of wire; a third: speed is over ground" in flat
    rows = {line.split("  ")[0].strip(): line for line in shown.splitlines()}
    assert (
        rows["drag of wire"].count("█") > rows["speed is over ground"].count("█") > rows["its counter"].count("█") > 0
    )
    assert "±10" in rows["drag of wire"]
    assert "52 %" in rows["drag of wire"]
    assert "lift of board" not in shown  # a thousandth
    assert flat.endswith("Touch bottom once at 66 ft: ±13 becomes ±4 ft.")
    untold = text(sure.page(picture, rod(picture, "3"), replace(FOUND, narrowed=None), US, width, "block"), width)
    assert "becomes" not in untold


def test_plain_glyphs_and_metres() -> None:
    picture = fake_picture.straight()
    shown = text(sure.page(picture, rod(picture, "3"), FOUND, METRIC, 80, "plain"), 80)
    assert "█" not in shown
    assert "##" in shown
    assert "±2.9" in shown


def test_while_it_is_made_and_where_nothing_is_known() -> None:
    picture = fake_picture.straight()
    three = rod(picture, "3")
    assert "Working out what this is made of" in text(sure.page(picture, three, None, US, 80, "block"), 80)
    trouble = text(sure.page(picture, three, None, US, 80, "block", "ValueError: x"), 80)
    assert "could not be worked out: ValueError: x" in trouble
    gone = replace(three, depth_m=None, state=RodState.IN, why_no_depth="the rod is in")
    assert "No depth now: the rod is in." in text(sure.page(picture, gone, None, US, 80, "block"), 80)
    lost = Attribution("3", 1.0, None, None, (), "no steady shape is known for it at this speed")
    assert "no steady shape" in text(sure.page(picture, three, lost, US, 80, "block"), 80)


def _observation(key: str, value: float, why: str = "", what: What = What.DEPTH) -> Observation:
    return Observation(f"o{key}", key, what, value, 1.2, 1.03, "logger", why=why)


REPORT = FitReport(
    1.03,
    (Learned("line wire strumming", "1", "s", (1.0, 1.0, 2.05), (1.1, 1.3, 1.6), 0.5, 0.4),
     Learned("tackle disc roll high", "rad", "s", (-0.087, 0.0, 0.087), (-0.02, 0.02, 0.06), 0.4, 0.5)),
    (RodFit("3", "P LOW", 28.0, (20.0, 33.0), 22.0, (20.0, 24.0), True, 1.0),
     RodFit("5", "S DOWN", None, None, None, None, False, None)),
    (ObservationFit(_observation("3", 21.0), 28.0, 21.5, 0.4, 0.98, False),
     ObservationFit(_observation("5", 45.0), 18.0, 18.1, -20.0, 0.0, True),
     ObservationFit(_observation("6", math.nan, "the boat was turning"), None, None, None, None, False)),
    (Next("3", What.DEPTH, None, 0.61, 2.0, 0.7), Next("5", What.CABLE_ANGLE, None, 0.2, 1.0, 0.6)),
)  # fmt: skip
CALIBRATION = Calibration("2026-07-18 23:30 demo", ("line wire strumming",), np.zeros(1), np.eye(1))
FITTED: Any = SimpleNamespace(
    report=REPORT,
    fit=SimpleNamespace(
        used=REPORT.observations[:2],
        observations=[row.one for row in REPORT.observations],
        calibration=CALIBRATION,
    ),
)


@pytest.mark.parametrize("width", [80, 120, 200])
def test_the_fit_says_what_counts_what_was_learned_and_what_to_do_next(width: int) -> None:
    shown = text(fit.page(fit.Known(FITTED, "", 3, known=True), US, width), width)
    flat = " ".join(shown.split())
    assert "No calibration is in use" in flat
    assert "2 of 3 observations are used." in flat
    assert "not used: the boat was turning" in flat
    assert "disagrees with all the others, so it hardly counts" in flat
    assert "3 P LOW 92 (66–108) 72 (66–79) 31 % as wide" in flat
    assert "5 S DOWN – –" in flat
    assert "hum of wire ×1.00–×2.05 ×1.30 (×1.10–×1.60)" in flat
    assert "roll of disc at high -5.0°–+5.0° +1.1° (-1.1°–+3.4°)" in flat
    assert "3 P LOW: where it touches the bottom. Its ±6.6 would be ±2.3 ft; 61 % less doubt over all rods." in flat
    assert "5 S DOWN: the angle of its cable." in flat
    assert "6 logger – " in flat


def test_before_there_is_a_fit() -> None:
    made = text(fit.page(fit.Known(None, "2026-07-01 lake", 0, known=False), US, 80), 80)
    assert "Calibration in use: 2026-07-01 lake." in made
    assert "Nothing to fit yet." in made
    assert "touched bottom (h)" in " ".join(made.split())
    making = text(fit.page(fit.Known(None, "", 1, known=True), US, 80), 80)
    assert "Working out the fit." in making
    broken = text(fit.page(fit.Known(None, "", 1, known=True, trouble="OSError: full"), US, 80), 80)
    assert "The fit failed: OSError: full" in broken


class FakeKnowing:
    """Answers at once."""

    def __init__(self) -> None:
        self.trouble = self.fit_trouble = ""
        self.kept: Kept | None = None
        self.asked: list[str] = []

    def parts(self, _: Picture, key: str) -> Attribution:
        self.asked.append(key)
        return replace(FOUND, key=key)

    def fitted(self, _: Picture) -> Any:
        return FITTED

    def anything(self, _: Picture) -> bool:
        return True

    def keep(self, fitted: Any) -> None:
        self.kept = Kept(fitted.fit.calibration.name, "kept as x.json", saved=True)


def _app(calibration: str = "") -> tuple[SternwatchApp, FakeRunner, FakeKnowing]:
    picture = replace(fake_picture.straight(Session.LIVE), calibration=calibration)
    runner, knowing = FakeRunner(Session.LIVE, picture), FakeKnowing()
    runner.knowing = knowing  # type: ignore[assignment]
    app = SternwatchApp(runner, Preferences())
    app.cautions_read = 99
    return app, runner, knowing


def test_enter_twice_keeps_the_calibration_and_rod_keys_are_hits() -> None:
    async def session() -> None:
        app, runner, knowing = _app()
        async with app.run_test(size=(100, 30)) as pilot:
            await pilot.pause()
            app.show_view("fit")
            await pilot.pause()
            await pilot.press("enter")
            assert knowing.kept is None
            assert app.controls.said is not None
            assert "once more keeps 2026-07-18 23:30 demo" in app.controls.said.text
            await pilot.press("enter")
            assert knowing.kept is not None
            assert app.controls.typing is None
            await pilot.press("3")
            assert runner.did() == [("hit", "3")]

    asyncio.run(session())


def test_how_sure_follows_the_chosen_rod() -> None:
    async def session() -> None:
        app, runner, knowing = _app()
        async with app.run_test(size=(100, 30)) as pilot:
            await pilot.pause()
            app.show_view("how sure")
            await pilot.press("right")
            await pilot.press("right")
            await pilot.pause()
            assert knowing.asked[-1] == app.controls.chosen
            assert len(set(knowing.asked)) > 1
            assert runner.actions == []

    asyncio.run(session())


@pytest.mark.parametrize(
    ("name", "shown"), [("lake 7", " calibrated lake 7 "), ("x" * 55, f" {'x' * 55} "), ("", "sternwatch")]
)
def test_the_frame_names_the_calibration(name: str, shown: str) -> None:
    async def session() -> None:
        app, _, _ = _app(name)
        async with app.run_test(size=(80, 24)) as pilot:
            for _ in range(40):
                await pilot.pause(0.1)
                if app.controls.picture is not None:
                    break
            app.renew()
            top = app.screen.query_one(FrameBar).render_line(0).text
            assert shown in top
            assert ("calibrated" in top) == (name == "lake 7")

    asyncio.run(session())
