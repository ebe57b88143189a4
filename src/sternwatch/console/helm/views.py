"""The chains from above and from the side.

Both views draw every rod with a known shape, each with its own colour and dash and its key at the lure; the chosen
one is heavy and on top. A rod without a shape is named below with the reason. Scales are round numbers in the crew's
unit and hold still.
"""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sternwatch.console.helm import forecast_lines as ghosts
from sternwatch.console.helm import marked_places
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.raster import Raster, line_ink
from sternwatch.console.paint.scene import Labels, SteadyExtent, Upright, runs_of_bottom, upright
from sternwatch.console.words import outlook as said
from sternwatch.console.words import rods as words
from sternwatch.console.words.text import cut
from sternwatch.gear.values.units import Dimension, convert
from sternwatch.watch.picture.model import Picture, RodPicture, RodState, SolverState
from sternwatch.water.profile import TemperatureProfile

_IN = "in"
_AXIS = 5  # cells for the numbers of the vertical scale
_NOTCH = 0.5  # rows
_DEEPEST_BOTTOM = 2.2  # as a multiple of the deepest lure: a deeper bottom would flatten the lines


class _View(Painted):
    """The common parts of both views."""

    title = ""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._along = SteadyExtent()
        self._across = SteadyExtent()

    def _drawn(self, picture: Picture) -> list[tuple[RodPicture, NDArray[np.float64]]]:
        """Rods with a shape in order across the stern, the chosen one last, so that it is on top."""
        order = words.across_stern(picture.rods)
        drawn = [(rod, rod.shape_m) for rod in order if rod.shape_m is not None]
        return sorted(drawn, key=lambda entry: entry[0].chosen)

    def _reach(self, extent: SteadyExtent, t_s: float, wanted_m: float) -> float:
        """A steady reach in metres that is round in the crew's unit."""
        one = convert(1.0, self.units.length)
        return extent.take(t_s, wanted_m * one) / one

    def _upright(self, extent: SteadyExtent, t_s: float, wanted_m: float, rows: int) -> tuple[Upright, float]:
        """A steady scale down ``rows`` rows in the crew's unit, and its metres per row."""
        one = convert(1.0, self.units.length)
        shown = extent.take(t_s, wanted_m * one, lambda wanted: upright(wanted, rows).per_row * rows)
        scale = upright(shown, rows)
        return scale, scale.per_row / one

    def _scale(self, grid: Grid, scale: Upright, head: int, top: int) -> None:
        """Write distances at the left edge, down from row ``top``, with their unit in row ``head``."""
        grid.put_right(_AXIS - 1, head, self.units.label(Dimension.LENGTH), "label")
        for row, text in scale.marks(grid.height - top):
            grid.put_right(_AXIS - 1, top + row, text, "label")
            grid.put(_AXIS, top + row, words.SIGNS[self.look.glyphs].rule, "rule")

    def _head(self, grid: Grid, notes: words.Forms, m_per_cell: float) -> None:
        """Write the title, a note beside it, and the length of a round distance sideways."""
        grid.put(1, 0, self.title, "label")
        room = max(min(grid.width // 3, 24), 6)
        distance = self.units.round_m(m_per_cell * room)
        if distance / m_per_cell > room:
            distance = self.units.round_m(m_per_cell * room / 2.5)
        cells = max(round(distance / m_per_cell), 3)
        look = words.SIGNS[self.look.glyphs]
        text = f" {convert(distance, self.units.length):g} {self.units.label(Dimension.LENGTH)} "
        bar = look.ends[0] + look.rule * (cells - 2) + look.ends[1]
        start = grid.width - len(bar) - 1
        first = start if len(text) <= cells - 2 else start - len(text)
        x = len(self.title) + 3
        note = next((form for form in notes if x + len(form) < first), "")
        grid.put(x, 0, note, "state")
        grid.put(start, 0, bar, "rule")
        if len(text) <= cells - 2:
            grid.put_middle(start, 0, len(bar), text, "label")
        else:
            grid.put_right(start, 0, text, "label")

    def _missing(self, grid: Grid, picture: Picture, top: int) -> None:
        """Write which rods are not drawn, and why; from row ``top`` where none is."""
        reasons: dict[str, list[str]] = {}
        for rod in words.across_stern(picture.rods):
            if rod.shape_m is None:
                reasons.setdefault(_why(rod), []).append(rod.key)
        # The rods first: a long reason may be cut.
        text = " · ".join(f"{' '.join(keys)}: {why}" for why, keys in reasons.items())
        if len(reasons) == 1 and all(rod.shape_m is None for rod in picture.rods):
            why = next(iter(reasons))
            why = "every rod is in" if why == _IN else picture.own.why_no_speed or why
            lines = textwrap.wrap(f"Nothing to draw: {why}.", max(grid.width - _AXIS - 4, 12))
            for row, line in enumerate(lines[:3]):
                grid.put(_AXIS + 2, top + row, line, "label")
        elif text:
            grid.put(_AXIS + 2, grid.height - 1, cut(f"not drawn – {text}", grid.width - _AXIS - 2), "label")

    def _line(self, raster: Raster, rod: RodPicture, places: NDArray[np.float64]) -> None:
        raster.curve(places, *line_ink(rod.key), heavy=rod.chosen)

    def _lures(self, grid: Grid, box: tuple[int, int, int, int], lures: list[tuple[RodPicture, float, float]],
               kept: list[tuple[int, int, int]] | None = None) -> None:  # fmt: skip
        """Write each rod's key at its lure, the chosen one first, so that it gets its exact place."""
        left, top, width, height = box
        signs = words.SIGNS[self.look.glyphs]
        labels = Labels(width, height)
        for x_kept, y_kept, length in kept or []:
            labels.keep(x_kept - left, y_kept - top, length)
        for rod, x, y in sorted(lures, key=lambda entry: (not entry[0].chosen, entry[2])):
            fighting = rod.state is RodState.FIGHTING
            text = f" {rod.key}{signs.fish} " if fighting else f" {rod.key} "
            at = labels.place(int(x) - 1, int(y), len(text))
            if at is not None:
                ink = "lure fight" if fighting else "lure chosen" if rod.chosen else "lure"
                grid.put(left + at[0], top + at[1], text, ink)

    def _tackle(self, grid: Grid, places: list[tuple[float, float]]) -> None:
        sign = words.SIGNS[self.look.glyphs].device
        for x, y in places:
            grid.put(int(x), int(y), sign, "tackle")


def _why(rod: RodPicture) -> str:
    if rod.state is RodState.IN:
        return _IN
    if rod.solver is SolverState.FAILED:
        return "failed"
    return rod.why_no_depth or "no depth"


def _crust(raster: Raster, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Fill each column of cells from the bottom's line to the row where the bed begins; returns that row, or nan."""
    down, across = raster.dot_shape
    at_x = (np.arange(across) + 0.5) / across * raster.width
    floor = np.interp(at_x, x, y, left=np.nan, right=np.nan)
    by_cell = floor.reshape(raster.width, -1)
    # A line in the upper half of a cell would fill most of it with dots, which shows as a notch in the bed.
    begins = np.floor(np.where(np.isnan(by_cell), -np.inf, by_cell).max(axis=1) - _NOTCH) + 1.0
    at_y = (np.arange(down)[:, None] + 0.5) / down * raster.height
    raster.area((at_y >= floor) & (at_y < np.repeat(begins, by_cell.shape[1])), "bottom")
    return np.where(np.isfinite(begins), begins, np.nan)


class PlanView(_View):
    """The view from above: boat up, lines down the screen."""

    title = "FROM ABOVE"

    def __init__(self, *, mirrored: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self._to_right = -1.0 if mirrored else 1.0

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        drawn = self._drawn(picture)
        boat = 3 if grid.height >= 16 else 2 if grid.height >= 9 else 1
        left, top = _AXIS, 1 + boat
        width, height = grid.width - left - 1, grid.height - top
        if width < 10 or height < 3:
            return
        made = said.shown_forecast(picture)
        beam = max([abs(rod.tip_abeam_m) for rod in picture.rods] + [1.5])
        astern = [float(np.nanmax(s[:, 0])) for _, s in drawn] + [20.0 if drawn else 80.0, ghosts.extent(made, 0)]
        abeam = [float(np.nanmax(np.abs(s[:, 1]))) for _, s in drawn] + [beam, 8.0 if drawn else 20.0]
        abeam.append(ghosts.extent(made, 1))
        scale, down = self._upright(self._along, picture.t_s, max(astern) * 1.05, height)
        side = 2.0 * self._reach(self._across, picture.t_s, max(abeam) * 1.08) / width
        # Never wider than to scale: a cell is twice as high as it is wide.
        side = max(side, down / 6.0)
        self._head(
            grid, marked_places.ahead(picture, self.units) if made is None else said.legend(picture, made), side
        )
        self._scale(grid, scale, 1, top)
        sides = ("PORT", "STARBOARD") if self._to_right > 0 else ("STARBOARD", "PORT")
        grid.put(left + 1, 1, sides[0], "label")
        grid.put_right(left + width, 1, sides[1], "label")
        middle = width / 2.0
        raster = Raster(width, height + boat, look.glyphs)

        def to_cells(shape: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.column_stack([middle + self._to_right * shape[:, 1] / side, boat + shape[:, 0] / down])

        ghosts.draw(raster, made, to_cells)
        lures, tackle = [], []
        for rod, shape in drawn:
            places = to_cells(shape)
            self._line(raster, rod, places)
            lures.append((rod, float(places[-1, 0]), float(places[-1, 1])))
            tackle += [
                (left + middle + self._to_right * p.abeam_m / side, 1 + boat + p.astern_m / down)
                for p in rod.points[:-1]
            ]
        ghosts.draw_pair(raster, made, to_cells)
        self._boat(grid, raster, look, middle, boat, max(beam / side, 1.0), left)
        raster.stamp(grid, left, 1)
        self._tackle(grid, tackle)
        box = (left, 1, width, height + boat)
        kept = ghosts.mark(grid, made, to_cells, self.units, look, box)
        kept += self._traffic(grid, picture, box, max(beam / side, 1.0)) if boat > 1 else []
        kept += marked_places.on_plan(grid, picture, to_cells, look, box)
        self._lures(grid, box, lures, kept)
        self._missing(grid, picture, 2 + boat)  # beneath the hull

    def _traffic(self, grid: Grid, picture: Picture, box: tuple[int, int, int, int],
                 half: float) -> list[tuple[int, int, int]]:  # fmt: skip
        """Write the lines' reach astern and width beside the hull, for traffic astern. Returns the cells taken."""
        left, top, width, _ = box
        room = int(width / 2.0 - half) - 2
        back, wide = (
            next((f for f in forms if len(f) <= room), "") for forms in said.reach_forms(picture, self.units)
        )
        if not (back and wide):
            return []
        grid.put(left + 1, top + 1, back, "text")
        start = grid.put_right(left + width, top + 1, wide, "text")
        return [(left + 1, top + 1, len(back)), (start, top + 1, len(wide))]

    def _boat(self, grid: Grid, raster: Raster, look: Look, middle: float, rows: int, half: float, left: int) -> None:
        """Draw a hull with its beam to the sideways scale; its length is only symbolic."""
        if look.glyphs == "plain":
            at = left + int(middle) - 1
            grid.put(at, 1, "/^\\" if rows > 1 else "[^]", "boat")
            for row in range(2, rows + 1):
                grid.put(at, row, "[_]" if row == rows else "| |", "boat")
            return
        down, across = raster.dot_shape
        y = (np.arange(down) + 0.5) / down * (raster.height)
        x = (np.arange(across) + 0.5) / across * raster.width - middle
        share = np.clip(y / rows, 0.0, 1.0)
        hull = half * np.minimum(1.0, 1.9 * np.sqrt(np.clip(share, 0.0, None)) * (1.0 - 0.35 * share) + 0.05)
        raster.area((np.abs(x)[None, :] <= hull[:, None]) & (y < rows)[:, None], "boat")


class SideView(_View):
    """The view from the side: boat at the left, depth downward."""

    title = "FROM THE SIDE"

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        drawn = self._drawn(picture)
        boat = 7 if grid.width >= 40 else 4
        left, top = _AXIS, 2  # the surface is the upper edge of row `top`
        width, height = grid.width - left - 3, grid.height - top
        if width < 12 or height < 3:
            return
        made = said.shown_forecast(picture)
        deepest = max([float(np.nanmax(s[:, 2])) for _, s in drawn] + [6.0 if drawn else 25.0])
        deepest = max(deepest, ghosts.extent(made, 2))
        floor = [depth for _, depth in picture.bottom_track] + ([picture.bottom_m] if picture.bottom_m else [])
        wanted = deepest * 1.05
        if floor and max(floor) <= _DEEPEST_BOTTOM * deepest:
            wanted = max(wanted, max(floor) * 1.03)
        scale, down = self._upright(self._across, picture.t_s, wanted, height)
        astern = [float(np.nanmax(s[:, 0])) for _, s in drawn] + [20.0 if drawn else 80.0, ghosts.extent(made, 0)]
        along = self._reach(self._along, picture.t_s, max(astern) * 1.05) / (width - boat)
        self._head(grid, marked_places.old_bottom(picture) if made is None else said.legend(picture, made), along)
        zones = self._zone(grid, picture, look, (left, top, width, height), down)
        self._scale(grid, scale, top - 1, top)
        self._surface(grid, look, left, top, width)
        raster = Raster(width, height + 1, look.glyphs)
        kept = self._bottom(grid, raster, picture, (left, top, width, height), (boat, along, down))

        def to_cells(shape: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.column_stack([boat + shape[:, 0] / along, 1.0 + shape[:, 2] / down])

        ghosts.draw(raster, made, to_cells)
        lures, tackle = [], []
        for rod, shape in drawn:
            places = to_cells(shape)
            self._line(raster, rod, places)
            lures.append((rod, float(places[-1, 0]), float(places[-1, 1])))
            tackle += [(left + boat + p.astern_m / along, top + p.depth_m / down) for p in rod.points[:-1]]
        ghosts.draw_pair(raster, made, to_cells)
        self._boat(grid, raster, look, boat, left)
        raster.stamp(grid, left, top - 1)
        self._tackle(grid, tackle)
        for y, text in zones:
            if all(y != taken for _, taken, _ in kept):
                kept.append((grid.put_right(left + width, y, text, "zone word"), y, len(text)))
        for y, text in self._readings(picture, top, height, down):
            if all(y != taken for _, taken, _ in kept):
                kept.append((grid.put_right(left + width, y, text, "label"), y, len(text)))
        box = (left, top - 1, width, height + 1)
        kept += ghosts.mark(grid, made, to_cells, self.units, look, box)
        kept += marked_places.on_side(grid, picture, to_cells, self.units, look, box)
        self._lures(grid, box, lures, kept)
        self._hits(grid, picture, top, height, down)
        self._missing(grid, picture, top + 1)

    def _surface(self, grid: Grid, look: Look, left: int, top: int, width: int) -> None:
        sign = {"braille": "⣀", "block": "▁", "plain": "_"}[look.glyphs]
        grid.fill(left, top - 1, width, 1, sign, "water")

    def _zone(self, grid: Grid, picture: Picture, look: Look, box: tuple[int, int, int, int],
              down: float) -> list[tuple[int, str]]:  # fmt: skip
        """Shade the depths with the wanted temperatures. Returns rows and words for them."""
        left, top, width, height = box
        said = []
        column = TemperatureProfile.from_pairs(picture.temperature_profile)
        for upper, lower in column.band_m(*picture.zone_c) if picture.zone_c is not None else ():
            first, last = round(upper / down), min(round(lower / down), height)
            if last <= first:
                continue
            grid.tint(left + 1, top + first, width - 1, last - first, "zone")
            if look.glyphs == "plain":
                for y in (first, last - 1):
                    grid.put(left + 1, top + y, (". " * width)[: width - 1], "rule")
            said.append((top + first, f" zone {words.zone(picture, self.units)} "))
        return said

    def _readings(self, picture: Picture, top: int, height: int, down: float) -> list[tuple[int, str]]:
        """Rows and words of measured temperatures, at their depths."""
        said: dict[int, str] = {}
        for depth, temperature in picture.temperature_profile:
            row = int(depth / down)
            if row < height:
                said.setdefault(top + row, f" {words.temperature(temperature, self.units)}° ")
        return list(said.items())

    def _bottom(self, grid: Grid, raster: Raster, picture: Picture, box: tuple[int, int, int, int],
                scale: tuple[int, float, float]) -> list[tuple[int, int, int]]:  # fmt: skip
        """Draw the bottom where the boat has sounded it, and nothing elsewhere. Returns the cells of its words.

        Plain terminals have no ground to tell it from a line: there it is drawn with a sign of its own.
        """
        left, top, width, height = box
        boat, along, down = scale
        kept: list[tuple[int, int, int]] = []
        places = list(picture.bottom_track)
        if picture.bottom_m is not None and not any(abs(astern) < 2.0 for astern, _ in places):
            places.append((0.0, picture.bottom_m))
        for run in runs_of_bottom(places):
            track = np.array(run)
            if track[:, 1].min() > down * height:
                if picture.bottom_m is not None:
                    sign = words.SIGNS[self.look.glyphs].bottom
                    text = f"bottom {words.whole(picture.bottom_m, self.units)} {sign} "
                    y = top + height - 1
                    kept = [(grid.put_right(left + width, y, text, "label"), y, len(text))]
                continue
            at_x = boat + track[:, 0] / along
            at_y = 1.0 + track[:, 1] / down
            for cell, begins in enumerate(_crust(raster, at_x, at_y).tolist()):
                if 1.0 <= begins <= height:  # the raster begins a row above the box
                    grid.tint(left + cell, top - 1 + int(begins), 1, height + 1 - int(begins), "bed")
            if self.look.glyphs == "plain":
                raster.curve(np.column_stack([at_x, at_y]), "bottom", plain_sign="%")
        return kept

    def _boat(self, grid: Grid, raster: Raster, look: Look, length: int, left: int) -> None:
        """Draw a small hull, bow to the left, with its transom where the distances begin."""
        if look.glyphs == "plain":
            grid.put(left + 1, 1, "\\" + "#" * (length - 3) + "|", "boat")
            return
        down, across = raster.dot_shape
        y = (np.arange(down)[:, None] + 0.5) / down * raster.height
        x = (np.arange(across)[None, :] + 0.5) / across * raster.width
        hull = (y > 0.45) & (y < 1.2) & (x > 0.6 + 1.6 * (y - 0.45)) & (x < length - 0.1)
        house = (y > 0.1) & (y <= 0.5) & (x > 0.36 * length) & (x < 0.66 * length)
        raster.area(hull | house, "boat")

    def _hits(self, grid: Grid, picture: Picture, top: int, height: int, down: float) -> None:
        """Mark the depths of this trip's hits along the right edge."""
        counts: dict[int, int] = {}
        for hit in picture.hits:
            if hit.depth_m is not None and not hit.doubtful and hit.state != "no fish":
                row = int(hit.depth_m / down)
                if 0 <= row < height:
                    counts[row] = counts.get(row, 0) + 1
        sign = words.SIGNS[self.look.glyphs].hit
        if counts:
            grid.put_right(grid.width, top - 1, "hits", "label")
        for row, count in counts.items():
            grid.put_right(grid.width, top + row, sign if count == 1 else f"{count}{sign}", "fish")
