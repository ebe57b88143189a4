"""The filter for every text that goes to a terminal, a page or a file of ours.

Names, notes, sentences and file names come from outside and may hold anything. The filter writes characters that a
terminal, a browser or another program would obey or hide as ``\\uXXXX``: readable in a line, and the same string in
JSON.
"""

from __future__ import annotations

import io
import os
import re
import sys
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any, TextIO, cast

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}  # Unicode general categories: controls, formats, surrogates …
_SUSPECT = re.compile(r"[^\n\t\x20-\x7e]")  # a quick search; the category then decides
_LONE_RETURN = re.compile(r"\r(?!\n)")


def printable(text: str) -> str:
    """``text`` with hidden characters written out, except ends of lines and tabs."""
    if not _SUSPECT.search(text):
        return text
    return _LONE_RETURN.sub("\\\\u000d", _SUSPECT.sub(_shown, text))


def one_line(text: str) -> str:
    """As :func:`printable`, but ends of lines and tabs are written out too."""
    return text if text.isprintable() else printable(text).translate(_ENDS)


def without_hidden(text: str) -> str:
    """``text`` without hidden characters, for places where every cell counts."""
    return text if text.isprintable() else "".join(c for c in text if unicodedata.category(c) not in _HIDDEN)


_ENDS = {ord(end): f"\\u{ord(end):04x}" for end in "\r\n\t"}


def _shown(found: re.Match[str]) -> str:
    char = found[0]
    if char == "\r" or unicodedata.category(char) not in _HIDDEN:
        return char
    units = char.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[k] << 8 | units[k + 1]:04x}" for k in range(0, len(units), 2))


class PrintableStream:
    """A terminal or a pipe whose output passes the filter; otherwise it behaves as the stream itself."""

    def __init__(self, stream: TextIO) -> None:
        self.plain = stream  # for the program's own texts: a line that is overwritten

    def write(self, text: str) -> int:
        """As the stream's. Returns how much of ``text`` was taken."""
        self.plain.write(printable(text))
        return len(text)

    def writelines(self, texts: Iterable[str]) -> None:
        """As the stream's."""
        for text in texts:
            self.write(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.plain, name)


def _as_on_every_system(stream: TextIO) -> TextIO:
    """``stream``, set so that it refuses no character, and that a file or another program gets the same bytes.

    On Windows such output has a code page of 256 characters, and two of them end a line. It becomes UTF-8 with one,
    unless the environment names an encoding; a terminal, or that encoding, shows ``?`` for what it lacks.
    """
    if isinstance(stream, io.TextIOWrapper):
        to_people = stream.isatty()
        if not to_people:
            stream.reconfigure(newline="\n")
        if not stream.encoding.lower().startswith("utf"):
            chosen = to_people or os.environ.get("PYTHONIOENCODING")
            stream.reconfigure(encoding=stream.encoding if chosen else "utf-8", errors="replace")
    return stream


@contextmanager
def filtered_output() -> Iterator[None]:
    """A context in which all that this process prints passes the filter."""
    before = sys.stdout, sys.stderr
    made = [
        stream if isinstance(stream, PrintableStream) else PrintableStream(_as_on_every_system(stream))
        for stream in before
    ]
    sys.stdout, sys.stderr = cast("tuple[TextIO, TextIO]", tuple(made))
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before
