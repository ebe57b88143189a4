"""``sternwatch observe``: a logger's file through the command, into the logbook and onto the debrief's timeline."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from debrief.logger.test_logger import depth_at, samples
from sternwatch.cli.main import main
from sternwatch.debrief.report.logged import legend, overlays, score_rows
from sternwatch.debrief.trip.digest import Digest
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import new_trip
from sternwatch.places import shipped
from sternwatch.watch.chains.spread_in_force import Rigging

BEGUN = datetime(2026, 7, 18, 20, 0, tzinfo=UTC)
WRONG_S = 4.0 * 3600.0 - 37.0  # the logger's clock is a zone and some seconds off


@pytest.fixture
def book(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A trip of an invented hour, worked through already."""
    from sternwatch.gear.spread_file.load import parse_spread

    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path))
    text = (shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8")
    with Logbook(tmp_path / "logbook.sqlite") as made:
        trip = new_trip(BEGUN, spread_name="demo boat", spread_text=text)
        made.begin_trip(trip)
        made.end_trip(trip.id, BEGUN + timedelta(hours=1))
    crew = fold((), Rigging.of(parse_spread(text)), "fishing")
    digest = Digest(tuple(samples(1.0)), (), (), (), crew, 3600.0, BEGUN.timestamp())
    monkeypatch.setattr("sternwatch.cli.trips.observe.worked_through", lambda *_: digest)
    return tmp_path


@pytest.fixture
def file(tmp_path: Path) -> Path:
    rows = ["Date Time,Depth (ft),Temp (F)"]
    for second in range(400, 2800, 2):
        when = (BEGUN + timedelta(seconds=second + WRONG_S)).strftime("%m/%d/%Y %H:%M:%S")
        rows.append(f"{when},{depth_at(second) / 0.3048:.2f},{60.0 - depth_at(second):.1f}")
    path = tmp_path / "logger.csv"
    path.write_text("\n".join(rows))
    return path


def observed(capsys: pytest.CaptureFixture[str], *more: str) -> dict[str, Any]:
    assert main(["observe", "last", "--rod", "6", *more, "--json"]) == 0
    made: dict[str, Any] = json.loads(capsys.readouterr().out)
    return made


def test_it_is_set_to_the_trips_clock_compared_and_entered_once(
    book: Path, file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shown = observed(capsys, "--logger", str(file), "--only-show")
    assert shown["entered"] == 0
    made = observed(capsys, "--logger", str(file))
    assert made["offset_s"] == pytest.approx(400.0, abs=4.0)
    straight = next(one for one in made["compared"] if one["way"] == "straight")
    assert straight["bias_m"] == pytest.approx(1.0, abs=0.1)
    assert straight["inside"] == 1.0
    observed(capsys, "--logger", str(file))  # once more
    with Logbook(book / "logbook.sqlite") as logbook:
        (trip,) = logbook.trips()
        actions = logbook.actions(trip.id)
    seen = [one for one in actions if one.kind == "observed"]
    assert len(seen) == len(made["observations"]) >= 8
    assert [one.elapsed_s for one in seen] == [one["elapsed_s"] for one in made["observations"]]
    gauges = [one for one in actions if one.kind == "gauge"]
    assert len(gauges) >= 3
    assert made["entered"] == len(seen) + len(gauges)
    (kept,) = overlays(book, trip.id, samples(1.0))
    assert kept.series.t_s[0] == pytest.approx(400.0, abs=4.0)
    assert legend(kept, SYSTEMS["us"]) == "6 logged\noff 3.3 ft rms\n100 % inside"
    headings, rows = score_rows([kept], SYSTEMS["us"])
    assert headings[3:] == ("off ft rms", "computed less logged ft", "in 90 %")
    assert {row[1]: row[4:] for row in rows}["all ways"] == ("3.3", "100 %")
    assert {row[1] for row in rows} == {"all ways", "straight", "turning", "sinking"}
    assert overlays(book, trip.id, ())[0].scores == ()  # it is drawn all the same


def test_people_read_two_curves_and_how_far_off(book: Path, file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert book.is_dir()
    assert main(["observe", "last", "--rod", "6", "--logger", str(file), "--only-show"]) == 0
    said = capsys.readouterr().out
    assert "depth: Depth (ft)" in said
    assert "computed  " in said
    assert "logged    " in said
    assert "off 3.3 ft rms" in said
    assert "Nothing was entered." in said


def test_the_rod_is_found_where_it_is_not_said(book: Path, file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert book.is_dir()
    assert main(["observe", "last", "--logger", str(file), "--only-show", "--json"]) == 0
    got = capsys.readouterr()
    assert json.loads(got.out)["rod"] == "6"
    assert "it hung on rod 6" in got.err


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--rod", "x"), "the trip has no such rod; accepted: 1, 2"),
        (("--rod", "6", "--error", "0"), "--error 0 is not accepted"),
        (("--rod", "6", "--depth-unit", "cubits"), '"cubits" is not a unit of depth; accepted'),
    ],
)
def test_what_is_wrong_is_a_sentence(
    book: Path, file: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...], said: str
) -> None:
    assert book.is_dir()
    assert main(["observe", "last", "--logger", str(file), *more]) == 1
    assert said in capsys.readouterr().err
