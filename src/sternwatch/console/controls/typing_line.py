"""The typing line: a number for the chosen rod, a fish's size, a gauge's reading, a moment, or a few words.

No screen; monotonic times are given. While it is open digits are typed and are not hits, so it closes by itself 6 s
after the last key (30 s where words are typed).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sternwatch.gear.values.units import unit_label

DROP_S = 6.0
DROP_WORDS_S = 30.0
LONGEST = 6  # characters: a length, a weight
LONGEST_TIME = 9
LONGEST_WORDS = 200
# Keys of a moment: what stands on one key, or is easier to reach, means the same.
_TIME_SIGNS = {":": ":", ".": ":", ",": ":", ";": ":", "+": "+", "=": "+"}


class Typed(StrEnum):
    """What a key did to the typing line."""

    KEPT = "kept"  # it was a key of the typing line; go on
    SET = "set"  # Enter: the number stands
    DROPPED = "dropped"  # Esc
    OTHER = "other"  # not a key of the typing line: it means what it always means


@dataclass(slots=True)
class TypingLine:
    """``what`` is being typed, in ``unit``, about ``of`` (a rod's key or a hit's id; a gauge is about neither)."""

    title: str
    what: str  # which act of ``acts.table`` takes it: "length", "fish length", "gauge depth" …
    of: str
    unit: str
    last_t_s: float
    text: str = ""
    skippable: bool = False  # Enter on nothing skips instead of asking for a number
    other: str = ""  # what Tab asks for instead; "" where there is nothing else
    depth_m: float | None = None  # of a gauge's reading
    words: bool = False  # words are typed, not a number
    hint: str = ""  # what is accepted
    time: bool = False  # a moment is typed: digits, colons, and + from a recording's start

    def key(self, token: str, t_s: float) -> Typed:
        """Take a key at monotonic time ``t_s`` [s]."""
        if token == "escape":
            return Typed.DROPPED
        did = Typed.KEPT
        if token == "backspace":
            self.text = self.text[:-1]
        elif token == "enter":
            did = self._entered()
        elif not self._written(token):
            return Typed.OTHER
        self.last_t_s = t_s
        return did

    def _entered(self) -> Typed:
        """What Enter does: nothing to enter is refused, unless it may be skipped."""
        nothing = not self.text if self.time else self.value is None
        return Typed.KEPT if nothing and not self.skippable and not self.words else Typed.SET

    def _written(self, token: str) -> bool:
        """Write a sign of the kind that is typed; whether it was one."""
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
        # A minus or an equals sign is a rod's key elsewhere: swallowed here, as the large words say.
        if len(self.text) < LONGEST and (token.isdigit() or (token == "." and "." not in self.text)):
            self.text += token

    @property
    def value_words(self) -> str:
        """The number typed with its unit, as the crew reads it."""
        return "–" if self.value is None else f"{self.value:g} {unit_label(self.unit)}"

    def expired(self, t_s: float) -> bool:
        """Whether it was left alone for so long that nobody is typing."""
        return self.left_s(t_s) <= 0.0

    def left_s(self, t_s: float) -> float:
        """Seconds until it drops."""
        return max(0.0, (DROP_WORDS_S if self.words else DROP_S) - (t_s - self.last_t_s))

    @property
    def value(self) -> float | None:
        """The number typed; None while there is none."""
        try:
            return float(self.text)
        except ValueError:
            return None
