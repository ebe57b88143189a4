"""The part of decoding that all tongues share: the account, the gates, the clock, the variation heard."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from sternwatch.feed.readings import Quantity, Reading, Value
from sternwatch.feed.sentences import dates, fields
from sternwatch.feed.sentences.accounts import Account, Cause
from sternwatch.feed.sentences.gates import LIMITS, WARY_LIMITS, Gate

_DATED_LATELY_S = 10.0
_HOLE_S = 60.0
_MOST_SPEAKERS = 256


@dataclass(slots=True)
class Common:
    """Values that all sources share. Degrees, east positive."""

    variation_deg: float | None = None  # from the user; takes precedence over one heard
    heard_variation_deg: float | None = None
    transducers: dict[str, Quantity] = field(default_factory=dict)
    written: dates.Written | None = None  # when a recording was written, for mending dates

    @property
    def variation(self) -> float | None:
        """The variation that turns a magnetic direction into a true one."""
        return self.variation_deg if self.variation_deg is not None else self.heard_variation_deg


class Hearing:
    """The decoding of one source: its last values, and the present line. ``decode`` never raises.

    Parameters
    ----------
    wary
        The source has no checksum: every quantity with a wary limit goes through a gate, and a speaker's first
        value of a quantity counts only when a second one is about the same.
    """

    def __init__(self, common: Common, source: str, is_probe: bool, account: Account, *, wary: bool = False) -> None:
        self.common = common
        self.is_probe = is_probe
        self.account = account
        self._source = source
        self._limits = WARY_LIMITS if wary else LIMITS
        self._wary = wary
        self._void: dict[str, bool] = {}  # by talker: whether it reports no fix
        self._gates: dict[tuple[str, str, Quantity], Gate] = {}
        self._clock: tuple[float, float] | None = None  # (Unix seconds, feed time) when last heard
        self._dated_t: float | None = None
        self._hole_t = -math.inf  # when the source spoke again after a silence
        self._t_s = 0.0
        self._host_ms: int | None = None
        self._talker = ""
        self._sentence_name = ""
        self._said = ""  # the present sentence, for the account
        self._out: list[Reading] = []

    def _begin(self, t_s: float, host_ms: int | None) -> None:
        """Begin a line."""
        self.account.lines += 1
        if t_s - self._t_s > _HOLE_S:
            self._hole_t = t_s
        self._t_s, self._host_ms = t_s, host_ms
        self._out = []

    def _speaking(self, talker: str, sentence: str, said: str) -> None:
        """Set the present speaker and sentence. ``said``: what the account shows if a field is bad."""
        self._talker, self._sentence_name, self._said = talker, sentence, said

    # What the handlers use.

    def fix(self, talker: str, has_fix: bool) -> None:
        """Note whether a speaker has a fix."""
        if len(self._void) >= _MOST_SPEAKERS:
            self._void.clear()
        self._void[talker] = not has_fix

    def is_void(self, talker: str) -> bool:
        """Whether a speaker last reported no fix."""
        return self._void.get(talker, False)

    def read(self, convert: Callable[..., float | None], *arguments: str | float) -> float | None:
        """Convert a field strictly. A bad one is counted and gives None."""
        try:
            return convert(*arguments)
        except fields.BadFieldError as error:
            self.bad_field(str(error))
            return None

    def bad_field(self, why: str) -> None:
        """Count a field that is present but wrong."""
        self.account.bad_field(self._said[:120], why)

    def emit(
        self, quantity: Quantity, value: Value | None, reference: str = "", *, jumps: bool = False
    ) -> None:  # fmt: skip
        """Emit one reading from the present sentence, through its gate if it has one. ``jumps``: it may jump."""
        suspect = ""
        if value is not None and quantity in self._limits:
            key = (self._talker, self._sentence_name, quantity)
            gate = self._gates.get(key)
            if gate is None:
                if len(self._gates) >= _MOST_SPEAKERS:  # no boat has so many: rubbish from a source without checksums
                    self._gates.clear()
                gate = self._gates[key] = Gate(quantity, wary=self._wary)
            suspect = gate.doubt(value, self._t_s)
            if gate.unconfirmed:
                self.account.reject(Cause.ONCE, self._said.encode("utf-8", "replace"))
                return
            if jumps:
                suspect = ""
                gate.let(value, self._t_s)
        self._out.append(
            Reading(
                self._t_s, self._source, quantity, value, self._sentence_name, suspect, self._talker, reference
            )
        )  # fmt: skip

    def heading(self, magnetic: float | None, variation: float | None = None) -> None:
        """Emit a magnetic heading as true, by the sentence's own variation, the user's, or the one heard."""
        if variation is None:
            variation = self.common.variation
        if magnetic is None or variation is None:
            self.emit(Quantity.HEADING, magnetic, "magnetic")
        else:
            self.emit(Quantity.HEADING, (magnetic + variation) % 360.0, "true")

    def bottom(self, depth_m: float | None, offset_m: float | None) -> None:
        """Emit a sounded depth: below the surface where ``offset_m`` is positive, else below the transducer."""
        if depth_m and offset_m is not None and offset_m > 0:
            self.bottom_below(depth_m + offset_m, "surface")
        else:
            self.bottom_below(depth_m, "transducer")

    def bottom_below(self, depth_m: float | None, reference: str) -> None:
        """Emit a depth below a reference. Zero means that the sounder has no bottom."""
        self.emit(Quantity.PROBE_DEPTH if self.is_probe else Quantity.BOTTOM, depth_m if depth_m else None, reference)

    def mended_date(self, day: int, month: int, year: int) -> date | None:
        """A receiver's date, mended; None (and counted) where there is no such day."""
        host = dates.host_day(self._host_ms)
        found = _date(day, month, year, host, self.common.written)
        if found is None:
            self.bad_field(f"{day}.{month}.{year} is not a date")
            return None
        mended, self.account.mending = found
        return mended

    def clock(self, day: date | None, seconds_of_day: float | None) -> None:
        """Emit a time from a speaker with a fix. Bare times of day count while no dated one has come lately."""
        if seconds_of_day is None:
            return
        if day is not None:
            unix_s = dates.unix_s(day, seconds_of_day)
            self._dated_t = self._t_s
        else:
            # After a silence wait for a dated one: it may be another day.
            if self._dated_t is not None and self._t_s - max(self._dated_t, self._hole_t) < _DATED_LATELY_S:
                return
            if self._clock is not None:
                near = self._clock[0] + self._t_s - self._clock[1]
            elif dates.host_day(self._host_ms) is not None and self._host_ms is not None:
                near = self._host_ms / 1000
            else:
                return
            unix_s = dates.nearest_day(seconds_of_day, near)
        self._clock = (unix_s, self._t_s)
        self.emit(Quantity.CLOCK, unix_s)


@lru_cache(maxsize=256)
def _date(
    day: int, month: int, year: int, host: date | None, written: dates.Written | None
) -> tuple[date, str] | None:  # fmt: skip
    try:
        said = date(year, month, day)
    except ValueError:
        return None
    meant = dates.mend(said, host, written)
    return meant, dates.mending(said, meant)
