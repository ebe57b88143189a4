"""Compiles the kernels in another process, so that the screen does not wait.

The compiler holds the interpreter lock for seconds. So the first compilation after an installation (or an upgrade)
runs in its own process and leaves its results in the cache. This process loads them from there in a fraction
of a second. Markers, named after everything on which the cache depends, show its progress: first the kernels that tow
the lines, so that depths are on the screen, then the rest (outlooks, checks).
"""

from __future__ import annotations

import hashlib
import platform
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
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
MOST_TRIES: Final = 3  # of a compiler that something ends from outside, such as too little memory


class PreparationError(RuntimeError):
    """Raised where the solver could not be compiled. The message has the compiler process's answer."""


@cache
def _print() -> str:
    """A name for everything on which the cache depends besides the sources, which name its folder."""
    digest = hashlib.blake2s(digest_size=8)
    for part in (__version__, sys.version, platform.machine(), platform.processor()):
        digest.update(part.encode())
    for package in ("numba", "numpy", "llvmlite"):
        digest.update(metadata.version(package).encode())
    return digest.hexdigest()


def _marker(stage: Literal["tows", "ready"]) -> Path:
    """The file that shows that these sources on this machine have filled the cache so far."""
    return places.kernels_dir() / f"{stage}-{_print()}"


def mark(stage: Literal["tows", "ready"]) -> None:
    """Mark that the cache is filled so far. The compiling process calls it."""
    marker = _marker(stage)
    marker.parent.mkdir(parents=True, exist_ok=True)
    marker.touch()


def is_prepared() -> bool:
    """Whether every kernel will load quickly. Imports neither numpy nor numba."""
    return _marker("ready").exists()


def can_tow() -> bool:
    """Whether the kernels that move the lines will load quickly."""
    return _marker("tows").exists() or is_prepared()


def preparing() -> str:
    """The words during compilation: its progress, and the time left."""
    if said():
        return said()
    return f"{PREPARING} {progress_words() or 'This takes a minute, several on a slow machine.'}"


class _Compiler:
    """The other process, at most one for this process."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._words: IO[bytes] | None = None
        self._tries = 0

    def begin(self) -> None:
        with self._lock:
            if self._process is None or self._process.poll() is not None:
                self._tries += 1
                self._words = tempfile.TemporaryFile()  # noqa: SIM115 - it lives as long as the process
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "sternwatch.watch.sessions.warm"],
                    stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=self._words,
                )  # fmt: skip

    def ended(self, within_s: float = 0.0) -> bool:
        """Whether it has ended, or never began.

        Raises
        ------
        PreparationError
            If it has failed; its last line is in the message.
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
        if code < 0 and self._tries < MOST_TRIES:
            self.begin()  # what it had compiled is kept
            return False
        words.seek(0)
        last = (
            words.read().decode(errors="replace").strip().splitlines() or ["the compiler was ended from outside"]
        )[-1]
        raise PreparationError(f"the solver could not be prepared: {last}")


_compiler = _Compiler()


def prepare(look: Callable[[], object] = bool) -> None:
    """Wait until lines can be towed. Another process goes on to compile the rest.

    ``look`` is called several times a second meanwhile.

    Raises
    ------
    PreparationError
        When the other process fails; its last line is in the message.
    """
    if is_prepared():
        return
    _compiler.begin()
    while not can_tow():
        look()
        if _compiler.ended(LOOK_EVERY_S):
            return


def prepare_all(look: Callable[[], object] = bool) -> None:
    """Wait until every kernel is compiled; ``look`` and errors as with ``prepare``."""
    prepare(look)
    while not _compiler.ended(LOOK_EVERY_S):
        look()


def rest() -> str:
    """The words while part of the solver is being compiled, or could not be. Empty once all is ready."""
    try:
        return "" if _compiler.ended() else f"{REST} {progress_words()}".rstrip()
    except PreparationError as fault:
        return f"No warnings and no turn limits: {fault}"
