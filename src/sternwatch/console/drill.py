"""The drill's page: what is to be done, how it stands, and when it is over the truth."""

from __future__ import annotations

from textual.app import ComposeResult

from sternwatch.console.bars import DeskPainted
from sternwatch.console.canvas import Grid
from sternwatch.console.notices import wrapped
from sternwatch.console.practice_bar import clock
from sternwatch.console.watch_screen import WatchScreen
from sternwatch.watch.picture import PracticePicture


def page(practice: PracticePicture | None, width: int) -> list[tuple[str, str]]:
    """(text, ink) per line of the terminal."""
    if practice is None:
        return [("The practice boat is being made ready.", "state")]
    lines = [(practice.drill.upper(), "state")]
    lines += [(line, "text") for line in wrapped(practice.briefing, width, 12)]
    lines.append(("", "text"))
    if practice.goal:
        lines += [(line, "number") for line in wrapped(f"Goal: {practice.goal}.", width, 3)]
    if practice.drill_s < 0.0:
        lines.append((f"Begins in {clock(practice.drill_s)}.", "state"))
    elif not practice.over and practice.time_left_s is not None:
        lines.append((f"{clock(practice.drill_s)} since it began, {clock(practice.time_left_s)} left.", "label"))
    if practice.result:
        lines.append(("", "text"))
        # What was computed stands in columns: it is cut, never wrapped.
        lines += [(line[:width], "text") for line in practice.result]
    elif practice.over:
        lines.append(("Over. The result is being made.", "state"))
    else:
        lines.append(("", "text"))
        lines += [(f"· {line}", "text") for line in practice.says]
    return lines


class DrillText(DeskPainted):
    """The page, as many lines as fit from ``first``."""

    def __init__(self) -> None:
        super().__init__()
        self.first = 0

    def _lines(self, width: int) -> list[tuple[str, str]]:
        picture = self.desk.picture
        return page(picture.practice if picture is not None else None, max(width - 2, 10))

    def scroll_by(self, count: int) -> None:
        """Go down (positive) or up by so many lines."""
        most = max(len(self._lines(self.size.width)) - self.size.height + 1, 0)
        self.first = min(max(self.first + count, 0), most)

    def draw(self, grid: Grid) -> None:
        lines = self._lines(grid.width)
        room = grid.height - 1
        for y, (text, ink) in enumerate(lines[self.first : self.first + room]):
            grid.put(1, y, text, ink)
        last = min(self.first + room, len(lines))
        more = f"↓ ↑ PgDn PgUp: lines {self.first + 1}–{last} of {len(lines)} · Esc: helm"
        grid.put_right(grid.width - 1, room, more, "label")


class DrillScreen(WatchScreen):
    """The drill over whatever runs; rod keys still are hits, and the boat still answers helm and throttle."""

    words = "DRILL"
    shows_picture = False

    def body(self) -> ComposeResult:
        yield DrillText()

    def key(self, token: str) -> bool:
        text = self.query_one(DrillText)
        page_rows = max(text.size.height - 2, 1)
        steps = {"up": -1, "down": 1, "pageup": -page_rows, "pagedown": page_rows, "home": -9999, "end": 9999}
        if token not in steps:
            return False
        text.scroll_by(steps[token])
        return True
