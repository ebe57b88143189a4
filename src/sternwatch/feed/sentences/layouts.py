"""The only place where the sentence library is touched: it knows the layouts, we read the fields strictly.

Its own conversions are never used (a field that fails them comes back as text, an empty hemisphere as latitude
0.0, ``nan`` passes); only the raw text of a named field is taken.
"""

from __future__ import annotations

from typing import Any

import pynmea2


class UnreadableError(ValueError):
    """A line that has a right checksum, or needs none, and still is no sentence."""


class Sentence:
    """One parsed sentence: raw text by field name, empty where the sentence is too short for it."""

    __slots__ = ("_data", "_index", "formatter", "talker")

    def __init__(self, talker: str, formatter: str, data: list[str], index: dict[str, int]) -> None:
        self.talker = talker
        self.formatter = formatter
        self._data = data
        self._index = index

    def __getitem__(self, name: str) -> str:
        i = self._index[name]
        return self._data[i] if i < len(self._data) else ""

    def has(self, name: str) -> bool:
        """Whether the sentence is long enough to hold the field (older standards have fewer)."""
        return self._index[name] < len(self._data)

    @property
    def values(self) -> list[str]:
        """All fields in order."""
        return self._data


# Depth below keel has no layout in the library; the field order is that of DBT (IEC 61162-1).
_KEEL = {"depth_feet": 0, "unit_feet": 1, "depth_meters": 2, "unit_meters": 3, "depth_fathoms": 4, "unit_fathoms": 5}


def parse(body: str) -> Sentence:
    """Parse ``body`` (without ``$`` and checksum, which is verified before).

    Raises
    ------
    UnreadableError
    """
    if body[2:6] == "DBK,":
        return Sentence(body[:2], "DBK", body[6:].split(","), _KEEL)
    try:
        message: Any = pynmea2.parse(body)
    except (ValueError, IndexError, TypeError, OverflowError) as error:
        raise UnreadableError(str(error)) from error
    if not isinstance(message, pynmea2.TalkerSentence):
        raise UnreadableError("no talker sentence")
    return Sentence(message.talker, message.sentence_type, message.data, type(message).name_to_idx)
