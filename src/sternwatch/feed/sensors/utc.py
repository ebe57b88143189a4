"""Follows the offset between feed time and UTC. Late lines do not move it; a real step of the clock does."""

from __future__ import annotations

import math

_SETTLES_S = 10.0  # for this long after the first sentence the earliest arrival counts
_BAND_S = 0.6  # jitter from sentences with whole seconds and from buffered arrival
_STEP_READINGS = 4
# A constant disagreement must last this long to be a step. A step back takes longer: the minute of some receivers
# sticks, so that they repeat every minute until they catch up.
_ON_S = 5.0
_BACK_S = 90.0
_HOLE_S = 60.0  # after such a silence the clock is taken afresh: it may be another day


class UtcClock:
    """Follows one speaker's clock. UTC (Unix seconds) = feed time + ``offset_s``."""

    __slots__ = ("_away", "_away_best", "_away_since", "_began", "_heard", "offset_s")

    def __init__(self) -> None:
        self.offset_s: float | None = None
        self._began = self._heard = math.nan
        self._away = 0  # readings in a row that agree on another offset
        self._away_since = self._away_best = math.nan

    def take(self, t_s: float, unix_s: float) -> None:
        """Take one clock reading, received at feed time ``t_s``."""
        offset = round(unix_s - t_s, 3)
        silent_s, self._heard = t_s - self._heard, t_s
        if self.offset_s is None or silent_s > _HOLE_S:
            self.offset_s, self._began, self._away = offset, t_s, 0
            return
        behind = offset - self.offset_s
        if abs(behind) <= _BAND_S:
            self._away = 0
            # A sentence can arrive late but never early, so the largest offset is nearest to the truth.
            if behind > 0 and t_s - self._began < _SETTLES_S:
                self.offset_s = offset
            return
        if not self._away or abs(offset - self._away_best) > 2 * _BAND_S:
            self._away, self._away_since, self._away_best = 0, t_s, offset
        self._away += 1
        self._away_best = max(self._away_best, offset)
        lasted = t_s - self._away_since
        if self._away >= _STEP_READINGS and lasted >= (_ON_S if behind > 0 else _BACK_S):
            self.offset_s, self._away = self._away_best, 0
