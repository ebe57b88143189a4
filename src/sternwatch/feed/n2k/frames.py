"""Reads one CAN frame or message from one line of text. The whole line must match exactly.

The forms: frames as gateways print them (``hh:mm:ss.mmm R 09F8027F …`` and the same without a time), assembled
messages (``Ahhmmss.mmm 7FFF3 1F503 …``), messages inside sentences (``$PCDIN``, ``$MXPGN``, ``!PDGY``), logs of
candump, and canboat's plain lines. ``decoded`` reads its JSON.
"""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Callable
from dataclasses import dataclass

from sternwatch.feed.sentences.framing import checksum
from sternwatch.quickly import quickly_made

_LARGEST_ID = 0x1FFF_FFFF  # 29 bits
_PGN_BITS = 0x3_FFFF  # 18 bits; gateways use numbers beyond for their own messages
_LONGEST_MESSAGE = 223  # bytes in a fast packet: 6 + 31 * 7
FRAME_BYTES = 8


class WrongChecksumError(ValueError):
    """The sentence around a message has a wrong checksum or none."""


@quickly_made
@dataclass(frozen=True, slots=True)
class Frame:
    """One frame, or one whole message."""

    pgn: int
    source: int  # address on the bus, which may change
    data: bytes
    whole: bool | None = None  # True: a whole message; None: the form does not say
    signed: bool = False  # its checksum was right


def parse(text: str) -> Frame | None:
    """The frame in a line; None if it is none.

    Raises
    ------
    WrongChecksumError
    """
    first = text[:1]
    if first == "(":
        found = _CANDUMP_LOG(text)
        if found:
            return _of_id(found[1], found[2])
        found = _CANDUMP(text)
        return _counted(found) if found else None
    if first == "<":
        found = _BRACKETED(text)
        return _counted(found) if found else None
    if first in "$!":
        for start, read in _WRAPPED.items():
            if text.startswith(start):
                return read(text)
        return None
    if text[2:3] == ":" or text[8:9] == " ":
        found = _FRAME(text)
        if found:
            return _of_id(found[1], found[2].replace(" ", ""))
    if text[4:5] == "-":
        return _plain(text)
    found = _ASSEMBLED(text)
    if found:
        return _checked(int(found[2], 16), int(found[1][:2], 16), bytes.fromhex(found[3]), True)
    found = _CANDUMP(text)
    return _counted(found) if found else None


def is_frame(line: bytes) -> bool:
    """Whether a line is a frame or a message in a gateway's form."""
    try:
        return line.isascii() and parse(line.decode("ascii").rstrip(" \t\0")) is not None
    except WrongChecksumError:
        return False


_FRAME = re.compile(
    r"(?:\d\d:\d\d:\d\d\.\d{1,6} [RT] )?([0-9A-F]{8})((?: [0-9A-F]{2}){1,8}) ?", re.ASCII | re.IGNORECASE
).fullmatch
_CANDUMP_LOG = re.compile(
    r"\(\d{1,12}\.\d{1,9}\) [\w.-]+ ([0-9A-F]{8})#((?:[0-9A-F]{2}){0,8})(?: [RT])?", re.ASCII | re.IGNORECASE
).fullmatch
_CANDUMP = re.compile(
    r"(?:\([\d .:-]+\) +)?[A-Za-z][\w.-]* +([0-9A-F]{8}) +\[(\d)\]((?: +[0-9A-F]{2}){0,8}) *",
    re.ASCII | re.IGNORECASE,
).fullmatch
_BRACKETED = re.compile(r"<0x([0-9A-F]{8})> +\[(\d)\]((?: [0-9A-F]{2}){0,8}) *", re.ASCII | re.IGNORECASE).fullmatch
_ASSEMBLED = re.compile(
    r"(?:A\d{6}\.\d{3} )?([0-9A-F]{5}) ([0-9A-F]{5,6}) ((?:[0-9A-F]{2}){1,223})", re.ASCII | re.IGNORECASE
).fullmatch
_PLAIN = re.compile(
    r"\d{4}-\d\d-\d\d[T -]\d\d:\d\d:\d\d(?:[.,]\d{1,6})?Z?,([0-7]),(\d{1,6}),(\d{1,3}),(\d{1,3}),(\d{1,3}),"
    r"([0-9A-F]{2}(?:,[0-9A-F]{2})*)",
    re.ASCII | re.IGNORECASE,
).fullmatch
_PLAIN_SPACED = re.compile(
    r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{1,6}Z? +([0-7]) +(\d{1,3}) +(\d{1,3}) +(\d{1,6}) : "
    r"([0-9A-F]{2}(?: [0-9A-F]{2})*)",
    re.ASCII | re.IGNORECASE,
).fullmatch
_PCDIN = re.compile(
    r"([0-9A-F]{6}),([0-9A-V]{8}),([0-9A-F]{2}),((?:[0-9A-F]{2})+)", re.ASCII | re.IGNORECASE
).fullmatch
_MXPGN = re.compile(r"([0-9A-F]{6}),([0-9A-F]{4}),((?:[0-9A-F]{2}){1,8})", re.ASCII | re.IGNORECASE).fullmatch
_PDGY = re.compile(r"!PDGY,(\d{1,6}),([0-7]),(\d{1,3}),(\d{1,3}),\d+\.\d+,([A-Za-z0-9+/]+={0,2})", re.ASCII).fullmatch


