"""Unpacks compressed data a block at a time, within bounds that no trip reaches."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

BLOCK = 65536
MOST_BYTES = 8 << 30  # a busy bus of frames fills two such in a day
# The feed of a receiver at a mooring, the same every second, packs to 1/27; one repeated line packs to 1/100 and
# less.
MOST_TIMES = 50
_FREE_BYTES = 32 << 20  # files this small are not checked
_MOST_S = 300.0


class TooMuchError(ValueError):
    """It would unpack to too much. The text ends a sentence that begins with the name of the packed file."""


def blocks(
    read: Callable[[int], bytes], packed_bytes: int, most_bytes: int = MOST_BYTES, most_s: float = _MOST_S
) -> Iterator[bytes]:
    """The blocks of unpacked bytes that ``read(n)`` returns, at most ``n`` each, until it returns none.

    ``packed_bytes``: the size before unpacking. Raises TooMuchError, and whatever ``read`` raises.
    """
    begun, unpacked = time.monotonic(), 0
    bound = max(_FREE_BYTES, MOST_TIMES * packed_bytes)
    while block := read(BLOCK):
        unpacked += len(block)
        if unpacked > most_bytes:
            raise TooMuchError(f"unpacks to more than {_size(most_bytes)}; nothing of a trip is that large")
        if unpacked > bound:
            raise TooMuchError(
                f"unpacks to more than {MOST_TIMES} times its {_size(packed_bytes)}; no recording of a boat does"
            )
        if time.monotonic() - begun > most_s:
            raise TooMuchError(f"unpacks for more than {most_s:g} s; nothing of a trip takes that long")
        yield block


def _size(count: int) -> str:
    return f"{count / 1e9:.1f} GB" if count >= 1e9 else f"{count / 1e6:.1f} MB"
