"""The plain theme writes ASCII alone, cell for cell, on the session's screens and off the water."""

from itertools import combinations, zip_longest

import pytest
from rich.cells import cell_len

from console.frame.test_app import console, settled, words
from sternwatch.config import Preferences
from sternwatch.console.ashore.start import StartApp
from sternwatch.console.ashore.start_words import Answered
from sternwatch.console.paint.digits import big, rows_of, width_of
from sternwatch.console.paint.hiding import in_ascii


@pytest.mark.parametrize(
    "text",
    ["64.0 °F · 180° ≥ 1:50 ± 3", "┏━┓ ╎ ⣀⣿ ▁▂█ ▒", "→ ↑ ↓ ← ● ◆ ◇ ▲ ▼ ▸ ⊗", "Ærø, Müller, naïve", "日本 fish"],
)
def test_every_cell_stays_where_it_is(text):
    plain = in_ascii(text)
    assert plain.isascii()
    assert len(plain) == cell_len(text)


def test_letters_keep_their_base():
    assert in_ascii("Müller à 2°") == "Muller a 2d"


async def test_every_screen_of_a_session_is_ascii_in_the_plain_theme_and_fine_again_after():
    app = console("turning", theme="plain")
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        for view in ("helm", "glance", "chart", "ahead", "sensors", "producing"):
            app.show_view(view)
            await settled(pilot)
            assert words(app).isascii(), (view, {c for c in words(app) if not c.isascii()})
        for key in ("?", "ctrl+p"):
            await pilot.press("escape", key)
            await pilot.pause(0.2)
            assert words(app).isascii(), (key, {c for c in words(app) if not c.isascii()})
        await pilot.press("escape", "escape", "n")
        await settled(pilot)
        assert "°F" in words(app)


async def test_a_screen_off_the_water_is_ascii_too():
    app = StartApp(Preferences(theme="plain"), lambda _command: Answered(1, "", "sternwatch: no"), "")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert words(app).isascii(), {c for c in words(app) if not c.isascii()}


@pytest.mark.parametrize("scale", [1, 2, 3])
def test_large_numbers_of_ascii_take_the_same_cells_and_differ(scale):
    for text in ("146", "2.3", "-", "88"):
        lines = big(text, scale, plain=True)
        assert len(lines) == rows_of(scale)
        assert {len(line) for line in lines} == {width_of(text, scale)}
        assert all(line.isascii() for line in lines)
    for one, other in combinations("0123456789", 2):
        pairs = zip(big(one, scale, plain=True), big(other, scale, plain=True), strict=True)
        off = sum(a != b for first, second in pairs for a, b in zip_longest(first, second, fillvalue=" "))
        assert off >= 3, (one, other)
