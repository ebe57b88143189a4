"""Turns NMEA 0183 lines into readings: checksum, sentence, strict fields. Never raises on a line."""

from __future__ import annotations

from sternwatch.feed.readings import Line, Reading
from sternwatch.feed.sentences.accounts import Account, Cause
from sternwatch.feed.sentences.framing import checksum, pieces
from sternwatch.feed.sentences.handlers import HANDLERS
from sternwatch.feed.sentences.hearing import Common, Hearing
from sternwatch.feed.sentences.layouts import UnreadableError, parse

_PRINTABLE = frozenset(range(0x20, 0x7F))  # the bytes allowed in a sentence (IEC 61162-1, 6.1)
_HABIT = 3  # consecutive sentences with an unreadable field
_MOST_SPEAKERS = 256
_HEX = frozenset(b"0123456789abcdefABCDEF")


class Stream(Hearing):
    """One source of sentences."""

    def __init__(self, common: Common, source: str, is_probe: bool, unchecked: bool) -> None:
        super().__init__(common, source, is_probe, Account(source, unchecked=unchecked))
        self._bad_running: dict[tuple[str, str], int] = {}

    def decode(self, line: Line) -> list[Reading]:
        """The readings in a line, in the order of its fields."""
        self._begin(line.t_s, line.unix_ms)
        data = line.data
        self.account.in_vain.hear(line.t_s, data)
        if data[:1] == b"\\":  # a tag block of the source itself
            end = data.find(b"\\", 1)
            data = data[end + 1 :] if end > 0 else data
        for piece, ended in pieces(data, line.whole):
            body = self._checked(piece, ended, by_another=not ended and line.whole)
            if body is not None:
                self._understand(body, piece)
        return self._out

    def _checked(self, piece: bytes, ended: bool, *, by_another: bool) -> bytes | None:
        """The sentence between its start and its checksum, where it may be used."""
        account = self.account
        if piece[:1] not in (b"$", b"!") or len(piece) < 7:
            account.in_vain.cut_off(by_another=by_another and piece[:1] in (b"$", b"!"))
            account.reject(Cause.NO_SENTENCE, piece)
            return None
        star = piece.find(b"*", 1)
        if star < 0:
            body = piece[1:].rstrip(b" \t\0")
            if not ended:
                account.in_vain.cut_off(by_another=by_another)
                account.reject(Cause.CUT_OFF, piece)
            elif account.sends_checksums and not account.unchecked:
                account.in_vain.cut_off(by_another=False)
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
        if digits:
            account.in_vain.wrong(piece)
        else:
            account.in_vain.cut_off(by_another=by_another)
        return body if account.unchecked and digits and ended else None

    def _understand(self, body: bytes, piece: bytes) -> None:
        account = self.account
        if not _PRINTABLE.issuperset(body):
            account.reject(Cause.NOT_TEXT, piece)
            return
        text = body.decode("ascii")
        formatter = text[2:5]
        handler = HANDLERS.get(formatter) if text[5:6] == "," and piece[:1] == b"$" else None
        if handler is None or text[0] == "P":
            account.in_vain.right()
            private = text[5:6] != "," or not text[:5].isalnum() or text[0] == "P"
            account.unhandled("other" if private else formatter)
            return
        try:
            sentence = parse(text)
        except UnreadableError:
            account.reject(Cause.UNREADABLE, piece)
            return
        account.accepted[formatter] = account.accepted.get(formatter, 0) + 1
        account.in_vain.right()
        self._speaking(sentence.talker, sentence.formatter, text)
        before, bad = len(self._out), account.bad_fields
        handler(self, sentence)
        self._doubt_neighbours((sentence.talker, sentence.formatter), before, bad=account.bad_fields > bad)

    def _doubt_neighbours(self, key: tuple[str, str], before: int, *, bad: bool) -> None:
        """Doubt all values of a sentence with an unreadable field: the damage may have reached others.

        A speaker with such a field in several consecutive sentences writes it that way: that is no damage.
        """
        if not bad:
            self._bad_running.pop(key, None)
            return
        if len(self._bad_running) >= _MOST_SPEAKERS:
            self._bad_running.clear()
        self._bad_running[key] = self._bad_running.get(key, 0) + 1
        if self._bad_running[key] < _HABIT:
            self._out[before:] = [reading for reading in self._out[before:] if reading.value is None]
