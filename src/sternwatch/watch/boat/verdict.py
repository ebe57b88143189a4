"""A verdict that changes only after a test has asked for the other state long enough."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

MEAN_S: Final = 6.0  # readings are averaged over this time before they are compared
# The mean must exceed the limit this long before it is said. In sound recordings a compass reaches 4.8 s, in a turn
# at speed; two sounders and two thermometers nothing.
HOLDS_S: Final = 8.0
AGREES_S: Final = 20.0  # and stay within it this long before it is over


@dataclass(slots=True)
class Verdict:
    """Whether two sensors contradict each other. A plain value."""

    stands: bool = False
    _for_s: float = 0.0  # how long the test asked for the other state, less how long it did not; never under 0
    _t_s: float | None = None

    def passed_s(self, t_s: float) -> float:
        """The time since the last call; 0 at the first."""
        dt, self._t_s = 0.0 if self._t_s is None else t_s - self._t_s, t_s
        return dt

    def ask(self, dt_s: float, *, apart: bool, weight: float = 1.0) -> None:
        """Take the test's answer for the last ``dt_s``. Time apart counts ``weight`` times."""
        counted_s = dt_s * (weight if apart else 1.0)
        self._for_s = max(self._for_s + (counted_s if apart is not self.stands else -counted_s), 0.0)
        if self._for_s >= (AGREES_S if self.stands else HOLDS_S):
            self.stands, self._for_s = not self.stands, 0.0
