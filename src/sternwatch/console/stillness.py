"""Prevents long pauses of the screen: hides objects of the whole session from the garbage collector.

The solver's libraries have some hundred thousand objects. Searching them takes the collector up to 70 ms at a time
(measured), on any thread, and holds the interpreter meanwhile. What is left is searched a few times an hour: by the
collector's own rule (`places.collect_seldom`) screens that were left would pile up for hours.
"""

from __future__ import annotations

import gc
import math

from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import Outlook

# It takes 70 ms (measured), so it waits while somebody is at the keys, but not for another ten minutes.
TIDY_EVERY_S = 600.0
QUIET_S = 5.0


class Stillness:
    """Notices when another part of the session has started. Off until ``wanted``: a test's objects do not stay."""

    def __init__(self) -> None:
        self.wanted = False
        self._parts = 0
        self.pressed_s = -math.inf  # when a key was pressed last, by the screen's clock
        self._tidied_s: float | None = None

    def tidy(self, now_s: float) -> bool:
        """Call this now and then with the screen's clock. Returns whether it collected the garbage of all ages."""
        if self._tidied_s is None or now_s < self._tidied_s:
            self._tidied_s = now_s
        due_s = now_s - self._tidied_s - TIDY_EVERY_S
        if due_s < 0.0 or (due_s < TIDY_EVERY_S and 0.0 <= now_s - self.pressed_s < QUIET_S):
            return False
        self._tidied_s = now_s
        gc.collect()
        return True

    def look(self, picture: Picture | None, outlook: Outlook | None) -> bool:
        """Call this now and then. Returns whether it hid the present objects."""
        limits = outlook.limits if outlook is not None else None
        parts = sum(part is not None for part in (picture, outlook, limits))
        if not self.wanted or parts <= self._parts:
            return False
        self._parts = parts
        gc.freeze()
        return True
