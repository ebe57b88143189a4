"""Allows one writer per logbook, by a lock that the operating system drops however the process ends."""

from __future__ import annotations

import os
import sys
import threading
from pathlib import Path

_held: set[Path] = set()
_guard = threading.Lock()


class LogbookBusyError(RuntimeError):
    """Another console writes this logbook. The text is a sentence for the screen."""


class WriterLock:
    """The right to write one logbook, held until ``release`` or the end of the process.

    Raises LogbookBusyError if another writer holds it, OSError if the lock file cannot be made. It is a record lock
    on POSIX (child processes do not inherit it) and a byte-range lock on Windows, so a crash leaves no stale lock.
    """

    def __init__(self, logbook: Path) -> None:
        self.path = logbook.with_name(logbook.name + ".lock").absolute()
        # A record lock does not exclude its own process, and closing any handle of the file drops it.
        with _guard:
            if self.path in _held:
                raise LogbookBusyError(_sentence(logbook, f"process {os.getpid()}"))
            handle = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o644)
            try:
                _lock(handle)
            except OSError:
                os.lseek(handle, 0, os.SEEK_SET)
                holder = os.read(handle, 40).decode("ascii", "replace").strip()
                os.close(handle)
                raise LogbookBusyError(_sentence(logbook, f"process {holder}" if holder else "another")) from None
            os.ftruncate(handle, 0)
            os.write(handle, f"{os.getpid()}\n".encode("ascii"))
            _held.add(self.path)
            self._handle: int | None = handle

    def release(self) -> None:
        """Release the lock. A second call does nothing."""
        with _guard:
            if self._handle is not None:  # else the file's number, and the lock, may be somebody else's by now
                _held.discard(self.path)
                os.close(self._handle)
                self._handle = None


def _sentence(logbook: Path, holder: str) -> str:
    return (
        f"{logbook}: another console ({holder}) is writing this logbook, so this one may not; "
        "close the other, or start this one with another data folder"
    )


if sys.platform == "win32":
    import msvcrt

    def _lock(handle: int) -> None:
        # Far behind the text: the other process could not read text in a locked range.
        os.lseek(handle, 1_048_576, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        os.lseek(handle, 0, os.SEEK_SET)

else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
