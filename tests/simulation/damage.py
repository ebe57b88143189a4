"""What lies below SQLite: pages torn by a loss of power, and files that may not grow any more.

No library stands between: SQLite is the one that runs on the water, and the system itself refuses its writes.
"""

from __future__ import annotations

import contextlib
import random
import struct
from collections.abc import Iterator
from pathlib import Path

try:
    import resource
except ImportError:  # Windows has no such limit: files grow there
    resource = None  # type: ignore[assignment]

HEADER, FRAME = 32, 24  # bytes of a write-ahead log's header and of each frame's (SQLite's file format, section 4)
SECTOR = 512  # bytes that a disk writes whole


def tear(book: Path, rng: random.Random) -> int:
    """Leave a database as a loss of power may; returns how many pages are torn.

    The power went while a checkpoint copied pages, and while the next transaction was written: of pages that the log
    holds, the database has halves; behind the log's last commit lies a part of a frame. The index was in memory.
    """
    Path(f"{book}-shm").unlink(missing_ok=True)
    log = Path(f"{book}-wal")
    size, pages, end = committed(log)
    with book.open("r+b") as file:
        whole = file.seek(0, 2) // size if size else 0
        torn = [page for page in sorted(pages) if page <= whole and rng.random() < 0.5]
        for page in torn:
            kept = rng.randrange(SECTOR, size, SECTOR)
            file.seek((page - 1) * size + kept)
            file.write(rng.randbytes(size - kept))
    if end:
        with log.open("r+b") as file:
            file.seek(HEADER if end == HEADER else end - FRAME - size)
            begun = file.read(FRAME)
            file.seek(end)
            file.write((begun + rng.randbytes(size))[: rng.randrange(FRAME + size)])
    return len(torn)


def committed(log: Path) -> tuple[int, set[int], int]:
    """Of a write-ahead log: size of a page, pages of its committed frames, and where the last of these ends."""
    data = log.read_bytes() if log.exists() else b""
    if len(data) < HEADER:
        return 0, set(), 0
    _, _, size, _, *salts = struct.unpack(">6I", data[:24])
    pages: set[int] = set()
    waiting: set[int] = set()
    end = at = HEADER
    while at + FRAME + size <= len(data):
        page, commit, *own = struct.unpack(">4I", data[at : at + 16])
        if own != salts:
            break
        at += FRAME + size
        waiting.add(page)
        if commit:
            pages |= waiting
            waiting, end = set(), at
    return size, pages, end


@contextlib.contextmanager
def from_outside() -> Iterator[None]:
    """What is done meanwhile is not done by the process whose files may not grow."""
    before = None if resource is None else resource.getrlimit(resource.RLIMIT_FSIZE)[0]
    let_files_grow_to(None)
    try:
        yield
    finally:
        let_files_grow_to(before)


def let_files_grow_to(size: int | None) -> None:
    """From now on no write of this process goes beyond ``size`` bytes of any file; None: as before.

    A write that crosses it is cut off there, and the next one fails.
    """
    if resource is not None:
        hard = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
        resource.setrlimit(resource.RLIMIT_FSIZE, (hard if size is None else size, hard))
