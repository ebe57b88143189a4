"""Finds what a recording speaks from its first lines, where nobody has said it."""

from __future__ import annotations

import gzip
import re
import zlib
from collections.abc import Iterable
from pathlib import Path

from sternwatch.feed.n2k import decoded, frames
from sternwatch.feed.readings import Tongue
from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.reading import is_file

_LOOKED_AT = 1 << 16  # bytes
_MOST = 400  # lines
_SPOKEN = re.compile(rb"[$!](?!P)[A-Z]{5},").match  # not a proprietary sentence
NAMES = {Tongue.N2K: "NMEA 2000 frames", Tongue.SIGNALK: "Signal K deltas"}


def tongue_of(lines: Iterable[bytes]) -> Tongue | None:
    """Frames or deltas, where half of the lines are such and none is a standard sentence; else None."""
    counts = {Tongue.N2K: 0, Tongue.SIGNALK: 0}
    looked = 0
    for line in lines:
        tag = tagblock.read(line)
        text = line[tag.end :] if tag is not None else line
        if not text.strip() or text.startswith((b"#", b"$PDGY,")):  # comment lines
            continue
        looked += 1
        tongue = line_tongue(text)
        if tongue is not None:
            counts[tongue] += 1
        elif _SPOKEN(text):
            return None
    best = max(counts, key=lambda tongue: counts[tongue])
    return best if 2 * counts[best] > looked else None


def line_tongue(line: bytes) -> Tongue | None:
    """The tongue of one line where it is a frame or a delta; else None."""
    if line[:1] == b"{":
        if b'"updates"' in line or b'"self"' in line:
            return Tongue.SIGNALK
        is_message = line.isascii() and decoded.parse(line.decode("ascii"), si=False) is not None
        return Tongue.N2K if is_message else None
    return Tongue.N2K if frames.is_frame(line) else None


def spelled(path: Path) -> str:
    """The recording as a command's argument: its path, after ``n2k:`` or ``signalk:`` where needed."""
    lines = _first_lines(path)
    if any(tag is not None and tagblock.declared(tag) for tag in map(tagblock.read, lines)):
        return str(path)
    tongue = tongue_of(lines)
    return str(path) if tongue is None else f"{tongue}:{path}"


def has_feed(path: Path) -> bool:
    """Whether instruments speak in its first lines: sentences, frames or deltas."""
    lines = _first_lines(path)
    tags = [tagblock.read(line) for line in lines]
    texts = [line[tag.end :] if tag is not None else line for line, tag in zip(lines, tags, strict=True)]
    return any(map(_SPOKEN, texts)) or tongue_of(lines) is not None


def _first_lines(path: Path) -> list[bytes]:
    """The first whole lines of a file; none where it cannot be read."""
    if not is_file(path):  # reading a pipe would block
        return []
    try:
        with path.open("rb") as file:
            head = file.read(_LOOKED_AT)
        if head[:2] == b"\x1f\x8b":
            with gzip.open(path) as packed:
                head = packed.read1(_LOOKED_AT)
    except (OSError, EOFError, zlib.error):
        return []
    return head.replace(b"\r", b"\n").split(b"\n")[:-1][:_MOST]
