"""The grid, the painted widget and the large signs."""

from __future__ import annotations

from dataclasses import replace

import fake_picture
import numpy as np
import pytest
from painted import look, settled
from textual.geometry import Region

from sternwatch.console.helm.rods import RodBoard
from sternwatch.console.paint import digits
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.raster import PATTERNS, Raster


def test_text_is_clipped_to_the_grid_and_never_read_as_markup() -> None:
    grid = Grid(10, 2)
    assert grid.put(-2, 0, "abcdef", "number") == 4
    grid.put(4, 1, "[red]x[/red]", "label")
    grid.put(0, 5, "outside", "label")
    assert grid.text() == "cdef\n    [red]x"


def test_a_row_becomes_one_segment_per_run_of_ink() -> None:
    grid = Grid(12, 1)
    grid.put(0, 0, "12", "number")
    grid.tint(8, 0, 4, 1, "zone")
    strip = grid.strip(0, look("day"))
    assert [segment.text for segment in strip] == ["12", "      ", "    "]
    assert strip.cell_length == 12
    assert list(strip)[2].style.bgcolor.name == look("day").style("zone").bgcolor.name


def test_an_ink_with_its_own_background_stands_out_of_any_ground() -> None:
    day = look("day")
    assert day.style("lure chosen", "zone").bgcolor == day.style("lure chosen").bgcolor
    assert day.style("number", "zone").bgcolor == day.style("zone").bgcolor


@pytest.mark.parametrize("scale", [1, 2, 3, 4])
def test_large_signs_are_as_high_and_wide_as_they_say(scale: int) -> None:
    for text in ("0123456789", "18.5", "–", "IN", "142"):
        lines = digits.big(text, scale)
        assert len(lines) == digits.rows_of(scale)
        assert {len(line) for line in lines} == {digits.width_of(text, scale)}
    assert digits.rows_of(digits.scale_for(digits.rows_of(scale))) == digits.rows_of(scale)


def test_every_sign_differs_from_every_other() -> None:
    drawn = {char: digits.big(char) for char in "0123456789–.ABCDEFGHJKLMNPQRTUVWXYZ"}
    assert len(set(drawn.values())) == len(drawn)
    narrow = {char: digits.narrow(char) for char in "0123456789–"}
    assert len(set(narrow.values())) == len(narrow)
    assert len(digits.narrow("205")[0]) == 6


def test_digits_drawn_match_their_dots() -> None:
    assert digits.big("47") == ("█ ▄ ▀▀█", "▀▀█  █ ", "  ▀  ▀ ")


@pytest.mark.parametrize("glyphs", ["braille", "block", "plain"])
def test_a_curve_joins_its_ends_without_gaps(glyphs: str) -> None:
    raster = Raster(20, 10, glyphs)  # type: ignore[arg-type]
    raster.curve(np.array([[0.5, 0.5], [19.5, 9.5]]), "line a")
    grid = Grid(20, 10)
    raster.stamp(grid, 0, 0)
    drawn = grid.chars != " "
    assert drawn[0, 0]
    assert drawn[9, 19]
    assert drawn.any(axis=0).all(), "a column is empty"
    assert drawn.any(axis=1).all(), "a row is empty"


def test_patterns_are_told_apart_and_a_solid_line_has_no_gaps() -> None:
    counts = []
    for pattern in range(len(PATTERNS)):
        raster = Raster(60, 1, "braille")
        raster.curve(np.array([[0.0, 0.5], [60.0, 0.5]]), "line a", pattern)
        counts.append(int(raster._dots.sum()))
    assert counts[0] == 120
    assert len(set(counts)) == len(PATTERNS)
    assert min(counts) > 60


def test_points_that_are_not_finite_or_outside_are_left_out() -> None:
    raster = Raster(10, 4, "braille")
    raster.curve(np.array([[1.0, 1.0], [np.nan, 2.0], [3.0, 3.0], [300.0, 3.0]]), "line a")
    grid = Grid(10, 4)
    raster.stamp(grid, 0, 0)
    assert (grid.chars[3, 3:] != " ").all()
    assert (grid.chars[:3] == " ").all()


async def test_only_rows_that_changed_are_painted_again() -> None:
    picture = fake_picture.straight()
    async with settled(picture, (120, 36)) as pilot:
        board = pilot.app.query_one(RodBoard)
        asked: list[Region] = []
        real = board.refresh
        board.refresh = lambda *regions, **kw: (asked.extend(regions), real(*regions, **kw))[1]  # type: ignore[method-assign,assignment,func-returns-value]
        board.show(replace(picture, t_s=picture.t_s + 0.25))
        assert asked == []
        board.show(fake_picture.changed(picture, "6", temperature_c=4.0, in_zone=False))
        assert [region.height for region in asked] == [1]
        row = asked[0].y
        assert "39" in "".join(segment.text for segment in board.render_line(row))


async def test_a_theme_change_paints_everything_anew() -> None:
    async with settled(fake_picture.straight(), (120, 36)) as pilot:
        board = pilot.app.query_one(RodBoard)
        before = next(iter(board.render_line(5))).style
        pilot.app.theme = "night"
        await pilot.pause()
        assert next(iter(board.render_line(5))).style != before
