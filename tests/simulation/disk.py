"""The shim below the logbook and the recorder: calls of the system and of SQLite that fail as a disk does."""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from simulation.clockwork import Clockwork, Killed

WRITES = ("INSERT", "UPDATE", "DELETE", "BEGIN", "COMMIT", "CREATE", "DROP")
SQLITE = {
    errno.ENOSPC: (sqlite3.SQLITE_FULL, "SQLITE_FULL", "database or disk is full"),
    errno.EIO: (sqlite3.SQLITE_IOERR, "SQLITE_IOERR", "disk I/O error"),
    errno.EROFS: (sqlite3.SQLITE_READONLY, "SQLITE_READONLY", "attempt to write a readonly database"),
}


class Disk:
    """How the disk is now. ``ails``: an errno while every write fails; ``fails``: how many of the next writes do."""

    def __init__(self, clockwork: Clockwork) -> None:
        self.clockwork = clockwork
        self.ails: int | None = None
        self.fails = 0
        self.syncs_fail = False
        self.dies_in = 0  # writes until the process dies before one; 0: it does not
        self.die: Callable[[], bool] = lambda: False  # whether it did
        self.slow_s = 0.0
        self.writes = self.failed = 0
        self.synced: dict[Path, int] = {}  # how much of a file outlives a loss of power

    def write(self) -> int | None:
        """Before any write: how it fails, if it does."""
        self.writes += 1
        if self.slow_s > 0.0:
            self.clockwork.wait(None, self.slow_s)
        if self.dies_in:
            self.dies_in -= 1
            if not self.dies_in:
                if self.die():
                    raise Killed
                self.dies_in = 1
        ailing = self.ails
        if ailing is None and self.fails > 0:
            self.fails -= 1
            ailing = errno.EIO
        self.failed += ailing is not None
        return ailing


class Os:
    """What the recorder and the journal take for the module ``os``."""

    def __init__(self, disk: Disk) -> None:
        self._disk = disk
        self._paths: dict[int, Path] = {}

    def __getattr__(self, name: str) -> Any:
        return getattr(os, name)

    def open(self, path: Any, flags: int, mode: int = 0o777) -> int:
        if flags & os.O_CREAT and (ailing := self._disk.write()) is not None:
            raise OSError(ailing, os.strerror(ailing), str(path))
        if not Path(path).exists():  # another file of that name is gone
            self._disk.synced.pop(Path(path), None)
        fd = os.open(path, flags, mode)
        self._paths[fd] = Path(path)
        return fd

    def write(self, fd: int, data: bytes) -> int:
        if (ailing := self._disk.write()) is not None:
            raise OSError(ailing, os.strerror(ailing))
        # A write may take less than it was given; the rest must follow.
        some = (
            self._disk.clockwork.rng.randrange(1, len(data) + 1) if self._disk.clockwork.rng.random() < 0.05 else None
        )
        return os.write(fd, data[:some])

    def fsync(self, fd: int) -> None:
        if (ailing := self._disk.write()) is not None or self._disk.syncs_fail:
            ailing = ailing or errno.EIO
            raise OSError(ailing, os.strerror(ailing))
        if fd in self._paths:
            self._disk.synced[self._paths[fd]] = os.fstat(fd).st_size

    def close(self, fd: int) -> None:
        self._paths.pop(fd, None)
        os.close(fd)

    def fdopen(self, fd: int, *given: Any, **more: Any) -> Any:
        disk = self._disk
        file = os.fdopen(fd, *given, **more)

        class Failing:
            def __enter__(self) -> Any:
                return self

            def __exit__(self, *_: object) -> None:
                file.close()

            def __getattr__(self, name: str) -> Any:
                return getattr(file, name)

            def write(self, data: bytes) -> int:
                if (ailing := disk.write()) is not None:
                    raise OSError(ailing, os.strerror(ailing))
                return int(file.write(data))

        return Failing()


class Sqlite:
    """What the schema takes for the module ``sqlite3``: connections whose writes fail as the disk does."""

    def __init__(self, disk: Disk) -> None:
        self._disk = disk

    def __getattr__(self, name: str) -> Any:
        return getattr(sqlite3, name)

    def connect(self, *given: Any, **more: Any) -> sqlite3.Connection:
        disk = self._disk

        class Connection(sqlite3.Connection):
            def execute(self, sql: str, *parameters: Any) -> sqlite3.Cursor:
                if sql.lstrip().upper().startswith(WRITES) and (ailing := disk.write()) is not None:
                    code, name, text = SQLITE[ailing]
                    fault = sqlite3.OperationalError(text)
                    fault.sqlite_errorcode, fault.sqlite_errorname = code, name
                    raise fault
                return super().execute(sql, *parameters)

        return sqlite3.connect(*given, **more, factory=Connection)
