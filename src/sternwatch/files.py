"""Writes a user's file whole: after a crash it is the old or the new one, never half of either.

Also what each system does in its own way to a file: syncing it, moving it over another, removing it.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

EARLIER = "earlier"
"""The folder beside a file that holds its earlier versions, oldest first by name."""
KEPT = 50

# While another program looks at a file, for viruses or to list it, Windows neither moves nor removes it.
_HELD = (5, 32, 33)  # what Windows says then: access denied, a sharing violation, a lock
_WAITS_S = (0.01, 0.03, 0.06, 0.1, 0.2, 0.3, 0.3)

if sys.platform == "darwin":
    import fcntl

    def _full_sync(fd: int) -> None:
        fcntl.fcntl(fd, fcntl.F_FULLFSYNC)  # fsync there leaves it in the drive's own memory

else:

    def _full_sync(fd: int) -> None:
        os.fsync(fd)


def to_disk(fd: int) -> None:
    """Wait until the disk has what was written to an open file. Raises ``OSError``."""
    try:
        _full_sync(fd)
    except OSError as fault:
        if fault.errno not in (errno.EINVAL, errno.ENOTSUP, errno.ENOTTY):
            raise
        os.fsync(fd)  # a drive of the network, for one, knows no other


def move(unfinished: Path, path: Path) -> None:
    """Give a finished file its name, in the place of one that has it. Raises ``OSError``."""
    _patiently(lambda: unfinished.replace(path))


def remove(path: Path) -> None:
    """Remove a file; it may be gone already. Raises ``OSError``."""
    _patiently(lambda: path.unlink(missing_ok=True))


def _patiently(act: Callable[[], object]) -> None:
    for wait_s in _WAITS_S:
        try:
            act()
            return
        except PermissionError as fault:
            if getattr(fault, "winerror", None) not in _HELD:
                raise
        time.sleep(wait_s)
    act()


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, unless it is there. Raises ``OSError``.

    Where a file is in the way, or a link to a stick that is pulled out, systems say that it is there already.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        nowhere = any(part.is_symlink() and not part.exists() for part in (folder, *folder.parents))
        why = errno.ENOLINK if nowhere else errno.ENOTDIR
        raise OSError(why, os.strerror(why), str(folder)) from None


def write_whole(path: Path, text: str, *, keep: bool = False) -> Path | None:
    """Write ``text`` to a file beside ``path``, sync it, then move it to ``path`` in one step.

    With ``keep``, the old file goes to the folder ``EARLIER`` beside it, named by the moment of this writing. Returns
    its path there, or None where there was no old file or nothing changed. Deletes the oldest beyond ``KEPT``.
    Raises ``OSError``; then the old file stays unchanged.
    """
    make_folder(path.parent)
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "is not a plain file", str(path))
    before = path.read_bytes() if path.exists() else None
    data = text.encode("utf-8")
    if data == before:
        return None
    kept = _keep(path, before) if keep and before is not None else None
    _replace(path, data)
    return kept


def write_bytes(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` as ``write_whole`` writes text. Raises ``OSError``; then the old file stays."""
    make_folder(path.parent)
    _replace(path, data)


def earlier(path: Path) -> list[Path]:
    """The kept earlier versions of ``path``, newest first."""
    named = re.compile(rf"{re.escape(path.stem)} \d{{4}}-\d\d-\d\d \d{{6}}\.\d{{6}}{re.escape(path.suffix)}")
    folder = path.parent / EARLIER
    return sorted((p for p in folder.iterdir() if named.fullmatch(p.name)), reverse=True) if folder.is_dir() else []


def _keep(path: Path, before: bytes) -> Path:
    folder = path.parent / EARLIER
    folder.mkdir(exist_ok=True)
    stamp = datetime.now(UTC).strftime("%Y-%m-%d %H%M%S.%f")
    kept = folder / f"{path.stem} {stamp}{path.suffix}"
    _replace(kept, before)
    for old in earlier(path)[KEPT:]:
        old.unlink(missing_ok=True)
    return kept


def _replace(path: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            to_disk(stream.fileno())
        if path.exists():
            shutil.copymode(path, beside)
        move(beside, path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    with contextlib.suppress(OSError):  # not every system can sync a folder; the file itself is on the disk
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
