"""A page of lines that is longer than the screen: as many as fit, moved by arrows and pages."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult

from sternwatch.console.frame.alerts_area import WorstAlert
from sternwatch.console.frame.bars import ControlsPainted, NoticeLines
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.paint.canvas import Grid

Span = tuple[int, str, str]  # cell, text, ink
Line = tuple[Span, ...]


def ends(at: int, text: str, ink: str) -> Span:
    """A text whose last cell lies before ``at``: a column of numbers."""
    return at - len(text), text, ink


class Scrolled(ControlsPainted):
    """The lines, as many as fit from ``first``; the last row says which they are."""

    def __init__(self) -> None:
        super().__init__()
        self.first = 0

    def lines(self, width: int) -> list[Line]:
        """All lines, for ``width`` cells."""
        raise NotImplementedError

    @property
    def hint(self) -> str:
        """What a key of the page's own does."""
        return ""

    @property
    def rows(self) -> int:
        """Rows not covered by what stands over the foot of the body."""
        notices = self.screen.query_one(NoticeLines)
        return max(self.size.height - (notices.size.height if notices.display else 0), 2)

    def scroll_by(self, count: int) -> None:
        """Go down (positive) or up by so many lines."""
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
        moves = f"↓ ↑ PgDn PgUp: lines {first + 1}–{last} of {len(lines)} · " if len(lines) > room else ""
        if self.hint:
            moves += f"{self.hint} · "
        grid.put_right(
            grid.width - 1, room, f"{moves}{self.keymap.label(self.controls.keyboard, 'helm')}: helm", "label"
        )


class ScrolledScreen(WatchScreen):
    """A screen whose body is one page; arrows and pages move it, every other key means what it always means.

    The worst alert stands over it.
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
