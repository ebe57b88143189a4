"""Where an outlook's shares begin to count, and what a pair's times are."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import made_outlooks

from sternwatch.watch.picture.meetings import Shares

PAIR = made_outlooks.pair(("1", "2"), 0.0)


@pytest.mark.parametrize(
    ("near", "touch", "wrapped", "counts"),
    [
        (0.0, 0.1, 0.0, True),
        (0.0, 0.0, 0.1, True),
        (0.0, 0.0625, 0.0625, True),
        (0.0, 0.0625, 0.03, False),
        (1.0, 0.0, 0.0, False),
    ],
)
def test_a_contact_counts_from_one_member_in_ten(near: float, touch: float, wrapped: float, counts: bool) -> None:
    contact: Any = SimpleNamespace(time_s=30.0)
    made = replace(PAIR, shares=Shares(near, touch, wrapped), contact=contact, undercut_s=20.0)
    assert made.counting_contact is (contact if counts else None)
    assert made.meet_s == 30.0
    assert replace(made, contact=None).meet_s == 20.0


def test_the_worst_pair_is_the_likeliest_and_of_equals_the_closest_for_what_it_needs() -> None:
    """One whose share or whose distance nobody knows is none."""

    def of(key: str, probability: float | None, separation: float | None, required: float | None) -> Any:
        made = made_outlooks.pair(("1", key), probability)
        return replace(made, separation_m=separation, required_m=required)

    likely, close, far = of("2", 0.5, 3.0, 1.0), of("3", 0.25, 0.5, 1.0), of("4", 0.25, 0.4, 0.5)
    nobody = (of("5", None, 0.1, 1.0), of("6", 0.9, None, 1.0), of("7", None, None, None))
    for pairs, worst in (
        ((far, close, likely, *nobody), likely), ((far, close, *nobody), close), ((close, far), close),
        (nobody, None), ((), None),
    ):  # fmt: skip
        assert made_outlooks.forecast("hold", *pairs).worst is worst
