r"""NMEA 0183 tag blocks (IEC 61162-450): ``\s:<source>,c:<Unix time>,r:<relative time>*hh\`` before a sentence.

Our recordings give ``c`` in Unix milliseconds and ``r`` in milliseconds of feed time, and mark a line whose end never
came with ``t:cut``. A block with ``t:source <priority>`` and no sentence after it declares a source; ``probe``,
``unchecked`` and its tongue (``n2k``, with ``combined`` and ``si``; ``signalk``) may follow. A block with times alone
says that the feed went on in silence up to then. Blocks of other writers may give ``c`` in seconds.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sternwatch.feed.readings import Declared, Line, Speech, Tongue
from sternwatch.feed.sentences.framing import checksum
from sternwatch.quickly import quickly_made

_CUT = "cut"
_SOURCE = "source"
DECLARES = b"t:" + _SOURCE.encode()  # in the tag block of every declaration, and seldom elsewhere
_DECLARATION = re.compile(r"source (-?\d{1,9})( probe)?( unchecked)?(?: (n2k|signalk)( combined)?( si)?)?").fullmatch
_SECONDS_BELOW = 100_000_000_000  # in milliseconds this is the year 1973, in seconds 5138


@quickly_made
@dataclass(frozen=True, slots=True)
class Tag:
    """The contents of a tag block; None or "" for parts that it lacks."""

    source: str | None
    unix_ms: int | None
    relative_ms: int | None
    text: str
    end: int  # index of the first byte after the block

    @property
    def cut(self) -> bool:
        """Whether the line's end never came."""
        return self.text == _CUT


def write(line: Line) -> bytes:
    """The line for a recording, with its tag block before it and CR LF after it."""
    return _block(line.source, line.t_s, line.unix_ms, "" if line.whole else _CUT) + line.data + b"\r\n"


def declare(source: Declared, t_s: float, unix_ms: int | None) -> bytes:
    """The declaration of a source, for a recording's beginning."""
    words = [_SOURCE, str(source.priority), *(["probe"] if source.probe else [])]
    words += [] if source.checked else ["unchecked"]
    speech = source.speech
    if speech.tongue is not Tongue.SENTENCES:
        words += [speech.tongue, *(["combined"] if speech.combined else []), *(["si"] if speech.si else [])]
    return _block(source.name, t_s, unix_ms, " ".join(words)) + b"\r\n"


def silence(t_s: float, unix_ms: int | None) -> bytes:
    """A stamp without a line, for a recording whose sources say nothing."""
    return _block("", t_s, unix_ms, "") + b"\r\n"


def declared(tag: Tag) -> Declared | None:
    """The source that a tag block declares; None where it declares none."""
    match = _DECLARATION(tag.text)
    if match is None or tag.source is None:
        return None
    tongue = Tongue(match[4]) if match[4] else Tongue.SENTENCES
    speech = Speech(tongue, match[5] is not None, match[6] is not None)
    return Declared(tag.source, int(match[1]), match[2] is not None, match[3] is None, speech)


def _block(source: str, t_s: float, unix_ms: int | None, text: str) -> bytes:
    fields = [f"s:{source}"] if source else []
    if unix_ms is not None:
        fields.append(f"c:{unix_ms}")
    fields.append(f"r:{round(t_s * 1000)}")
    if text:
        fields.append(f"t:{text}")
    body = ",".join(fields).encode("ascii", "replace")
    return b"\\%s*%02X\\" % (body, checksum(body))


def read(data: bytes) -> Tag | None:
    """The tag block at the start of ``data``; None where there is none or its checksum is wrong."""
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
    text = ""
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
        elif key == b"t:":
            text = value.decode("ascii", "replace")
    return Tag(source, unix_ms, relative_ms, text, end + 1)
