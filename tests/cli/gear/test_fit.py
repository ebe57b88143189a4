"""``sternwatch fit``, and the calibrations that it keeps for every other command."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from sternwatch.cli.common.exits import Exit
from sternwatch.cli.main import main
from sternwatch.debrief.trip.observed import observed_on
from sternwatch.debrief.trip.sources import TripData
from sternwatch.logbook.actions.kinds import parse
from sternwatch.places import shipped
from sternwatch.watch.picture.model import Session

EVENING = str(shipped("demo_logs") / "evening.toml")
KNOWN = ("--observe", 'rod = "3", depth = "70 ft", speed = "2.3 mph", at = "device", error = "2 ft"')


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("CONFIG", "DATA"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path / name.lower()))
    return tmp_path


@pytest.fixture
def two_rods(tmp_path: Path) -> str:
    """The evening's spread with one low diver and one downrigger alone."""
    head, *rods = Path(EVENING).read_text(encoding="utf-8").split("[[rod]]")
    kept = [rod for rod in rods if 'key = "3"' in rod or 'key = "5"' in rod]
    path = tmp_path / "two.toml"
    path.write_text("[[rod]]".join([head, *kept]), encoding="utf-8")
    return str(path)


def said(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[dict[str, Any], str]:
    assert main([*argv, "--json"]) == Exit.DONE
    out = capsys.readouterr()
    return json.loads(out.out), out.err


def test_what_was_fitted_is_kept_found_and_named(
    capsys: pytest.CaptureFixture[str], own_folders: Path, two_rods: str
) -> None:
    before, _ = said(capsys, "depth", two_rods, "--speed", "2.3 mph")
    assert before["calibration"] is None
    made, _ = said(capsys, "fit", two_rods, *KNOWN, "--speed", "2.3 mph", "--save", "--name", "July")
    assert made["saved"].startswith(str(own_folders / "config" / "calibrations"))
    (one,) = made["observations"]
    assert (one["rod"], one["used"], one["why"], one["disagrees"]) == ("3", True, None, False)
    assert one["value"] == pytest.approx(70 * 0.3048)
    assert abs(one["believed_after"] - one["value"]) < abs(one["believed_before"] - one["value"])
    assert any(row["name"] == "line wire strumming" for row in made["quantities"])
    assert len(made["next"]) == 2

    after, words = said(capsys, "depth", two_rods, "--speed", "2.3 mph")
    assert after["calibration"] == "July"
    assert "calibration: July" in words
    third = made["rods"][0]
    assert after["rods"][0]["depth_m"] == pytest.approx(third["depth_after_m"], abs=1e-6)
    assert after["rods"][0]["depth_interval_m"] == pytest.approx(third["depth_after_interval_m"], abs=1e-6)
    without, _ = said(capsys, "depth", two_rods, "--speed", "2.3 mph", "--calibration", "none")
    assert without == before


def test_priors_are_listed_with_their_sources(capsys: pytest.CaptureFixture[str]) -> None:
    listed, _ = said(capsys, "fit", EVENING, "--priors")
    by_name = {row["name"]: row for row in listed["priors"]}
    # 1.0 to 1.7 of a still cylinder's drag, about the 1.3 in use.
    assert by_name["line wire strumming"]["low"] == pytest.approx(1.0 / 1.3)
    assert by_name["line wire strumming"]["high"] == pytest.approx(1.7 / 1.3)
    assert "Blevins" in by_name["line wire strumming"]["source"]
    assert all(row["source"] for row in listed["priors"])


def test_people_read_a_table(capsys: pytest.CaptureFixture[str], two_rods: str) -> None:
    assert main(["fit", two_rods, *KNOWN, "--units", "us"]) == Exit.DONE
    out = capsys.readouterr().out
    assert "1 of 1 observations used" in out
    assert "what would help most next:" in out
    assert "Not for navigation." in out


@pytest.mark.parametrize(
    ("argv", "said_so"),
    [
        ([EVENING], "there is nothing to fit"),
        ([EVENING, "--observe", 'rod = "3", dept = "70 ft"'], 'dept: unknown field (did you mean "depth"?)'),
        ([EVENING, "--observe", 'rod = "3" depth'], "--observe"),
        ([EVENING, "--observe", 'rod = "x", depth = "70 ft", speed = "2 mph"'], 'rod = "x": no rod has that key'),
        ([EVENING, *KNOWN, "--speed", "0 mph"], "--speed is 0"),
        ([EVENING, EVENING], "2 spread files are given"),
    ],
)
def test_what_is_wrong_is_a_sentence(capsys: pytest.CaptureFixture[str], argv: list[str], said_so: str) -> None:
    assert main(["fit", *argv]) == Exit.WRONG_INPUT
    out = capsys.readouterr()
    assert said_so in out.err
    assert out.out == ""


def test_a_calibration_that_is_not_there_is_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["depth", EVENING, "--speed", "2 mph", "--calibration", "nowhere.json"]) == Exit.WRONG_INPUT
    assert "nowhere.json: there is no such file" in capsys.readouterr().err


def sentence(body: str) -> str:
    total = 0
    for letter in body:
        total ^= ord(letter)
    return f"${body}*{total:02X}\r\n"


def test_a_trips_observations_are_placed_by_playing_its_recording(tmp_path: Path) -> None:
    begin = datetime(2026, 7, 18, 23, 0, tzinfo=UTC)
    lines = []
    for second in range(220):
        at = begin + timedelta(seconds=second)
        north = 47.0 * 60 + second * 1.03 / 1852.0
        place = f"{int(north // 60):02d}{north % 60:07.4f},N,08800.0000,W"
        lines += [
            sentence(f"GPRMC,{at:%H%M%S}.00,A,{place},2.00,000.0,{at:%d%m%y},,,A"),
            sentence("SDDPT,19.5,0.0"),
            sentence("VWVHW,,T,,M,2.00,N,,K"),
        ]
    feed = tmp_path / "trip.nmea"
    feed.write_text("".join(lines), newline="")
    acts = [
        {"what": "touched bottom", "at": "ball", "rod": "5"},
        {"what": "pull", "pull_N": 14.0, "rod": "3"},
        {"what": "known", "depth_m": 21.0, "speed_m_s": 1.03, "rod": "6"},
    ]
    actions = [
        parse({"id": f"a{n}", "kind": "observed", "time": (begin + timedelta(seconds=200)).isoformat(), **act})
        for n, act in enumerate(acts)
    ]
    text = Path(EVENING).read_text(encoding="utf-8")
    data = TripData("trip", begin, text, actions, feed, "fishing", session=Session.REPLAY.value)
    _, (touch, pull, known) = observed_on(data)
    assert touch.used, touch.why
    assert touch.value == pytest.approx(19.5 + 1.5 * 0.3048, abs=0.01)  # the transducer's depth comes to it
    assert pull.used, pull.why
    assert (pull.value, known.value) == (14.0, 21.0)
    assert touch.speed_m_s == pytest.approx(2.0 * 1852 / 3600, abs=0.01)
