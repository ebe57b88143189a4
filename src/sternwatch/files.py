"""Writes a user's file whole: after a crash it is the old or the new one, never half of either."""

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
    """Write ``text`` to a file beside ``path``, sync it, then move it to ``path`` in one step.

    With ``keep``, the old file goes to the folder ``EARLIER`` beside it, named by the moment of this writing. Returns
    its path there, or None where there was no old file or nothing changed. Deletes the oldest beyond ``KEPT``.
    Raises ``OSError``; then the old file stays unchanged.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
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
    path.parent.mkdir(parents=True, exist_ok=True)
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
            os.fsync(stream.fileno())
        if path.exists():
            shutil.copymode(path, beside)
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    with contextlib.suppress(OSError):  # not every system can sync a folder; the file itself is on the disk
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
