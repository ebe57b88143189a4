"""The chains from above and from the side."""

from __future__ import annotations

import itertools
from dataclasses import replace

import fake_picture
import numpy as np
import pytest
from painted import paint

from sternwatch.console.helm.views import PlanView, SideView, _crust
from sternwatch.console.paint.canvas import Grid, ink_id
from sternwatch.console.paint.hiding import in_ascii
from sternwatch.console.paint.raster import Raster
from sternwatch.console.paint.scene import (
    LEAST_ROWS,
    Labels,
    SteadyExtent,
    round_up,
    runs_of_bottom,
    upright,
)
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.picture.model import Picture, RodState

SIZES = [(30, 6), (48, 14), (80, 20), (120, 40), (200, 50)]


def plan(picture: Picture, size: tuple[int, int] = (80, 30), **kwargs: object) -> Grid:
    return paint(PlanView, picture, size, **kwargs)


def side(picture: Picture, size: tuple[int, int] = (100, 30), **kwargs: object) -> Grid:
    return paint(SideView, picture, size, **kwargs)


def place(grid: Grid, key: str) -> tuple[int, int]:
    """Cell (x, y) of a rod's key; keys are the only bold digits inked as lures."""
    lures = {ink_id("lure"), ink_id("lure chosen"), ink_id("lure fight")}
    for y in range(grid.height):
        for x in range(grid.width):
            if grid.chars[y, x] == key and int(grid.inks[y, x]) in lures:
                return x, y
    raise AssertionError(f"no {key} in\n{grid.text()}")


# -- scales ----------------------------------------------------------------------------------------------------


def test_round_numbers() -> None:
    assert [round_up(v) for v in (0.93, 1.0, 11.0, 121.0, 350.0, 351.0, 9.1)] == [
        1.0,
        1.0,
        12.0,
        140.0,
        350.0,
        400,
        10,
    ]


@pytest.mark.parametrize("height", [3, 6, 9, 14, 23, 40, 50])
@pytest.mark.parametrize("extent", [0.8, 7.3, 33.0, 99.9, 151.0, 340.0, 1234.0])
def test_an_upright_scale_has_round_marks_on_whole_rows(extent: float, height: int) -> None:
    scale = upright(extent, height)
    assert extent <= scale.per_row * height * (1.0 + 1e-9)
    # It wastes little of the height; three rows leave no choice of distances between marks.
    assert scale.per_row * height <= (1.5 if height >= 6 else 2.0) * extent
    assert upright(scale.per_row * height, height) == scale  # what fits is left as it is
    assert scale.rows >= LEAST_ROWS
    assert f"{scale.step:.3e}"[:5] in ("1.000", "2.000", "2.500", "4.000", "5.000")
    rows = [row for row, _ in scale.marks(height)]
    assert rows == list(range(scale.rows, height, scale.rows))
    assert [text for _, text in scale.marks(height)] == [f"{n * scale.step:g}" for n in range(1, len(rows) + 1)]


@pytest.mark.parametrize("view", [PlanView, SideView])
@pytest.mark.parametrize("size", SIZES)
def test_the_numbers_at_the_left_stand_evenly(view: type[PlanView | SideView], size: tuple[int, int]) -> None:
    lines = paint(view, fake_picture.straight(), size).text().splitlines()
    rows = [y for y, line in enumerate(lines) if line[:5].strip().isdigit()]
    assert rows
    assert len({after - before for before, after in itertools.pairwise(rows)}) <= 1


def test_a_scale_follows_the_height_it_is_given() -> None:
    extent = SteadyExtent()
    for height in (20, 33):
        shown = extent.take(0.0, 100.0, lambda wanted, rows=height: upright(wanted, rows).per_row * rows)
        assert shown == pytest.approx(upright(100.0, height).per_row * height)


