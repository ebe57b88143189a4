"""What a replay manages of the pace that is asked of it."""

from __future__ import annotations

# While it is farther behind than this much playing, its target waits: this computer cannot play so fast. Else the way
# to go would grow, it would be raced through at any rate chosen later, and nothing would be forecast meanwhile.
BEHIND_S = 0.25
MEASURED_S = 3.0
AS_ASKED = 0.8  # from this share of the rate on it is what was asked


class Pace:
    """Measured over some seconds of playing. Where it stands, waits or jumps, measuring begins anew."""

    def __init__(self, now_s: float, t_s: float) -> None:
        self._since = now_s, t_s
        self.manages: float | None = None  # feed seconds a second; None: what is asked, or not known

    def look(self, now_s: float, t_s: float, target_s: float, rate: float, *, playing: bool) -> None:
        """Take how far it has come. ``now_s``: the computer's clock."""
        if not playing or not 0.0 < target_s - t_s <= 2.0 * BEHIND_S * rate:
            self.manages = None
        elif now_s - self._since[0] >= MEASURED_S:
            reached = (t_s - self._since[1]) / (now_s - self._since[0])
            self.manages = reached if reached < AS_ASKED * rate else None
        else:
            return
        self._since = now_s, min(t_s, target_s)
