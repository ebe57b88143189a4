"""The stern from above, bow up: the boat's outline, every rod tip at its place, and the mouse on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual import events
from textual.message import Message

from sternwatch.console.editor.edited_spread import TipAt
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.gear.values.units import FOOT_M, DisplaySystem

_NO_BEAM_M = 2.5
_ROWS_PER_CELL = 2.0  # a cell is about twice as high as it is wide
_TICK_M = {"ft": 5 * FOOT_M, "m": 2.0}


@dataclass(frozen=True, slots=True)
class Scale:
    """Converts places on the boat (metres forward and to starboard) to cells of the view (across and down)."""

    middle_x: float
    transom_y: float
    cell_m: float  # metres across one cell
    row_m: float  # metres down one row

    @classmethod
    def of(cls, tips: Sequence[TipAt], beam_m: float, width: int, height: int) -> Scale:
        """The largest scale at which everything fits. A row covers twice a cell's metres where there is room."""
        widest = max([beam_m / 2, *(abs(tip.starboard_m) for tip in tips)]) + 0.3
        cell = 2 * widest / max(width - 14, 10)
        ahead = max([1.0, *(tip.forward_m for tip in tips)]) + 0.2
        behind = max([0.6, *(-tip.forward_m for tip in tips)]) + 0.2
        row = max(cell * _ROWS_PER_CELL, (ahead + behind) / max(height - 1, 3))
        cell = max(cell, row / _ROWS_PER_CELL / 2.5)
        spare = max(height - 1 - (ahead + behind) / row, 0.0)
        return cls(width / 2, ahead / row + spare / 2, cell, row)

    def cell(self, forward_m: float, starboard_m: float) -> tuple[int, int]:
        """The cell of a place."""
        return round(self.middle_x + starboard_m / self.cell_m), round(self.transom_y - forward_m / self.row_m)

    def place(self, x: int, y: int) -> tuple[float, float]:
        """The place under a cell: metres forward, to starboard."""
        return (self.transom_y - y) * self.row_m, (x - self.middle_x) * self.cell_m


def paint_stern(
    grid: Grid,
    scale: Scale,
    tips: Sequence[TipAt],
    beam_m: float,
    units: DisplaySystem,
    chosen: int | None,
    plain: bool,
) -> None:
    """Draw the boat, the tips with keys and names, and distance ticks."""
    left, transom = scale.cell(0.0, -beam_m / 2)
    right, _ = scale.cell(0.0, beam_m / 2)
    across, side, corners = ("=", "|", "++") if plain else ("━", "┃", "┗┛")
    for y in range(max(transom, 0)):
        grid.put(left, y, side, "boat")
        grid.put(right, y, side, "boat")
    grid.fill(left + 1, transom, right - left - 1, 1, across, "boat")
    grid.put(left, transom, corners[0], "boat")
    grid.put(right, transom, corners[1], "boat")
    grid.put(1, 0, "PORT", "label")
    grid.put_right(grid.width - 1, 0, "STARBOARD", "label")
    free = _Free(grid, [(1, 0, 4), (grid.width - 10, 0, 9)])
    for tip in sorted(tips, key=lambda tip: tip.index != chosen):
        _key(grid, free, scale, tip, chosen=tip.index == chosen)
    for tip in sorted(tips, key=lambda tip: tip.index != chosen):
        _name(grid, free, scale, tip, chosen=tip.index == chosen)
    wide = max(round(_TICK_M[units.length] / scale.cell_m), 3)
    words = f"{5 if units.length == 'ft' else 2} {units.length}"
    bar = "-" * wide if plain else "├" + "─" * (wide - 2) + "┤"
    for y, text, ink in ((transom - 1, "STERN", "label"), (transom - 3, f"{bar} {words}", "label")):
        x = left + (right - left + 1 - len(text)) // 2
        if y >= 0 and left < x and free.take(x, y, len(text)):
            grid.put(x, y, text, ink)


class _Free:
    """The free cells: a label never overwrites another."""

    def __init__(self, grid: Grid, taken: Sequence[tuple[int, int, int]]) -> None:
        self._size = grid.width, grid.height
        self._taken = {(x + k, y) for x, y, wide in taken for k in range(wide)}

    def take(self, x: int, y: int, wide: int) -> bool:
        """Take ``wide`` cells from (x, y) where they exist and are free. Returns whether they were."""
        cells = {(x + k, y) for k in range(wide)}
        inside = 0 <= y < self._size[1] and x >= 0 and x + wide <= self._size[0]
        if not inside or cells & self._taken:
            return False
        self._taken |= cells
        return True


