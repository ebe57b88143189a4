"""Feed time for a log of frames without stamps, from the intervals at which the standard sends each message."""

from __future__ import annotations

import mmap
import re
from collections import Counter
from statistics import median

from sternwatch.feed.recording.own_clock import Track

# Seconds between two equal messages from one device, by NMEA 2000 (canboat's copy of its tables).
EVERY_S = {127250: 0.1, 127251: 0.1, 128259: 1.0, 128267: 1.0, 129025: 0.1, 129026: 0.25, 130306: 0.1, 130310: 0.5}
_FRAMES_S = 200.0  # assumed for a bus with none of these messages
_FRAME = re.compile(rb"(?:<0x|\b)([01][0-9A-Fa-f]{7})(?:> +\[|[ #]+)")


def track(data: bytes | mmap.mmap) -> Track:
    """Feed time along the log: even by bytes."""
    counts: Counter[tuple[int, int]] = Counter()
    frames = 0
    for match in _FRAME.finditer(data):
        number = int(match[1], 16)
        frames += 1
        counts[number >> 8 & 0x3_FFFF, number & 0xFF] += 1
    spans = [n * EVERY_S[pgn] for (pgn, _), n in counts.items() if pgn in EVERY_S and n > 1]
    span_s = median(spans) if spans else frames / _FRAMES_S
    words = "it has no time stamps: messages are taken to come as often as the standard sends them"
    return Track((0,), (0.0,), (1000.0 * span_s / len(data),), None, words)
