"""What the console's acts are made of: their keys by keyboard, their groups, their words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sternwatch.console.keys.lock import TWICE_S
from sternwatch.gear.spread_file.models import ROD_KEYS

STATIONS = ROD_KEYS
"""The number row is the stern, port to starboard."""


class Keyboard(StrEnum):
    """The set of key meanings: at the helm, over a recording, or in the demo, where both can be tried."""

    HELM = "helm"
    REPLAY = "replay"
    DEMO = "demo"

    @property
    def hits(self) -> bool:
        """Whether a rod's key enters a hit; over a recording it only chooses the rod."""
        return self is not Keyboard.REPLAY


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that the crew can do.

    ``words`` are for the footer and the palette; ``help`` is one sentence. ``on`` maps each keyboard where the act
    exists to its default keys; an empty tuple means: by the palette only. ``twice``: the key needs two presses in a
    row.
    """

    id: str
    group: str
    words: str
    help: str
    on: dict[Keyboard, tuple[str, ...]]
    twice: bool = False
    brief: str = ""  # the footer's shorter words, where there is little room
    twice_s: float = TWICE_S  # the longest time between the two presses

    @property
    def foot(self) -> str:
        """The footer's words."""
        return self.brief or self.words

    @property
    def station(self) -> str | None:
        """The station of a rod key's act."""
        return self.id.removeprefix("rod ") if self.id.startswith("rod ") else None


def both(*keys: str) -> dict[Keyboard, tuple[str, ...]]:
    return {Keyboard.HELM: keys, Keyboard.REPLAY: keys}


def helm(*keys: str) -> dict[Keyboard, tuple[str, ...]]:
    return {Keyboard.HELM: keys}


def replay(*keys: str) -> dict[Keyboard, tuple[str, ...]]:
    return {Keyboard.REPLAY: keys}


def recording(*keys: str) -> dict[Keyboard, tuple[str, ...]]:
    """Keys for a recording and the demo. With the helm's keys only the palette has the act."""
    return {Keyboard.REPLAY: keys, Keyboard.HELM: ()}


HITS = "Hits"
RODS = "Rods and lines"
TRIP = "Trip"
SCREEN = "Screen"
RECORDING = "Recording"
AHEAD = "Looking ahead"
BOAT = "Practice boat"
GROUPS = (HITS, RODS, AHEAD, TRIP, BOAT, RECORDING, SCREEN)
