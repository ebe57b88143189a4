"""Reads messages that come decoded, as canboat's JSON: one object per line, fields by their names in the standard.

A head line (``{"version": …, "units": "std" | "si"}``) gives the units. Without it they are degrees and degrees
Celsius, unless the user says that the source is SI.
"""

from __future__ import annotations

import json
import math
import re
from dataclasses import dataclass
from datetime import date
from typing import Any

from sternwatch.feed.n2k.payloads import Fields

_ANGLES = ("heading", "deviation", "variation", "cog")
_WARMTHS = ("watertemperature", "actualtemperature", "temperature")
_ZERO_C_K = 273.15
_DATE = re.compile(r"(\d{4})[.-](\d\d)[.-](\d\d)", re.ASCII).fullmatch
_TIME = re.compile(r"(\d\d):(\d\d):(\d\d(?:\.\d{1,9})?)", re.ASCII).fullmatch


@dataclass(frozen=True, slots=True)
class Head:
    """The line before the first message."""

    si: bool


@dataclass(frozen=True, slots=True)
class Decoded:
    """A message with its fields in SI."""

    pgn: int
    source: int
    fields: Fields


def parse(text: str, si: bool) -> Head | Decoded | None:
    """The head line or message in a line of JSON; None where it is neither."""
    try:
        given = json.loads(text)
    except (ValueError, RecursionError):
        return None
    if not isinstance(given, dict):
        return None
    if "pgn" not in given and "units" in given:
        return Head(given["units"] == "si")
    pgn, source, named = given.get("pgn"), given.get("src"), given.get("fields")
    if not isinstance(pgn, int) or not isinstance(source, int) or not isinstance(named, dict):
        return None
    if not 0 <= source <= 255:
        return None
    found = Fields({}, {}, {})
    for name, value in named.items():
        _put(found, "".join(c for c in name.lower() if c.isalnum()), value, si)
    return Decoded(pgn, source, found)


def _put(found: Fields, name: str, value: Any, si: bool) -> None:
    if isinstance(value, dict):  # a lookup: its word with its number
        code = value.get("value")
        if isinstance(code, int):
            found.codes[name] = code
        value = value.get("name", code)
    if isinstance(value, str):
        number = _moment(name, value)
        if number is None:
            found.labels[name] = value
        else:
            found.numbers[name] = number
    elif isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        found.numbers[name] = float(value) if si else _si(name, float(value))


def _moment(name: str, text: str) -> float | None:
    """A date as days since 1970, a time as seconds since midnight."""
    day, time = _DATE(text), _TIME(text)
    try:
        if name == "date" and day:
            return float((date(int(day[1]), int(day[2]), int(day[3])) - date(1970, 1, 1)).days)
    except ValueError:
        return None
    if name == "time" and time:
        return int(time[1]) * 3600 + int(time[2]) * 60 + float(time[3])
    return None


def _si(name: str, value: float) -> float:
    if name in _ANGLES:
        return math.radians(value)
    return value + _ZERO_C_K if name in _WARMTHS else value
