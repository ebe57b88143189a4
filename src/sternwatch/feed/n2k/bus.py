"""What the messages of a bus are heard with: who speaks, at which address, in which message."""

from __future__ import annotations

from sternwatch.feed.n2k.names import Names
from sternwatch.feed.sentences.accounts import Account
from sternwatch.feed.sentences.hearing import Common, Hearing

NOTHING = "nothing that comes is an NMEA 2000 frame (wrong baud rate? or sentences, which need no n2k:)"


class Bus(Hearing):
    """One bus behind one gateway, as the handlers of messages see it."""

    def __init__(self, common: Common, source: str, is_probe: bool, unchecked: bool) -> None:
        super().__init__(common, source, is_probe, Account(source, unchecked=unchecked, nothing=NOTHING), wary=True)
        self.talker = ""
        self._names = Names()
        self._pgn = self._address = 0
        self._text = ""

    def part(self, instance: int) -> None:
        """One of several of a kind that the speaker has: from here on it speaks as that one."""
        if instance:
            self._speaking(self.talker, f"PGN {self._pgn}/{instance}", self._text)

    def claim(self, name: str) -> None:
        """The address of the message at hand belongs to a device of this NAME."""
        self._names.claim(self._address, name)
