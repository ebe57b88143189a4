"""Lines to readings: checksum, sentence, strict fields, dates mended, rate gates. No exception leaves here.

The decoder is a deterministic function of the lines it was given, and plain data: ``copy.deepcopy`` of it is a
checkpoint.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from sternwatch.feed.readings import Line, Quantity, Reading
from sternwatch.feed.sentences.accounts import Cause, SourceReport
from sternwatch.feed.sentences.framing import checksum, pieces
from sternwatch.feed.sentences.handlers import HANDLERS
from sternwatch.feed.sentences.layouts import UnreadableError, parse
from sternwatch.feed.sentences.stream import Shared, Stream

_HEX = frozenset(b"0123456789abcdefABCDEF")


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
        self._shared = Shared(variation_deg, None, dict(transducers or {}))
        self._probes = frozenset(probes)
        self._unchecked = frozenset(unchecked)
        self._streams: dict[str, _Source] = {}

    def decode(self, line: Line) -> list[Reading]:
        """The readings in a line, in the order of its fields; empty if there are none."""
        stream = self._streams.get(line.source)
        if stream is None:
            stream = self._streams[line.source] = _Source(
                self._shared, line.source, line.source in self._probes, line.source in self._unchecked
            )
        return stream.decode(line)

    def reports(self) -> tuple[SourceReport, ...]:
        """One account per source, in the order in which they were first heard."""
        return tuple(stream.account.report() for stream in self._streams.values())


class _Source(Stream):
    """One source's decoding."""

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
