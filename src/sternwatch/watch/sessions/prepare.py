"""Prepares the compiled kernels in another process, so that the screen does not wait.

The compiler holds the interpreter lock for seconds, so the first compile after an installation (or an upgrade)
runs in a process of its own and leaves its work in the cache, from which this process loads it in a fraction
of a second. A marker named after everything the cache depends on tells which case it is.
"""

from __future__ import annotations

import hashlib
import platform
import subprocess
import sys
from importlib import metadata
from pathlib import Path

from sternwatch import __version__, places
from sternwatch.kernel_files import said
from sternwatch.watch.sessions.compiling import progress_words

PREPARING = "Preparing the solver, once after installing."


class PreparationError(RuntimeError):
    """The solver could not be compiled; the message says what the compiler process answered."""


def _marker() -> Path:
    """The file whose presence says that the cache was filled by these very sources on this machine."""
    digest = hashlib.blake2s(digest_size=8)
    for part in (__version__, sys.version, platform.machine(), platform.processor()):
        digest.update(part.encode())
    for package in ("numba", "numpy", "llvmlite"):
        digest.update(metadata.version(package).encode())
    return places.kernels_dir() / f"ready-{digest.hexdigest()}"


def is_prepared() -> bool:
    """Whether loading the kernels will be quick. Imports neither numpy nor numba."""
    return _marker().exists()


def preparing() -> str:
    """What is said while it is under way: how far it is, and how much longer."""
    if said():
        return said()
    return f"{PREPARING} {progress_words() or 'This takes a minute, several on a slow machine.'}"


def prepare() -> None:
    """Compile every kernel in another process, unless that is done already.

    Raises
    ------
    PreparationError
        When the other process fails; its last line is in the message.
    """
    marker = _marker()
    if marker.exists():
        return
    done = subprocess.run(
        [sys.executable, "-m", "sternwatch.watch.sessions.warm"], capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        last = (done.stderr.strip().splitlines() or ["no word from the compiler"])[-1]
        raise PreparationError(f"the solver could not be prepared: {last}")
    marker.parent.mkdir(parents=True, exist_ok=True)
    marker.touch()
