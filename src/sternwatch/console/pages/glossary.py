"""The page of the screen's words, each in a sentence: those of the trade and of the field."""

from __future__ import annotations

from textual.app import ComposeResult

from sternwatch.console.frame.scrolled import READING_CELLS, Line, Scrolled, ScrolledScreen
from sternwatch.console.words.glossary import SECTIONS
from sternwatch.console.words.text import wrapped

_MEANING_AT = 26  # cells
_MOST = 6  # the most lines of one meaning


def lines_of(width: int) -> list[Line]:
    """The page for ``width`` cells."""
    width = min(width, READING_CELLS)
    made: list[Line] = []
    for title, entries in SECTIONS:
        made.append(((1, title.upper(), "state"),))
        for word, meaning in entries:
            first, *rest = wrapped(meaning, max(width - _MEANING_AT - 1, 20), _MOST)
            made.append(((1, word, "number"), (_MEANING_AT, first, "text")))
            made += [((_MEANING_AT, line, "text"),) for line in rest]
        made.append(())
    return made[:-1]


class GlossaryText(Scrolled):
    """The page."""

    def lines(self, width: int) -> list[Line]:
        return lines_of(width)


class GlossaryScreen(ScrolledScreen):
    """The words over any session. Rod keys still enter hits."""

    words = "WORDS"

    def body(self) -> ComposeResult:
        yield GlossaryText()
