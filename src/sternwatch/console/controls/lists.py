"""A list to choose from with arrows and Enter, beside the helm: the kind of fish, the next lure. No screen.

Rod keys and all other acts still work while it is open.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

DROP_S = 20.0


class Picked(StrEnum):
    """The effect of a key on the list."""

    KEPT = "kept"
    TAKEN = "taken"  # Enter
    SKIPPED = "skipped"  # Esc
    OTHER = "other"  # not a key of the list


@dataclass(slots=True)
class Listing:
    """``options`` to choose from, about hit or rod ``of``."""

    title: str
    of: str
    options: tuple[str, ...]
    last_t_s: float
    index: int = 0
    what: str = "species"  # the act of ``acts.table`` that takes the choice
    values: tuple[object, ...] = ()  # the meaning of each option, where its words do not say it

    def key(self, token: str, t_s: float) -> Picked:
        """Take a key at monotonic time ``t_s`` [s]."""
        steps = {"up": -1, "down": 1}
        if token in steps:
            self.last_t_s = t_s
            self.index = (self.index + steps[token]) % len(self.options)
            return Picked.KEPT
        if token == "enter":
            return Picked.TAKEN
        if token == "escape":
            return Picked.SKIPPED
        return Picked.OTHER

    def expired(self, t_s: float) -> bool:
        """Whether it has been open for so long that nobody is choosing."""
        return t_s - self.last_t_s >= DROP_S

    @property
    def choice(self) -> str:
        return self.options[self.index]

    @property
    def value(self) -> object:
        return self.values[self.index]


def latest_first(options: tuple[str, ...], used: list[str]) -> tuple[str, ...]:
    """``options`` with recently used ones in front, latest first."""
    lately = [name for name in reversed(used) if name in options]
    return tuple(dict.fromkeys([*lately, *options]))
