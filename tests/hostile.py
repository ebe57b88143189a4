"""Texts that a terminal would obey, and what of an output it would."""

from __future__ import annotations

import unicodedata

# Clears the screen, sets its title, colours all that follows by the one-byte form, turns the order of letters round,
# hides, goes back to the beginning of the line, rings, ends a text early.
NASTY = "\x1b[2J\x1b]0;taken\x07\x9b31m\u202e\u200b\r\x08\x7f\u2028\x00"
FROM_OUTSIDE = NASTY.replace("\x00", "")  # where a zero byte cannot stand: names of files, TOML


def obeyed(text: str) -> list[str]:
    """What in ``text`` does not show but acts, with what stands about it; ends of lines and tabs may."""
    acting = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
    text = text.replace("\r\n", "\n")
    return [
        ascii(text[max(k - 30, 0) : k + 10])
        for k, char in enumerate(text)
        if char not in "\n\t" and unicodedata.category(char) in acting
    ]
