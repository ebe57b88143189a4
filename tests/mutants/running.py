"""Runs a room's tests against mutants of its modules: ``python running.py ROOM TESTS... --sample N``.

One process loads everything and passes every test once, while it is written down which test runs which line. Each
mutant then lives in a child of that process and meets the tests that run its line: what noticed others of its module
comes first, then the quick ones. What a fixture runs that several tests share, each of them runs. One whose line runs
when its module is loaded meets all tests, those that run any of the module first, and where the first of them let it
pass, all of them in a process that loads the mutant from the first. Where no process can be forked (Windows) nothing
is run. Tests that start the program anew do not see the mutant. A mutant whose tests take ten times as long as
unharmed ones is killed as well (in seconds of processor, so that a busy machine kills none). A mutant whose line no
test runs survives. One JSON line a mutant, after one that says how many there are and how much of the room is
covered. At the end every test that noticed a mutant is asked once more without any: what fails then (a file was
changed meanwhile, or time ran out) is told in the last line, and what it noticed counts for nothing.

What the unharmed tests did is kept with ``--data``: another sample then runs only the files of tests that have
changed since. A changed module of the room makes it all anew.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import importlib.abc
import importlib.machinery
import importlib.util
import io
import json
import math
import os
import random
import signal
import sys
import time
import types
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from mutants.grafting import graft
from mutants.mutating import Place, mutant, places_of

LEAST_S = 30.0  # of processor that a mutant's tests may take, however quick the unharmed ones are
QUICK_S = 0.3  # a test that takes no longer is asked before all others, whatever else its file holds
SOON_S = 1.0  # of tests that a module meets before it is loaded anew, and of tests that run nothing of it
LEAST_EACH_S = 15.0  # of processor that one test may take then: more than what it shares with others takes to make
BY = " for "  # between the names of a fixture that tests share and of the one that it was made for
STUCK_S = 20.0  # that a mutant may do nothing, waiting for what never comes
SOURCES = Path("src")
# What makes compiled code is run by the compiler alone, and what the watch compiles is no Python there: their mutants
# are asked of these with the compiler as well.
COMPILING = {
    "sternwatch.hydro.chain.lanes": ["tests/hydro/chain/test_lanes.py"],
    "sternwatch.watch.bottom.nearest_sounding": ["tests/watch/bottom/test_soundings.py"],
    "sternwatch.watch.chains.clearing_order": ["tests/watch/chains/test_clearing_order.py"],
    "sternwatch.watch.chains.place": ["tests/watch/chains/test_place.py"],
    "sternwatch.watch.chains.side_by_side": ["tests/watch/chains/test_laid_apart.py"],
}


@dataclass(frozen=True)
class Asked:
    """One thing to change in one module."""

    path: Path
    place: Place

    @property
    def module(self) -> str:
        return ".".join(self.path.relative_to(SOURCES).with_suffix("").parts).removesuffix(".__init__")

    @property
    def source(self) -> str:
        """The module with that one thing changed."""
        return mutant(self.path.read_text(encoding="utf-8"), self.place)


@dataclass
class Unharmed:
    """What the tests did when nothing was broken."""

    items: dict[str, Any] = field(default_factory=dict)
    took_s: dict[str, float] = field(default_factory=dict)
    ran: dict[str, dict[int, set[str]]] = field(default_factory=dict)  # file to line to tests

    def of(self, asked: Asked, most_s: float) -> list[Any]:
        """The tests that may notice, together no longer than ``most_s``: quick ones first, file by file.

        Those that run nothing of the module, ``SOON_S`` at most.
        """
        place, lines = asked.place, self.ran.get(str(asked.path.resolve()), {})
        own = [lines.get(k, set()) for k in range(place.first, place.last + 1)]
        names: set[str] = set().union(*own)
        if place.loaded or (not names and any(k in lines for k in range(place.first, place.last + 1))):
            names = set(self.took_s)  # what is made while modules are loaded may be asked by any test
        near: set[str] = set().union(*lines.values())  # which run any of the module, or lie in the folder of its own
        own_folder = "/".join(("tests", *asked.module.split(".")[1:-1], ""))
        near |= {name for name in names if name.startswith(own_folder)}
        # Of the long ones those first whose file is called after the module: the others may use up the time.
        stem = asked.path.stem
        files: defaultdict[tuple[bool, bool, bool, str], list[str]] = defaultdict(list)
        for name in names & self.took_s.keys():
            file, slow = name.split("::")[0], self.took_s[name] > QUICK_S
            files[name not in near, slow, slow and stem not in file, file].append(name)
        chosen: list[Any] = []
        total_s = far_s = 0.0
        costs = {kind: (*kind[:3], sum(self.took_s[name] for name in of)) for kind, of in files.items()}
        for kind in sorted(files, key=costs.__getitem__):
            for name in sorted(files[kind], key=self.took_s.__getitem__):
                total_s += self.took_s[name]
                far_s += self.took_s[name] * kind[0]
                if chosen and (total_s > most_s or far_s > SOON_S):
                    return chosen
                chosen.append(self.items[name])
        return chosen


class _Finder(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the one module with another source."""

    def __init__(self, asked: Asked) -> None:
        self._name, self._path, self._source = asked.module, str(asked.path), asked.source

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


