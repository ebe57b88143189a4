"""The plain theme writes ASCII alone, cell for cell, on the session's screens and off the water."""

from itertools import combinations, zip_longest

import pytest
from rich.cells import cell_len
from textual.widgets import Markdown

from console.frame.test_app import console, settled, words
from sternwatch.config import Preferences
from sternwatch.console.ashore.settings_screen import SettingsApp
from sternwatch.console.ashore.start import StartApp
from sternwatch.console.ashore.start_words import Answered
from sternwatch.console.paint.digits import big, rows_of, width_of
from sternwatch.console.paint.hiding import in_ascii
from sternwatch.console.words.rods import SIGNS


@pytest.mark.parametrize(
    "text",
    ["64.0 °F · 180° ≥ 1:50 ± 3", "┏━┓ ╎ ⣀⣿ ▁▂█ ▒", "→ ↑ ↓ ← ● ◆ ◇ ▲ ▼ ▸ ⊗", "Ærø, Müller, naïve", "日本 fish"],
)
def test_every_cell_stays_where_it_is(text):
    plain = in_ascii(text)
    assert plain.isascii()
    assert len(plain) == cell_len(text)


def test_a_scroll_bar_ends_with_a_cell():
    assert in_ascii("▂▃▅▆▇") == " " * 5  # a # at its end would be read as a sign


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


async def test_arrow_keys_have_names_where_there_are_no_arrows():
    """In ASCII "v" and "<" would be keys of their own, of which "v" shows the next view."""
    app = console("straight", theme="plain")
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        assert "Dn Up line" in words(app)
        await pilot.press("p")
        await settled(pilot)
        assert "Left Right turn" in words(app)
        await pilot.press("escape", "?")
        await settled(pilot)
        rows = [line.split() for line in words(app).splitlines()]
        assert [row[0] for row in rows if row[1:3] == ["let", "out"]] == ["Dn"]
        assert [row[0] for row in rows if row[1:2] == ["choose"]] == ["Left"]
        await pilot.press("escape", "ctrl+p", *"let out")
        await pilot.pause(0.2)
        assert "let out | Dn" in words(app)


async def test_the_list_of_keys_in_the_preferences_names_them_too():
    app = SettingsApp(Preferences(theme="plain"))
    async with app.run_test(size=(100, 48)) as pilot:
        await pilot.pause()
        await pilot.press("k")
        await pilot.pause()
        rows = [line.split() for line in words(app).splitlines()]
        assert ["deeper", "Dn", "let", "out"] in rows
        assert ["left", "Left", "choose"] in rows


async def test_the_manual_names_them_too_and_takes_the_arrows_back_with_the_theme():
    app = console("straight", theme="plain")
    async with app.run_test(size=(120, 48)) as pilot:
        await settled(pilot)
        app.show_manual()
        await pilot.pause(0.1)
        page = app.screen.query_one("#text", Markdown)
        assert "`Left` `Right` go 10 s back" in page.source
        app.theme = "day"
        await settled(pilot)
        assert "`←` `→` go 10 s back" in page.source


async def test_a_screen_off_the_water_is_ascii_too():
    app = StartApp(Preferences(theme="plain"), lambda _command: Answered(1, "", "sternwatch: no"), "")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert words(app).isascii(), {c for c in words(app) if not c.isascii()}
        assert words(app).splitlines()[-1].lstrip().startswith("Up Dn Enter, 0-9 choose")
        await pilot.press("?")
        await pilot.pause()
        assert "(Dn Up scroll, Esc goes back)" in words(app)


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


def test_the_signs_of_a_rod_take_as_many_cells_in_ascii():
    """Else a narrow column leaves out whose line is nearest, and the head is short."""
    fine, plain = SIGNS["braille"], SIGNS["plain"]
    narrow = ("hit", "in_zone", "out_zone", "sinking", "rising", "to", "chosen", "bottom", "nearest", "device", "bar")
    assert {sign: len(getattr(plain, sign)) for sign in narrow} == {sign: len(getattr(fine, sign)) for sign in narrow}
    assert plain.nearest not in {getattr(plain, sign) for sign in narrow if sign != "nearest"}
