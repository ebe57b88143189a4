"""Whether there is a terminal for a screen."""

from __future__ import annotations

import os
import sys

from sternwatch.cli.common.exits import InputError


def there() -> bool:
    """Whether keys can come from a terminal and a screen can be painted on one, where Textual paints it."""
    paints = sys.__stdout__ if os.name == "nt" else sys.__stderr__
    return all(stream is not None and stream.isatty() for stream in (sys.__stdin__, paints))


def need() -> None:
    """Refuse to open a screen that nobody could see or leave.

    Raises
    ------
    InputError
        There is no terminal.
    """
    if not there():
        raise InputError(
            "a screen needs a terminal, for its keys and to be painted on; “--help” names what prints without one"
        )