class _OverError(BaseException):
    """A test has taken too long; no ``except Exception`` holds it up."""


class _Loop:
    """In place of pytest's loop: the tests once as they are, then in one child after another with a mutant."""

    def __init__(self, given: argparse.Namespace, chosen: Sequence[Asked], counted: int, say: Any) -> None:
        self._given, self._chosen, self._counted, self._say = given, chosen, counted, say
        self._too_long: set[str] = set()  # tests of which one case took too long: no other case is tried
        self._context = ""  # of the coverage: the test, or the shared fixture that is made for it

    def pytest_runtestloop(self, session: Any) -> bool:
        unharmed = self._unharmed(session)
        self._given.each = 0.0
        killers: defaultdict[str, list[str]] = defaultdict(list)  # by module, the last one first
        noticed: Counter[str] = Counter()
        for asked in self._chosen:
            place, first = asked.place, killers[asked.module]
            tests = unharmed.of(asked, self._given.most)
            tests.sort(key=lambda item: first.index(item.nodeid) if item.nodeid in first else len(first))
            killer: str | None = None
            again = False
            if tests:
                most_s = max(LEAST_S, 10.0 * sum(unharmed.took_s[item.nodeid] for item in tests))
                soon = _within(tests, unharmed.took_s, SOON_S) if place.loaded else tests
                killer = _killer(partial(self._tried, session, asked, soon, unharmed.took_s), most_s)
                if killer is None and place.loaded:
                    again = True
                    names = [item.nodeid for item in tests]
                    killer = _killer(partial(_from_the_first, asked, names), most_s)
            if killer is None and (compiling := COMPILING.get(asked.module)):
                again = True
                killer = _killer(partial(_from_the_first, asked, compiling, compiled=True), LEAST_S)
            killed = killer is not None
            if killer:
                killers[asked.module] = [killer, *(name for name in first if name != killer)]
                noticed[killer] += 1
            told = {"module": asked.module, "line": place.line, "code": place.code, "what": place.what,
                    "killed": killed, "tests": len(tests), "loaded anew": again}  # fmt: skip
            self._say(json.dumps(told))
        wrong = [name for name in noticed if name in unharmed.items and self._fails(session, unharmed.items[name])]
        self._say(json.dumps({"fail unharmed": wrong, "noticed by them": sum(noticed[name] for name in wrong)}))
        return True

    def _fails(self, session: Any, item: Any) -> bool:
        """Whether a test fails in a child with nothing changed."""

        def tried() -> str | None:
            self._given.each = LEAST_S
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=None)
            return str(item.nodeid) if session.testsfailed else None

        return _killer(tried, LEAST_S) is not None

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_setup(self, item: Any) -> Iterator[None]:
        if _test_of(item) in self._too_long:
            raise TimeoutError(f"another case of {_test_of(item)} takes too long to be asked")
        yield from self._no_longer(item)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: Any) -> Iterator[None]:
        yield from self._no_longer(item)

    def _no_longer(self, item: Any) -> Iterator[None]:
        """What takes too long without any mutant is left out."""

        def over(*_: object) -> None:
            raise _OverError

        signal.signal(signal.SIGVTALRM, over)
        signal.setitimer(signal.ITIMER_VIRTUAL, self._given.each)
        try:
            yield
        except _OverError:
            self._too_long.add(_test_of(item))
            # Anew from here: pytest cannot show a traceback that ends between two lines.
            raise TimeoutError(f"{item.nodeid} takes too long to be asked") from None
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)

    def _unharmed(self, session: Any) -> Unharmed:
        found = Unharmed(items={item.nodeid: item for item in session.items})
        covering, known = self._given.covering, self._given.known
        took_s: dict[str, float | None] = {}  # None: it failed
        anew = []
        prints = {path: _print(path) for path in {item.path for item in session.items}}
        for item in session.items:
            if (was := known.tests.get(item.nodeid)) is not None and was["print"] == prints[item.path]:
                took_s[item.nodeid] = was["took"]
            else:
                anew.append(item)
        for item, after in zip(anew, [*anew[1:], None][: len(anew)], strict=True):
            self._in_context(item.nodeid)
            before, begun = session.testsfailed, _Spent()
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            took_s[item.nodeid] = begun.since() if session.testsfailed == before else None
        covering.stop()
        self._context = ""
        self._too_long.clear()  # the quick cases of such a test passed, and are asked
        found.took_s = {name: took for name, took in took_s.items() if took is not None}
        failed = [name for name, took in took_s.items() if took is None]
        known.keep({i.nodeid: {"print": prints[i.path], "took": took_s[i.nodeid]} for i in session.items})
        data = covering.get_data()
        sharing = _sharing(session.items)
        for file in data.measured_files():
            lines = data.contexts_by_lineno(file)
            found.ran[file] = {line: _tests_of(names, sharing) for line, names in lines.items()}
        share = covering.report(file=io.StringIO())
        covering.save()
        self._say(json.dumps({
            "tests": len(session.items), "left out": failed, "mutants": self._counted, "asked": len(self._chosen),
            "covered %": round(share, 1),
        }))  # fmt: skip
        session.testsfailed = 0
        session.shouldfail = session.shouldstop = False
        return found

    def _in_context(self, name: str) -> str:
        """Whatever runs from here on is run by that. Returns what it was before."""
        before, self._context = self._context, name
        self._given.covering.switch_context(name)
        return before

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[Any]:
        """Made for the first of the tests that share it."""
        if not self._context or fixturedef.scope == "function":
            return (yield)
        test = self._context.partition(BY)[2] or self._context
        before = self._in_context(f"{_fixture(fixturedef)}{BY}{test}")
        try:
            return (yield)
        finally:
            self._in_context(before)

    def _tried(self, session: Any, asked: Asked, tests: Sequence[Any], took_s: dict[str, float]) -> str | None:
        """The test that noticed, or that went on for ever."""
        if asked.module in sys.modules:
            graft(sys.modules[asked.module], asked.source)
        else:
            sys.meta_path.insert(0, _Finder(asked))  # loaded by one of the tests
        for item, after in zip(tests, [*tests[1:], None], strict=True):
            self._given.each = max(LEAST_EACH_S, 10.0 * took_s[item.nodeid])
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            if session.testsfailed:
                return str(item.nodeid)
        return None


