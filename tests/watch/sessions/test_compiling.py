"""The bar while the solver is compiled: it moves with what is done, and the time left is the rest of the whole."""

import math
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import IO

import pytest

import sternwatch.hydro
from sternwatch.watch.sessions import compiling, prepare, warm
from sternwatch.watch.sessions.compiling import SHARES, Progress, progress_file, progress_words

_AS_STARTED = dict(os.environ)  # with the cache that every test fills
# As agreed: a change of one is to be noticed.
CELLS = 20
SUM = 0.949


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STERNWATCH_CACHE_DIR", str(tmp_path))


def test_every_share_is_that_of_a_kernel_that_there_is() -> None:
    source = "\n".join(path.read_text() for path in Path(sternwatch.hydro.__path__[0]).rglob("*.py"))
    assert set(SHARES) <= set(re.findall(r"^def (\w+)\(", source, re.MULTILINE))
    assert all(share > 0.0 for share in SHARES.values())
    # The rest is that of small kernels, and of the demo.
    assert math.fsum(SHARES.values()) == pytest.approx(SUM, abs=1e-9)


def test_the_bar_moves_with_what_is_done_and_says_how_much_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiling, "SHARES", {"settle": 0.3, "newton": 0.07, "meeting": 0.5})
    clock = [1000.0]
    monkeypatch.setattr(compiling.time, "time", lambda: clock[0])
    assert progress_words() == ""
    progress = Progress()
    progress.begin()
    assert progress_words() == ""
    clock[0] += 20.0
    progress.done("settle")
    clock[0] += 17.0
    Progress().done("newton")  # another process; 37 % after 37 s: 63 s remain
    assert progress_words() == f"[{'#' * 7}{'.' * (CELLS - 7)}] 37 %, about 60 s left"
    progress.done("settle")  # for other types: it counts once
    Progress().done("newton")
    progress.done("a kernel of no weight".replace(" ", "_"))
    assert "37 %" in progress_words()
    assert "about 40 s left" in progress_words(clock[0] + 20.0)
    assert "a few seconds left" in progress_words(clock[0] + 500.0)
    assert prepare.preparing().startswith(f"{prepare.PREPARING} [###")
    progress.end()
    assert progress_words() == ""


@pytest.mark.parametrize(
    "written", ["", "half", "newton 3", "begun nan\nnewton 3", "begun 5", "begun 5\nnewton 3", "begun x"]
)
def test_what_cannot_be_read_tells_nothing(written: str) -> None:
    progress_file().parent.mkdir(parents=True)
    progress_file().write_text(written)
    assert progress_words() == ""
    assert "several on a slow machine" in prepare.preparing()


def test_the_compiler_is_heard() -> None:
    import numba

    heard: list[str] = []
    progress = Progress()
    progress.done = heard.append  # type: ignore[method-assign]
    progress.listen()
    numba.njit(_twice)(2.0)
    assert not heard
    numba.njit(moved)(2.0)
    assert heard == ["moved"]


@pytest.mark.parametrize(
    ("cores", "parts"), [(1, []), (2, [("motion", "separation")]), (4, [("motion",), ("separation",)])]
)
def test_as_many_processes_compile_as_there_are_cores_for(cores: int, parts: list[tuple[str, ...]]) -> None:
    assert warm.shares(cores) == parts


def test_what_is_compiled_ahead_is_all_that_the_demo_needs() -> None:
    """Else the kernels would be compiled twice, for other types: in a process of its own, since types add up."""
    code = """
import sternwatch.watch.sessions.warm as own
from sternwatch.hydro import warm
from sternwatch.watch.sessions.compiling import Progress
from sternwatch.hydro.motion.kernel import run_rows
from sternwatch.hydro.motion.length import prepare
from sternwatch.hydro.motion.report import _report
from sternwatch.hydro.motion.rod_lines import lay_all
from sternwatch.hydro.separation.distance import _nearest
from sternwatch.hydro.separation.pairs import scenario
from sternwatch.hydro.steady.roots import settle
from sternwatch.hydro.steady.table import fill
warm.steady(), warm.told(), warm.motion(), warm.separation()
own._play(Progress(), [])
for kernel in run_rows, prepare, _report, lay_all, _nearest, scenario, settle, fill:
    assert len(kernel.signatures) == 1, kernel
print("each for one set of types")
"""
    done = subprocess.run([sys.executable, "-c", code], env=_AS_STARTED, capture_output=True, text=True, check=False)
    assert done.stdout.split() == ["each", "for", "one", "set", "of", "types"], done.stderr


