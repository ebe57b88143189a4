"""Keys that need two presses in a row, and the wiping lock that ignores all other keys. No screen."""

from __future__ import annotations

from dataclasses import dataclass

TWICE_S = 3.0
QUIET_S = 0.3


@dataclass(slots=True)
class Twice:
    """Counts presses of keys that act only when pressed twice in a row, within 3 s or the act's own time."""

    _token: str = ""
    _t_s: float = float("-inf")

    def press(self, token: str, t_s: float, within_s: float = TWICE_S) -> bool:
        """Whether this press of ``token`` at monotonic ``t_s`` [s] completes the pair."""
        done = token == self._token and t_s - self._t_s <= within_s
        self._token, self._t_s = ("", float("-inf")) if done else (token, t_s)
        return done


@dataclass(slots=True)
class WipingLock:
    """While ``on`` it counts and ignores every key. The unlocking key, twice in a row with none after it, unlocks.

    A cloth on the unlocking key makes the keyboard repeat it: hence the moment of quiet after the pair.
    """

    on: bool = False
    swallowed: int = 0
    _twice: Twice | None = None
    _pair_t_s: float | None = None

    def close(self) -> None:
        """Lock the keys."""
        self.on, self.swallowed, self._twice, self._pair_t_s = True, 0, Twice(), None

    def key(self, token: str, unlocking: bool, t_s: float) -> None:
        """Take a key. ``unlocking``: it is the unlocking key."""
        assert self._twice is not None
        pair = self._twice.press(token, t_s)
        self._pair_t_s = t_s if pair and unlocking else None
        self.swallowed += 1

    def tick(self, t_s: float) -> bool:
        """Whether the quiet after the pair unlocks the keys at monotonic time ``t_s`` [s]."""
        if not self.on or self._pair_t_s is None or t_s - self._pair_t_s < QUIET_S:
            return False
        self.on = False
        self.swallowed -= 2  # the pair was intended
        return True
