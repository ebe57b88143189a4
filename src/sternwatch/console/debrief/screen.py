"""The debrief on the screen, in parts. A thread beside the session makes the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult

from sternwatch.console.debrief import words as told
from sternwatch.console.debrief.plots import paint_chart, paint_timeline
from sternwatch.console.frame.bars import ControlsPainted
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen
from sternwatch.console.paint.canvas import Grid
from sternwatch.debrief.report.so_far import Debriefs
from sternwatch.watch.picture.model import Picture

if TYPE_CHECKING:
    from sternwatch.debrief.report.model import Report, Table

PARTS = ("summary", "timeline", "chart", "hits", "rates", "alerts", "closest", "touches", "beside", "truth")
EXTRA = ("touches", "beside", "truth")  # there on some trips only
# How much is shown before a hit when going to its moment.
BEFORE_S = 15.0


class Parts(ControlsPainted):
    """The names of the parts, with a mark on the present one."""

    def draw(self, grid: Grid) -> None:
        text = self.screen.query_one(DebriefText)
        x = 1
        for part in text.parts:
            x = grid.put(x, 0, f" {part} ", "chosen" if part == text.part else "name") + 1


class DebriefText(Scrolled):
    """The present part."""

    def __init__(self) -> None:
        super().__init__()
        self.part = PARTS[0]
        self.chosen: dict[str, int] = {}  # the chosen row of each table

    @property
    def debriefs(self) -> Debriefs:
        return self.watch_app.debriefs

    @property
    def report(self) -> Report | None:
        return self.debriefs.made

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts of this debrief."""
        tables = self._tables
        return tuple(part for part in PARTS if part not in EXTRA or tables.get(part) is not None)

    @property
    def table(self) -> Table | None:
        """The table, where the present part is one."""
        return self._tables.get(self.part)

    @property
    def _tables(self) -> dict[str, Table | None]:
        """The tables by part."""
        report = self.report
        if report is None:
            return {}
        return {
            "hits": report.hits, "rates": report.rates, "alerts": report.alerts, "closest": report.separations,
            "touches": report.touches, "beside": report.beside, "truth": report.truth,
        }  # fmt: skip

    @property
    def hint(self) -> str:
        goes = ("Enter: there",) if self.goes_to() is not None else ()
        places = "Tab: without places" if self.debriefs.positions else "Tab: with places"
        return " · ".join((*goes, places) if self.part in ("hits", "chart") else goes)

    def goes_to(self) -> float | None:
        """Feed time of the chosen hit or alert, where the recording can be played from there."""
        report, table = self.report, self.table
        if self.watch_app.runner.replay is None or report is None or table is None or not table.rows:
            return None
        at = self.chosen.get(self.part, 0)
        if self.part == "hits":
            return report.digest.hits[at].at_s
        return report.digest.alerts[at].begun_s if self.part == "alerts" else None

    def turn(self, by: int) -> None:
        """Show the next part, or the one before."""
        parts = self.parts
        self.part = parts[(parts.index(self.part) + by) % len(parts)]
        self.first = 0

    def scroll_by(self, count: int) -> None:
        table = self.table
        if table is None:
            super().scroll_by(count)
        else:
            at = self.chosen.get(self.part, 0) + count
            self.chosen[self.part] = min(max(at, 0), max(len(table.rows) - 1, 0))

    def lines(self, width: int) -> list[Line]:
        report = self.report
        if report is not None and not self.debriefs.trouble:
            return told.summary(report, width)
        if self.debriefs.trouble:
            return told.paragraph(f"The debrief could not be made: {self.debriefs.trouble}", width, "caution")
        if self.debriefs.so_far:
            return [((1, "Making the debrief.", "state"),)]
        return [((1, f"Computing the trip: {100 * self.debriefs.share:.0f} %", "state"),)]

    def draw(self, grid: Grid) -> None:
        report, table = self.report, self.table
        if report is None or self.debriefs.trouble or self.part == "summary":
            super().draw(grid)
            return
        box = (0, 0, grid.width, max(self.rows - 1, 1))
        if self.part == "timeline":
            paint_timeline(grid, (1, 0, grid.width - 1, box[3]), report, self.look, self.controls.chosen)
        elif self.part == "chart":
            paint_chart(grid, box, report, self.look)
        elif table is not None:
            self._table(grid, table, self.rows - 1)
        grid.put_right(grid.width - 1, self.rows - 1, self.hint, "label")

    def _table(self, grid: Grid, table: Table, rows: int) -> None:
        grid.put(1, 0, table.title.upper(), "state")
        if not table.rows:
            grid.put(1, 1, table.empty, "text")
            return
        fit = told.columns(table, grid.width)
        chosen = min(self.chosen.get(self.part, 0), len(table.rows) - 1)
        below = told.beneath(table, fit, chosen, grid.width)[:_BELOW]
        note = told.paragraph(table.note, grid.width, "label") if table.note else []
        if rows - 2 - len(note) < _LEAST_ROWS:
            note = []
        ended = rows - len(note)
        room = max(ended - 2 - (_BELOW if below else 0), 1)
        first = min(max(self.first, chosen - room + 1), chosen)
        self.first = first = max(min(first, len(table.rows) - room), 0)
        grid.put_right(grid.width - 1, 0, f"{chosen + 1} of {len(table.rows)}", "label")
        self._put(grid, 1, told.heads(table, fit))
        for y, number in enumerate(range(first, min(first + room, len(table.rows))), start=2):
            if number == chosen:
                grid.fill(0, y, grid.width, 1, " ", "chosen")
            self._put(grid, y, told.row(table, fit, number, "chosen" if number == chosen else "text"))
        for y, line in enumerate([*below, *note], start=ended - len(below)):
            self._put(grid, y, line)

    @staticmethod
    def _put(grid: Grid, y: int, line: Line) -> None:
        for x, text, ink in line:
            grid.put(x, y, text, ink)


_LEAST_ROWS = 8  # of a table, before what it means is written beneath it
_BELOW = 3  # rows below a table for what the chosen row's columns do not show


class DebriefScreen(ScrolledScreen):
    """The debrief over any session. Rod keys keep their meaning."""

    words = "DEBRIEF"
    foot = (("← →", "parts"), ("↑ ↓", "choose"))
    own_keys: ClassVar[tuple[str, ...]] = (*ScrolledScreen.own_keys, "left", "right", "tab", "enter")

    def body(self) -> ComposeResult:
        yield Parts()
        yield DebriefText()

    def show_picture(self, picture: Picture) -> None:
        super().show_picture(picture)
        self.watch_app.debriefs.offer(picture)

    def key(self, token: str) -> bool:
        text = self.query_one(DebriefText)
        if token in ("left", "right"):
            text.turn(-1 if token == "left" else 1)
            return True
        if token == "tab" and text.part in ("hits", "chart"):
            debriefs = self.watch_app.debriefs
            debriefs.tell_places(not debriefs.positions)
            if self.watch_app.shown is not None:
                debriefs.offer(self.watch_app.shown)
            return True
        if token == "enter":
            at_s, replay = text.goes_to(), self.watch_app.runner.replay
            if at_s is not None and replay is not None:
                replay.seek(max(at_s - BEFORE_S, 0.0))
                self.watch_app.show_view("helm")
            return True
        return super().key(token)
