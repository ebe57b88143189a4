"""A grid of cells with named inks, and the only widget that shows such a grid.

A painted widget never builds rich renderables. It writes characters and inks into a ``Grid``. ``Painted`` turns each
row into a strip, keeps the strips, and repaints only rows that have changed. Inks are names (``"number"``,
``"caution"`` …); the theme gives each its look, so a theme change repaints the same grid.
"""

from __future__ import annotations

from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray
from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from sternwatch.console.paint.look import INKS, Look, look_of
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem
from sternwatch.printable import one_line
from sternwatch.watch.picture.model import Picture

_INK_ID = {name: number for number, name in enumerate(INKS)}
_TEXT = _INK_ID["text"]


def ink_id(ink: str) -> int:
    """The number of an ink in grids and rasters."""
    return _INK_ID[ink]


class Grid:
    """Cells of a widget: one character, an ink and a ground each; all of shape (height, width)."""

    def __init__(self, width: int, height: int) -> None:
        self.width = max(width, 0)
        self.height = max(height, 0)
        shape = (self.height, self.width)
        self.chars: NDArray[np.str_] = np.full(shape, " ", dtype="<U1")
        self.inks: NDArray[np.int16] = np.full(shape, _TEXT, dtype=np.int16)
        self.grounds: NDArray[np.int16] = np.full(shape, -1, dtype=np.int16)

    def put(self, x: int, y: int, text: str, ink: str = "text") -> int:
        """Write ``text`` at cell (x, y), clipped to the grid; returns the x after it."""
        text = one_line(text)
        if 0 <= y < self.height:
            number = _INK_ID[ink]
            for offset, char in enumerate(text):
                at = x + offset
                if 0 <= at < self.width:
                    self.chars[y, at] = char
                    self.inks[y, at] = number
        return x + len(text)

    def put_right(self, x_end: int, y: int, text: str, ink: str = "text") -> int:
        """Write ``text`` to end before cell ``x_end``; returns the x where it begins."""
        text = one_line(text)
        self.put(x_end - len(text), y, text, ink)
        return x_end - len(text)

    def put_middle(self, x: int, y: int, width: int, text: str, ink: str = "text") -> None:
        """Write ``text`` in the middle of ``width`` cells from x."""
        text = one_line(text)
        self.put(x + max(width - len(text), 0) // 2, y, text, ink)

    def tint(self, x: int, y: int, width: int, height: int, ground: str) -> None:
        """Give a rectangle the background of the ink ``ground`` and keep its characters."""
        self.grounds[max(y, 0) : max(y + height, 0), max(x, 0) : max(x + width, 0)] = _INK_ID[ground]

    def fill(self, x: int, y: int, width: int, height: int, char: str, ink: str) -> None:
        """Fill a rectangle with one character."""
        rows, cols = slice(max(y, 0), max(y + height, 0)), slice(max(x, 0), max(x + width, 0))
        self.chars[rows, cols] = char
        self.inks[rows, cols] = _INK_ID[ink]

    def row_key(self, y: int) -> bytes:
        """A row's identity: its characters, inks and grounds."""
        return bytes(self.chars[y].tobytes() + self.inks[y].tobytes() + self.grounds[y].tobytes())

    def strip(self, y: int, look: Look) -> Strip:
        """Row ``y`` as a strip with as few segments as its inks allow."""
        inks, grounds = self.inks[y], self.grounds[y]
        edges = np.flatnonzero((inks[1:] != inks[:-1]) | (grounds[1:] != grounds[:-1])) + 1
        text = "".join(self.chars[y].tolist())
        segments = []
        start = 0
        for end in [*edges.tolist(), self.width]:
            segments.append(Segment(text[start:end], _style(look, int(inks[start]), int(grounds[start]))))
            start = end
        return Strip(segments, self.width)

    def text(self) -> str:
        """The characters alone, one line per row, for tests and for reading aloud."""
        return "\n".join("".join(row).rstrip() for row in self.chars.tolist())


def _style(look: Look, ink: int, ground: int) -> Style:
    return look.style(INKS[ink], INKS[ground] if ground >= 0 else "")


class Painted(Widget, inherit_bindings=False):
    """A widget that paints a picture into a grid and repaints only the rows that changed."""

    can_focus = False
    ALLOW_SELECT: ClassVar[bool] = False

    def __init__(self, *, units: DisplaySystem = SYSTEMS["us"], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.units = units
        self._picture: Picture | None = None
        self._grid = Grid(0, 0)
        self._keys: list[bytes] = []
        self._strips: dict[int, Strip] = {}
        self._drawn_with: Look | None = None

    @property
    def look(self) -> Look:
        """The look of the app's theme; plain where the theme is not one of ours."""
        return look_of(self.app.current_theme)

    def show(self, picture: Picture) -> None:
        """Show a picture in place of the last one."""
        self._picture = picture
        self.repaint()

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        """Paint ``picture`` into an empty grid of the widget's size."""
        raise NotImplementedError

    def draw(self, grid: Grid) -> None:
        """Fill an empty grid: with the last picture, if there was one."""
        if self._picture is not None:
            self.paint(grid, self._picture, self.look)

    def repaint(self) -> None:
        """Paint the last picture again and refresh the rows that differ."""
        width, height = self.size
        if not self.is_attached or width <= 0 or height <= 0:
            return
        look = self.look
        grid = Grid(width, height)
        self.draw(grid)
        keys = [grid.row_key(y) for y in range(height)]
        self._grid = grid
        if look is not self._drawn_with or len(keys) != len(self._keys):
            self._strips.clear()
            self._keys, self._drawn_with = keys, look
            self.refresh()
            return
        changed = [y for y in range(height) if keys[y] != self._keys[y]]
        self._keys = keys
        for y in changed:
            self._strips.pop(y, None)
        if changed:
            self.refresh(*(Region(0, y, width, 1) for y in changed))

    def on_resize(self) -> None:
        self.repaint()

    def on_mount(self) -> None:
        self.app.theme_changed_signal.subscribe(self, lambda _theme: self.repaint())

    def render_line(self, y: int) -> Strip:
        width = self.size.width
        if y >= self._grid.height or self._grid.width != width:
            return Strip.blank(width, self.look.style("text"))
        strip = self._strips.get(y)
        if strip is None:
            strip = self._strips[y] = self._grid.strip(y, self.look)
        return strip
