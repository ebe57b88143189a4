"""What the helm hands the deck's page: the picture as it stands on the helm's screen, and how it is to be shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.picture.model import Picture, Session

Face = Literal["sun", "dusk", "night"]


@dataclass(frozen=True, slots=True)
class Turn:
    """The next turn, called by the helm: in words, and when it begins (monotonic) [s]."""

    words: str
    at_s: float


@dataclass(frozen=True, slots=True)
class Shown:
    """One moment of the helm's screen. ``picture``: calm, with every alert that stands; None before the first."""

    session: Session
    picture: Picture | None
    units: DisplaySystem
    told_s: float  # monotonic, when the helm last had word of this picture
    face: Face = "sun"
    mirrored: bool = False  # starboard to port, as somebody sees it who faces aft
    turn: Turn | None = None
    paused: bool = False  # a recording that stands still
    order: tuple[str, ...] = ()  # to let lines out in, as planned; empty: the usual one
    busy: str = ""  # why there is no picture yet
