"""Draws the chart: bottom, track, the boat with her lines and lures, hits, marks and fish. Pure painting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sternwatch.console.chart import ground as bottom
from sternwatch.console.chart import track
from sternwatch.console.chart.plane import Floats, Plane
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.raster import Raster, line_ink
from sternwatch.console.paint.scene import Labels
from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import Dimension, DisplaySystem, convert
from sternwatch.logbook.actions.place_acts import DANGERS
from sternwatch.watch.chart.trail import Struck, Trail
from sternwatch.watch.picture.ground import GroundPicture, PlacePicture
from sternwatch.watch.picture.model import RodPicture, RodState

if TYPE_CHECKING:
    from sternwatch.watch.chart.bed import Bed
    from sternwatch.watch.picture.outlook import Forecast

_HULL_BEAMS = 2.8  # her length in beams where it is not given: a small trolling boat (memory)
_LEAST_LINES = 4.0  # cells: shorter lines are drawn without keys, which would overlap
_ARROWS = {True: "^/>\\v/<\\", False: "↑↗→↘↓↙←↖"}


@dataclass(frozen=True, slots=True)
class Way:
    """A proposed way over ground, and the place that it leads to, where that is one place."""

    points_m: Floats  # (n, 2) north, east
    steered: bool
    place_m: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Shown:
    """Everything that the chart shows."""

    ground: GroundPicture | None
    rods: tuple[RodPicture, ...]  # rods in their order across the stern
    trail: Trail
    hits: tuple[Struck, ...]
    bed: Bed | None
    ahead: Forecast | None = None
    ahead_from: GroundPicture | None = None  # the boat's place over ground when that was made
    by: str = ""
    cursor: bool = False  # the middle is a chosen place
    notes: tuple[tuple[float, float, str], ...] = ()  # north, east, the words to write there
    ways: tuple[Way, ...] = ()  # proposed ways; the one being steered comes last
    places: tuple[PlacePicture, ...] = ()  # marks and fish seen


def paint(grid: Grid, box: tuple[int, int, int, int], shown: Shown, plane: Plane, units: DisplaySystem,
          look: Look) -> None:  # fmt: skip
    """Draw into ``box`` (left, top, width, height), which the plane must fill."""
    left, top, width, height = box
    raster = Raster(width, height, look.glyphs)
    labels = Labels(width, height)
    ground = shown.ground
    if shown.bed is not None:
        grounds, lines = bottom.still(shown.bed, plane, look.glyphs)
        grid.grounds[top : top + height, left : left + width] = grounds
        raster = lines.copy()
    tail = np.array(ground.wake_m if ground is not None else (), dtype=np.float64).reshape(-1, 2)
    if ground is not None and ground.boat_m is not None:
        tail = np.concatenate([tail, np.array([ground.boat_m])])
    track.draw(raster, shown.trail, tail, plane, track.bands(shown.trail, shown.by) if shown.by else None)
    _ahead(raster, shown, plane)
    for way in shown.ways:
        raster.curve(plane.to_cells(way.points_m), "ahead pair" if way.steered else "ahead", 1, heavy=way.steered)
    lures = _lines(raster, shown, plane)
    small = _hull(raster, shown, plane)
    raster.stamp(grid, left, top)
    if shown.cursor:
        _cursor(grid, labels, box, look)
    if small is not None and plane.within(small):
        x, y = int(small[0]), int(small[1])
        assert ground is not None
        eighth = round(((ground.points_deg - plane.up_deg) % 360.0) / 45.0) % 8
        grid.put(left + x, top + y, _ARROWS[look.glyphs == "plain"][eighth], "boat")
        labels.keep(x, y, 1)
    _keys(grid, labels, box, lures, look)
    _aims(grid, labels, box, shown, plane, look)
    _hits(grid, labels, box, shown, plane, look)
    _places(grid, labels, box, shown, plane)
    for north_m, east_m, text in shown.notes:
        cell = plane.to_cells(np.array([[north_m, east_m]]))[0]
        if plane.within(cell) and (at := labels.place(int(cell[0]) + 1, int(cell[1]), len(text))) is not None:
            grid.put(left + at[0], top + at[1], text, "label")
    if shown.bed is not None:
        for x, y, text in bottom.numbers(shown.bed, plane, units, labels):
            grid.put(left + x, top + y, text, "label")


def _ahead(raster: Raster, shown: Shown, plane: Plane) -> None:
    """Draw where the boat and the lures will be, dotted."""
    made, start = shown.ahead, shown.ahead_from
    if made is None or start is None or start.boat_m is None:
        return
    raster.dotted(plane.to_cells(start.to_ground(made.track_m)), "boat", dense=True)
    for rod in made.rods:
        if rod.bodies_m is not None and len(rod.bodies_m):
            raster.dotted(plane.to_cells(start.to_ground(rod.bodies_m[-1])), "ahead")


def _lines(raster: Raster, shown: Shown, plane: Plane) -> list[tuple[RodPicture, Floats]]:
    """Draw the lines to scale. Returns each rod with its lure's cell, for its key."""
    if shown.ground is None or shown.ground.boat_m is None:
        return []
    lures = []
    known = [(rod, rod.shape_m) for rod in shown.rods if rod.shape_m is not None]
    for rod, shape in sorted(known, key=lambda one: one[0].chosen):
        cells = plane.to_cells(shown.ground.to_ground(shape))
        raster.curve(cells, *line_ink(rod.key), heavy=rod.chosen)
        if np.abs(cells[-1] - cells[0]).sum() >= _LEAST_LINES:
            lures.append((rod, cells[-1]))
    return lures


