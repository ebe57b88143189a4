"""Keeps long pauses off the screen: what lives for the whole session is hidden from the garbage collector.

The solver's libraries are some hundred thousand objects. Looking through them takes the collector up to 70 ms at a
time (measured), on whatever thread it happens, and holds the interpreter meanwhile.
"""

from __future__ import annotations

import gc

from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import Outlook


class Stillness:
    """Notices when another part of the session has come up. Off until ``wanted``: a test's objects do not stay."""

    def __init__(self) -> None:
        self.wanted = False
        self._parts = 0

    def look(self, picture: Picture | None, outlook: Outlook | None) -> bool:
        """Call now and then; whether what there is now was put out of sight."""
        limits = outlook.limits if outlook is not None else None
        parts = sum(part is not None for part in (picture, outlook, limits))
        if not self.wanted or parts <= self._parts:
            return False
        self._parts = parts
        gc.freeze()
        return True
