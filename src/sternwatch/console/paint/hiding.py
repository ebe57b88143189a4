"""What the console does to every line: it hides control characters, and writes ASCII where no more can be shown."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from typing import Generic, TypeVar

from rich.cells import cell_len
from rich.segment import Segment
from textual.app import App
from textual.color import Color
from textual.filter import LineFilter

from sternwatch.console.paint.look import Glyphs, look_of
from sternwatch.printable import without_hidden

Result = TypeVar("Result")


class Hiding(LineFilter):
    """Removes hidden characters from any widget's lines. They take no cell, so the others keep theirs."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """As the filter's."""
        if all(segment.control or segment.text.isprintable() for segment in segments):
            return segments
        return [
            segment if segment.control else Segment(without_hidden(segment.text), segment.style)
            for segment in segments
        ]


# One ASCII character for each sign of ours, so that every cell stays where it is.
_ASCII = str.maketrans(
    {
        "°": "d", "±": "~", "×": "x", "–": "-", "—": "-", "−": "-", "…": ".", "·": "|", "•": "o", "†": "+",
        "“": '"', "”": '"', "„": '"', "‘": "'", "’": "'", "′": "'", "″": '"', "≥": ">", "≤": "<", "≈": "~",
        "←": "<", "→": ">", "↑": "^", "↓": "v", "↔": "-", "↕": "|", "↙": "/", "↗": "/", "↘": "\\", "↖": "\\",
        "▲": "^", "▼": "v", "▶": ">", "▸": ">", "◀": "<", "●": "*", "◆": "*", "◇": "o", "○": "o", "■": "#", "⊗": "X",
        "╳": "X", "✕": "x", "✓": "*", "∝": "<", "∞": "~", "∿": "~", "π": "p", "σ": "s", "❚": "|", "█": "#",
        "▀": '"', "▄": "_", "▌": "|", "▐": "|", "▁": "_", "▔": "-", "▎": "|", "▊": "#", "▒": ":", "░": ".", "▓": "#",
        "▂": " ", "▃": " ", "▅": " ", "▆": " ", "▇": " ",  # only a scroll bar ends within a cell
        "²": "2", "³": "3", "½": "?", "¼": "?", "¾": "?",
    }
)  # fmt: skip
_ARROW_KEYS = str.maketrans({"←": "Left", "→": "Right", "↑": "Up", "↓": "Dn"})
_BEYOND = re.compile(r"[^\x00-\x7f]")


def in_ascii(text: str) -> str:
    """``text`` in ASCII alone, in as many cells: letters without their accents, lines of ``-``, ``|`` and ``+``."""
    if text.isascii():
        return text
    return _BEYOND.sub(_plainer, text.replace("°F", " F").replace("°C", " C").translate(_ASCII))


def key_names(text: str, glyphs: Glyphs) -> str:
    """``text`` about keys. In ASCII the arrow keys have names: ``<``, ``v`` and ``^`` are other keys."""
    return text.translate(_ARROW_KEYS) if glyphs == "plain" else text


def _plainer(found: re.Match[str]) -> str:
    char = found[0]
    if "\u2500" <= char <= "\u257f":  # box drawing
        return "-" if char in "─━┄┅┈┉═╌╍╴╶╸╺" else "|" if char in "│┃┆┇┊┋║╎╏╵╷╹╻" else "+"
    if "\u2580" <= char <= "\u259f":  # blocks
        return "#"
    if "\u2800" <= char <= "\u28ff":  # braille
        return "." if char != "\u2800" else " "
    bare = unicodedata.normalize("NFKD", char)[:1]
    return bare if bare.isascii() and bare.isprintable() else "?" * cell_len(char)


class Plainer(LineFilter):
    """Leaves ASCII alone on any widget's lines."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """As the filter's."""
        if all(segment.control or segment.text.isascii() for segment in segments):
            return segments
        return [
            segment if segment.control else Segment(in_ascii(segment.text), segment.style) for segment in segments
        ]


_HIDING, _PLAINER = Hiding(), Plainer()


class HidingApp(App[Result], Generic[Result], inherit_bindings=False):
    """An application that filters every line."""

    def get_line_filters(self) -> Sequence[LineFilter]:
        """The application's filters, followed by these."""
        plain = look_of(self.current_theme).glyphs == "plain"
        return [*super().get_line_filters(), _HIDING, *((_PLAINER,) if plain else ())]
