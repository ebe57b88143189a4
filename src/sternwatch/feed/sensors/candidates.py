"""One quantity from one speaker: its last value, its rhythm, and whether it still speaks."""

from __future__ import annotations

from sternwatch.feed.readings import Quantity, Reading, SensorState, Value

# Shortest and longest time-out [s]. Between them a time-out is four times the quantity's own rhythm, so three
# readings may be lost. Judgement: motion that depths use goes stale soon; slow sensors get more time.
TIMEOUTS_S = {
    Quantity.SOG: (3.0, 15.0),
    Quantity.COG: (3.0, 15.0),
    Quantity.STW: (3.0, 15.0),
    Quantity.HEADING: (3.0, 15.0),
    Quantity.RATE_OF_TURN: (3.0, 15.0),
    Quantity.POSITION: (3.0, 15.0),
    Quantity.WATER_TEMPERATURE: (10.0, 120.0),
    Quantity.BOTTOM: (5.0, 60.0),
    Quantity.CLOCK: (5.0, 60.0),
    Quantity.PROBE_SPEED: (10.0, 120.0),
    Quantity.PROBE_TEMPERATURE: (10.0, 120.0),
    Quantity.PROBE_DEPTH: (10.0, 120.0),
}
_RHYTHMS = 4.0
_LEARN = 0.2
_BURST_S = 0.02  # readings closer together than this are one burst, not a rhythm
_HOLD_S = 5.0  # a speaker that failed must speak for this long before it is preferred again


class Candidate:
    """A quantity from one sentence of one talker on one source."""

    __slots__ = (
        "_failed",
        "_run_since",
        "_says_none",
        "_was_late",
        "count",
        "heard_t",
        "order",
        "quantity",
        "reference",
        "rhythm_s",
        "sentence",
        "source",
        "suspect",
        "talker",
        "timeout_s",
        "value",
        "value_t",
    )

    def __init__(self, first: Reading, order: int) -> None:
        self.quantity = first.quantity
        self.source = first.source
        self.talker = first.talker
        self.sentence = first.sentence
        self.order = order
        self.count = 0
        self.rhythm_s: float | None = None
        self.timeout_s = TIMEOUTS_S[first.quantity][0]  # silence longer than this counts as silent
        self.heard_t = first.t_s
        self.value: Value | None = None
        self.value_t: float | None = None
        self.suspect = ""
        self.reference = first.reference
        self._failed = False  # was it ever silent, or without a value, after it had one?
        self._run_since = first.t_s
        self._says_none = False
        self._was_late = False

    def take(self, reading: Reading) -> None:
        """Take the next reading of this speaker."""
        t_s = reading.t_s
        timeout_s = self.timeout_s  # the state just before this reading
        self._learn(t_s - self.heard_t)
        if reading.value is None:
            self._says_none = True
            self.suspect = ""
        else:
            if self.value_t is not None and (self._says_none or t_s - self.value_t > timeout_s):
                self._failed, self._run_since = True, t_s
            self._says_none = False
            self.value, self.value_t = reading.value, t_s
            self.suspect = reading.suspect
            self.reference = reading.reference
        self.heard_t = t_s
        self.count += 1

    def _learn(self, interval: float) -> None:
        """Update the rhythm. One long interval is a failure; a second in a row means a slower rhythm."""
        shortest, longest = TIMEOUTS_S[self.quantity]
        if not self.count or not _BURST_S < interval <= longest:
            return
        late = self.rhythm_s is not None and interval > self.timeout_s
        if self.rhythm_s is None or (late and self._was_late):
            self.rhythm_s = interval
        elif not late:
            self.rhythm_s += _LEARN * (interval - self.rhythm_s)
        self._was_late = late
        self.timeout_s = min(max(_RHYTHMS * self.rhythm_s, shortest), longest)

    def state(self, t_s: float) -> SensorState:
        """Fresh, without a value, or silent."""
        if t_s - self.heard_t > self.timeout_s:
            return SensorState.SILENT
        if self._says_none or self.value_t is None:
            return SensorState.NONE
        return SensorState.FRESH

    def trusted(self, t_s: float) -> bool:
        """Whether it never failed, or has been back for long enough to switch to it for good."""
        return not self._failed or t_s - self._run_since >= _HOLD_S
