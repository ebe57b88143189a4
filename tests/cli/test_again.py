"""``sternwatch again`` on a part of the demo evening, as people and as programs read it."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from debrief.trip.test_moving import part, trip  # noqa: F401 - fixtures
from sternwatch.cli.main import main
from sternwatch.debrief.trip.packing import pack

pytestmark = pytest.mark.usefixtures("few_members")


@pytest.fixture
def packed(trip: Any, tmp_path: Path) -> str:  # noqa: F811
    target = tmp_path / "part.trip"
    pack(trip, target)
    return str(target)


def test_ways_for_programs_and_a_plotter(packed: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    routes = tmp_path / "again.gpx"
    assert main(["again", packed, "--hit", "1", "--after", "15", "--json", "--gpx", str(routes)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert "Not for navigation" in told["caution"]
    assert told["hit"] == "1"
    assert 1 <= len(told["proposals"]) <= 3
    for one in told["proposals"]:
        assert one["rod"] in ("3", "6")
        assert one["time_s"] > 60.0
        assert one["within_m"] >= one["off_m"] >= 0.0
        assert one["legs"][-1]["side"] is None
    assert routes.read_text(encoding="utf-8").count("<rte>") == len(told["proposals"])


def test_a_way_is_a_list_of_legs_that_begin_where_the_one_before_ends(
    packed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is read at the helm, a leg at a time."""
    asked = ["pass", packed, "--at", "150", "--depth", "20ft", "80ft", "--minutes", "10", "--within", "300ft"]
    assert main(asked) == 0
    head, *rest = capsys.readouterr().out.splitlines()
    assert re.fullmatch(r"A pass of \S+, from \d\d:\d\d:\d\d on:", head)
    legs = [line for line in rest if line.startswith("  ")]
    assert rest[len(legs)].endswith(".")
    assert "lure-minutes 20 to 80 ft down" in rest[len(legs)]
    seconds = [[int(m) * 60 + int(s) for m, s in re.findall(r"(\d+):(\d\d)", leg)] for leg in legs]
    ends = 0
    for begins, lasts in seconds:
        assert begins == pytest.approx(ends, abs=1)
        ends = begins + lasts
    assert ends == pytest.approx(600, abs=15)
    assert main(["again", packed, "--hit", "1", "--after", "15"]) == 0
    told = capsys.readouterr().out
    assert re.search(r"^  +0:00  (starboard|port) \d+° in \d+:\d\d$", told, re.MULTILINE)
    assert re.search(r"^  +\d+:\d\d  \d{3}° at \d\.\d mph$", told, re.MULTILINE)
    assert re.search(r"^  [36] .* passes the place in .*\.$", told, re.MULTILINE)


def test_without_a_number_it_is_the_last_hit_and_says_which(packed: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["again", packed, "--after", "15"]) == 0
    last = capsys.readouterr().out
    number = re.match(r"Hit (\d+) of [^ ]+ again[.:]", last)
    assert number is not None
    assert main(["again", packed, "--after", "15", "--hit", number[1]]) == 0
    assert capsys.readouterr().out == last
    assert main(["again", packed, "--hit", str(int(number[1]) + 1)]) == 1
    assert f"give 1 to {number[1]}" in capsys.readouterr().err


def test_without_a_trip_it_is_the_last_one(capsys: pytest.CaptureFixture[str]) -> None:
    for command in (["again"], ["pass", "--at", "60", "--depth", "20ft", "40ft"]):
        assert main(command) == 1
        assert "there is no logbook yet" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--hit", "99"], r"--hit 99 is not accepted: give 1 to \d+, or the id of a hit"),
        (["--hit", "1", "--after", "-3"], "--after -3 is not accepted: give 0 to 3600 seconds"),
    ],
)
def test_what_is_not_accepted_is_said(
    packed: str, arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["again", packed, *arguments]) == 1
    assert re.search(said, capsys.readouterr().err)


def test_a_pass_for_programs_and_a_plotter(packed: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    route = tmp_path / "pass.gpx"
    asked = ["pass", packed, "--at", "150", "--depth", "20ft", "80ft", "--minutes", "10", "--within", "300ft"]
    assert main([*asked, "--json", "--gpx", str(route)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert "Not for navigation" in told["caution"]
    made = told["pass"]
    assert made["lasts_s"] == pytest.approx(600.0, abs=15.0)
    assert sum(leg["seconds"] for leg in made["legs"]) == pytest.approx(600.0, abs=15.0)
    assert made["wanted_s"] >= made["straight_on_s"]
    assert made["wanted_interval_s"][0] <= made["wanted_s"] <= made["wanted_interval_s"][1]
    assert route.read_text(encoding="utf-8").count("<rte>") == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--at", "150"], "nothing is wanted: give --over-bottom, --depth or --zone"),
        (["--at", "150", "--depth", "9m", "3m"], "--depth is not accepted: give the lesser end, then the greater"),
        (["--at", "150", "--depth", "3m", "9m", "--minutes", "3"], "--minutes 3 is not accepted: give 10 to 40"),
        (["--at", "-1", "--depth", "3m", "9m"], "--at -1: not a time; type 19:42 or 19:42:30, or +5 (minutes)"),
        (["--at", "03:00", "--depth", "3m", "9m"], "--at 03:00: not in this recording, which goes from "),
    ],
)
def test_what_a_pass_does_not_accept_is_said(
    packed: str, arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["pass", packed, *arguments]) == 1
    assert said in capsys.readouterr().err
