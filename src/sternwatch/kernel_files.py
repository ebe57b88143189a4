"""Gives compiled kernels on the disk a digest, so that a damaged one is compiled again and never run.

Numba does not check its cache: a changed byte stops the start with an error of its reader, or runs as code. So every
file that it writes ends with a digest of itself, which its reader ignores. A file that does not match its digest
counts as missing. A file without one (from an earlier version, or cut short) counts if it can be read.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.abc
import importlib.util
import logging
import sys
from collections.abc import Iterator, Sequence
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType
from typing import Any, Final

MARK: Final = b"sternwatch-kernel"
SIZE: Final = 16
_CACHING: Final = "numba.core.caching"
_log = logging.getLogger(__name__)
_damaged: list[str] = []


def said() -> str:
    """A sentence about the damaged files found in this process; empty where there were none."""
    if not _damaged:
        return ""
    more = f" and {len(_damaged) - 1} more" if len(_damaged) > 1 else ""
    return f"Compiled code on the disk was damaged ({_damaged[0]}{more}); it is compiled anew."


def sealed(content: bytes) -> bytes:
    """The digest to put after a file's content."""
    return MARK + hashlib.blake2b(content, digest_size=SIZE).digest()


def sound(path: Path) -> bool:
    """Whether a file matches the digest at its end, or has none. Raises ``OSError`` where it cannot be read."""
    whole = path.read_bytes()
    cut = len(whole) - SIZE - len(MARK)
    if cut < 0 or whole[cut : cut + len(MARK)] != MARK:
        return True
    return sealed(whole[:cut]) == whole[cut:]


def guard() -> None:
    """Make numba write and read its cache this way, now or as soon as anything imports numba.

    This does not import numba: screens that compute nothing open without it.
    """
    if _CACHING in sys.modules:
        _seal(sys.modules[_CACHING].IndexDataCacheFile)
    elif not any(isinstance(finder, _WhenImported) for finder in sys.meta_path):
        sys.meta_path.insert(0, _WhenImported())


class _WhenImported(importlib.abc.MetaPathFinder):
    """Waits for numba's module of caches, and patches it when it has been loaded."""

    def find_spec(
        self, fullname: str, _path: Sequence[str] | None, _target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if fullname != _CACHING:
            return None
        sys.meta_path.remove(self)
        spec = importlib.util.find_spec(fullname)
        if spec is not None and spec.loader is not None:
            load = spec.loader.exec_module

            def load_and_seal(module: ModuleType) -> None:
                load(module)
                _seal(module.IndexDataCacheFile)

            spec.loader.exec_module = load_and_seal  # type: ignore[method-assign]
        return spec


def _seal(files: Any) -> None:
    if getattr(files, "sealed_by_sternwatch", False):
        return
    write, load_index, load_data, save_index = (
        files._open_for_write, files._load_index, files._load_data, files._save_index,
    )  # fmt: skip

    @contextlib.contextmanager
    def open_for_write(self: Any, filepath: str) -> Iterator[Any]:
        with write(self, filepath) as file:
            yield file
            file.flush()
            file.write(sealed(Path(file.name).read_bytes()))

    def read_index(self: Any) -> Any:
        path = Path(self._index_path)
        try:
            if not path.exists():
                return {}
            if sound(path):
                return load_index(self)
        except Exception as fault:  # noqa: BLE001 - a damaged pickle raises anything
            _log.warning("%s: %s", path.name, fault)
        _met(path)
        with contextlib.suppress(OSError):
            save_index(self, {})
        return {}

    def read_data(self: Any, name: str) -> Any:
        path = Path(self._data_path(name))
        try:
            if sound(path):
                return load_data(self, name)
        except FileNotFoundError:
            raise
        except Exception as fault:  # noqa: BLE001 - a damaged pickle raises anything
            _log.warning("%s: %s", path.name, fault)
        _met(path)
        raise FileNotFoundError(path)

    files._open_for_write, files._load_index, files._load_data = open_for_write, read_index, read_data
    files.sealed_by_sternwatch = True


def _met(path: Path) -> None:
    _log.warning("%s is damaged and is compiled anew", path.name)
    if path.name not in _damaged:
        _damaged.append(path.name)
