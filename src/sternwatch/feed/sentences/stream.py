"""One source as the sentence handlers see it: what it said last, and the readings of the line at hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from sternwatch.feed.readings import Quantity, Reading, Value
from sternwatch.feed.sentences import dates, fields
from sternwatch.feed.sentences.accounts import Account
from sternwatch.feed.sentences.gates import LIMITS, Gate
from sternwatch.feed.sentences.layouts import Sentence

_DATED_LATELY_S = 10.0
_MOST_SPEAKERS = 256


@dataclass(slots=True)
class Shared:
    """What all sources of a decoder share. The decoder sets it; RMC alone changes it, by the variation it says."""

    variation_deg: float | None = None  # the user's, east positive; over what RMC says
    heard_variation_deg: float | None = None
    transducers: dict[str, Quantity] = field(default_factory=dict)  # by name in upper case


class Stream:
    """One source: what it said last, and the line being decoded now. The handlers change it through its methods."""

    def __init__(self, shared: Shared, source: str, is_probe: bool, unchecked: bool) -> None:
        self.shared = shared
        self.is_probe = is_probe
        self.account = Account(source, unchecked=unchecked)
        self._void: dict[str, bool] = {}  # by talker: does it say that it has no fix?
        self._source = source
        self._gates: dict[tuple[str, str, Quantity], Gate] = {}
        self._clock: tuple[float, float] | None = None  # (Unix seconds, feed time) as last heard
        self._dated_t: float | None = None
        self._t_s = 0.0
        self._host_ms: int | None = None
        self._sentence: Sentence | None = None
        self._out: list[Reading] = []

    def fix(self, talker: str, has_fix: bool) -> None:
        """A speaker says whether it has a fix."""
        if len(self._void) >= _MOST_SPEAKERS:
            self._void.clear()
        self._void[talker] = not has_fix

    def is_void(self, talker: str) -> bool:
        """Whether it said last that it has none."""
        return self._void.get(talker, False)

    def read(self, convert: Callable[..., float | None], *arguments: str | float) -> float | None:
        """A field converted strictly; a bad one is counted and is no value."""
        try:
            return convert(*arguments)
        except fields.BadFieldError as error:
            self.bad_field(str(error))
            return None

    def bad_field(self, why: str) -> None:
        sentence = self._sentence
        name = f"{sentence.talker}{sentence.formatter}" if sentence else ""
        self.account.bad_field(f"{name},{','.join(sentence.values)}"[:120] if sentence else name, why)

    def emit(self, quantity: Quantity, value: Value | None, reference: str = "") -> None:
        """One reading from the sentence at hand, through its gate if it has one."""
        sentence = self._sentence
        if sentence is None:
            return
        suspect = ""
        if quantity in LIMITS and isinstance(value, float):
            key = (sentence.talker, sentence.formatter, quantity)
            gate = self._gates.get(key)
            if gate is None:
                if len(self._gates) >= _MOST_SPEAKERS:  # nobody has so many: rubbish from a source without checksums
                    self._gates.clear()
                gate = self._gates[key] = Gate(quantity)
            suspect = gate.doubt(value, self._t_s)
        self._out.append(
            Reading(self._t_s, self._source, quantity, value, sentence.formatter, suspect, sentence.talker, reference)
        )

    def mended_date(self, day: int, month: int, year: int) -> date | None:
        """A receiver's date, mended; None (and counted) if there is no such day."""
        host = dates.host_day(self._host_ms)
        mended = _date(day, month, year, host)
        if mended is None:
            self.bad_field(f"{day}.{month}.{year} is no date")
        return mended

    def clock(self, day: date | None, seconds_of_day: float | None) -> None:
        """A time heard from a speaker with a fix. Bare times of day count while no dated one has come lately."""
        if seconds_of_day is None:
            return
        if day is not None:
            unix_s = dates.unix_s(day, seconds_of_day)
            self._dated_t = self._t_s
        else:
            if self._dated_t is not None and self._t_s - self._dated_t < _DATED_LATELY_S:
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
def _date(day: int, month: int, year: int, host: date | None) -> date | None:
    try:
        return dates.mend(date(year, month, day), host)
    except ValueError:
        return None
