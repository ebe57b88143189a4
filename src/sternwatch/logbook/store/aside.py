"""Keeps entries in a journal while the logbook cannot take them: one JSON object per line, on the disk at once."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from sternwatch.files import move, remove, to_disk
from sternwatch.reading import UnreadableError, json_of, read_bytes

_LARGEST_BYTES = 256 << 20


class Aside:
    """A journal beside the logbook. Any call may raise OSError: then it did nothing."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.unread = path.with_name(path.name + ".unread")

    def append(self, entries: Sequence[dict[str, Any]]) -> None:
        """Write the entries and wait until the disk has them."""
        new = not self.path.exists()
        handle = os.open(self.path, os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o644)
        with os.fdopen(handle, "r+b", buffering=0) as file:
            data = "".join(json.dumps(entry) + "\n" for entry in entries).encode("ascii")
            if file.seek(0, os.SEEK_END) > 0:
                file.seek(-1, os.SEEK_END)
                if file.read(1) != b"\n":
                    data = b"\n" + data  # a line that a crash cut off must not join the next one
            while data:
                data = data[file.write(data) :]
            to_disk(file.fileno())
        if new:
            _sync_folder(self.path.parent)

    def read(self) -> tuple[list[dict[str, Any]], list[bytes]]:
        """The entries in order, and the lines that are no entries (a crash cut them off before acknowledgement)."""
        try:
            data = read_bytes(self.path, _LARGEST_BYTES)
        except FileNotFoundError:
            return [], []
        except UnreadableError:
            self._put_away()  # that file is no journal: keep it and begin a new one
            return [], []
        entries: list[dict[str, Any]] = []
        bad: list[bytes] = []
        for line in data.split(b"\n"):
            if not line.strip():
                continue
            try:
                entry = json_of(line)
            except UnreadableError:
                bad.append(line)
                continue
            if isinstance(entry, dict):
                entries.append(entry)
            else:
                bad.append(line)
        return entries, bad

    def _put_away(self) -> None:
        for number in range(1, 100):
            kept = self.unread.with_name(f"{self.unread.name}.{number}")
            if not os.path.lexists(kept):
                with contextlib.suppress(OSError):  # then writing fails too, and the first entry reports it
                    move(self.path, kept)
                return

    def clear(self, bad: Sequence[bytes] = ()) -> None:
        """Forget the entries that the logbook has stored. Lines that could not be read go to a file beside it."""
        if bad:
            with self.unread.open("ab") as file:
                file.writelines(line + b"\n" for line in bad)
                file.flush()
                to_disk(file.fileno())
        remove(self.path)
        _sync_folder(self.path.parent)


def _sync_folder(folder: Path) -> None:
    """Sync the folder, without which a new or removed name is not durable. Windows neither has nor needs this."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
