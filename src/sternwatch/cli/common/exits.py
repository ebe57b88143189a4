"""How commands end: exit codes, and the error for a faulty input."""

from __future__ import annotations

from enum import IntEnum


class Exit(IntEnum):
    """Exit codes of every command."""

    DONE = 0
    WRONG_INPUT = 1
    USAGE = 2


class InputError(Exception):
    """The input is wrong. The message is one sentence for standard error."""
