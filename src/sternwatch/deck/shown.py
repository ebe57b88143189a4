"""What the helm gives the deck's page: the picture on the helm's screen, and how to show it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.picture.model import Picture, Session

Face = Literal["sun", "dusk", "night"]


@dataclass(frozen=True, slots=True)
class Turn:
    """The next turn that the helm calls: its words, and its start (monotonic) [s]."""

    words: str
    at_s: float


@dataclass(frozen=True, slots=True)
class Shown:
    """One moment of the helm's screen. ``picture``: smoothed, with every standing alert; None before the first."""

    session: Session
    picture: Picture | None
    units: DisplaySystem
    told_s: float  # monotonic time at which the helm last had news of this picture
    face: Face = "sun"
    mirrored: bool = False  # starboard to port, as seen facing aft
    turn: Turn | None = None
    paused: bool = False  # a paused recording
    order: tuple[str, ...] = ()  # the planned order for letting lines out; empty: the usual one
    busy: str = ""  # why there is no picture yet
