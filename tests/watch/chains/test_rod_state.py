"""What a rod does, by what its crew entered and by whether its line runs."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.watch.chains.rod_state import line_out_m, past_tip_m, rod_state


def mine(state: str, line_out: float | None = 50.0, *, lost: bool = False) -> Any:
    return SimpleNamespace(state=state, line_out_m=line_out, length_lost=lost)


def chain(moving: float = 0.0, *, reading: float | None = 30.0, out: bool = True, there: bool = True) -> Any:
    reel = SimpleNamespace(past_tip_m=32.4)
    return SimpleNamespace(moving=moving, reading_m=reading, out=out, place=object() if there else None, reel=reel)


@pytest.mark.parametrize(
    ("entered", "moving", "there", "does"),
    [
        ("fishing", 0.0, True, "fishing"),
        ("fishing", 1.0, True, "letting out"),
        ("fishing", -1.0, True, "reeling"),
        ("letting out", 1.0, True, "letting out"),
        ("letting out", 0.0, True, "fishing"),  # it has its full length
        ("letting out", 0.0, False, "letting out"),
        ("fighting", 1.0, True, "fighting"),
        ("fighting", -1.0, True, "fighting"),
        ("in", 0.0, False, "in"),
    ],
)
def test_a_running_line_says_more_than_its_entry(entered: str, moving: float, there: bool, does: str) -> None:
    assert rod_state(mine(entered), chain(moving, there=there)) == does


@pytest.mark.parametrize(
    ("entered", "lost", "given", "line_m", "past_m"),
    [
        ("fishing", False, {}, 30.0, 32.4),
        ("fishing", False, {"reading": -2.0}, 0.0, 32.4),  # the leader alone is out
        ("fishing", False, {"reading": None}, 50.0, 32.4),
        ("fishing", False, {"out": False}, 50.0, 32.4),
        ("fighting", True, {}, None, None),
        ("in", False, {}, None, None),
    ],
)
def test_line_out_is_what_the_counter_reads(
    entered: str, lost: bool, given: dict[str, Any], line_m: float | None, past_m: float | None
) -> None:
    rod = mine(entered, lost=lost)
    assert (line_out_m(rod, chain(**given)), past_tip_m(rod, chain(**given))) == (line_m, past_m)