def test_a_reach_grows_at_once_and_shrinks_late() -> None:
    extent = SteadyExtent()
    assert extent.take(0.0, 95.0) == 100.0
    assert extent.take(1.0, 130.0) == 140.0
    for t in range(2, 9):
        assert extent.take(float(t), 60.0) == 140.0
    assert extent.take(9.0, 60.0) == 140.0
    assert extent.take(10.0, 60.0) == 60.0


def test_a_reach_that_is_nearly_needed_stays() -> None:
    extent = SteadyExtent()
    extent.take(0.0, 139.0)
    for t in range(1, 60):
        assert extent.take(float(t), 119.9 if t % 5 else 130.0) == 140.0


def test_a_seek_fits_the_reach_at_once() -> None:
    extent = SteadyExtent()
    extent.take(100.0, 300.0)
    assert extent.take(20.0, 90.0) == 90.0


# -- water and bottom ------------------------------------------------------------------------------------------


def test_the_bottom_is_parted_where_nothing_was_sounded() -> None:
    runs = runs_of_bottom([(90.0, 30.0), (0.0, 30.0), (10.0, 31.0), (95.0, 29.0)])
    assert runs == [[(0.0, 30.0), (10.0, 31.0)], [(90.0, 30.0), (95.0, 29.0)]]


def test_labels_never_lie_on_one_another() -> None:
    labels = Labels(20, 6)
    places = [labels.place(8, 3, 3) for _ in range(8)]
    cells = [(at[0] + n, at[1]) for at in places if at is not None for n in range(3)]
    assert len(places) == 8
    assert None not in places
    assert len(cells) == len(set(cells))
    assert places[0] == (8, 3)
    full = Labels(2, 1)
    assert full.place(0, 0, 3) is None


# -- from above ------------------------------------------------------------------------------------------------


def test_port_lies_left_starboard_right_and_astern_is_down() -> None:
    grid = plan(fake_picture.straight())
    xs = [place(grid, key)[0] for key in "12345678"]
    assert xs == sorted(xs)
    assert place(grid, "8")[1] > place(grid, "7")[1] > place(grid, "4")[1]
    assert grid.text().index("PORT") < grid.text().index("STARBOARD")


def test_a_mirrored_plan_swaps_the_sides() -> None:
    grid = plan(fake_picture.straight(), mirrored=True)
    xs = [place(grid, key)[0] for key in "12345678"]
    assert xs == sorted(xs, reverse=True)
    assert grid.text().index("STARBOARD") < grid.text().index("PORT")


def test_lures_lie_where_they_are_on_the_scale() -> None:
    picture = fake_picture.straight()
    grid = plan(picture, (100, 40))
    ticks = {}
    for y, row in enumerate(grid.text().splitlines()):
        if row[:4].strip().isdigit():
            ticks[int(row[:4])] = y
    first, last = min(ticks), max(ticks)
    assert last - first >= 200
    per_row = (ticks[last] - ticks[first]) / (last - first)
    for rod in picture.rods:
        assert rod.astern_m is not None
        expected = ticks[first] + (rod.astern_m / 0.3048 - first) * per_row
        assert place(grid, rod.key)[1] == pytest.approx(expected, abs=1.6), rod.key


# -- from the side ---------------------------------------------------------------------------------------------


def test_deeper_is_lower_and_further_astern_is_further_right() -> None:
    grid = side(fake_picture.straight())
    assert place(grid, "1")[1] < place(grid, "2")[1] < place(grid, "5")[1]
    assert place(grid, "4")[0] < place(grid, "2")[0] < place(grid, "8")[0]


def test_the_zone_is_shaded_and_said_over_its_depths_only() -> None:
    grid = side(fake_picture.straight())
    shaded = (grid.grounds == ink_id("zone")).any(axis=1)
    rows = [y for y in range(grid.height) if shaded[y]]
    assert rows == list(range(rows[0], rows[-1] + 1))
    assert "zone 47–55 °F" in grid.text().splitlines()[rows[0]]
    assert not (side(fake_picture.cold()).grounds == ink_id("zone")).any()
    assert "zone" not in side(fake_picture.cold()).text()


