"""A fault in a user's file as one sentence: file, place, field, the value given, what is accepted."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Fault:
    """``where``: empty for the file as a whole. ``given``: None where nothing was given or ``reason`` says it."""

    where: str
    field: str
    given: object
    reason: str

    def sentence(self) -> str:
        place = ", ".join(part for part in (self.where, self.field) if part)
        shown = "" if self.given is None else f" = {show(self.given)}"
        return f"{place}{shown}: {self.reason}" if place else self.reason


def printable(text: str) -> str:
    """The text as one line that a terminal can show, whatever the file holds."""
    return "".join(c if c.isprintable() else "?" for c in text)


def show(given: object, limit: int = 60) -> str:
    """A value as the file would write it, cut short where it is long."""
    if isinstance(given, bool):
        text = "true" if given else "false"
    elif isinstance(given, str):
        text = f'"{given}"'
    elif isinstance(given, dict):
        text = "a table"
    elif isinstance(given, list):
        text = "a list"
    else:
        text = str(given)
    return text if len(text) <= limit else text[: limit - 1] + "…"


class SpreadError(ValueError):
    """The spread file cannot be used. ``str()`` is one sentence: the first fault, and how many others there are."""

    def __init__(self, path: Path | str, faults: tuple[Fault, ...]) -> None:
        self.path = Path(path)
        self.faults = faults
        more = len(faults) - 1
        tail = f" ({more} more {'fault' if more == 1 else 'faults'} in this file)" if more else ""
        super().__init__(printable(f"{self.path}: {faults[0].sentence()}{tail}"))
