"""What a fit is made from: a spread file, trips, or both; and what is refused before anything is fitted."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.answers.belief import calibration_file
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.gear import fit as module
from sternwatch.cli.main import main
from sternwatch.feed.errors import FeedError


@dataclass(frozen=True)
class Seen:
    id: str
    trip: str = ""


@pytest.fixture
def given(monkeypatch: pytest.MonkeyPatch) -> None:
    """A spread file with one thing known, and trips with one thing known and one observed each."""
    monkeypatch.setattr("sternwatch.cli.common.inputs.spread_of", lambda path: f"spread of {path}")
    monkeypatch.setattr("sternwatch.answers.belief.observations.known_of", lambda _: (Seen("known 1"),))
    monkeypatch.setattr(module, "_trip", lambda one: (f"spread on {one}", (Seen("known 1"), Seen(f"seen on {one}"))))


@pytest.mark.usefixtures("given")
@pytest.mark.parametrize(
    ("asked", "spread", "observations"),
    [
        (["a.toml"], "spread of a.toml", [("known 1", "")]),
        (["t1"], "spread on t1", [("known 1", ""), ("seen on t1", "t1")]),
        (["t1", "t2"], "spread on t2", [("seen on t1", "t1"), ("known 1", ""), ("seen on t2", "t2")]),
        (["t1", "a.toml"], "spread of a.toml", [("known 1", ""), ("seen on t1", "t1")]),
    ],
)
def test_the_files_spread_counts_and_else_the_last_trips(
    asked: list[str], spread: str, observations: list[tuple[str, str]]
) -> None:
    """What is known in a file is taken from one file alone, so that nothing counts twice."""
    found, seen = module._gathered(asked)
    assert found == spread  # type: ignore[comparison-overlap]
    assert [(one.id, one.trip) for one in seen] == observations


@pytest.mark.usefixtures("given")
def test_two_spread_files_are_one_too_many() -> None:
    with pytest.raises(InputError, match="2 spread files are given; accepted is one"):
        module._gathered(["a.toml", "b.toml"])


@pytest.mark.parametrize(("name", "taken"), [("x" * 80, True), ("x" * 81, False), (None, True)])
def test_a_name_has_eighty_letters_at_most(monkeypatch: pytest.MonkeyPatch, name: str | None, taken: bool) -> None:
    monkeypatch.setattr("sternwatch.answers.belief.fit.fit", lambda *_, name, made: f"{name}, {made.microsecond}")
    spread: Any = SimpleNamespace(boat=SimpleNamespace(name="hand boat"))
    asked = argparse.Namespace(name=name)
    if taken:
        made: Any = module._fitted(asked, spread, [])
        assert made.endswith(f"{name or 'hand boat'}, 0")
    else:
        with pytest.raises(InputError, match="81 letters; accepted are 1 to 80"):
            module._fitted(asked, spread, [])


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (calibration_file.NothingToKeepError(), "nothing to keep"),
        (OSError(28, "No space"), "cannot be saved: the disk is full"),
    ],
)
def test_what_cannot_be_saved_is_a_sentence(monkeypatch: pytest.MonkeyPatch, fault: Exception, said: str) -> None:
    asked: list[Path | None] = []

    def save(_: object, path: Path | None) -> None:
        asked.append(path)
        raise fault

    monkeypatch.setattr(calibration_file, "save", save)
    made: Any = SimpleNamespace(calibration=None)
    for path in ("here.json", None):
        with pytest.raises(InputError, match=said):
            module._saved(argparse.Namespace(save=path), made)
    assert asked == [Path("here.json"), None]


def test_a_report_is_printed_before_it_is_saved(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    monkeypatch.setattr(module, "_gathered", lambda _: (None, [None]))
    monkeypatch.setattr(module, "_fitted", lambda *_: None)
    monkeypatch.setattr("sternwatch.answers.belief.fit_report.report", lambda *_: None)
    monkeypatch.setattr("sternwatch.cli.gear.fit_words.print_report", lambda *_: done.append("printed"))
    monkeypatch.setattr(module, "_saved", lambda *_: done.append("saved"))
    assert main(["fit", "demo", "--save", "--speed", "2 mph"]) == Exit.DONE
    assert done == ["printed", "saved"]


def test_a_file_of_observations_is_read_before_a_trip_is_computed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def gathered(_: object) -> None:
        raise AssertionError("a trip was computed first")

    monkeypatch.setattr(module, "_gathered", gathered)
    assert main(["fit", "demo", "--file", "none.toml"]) == Exit.WRONG_INPUT
    assert "none.toml: no such file" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("fault", "said"),
    [(FeedError("it is empty"), "it is empty"), (OSError(5, "a fault"), "demo cannot be read: .* reports an error")],
)
def test_a_trip_that_cannot_be_read_is_a_sentence(
    monkeypatch: pytest.MonkeyPatch, fault: Exception, said: str
) -> None:
    def data(asked: str, book: object) -> None:
        assert (asked, book) == ("demo", None), "the demo needs no logbook"
        raise fault

    monkeypatch.setattr("sternwatch.cli.common.books.trip_data", data)
    with pytest.raises(InputError, match=said):
        module._trip("demo")