def test_the_temperatures_read_stand_at_their_depths() -> None:
    lines = side(fake_picture.straight()).text().splitlines()
    warmest = next(y for y, line in enumerate(lines) if line.endswith("63°"))
    coldest = next(y for y, line in enumerate(lines) if "46°" in line)
    assert 0 < warmest < coldest
    assert "°" not in "".join(side(fake_picture.cold()).text().splitlines()[1:])


def test_the_zone_is_told_without_colour_too() -> None:
    rows = side(fake_picture.straight(), theme="plain").text().splitlines()
    assert sum(". . . ." in row for row in rows) == 2


def test_without_colour_the_bottom_is_no_line() -> None:
    """Plain terminals have no ground for the bed and one colour for all: the bottom has a sign of its own there."""
    grid = side(fake_picture.straight(), theme="plain")
    drawn = grid.inks == ink_id("bottom")
    assert drawn.any(axis=0).sum() > 20
    assert set(grid.chars[drawn].tolist()) == {"%"}
    assert not (grid.chars[~drawn] == "%").any()


def test_the_bottom_is_drawn_only_where_it_was_sounded() -> None:
    picture = fake_picture.straight()
    short = replace(picture, bottom_track=picture.bottom_track[:6])
    whole = (side(picture).inks == ink_id("bottom")).any(axis=0)
    part = (side(short).inks == ink_id("bottom")).any(axis=0)
    assert 0 < part.sum() < whole.sum() / 2
    assert not (side(fake_picture.cold()).inks == ink_id("bottom")).any()


def test_a_bottom_far_below_is_said_not_drawn() -> None:
    picture = replace(fake_picture.straight(), bottom_m=200.0, bottom_track=((0.0, 200.0), (20.0, 201.0)))
    grid = side(picture)
    assert "bottom 656 ↓" in grid.text()
    assert not (grid.inks == ink_id("bottom")).any()


def test_no_temperature_is_written_over_the_bottom_far_below() -> None:
    """One shallow rod: a reading of the profile lies on the very row that tells the bottom."""
    picture = replace(fake_picture.many(1), temperature_profile=((0.0, 18.0), (9.0, 15.0), (10.0, 14.0)))
    for size in ((80, 10), (80, 14), (120, 22)):
        rows = side(picture, size=size).text().splitlines()
        assert any(row.rstrip().endswith("bottom 112 ↓") for row in rows), size


def test_the_bed_has_no_notch_where_the_bottom_only_just_reaches_the_next_row() -> None:
    """A line at the upper edge of a row fills no cell with dots: the bed begins there itself."""
    across = np.array([0.0, 8.0])
    for line, begins, dots in (
        (4.0, 4.0, 0),
        (4.05, 4.0, 0),
        (4.3, 4.0, 0),
        (4.6, 5.0, 2),
        (4.9, 5.0, 0),
        (3.95, 4.0, 0),
    ):
        raster = Raster(8, 10, "braille")
        assert (_crust(raster, across, np.array([line, line])) == begins).all()
        assert raster._dots.sum(axis=0).tolist() == [dots] * 16


def test_why_nothing_is_drawn_does_not_touch_the_hull() -> None:
    rods = tuple(replace(rod, state=RodState.IN, shape_m=None) for rod in fake_picture.rods())
    for size in SIZES:
        rows = plan(replace(fake_picture.straight(), rods=rods), size=size).text().splitlines()
        told = next(row for row in rows if "Nothing to draw" in row)
        assert "Nothing to draw: every rod is in.".startswith(told.strip())


def test_hits_stand_at_their_depths_along_the_edge_and_doubtful_ones_do_not() -> None:
    picture = fake_picture.straight()
    assert (side(picture).inks == ink_id("fish")).any()
    doubtful = replace(picture, hits=tuple(replace(hit, doubtful=True) for hit in picture.hits))
    assert not (side(doubtful).inks == ink_id("fish")).any()
    no_fish = replace(picture, hits=tuple(replace(hit, state="no fish") for hit in picture.hits))
    assert not (side(no_fish).inks == ink_id("fish")).any()


