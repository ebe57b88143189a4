"""What the handlers of messages know of a bus: who speaks, at which address, in which message."""

from __future__ import annotations

from sternwatch.feed.n2k.names import Names
from sternwatch.feed.sentences.accounts import Account
from sternwatch.feed.sentences.hearing import Common, Hearing

NOTHING = "nothing that arrives is an NMEA 2000 frame (wrong baud rate? or sentences, which need no n2k:?)"


class Bus(Hearing):
    """One bus behind one gateway, for the handlers of messages."""

    def __init__(self, common: Common, source: str, is_probe: bool, unchecked: bool) -> None:
        super().__init__(common, source, is_probe, Account(source, unchecked=unchecked, nothing=NOTHING), wary=True)
        self.talker = ""
        self._names = Names()
        self._pgn = self._address = 0
        self._text = ""

    def part(self, instance: int) -> None:
        """Name the part of the speaker, where it has several of a kind. Readings that follow are of that part."""
        if instance:
            self._speaking(self.talker, f"PGN {self._pgn}/{instance}", self._text)

    def claim(self, name: str) -> None:
        """Give the address of the present message to the device of this NAME."""
        self._names.claim(self._address, name)
