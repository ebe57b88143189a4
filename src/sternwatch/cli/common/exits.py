"""How a command ends, and an input's fault as one sentence."""

from __future__ import annotations

from enum import IntEnum


class Exit(IntEnum):
    """Exit codes of every command."""

    DONE = 0
    WRONG_INPUT = 1
    USAGE = 2


class InputError(Exception):
    """The input was wrong; the message is one sentence for standard error."""
