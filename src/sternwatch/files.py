"""Writes a user's file whole: after a crash it is the old one or the new one, never half of either."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import shutil
import tempfile
from datetime import UTC, datetime
from pathlib import Path

EARLIER = "earlier"
"""The folder beside a file that holds its earlier versions, oldest first by name."""
KEPT = 50


def write_whole(path: Path, text: str, *, keep: bool = False) -> Path | None:
    """Write ``text`` to ``path``: beside it first, synced, then put in its place in one step.

    With ``keep``, what stood there before goes to the folder ``EARLIER`` beside it, named by the moment of this
    writing, and its path is returned; the oldest beyond ``KEPT`` go. None where there was nothing to keep,
    or nothing changed. Raises ``OSError``; the old file is then as it was.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "is no plain file", str(path))
    before = path.read_bytes() if path.exists() else None
    data = text.encode("utf-8")
    if data == before:
        return None
    kept = _keep(path, before) if keep and before is not None else None
    _replace(path, data)
    return kept


def write_bytes(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path`` whole, as ``write_whole`` does text. Raises ``OSError``; the old file stands."""
    path.parent.mkdir(parents=True, exist_ok=True)
    _replace(path, data)


def earlier(path: Path) -> list[Path]:
    """The earlier versions of ``path`` that are kept, the newest first."""
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
            os.fsync(stream.fileno())
        if path.exists():
            shutil.copymode(path, beside)
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    with contextlib.suppress(OSError):  # a folder cannot be synced on every system; the file itself is on the disk
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
