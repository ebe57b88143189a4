"""A spread file being edited. Every change is checked first, and can be undone.

The text decides: comments and layout stay as typed where no change touches them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from sternwatch.gear.editing.edits import EditError
from sternwatch.gear.spread_file.load import read_text, read_toml, spread_from
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.rules import NO_ROD
from sternwatch.gear.values.faults import Fault, SpreadError
from sternwatch.reading import is_there

NEW = """# A spread: what hangs from every rod. Lengths and weights are text with their unit.

[boat]
name = "my boat"

[water]
temperature = "50 degF"
"""
_MOST_STEPS = 500


@dataclass(frozen=True, slots=True)
class _Step:
    text: str
    words: str


class SpreadDocument:
    """The file in its present state. It is always valid, except that it may have no rod yet.

    ``spread`` is None while there is no rod. Raises :class:`SpreadError` at the start if the file itself is wrong.
    """

    def __init__(self, text: str, path: Path | str = "spread") -> None:
        self.path = Path(path)
        self._done: list[_Step] = []
        self._undone: list[_Step] = []
        self.text = ""
        self.tables: dict[str, Any] = {}
        self.spread: Spread | None = None
        if (wrong := self._take(text)) is not None:
            raise wrong
        self.saved_text = text
        self.fault: Fault | None = None  # why the last change was refused: the fault it would have made

    @classmethod
    def open(cls, path: Path) -> SpreadDocument:
        """The document of a file; a new one where the file does not exist."""
        if is_there(path):
            return cls(read_text(path), path)
        made = cls(NEW, path)
        made.saved_text = ""
        return made

    @property
    def changed(self) -> bool:
        """Whether the text differs from the file on the disk."""
        return self.text != self.saved_text

    @property
    def steps(self) -> tuple[bool, bool]:
        """Whether there is anything to undo, and to redo."""
        return bool(self._done), bool(self._undone)

    def change(self, words: str, edit: Callable[[tomlkit.TOMLDocument], None]) -> str:
        """Make an edit. Returns "", or a sentence that says why not; then nothing changes."""
        text, why = self._edited(self.text, edit)
        return why or self.replace(words, text)

    def amend(self, words: str, base: str, edit: Callable[[tomlkit.TOMLDocument], None]) -> str:
        """As :meth:`change`, but edits the text ``base`` and replaces the last amendment of ``base``.

        So a value takes effect while it is typed, and still counts as one change.
        """
        text, why = self._edited(base, edit)
        why = why or self._refused(text)
        if why:
            return why
        if self._done and self._done[-1] == _Step(base, words):
            self._done.pop()
        if text != base:
            self._done = [*self._done[-_MOST_STEPS:], _Step(base, words)]
            self._undone.clear()
        return ""

    def replace(self, words: str, text: str) -> str:
        """As :meth:`change`, but replaces the whole text."""
        before = self.text
        if why := self._refused(text):
            return why
        if text == before:
            return ""
        self._done = [*self._done[-_MOST_STEPS:], _Step(before, words)]
        self._undone.clear()
        return ""

    def _edited(self, text: str, edit: Callable[[tomlkit.TOMLDocument], None]) -> tuple[str, str]:
        """The text after an edit, and why it failed ("" where it did not)."""
        self.fault = None
        # Without an end to the last line a new table would run into it.
        try:
            document = tomlkit.parse(text if text.endswith("\n") else f"{text}\n")
            edit(document)
            return document.as_string(), ""
        except (EditError, TOMLKitError) as wrong:
            return text, str(wrong)

    def _refused(self, text: str) -> str:
        """Take a text. Returns why it is refused, or ""."""
        wrong = self._take(text) if text != self.text else None
        self.fault = wrong.faults[0] if wrong is not None else None
        return "" if self.fault is None else self.fault.sentence()

    def undo(self) -> str:
        """Undo the newest change. Returns its words, "" if there is none."""
        return self._back(self._done, self._undone)

    def redo(self) -> str:
        """Redo the last change undone. Returns its words, "" if there is none."""
        return self._back(self._undone, self._done)

    def _back(self, of: list[_Step], onto: list[_Step]) -> str:
        if not of:
            return ""
        step = of.pop()
        onto.append(_Step(self.text, step.words))
        self._take(step.text)
        return step.words

    def _take(self, text: str) -> SpreadError | None:
        """Make ``text`` the document's text. Returns its fault where it has one; then nothing changes."""
        tables: dict[str, Any] = {}
        try:
            tables = read_toml(text, self.path)
            spread: Spread | None = spread_from(tables, self.path)
        except SpreadError as wrong:
            if any(fault.reason != NO_ROD for fault in wrong.faults):
                return wrong
            spread = None
        self.text, self.spread, self.tables = text, spread, tables
        return None
