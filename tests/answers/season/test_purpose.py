"""Calibrating on purpose: three touches, and bottom that is flat enough for them."""

from __future__ import annotations

import pytest

from sternwatch.answers.belief.answer import believed_answer
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.season.purpose import PACES, fall_m, flat, guide
from sternwatch.gear.spread_file.load import parse_spread

SPREAD = """
[boat]
name = "hand boat"
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.ball]
kind = "ball"
mass = "10 lb"
[tackle.fly]
kind = "lure"
[[rod]]
key = "2"
name = "DOWN"
side = "starboard"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
chain = [ { line = "wire", out = "60 ft" }, { tackle = "ball" },
  { line = "mono", length = "20 ft", adjust = true }, { tackle = "fly" } ]
"""


def test_three_touches_at_three_speeds_each_with_line_that_reaches_by_present_belief() -> None:
    spread = parse_spread(SPREAD)
    rod = spread.rods[0]
    made = guide(spread, rod, 15.0, 1.1, now=RodNow(), learned=None)
    assert (made.rod, made.bottom_m, made.reaches) == ("2", 15.0, True)
    assert [touch.speed_m_s for touch in made.touches] == pytest.approx([1.1, 0.935, 1.265])
    assert len(PACES) == 3
    lines = [touch.line_out_m for touch in made.touches]
    assert lines[1] < lines[0] < lines[2], "the faster, the more line"
    one = made.touches[2]
    now = {"2": RodNow(line_out_as_counter_m=one.line_out_m)}
    found = believed_answer(spread, one.speed_m_s, now=now).rods[0].depth_m
    assert found == pytest.approx(15.0, abs=0.1)
    assert not guide(spread, rod, 2000.0, 1.1, now=RodNow(), learned=None).reaches


@pytest.mark.parametrize(
    ("track", "fell"),
    [
        ([(0.0, 20.0), (30.0, 21.0), (60.0, 20.5)], 1.0),
        ([(0.0, 20.0), (50.0, 21.0), (60.0, 20.5), (100.1, 90.0), (-1.0, 90.0)], 1.0),
        ([(0.0, 20.0), (100.0, 22.5), (50.0, 20.5)], 2.5),
        ([(0.0, 20.0), (60.0, 21.0)], None),
        ([(0.0, 20.0), (30.0, 21.0), (49.9, 20.5)], None),
        ([(0.0, 20.0), (30.0, 21.0), (50.0, 20.5)], 1.0),
        ([], None),
    ],
)
def test_how_much_the_bottom_just_passed_falls(track: list[tuple[float, float]], fell: float | None) -> None:
    assert fall_m(track) == fell


def test_flat_is_within_a_metre_or_a_twenty_fifth_of_the_depth() -> None:
    assert flat(10.0, 1.0)
    assert not flat(10.0, 1.01)
    assert flat(50.0, 2.0)
    assert not flat(50.0, 2.01)
    assert not flat(50.0, None)