def _fixture(definition: Any) -> str:
    return f"{definition.baseid}::{definition.argname}"


def _sharing(items: Iterable[Any]) -> dict[str, set[str]]:
    """The tests that each fixture is made for, by its name."""
    found: defaultdict[str, set[str]] = defaultdict(set)
    for item in items:
        for definitions in item._fixtureinfo.name2fixturedefs.values():
            for one in definitions:
                found[_fixture(one)].add(item.nodeid)
    return found


def _tests_of(contexts: Iterable[str], sharing: Mapping[str, set[str]]) -> set[str]:
    """The tests that run what was run in these contexts."""
    found: set[str] = set()
    for name in contexts:
        fixture, by, test = name.partition(BY)
        found |= {test, *sharing.get(fixture, ())} if by else {name}
    return found - {""}


def _test_of(item: Any) -> str:
    """The name of a test without that of its case."""
    return str(item.nodeid).partition("[")[0]


def _within(tests: Sequence[Any], took_s: dict[str, float], most_s: float) -> list[Any]:
    """The first of the tests, together no longer than that; one at least."""
    total_s, chosen = 0.0, []
    for item in tests:
        total_s += took_s[item.nodeid]
        if chosen and total_s > most_s:
            break
        chosen.append(item)
    return chosen


def _print(*paths: Path) -> str:
    """Tells whether files have changed."""
    return hashlib.sha256(b"".join(path.read_bytes() for path in paths)).hexdigest()


