"""Where commands print their tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console


def table_console() -> Console:
    """A console on standard output without styles.

    Tables hold names and notes from outside, so what is printed passes the filter, and that writes out the codes of
    styles too.
    """
    from rich.console import Console

    return Console(force_terminal=False, highlight=False, markup=False)
