"""The typing line: a number for the chosen rod, a fish's size, a gauge's reading, a moment, or a few words.

No screen; callers give monotonic times. While it is open, digits are input and not hits, so it closes by itself 6 s
after the last key (30 s for words).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sternwatch.gear.values.units import unit_label

DROP_S = 6.0
DROP_WORDS_S = 30.0
LONGEST = 6  # the most characters of a length or weight
LONGEST_TIME = 9
LONGEST_WORDS = 200
# Keys for a moment: signs on the same key, or easier to reach, mean the same.
_TIME_SIGNS = {":": ":", ".": ":", ",": ":", ";": ":", "+": "+", "=": "+"}


class Typed(StrEnum):
    """The effect of a key on the typing line."""

    KEPT = "kept"  # a key of the typing line; it stays open
    SET = "set"  # Enter: the input is taken
    DROPPED = "dropped"  # Esc
    OTHER = "other"  # not a key of the typing line: it keeps its usual meaning


@dataclass(slots=True)
class TypingLine:
    """The line on which ``what`` is typed, in ``unit``, about ``of`` (a rod's key, a hit's id, or neither)."""

    title: str
    what: str  # the act of ``acts.table`` that takes it: "length", "fish length", "gauge depth" …
    of: str
    unit: str
    last_t_s: float
    text: str = ""
    skippable: bool = False  # Enter on an empty line skips instead of asking for a number
    other: str = ""  # what Tab switches to; "" where there is no other
    depth_m: float | None = None  # depth of a gauge's reading
    words: bool = False  # the input is words, not a number
    hint: str = ""  # the accepted range
    offered: bool = False  # ``text`` is a proposal: the first digit takes its place
    time: bool = False  # the input is a moment: digits, colons, and + from a recording's start

    def key(self, token: str, t_s: float) -> Typed:
        """Take a key at monotonic time ``t_s`` [s]."""
        if token == "escape":
            return Typed.DROPPED
        did = Typed.KEPT
        if token == "backspace":
            self.text, self.offered = self.text[:-1], False
        elif token == "enter":
            did = self._entered()
        elif not self._written(token):
            return Typed.OTHER
        self.last_t_s = t_s
        return did

    def _entered(self) -> Typed:
        """The effect of Enter. An empty line is refused, unless it may be skipped."""
        nothing = not self.text if self.time else self.value is None
        return Typed.KEPT if nothing and not self.skippable and not self.words else Typed.SET

    def _written(self, token: str) -> bool:
        """Write a character of the kind expected. Returns whether it was one."""
        if self.words and (token == "space" or (len(token) == 1 and token.isprintable())):
            self.text = (self.text + (" " if token == "space" else token))[:LONGEST_WORDS]
        elif self.time and (token in _TIME_SIGNS or token.isdigit() or token == "-"):
            self.text = (self.text + _TIME_SIGNS.get(token, token).replace("-", ""))[:LONGEST_TIME]
        elif token.isdigit() or token in (".", ",", "-", "="):
            self._type("." if token == "," else token)
        else:
            return False
        return True

    def _type(self, token: str) -> None:
        # Minus and equals signs are rod keys elsewhere: here they are ignored, as the large words say.
        if self.offered and (token.isdigit() or token == "."):
            self.text, self.offered = "", False
        if len(self.text) < LONGEST and (token.isdigit() or (token == "." and "." not in self.text)):
            self.text += token

    @property
    def value_words(self) -> str:
        """The typed number with its unit, for the crew."""
        return "–" if self.value is None else f"{self.value:g} {unit_label(self.unit)}"

    def expired(self, t_s: float) -> bool:
        """Whether there was no key for so long that nobody is typing."""
        return self.left_s(t_s) <= 0.0

    def left_s(self, t_s: float) -> float:
        """Seconds until it closes."""
        return max(0.0, (DROP_WORDS_S if self.words else DROP_S) - (t_s - self.last_t_s))

    @property
    def value(self) -> float | None:
        """The typed number; None while there is none."""
        try:
            return float(self.text)
        except ValueError:
            return None
