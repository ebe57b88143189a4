"""Keeps control characters from the terminal: the console's applications show all text through this."""

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
    """Removes hidden characters from any widget's lines. They take no cell, so the others keep theirs."""

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
    """An application that filters every line."""

    def get_line_filters(self) -> Sequence[LineFilter]:
        """The application's filters, followed by this one."""
        return [*super().get_line_filters(), _HIDING]
