r"""NMEA 0183 tag blocks (IEC 61162-450): ``\s:<source>,c:<Unix time>,r:<relative time>*hh\`` before a sentence.

The recording's own block carries ``c`` in Unix milliseconds and ``r`` in milliseconds of feed time, and ``t:cut``
on a line whose end never came. Blocks of other writers may give ``c`` in seconds.
"""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.feed.framing import checksum
from sternwatch.feed.readings import Line

_SECONDS_BELOW = 100_000_000_000  # as milliseconds that is 1973, as seconds the year 5138


@dataclass(frozen=True, slots=True)
class Tag:
    """What a tag block says; None where it does not."""

    source: str | None
    unix_ms: int | None
    relative_ms: int | None
    cut: bool
    end: int  # index of the first byte after the block


def write(line: Line) -> bytes:
    """The line with its tag block before it and CR LF after it, as it goes into a recording."""
    fields = [f"s:{line.source}"]
    if line.unix_ms is not None:
        fields.append(f"c:{line.unix_ms}")
    fields.append(f"r:{round(line.t_s * 1000)}")
    if not line.whole:
        fields.append("t:cut")
    body = ",".join(fields).encode("ascii", "replace")
    return b"\\%s*%02X\\%s\r\n" % (body, checksum(body), line.data)


def read(data: bytes) -> Tag | None:
    """The tag block at the start of ``data``; None if there is none or its checksum is wrong."""
    if data[:1] != b"\\":
        return None
    end = data.find(b"\\", 1)
    if end < 0 or end > 200:
        return None
    body, star, digits = data[1:end].rpartition(b"*")
    try:
        if not star or int(digits, 16) != checksum(body):
            return None
    except ValueError:
        return None
    source: str | None = None
    unix_ms = relative_ms = None
    cut = False
    for item in body.split(b","):
        key, value = item[:2], item[2:]
        if key == b"c:" and value.isdigit() and len(value) <= 15:
            unix_ms = int(value)
            if unix_ms < _SECONDS_BELOW:
                unix_ms *= 1000
        elif key == b"r:" and value.isdigit() and len(value) <= 15:
            relative_ms = int(value)
        elif key == b"s:":
            source = value.decode("ascii", "replace")
        elif item == b"t:cut":
            cut = True
    return Tag(source, unix_ms, relative_ms, cut, end + 1)
