"""Keeps from the terminal what it would obey: the applications of the console show text through this."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Generic, TypeVar

from rich.segment import Segment
from textual.app import App
from textual.color import Color
from textual.filter import LineFilter

from sternwatch.printable import without_hidden

Result = TypeVar("Result")


class Hiding(LineFilter):
    """Leaves hidden characters out of any widget's lines: they take no cell, so the others stay in theirs."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002
        """As the filter's."""
        if all(segment.control or segment.text.isprintable() for segment in segments):
            return segments
        return [
            segment if segment.control else Segment(without_hidden(segment.text), segment.style)
            for segment in segments
        ]


_HIDING = Hiding()


class HidingApp(App[Result], Generic[Result], inherit_bindings=False):
    """An application whose every line passes the filter."""

    def get_line_filters(self) -> Sequence[LineFilter]:
        """As the application's, the filter after them."""
        return [*super().get_line_filters(), _HIDING]