class _Spent:
    """What a test costs: processor, its children's too, or a quarter of the time, most of which may be others'."""

    def __init__(self) -> None:
        self._begun, self._begun_s = sum(os.times()[:4]), time.monotonic()

    def since(self) -> float:
        return max(sum(os.times()[:4]) - self._begun, (time.monotonic() - self._begun_s) / 4.0)


class _Known:
    """What the unharmed tests of a room did in an earlier run, while the room was as it is now."""

    def __init__(self, data: str | None, room: Path) -> None:
        self._path = Path(f"{data}.json") if data else None
        self._print = _print(*sorted(room.rglob("*.py")))
        self.tests: dict[str, dict[str, Any]] = {}
        if self._path is not None and self._path.exists():
            was = json.loads(self._path.read_text(encoding="utf-8"))
            if was["room"] == self._print:
                self.tests = was["tests"]

    def keep(self, tests: dict[str, dict[str, Any]]) -> None:
        if self._path is not None:
            text = json.dumps({"room": self._print, "tests": {**self.tests, **tests}})
            self._path.write_text(text, encoding="utf-8")


def _killer(tested: Callable[[], str | None], most_s: float) -> str | None:
    """The test that fails in a child; "" where the child ends in another way, None where all pass."""
    import resource

    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(most_s), resource.RLIM_INFINITY))
        try:
            name = tested()
            os.write(writing, (name or "").encode()[:4096])
            os._exit(0 if name is None else 1)
        except BaseException:  # noqa: BLE001 - a mutant may end in any way; the child has no other
            os._exit(1)
    os.close(writing)
    end = time.monotonic() + STUCK_S * 10.0 + most_s * 10.0
    spent, moved = "", time.monotonic()
    with os.fdopen(reading, "rb") as said:
        while time.monotonic() < end and time.monotonic() < moved + STUCK_S:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                return None if os.waitstatus_to_exitcode(status) == 0 else said.read(4096).decode()
            time.sleep(0.02)
            if (now := _ticks(_family(child))) != spent or not now:
                spent, moved = now, time.monotonic()
        for one in _family(child):
            with contextlib.suppress(ProcessLookupError):
                os.kill(one, signal.SIGKILL)
        os.waitpid(child, 0)
    return ""


def _family(process: int) -> list[int]:
    """A process and what it has started that still runs; itself alone where the system does not tell."""
    found = [process]
    for one in found:
        with contextlib.suppress(OSError):
            for children in Path(f"/proc/{one}/task").glob("*/children"):
                found += map(int, children.read_text().split())
    return found


def _ticks(processes: Sequence[int]) -> str:
    """What they have used of the processor; "" where the system does not tell."""
    told = []
    for one in processes:
        with contextlib.suppress(OSError):
            told.append(" ".join(Path(f"/proc/{one}/stat").read_text().rpartition(")")[2].split()[11:15]))
    return "; ".join(told)


