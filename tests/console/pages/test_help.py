"""Help is searched by typing, while rod keys still are hits."""

from __future__ import annotations

from itertools import pairwise

import pytest

from console.frame.test_app import console, settled
from sternwatch.console.frame.bars import KeyFooter
from sternwatch.console.frame.scrolled import READING_CELLS
from sternwatch.console.pages.glossary import lines_of
from sternwatch.console.pages.help import HelpText, found
from sternwatch.logbook.actions.kinds import Hit
from sternwatch.watch.picture.model import Session

ROWS = [
    ("", "rods", ""),
    ("b", "boxed", "The fish is kept."),
    ("", "", "A boxed fish counts."),
    ("p", "plan", "A turn."),
]


def test_all_the_words_are_found_and_keys_stand_before_what_is_only_told() -> None:
    assert found(ROWS, "box") == [ROWS[1], ROWS[2]]
    assert found(ROWS, "fish kept") == [ROWS[1]]
    assert found(ROWS, "whale") == []


def test_an_act_is_found_by_the_footers_word_for_it() -> None:
    rows = [("u", "take back", "Takes back your newest entry and names it."), ("h", "hit", "A hit.")]
    assert found(rows, "undo") == rows[:1]
    assert found(rows, "none") == []


@pytest.mark.parametrize("width", [80, 120, 200])
async def test_no_column_of_the_help_runs_into_another(width: int) -> None:
    app = console(session=Session.LIVE)
    async with app.run_test(size=(width, 36)) as pilot:
        await settled(pilot)
        await pilot.press("?")
        await settled(pilot)
        lines = app.screen.query_one(HelpText).lines(width - 2)
        for line in lines:
            for (x, text, _), (after, _, _) in pairwise(sorted(line)):
                assert x + len(text) < after, line
        heads = [n for n, line in enumerate(lines) if line and line[0][2] == "state"]
        assert len(heads) > 6
        assert all(lines[n - 1] == () for n in heads)


async def test_running_words_are_no_longer_than_the_eye_follows() -> None:
    app = console(session=Session.LIVE)
    async with app.run_test(size=(200, 60)) as pilot:
        await settled(pilot)
        await pilot.press("?")
        await settled(pilot)
        shown = app.screen.query_one(HelpText).lines(198)
    ends = [at + len(text) for line in [*shown, *lines_of(198)] for at, text, _ink in line]
    assert 100 < max(ends) <= READING_CELLS


async def test_letters_search_and_a_rod_key_still_is_a_hit() -> None:
    app = console(session=Session.LIVE)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("?")
        await settled(pilot)
        assert "letters search" in app.screen.query_one(KeyFooter)._grid.text()
        await pilot.press(*"boxx", "backspace", "3")
        await settled(pilot)
        text = app.screen.query_one(HelpText)._grid.text()
        assert "box_" in text
        assert "boxed" in text
        assert [action.rod for action in app.runner.actions if isinstance(action, Hit)] == ["3"]
        assert all(action.kind == "hit" for action in app.runner.actions), "b boxes nothing here"
