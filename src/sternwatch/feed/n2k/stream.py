"""Turns a gateway's lines into readings: frame, message, strict fields, gates. Never raises on a line.

Most gateways send no checksum, and one in ten one-letter faults still reads as a frame. So this source is *wary*
(``sentences.hearing``): range checks, a gate on everything, and no value counts before it is repeated.
"""

from __future__ import annotations

from sternwatch.feed.n2k import decoded, frames
from sternwatch.feed.n2k.bus import Bus
from sternwatch.feed.n2k.messages import CLAIM, FAST, HANDLERS
from sternwatch.feed.n2k.packets import Packets
from sternwatch.feed.n2k.payloads import Fields, check_library, fields
from sternwatch.feed.readings import Line, Reading, Speech
from sternwatch.feed.sentences.accounts import Cause
from sternwatch.feed.sentences.hearing import Common

_LEAST_BYTES = {127258: 6}  # some send it without its reserved end
_MARINE = 4  # industry group of a NAME (ISO 11783-5)


class FrameStream(Bus):
    """One gateway.

    Raises
    ------
    FeedError
        The library is not installed.
    """

    def __init__(self, common: Common, source: str, is_probe: bool, unchecked: bool, speech: Speech) -> None:
        check_library()
        super().__init__(common, source, is_probe, unchecked)
        self._combined = speech.combined
        self._si = speech.si
        self._packets = Packets()

    def decode(self, line: Line) -> list[Reading]:
        """The readings in a line."""
        self._begin(line.t_s, line.unix_ms)
        data = line.data
        if data[:1] == b"\\":  # a tag block of the source itself
            end = data.find(b"\\", 1)
            data = data[end + 1 :] if end > 0 else data
        if not line.whole:
            self.account.reject(Cause.CUT_OFF, data)
        elif not data.isascii():
            self.account.reject(Cause.NOT_TEXT, data)
        elif data[:1] == b"#":
            self.account.unhandled("comment")
        elif data[:6] == b"$PDGY,":
            self.account.unhandled("gateway's own")
        else:
            self._text = data.decode("ascii").rstrip(" \t\0")
            if data[:1] == b"{":
                self._object()
            else:
                self._frame()
        return self._out

    def _object(self) -> None:
        found = decoded.parse(self._text, self._si)
        if found is None:
            self.account.reject(Cause.NO_FRAME, self._text.encode())
        elif isinstance(found, decoded.Head):
            self._si = found.si
            self.account.unhandled("head line")
        elif found.pgn not in HANDLERS:
            self.account.unhandled(f"PGN {found.pgn}")
        else:
            self._message(found.pgn, found.source, found.fields)

    def _frame(self) -> None:
        account = self.account
        try:
            frame = frames.parse(self._text)
        except frames.WrongChecksumError:
            account.reject(Cause.BAD_CHECKSUM, self._text.encode())
            return
        if frame is None:
            account.reject(Cause.NO_FRAME, self._text.encode())
            return
        if frame.signed:
            account.right_checksum()
        pgn, data = frame.pgn, frame.data
        if pgn not in HANDLERS:
            account.unhandled(f"PGN {pgn}")
            return
        if pgn in FAST:
            whole = data if frame.whole or self._combined else self._packets.push(pgn, frame.source, data)
            if whole is None:
                account.unhandled(f"part of PGN {pgn}")
                return
            data = whole
        elif len(data) < _LEAST_BYTES.get(pgn, frames.FRAME_BYTES):
            account.reject(Cause.CUT_OFF, self._text.encode())
            return
        if pgn == CLAIM:
            self._take_claim(frame.source, data)
            return
        found = fields(pgn, data, frame.source)
        if found is None:
            account.reject(Cause.UNREADABLE, self._text.encode())
            return
        self._message(pgn, frame.source, found)

    def _take_claim(self, address: int, data: bytes) -> None:
        number = int.from_bytes(data, "little")
        if number >> 60 & 0b111 != _MARINE:
            self.account.reject(Cause.UNREADABLE, self._text.encode())
            return
        self._count(CLAIM)
        self._names.claim(address, f"{number:016X}")

    def _message(self, pgn: int, address: int, found: Fields) -> None:
        self._count(pgn)
        self._pgn, self._address = pgn, address
        self.talker = self._names.talker(address)
        self._speaking(self.talker, f"PGN {pgn}", self._text)
        HANDLERS[pgn](self, found)

    def _count(self, pgn: int) -> None:
        name = f"PGN {pgn}"
        self.account.accepted[name] = self.account.accepted.get(name, 0) + 1
