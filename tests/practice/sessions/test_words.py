"""A result in lines of text."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.store.results import Attempt
from sternwatch.practice.sessions.words import believed_lines, progress_lines

ROD: dict[str, Any] = {
    "key": "3", "name": "P LOW", "depth_believed_mean_m": 28.0, "depth_true_mean_m": 21.3,
    "depth_error_worst_m": 7.1, "interval_holds_share": 0.25,
}  # fmt: skip
UNKNOWN: dict[str, Any] = {"key": "4", "name": "P DOWN"} | dict.fromkeys(ROD.keys() - {"key", "name"})


def test_believed_and_true_stand_side_by_side_and_what_is_not_known_is_a_dash() -> None:
    lines = believed_lines([ROD, UNKNOWN], SYSTEMS["us"])
    assert lines[-3].split() == ["3", "P", "LOW", "91.9", "69.9", "+23.3", "25", "%"]
    assert lines[-2].split() == ["4", "P", "DOWN", "–", "–", "–", "–"]
    assert "ft" in lines[0]
    assert max(map(len, lines)) <= 78


def test_a_shallower_belief_has_its_sign() -> None:
    lines = believed_lines([ROD | {"depth_error_worst_m": -2.0}], SYSTEMS["metric"])
    assert "-2.0" in lines[-2]


def test_attempts_are_bars_with_the_par_told() -> None:
    begun = datetime(2025, 7, 19, 11, 0, tzinfo=UTC)
    made = [Attempt("t", begun, "squall", 1, score, score > 50, 96.0, {}) for score in (20.0, 100.0)]
    free = Attempt("t", begun, "free", 1, None, None, None, {})
    lines = progress_lines([*made, free])
    assert lines[0] == "Attempts (par 96)"
    assert [line.count("█") for line in lines[1:]] == [4, 20]
    assert [line.endswith("passed") for line in lines[1:]] == [False, True]
    assert progress_lines([free]) == []
