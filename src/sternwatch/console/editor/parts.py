"""The editor's painted parts: every rod's depth, the answer line, the findings."""

from __future__ import annotations

from textual import events
from textual.message import Message

from sternwatch.cautions import COMPUTED
from sternwatch.console.editor import words as editor_words
from sternwatch.console.editor.edited_spread import EditedSpread
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.words.text import wrapped

_DEPTH, _WITHIN, _PULL = 19, 27, 36  # cells at which the columns end


class Depths(Painted):
    """The boat, then the rods from port to starboard. A click chooses."""

    class Picked(Message):
        """A rod was clicked, or the boat (None)."""

        def __init__(self, index: int | None) -> None:
            super().__init__()
            self.index = index

    def __init__(self, edited: EditedSpread) -> None:
        super().__init__(units=edited.units)
        self.edited = edited

    def _lines(self) -> list[int | None]:
        return [None, *self.edited.across()]

    def draw(self, grid: Grid) -> None:
        edited = self.edited
        worked = edited.worked
        known = {rod.key: rod for rod in worked.depths.rods} if worked is not None else {}
        depth, within, pull = editor_words.heads(edited.units)
        for end, head in ((_DEPTH, depth), (_WITHIN, within), (_PULL, pull)):
            grid.put_right(end, 0, head, "label")
        ink = "number" if edited.is_current else "old"
        for y, index in enumerate(self._lines(), 1):
            chosen = index == edited.chosen
            if index is None:
                grid.put(1, y, "THE BOAT", "chosen" if chosen else "name")
                grid.put(
                    10, y, editor_words.trolling(edited.tables, worked, edited.units)[: grid.width - 11], "label"
                )
                continue
            rod = edited.rods[index]
            grid.put(1, y, f"{rod['key']} {rod['name']}"[:11], "chosen" if chosen else "name")
            words = editor_words.depth_words(known.get(str(rod["key"])), edited.units)
            for end, text in zip((_DEPTH, _WITHIN, _PULL), words, strict=True):
                grid.put_right(end, y, text, "unknown" if text == "–" else ink)

    def on_click(self, event: events.Click) -> None:
        lines = self._lines()
        if 1 <= event.y <= len(lines):
            self.post_message(self.Picked(lines[event.y - 1]))


class Findings(Painted):
    """The check's findings, worst first, and the permanent caution."""

    def __init__(self, edited: EditedSpread) -> None:
        super().__init__(units=edited.units)
        self.edited = edited

    def draw(self, grid: Grid) -> None:
        edited = self.edited
        found = editor_words.findings(edited.worked, edited.beside.trouble, len(edited.rods))
        rows = grid.height - 1
        y = 0
        for number, (text, ink) in enumerate(found):
            left = len(found) - number
            for line in wrapped(text, grid.width - 2, max(rows - y - (left > 1), 1)):
                if y < rows:
                    more = f" (and {left - 1} more)" if left > 1 and y == rows - 1 else ""
                    grid.put(1, y, line[: grid.width - 2 - len(more)] + more, ink)
                    y += 1
        grid.put(1, grid.height - 1, COMPUTED, "label")