# -- both ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [PlanView, SideView])
@pytest.mark.parametrize("theme", ["day", "dusk", "plain"])
@pytest.mark.parametrize("size", SIZES)
def test_views_fit_whatever_there_is(kind: type, theme: str, size: tuple[int, int]) -> None:
    for case in fake_picture.CASES.values():
        text = paint(kind, case(), size, theme).text()
        assert max(len(row) for row in text.splitlines()) <= size[0]
    for tiny in ((0, 0), (3, 1), (12, 3)):
        paint(kind, fake_picture.straight(), tiny, theme)


@pytest.mark.parametrize("kind", [PlanView, SideView])
@pytest.mark.parametrize("theme", ["day", "dusk", "night", "plain"])
def test_all_themes_but_plain_draw_in_braille(kind: type, theme: str) -> None:
    text = paint(kind, fake_picture.turning(), (100, 30), theme).text()
    assert any(0x2800 <= ord(char) <= 0x28FF for char in text) == (theme != "plain")
    if theme == "plain":
        assert in_ascii(text).isascii()


@pytest.mark.parametrize("kind", [PlanView, SideView])
@pytest.mark.parametrize("theme", ["day", "dusk", "plain"])
def test_the_chosen_line_is_heavier_than_the_others(kind: type, theme: str) -> None:
    usual = paint(kind, fake_picture.straight(), (100, 30), theme)
    chosen = paint(kind, fake_picture.chosen(fake_picture.straight(), "7"), (100, 30), theme)
    assert usual.text() != chosen.text()
    assert place(chosen, "7")
    x, y = place(chosen, "7")
    assert int(chosen.inks[y, x]) == ink_id("lure chosen")


@pytest.mark.parametrize("kind", [PlanView, SideView])
def test_a_rod_that_is_not_drawn_is_named_with_the_reason(kind: type) -> None:
    text = paint(kind, fake_picture.troubled(), (100, 30)).text()
    assert "not drawn – 4: in · 6: failed" in text
    nothing = paint(kind, fake_picture.no_feed(), (100, 30)).text()
    assert "Nothing to draw: no sentence has come from the feed yet." in nothing


@pytest.mark.parametrize("kind", [PlanView, SideView])
def test_a_fish_on_is_marked_at_its_lure(kind: type) -> None:
    picture = fake_picture.changed(fake_picture.straight(), "6", state=RodState.FIGHTING)
    assert "6∝" in paint(kind, picture, (100, 30)).text()
    assert "6~<" in paint(kind, picture, (100, 30), "plain").text()


def test_names_of_tackle_and_rods_are_never_markup() -> None:
    picture = fake_picture.changed(fake_picture.straight(), "6", name="[red]", why_no_depth="[b]x", shape_m=None)
    assert "6: [b]x" in side(picture).text()


@pytest.mark.parametrize("size", [(60, 9), (100, 30)])
def test_the_words_of_the_zone_stay_whole(size: tuple[int, int]) -> None:
    for key in "128":
        assert "zone 47–55 °F" in side(fake_picture.chosen(fake_picture.turning(), key), size).text()
    assert "zone 8.5–13 °C" in side(fake_picture.turning(), size, units=SYSTEMS["metric"]).text()


def test_of_what_is_not_drawn_the_rods_stand_before_a_reason_that_is_cut() -> None:
    picture = fake_picture.changed(
        fake_picture.straight(), "7", why_no_depth="line was wound in the fight: say how much is out", shape_m=None
    )
    last = plan(picture, size=(48, 14)).text().splitlines()[-1]
    assert last.strip().startswith("not drawn – 7: line was wound")
    assert last.endswith("…")
