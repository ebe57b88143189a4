"""Which segments count as tackle: the leaders between bodies, up to ten metres."""

from __future__ import annotations

import pytest

from sternwatch.hydro.chain.leaders import leaders
from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line
from sternwatch.hydro.separation.verdicts import Verdict, verdict_of

LURE = Body(BodyKind.BLUFF, 0.01, 0.1)


def line(length: float) -> Line:
    return Line(length, 1e-3, 1e-3, 0.0, 1e3)


@pytest.mark.parametrize(
    ("items", "segments", "flags"),
    [
        ((line(50.0), LURE), [3], [False] * 3),
        ((line(50.0), LURE, line(10.0), LURE), [3, 2], [False] * 3 + [True] * 2),
        ((line(50.0), LURE, line(10.1), LURE), [3, 2], [False] * 5),
        ((line(50.0), LURE, line(6.0), line(4.0), LURE), [3, 2, 1], [False] * 3 + [True] * 3),
        ((line(50.0), LURE, line(6.0), line(4.1), LURE), [3, 2, 1], [False] * 6),
        (
            (line(5.0), LURE, line(3.0), LURE, line(20.0), LURE, line(2.0)),
            [1, 2, 3, 4],
            [False, True, True] + [False] * 7,
        ),
        ((line(5.0),), [2], [False] * 2),
    ],
)
def test_line_between_two_bodies_up_to_ten_metres(items: tuple, segments: list[int], flags: list[bool]) -> None:
    assert leaders(Chain((0.0, 0.0, 0.0), items), segments) == flags


@pytest.mark.parametrize(
    ("ratio", "touches", "linked", "on_tackle", "verdict"),
    [
        (1.0, False, False, False, Verdict.CLEAR_OF_EACH_OTHER), (0.99, False, False, False, Verdict.NEAR_PASS),
        (0.5, True, False, False, Verdict.TOUCH), (0.5, True, True, False, Verdict.WRAPPED),
        (0.5, True, False, True, Verdict.WRAPPED),
    ],
)  # fmt: skip
def test_the_verdict_of_one_meeting(
    ratio: float, touches: bool, linked: bool, on_tackle: bool, verdict: Verdict
) -> None:
    assert verdict_of(ratio, touches, linked, on_tackle) is verdict
