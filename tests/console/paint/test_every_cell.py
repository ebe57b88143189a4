"""Whole screens, cell by cell in every theme: the same words, every letter to be read, no white at night.

Contrast as in ``test_themes``: WCAG 2.2, success criterion 1.4.3 (4.5 to 1 for words), and 1.4.11 (3 to 1 for what
shows which row is chosen).
"""

from __future__ import annotations

import re

import fake_picture
import pytest
from fake_runner import FakeRunner
from painted import cells
from textual.command import CommandList

from console.frame.test_app import settled
from console.paint.test_themes import SHIPPED, contrast_of, warm
from sternwatch import __version__
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.app import SternwatchApp
from sternwatch.console.paint.hiding import in_ascii

# Box lines, blocks and braille draw; everything else is to be read.
DRAWN = (("\u2500", "\u259f"), ("\u2800", "\u28ff"), ("\U0001fb00", "\U0001fbff"))
SHORT = {"btm": "bottom"}  # in ASCII a blank parts it from the sign before it
VIEWS = ("helm", "glance", "chart", "ahead", "sensors", "producing", "check")


def console(theme: str, case: str = "troubled") -> SternwatchApp:
    state.save(state.State(theme=theme, cautions_read=__version__))
    picture = fake_picture.CASES[case]()
    app = SternwatchApp(FakeRunner(picture.session, picture), Preferences(theme=theme))
    app.clock = lambda: 1000.0
    app.started_s = 0.0
    return app


def is_read(char: str) -> bool:
    return bool(char.strip()) and not any(first <= char <= last for first, last in DRAWN)


def hard_to_read(app: SternwatchApp) -> set[tuple[str, object, object]]:
    return {
        (char, front, back)
        for row in cells(app)
        for char, front, back in row
        if is_read(char) and contrast_of(front, back) < 4.5
    }


def text(app: SternwatchApp) -> list[str]:
    return ["".join(char for char, _, _ in row) for row in cells(app)]


def shown_words(lines: list[str]) -> set[str]:
    """The words above the footer."""
    return {SHORT.get(word, in_ascii(word)) for line in lines[:-3] for word in re.findall(r"[^\W\d_]{2,}", line)}


@pytest.mark.parametrize(("size", "views"), [((80, 24), ("above", "side")), ((120, 36), VIEWS)])
async def test_every_view_says_the_same_in_every_theme_and_every_letter_can_be_read(
    size: tuple[int, int], views: tuple[str, ...]
) -> None:
    app = console("day")
    async with app.run_test(size=size) as pilot:
        for view in views:
            app.show_view(view)
            made = {}
            for theme in SHIPPED:
                app.theme = theme
                await settled(pilot)
                made[theme] = text(app)
                assert hard_to_read(app) == set(), (view, theme)
            assert made["night"] == made["day"], view
            assert made["dusk"] == made["day"], view
            assert "".join(made["plain"]).isascii(), view
            assert shown_words(made["day"]) - shown_words(made["plain"]) == set(), view


@pytest.mark.parametrize("theme", SHIPPED)
async def test_in_the_palette_the_chosen_row_is_seen_and_all_can_be_read(theme: str) -> None:
    app = console(theme)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("ctrl+p")
        await pilot.press(*"gauge")
        await pilot.pause(0.1)
        await settled(pilot)
        assert hard_to_read(app) == set()
        listed = app.screen.query_one(CommandList)
        assert listed.option_count > 0
        made = cells(app)
        chosen, beside = made[listed.region.y + 1][1][2], made[listed.region.y - 1][1][2]
        assert contrast_of(chosen, beside) >= 3.0
        if theme == "night":
            assert all(warm(back) for row in made for _, _, back in row)
        foot = text(app)[-2]
        assert foot.lstrip().startswith("PALETTE  letters search")
        assert foot.rstrip()[-7:] in ("1–8 HIT", "1-8 HIT")