def _hull(raster: Raster, shown: Shown, plane: Plane) -> Floats | None:
    """Draw her hull to the scale of her beam. Where that is less than a cell, return the cell for an arrow."""
    ground = shown.ground
    if ground is None or ground.boat_m is None:
        return None
    half = max([abs(rod.tip_abeam_m) for rod in shown.rods] + [1.2])
    length = 2.0 * half * _HULL_BEAMS
    outline = np.array(
        [(0.0, -half), (-0.6 * length, -half), (-length, 0.0), (-0.6 * length, half), (0.0, half), (0.0, -half)]
    )
    cells = plane.to_cells(ground.to_ground(outline))
    if 2.0 * half < 1.5 * plane.per_column_m:
        return np.asarray(cells[[0, 4]].mean(axis=0))
    raster.curve(cells, "boat")
    return None


def _cursor(grid: Grid, labels: Labels, box: tuple[int, int, int, int], look: Look) -> None:
    left, top, width, height = box
    x, y = width // 2, height // 2
    arms = ("-", "+") if look.glyphs == "plain" else ("─", "┼")
    grid.put(left + x - 2, top + y, arms[0] * 2 + arms[1] + arms[0] * 2, "chosen")
    labels.keep(x - 2, y, 5)


def _keys(grid: Grid, labels: Labels, box: tuple[int, int, int, int], lures: list[tuple[RodPicture, Floats]],
          look: Look) -> None:  # fmt: skip
    """Write each rod's key at its lure, the chosen one first."""
    left, top, width, height = box
    for rod, cell in sorted(lures, key=lambda one: not one[0].chosen):
        if not (0 <= cell[0] < width and 0 <= cell[1] < height):
            continue
        fighting = rod.state is RodState.FIGHTING
        text = f"{rod.key}{words.SIGNS[look.glyphs].fish}" if fighting else rod.key
        at = labels.place(int(cell[0]), int(cell[1]), len(text))
        if at is not None:
            ink = "lure fight" if fighting else "lure chosen" if rod.chosen else "lure"
            grid.put(left + at[0], top + at[1], text, ink)


def _aims(grid: Grid, labels: Labels, box: tuple[int, int, int, int], shown: Shown, plane: Plane,
          look: Look) -> None:  # fmt: skip
    """Draw the place to pass again."""
    left, top, *_ = box
    for place in {way.place_m for way in shown.ways if way.place_m is not None}:
        cell = plane.to_cells(np.array([place]))[0]
        if plane.within(cell):
            grid.put(left + int(cell[0]), top + int(cell[1]), "X" if look.glyphs == "plain" else "⊗", "ahead mark")
            labels.keep(int(cell[0]), int(cell[1]), 1)


def _hits(grid: Grid, labels: Labels, box: tuple[int, int, int, int], shown: Shown, plane: Plane,
          look: Look) -> None:  # fmt: skip
    """Write hits by rod at the lure's place, newest first, so that old ones give way."""
    left, top, *_ = box
    sign = words.SIGNS[look.glyphs].hit
    for hit in reversed(shown.hits):
        cell = plane.to_cells(np.array([[hit.north_m, hit.east_m]]))[0]
        if not plane.within(cell):
            continue
        at = labels.place(int(cell[0]), int(cell[1]), 1 + len(hit.rod))
        if at is not None:
            grid.put(left + at[0], top + at[1], f"{sign}{hit.rod}", "fish")


def _places(grid: Grid, labels: Labels, box: tuple[int, int, int, int], shown: Shown, plane: Plane) -> None:
    """Write marks by name, dangers in their own band, and fish seen."""
    left, top, *_ = box
    for place in shown.places:
        cell = plane.to_cells(np.array([[place.north_m, place.east_m]]))[0]
        if not plane.within(cell):
            continue
        text = f" {place.what} "
        at = labels.place(int(cell[0]) - len(text) // 2, int(cell[1]), len(text))
        if at is not None:
            ink = "fish" if place.what == "fish" else "caution band" if place.what in DANGERS else "state"
            grid.put(left + at[0], top + at[1], text, ink)


def scale_bar(plane: Plane, units: DisplaySystem, look: Look, room: int) -> str:
    """A round distance and its length on the chart, in at most ``room`` cells."""
    distance = units.round_m(plane.per_column_m * room / 2.5)
    cells = max(round(distance / plane.per_column_m), 3)
    signs = words.SIGNS[look.glyphs]
    bar = signs.ends[0] + signs.rule * (cells - 2) + signs.ends[1]
    return f"{convert(distance, units.length):g} {units.label(Dimension.LENGTH)} {bar}"
