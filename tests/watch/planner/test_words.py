"""A plan of the spread in words: the wish, the rows in order, and what stands in the way."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.answers.depths.reach import Wanted
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.planner.plan import RodOfPlan
from sternwatch.watch.planner.words import found_words, headline, heads, rows

METRIC, US = SYSTEMS["metric"], SYSTEMS["us"]
DIVER = RodOfPlan("1", "DIVER", "low", 40.0, "high", 36.6, 12.0, (10.5, 11.0, 12.0, 13.0, 13.5), 30.0, -6.0, True, "")
DOWN = RodOfPlan("2", "DOWN", None, 18.3, None, 18.3, 15.0, (-0.5, 0.0, 1.0, 2.0, 3.0), 9.0, 1.0, True, "")
CLIPPED = RodOfPlan("3", "STACKED", None, None, None, None, None, None, None, None, False, "hangs on rod 2's cable")


def plan(**more: Any) -> Any:
    order = SimpleNamespace(keys=("2", "1"), time_s=400.0, crossings=())
    given = {"wanted": Wanted(8.0, 14.0, 1.0, ("1", "2", "3")), "u_turn_s": 110.0, "rods": (DIVER, DOWN, CLIPPED),
             "letting_out": order, "any_crossing": 0.0, "in_the_way": lambda _spread, _units: []}  # fmt: skip
    return SimpleNamespace(**(given | more))


def test_the_wish_in_one_line(two_rods: Spread) -> None:
    said = headline(two_rods, plan(), METRIC)
    assert said == "hand boat: lures from 8 to 14 m at 3.6 km/h through the water, U-turns in 110 s"
    assert headline(two_rods, plan(u_turn_s=None), METRIC).endswith(" through the water")


def test_rows_in_the_order_to_let_out_and_the_rest_behind() -> None:
    made = rows(plan(), METRIC)
    assert [row[0] for row in made] == ["2 DOWN", "1 DIVER", "3 STACKED"]
    assert made[1] == ("1 DIVER", "low", "40.0", "36.6 high", "12.0", "10.5–13.5", "6.0 P")
    assert made[0] == ("2 DOWN", "–", "18.3", "18.3", "15.0", "0.0–3.0", "1.0 S")
    assert made[2] == ("3 STACKED", "–", "–", "–", "–", "–", "–")
    assert rows(plan(), US)[1][2] == "131"
    assert rows(plan(rods=(replace(DIVER, abeam_m=0.4), DOWN, CLIPPED)), METRIC)[1][-1] == "0.4 S"
    assert all(len(row) == len(heads(US)) for row in made)
    assert heads(US)[2] == "line out\nft"


@pytest.mark.parametrize(
    ("keys", "crossings", "time_s", "said"),
    [
        ((), (), 0.0, "No line to let out"),
        (("1",), (), 20.0, "Let out in this order: as simulated, no line touches another on its way out; "
         "about 1 min with one pair of hands"),
        (("1", "2"), (1,), 400.0, "Let out in this order: as simulated, 1 pair touches on the way out; "
         "about 7 min with one pair of hands"),
        (("1", "2"), (1, 2), 400.0, "Let out in this order: as simulated, 2 pairs touch on the way out; "
         "about 7 min with one pair of hands"),
    ],
)  # fmt: skip
def test_the_order(two_rods: Spread, keys: Any, crossings: Any, time_s: float, said: str) -> None:
    order = SimpleNamespace(keys=keys, time_s=time_s, crossings=crossings)
    assert found_words(plan(letting_out=order), two_rods, METRIC)[0] == said


def test_how_likely_lines_cross(two_rods: Spread) -> None:
    assert found_words(plan(), two_rods, METRIC)[1:] == [
        "Any crossing in the worse of the U-turns: in none of 16 versions"
    ]
    more = found_words(plan(any_crossing=0.125, u_turn_s=None, in_the_way=lambda *_: ["a", "b"]), two_rods, METRIC)
    assert more[1:] == ["Any crossing on a straight course: 12 % of the versions", "a", "b"]


def test_what_a_plan_changes_of_a_rod() -> None:
    assert DIVER.changes
    assert not DOWN.changes
    assert not CLIPPED.changes
    assert DIVER.depth_interval_m == (10.5, 13.5)
    assert CLIPPED.depth_interval_m is None
