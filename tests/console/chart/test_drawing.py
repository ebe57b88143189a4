"""The chart drawn into cells: everything at its place, nothing over anything else, in every set of signs."""

from __future__ import annotations

from dataclasses import replace

import made_chart
import numpy as np
import pytest
from fake_outlook import turning
from painted import look

from sternwatch.console.chart import track, words
from sternwatch.console.chart.drawing import Shown, Way, paint, scale_bar
from sternwatch.console.chart.looking import Looking
from sternwatch.console.chart.plane import Plane
from sternwatch.console.paint.canvas import Grid, ink_id
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.chart.bed import bed
from sternwatch.watch.chart.gridded import Window
from sternwatch.watch.chart.trail import struck, trail_of

US = SYSTEMS["us"]
PICTURE = made_chart.picture()
TRAIL = trail_of(PICTURE.fishing.since(), made_chart.ORIGIN)
HITS = struck(PICTURE.hit_rows, made_chart.ORIGIN)
BED = bed(
    PICTURE.ground.sounded.rows(), Window.about(0.0, 0.0, (400.0, 400.0), 5.0), PICTURE.t_s, units=SYSTEMS["us"]
)  # fmt: skip


def drawn(name="dusk", size=(120, 32), per=9.0, **fields):
    usual = {
        "ground": PICTURE.ground,
        "rods": PICTURE.rods,
        "trail": TRAIL,
        "hits": HITS,
        "bed": BED,
        "places": PICTURE.ground.places,
    }
    shown = Shown(**{**usual, **fields})
    grid, plane = Grid(*size), Plane(*size, 0.0, 0.0, per)
    paint(grid, (0, 0, *size), shown, plane, US, look(name))
    return grid, plane


@pytest.mark.parametrize("name", ["day", "dusk", "night", "plain"])
@pytest.mark.parametrize("size", [(80, 18), (120, 30), (200, 52)])
def test_hits_stand_at_the_lures_place_by_their_rods(name, size):
    grid, plane = drawn(name, size, 700.0 / size[1] / 2)
    rows = grid.text().splitlines()
    sign = "*" if name == "plain" else "●"
    for hit in (HITS[0], HITS[3]):
        x, y = (int(v) for v in plane.to_cells(np.array([[hit.north_m, hit.east_m]]))[0])
        near = " ".join(row[max(x - 6, 0) : x + 8] for row in rows[max(y - 2, 0) : y + 3])
        assert f"{sign}{hit.rod}" in near
    assert "net" in grid.text()
    assert "bait" in grid.text()


def test_two_hits_at_one_place_are_both_told():
    assert drawn()[0].text().count("●3") == 2


def test_the_bottom_is_shaded_where_it_is_known_and_nowhere_else():
    grid, plane = drawn()
    depth = BED.depths_at(plane.centres()).reshape(plane.height, plane.width)
    assert ((grid.grounds >= 0) == np.isfinite(depth)).all()
    shoalest = np.unravel_index(np.nanargmin(depth), depth.shape)
    deepest = np.unravel_index(np.nanargmax(depth), depth.shape)
    assert grid.grounds[shoalest] == ink_id("depth a")
    assert grid.grounds[deepest] == ink_id("depth d")


def test_contours_carry_their_depth_in_the_crews_unit():
    text = drawn(hits=())[0].text()
    told = {round(line.depth_m * 3.280839895) for line in BED.contours}
    assert sum(str(depth) in text for depth in told) >= 3


def test_lines_are_to_scale_and_an_arrow_stands_for_a_hull_too_small_to_draw():
    ground = PICTURE.ground
    plane = Plane(120, 32, *ground.boat_m, 4.0)
    grid = Grid(120, 32)
    shown = Shown(ground, PICTURE.rods, TRAIL, (), None)
    paint(grid, (0, 0, 120, 32), shown, plane, US, look("dusk"))
    rod = next(rod for rod in PICTURE.rods if rod.key == "8")
    x, y = (int(v) for v in plane.to_cells(ground.to_ground(rod.shape_m[-1:]))[0])
    assert "8" in grid.text().splitlines()[y][x - 2 : x + 3]
    far = drawn(per=32.0, hits=(), bed=None)[0]
    assert any(arrow in far.text() for arrow in "↑↗→↘↓↙←↖")
    assert not (far.chars == "8").any()  # their keys would lie on one another


def test_the_track_by_temperature_is_told_in_quarters_with_its_legend():
    made = track.bands(TRAIL, "temperature")
    grid = drawn(by="temperature", hits=(), bed=None)[0]
    used = {int(ink) for ink in np.unique(grid.inks[grid.chars != " "])}
    assert {ink_id(ink) for ink in track.INKS} <= used
    legend = track.legend(made, US)
    assert legend[0].startswith("under ")
    assert legend[3].endswith("°F")
    assert track.bands(trail_of([], made_chart.ORIGIN), "temperature") is None
    assert track.bands(TRAIL, "nothing") is None


