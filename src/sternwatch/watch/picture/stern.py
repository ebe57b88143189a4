"""How rods stand across the stern and how each one's line is drawn, and what kind of session a picture is of.

The same on every screen and page.
"""

from __future__ import annotations

from sternwatch.gear.spread_file.models import ROD_KEYS
from sternwatch.watch.picture.model import RodPicture, Session

SESSION_WORDS = {
    Session.DEMO: ("DEMO", "an invented evening: not your boat"),
    Session.REPLAY: ("REPLAY", "a recording, not the present"),
    Session.PRACTICE: ("PRACTICE", "a simulated boat"),
}

HUES = DASHES = 4

_SIDES = ("port", "centre", "starboard")


def across_stern(rods: tuple[RodPicture, ...], *, mirrored: bool = False) -> tuple[RodPicture, ...]:
    """The rods across the stern, port to starboard; the other way round for a screen facing aft.

    The number row of the keyboard is the stern, so within a side the keys decide: a rod that is forward or on a roof
    may have its tip farther in than its station.
    """
    order = sorted(rods, key=lambda rod: (_SIDES.index(rod.side), ROD_KEYS.find(rod.key)))
    return tuple(reversed(order)) if mirrored else tuple(order)


def drawn_as(key: str) -> tuple[int, int]:
    """Hue and dash, each 0 to 3, in which a rod's line is drawn wherever it is drawn.

    They go by the key alone, so that they stay when a rod moves or others come in. Neighbours differ in both, and no
    two of the twelve stations share both.
    """
    number = max(ROD_KEYS.find(key), 0)
    return number % HUES, (number + number // HUES) % DASHES
