"""Fast packets: assembles a message of up to 223 bytes from its frames (the standard's fast-packet protocol).

The library has a reassembler too, but that cannot be copied, and a decoder must be (a checkpoint is a deep copy).
"""

from __future__ import annotations

from dataclasses import dataclass, field

_FIRST_BYTES, _NEXT_BYTES = 6, 7
_MOST_OPEN = 256


@dataclass(slots=True)
class _Open:
    sequence: int
    size: int
    data: bytearray = field(default_factory=bytearray)
    following: int = 1  # the frame expected next


class Packets:
    """The incomplete messages, one for each PGN of each address."""

    def __init__(self) -> None:
        self._open: dict[tuple[int, int], _Open] = {}

    def push(self, pgn: int, source: int, data: bytes) -> bytes | None:
        """Take a frame; returns the message that it completes. A frame out of turn discards its message."""
        if len(data) < 2:
            return None
        key = (pgn, source)
        sequence, index = data[0] >> 5, data[0] & 0x1F
        if index == 0:
            if len(self._open) >= _MOST_OPEN:
                self._open.clear()
            begun = self._open[key] = _Open(sequence, data[1], bytearray(data[2 : 2 + _FIRST_BYTES]))
        else:
            found = self._open.get(key)
            if found is None:
                return None
            if found.sequence != sequence or found.following != index:
                del self._open[key]
                return None
            begun = found
            begun.data += data[1 : 1 + _NEXT_BYTES]
            begun.following += 1
        if len(begun.data) < begun.size:
            return None
        del self._open[key]
        return bytes(begun.data[: begun.size])
