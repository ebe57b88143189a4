"""Prepares the compiled kernels in another process, so that the screen does not wait.

The compiler holds the interpreter lock for seconds, so the first compile after an installation (or an upgrade)
runs in a process of its own and leaves its work in the cache, from which this process loads it in a fraction
of a second. Markers named after everything the cache depends on tell how far it has come: first what tows the lines,
so that depths are on the screen, then all the rest (outlooks, checks).
"""

from __future__ import annotations

import hashlib
import platform
import subprocess
import sys
import tempfile
import threading
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import IO, Final, Literal

from sternwatch import __version__, places
from sternwatch.kernel_files import said
from sternwatch.watch.sessions.compiling import progress_words

PREPARING: Final = "Preparing the solver, once after installing."
REST: Final = "No turn limits and no warnings of crossing yet: that part of the solver is still being compiled."
LOOK_EVERY_S: Final = 0.1


class PreparationError(RuntimeError):
    """The solver could not be compiled; the message says what the compiler process answered."""


@cache
def _print() -> str:
    """A name for what the cache depends on beside the sources, which name its folder."""
    digest = hashlib.blake2s(digest_size=8)
    for part in (__version__, sys.version, platform.machine(), platform.processor()):
        digest.update(part.encode())
    for package in ("numba", "numpy", "llvmlite"):
        digest.update(metadata.version(package).encode())
    return digest.hexdigest()


def _marker(stage: Literal["tows", "ready"]) -> Path:
    """The file whose presence says that the cache was filled so far by these very sources on this machine."""
    return places.kernels_dir() / f"{stage}-{_print()}"


def mark(stage: Literal["tows", "ready"]) -> None:
    """Say that the cache is filled so far; the compiling process does."""
    marker = _marker(stage)
    marker.parent.mkdir(parents=True, exist_ok=True)
    marker.touch()


def is_prepared() -> bool:
    """Whether loading any kernel will be quick. Imports neither numpy nor numba."""
    return _marker("ready").exists()


def can_tow() -> bool:
    """Whether loading those that move the lines will be quick."""
    return _marker("tows").exists() or is_prepared()


def preparing() -> str:
    """What is said while it is under way: how far it is, and how much longer."""
    if said():
        return said()
    return f"{PREPARING} {progress_words() or 'This takes a minute, several on a slow machine.'}"


class _Compiler:
    """The other process, at most one of this process."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._words: IO[bytes] | None = None

    def begin(self) -> None:
        with self._lock:
            if self._process is None or self._process.poll() is not None:
                self._words = tempfile.TemporaryFile()  # noqa: SIM115 - it lives as long as the process
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "sternwatch.watch.sessions.warm"],
                    stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=self._words,
                )  # fmt: skip

    def ended(self, within_s: float = 0.0) -> bool:
        """Whether there is none, or it has ended.

        Raises
        ------
        PreparationError
            Where it has failed; its last line is in the message.
        """
        process, words = self._process, self._words
        if process is None or words is None:
            return True
        try:
            code = process.wait(within_s)
        except subprocess.TimeoutExpired:
            return False
        if code == 0:
            return True
        words.seek(0)
        last = (words.read().decode(errors="replace").strip().splitlines() or ["no word from the compiler"])[-1]
        raise PreparationError(f"the solver could not be prepared: {last}")


_compiler = _Compiler()


def prepare() -> None:
    """Wait until lines can be towed; what else there is goes on being compiled in another process.

    Raises
    ------
    PreparationError
        When the other process fails; its last line is in the message.
    """
    if is_prepared():
        return
    _compiler.begin()
    while not can_tow():
        if _compiler.ended(LOOK_EVERY_S):
            return


def prepare_all() -> None:
    """Wait until every kernel is compiled; errors as with ``prepare``."""
    prepare()
    while not _compiler.ended(LOOK_EVERY_S):
        pass


def rest() -> str:
    """What is said while part of the solver is still compiled, or could not be; empty once all is there."""
    try:
        return "" if _compiler.ended() else f"{REST} {progress_words()}".rstrip()
    except PreparationError as fault:
        return f"No warnings and no turn limits: {fault}"
