"""What a practice session came to, as a debrief tells it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from sternwatch.debrief.report.practised import believed_and_true, outcome
from sternwatch.debrief.trip.sources import TripData
from sternwatch.gear.values.units import SYSTEMS

RESULT: dict[str, Any] = {
    "name": "Reverse course to port", "seed": 7, "done": True, "passed": True, "score": 87.6, "par": 99.0,
    "rods": [
        {
            "key": "3", "name": "P LOW", "depth_believed_mean_m": 28.0, "depth_true_mean_m": 21.3,
            "depth_error_mean_m": 6.7, "depth_error_worst_m": 7.1, "interval_holds_share": 0.25,
        },
        {
            "key": "4", "name": "P DOWN", "depth_error_mean_m": None, "depth_error_worst_m": None,
            "interval_holds_share": None,
        },
    ],
}  # fmt: skip


def test_believed_and_true_rod_by_rod_in_the_users_units() -> None:
    headings, rows = believed_and_true(RESULT, SYSTEMS["metric"])
    assert rows == (("3 P LOW", "28.0", "21.3", "6.7", "7.1", "25 %"), ("4 P DOWN", "–", "–", "–", "–", "–"))
    assert headings[1] == "believed m"
    assert believed_and_true(RESULT, SYSTEMS["us"])[1][0][1:3] == ("91.9", "69.9")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, "Reverse course to port, seed 7: 88 of 100, par 99, passed"),
        ({"passed": False}, "Reverse course to port, seed 7: 88 of 100, par 99, not passed"),
        ({"passed": False, "done": False, "par": None},
         "Reverse course to port, seed 7: 88 of 100, the goal was not reached"),
        ({"score": None, "passed": None}, "Reverse course to port, seed 7: nothing scored"),
    ],
)  # fmt: skip
def test_the_score_in_one_line(change: dict[str, Any], said: str) -> None:
    assert outcome(RESULT | change) == said


def test_only_the_rods_of_the_drill_take_part() -> None:
    text = (Path(__file__).parents[3] / "demo_logs" / "evening.toml").read_text(encoding="utf-8")
    begun = datetime(2025, 7, 19, 11, 0, tzinfo=UTC)
    drill = TripData("p", begun, text, (), None, "fishing", about={"drill": "own", "seed": 1, "rods": ["7", "2"]})
    assert [rod.key for rod in drill.spread.rods] == ["2", "7"]
    assert len(TripData("q", begun, text, (), None, "fishing").spread.rods) == 8