def _tested(tests: Sequence[str], *plugins: object) -> bool:
    """Run them with pytest, in this process, and in silence."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    # Of the plugins only what tests here need: finding all of them takes longer than most tests.
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    return pytest.main(["-q", "-p", "no:cacheprovider", "-p", "pytest_asyncio", *tests], plugins=plugins) == 0


def main() -> int:
    asked = argparse.ArgumentParser()
    asked.add_argument("room", help="a folder of src/sternwatch")
    asked.add_argument("tests", nargs="+")
    asked.add_argument("--sample", type=int, default=0, help="so many of the mutants; 0: all")
    asked.add_argument("--seed", default="mutants", help="which of them")
    asked.add_argument("--part", default="1/1", help="of the sample the second of three parts: 2/3")
    asked.add_argument("--most", type=float, default=60.0, help="seconds that a mutant's tests take unharmed")
    asked.add_argument(
        "--each", type=float, default=60.0, help="seconds of processor; a test that takes longer is left out"
    )
    asked.add_argument("--data", help="where the coverage's data are kept")
    asked.add_argument("--again", help="what an earlier run said: only its survivors are asked")
    given = asked.parse_args()
    room = SOURCES / "sternwatch" / given.room
    paths = sorted(room.rglob("*.py"))
    all_of_it = [Asked(path, place) for path in paths for place in places_of(path.read_text(encoding="utf-8"))]
    chosen = all_of_it
    if 0 < given.sample < len(all_of_it):
        chosen = random.Random(f"{given.seed} {given.room}").sample(all_of_it, given.sample)
    if given.again:
        said = [json.loads(line) for line in Path(given.again).read_text(encoding="utf-8").splitlines()]
        left = {(one["module"], one["code"], one["what"]) for one in said if not one.get("killed", True)}
        chosen = [one for one in chosen if (one.module, one.place.code, one.place.what) in left]
    chosen.sort(key=lambda one: (one.path, one.place.line))
    part, parts = map(int, given.part.split("/"))
    chosen = chosen[part - 1 :: parts]
    # The child that loads everything has its words from a pipe: what the tests print goes nowhere.
    reading, writing = os.pipe()
    loaded = os.fork()
    if loaded == 0:
        os.close(reading)

        def say(line: str) -> None:
            os.write(writing, line.encode() + b"\n")

        import coverage

        given.covering = coverage.Coverage(
            branch=True, source=[str(room.resolve())], data_file=given.data, config_file=False
        )
        given.known = _Known(given.data, room)
        if given.known.tests:
            given.covering.load()
        given.covering.start()
        _tested(given.tests, _Loop(given, chosen, len(all_of_it), say))
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as lines:
        for line in lines:
            print(line, end="", flush=True)
    os.waitpid(loaded, 0)
    return 0


class _First:
    """Keeps the name of the first test that fails."""

    name = ""

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed and not self.name:
            self.name = report.nodeid


def _from_the_first(asked: Asked, tests: Sequence[str], *, compiled: bool = False) -> str | None:
    """The test that notices in a process of its own, started anew; ``compiled``: with the compiler and no cache."""
    import subprocess
    import tempfile

    command = [sys.executable, __file__, "--one", str(asked.path), str(asked.place.number), *tests]
    with tempfile.TemporaryDirectory() as folder:
        plain = {**os.environ, "NUMBA_DISABLE_JIT": "0", "NUMBA_CACHE_DIR": folder} if compiled else None
        said = subprocess.run(command, capture_output=True, text=True, check=False, env=plain)
    return None if said.returncode == 0 else said.stdout


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        path = Path(sys.argv[2])
        places = places_of(path.read_text(encoding="utf-8"))
        sys.meta_path.insert(0, _Finder(Asked(path, places[int(sys.argv[3])])))
        out, first = os.dup(1), _First()
        passed = _tested(["-x", *sys.argv[4:]], first)
        os.write(out, first.name.encode())
        sys.exit(not passed)
    sys.exit(main())
