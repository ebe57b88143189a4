"""Lines to readings: checksum, sentence, strict fields, dates mended, rate gates. No exception leaves here.

The decoder is a deterministic function of the lines it was given, and plain data: ``copy.deepcopy`` of it is a
checkpoint.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from datetime import date
from functools import lru_cache

from sternwatch.feed.readings import Line, Quantity, Reading, Value
from sternwatch.feed.sentences import dates, fields
from sternwatch.feed.sentences.accounts import Account, Cause, SourceReport
from sternwatch.feed.sentences.framing import checksum, pieces
from sternwatch.feed.sentences.gates import LIMITS, Gate
from sternwatch.feed.sentences.handlers import HANDLERS
from sternwatch.feed.sentences.layouts import Sentence, UnreadableError, parse

_HEX = frozenset(b"0123456789abcdefABCDEF")
_DATED_LATELY_S = 10.0
_MOST_SPEAKERS = 256


class Decoder:
    """Turns the lines of all sources into readings and keeps each source's account.

    Parameters
    ----------
    variation_deg
        Magnetic variation to use where a sentence does not bring its own, east positive; over what RMC says.
    probes
        Names of sources whose STW and water temperature are those of a probe at depth.
    transducers
        XDR transducer names (upper case) and the probe quantity each one measures. Names that begin with
        ``PROBE`` are understood without this.
    unchecked
        Names of sources whose checksums are not looked at, by the user's explicit choice.
    """

    def __init__(
        self,
        *,
        variation_deg: float | None = None,
        probes: Collection[str] = (),
        transducers: Mapping[str, Quantity] | None = None,
        unchecked: Collection[str] = (),
    ) -> None:
        self.variation_deg = variation_deg
        self.heard_variation_deg: float | None = None
        self.transducers = dict(transducers or {})
        self._probes = frozenset(probes)
        self._unchecked = frozenset(unchecked)
        self._streams: dict[str, Stream] = {}

    def decode(self, line: Line) -> list[Reading]:
        """The readings in a line, in the order of its fields; empty if there are none."""
        stream = self._streams.get(line.source)
        if stream is None:
            stream = self._streams[line.source] = Stream(
                self, line.source, line.source in self._probes, line.source in self._unchecked
            )
        return stream.decode(line)

    def reports(self) -> tuple[SourceReport, ...]:
        """One account per source, in the order in which they were first heard."""
        return tuple(stream.account.report() for stream in self._streams.values())


class Stream:
    """One source's decoding: what it said last, and the line being decoded now."""

    def __init__(self, decoder: Decoder, source: str, is_probe: bool, unchecked: bool) -> None:
        self.decoder = decoder
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

    def decode(self, line: Line) -> list[Reading]:
        account = self.account
        account.lines += 1
        self._t_s, self._host_ms = line.t_s, line.unix_ms
        self._out = []
        data = line.data
        if data[:1] == b"\\":  # the source's own tag block
            end = data.find(b"\\", 1)
            data = data[end + 1 :] if end > 0 else data
        for piece, ended in pieces(data, line.whole):
            body = self._checked(piece, ended)
            if body is not None:
                self._understand(body, piece)
        return self._out

    def _checked(self, piece: bytes, ended: bool) -> bytes | None:
        """The sentence between its start and its checksum, if it may be used."""
        account = self.account
        if piece[:1] not in (b"$", b"!") or len(piece) < 7:
            account.reject(Cause.NO_SENTENCE, piece)
            return None
        star = piece.find(b"*", 1)
        if star < 0:
            body = piece[1:].rstrip(b" \t\0")
            if not ended:
                account.reject(Cause.CUT_OFF, piece)
            elif account.sends_checksums and not account.unchecked:
                account.reject(Cause.NO_CHECKSUM, piece)
            else:
                return body
            return None
        body, digits = piece[1:star], piece[star + 1 :].rstrip(b" \t\0")
        if 1 <= len(digits) <= 2 and _HEX.issuperset(digits) and int(digits, 16) == checksum(body):
            account.right_checksum()
            return body
        if not digits and ended and (account.unchecked or not account.sends_checksums):
            return body
        account.reject(Cause.BAD_CHECKSUM if digits else Cause.CUT_OFF, piece)
        return body if account.unchecked and digits and ended else None

    def _understand(self, body: bytes, piece: bytes) -> None:
        account = self.account
        if not body.isascii():
            account.reject(Cause.NOT_TEXT, piece)
            return
        text = body.decode("ascii")
        formatter = text[2:5]
        handler = HANDLERS.get(formatter) if text[5:6] == "," and piece[:1] == b"$" else None
        if handler is None or text[0] == "P":
            private = text[5:6] != "," or not text[:5].isalnum() or text[0] == "P"
            account.unhandled("other" if private else formatter)
            return
        try:
            sentence = parse(text)
        except UnreadableError:
            account.reject(Cause.UNREADABLE, piece)
            return
        account.accepted[formatter] = account.accepted.get(formatter, 0) + 1
        self._sentence = sentence
        handler(self, sentence)
        self._sentence = None

    # What the handlers use.

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
