"""Draws marks and fish seen in both views. Pure painting; the picture has their places."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.scene import Labels
from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.logbook.actions.place_acts import DANGERS
from sternwatch.watch.picture.manoeuvre import side_of
from sternwatch.watch.picture.model import MarkPicture, Picture

ToCells = Callable[[NDArray[np.float64]], NDArray[np.float64]]
Box = tuple[int, int, int, int]  # left, top, width, height
Kept = list[tuple[int, int, int]]  # x, y, length of cells that labels must avoid

# The view from the side shows marks no further beside the lines than this.
BESIDE_M = 40.0


def on_plan(grid: Grid, picture: Picture, to_cells: ToCells, look: Look, box: Box) -> Kept:
    """Draw marks and fish astern of the bow at their places, from above."""
    labels = Labels(box[2], box[3])
    kept = []
    for mark in picture.marks:
        kept += _put(grid, labels, box, to_cells, (mark.astern_m, mark.abeam_m, 0.0), f" {mark.what} ", _ink(mark))
    for fish in picture.fish_seen:
        if fish.astern_m is not None and fish.abeam_m is not None:
            text = f" {words.SIGNS[look.glyphs].fish} "
            kept += _put(grid, labels, box, to_cells, (fish.astern_m, fish.abeam_m, fish.depth_m), text, "fish")
    return kept


def on_side(grid: Grid, picture: Picture, to_cells: ToCells, units: DisplaySystem, look: Look, box: Box) -> Kept:
    """Draw marks, and fish at their depth and place, or at the left edge once they are astern of the view."""
    labels = Labels(box[2], box[3])
    _, _, width, height = box
    sign = words.SIGNS[look.glyphs].fish
    kept = []
    for fish in reversed(picture.fish_seen):
        astern = max(fish.astern_m, 0.0) if fish.astern_m is not None else None
        text = f" {sign} {words.whole(fish.depth_m, units)} "
        if astern is not None:
            kept += _put(grid, labels, box, to_cells, (astern, 0.0, fish.depth_m), text, "fish")
        x, y = to_cells(np.array([[astern or 0.0, 0.0, fish.depth_m]]))[0]
        if (astern is None or x >= width) and 0 <= y < height:
            kept += _at(grid, labels, box, (1, int(y)), text, "fish")
    floor = dict(picture.bottom_track)
    for mark in picture.marks:
        if abs(mark.abeam_m) > BESIDE_M or mark.astern_m < 0.0:
            continue
        near = min(floor, key=lambda astern: abs(astern - mark.astern_m), default=None)
        deep = floor[near] if near is not None and mark.what in ("snag", "break") else 0.0
        kept += _put(grid, labels, box, to_cells, (mark.astern_m, 0.0, deep), f" {mark.what} ", _ink(mark))
    return kept


def ahead(picture: Picture, units: DisplaySystem) -> words.Forms:
    """The words for the nearest mark ahead, for the head of the view from above; empty where there is none."""
    mark = next((mark for mark in picture.marks if mark.astern_m < 0.0), None)
    if mark is None:
        return ()
    far = units.show(-mark.astern_m, Dimension.LENGTH)
    side = side_of(mark.abeam_m)
    beside = units.show(abs(mark.abeam_m), Dimension.LENGTH)
    return (f" {mark.what} {far} ahead, {beside} to {side} ", f" {mark.what} {far} ahead ")


def old_bottom(picture: Picture) -> words.Forms:
    """The age of the drawn bottom, where it is from an earlier trip."""
    if picture.bottom_age_s is None:
        return ()
    age = days(picture.bottom_age_s)
    return (f" bottom partly of an earlier trip, {age} ", f" bottom: {age} ")


def days(seconds: float) -> str:
    """A long time in hours or days."""
    return f"{seconds / 86400.0:.0f} d" if seconds >= 2 * 86400.0 else f"{seconds / 3600.0:.0f} h"


def _ink(mark: MarkPicture) -> str:
    return "caution band" if mark.what in DANGERS else "state"


def _put(
    grid: Grid, labels: Labels, box: Box, to_cells: ToCells, at_m: tuple[float, float, float], text: str, ink: str
) -> Kept:
    x, y = to_cells(np.array([at_m]))[0]
    if not (0 <= x < box[2] and 0 <= y < box[3]) or at_m[0] < 0.0:
        return []
    return _at(grid, labels, box, (int(x) - len(text) // 2, int(y)), text, ink)


def _at(grid: Grid, labels: Labels, box: Box, at: tuple[int, int], text: str, ink: str) -> Kept:
    place = labels.place(at[0], at[1], len(text))
    if place is None:
        return []
    x, y = box[0] + place[0], box[1] + place[1]
    grid.put(x, y, text, ink)
    return [(x, y, len(text))]
