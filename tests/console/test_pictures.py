"""The pictures of the README, made from the screens themselves: a stale one fails.

``STERNWATCH_PICTURES=write pytest tests/console/test_pictures.py`` makes them anew; look at each before it is kept.
"""

from __future__ import annotations

import os
import re
from collections.abc import Awaitable, Callable
from pathlib import Path

import fake_picture
import pytest
from fake_runner import FakeRunner

from console.frame.test_app import settled
from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp

FOLDER = Path(__file__).parents[2] / ".github" / "pictures"


pytestmark = pytest.mark.usefixtures("at_rest")


async def helm(_app: SternwatchApp) -> None:
    """As it opens."""


async def glance(app: SternwatchApp) -> None:
    app.show_view("glance")


async def manual(app: SternwatchApp) -> None:
    app.show_manual()


PICTURES: dict[str, tuple[str, tuple[int, int], str, Callable[[SternwatchApp], Awaitable[None]]]] = {
    "helm-day": ("day", (120, 40), "turning", helm),
    "helm-night": ("night", (120, 40), "straight", helm),
    "glance": ("dusk", (100, 30), "straight", glance),
    "manual": ("dusk", (100, 30), "straight", manual),
}


@pytest.mark.parametrize("name", PICTURES)
async def test_the_picture_of_the_readme_is_what_the_screen_shows(name: str) -> None:
    theme, size, case, go = PICTURES[name]
    picture = fake_picture.CASES[case]()
    app = SternwatchApp(FakeRunner(picture.session, picture), Preferences(theme=theme))
    app.clock = lambda: 1000.0
    app.started_s = 1000.0
    app.cautions_read = 99
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        await go(app)
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
