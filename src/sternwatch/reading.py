"""Reads files that a crash, a disk or a hand may have spoiled: gives a text or one reason, and never blocks."""

from __future__ import annotations

import json
import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from sternwatch.system_words import reason

MOST_BYTES = 1_000_000
DEEPEST = 64  # the deepest nesting of lists and tables; our files never reach ten

_FOLDER = "is a folder; a file is wanted"
_NONBLOCK = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
# The parser's time for a key grows with the square of the number of its parts.
_DOTTED = re.compile(r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){64}""")


def is_file(path: Path) -> bool:
    """Whether a plain file lies there. A name that the system refuses, as one too long, names none."""
    return os.path.isfile(path)  # noqa: PTH113 - the path's own raises at such a name before Python 3.14


def is_folder(path: Path) -> bool:
    """Whether a folder lies there."""
    return os.path.isdir(path)  # noqa: PTH112 - as above


def is_there(path: Path) -> bool:
    """Whether anything lies there."""
    return os.path.exists(path)  # noqa: PTH110 - as above


class UnreadableError(ValueError):
    """A file or text cannot be used. The message ends a sentence that begins with its name."""


def read_bytes(path: Path, most_bytes: int = MOST_BYTES) -> bytes:
    """All bytes of a plain file. Raises FileNotFoundError, and UnreadableError for any other fault."""
    try:
        handle = os.open(path, os.O_RDONLY | _NONBLOCK)  # reading a pipe would block
        with os.fdopen(handle, "rb") as file:
            mode = os.fstat(handle).st_mode
            if not stat.S_ISREG(mode):
                raise UnreadableError(_FOLDER if stat.S_ISDIR(mode) else "is not a plain file")
            data = file.read(most_bytes + 1)
    except (FileNotFoundError, UnreadableError):
        raise
    except OSError as fault:
        if is_folder(path):  # Windows refuses to open one
            raise UnreadableError(_FOLDER) from None
        raise UnreadableError(f"cannot be read: {reason(fault)}") from None
    except ValueError:  # versions of Python differ in its words
        raise UnreadableError("cannot be read: its name has a zero byte in it") from None
    if len(data) > most_bytes:
        raise UnreadableError(f"is larger than {most_bytes / 1e6:g} MB; nothing of its kind is")
    return data


def read_text(path: Path, most_bytes: int = MOST_BYTES) -> str:
    """A plain file's text, UTF-8 with or without its mark. Raises the errors of :func:`read_bytes`."""
    return text_of(read_bytes(path, most_bytes))


def text_of(data: bytes) -> str:
    """Bytes decoded as UTF-8. Raises UnreadableError that names the line."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise UnreadableError(f"line {line} is not UTF-8 text; save the file as UTF-8") from None


def json_of(text: str | bytes) -> Any:
    """One JSON value. Raises UnreadableError where it is not JSON, or is nested deeper than any file of ours."""
    try:
        given = json.loads(text)
    except RecursionError:
        raise UnreadableError(f"is nested more than {DEEPEST} deep") from None
    except ValueError as fault:
        raise UnreadableError(str(fault)) from None
    _check_depth(given)
    return given


def toml_of(text: str) -> dict[str, Any]:
    """A TOML document as plain tables. Raises UnreadableError as :func:`json_of`."""
    if _DOTTED.search(text):
        raise UnreadableError(f"a key has more than {DEEPEST} parts")
    try:
        given = tomllib.loads(text)
    except RecursionError:
        raise UnreadableError(f"is nested more than {DEEPEST} deep") from None
    except ValueError as fault:  # also raised for a number of thousands of digits
        raise UnreadableError(str(fault)) from None
    _check_depth(given)
    return given


def _check_depth(given: Any) -> None:
    level = [given]
    for _ in range(DEEPEST):
        level = [
            inner
            for one in level
            if isinstance(one, dict | list)
            for inner in (one.values() if isinstance(one, dict) else one)
            if isinstance(inner, dict | list)
        ]
        if not level:
            return
    raise UnreadableError(f"is nested more than {DEEPEST} deep")
