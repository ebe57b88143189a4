"""Says what is wrong when bytes come but none make a usable sentence, from the bytes of the last seconds.

A wrong rate makes bytes that are no text. Two talkers on one wire make sentences that begin inside others. A full
buffer cuts sentences in half. Noise flips bits in sentences that look whole. The shares are judgement, tested on
streams spoiled in each of these ways.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import Final

LOOKS_BACK_S: Final = 8.0
_LEAST_S: Final = 4.0
_LEAST_BYTES: Final = 120
_ODD: Final = 0.15  # share of bytes that occur in no text
_RIGHT: Final = 0.1  # usable sentences for each piece that is not
_JOINED: Final = 0.1  # share of the pieces; only two talkers make sentences begin inside others
_HALVES: Final = 0.3
_TEXT: Final = bytes((*range(0x20, 0x7F), 0x0D, 0x0A))


@dataclass(slots=True)
class _Second:
    at_s: int
    size: int = 0
    odd: int = 0
    right: int = 0
    wrong: int = 0  # wrong checksums of pieces that look whole
    joined: int = 0  # pieces that begin inside another, or have two checksums
    halves: int = 0

    @property
    def pieces(self) -> int:
        """That cannot be used."""
        return self.wrong + self.joined + self.halves


@dataclass(slots=True)
class InVain:
    """Counts by the second; plain data."""

    _begun_s: float | None = None
    _seconds: deque[_Second] = field(default_factory=deque)
    _right: int = 0  # in all these seconds, since it is asked at every step
    _pieces: int = 0

    def hear(self, t_s: float, data: bytes) -> None:
        """Count a line."""
        if self._begun_s is None:
            self._begun_s = t_s
        if not self._seconds or self._seconds[-1].at_s != int(t_s):
            self._seconds.append(_Second(int(t_s)))
            while self._seconds[0].at_s <= t_s - LOOKS_BACK_S:
                gone = self._seconds.popleft()
                self._right -= gone.right
                self._pieces -= gone.pieces
        now = self._seconds[-1]
        now.size += len(data) + 2
        now.odd += len(data.translate(None, _TEXT))

    def right(self) -> None:
        """Count a usable sentence."""
        self._seconds[-1].right += 1
        self._right += 1

    def wrong(self, piece: bytes) -> None:
        """Count a piece with a wrong checksum."""
        self._pieces += 1
        if piece.count(b"*") > 1 or piece.count(b",") > 40:
            self._seconds[-1].joined += 1
        else:
            self._seconds[-1].wrong += 1

    def cut_off(self, *, by_another: bool) -> None:
        """Count a piece without an end or a beginning. ``by_another``: another sentence begins inside it."""
        self._pieces += 1
        if by_another:
            self._seconds[-1].joined += 1
        else:
            self._seconds[-1].halves += 1

    def words(self) -> str:
        """What is wrong, in one sentence without the source; empty if some of it is usable, or too little came."""
        right, pieces, seconds = self._right, self._pieces, self._seconds
        if self._begun_s is None or right > _RIGHT * pieces:
            return ""
        span = min(LOOKS_BACK_S, seconds[-1].at_s + 1.0 - self._begun_s)
        size = sum(s.size for s in seconds)
        if span < _LEAST_S or size < _LEAST_BYTES:
            return ""
        joined, halves, wrong = (sum(getattr(s, of) for s in seconds) for of in ("joined", "halves", "wrong"))
        odd = sum(s.odd for s in seconds) / size
        few = "hardly a" if right else "no"
        rate = f"{size / span:.0f} bytes a second arrive, and {few} sentence among them can be used"
        if odd > _ODD:
            return f"{rate}: {100 * odd:.0f} % are not text. Wrong baud rate?"
        if joined > _JOINED * pieces:
            return f"{rate}: {joined / span:.1f} a second run into another. Two talkers on one wire?"
        if halves > _HALVES * pieces:
            return (
                f"{rate}: {halves / span:.1f} halves of sentences a second. A loose plug, or a buffer that overflows?"
            )
        return f"{rate}: {wrong / span:.1f} wrong checksums a second. Noise on the wire?"
