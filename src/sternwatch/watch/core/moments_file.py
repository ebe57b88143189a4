"""Keeps the numbers of many moments in a file, so that a replay that can go back to them needs little memory.

The file has no name that anybody sees, and is gone when the program ends, however that ends. Where a moment is
forgotten, the next one takes its room. A disk that is nearly full is left to the crew's entries.
"""

from __future__ import annotations

import logging
import shutil
import tempfile
import threading
import weakref
from collections import deque
from collections.abc import Sequence
from io import RawIOBase
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from sternwatch.places import cache_dir

_log = logging.getLogger(__name__)

SPARE_BYTES = 1_000_000_000  # of the disk, which stay free

Array = NDArray[Any]


class OnDisk:
    """Arrays in the file. Their room is free again when nobody holds this object any more."""

    def __init__(self, file: MomentsFile, start: int, arrays: Sequence[Array]) -> None:
        self._file, self._start = file, start
        self._forms = [(array.dtype, array.shape) for array in arrays]

    def read(self) -> list[Array]:
        """Raises OSError where the file cannot be read."""
        made = [np.empty(shape, dtype) for dtype, shape in self._forms]
        self._file.read(self._start, made)
        return made


class MomentsFile:
    """One session's file; any thread may use it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._file: RawIOBase | None = None
        self._ends = 0
        self._free: list[tuple[int, int]] = []  # start and size, in order
        self._given_back: deque[tuple[int, int]] = deque()  # by the collector, which may run while the lock is held
        self._refused = False

    def put(self, arrays: Sequence[Array]) -> OnDisk | None:
        """None where the disk does not take them."""
        size = sum(array.nbytes for array in arrays)
        with self._lock:
            start = -1
            try:
                start = self._room(size)
                self._write(start, arrays)
            except OSError as fault:
                if start >= 0:
                    self._given_back.append((start, size))
                if not self._refused:  # once is enough for the log
                    _log.warning("moments to go back to stay in memory: %s", fault)
                self._refused = True
                return None
        made = OnDisk(self, start, arrays)
        weakref.finalize(made, self._given_back.append, (start, size)).atexit = False
        return made

    def read(self, start: int, into: Sequence[Array]) -> None:
        with self._lock:
            assert self._file is not None
            self._file.seek(start)
            for array in into:
                left = _bytes(array)
                while left:
                    got = self._file.readinto(left)
                    if not got:
                        raise OSError("the file of moments has become shorter")
                    left = left[got:]

    def _room(self, size: int) -> int:
        """Where to write so many bytes; the caller holds the lock."""
        while self._given_back:
            self._free.append(self._given_back.popleft())
        whole: list[tuple[int, int]] = []
        for start, room in sorted(self._free):
            if whole and sum(whole[-1]) == start:
                whole[-1] = (whole[-1][0], whole[-1][1] + room)
            else:
                whole.append((start, room))
        self._free = whole
        for at, (start, room) in enumerate(whole):
            if room >= size:
                whole[at : at + 1] = [(start + size, room - size)] if room > size else []
                return start
        folder = cache_dir()
        if self._file is None:
            folder.mkdir(parents=True, exist_ok=True)
            # Without a buffer: what did not fit on the disk would stay in it and spoil whatever comes next.
            file = tempfile.TemporaryFile(buffering=0, dir=folder)  # noqa: SIM115 - it lives as long as this object
            weakref.finalize(self, file.close)
            self._file = cast(RawIOBase, file)
        if shutil.disk_usage(folder).free - size < SPARE_BYTES:
            raise OSError("little of the disk is free")
        self._ends += size
        return self._ends - size

    def _write(self, start: int, arrays: Sequence[Array]) -> None:
        assert self._file is not None
        self._file.seek(start)
        for array in arrays:
            left = _bytes(np.ascontiguousarray(array))
            while left:
                left = left[self._file.write(left) or 0 :]


def _bytes(array: Array) -> memoryview:
    """The memory of a contiguous array, which may be empty."""
    return array.ravel().view(np.uint8).data
