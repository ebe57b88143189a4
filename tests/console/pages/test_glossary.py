"""The glossary: the words of the screen, one key from the help, at every size."""

from __future__ import annotations

import pytest

from console.frame.test_app import console, settled, words
from sternwatch.console.pages.glossary import SECTIONS, lines_of

ENTRIES = [entry for _, entries in SECTIONS for entry in entries]


def test_no_word_is_explained_twice_and_every_meaning_is_a_sentence() -> None:
    named = [word for word, _ in ENTRIES]
    assert len(named) == len(set(named)) > 40
    assert all(meaning.endswith(".") for _, meaning in ENTRIES)


@pytest.mark.parametrize("width", [80, 120, 200])
def test_no_meaning_is_cut_and_no_line_is_wider_than_the_screen(width: int) -> None:
    lines = lines_of(width)
    assert max(x + len(text) for line in lines for x, text, _ in line) < width
    said = " ".join(text for line in lines for _, text, _ in line)
    for word, meaning in ENTRIES:
        assert word in said
        assert " ".join(meaning.split()[-3:]) in said


async def test_help_leads_on_to_the_words_and_escape_back_to_the_helm() -> None:
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("?")
        await settled(pilot)
        assert "what the words mean" in words(app)
        await pilot.press("?")
        await settled(pilot)
        assert "All rods fishing now, as one pattern." in words(app)
        assert "thermocline" not in words(app)
        pages = 0
        while "thermocline" not in words(app):
            pages += 1
            assert pages < 10
            await pilot.press("pagedown")
            await settled(pilot)
        await pilot.press("escape")
        await settled(pilot)
        assert "All rods fishing now" not in words(app)
        assert app.screen is app.helm_screen


async def test_a_rod_key_is_a_hit_over_the_words_too() -> None:
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("?", "?", "3")
        await settled(pilot)
        assert [(a.kind, a.rod) for a in app.runner.actions] == [("hit", "3")]