def _of_id(identifier: str, data: str) -> Frame | None:
    """Split a CAN identifier of 29 bits. Where a PGN's upper byte is under 240, its low byte is the addressee."""
    number = int(identifier, 16)
    if number > _LARGEST_ID:
        return None
    pgn = number >> 8 & _PGN_BITS
    if pgn >> 8 & 0xFF < 240:
        pgn &= 0x3_FF00
    return Frame(pgn, number & 0xFF, bytes.fromhex(data))


def _counted(found: re.Match[str]) -> Frame | None:
    data = found[3].replace(" ", "")
    return _of_id(found[1], data) if len(data) == 2 * int(found[2]) else None


def _checked(pgn: int, source: int, data: bytes, whole: bool | None, signed: bool = False) -> Frame | None:
    if source > 255 or len(data) > _LONGEST_MESSAGE:
        return None
    return Frame(pgn, source, data, whole, signed)


def _plain(text: str) -> Frame | None:
    found = _PLAIN(text)
    if found:
        data = bytes.fromhex(found[6].replace(",", ""))
        if len(data) != int(found[5]) or int(found[4]) > 255:
            return None
        return _checked(int(found[2]), int(found[3]), data, True if len(data) > FRAME_BYTES else None)
    found = _PLAIN_SPACED(text)
    if found:
        data = bytes.fromhex(found[5])
        return _checked(int(found[4]), int(found[2]), data, True if len(data) > FRAME_BYTES else None)
    return None


def _body(text: str) -> str:
    """The text of a sentence between its name and its checksum, which must be right."""
    body, star, digits = text[1:].partition("*")
    digits = digits.rstrip()
    if not star or not re.fullmatch("[0-9A-Fa-f]{2}", digits) or int(digits, 16) != checksum(body.encode()):
        raise WrongChecksumError
    return body.partition(",")[2]


def _in_pcdin(text: str) -> Frame | None:
    found = _PCDIN(_body(text))
    return _checked(int(found[1], 16), int(found[3], 16), bytes.fromhex(found[4]), True, True) if found else None


def _in_mxpgn(text: str) -> Frame | None:
    found = _MXPGN(_body(text))
    if not found:
        return None
    attributes, data = int(found[2], 16), bytes.fromhex(found[3])[::-1]  # the last byte comes first
    if attributes >> 8 & 0xF != len(data):
        return None
    return _checked(int(found[1], 16), attributes & 0xFF, data, None, True)


def _in_pdgy(text: str) -> Frame | None:
    found = _PDGY(text)
    if not found:
        return None
    try:
        data = base64.b64decode(found[5], validate=True)
    except binascii.Error:
        return None
    return _checked(int(found[1]), int(found[3]), data, True) if int(found[4]) <= 255 else None


_WRAPPED: dict[str, Callable[[str], Frame | None]] = {"$PCDIN,": _in_pcdin, "$MXPGN,": _in_mxpgn, "!PDGY,": _in_pdgy}
