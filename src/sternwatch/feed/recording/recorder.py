"""Records every line as received, with a stamp, before anything else uses it.

One thread writes, so that a slow or full disk never holds up the watch. Another makes the file durable once a second.
Lines that cannot be written wait in memory, up to a bound, until there is room.
"""

from __future__ import annotations

import errno
import os
import stat
import threading
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from sternwatch.feed.readings import Declared, Line
from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.files import make_folder, to_disk
from sternwatch.system_words import reason

_WAITS_BYTES = 32 << 20  # several hours of a busy feed
_SYNC_S = 1.0
_RETRY_S = 1.0
_BATCH = 4096


@dataclass(frozen=True, slots=True)
class RecorderStatus:
    """The state of the recording. ``error`` is a sentence while something is wrong, else empty."""

    path: Path
    lines: int  # lines taken
    written_bytes: int
    waiting_bytes: int
    lost_lines: int  # lines lost because the disk had no room for too long
    error: str


class Recorder:
    """Records to ``path``, after anything already there. Never raises because of the disk.

    Parameters
    ----------
    sources
        What the user said about each. It is written before the first line of every file.
    """

    def __init__(self, path: Path, sources: Iterable[Declared] = (), *, waits_bytes: int = _WAITS_BYTES) -> None:
        self._path = path
        self._sources = tuple(sources)
        self._declare = True
        self._declared = b""  # what stands at the beginning of the newest file
        self._limit = waits_bytes
        self._waiting: deque[bytes | Path] = deque()
        self._waiting_bytes = 0
        self._lines = self._lost = self._written = 0
        self._error = ""
        self._unsafe = ""  # the last sync failed: what a write says in between does not take that back
        self._removed = ""
        self._fd: int | None = None
        self._unsynced = False
        self._unsure: list[tuple[int, Path]] = []  # earlier files whose last sync failed: still open, and tried again
        self._closing = False
        self._something = threading.Condition()
        self._closed = threading.Event()
        self._writer = threading.Thread(target=self._write_all, name="recorder", daemon=True)
        self._syncer = threading.Thread(target=self._sync_all, name="recorder sync", daemon=True)
        self._writer.start()
        self._syncer.start()

    def record(self, line: Line) -> None:
        """Take one line. Returns at once."""
        with self._something:
            self._lines += 1
            if not self._take(tagblock.write(line), line.t_s, line.unix_ms):
                self._lost += 1

    def silent(self, t_s: float, unix_ms: int) -> None:
        """Note that the feed has come to a moment without a line, so that a later run begins after it."""
        with self._something:
            self._take(tagblock.silence(t_s, unix_ms), t_s, unix_ms)

    def _take(self, data: bytes, t_s: float, unix_ms: int | None) -> bool:
        """Let it wait for the writer; whether there was room."""
        if self._declare:
            self._declared = b"".join(tagblock.declare(source, t_s, unix_ms) for source in self._sources)
            data = self._declared + data
        if self._waiting_bytes + len(data) > self._limit:
            return False
        self._declare = False
        self._waiting.append(data)
        self._waiting_bytes += len(data)
        self._something.notify()
        return True

    def rotate(self, path: Path) -> None:
        """Continue in another file after the last line taken so far."""
        with self._something:
            self._waiting.append(path)
            self._declare = True
            self._something.notify()

    @property
    def status(self) -> RecorderStatus:
        """The present state."""
        with self._something:
            return RecorderStatus(self._path, self._lines, self._written, self._waiting_bytes, self._lost, self.error)

    @property
    def error(self) -> str:
        """Why lines are not in the file, in a sentence; empty where they are. Every pass of a session asks."""
        error = self._error or self._unsafe or self._removed
        if not self._lost:
            return error
        lost = f"{self._lost} lines of the feed could not be recorded"
        return f"{error}; {lost}" if error else lost

    def close(self, timeout_s: float = 5.0) -> None:
        """Write the waiting lines, make them durable, and close the file."""
        with self._something:
            self._closing = True
            self._something.notify()
        self._writer.join(timeout_s)
        self._closed.set()
        self._syncer.join(timeout_s)
        for fd, _ in self._take_unsure():
            os.close(fd)

    def _write_all(self) -> None:
        rest = b""
        while True:
            with self._something:
                while not (rest or self._waiting or self._closing):
                    self._something.wait()
                if not rest and not self._waiting:
                    break
                following: Path | None = None
                batch = [rest]
                while self._waiting and len(batch) < _BATCH:
                    item = self._waiting.popleft()
                    if isinstance(item, Path):
                        following = item
                        break
                    batch.append(item)
            rest = self._write(b"".join(batch))
            if rest:
                if following is not None:
                    with self._something:
                        self._waiting.appendleft(following)
                if self._closing:
                    break
                with self._something:
                    self._something.wait(_RETRY_S)
            elif following is not None:
                self._let_go()
                self._path = following
        self._let_go()

    def _write(self, data: bytes) -> bytes:
        """Write as much as possible. The rest is written later, from the next byte on."""
        if not data:
            return data
        try:
            if self._fd is not None and os.fstat(self._fd).st_nlink == 0:
                self._let_go()
                data = self._begun_anew(data)
            if self._fd is None:
                self._fd = self._open()
            while data:
                n = os.write(self._fd, data)
                data = data[n:]
                with self._something:
                    self._written += n
                    self._waiting_bytes = max(self._waiting_bytes - n, 0)
                self._unsynced = True
            self._error = ""
        except OSError as error:
            self._error = self._sentence(error, self._path)
        return data

    def _begun_anew(self, data: bytes) -> bytes:
        """What the file in the place of a removed one begins with: without its sources nobody could read it."""
        with self._something:  # told and counted at once
            self._removed = f"the recording {self._path} was removed while it was being written, and begun anew"
            self._waiting_bytes += len(self._declared)
            return self._declared + data

    def _open(self) -> int:
        make_folder(self._path.parent)
        fd = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o644)
        if stat.S_ISFIFO(os.fstat(fd).st_mode):  # it fills, and then its writer waits
            os.close(fd)
            raise OSError(errno.EINVAL, "is not a plain file")
        # First end a line that a crash cut off, so that it spoils only itself.
        try:
            if os.fstat(fd).st_size:
                os.lseek(fd, -1, os.SEEK_END)
                if os.read(fd, 1) != b"\n":
                    os.write(fd, b"\r\n")
        except OSError:
            os.close(fd)
            raise
        return fd

    def _sync_all(self) -> None:
        while not self._closed.wait(_SYNC_S):
            self._sync()

    def _sync(self) -> None:
        files, fd = self._take_unsure(), self._fd
        if fd is not None and self._unsynced:
            self._unsynced = False
            files.append((fd, self._path))
        if not files:
            return
        unsafe = ""
        for file, path in files:
            try:
                to_disk(file)
            except OSError as error:
                # Devices that cannot sync say EINVAL. Whoever closes the file at this moment syncs it.
                if error.errno not in (errno.EINVAL, errno.EBADF):
                    unsafe = self._sentence(error, path)
                    if file == fd:
                        self._unsynced = True
                    else:
                        self._keep_unsure(file, path)
                    continue
            if file != fd:
                os.close(file)
        self._unsafe = unsafe

    def _keep_unsure(self, fd: int, path: Path) -> None:
        with self._something:
            self._unsure.append((fd, path))

    def _take_unsure(self) -> list[tuple[int, Path]]:
        with self._something:
            unsure, self._unsure = self._unsure, []
        return unsure

    def _let_go(self) -> None:
        fd, self._fd = self._fd, None
        if fd is None:
            return
        try:
            to_disk(fd)
        except OSError as error:
            if error.errno != errno.EINVAL:
                self._unsafe = self._sentence(error, self._path)
                self._keep_unsure(fd, self._path)
                return
        os.close(fd)

    @staticmethod
    def _sentence(error: OSError, path: Path) -> str:
        if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
            return f"the feed is not recorded: no room left on the disk for {path}; the watch goes on"
        return f"the feed is not recorded: {path}: {reason(error)}; the watch goes on"
