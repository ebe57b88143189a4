"""Prevents long pauses of the screen: hides objects of the whole session from the garbage collector.

The solver's libraries have some hundred thousand objects. Searching them takes the collector up to 70 ms at a time
(measured), on any thread, and holds the interpreter meanwhile.
"""

from __future__ import annotations

import gc

from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import Outlook


class Stillness:
    """Notices when another part of the session has started. Off until ``wanted``: a test's objects do not stay."""

    def __init__(self) -> None:
        self.wanted = False
        self._parts = 0

    def look(self, picture: Picture | None, outlook: Outlook | None) -> bool:
        """Call this now and then. Returns whether it hid the present objects."""
        limits = outlook.limits if outlook is not None else None
        parts = sum(part is not None for part in (picture, outlook, limits))
        if not self.wanted or parts <= self._parts:
            return False
        self._parts = parts
        gc.freeze()
        return True
