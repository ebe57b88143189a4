"""Asks in turn which key this keyboard sends for each rod, for number pads and other keyboards. No screen.

Number rows differ: some keyboards send ``&`` for ``1`` without shift, and a number pad sends other keys with its lock
off. The test shows what a key sends, and that becomes the rod's key.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from sternwatch.console.keys.acting import Keyboard
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.keys.registry import BY_ID
from sternwatch.console.keys.tokens import NAMED, printed

# Keys that lead through the test, so that no rod can have them.
SKIP, BACK, END = "enter", "backspace", "escape"
_LEADING = (SKIP, BACK, END, "ctrl+q")


@dataclass(frozen=True, slots=True)
class Asked:
    """One rod: its station, its name, and the key found for it, if any."""

    station: str
    name: str
    token: str | None = None

    @property
    def act_id(self) -> str:
        return f"rod {self.station}"

    @property
    def words(self) -> str:
        return f"{self.station} {self.name}".strip()


@dataclass(slots=True)
class KeyTest:
    """``rods``: station and name in the order of the number row."""

    rods: Sequence[tuple[str, str]]
    keymap: Keymap
    asked: list[Asked] = field(init=False)
    at: int = 0
    said: str = ""

    def __post_init__(self) -> None:
        self.asked = [Asked(station, name) for station, name in self.rods]

    @property
    def done(self) -> bool:
        """Every rod has been asked for."""
        return self.at >= len(self.asked)

    @property
    def prompt(self) -> str:
        """The present question."""
        return "Every rod has been asked for" if self.done else f"Press the key for {self.asked[self.at].words}"

    def press(self, token: str) -> None:
        """Take any key, except those that lead through the test."""
        if token == BACK:
            self.at = max(self.at - 1, 0)
            self.said = ""
        elif self.done:
            self.said = self._sent(token)
        elif token == SKIP:
            self.said = f"{self.asked[self.at].words} keeps {self._label(self.asked[self.at])}"
            self.at += 1
        else:
            self._take(token)

    def _take(self, token: str) -> None:
        rod = self.asked[self.at]
        if why := self._refused(token, rod):
            self.said = why
            return
        self.asked[self.at] = Asked(rod.station, rod.name, token)
        self.said = f"{printed(token)} is {rod.words}"
        self.at += 1

    def _refused(self, token: str, rod: Asked) -> str:
        shown = printed(token)
        if token in _LEADING:
            return f"{shown} cannot be a rod's"
        if len(token) > 1 and token not in NAMED:
            return f"This keyboard sends {token!r} there, which cannot be a rod's"
        other = next((one for one in self.asked[: self.at] if one.token == token), None)
        if other is not None:
            return f"{shown} is {other.words} already; Backspace goes back to it"
        act = self.keymap.act(Keyboard.HELM, token)
        if act is None or act.station is not None:  # another station's key: its rod is asked too, or it has none
            return ""
        return f"{shown} means {act.words!r}; press another, or Enter keeps {self._label(rod)}"

    def _sent(self, token: str) -> str:
        act = self.keymap.act(Keyboard.HELM, token)
        if len(token) > 1 and token not in NAMED:
            return f"This keyboard sends {token!r}: no act can have it"
        return f"{printed(token)} means {act.words!r}" if act is not None else f"{printed(token)} means nothing"

    def _label(self, rod: Asked) -> str:
        return self.keymap.label(Keyboard.HELM, rod.act_id)

    @property
    def changes(self) -> dict[str, str | list[str]]:
        """Act → key, for the preferences: of rods with a new key, and of stations without a rod that lose theirs."""
        found = {one.act_id: one.token for one in self.asked if one.token is not None}
        changed: dict[str, str | list[str]] = {
            act_id: token for act_id, token in found.items() if self._held(act_id) != (token,)
        }
        asked = {one.act_id for one in self.asked}
        for act_id, act in BY_ID.items():
            if act.station is not None and act_id not in asked and set(self._held(act_id)) & set(found.values()):
                changed[act_id] = []
        return changed

    def _held(self, act_id: str) -> tuple[str, ...]:
        return self.keymap.keys_of(Keyboard.HELM, act_id)
