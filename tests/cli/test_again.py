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


@pytest.fixture
def packed(trip: Any, tmp_path: Path) -> str:  # noqa: F811
    target = tmp_path / "part.trip"
    pack(trip, target)
    return str(target)


def test_ways_for_programs_and_a_plotter(packed: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    routes = tmp_path / "again.gpx"
    assert main(["again", packed, "--hit", "1", "--after", "45", "--json", "--gpx", str(routes)]) == 0
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
