"""The drift of the surface water over ground, as course and speed tell it: a mean of the last minutes.

One reading is no drift: the sea turns and pushes the boat by more than a current does. Leeway and what the compass
is off on this heading are in it, which is right for whoever wants to know where this boat goes.
"""

from __future__ import annotations

from dataclasses import dataclass

Velocity = tuple[float, float]  # north, east

OVER_S = 60.0


@dataclass(slots=True)
class Drift:
    """``take`` alone changes it."""

    _mean_m_s: Velocity | None = None
    _told_s: float = 0.0  # how long it has been told, up to ``OVER_S``
    _t_s: float | None = None

    def take(self, t_s: float, ground_m_s: Velocity, water_m_s: Velocity) -> None:
        """Her velocity over ground and through the water at one moment."""
        now = ground_m_s[0] - water_m_s[0], ground_m_s[1] - water_m_s[1]
        dt = 0.0 if self._t_s is None else max(t_s - self._t_s, 0.0)
        self._t_s, self._told_s = t_s, min(self._told_s + dt, OVER_S)
        if self._mean_m_s is None:
            self._mean_m_s = now
            return
        share = min(dt / max(self._told_s, 1.0), 1.0)
        north, east = (was + share * (is_ - was) for was, is_ in zip(self._mean_m_s, now, strict=True))
        self._mean_m_s = north, east

    @property
    def now_m_s(self) -> Velocity | None:
        """None while nothing has told it."""
        return self._mean_m_s