def test_a_compiler_that_is_killed_begins_again_but_not_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    class Killed:
        def wait(self, _within_s: float) -> int:
            return -9

        def poll(self) -> int:
            return -9

    begun: list[Killed] = []

    def popen(*_: object, **__: object) -> Killed:
        begun.append(Killed())
        return begun[-1]

    monkeypatch.setattr(prepare.subprocess, "Popen", popen)
    compiler = prepare._Compiler()
    compiler.begin()
    assert not compiler.ended()
    assert not compiler.ended()
    with pytest.raises(prepare.PreparationError, match="ended from outside"):
        compiler.ended()
    assert len(begun) == prepare.MOST_TRIES


def _twice(x: float) -> float:
    return x * 2.0


def moved(x: float) -> float:
    return x * 3.0


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0.0, "a few seconds left"), (14.9, "a few seconds left"), (15.1, "about 20 s left"),
        (84.0, "about 80 s left"), (90.5, "about 2 min left"), (200.0, "about 3 min left"),
    ],
)  # fmt: skip
def test_the_time_left_in_words(seconds: float, said: str) -> None:
    assert compiling._left(seconds) == said


def test_a_bar_is_never_longer_than_the_whole_and_none_without_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Shares are measured, so all that is done may come to more than the whole; a clock may be set back."""
    monkeypatch.setattr(compiling, "SHARES", {"settle": 0.7, "newton": 0.6})
    Progress().begin()
    Progress().begin()  # the folder is there already
    progress_file().write_text("begun 1000\nsettle 1000\n")
    assert progress_words() == "", "in no time at all nothing can be told"
    progress_file().write_text("begun 1000\nsettle 1000.5\n")
    assert progress_words(1000.5).startswith(f"[{'#' * 14}")
    progress_file().write_text("begun 1000\nsettle 1100\n")
    assert progress_words(1000.0).endswith("70 %, about 40 s left"), "the clock was set back"
    progress_file().write_text("begun 1000\nsettle 1050\nnewton 1100\n")
    assert progress_words(1500.0) == f"[{'#' * CELLS}] 100 %, a few seconds left"
    Progress().end()
    Progress().end()  # where another process was quicker


@pytest.mark.parametrize(
    ("code", "said", "told"),
    [
        (0, b"", None), (None, b"", None), (1, b"one\ntwo\n", "the solver could not be prepared: two"),
        (1, b"", "the solver could not be prepared: the compiler was ended from outside"),
    ],
)  # fmt: skip
def test_what_became_of_the_compiler(
    monkeypatch: pytest.MonkeyPatch, code: int | None, said: bytes, told: str | None
) -> None:
    begun: list[object] = []

    class Ended:
        def __init__(self, *_: object, stderr: IO[bytes], **__: object) -> None:
            stderr.write(said)
            begun.append(self)

        def wait(self, within_s: float) -> int:
            if code is None:
                raise subprocess.TimeoutExpired("compiler", within_s)
            return code

        def poll(self) -> int | None:
            return code

    monkeypatch.setattr(prepare.subprocess, "Popen", Ended)
    compiler = prepare._Compiler()
    assert compiler.ended(), "it never began"
    compiler.begin()
    if told is None:
        assert compiler.ended() is (code == 0)
        compiler.begin()
        assert len(begun) == (1 if code is None else 2), "one at a time"
    else:
        with pytest.raises(prepare.PreparationError) as fault:
            compiler.ended()
        assert str(fault.value) == told
        assert len(begun) == 1, "what fails by itself would fail again"
