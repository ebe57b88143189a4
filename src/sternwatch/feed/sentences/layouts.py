"""The only module that uses the sentence library. The library knows the layouts; we read the fields strictly.

We take only the places of named fields, never the library's conversions: there a field that fails comes back as
text, an empty hemisphere gives latitude 0.0, and ``nan`` passes.
"""

from __future__ import annotations

import re

import pynmea2

_TALKER = re.compile(r"(?!p)\w\w", re.ASCII | re.IGNORECASE).fullmatch  # P begins a private sentence


class UnreadableError(ValueError):
    """A line has a correct checksum, or needs none, and still is no sentence."""


class Sentence:
    """One parsed sentence: raw text by field name, empty where the sentence is too short for the field."""

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
        """Whether the sentence is long enough for the field (older standards have fewer)."""
        return self._index[name] < len(self._data)

    @property
    def values(self) -> list[str]:
        """All fields in order."""
        return self._data


# The library has no layout for depth below keel; its fields are in DBT's order (IEC 61162-1).
_KEEL = {"depth_feet": 0, "unit_feet": 1, "depth_meters": 2, "unit_meters": 3, "depth_fathoms": 4, "unit_fathoms": 5}


def parse(body: str) -> Sentence:
    """Parse ``body``: the sentence without ``$`` and without its checksum, which the caller has verified.

    Raises
    ------
    UnreadableError
    """
    if body[2:6] == "DBK,":
        return Sentence(body[:2], "DBK", body[6:].split(","), _KEEL)
    layout = pynmea2.TalkerSentence.sentence_types.get(body[2:5])
    if layout is None or body[5:6] != "," or _TALKER(body[:2]) is None:
        raise UnreadableError("not a talker sentence")
    return Sentence(body[:2].upper(), body[2:5], body[6:].split(","), layout.name_to_idx)
