"""Turns quantities as people write them into a file's form: ``9'6"``, ``9 1/2 feet``, ``9,5`` become ``9.5 ft``."""

from __future__ import annotations

import re

from sternwatch.gear.values.units import SPOKEN, UNITS, Dimension

_PARTS = str.maketrans({"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "′": "'", "’": "'", "″": '"', "”": '"', ",": "."})
_NUMBER = r"(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_MIXED = rf"(?:\d+\s+\d+/[1-9]\d*|\d+/[1-9]\d*|{_NUMBER})"
_FEET_INCHES = re.compile(rf"({_MIXED})\s*(?:'|ft|feet|foot)\s*({_MIXED})\s*(?:\"|''|in|inch|inches)?", re.IGNORECASE)
_EITHER = re.compile(r"\d,\d{3}(?!\d)")
_PULL = {"lb": "lbf", "kg": "kgf"}  # nobody says pound-force
_ONE = re.compile(rf"([+-]?)\s*({_MIXED})\s*(\S.*)?")


def as_written(text: str, dimension: Dimension, unit: str) -> str:
    """The same quantity as ``"number unit"``. A bare number gets ``unit``.

    Text that is no quantity comes back unchanged: its next reader says what is wrong with it. So does "1,000", which
    may mean a thousand or one.
    """
    if _EITHER.search(text):
        return text
    plain = " ".join(text.translate(_PARTS).split())
    if dimension is Dimension.LENGTH and (both := _FEET_INCHES.fullmatch(plain)) is not None:
        return f"{_number(both[1]) + _number(both[2]) / 12.0:.10g} ft"
    one = _ONE.fullmatch(plain)
    if one is None:
        return text
    symbol = one[3] or unit
    if symbol not in UNITS:
        symbol = SPOKEN.get(symbol.lower(), symbol)
    if dimension is Dimension.FORCE:
        symbol = _PULL.get(symbol, symbol)
    number = one[2] if "/" not in one[2] else f"{_number(one[2]):.10g}"
    return f"{one[1]}{number} {symbol}"


def _number(mixed: str) -> float:
    """The value of "9", "9.5", "1/2" or "9 1/2"."""
    whole, _, part = mixed.rpartition(" ") if "/" in mixed else (mixed, "", "")
    value = float(whole or 0.0)
    if part:
        above, below = part.split("/")
        value += float(above) / float(below)
    return value
