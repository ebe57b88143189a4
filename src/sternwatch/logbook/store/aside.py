"""Keeps entries in a journal while the logbook cannot take them: one JSON object a line, on the disk at once."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from sternwatch.reading import UnreadableError, json_of, read_bytes

_LARGEST_BYTES = 256 << 20


class Aside:
    """A journal beside the logbook. OSError from any call means that it could not be done."""

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
                    data = b"\n" + data  # a line torn by a crash must not swallow the next one
            while data:
                data = data[file.write(data) :]
            os.fsync(file.fileno())
        if new:
            _sync_folder(self.path.parent)

    def read(self) -> tuple[list[dict[str, Any]], list[bytes]]:
        """The entries in order, and the lines that are none (torn by a crash before they were acknowledged)."""
        try:
            data = read_bytes(self.path, _LARGEST_BYTES)
        except FileNotFoundError:
            return [], []
        except UnreadableError:
            self._put_away()  # what is there is no journal: it stays as it is, and a new one can begin
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
                with contextlib.suppress(OSError):  # nor can it be written then, which is said with the first entry
                    self.path.rename(kept)
                return

    def clear(self, bad: Sequence[bytes] = ()) -> None:
        """Forget what the logbook has taken in; lines that could not be read are kept in a file beside it."""
        if bad:
            with self.unread.open("ab") as file:
                file.writelines(line + b"\n" for line in bad)
                file.flush()
                os.fsync(file.fileno())
        self.path.unlink(missing_ok=True)
        _sync_folder(self.path.parent)


def _sync_folder(folder: Path) -> None:
    """A new or removed name is durable only when its folder is; Windows has no such call and needs none."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