def _at(scale: Scale, tip: TipAt, height: int) -> tuple[int, int]:
    x, y = scale.cell(tip.forward_m, tip.starboard_m)
    return x, min(y + 1, height - 1) if tip.carried else y


def _key(grid: Grid, free: _Free, scale: Scale, tip: TipAt, *, chosen: bool) -> None:
    """Write a tip's key at its place, or at the nearest free one beside it."""
    x, y = _at(scale, tip, grid.height)
    for dx, dy in ((0, 0), (0, 1), (0, -1), (3, 0), (-3, 0), (3, 1), (-3, 1)):
        if free.take(x - 1 + dx, y + dy, 3):
            grid.put(x - 1 + dx, y + dy, f" {tip.key} ", "chosen" if chosen else "name")
            return


def _name(grid: Grid, free: _Free, scale: Scale, tip: TipAt, *, chosen: bool) -> None:
    """Write a tip's name outward of its key, else inward; leave it out where there is no room."""
    x, y = _at(scale, tip, grid.height)
    wide = len(tip.name)
    outward, inward = (x - 2 - wide, x + 3) if tip.starboard_m < 0 else (x + 3, x - 2 - wide)
    for at in (outward, inward):
        if free.take(at, y, wide):
            grid.put(at, y, tip.name, "text" if chosen else "label")
            return


class SternView(Painted):
    """The view. A click chooses a rod or a place; a drag moves a tip."""

    class Chosen(Message):
        """A rod's tip was clicked."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    class Moved(Message):
        """A rod's tip is dragged. ``done``: the button is released."""

        def __init__(self, index: int, forward_m: float, starboard_m: float, done: bool) -> None:
            super().__init__()
            self.index, self.forward_m, self.starboard_m, self.done = index, forward_m, starboard_m, done

    class Pointed(Message):
        """An empty place was clicked."""

        def __init__(self, forward_m: float, starboard_m: float) -> None:
            super().__init__()
            self.forward_m, self.starboard_m = forward_m, starboard_m

    def __init__(self, units: DisplaySystem) -> None:
        super().__init__(units=units)
        self.tips: list[TipAt] = []
        self.beam_m = _NO_BEAM_M
        self.chosen: int | None = None
        self._held: int | None = None
        self._dragged = False
        self._held_scale: Scale | None = None

    def tell(self, tips: list[TipAt], beam_m: float | None, chosen: int | None) -> None:
        """Show these tips."""
        self.tips, self.beam_m, self.chosen = tips, beam_m or _NO_BEAM_M, chosen
        self.repaint()

    @property
    def scale(self) -> Scale:
        """The scale, which stays the same while a tip is dragged."""
        return self._held_scale or Scale.of(self.tips, self.beam_m, self.size.width, self.size.height)

    def draw(self, grid: Grid) -> None:
        paint_stern(grid, self.scale, self.tips, self.beam_m, self.units, self.chosen, self.look.glyphs == "plain")

    def tip_at(self, x: int, y: int) -> int | None:
        """The rod with its tip at a cell."""
        found = [tip for tip in self.tips if self._hits(tip, x, y)]
        return found[-1].index if found else None

    def _hits(self, tip: TipAt, x: int, y: int) -> bool:
        at_x, at_y = self.scale.cell(tip.forward_m, tip.starboard_m)
        return abs(at_x - x) <= 1 and at_y == y

    def on_mouse_down(self, event: events.MouseDown) -> None:
        self._held = self.tip_at(event.x, event.y)
        self._dragged = False
        if self._held is not None:
            self._held_scale = self.scale
            self.capture_mouse()
            self.post_message(self.Chosen(self._held))

    def on_mouse_move(self, event: events.MouseMove) -> None:
        if self._held is not None:
            self._dragged = True
            self.post_message(self.Moved(self._held, *self.scale.place(event.x, event.y), done=False))

    def on_mouse_up(self, event: events.MouseUp) -> None:
        held, self._held = self._held, None
        place = self.scale.place(event.x, event.y)
        self._held_scale = None
        if held is not None:
            self.release_mouse()
            if self._dragged:
                self.post_message(self.Moved(held, *place, done=True))
        else:
            self.post_message(self.Pointed(*place))
