"""The order of rods across the stern and the kind of session, the same on every screen."""

from __future__ import annotations

from sternwatch.gear.spread_file.models import ROD_KEYS
from sternwatch.watch.picture.model import RodPicture, Session

SESSION_WORDS = {
    Session.DEMO: ("DEMO", "an invented evening: not your boat"),
    Session.REPLAY: ("REPLAY", "a recording: not now"),
    Session.PRACTICE: ("PRACTICE", "a simulated boat"),
}

_SIDES = ("port", "centre", "starboard")


def across_stern(rods: tuple[RodPicture, ...], *, mirrored: bool = False) -> tuple[RodPicture, ...]:
    """The rods across the stern, port to starboard; the other way round for a screen facing aft.

    The number row of the keyboard is the stern, so within a side the keys decide: a rod that is forward or on a roof
    may have its tip farther in than its station.
    """
    order = sorted(rods, key=lambda rod: (_SIDES.index(rod.side), ROD_KEYS.find(rod.key)))
    return tuple(reversed(order)) if mirrored else tuple(order)
