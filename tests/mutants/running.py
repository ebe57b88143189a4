"""Runs a room's tests against mutants of one module: ``python running.py MODULE FOLDER TESTS... --sample N``.

Each mutant lives in a child process of one that has the libraries loaded already; where no process can be forked
(Windows) nothing is run. Tests that start the program anew do not see the mutant. A mutant whose tests take ten times
as long as unharmed ones is killed as well. One JSON line a mutant.
"""

from __future__ import annotations

import argparse
import importlib.abc
import importlib.machinery
import importlib.util
import json
import os
import random
import signal
import sys
import time
import types
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from mutants.mutating import Mutant, mutants_of

LEAST_S = 20.0  # that a mutant's tests may take, however quick the unharmed ones are


class _Finder(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the one module with another source."""

    def __init__(self, name: str, path: str, source: str) -> None:
        self._name, self._path, self._source = name, path, source

    def find_spec(
        self,
        fullname: str,
        path: Sequence[str] | None,  # noqa: ARG002
        target: types.ModuleType | None = None,  # noqa: ARG002
    ) -> importlib.machinery.ModuleSpec | None:
        if fullname != self._name:
            return None
        return importlib.util.spec_from_file_location(fullname, self._path, loader=self)

    def exec_module(self, module: types.ModuleType) -> None:
        exec(compile(self._source, self._path, "exec"), module.__dict__)


def _passes(name: str, path: Path, source: str, tests: Sequence[str], most_s: float) -> bool:
    """Whether the tests pass with this source, in a child."""
    child = os.fork()
    if child == 0:
        try:
            import pytest

            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 1)
            os.dup2(nowhere, 2)
            sys.meta_path.insert(0, _Finder(name, str(path), source))
            code = pytest.main(["-x", "-q", "-p", "no:cacheprovider", "-p", "no:randomly", *tests])
            os._exit(0 if code == 0 else 1)
        except BaseException:  # noqa: BLE001 - a mutant may end in any way; the child has no other
            os._exit(1)
    end = time.monotonic() + most_s
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) == 0
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def main() -> int:
    asked = argparse.ArgumentParser()
    asked.add_argument("module")
    asked.add_argument("tests", nargs="+")
    asked.add_argument("--sample", type=int, default=0, help="so many of the mutants; 0: all")
    given = asked.parse_args()
    import hypothesis  # noqa: F401 - loaded once, before the children
    import numba  # noqa: F401
    import numpy  # noqa: F401
    import pydantic  # noqa: F401
    import pynmea2  # noqa: F401
    import pytest  # noqa: F401
    import scipy.special  # noqa: F401

    path = Path("src", *given.module.split(".")).with_suffix(".py")
    source = path.read_text(encoding="utf-8")
    begun = time.monotonic()
    if not _passes(given.module, path, source, given.tests, 1000.0):
        print("the tests fail without a mutant", file=sys.stderr)
        return 1
    most_s = max(LEAST_S, 10.0 * (time.monotonic() - begun))
    chosen: list[Mutant] = mutants_of(source)
    if 0 < given.sample < len(chosen):
        chosen = random.Random(given.module).sample(chosen, given.sample)
    for mutant in sorted(chosen, key=lambda one: one.line):
        killed = not _passes(given.module, path, mutant.source, given.tests, most_s)
        told = {"line": mutant.line, "code": mutant.code, "what": mutant.what, "killed": killed}
        print(json.dumps(told), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
