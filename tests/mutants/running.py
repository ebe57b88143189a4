"""Runs a room's tests against mutants of one module: ``python running.py MODULE FOLDER TESTS... --sample N``.

Each mutant lives in a child process of one that has passed the tests already, and so has all loaded; one that
survives is tried once more in a process that loads it from the first. Where no process can be forked (Windows)
nothing is run. Tests that start the program anew do not see the mutant. A mutant whose tests take ten times as long
as unharmed ones is killed as well. One JSON line a mutant.
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
import struct
import sys
import time
import types
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from mutants.grafting import graft
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


class _Loop:
    """In place of pytest's loop: the tests once as they are, then in one child after another with a mutant."""

    def __init__(self, name: str, mutants: Sequence[Mutant], say: Callable[[bytes], object]) -> None:
        self._name, self._mutants, self._say = name, mutants, say

    def pytest_runtestloop(self, session: Any) -> bool:
        begun = time.monotonic()
        if not self._pass(session) or self._name not in sys.modules:
            return True
        most_s = max(LEAST_S, 10.0 * (time.monotonic() - begun))
        self._say(struct.pack("d", most_s))
        module = sys.modules[self._name]
        for mutant in self._mutants:

            def tried(source: str = mutant.source) -> bool:
                graft(module, source)
                return self._pass(session)

            self._say(b"?" if _passes(tried, most_s) else b"x")
        return True

    @staticmethod
    def _pass(session: Any) -> bool:
        items = session.items
        for item, after in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            if session.testsfailed:
                return False
        return bool(items)


def _passes(tested: Callable[[], bool], most_s: float) -> bool:
    """Whether the tests pass in a child."""
    child = os.fork()
    if child == 0:
        try:
            os._exit(0 if tested() else 1)
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


def _tested(tests: Sequence[str], *plugins: object) -> bool:
    """Run them with pytest, in this process, and in silence."""
    import pytest

    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    # Of the plugins only what tests here need: finding all of them takes longer than most tests.
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    return pytest.main(["-x", "-q", "-p", "no:cacheprovider", "-p", "pytest_asyncio", *tests], plugins=plugins) == 0


def _from_the_first(finder: _Finder, tests: Sequence[str]) -> bool:
    sys.meta_path.insert(0, finder)
    return _tested(tests)


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
    # One child loads everything and passes its tests; its own children get the mutants grafted in.
    reading, writing = os.pipe()
    chosen: list[Mutant] = mutants_of(source)
    if 0 < given.sample < len(chosen):
        chosen = random.Random(given.module).sample(chosen, given.sample)
    chosen.sort(key=lambda one: one.line)
    loaded = os.fork()
    if loaded == 0:
        os.close(reading)
        _tested(given.tests, _Loop(given.module, chosen, partial(os.write, writing)))
        os._exit(0)
    os.close(writing)
    said = os.read(reading, 8)
    if len(said) < 8:
        print("the tests fail without a mutant, or do not load it", file=sys.stderr)
        return 1
    (most_s,) = struct.unpack("d", said)
    for mutant in chosen:
        killed = os.read(reading, 1) == b"x"
        if not killed:
            finder = _Finder(given.module, str(path), mutant.source)
            killed = not _passes(partial(_from_the_first, finder, given.tests), most_s)
        told = {"line": mutant.line, "code": mutant.code, "what": mutant.what, "killed": killed}
        print(json.dumps(told), flush=True)
    os.waitpid(loaded, 0)
    return 0


if __name__ == "__main__":
    sys.exit(main())
