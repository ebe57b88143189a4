"""A spread file being edited: every change is checked before it counts, and can be taken back.

The text is the truth: comments and layout that no change touches stay as they were typed.
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
    """The file as it stands now, whole and valid (but that it may have no rod yet).

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
        self.fault: Fault | None = None  # why the last change was refused, where the file would have been wrong

    @classmethod
    def open(cls, path: Path) -> SpreadDocument:
        """The file's document; a new one if there is no such file yet."""
        if path.exists():
            return cls(read_text(path), path)
        made = cls(NEW, path)
        made.saved_text = ""
        return made

    @property
    def changed(self) -> bool:
        """Whether anything differs from what is on the disk."""
        return self.text != self.saved_text

    @property
    def steps(self) -> tuple[bool, bool]:
        """Whether there is anything to take back, and to do again."""
        return bool(self._done), bool(self._undone)

    def change(self, words: str, edit: Callable[[tomlkit.TOMLDocument], None]) -> str:
        """Do an edit; returns "" or the sentence that says why not, and then nothing has changed."""
        text, why = self._edited(self.text, edit)
        return why or self.replace(words, text)

    def amend(self, words: str, base: str, edit: Callable[[tomlkit.TOMLDocument], None]) -> str:
        """As :meth:`change`, from the text ``base`` on, in place of what the last amendment of ``base`` made.

        So that a value can take effect as it is typed, and still is one change.
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
        """Put another text in its place, as a change that can be taken back; as :meth:`change`."""
        before = self.text
        if why := self._refused(text):
            return why
        if text == before:
            return ""
        self._done = [*self._done[-_MOST_STEPS:], _Step(before, words)]
        self._undone.clear()
        return ""

    def _edited(self, text: str, edit: Callable[[tomlkit.TOMLDocument], None]) -> tuple[str, str]:
        """The text after an edit, or why there is none."""
        self.fault = None
        # A table more would run into a last line that does not end.
        try:
            document = tomlkit.parse(text if text.endswith("\n") else f"{text}\n")
            edit(document)
            return document.as_string(), ""
        except (EditError, TOMLKitError) as wrong:
            return text, str(wrong)

    def _refused(self, text: str) -> str:
        """Take a text; why it is refused, or ""."""
        wrong = self._take(text) if text != self.text else None
        self.fault = wrong.faults[0] if wrong is not None else None
        return "" if self.fault is None else self.fault.sentence()

    def undo(self) -> str:
        """Take the newest change back; returns what it was, "" if there is none."""
        return self._back(self._done, self._undone)

    def redo(self) -> str:
        """Do again what was taken back last; returns what it was, "" if there is none."""
        return self._back(self._undone, self._done)

    def _back(self, of: list[_Step], onto: list[_Step]) -> str:
        if not of:
            return ""
        step = of.pop()
        onto.append(_Step(self.text, step.words))
        self._take(step.text)
        return step.words

    def _take(self, text: str) -> SpreadError | None:
        """Make ``text`` the document's; its fault instead, and nothing is changed, where it has one."""
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
