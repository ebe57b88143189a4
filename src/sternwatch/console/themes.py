"""Theme files: read, checked, and made into looks and Textual themes."""

from __future__ import annotations

from typing import Any

from textual.app import App

ORDER = ("day", "dusk", "night", "plain")


def install(app: App[Any]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Register every theme with ``app``; (names in the order in which `n` walks them, notices to show)."""
    return ORDER, ()
