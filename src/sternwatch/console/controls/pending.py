"""Entries that the picture does not show yet. No screen; callers give monotonic times.

An action is stored in the background and appears in a later picture. Until then the next key press must build on it:
two quick presses of "let out" are two steps, and "take back" right after a hit means that hit.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Any, Literal

from sternwatch.watch.picture.model import EntryPicture, Picture

EXPECT_S = 5.0  # after this time the picture counts again, whatever was pressed
SETTLE_S = 1.5  # this long after it was stored an entry is in the picture, or never will be
LOST_S = 30.0  # for an entry without any report


@dataclass(slots=True)
class Expect:
    """Values that a coming picture will show."""

    _values: dict[Hashable, tuple[Any, float]] = field(default_factory=dict)

    def put(self, what: Hashable, value: Any, t_s: float) -> None:
        """Note that ``what`` was set to ``value`` at monotonic time ``t_s`` [s]."""
        self._values[what] = (value, t_s)

    def get(self, what: Hashable, shown: Any, t_s: float) -> Any:
        """The value to build on: the one just set, else ``shown`` from the picture."""
        value, since = self._values.get(what, (shown, 0.0))
        if what in self._values and (value == shown or t_s - since > EXPECT_S):
            del self._values[what]
            return shown
        return value


@dataclass(slots=True)
class _Step:
    do: Literal["enter", "take", "put"]
    entry: EntryPicture
    action: str
    t_s: float
    saved_t_s: float | None = None


@dataclass(slots=True)
class Ledger:
    """The crew's present entries: those in the picture, and those made since."""

    _steps: list[_Step] = field(default_factory=list)
    _picture: Picture | None = None
    _own: set[str] = field(default_factory=set)  # entered at these controls

    def take(self, picture: Picture, t_s: float) -> None:
        """Take a picture that came at monotonic time ``t_s``."""
        self._picture = picture
        self._steps = [s for s in self._steps if not self._done(s, t_s)]

    @staticmethod
    def _done(step: _Step, t_s: float) -> bool:
        if step.saved_t_s is None:
            return t_s - step.t_s > LOST_S
        return t_s - step.saved_t_s > SETTLE_S

    def enter(self, action: str, words: str, t_s: float) -> None:
        """Note a submitted entry."""
        self._own.add(action)
        self._steps.append(_Step("enter", EntryPicture(action, words), action, t_s))

    def take_back(self, entry: EntryPicture, action: str, t_s: float) -> None:
        self._steps.append(_Step("take", entry, action, t_s))

    def put_back(self, entry: EntryPicture, action: str, t_s: float) -> None:
        self._steps.append(_Step("put", entry, action, t_s))

    def saved(self, action: str, stored: bool, t_s: float) -> None:
        """Note that an action was stored, or that it failed: then it never happened."""
        for step in list(self._steps):
            if step.action == action:
                if stored:
                    step.saved_t_s = t_s
                else:
                    self._steps.remove(step)

    def newest(self, *, own: bool = False) -> EntryPicture | None:
        """The entry that the next "take back" means. ``own``: only entries made at these controls."""
        return self._last(self._now()[0], own=own)

    def last_taken(self, *, own: bool = False) -> EntryPicture | None:
        """The entry that the next "put back" means. ``own``: likewise."""
        return self._last(self._now()[1], own=own)

    def _last(self, entries: list[EntryPicture], *, own: bool) -> EntryPicture | None:
        return next((entry for entry in reversed(entries) if not own or entry.id in self._own), None)

    def _now(self) -> tuple[list[EntryPicture], list[EntryPicture]]:
        counting = list(self._picture.entries) if self._picture else []
        taken = list(self._picture.taken_back) if self._picture else []
        for step in self._steps:
            in_counting = [e for e in counting if e.id == step.entry.id]
            in_taken = [e for e in taken if e.id == step.entry.id]
            if step.do == "enter" and not in_counting and not in_taken:
                counting.append(step.entry)
            elif step.do == "take" and in_counting:
                counting = [e for e in counting if e.id != step.entry.id]
                taken.append(in_counting[0])
            elif step.do == "put" and in_taken:
                taken = [e for e in taken if e.id != step.entry.id]
                counting.append(in_taken[0])
        return counting, taken
