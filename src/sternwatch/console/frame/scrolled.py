"""A page of lines that may be longer than the screen. Arrows and page keys move it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult

from sternwatch.console.frame.alerts_area import WorstAlert
from sternwatch.console.frame.bars import ControlsPainted
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.hiding import key_names

Span = tuple[int, str, str]  # cell, text, ink
Line = tuple[Span, ...]

READING_CELLS = 110  # in longer lines of running words the eye loses the next one


def ends(at: int, text: str, ink: str) -> Span:
    """A text that ends before cell ``at``, for a column of numbers."""
    return at - len(text), text, ink


class Scrolled(ControlsPainted):
    """The lines that fit, from ``first`` on. The last row says which lines they are."""

    def __init__(self) -> None:
        super().__init__()
        self.first = 0

    def lines(self, width: int) -> list[Line]:
        """All lines, for ``width`` cells."""
        raise NotImplementedError

    @property
    def hint(self) -> str:
        """The words for a key of this page that the footer does not name."""
        return ""

    @property
    def rows(self) -> int:
        """The rows that the overlays at the body's foot leave free."""
        return max(self.free_rows, 2)

    def scroll_by(self, count: int) -> None:
        """Go down (positive) or up by a number of lines."""
        most = max(len(self.lines(self.size.width)) - self.rows + 1, 0)
        self.first = min(max(self.first + count, 0), most)

    def draw(self, grid: Grid) -> None:
        lines = self.lines(grid.width)
        room = self.rows - 1
        first = min(self.first, max(len(lines) - room, 0))
        for y, line in enumerate(lines[first : first + room]):
            for x, text, ink in line:
                grid.put(x, y, text, ink)
        last = min(first + room, len(lines))
        hint = key_names(self.hint, self.look.glyphs)
        where = f"lines {first + 1}–{last} of {len(lines)}" if len(lines) > room else ""
        grid.put_right(grid.width - 1, room, " · ".join(part for part in (where, hint) if part), "label")


class ScrolledScreen(WatchScreen):
    """A screen whose body is one page. Arrows and page keys move it; every other key keeps its meaning.

    The worst alert shows above it.
    """

    shows_picture = False
    foot: ClassVar[tuple[tuple[str, str], ...]] = (("↑ ↓ PgUp PgDn", "move"),)
    own_keys: ClassVar[tuple[str, ...]] = ("up", "down", "pageup", "pagedown", "home", "end")

    def above(self) -> ComposeResult:
        yield WorstAlert(units=self.watch_app.controls.units)

    def key(self, token: str) -> bool:
        text = self.query_one(Scrolled)
        page = max(text.rows - 2, 1)
        steps = {"up": -1, "down": 1, "pageup": -page, "pagedown": page, "home": -9999, "end": 9999}
        if token not in steps:
            return False
        text.scroll_by(steps[token])
        return True
