"""Where files are on this machine: the user's, the caches, and those shipped with the package.

And what a process sets for itself before it loads the libraries.
"""

from __future__ import annotations

import gc
import hashlib
import os
from functools import cache
from pathlib import Path

import platformdirs

from sternwatch.kernel_files import guard

# Garbage collection: the young objects after this many new ones, the older after this many of those collections, the
# oldest after this many of these. By default the young ones are searched several times a second, and several times a
# minute all, which takes a tenth of a second.
GARBAGE = (10_000, 20, 200)

_DIRS = platformdirs.PlatformDirs("sternwatch", appauthor=False)


def config_dir() -> Path:
    """The folder of the user's settings and themes; not created here."""
    return Path(os.environ.get("STERNWATCH_CONFIG_DIR") or _DIRS.user_config_dir)


def boat_file() -> Path:
    """The user's own spread file, the default of every command; it need not exist."""
    return config_dir() / "boat.toml"


def data_dir() -> Path:
    """The folder of logbook and recordings; not created here."""
    return Path(os.environ.get("STERNWATCH_DATA_DIR") or _DIRS.user_data_dir)


def cache_dir() -> Path:
    """The folder of files that can be made again: compiled kernels, indices of recordings."""
    return Path(os.environ.get("STERNWATCH_CACHE_DIR") or _DIRS.user_cache_dir)


def log_dir() -> Path:
    """The folder of the program's rotating log file."""
    return Path(os.environ.get("STERNWATCH_LOG_DIR") or _DIRS.user_log_dir)


def shipped(kind: str) -> Path:
    """The folder of files shipped with the package (``"demo_logs"`` or ``"themes"``).

    A wheel has them inside the package; a checkout (or an editable install) has them at its top level.
    """
    package = Path(__file__).parent
    inside = package / "shipped" / kind
    return inside if inside.is_dir() else package.parents[1] / kind


def kernels_dir() -> Path:
    """The folder of kernels compiled from exactly this source.

    Numba recompiles a function when its own file changes, but not when a function that it calls from another file
    changes. So kernels of another version, or of an edited checkout, need another folder.
    """
    return cache_dir() / "kernels" / _print_of_hydro()


@cache
def _print_of_hydro() -> str:
    """Computed once: compiling asks for it many times a second, and a process's sources do not change."""
    digest = hashlib.blake2s(digest_size=8)
    for source in sorted((Path(__file__).parent / "hydro").rglob("*.py")):
        digest.update(source.read_bytes())
    return digest.hexdigest()


def keep_blas_to_one_thread() -> None:
    """Must run before numpy is imported. For matrices as small as ours more threads only wait, at full power."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def collect_seldom() -> None:
    """Search for garbage seldom. Should run first: the libraries make a million objects that all stay."""
    gc.set_threshold(*GARBAGE)


def set_numba_cache() -> None:
    """Point numba at a writable cache. Must run before numba is imported: an install may be read-only.

    Damaged kernels there are compiled again.
    """
    os.environ.setdefault("NUMBA_CACHE_DIR", str(kernels_dir()))
    guard()
