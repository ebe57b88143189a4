"""Keeps a draft of the edited file after every change until it is saved, so that nothing is lost."""

from __future__ import annotations

import zlib
from pathlib import Path

from sternwatch import places
from sternwatch.files import move, remove, write_whole
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.reading import UnreadableError, read_text
from sternwatch.system_words import reason

TAKEN_UP = "changes not saved last time"


class Draft:
    """The draft of one spread file."""

    def __init__(self, path: Path) -> None:
        mark = zlib.crc32(str(path.absolute()).encode())
        self.path = places.data_dir() / "drafts" / f"{path.stem}-{mark:08x}.toml"

    def take_up(self, document: SpreadDocument) -> str:
        """Resume a draft as a change that can be undone. Returns the words to show."""
        try:
            text, wrong = read_text(self.path), ""
        except FileNotFoundError:
            return ""
        except UnreadableError as fault:
            text, wrong = "", str(fault)
        if text == document.text:
            return ""
        if wrong:
            why = f"the draft {wrong}"
        elif _newer(document.path, self.path):
            why = "the file was changed since"
        else:
            why = document.replace(TAKEN_UP, text)
        if not why:
            return f"Taken up: {TAKEN_UP}. u takes that back, s saves it."
        aside = self.path.with_suffix(".left")
        try:
            move(self.path, aside)
        except OSError:
            aside = self.path
        return f"what was left unsaved could not be taken up: {why}; it stays in {aside}"

    def keep(self, document: SpreadDocument) -> str:
        """Keep the present document while it differs from the file. Returns why that failed, or ""."""
        try:
            if document.changed:
                write_whole(self.path, document.text)
            else:
                self.forget()
        except OSError as wrong:
            return f"changed, but kept nowhere until you save: {self.path}: {reason(wrong)}"
        return ""

    def forget(self) -> None:
        """Delete the draft, because the document is saved."""
        remove(self.path)


def _newer(path: Path, than: Path) -> bool:
    try:
        return path.stat().st_mtime > than.stat().st_mtime
    except OSError:
        return False