def test_without_colour_the_quarters_of_the_track_and_the_contours_have_signs_of_their_own():
    """Pieces of a track may be too short for dashes."""
    grid = drawn("plain", by="temperature", hits=(), bed=None, rods=(), places=())[0]
    signs = [set(grid.chars[grid.inks == ink_id(ink)].tolist()) for ink in track.INKS]
    assert signs == [{"-"}, {"+"}, {"x"}, {"%"}]
    whole = drawn("plain", hits=(), rods=(), places=())[0]
    assert set(whole.chars[whole.inks == ink_id("water")].tolist()) == {"~"}
    assert "~" not in set(whole.chars[whole.inks == ink_id("contour")].tolist())


def test_what_comes_is_dotted_from_where_she_was_when_it_was_made():
    ahead = turning().forecasts[0]
    way = np.column_stack([-np.linspace(0.0, 250.0, 60), np.zeros(60), np.zeros(60)])
    rods = tuple(replace(rod, bodies_m=way[None] + (80.0, 12.0, 0.0)) for rod in ahead.rods[:1])
    made = replace(ahead, track_m=way, rods=rods)
    grid, plane = drawn(hits=(), bed=None, ahead=made, ahead_from=PICTURE.ground)
    before = replace(PICTURE.ground, boat_m=None)
    assert ink_id("ahead") in grid.inks[grid.chars != " "]
    x, y = (int(v) for v in plane.to_cells(PICTURE.ground.to_ground(way[40:41]))[0])
    assert ink_id("boat") in grid.inks[y - 1 : y + 2, x - 1 : x + 2]
    nothing = drawn(hits=(), bed=None, ahead=made, ahead_from=before)[0]
    assert ink_id("ahead") not in nothing.inks[nothing.chars != " "]


def test_without_a_fix_no_bottom_is_being_drawn():
    assert words.bottom(None, US, placed=False) == ("Not for navigation.",)
    assert "Drawing the bottom." in words.bottom(None, US)[0]


def test_a_chart_without_a_fix_says_so_and_draws_nothing():
    grid = drawn(ground=None, bed=None, hits=(), places=(), trail=trail_of([], (0.0, 0.0)))[0]
    assert grid.text().strip() == ""
    head = words.head(replace(PICTURE, ground=None), Looking(), None, "", US)
    assert "No fix yet" in head[0]


def test_the_place_chosen_is_told_from_the_boat_with_the_bottom_there():
    looking = Looking()
    north, east = PICTURE.ground.boat_m
    looking.centre_m = (north, east + 100.0)
    assert words.chosen(PICTURE, looking, US, BED).startswith("chosen: 328 ft, 090° from her")
    looking.centre_m = (0.0, -260.0)
    assert "ft, sounded 40 min ago" in words.chosen(PICTURE, looking, US, BED)
    looking.centre_m = (5000.0, 0.0)
    assert words.chosen(PICTURE, looking, US, BED).endswith("bottom not known")


def test_the_scale_bar_is_as_long_as_it_says():
    bar = scale_bar(Plane(100, 20, 0.0, 0.0, 2.0), US, look("dusk"), 24)
    feet, cells = float(bar.split(" ft ")[0]), len(bar.split(" ft ")[1])
    assert cells * 2.0 * 3.280839895 == pytest.approx(feet, rel=0.1)
    assert cells <= 24


def test_words_at_a_place_never_lie_on_a_hit():
    hit = HITS[0]
    text = drawn(bed=None, notes=((hit.north_m, hit.east_m, "begin"),))[0].text()
    assert "begin" in text
    assert text.count("●") == len(HITS)


@pytest.mark.parametrize("name", ["dusk", "plain"])
def test_ways_are_drawn_with_the_place_they_lead_to(name):
    north = np.linspace(-100.0, 100.0, 41)
    steered = Way(np.column_stack([north, np.full(41, 200.0)]), True, (100.0, 200.0))
    other = Way(np.column_stack([north, np.full(41, -200.0)]), False, (100.0, 200.0))
    without, plane = drawn(name, bed=None, hits=())
    grid, _ = drawn(name, bed=None, hits=(), ways=(other, steered))
    assert grid.text().count("X" if name == "plain" else "⊗") == 1
    for way, ink in ((steered, "ahead pair"), (other, "ahead")):
        x, y = plane.to_cells(way.points_m[10:30]).astype(int).T
        assert (grid.inks[y, x] == ink_id(ink)).mean() > 0.4
        assert not (without.inks[y, x] == ink_id(ink)).any()
