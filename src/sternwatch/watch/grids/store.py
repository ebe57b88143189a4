"""Imported grids on the disk: one compressed file for each, in the data folder. The user may delete any of them."""

from __future__ import annotations

import io
import json
import logging
import re
import zipfile
from dataclasses import asdict, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sternwatch.files import write_bytes
from sternwatch.places import data_dir
from sternwatch.watch.grids.made import demo_bottom
from sternwatch.watch.grids.model import About, GridError, LakeGrid
from sternwatch.watch.picture.model import Session

_log = logging.getLogger(__name__)
SUFFIX = ".bottom.npz"
MOST_KEPT_BYTES = 20_000_000
_QUANTUM_M = 0.05  # finer than any survey
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,39}")


def path_of(folder: Path, name: str) -> Path:
    """The file for a name. Raises GridError for an invalid name."""
    if _NAME.fullmatch(name) is None:
        raise GridError(
            f'"{name}" is no name for a grid; accepted are up to 40 letters, digits, spaces, dots and dashes, '
            "a letter or digit first"
        )
    return folder / (name.replace(" ", "_") + SUFFIX)


def keep(folder: Path, grid: LakeGrid) -> tuple[LakeGrid, int]:
    """Write a grid. Returns the grid as kept, and its size in bytes.

    Above ``MOST_KEPT_BYTES`` its cells are made twice as wide, repeatedly if needed.
    Raises OSError.
    """
    while True:
        data = _packed(grid)
        if len(data) <= MOST_KEPT_BYTES:
            break
        grid = _coarser(grid)
    write_bytes(path_of(folder, grid.about.name), data)
    return grid, len(data)


def load(path: Path) -> LakeGrid:
    """Read a kept grid. Raises GridError for a damaged file."""
    try:
        with np.load(path, allow_pickle=False) as kept:
            about = About(**json.loads(str(kept["about"])))
            steps: NDArray[np.uint16] = kept["steps"]
        if steps.shape != (about.rows, about.columns) or steps.dtype != np.uint16:
            raise ValueError("its numbers are not those of its header")
    except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile) as fault:
        raise GridError(
            f"{path.name}: it is not a grid as it was kept ({fault}); remove it and import it again"
        ) from fault
    whole = np.cumsum(steps, axis=1, dtype=np.uint16)
    depth = np.where(whole == 0, np.float32(np.nan), (whole.astype(np.float32) - 1.0) * np.float32(_QUANTUM_M))
    return LakeGrid(about, depth)


def kept(folder: Path) -> list[Path]:
    """The files of all kept grids, by name."""
    return sorted(folder.glob(f"*{SUFFIX}")) if folder.is_dir() else []


def charts(folder: Path) -> list[LakeGrid]:
    """All readable grids, the finest first. Others are logged, and ``bottom list`` shows them."""
    found = []
    for path in kept(folder):
        try:
            found.append(load(path))
        except GridError as fault:
            _log.warning("%s", fault)
    return sorted(found, key=lambda grid: grid.about.north_step_deg)


def charts_for(session: Session) -> list[LakeGrid]:
    """The grids that a session's chart may use: the demo has an invented one, a practice lake none.

    Chart, pass and watch share what was read: a whole lake takes a quarter of a gigabyte.
    """
    if session is Session.DEMO:
        return [demo_bottom()]
    if session is Session.PRACTICE:
        return []
    files = kept(data_dir() / "bottom")
    return list(_read(tuple((path, path.stat().st_mtime_ns) for path in files)))


@lru_cache(maxsize=1)
def _read(files: tuple[tuple[Path, int], ...]) -> tuple[LakeGrid, ...]:
    return tuple(charts(files[0][0].parent)) if files else ()


def _packed(grid: LakeGrid) -> bytes:
    """Pack as differences from cell to cell, which compress to about a byte."""
    whole = np.nan_to_num(np.rint(grid.below_datum_m / _QUANTUM_M) + 1.0).astype(np.uint16)  # 0: unknown
    steps = np.diff(whole, axis=1, prepend=np.uint16(0)).astype(np.uint16)
    out = io.BytesIO()
    np.savez_compressed(out, about=np.array(json.dumps(asdict(grid.about))), steps=steps)
    return out.getvalue()


def _coarser(grid: LakeGrid) -> LakeGrid:
    """Means of two by two cells; the node is in their middle."""
    a, depth = grid.about, grid.below_datum_m
    rows, columns = a.rows // 2, a.columns // 2
    four = depth[: 2 * rows, : 2 * columns].reshape(rows, 2, columns, 2)
    known = np.isfinite(four)
    counts = known.sum(axis=(1, 3))
    sums = np.where(known, four, 0.0).sum(axis=(1, 3))
    mean = np.where(counts >= 2, sums / np.maximum(counts, 1), np.nan).astype(np.float32)
    about = replace(
        a, south_deg=a.south_deg + a.north_step_deg / 2, west_deg=a.west_deg + a.east_step_deg / 2,
        north_step_deg=2 * a.north_step_deg, east_step_deg=2 * a.east_step_deg, rows=rows, columns=columns,
    )  # fmt: skip
    return LakeGrid(about, mean)
