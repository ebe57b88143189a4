"""The bar while the solver is compiled: it moves with what is done, and the time left is the rest of the whole."""

import re
from itertools import pairwise
from pathlib import Path

import pytest

import sternwatch.hydro
from sternwatch.watch.sessions import compiling, prepare
from sternwatch.watch.sessions.compiling import MILESTONES, Progress, progress_file, progress_words

# As agreed: a change of one is to be noticed.
CELLS = 20


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STERNWATCH_CACHE_DIR", str(tmp_path))


def test_every_milestone_is_a_kernel_that_there_is_and_they_only_grow() -> None:
    source = "\n".join(path.read_text() for path in Path(sternwatch.hydro.__path__[0]).rglob("*.py"))
    defined = set(re.findall(r"^def (\w+)\(", source, re.MULTILINE))
    assert set(MILESTONES) <= defined
    assert all(a < b for a, b in pairwise(MILESTONES.values()))


def test_the_bar_moves_with_what_is_done_and_says_how_much_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = [1000.0]
    monkeypatch.setattr(compiling.time, "time", lambda: clock[0])
    assert progress_words() == ""
    progress = Progress()
    clock[0] += 37.0
    progress.done("settle")  # 37 % after 37 s: 63 s remain
    assert progress_words() == f"[{'#' * 7}{'.' * (CELLS - 7)}] 37%, about 60 s left"
    progress.done("flow_at")  # for other types: no step back
    assert "37%" in progress_words()
    assert "about 40 s left" in progress_words(clock[0] + 20.0)
    assert "a few seconds left" in progress_words(clock[0] + 500.0)
    assert prepare.preparing().startswith(f"{prepare.PREPARING} [###")
    progress.end()
    assert progress_words() == ""


@pytest.mark.parametrize("written", ["", "half", "0.5 3", "0 0 0", "nan 1 1", "7 1 1"])
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
    assert heard[-1:] == ["_twice"]


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
