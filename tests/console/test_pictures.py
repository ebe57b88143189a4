"""The pictures of the README, made from the screens themselves: a stale one fails.

``STERNWATCH_PICTURES=write pytest tests/console/test_pictures.py`` makes them anew; look at each before it is kept.
"""

from __future__ import annotations

import os
import re
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path

import fake_picture
import made_chart
import pytest
from fake_runner import FakeRunner
from textual.pilot import Pilot

from console.controls.test_trip import crew
from console.debrief.test_screen import made
from console.frame.test_app import settled
from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp
from sternwatch.console.chart.screen import ChartBoard
from sternwatch.console.debrief.screen import DebriefText
from sternwatch.watch.picture.model import Picture

FOLDER = Path(__file__).parents[2] / ".github" / "pictures"


pytestmark = pytest.mark.usefixtures("at_rest")


async def helm(_app: SternwatchApp, _pilot: Pilot[None]) -> None:
    """As it opens."""


async def glance(app: SternwatchApp, _pilot: Pilot[None]) -> None:
    app.show_view("glance")


async def chart(app: SternwatchApp, pilot: Pilot[None]) -> None:
    app.show_view("chart")
    await pilot.press("pagedown", "end")
    await settled(pilot)
    charting = app.screen.query_one(ChartBoard).charting
    while charting._beside.made is None or charting._beside.made[0] is not charting._asked:
        await settled(pilot)  # the bottom of what is seen now is made beside the screen


async def debrief(app: SternwatchApp, pilot: Pilot[None]) -> None:
    app.show_view("debrief")
    await made(pilot, app)
    app.screen.query_one(DebriefText).part = "timeline"


def evening() -> Picture:
    caught = ((t_s, "hit", rod, {}) for rod, t_s in made_chart.CAUGHT)
    return replace(made_chart.evening(), crew=crew(*caught))


async def manual(app: SternwatchApp, _pilot: Pilot[None]) -> None:
    app.show_manual()


Shown = tuple[str, tuple[int, int], Callable[[], Picture], Callable[[SternwatchApp, Pilot[None]], Awaitable[None]]]
PICTURES: dict[str, Shown] = {
    "helm-day": ("day", (120, 40), fake_picture.CASES["turning"], helm),
    "helm-night": ("night", (120, 40), fake_picture.CASES["straight"], helm),
    "glance": ("dusk", (100, 30), fake_picture.CASES["straight"], glance),
    "chart": ("dusk", (120, 40), made_chart.picture, chart),
    "debrief": ("day", (120, 40), evening, debrief),
    "manual": ("dusk", (100, 30), fake_picture.CASES["straight"], manual),
}


@pytest.mark.parametrize("name", PICTURES)
async def test_the_picture_of_the_readme_is_what_the_screen_shows(name: str) -> None:
    theme, size, make, go = PICTURES[name]
    picture = make()
    app = SternwatchApp(FakeRunner(picture.session, picture), Preferences(theme=theme))
    app.clock = lambda: 1000.0
    app.started_s = 1000.0
    app.cautions_read = 99
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        await go(app, pilot)
        await settled(pilot)
        drawn = without_names(app.export_screenshot(title="sternwatch"))
    kept = FOLDER / f"{name}.svg"
    if os.environ.get("STERNWATCH_PICTURES") == "write":
        FOLDER.mkdir(parents=True, exist_ok=True)
        kept.write_text(drawn, encoding="utf-8")
    assert kept.read_text(encoding="utf-8") == drawn, f"{kept.name} is stale: make it anew and look at it"


def without_names(svg: str) -> str:
    """The picture without the number that every export draws for its names, and without fonts from elsewhere."""
    svg = re.sub(r"terminal-[0-9a-f-]+-", "terminal-", svg)
    return re.sub(r"\s*@font-face \{.*?\}", "", svg, flags=re.DOTALL)


def test_the_readme_shows_every_picture_and_no_other() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    assert set(re.findall(r"\.github/pictures/([a-z-]+)\.svg", readme)) == set(PICTURES)
    assert {file.stem for file in FOLDER.glob("*.svg")} == set(PICTURES)
