"""Fits text into cells: cuts it to a width, wraps it, or breaks it so that each line makes sense alone."""

from __future__ import annotations

import re


def cut(text: str, room: int) -> str:
    """``text`` in at most ``room`` cells, with a sign where it is cut."""
    return text if len(text) <= room else f"{text[: max(room - 1, 0)]}…"[: max(room, 0)]


def wrapped(text: str, width: int, most: int, first: int | None = None) -> list[str]:
    """``text`` on at most ``most`` lines of ``width`` cells (the first: ``first``). No line begins with %."""
    lines: list[str] = []
    line = ""
    for word in re.sub(r"\s+%", "\0%", text).split():
        room = width if lines or first is None else first
        if line and len(line) + 1 + len(word) > room:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    lines = [done.replace("\0", " ") for done in (*lines, line)]
    if len(lines) > most:
        lines = lines[:most]
        lines[-1] = lines[-1][: max(width - 1, 0)] + "…"
    return lines


MARKED = 20  # the fewest cells in which it is marked that a line goes on


def read_alone(text: str, width: int, tag: str = "") -> list[str]:
    """``text`` as lines of ``width`` cells that make sense one at a time: a sentence each, after ``tag`` if it fits.

    A sentence that is too long breaks at a pause; "…" stands where it goes on, if the lines are not very short.
    """
    lines: list[str] = []
    for sentence in re.split(r"(?<=[.?!]) ", text):
        tagged = f"{tag} {sentence}".strip()
        if len(tagged) <= width:
            lines.append(tagged)
            continue
        ends, begins = (" …", "… ") if width >= MARKED else ("", "")
        begun, rest = "", sentence
        while len(begun) + len(rest) > width:
            at = _break(rest, width - len(begun) - len(ends))
            lines.append(begun + rest[:at] + ends)
            begun, rest = begins, rest[at:].lstrip()
        lines.append(begun + rest)
    return lines


def _break(text: str, width: int) -> int:
    """Where to break a long ``text``: the last space after ; or :, else after a comma, else any space."""
    spaces = [n for n in range(1, width + 1) if text[n] == " "]
    for before in (";:", ","):
        if found := [n for n in spaces if text[n - 1] in before]:
            return found[-1]
    return spaces[-1] if spaces else width
