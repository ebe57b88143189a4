"""SQLite's own syncs of its files, made to fail: a layer of ours between it and the system.

The library lets a program name who opens its files. Ours opens as the system does, and puts its own sync in the place
of the file's. That one leaves the system alone: here power fails by what `damage` does to copies, which asks no disk.
Where the library cannot be reached (it may lie inside the interpreter), nothing is put there.
"""

from __future__ import annotations

import _sqlite3
import contextlib
import ctypes
from collections.abc import Callable, Iterator
from ctypes import CFUNCTYPE, POINTER, Structure, c_char_p, c_int, c_void_p, cast
from typing import Any, ClassVar

IOERR_FSYNC = 10 | 4 << 8  # SQLITE_IOERR_FSYNC (SQLite's list of result codes)

Sync = CFUNCTYPE(c_int, c_void_p, c_int)


class Methods(Structure):
    """``sqlite3_io_methods``, its first version's beginning, then whatever follows."""

    _fields_: ClassVar[Any] = [
        ("version", c_int), ("close", c_void_p), ("read", c_void_p), ("write", c_void_p), ("truncate", c_void_p),
        ("sync", c_void_p), ("others", c_void_p * 13),
    ]  # fmt: skip


class File(Structure):
    """``sqlite3_file``."""

    _fields_: ClassVar[Any] = [("methods", POINTER(Methods))]


# The name stays a pointer: the library keeps it, and reads what lies behind it.
Open = CFUNCTYPE(c_int, c_void_p, c_void_p, POINTER(File), c_int, POINTER(c_int))


class Vfs(Structure):
    """``sqlite3_vfs``: three numbers, the next one, its name, its data, how it opens, and whatever follows."""

    _fields_: ClassVar[Any] = [
        ("version", c_int), ("file_bytes", c_int), ("longest_path", c_int), ("following", c_void_p),
        ("name", c_char_p), ("data", c_void_p), ("open", c_void_p), ("others", c_void_p * 15),
    ]  # fmt: skip


def library() -> Any:
    """SQLite as this interpreter has loaded it; None where it cannot be reached."""
    try:
        found = ctypes.CDLL(_sqlite3.__file__)
        found.sqlite3_vfs_find.restype = POINTER(Vfs)
    except (AttributeError, OSError):
        return None
    return found


@contextlib.contextmanager
def failing(fails: Callable[[], bool]) -> Iterator[list[int]]:
    """Files that are opened meanwhile ask ``fails`` at every sync. Gives how many were asked, and how many failed."""
    counted = [0, 0]
    sqlite = library()
    if sqlite is None:
        yield counted
        return
    system = sqlite.sqlite3_vfs_find(None)
    opens = cast(system.contents.open, Open)
    kept: dict[int, Methods] = {}

    @Sync
    def sync(_file: int, _flags: int) -> int:
        counted[0] += 1
        if fails():
            counted[1] += 1
            return IOERR_FSYNC
        return 0

    def instead(methods: Methods) -> Methods:
        """A copy of a kind of file's methods, with our sync."""
        at = ctypes.addressof(methods)
        if at not in kept:
            copied = Methods.from_buffer_copy(methods)
            copied.sync = cast(sync, c_void_p)
            kept[at] = copied
        return kept[at]

    @Open
    def opened(_vfs: int, name: int, file: Any, flags: int, told: Any) -> int:
        code = opens(ctypes.addressof(system.contents), name, file, flags, told)
        if code == 0 and file.contents.methods:
            file.contents.methods = ctypes.pointer(instead(file.contents.methods.contents))
        return int(code)

    ours = Vfs.from_buffer_copy(system.contents)
    ours.name, ours.open, ours.following = b"days", cast(opened, c_void_p), None
    sqlite.sqlite3_vfs_register(ctypes.byref(ours), 1)
    KEPT.append((ours, opened, sync, kept))  # files may stay open: what they call must stay too
    try:
        yield counted
    finally:
        sqlite.sqlite3_vfs_register(system, 1)
        sqlite.sqlite3_vfs_unregister(ctypes.byref(ours))


KEPT: list[Any] = []
