"""Chains as separation sees them, and points that the boat carries along: against numbers by hand."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.hydro.chain.model import Body, Line
from sternwatch.hydro.motion.rod_lines import POINTS
from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.chains.encounters import Crossing, Encounters, _layout
from sternwatch.watch.chains.strands import _segments_of, carried, strands_of_rows, turned


def line(length_m: float) -> Line:
    made = Line.__new__(Line)
    object.__setattr__(made, "length_m", length_m)
    return made


def chain(*items: float | None) -> Any:
    """Lines by their lengths, and bodies (None)."""
    return SimpleNamespace(items=tuple(Body.__new__(Body) if one is None else line(one) for one in items))


def rows(arcs: list[list[float]], bodies: list[list[int]], *, rod_node: list[int], tips: Any = None) -> Any:
    nodes = max(map(len, arcs)) + 1  # room that no chain uses
    arc = np.array([[*one, *[one[-1]] * (nodes - len(one))] for one in arcs])
    return SimpleNamespace(
        nodes=nodes, arc_m=arc, n_nodes=np.array([len(one) for one in arcs]), body_node=np.array(bodies),
        rod_node=np.array(rod_node), rod_tip_m=np.zeros((len(arcs), 3)) if tips is None else np.array(tips),
    )  # fmt: skip


def test_what_of_a_chain_is_tackle_and_whose_line_leads_to_a_release() -> None:
    """A diver 20 m out with a leader of 3 m; a board 8 m out on a line from a tip 13 m away; a rod clipped to it."""
    chains = [chain(20.0, None, 3.0, None), chain(8.0, None, 30.0, None), chain(5.0, None)]
    made_of = rows(
        [[0.0, 10.0, 20.0, 21.5, 23.0], [0.0, 8.0, 38.0], [0.0, 5.0]], [[2, 4, -1], [1, 2, -1], [1, -1, -1]],
        rod_node=[-1, 1, -1], tips=[[9.0, 9.0, 9.0], [-3.0, 4.0, 12.0], [0.0, 0.0, 0.0]],
    )  # fmt: skip
    made = strands_of_rows(made_of, chains, parent=[-1, -1, 1], with_line=[1])
    wide = max(made_of.nodes, POINTS)
    assert made.arc_m.shape == (4, wide)
    assert made.leader.shape == (4, wide - 1)
    assert made.n_nodes.tolist() == [5, 3, 2, POINTS]
    assert made.owner.tolist() == [0, 1, 1, 1], "a clipped rod is its carrier's, and so is a rod's line"
    assert made.arc_m[0].tolist() == [0.0, 10.0, 20.0, 21.5, *[23.0] * (wide - 4)]
    assert made.arc_m[3, :POINTS] == pytest.approx(np.linspace(0.0, 13.0 + 8.0, POINTS))
    assert [np.flatnonzero(row).tolist() for row in made.body_node] == [[2, 4], [1, 2], [1], []]
    assert [np.flatnonzero(row).tolist() for row in made.leader] == [[2, 3], [], [], []], "30 m is no leader"


def test_beyond_a_chains_end_lies_its_last_node() -> None:
    """Rows with fewer nodes than a rod's line has points, and no room to spare."""
    made_of = rows([[0.0, 7.0, 9.0]], [[2, -1, -1]], rod_node=[-1])
    made_of.nodes, made_of.arc_m = 3, made_of.arc_m[:, :3]
    made = strands_of_rows(made_of, [chain(9.0, None)], parent=[-1], with_line=[])
    assert POINTS > 3
    assert made.arc_m.tolist() == [[0.0, 7.0, 9.0, *[9.0] * (POINTS - 3)]]


@pytest.mark.parametrize(
    ("items", "arc", "segments"),
    [
        ((20.0, None, 3.0, None), [0.0, 10.0, 20.0, 21.5, 23.0], [2, 2]),
        ((20.0, None, 3.0), [0.0, 20.0, 21.0, 22.0, 23.0], [1, 3]),
        ((4.0, 6.0, None, 2.0, None), [0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0], [2, 3, 1]),
    ],
)  # fmt: skip
def test_how_many_segments_each_line_has(
    items: tuple[float | None, ...], arc: list[float], segments: list[int]
) -> None:
    made_of = rows([[0.0, 1.0], arc], [[1], [len(arc) - 1]], rod_node=[-1, -1])
    assert _segments_of(made_of, 1, chain(*items)) == segments


@pytest.mark.parametrize("out_m", [20.0, 12.0])
def test_on_the_way_out_lines_are_told_from_the_chains_end(out_m: float) -> None:
    """The first line is 20 m on the whole; so much of it is out now."""
    arc = np.array([0.0, out_m / 2.0, out_m, out_m + 1.5, out_m + 3.0, out_m + 5.0])
    rig: Any = SimpleNamespace(chain=chain(20.0, None, 3.0, None, 2.0, None))
    assert _layout(rig, arc) == ([2, 4, 5], [2, 2, 1])
    bare: Any = SimpleNamespace(chain=chain(20.0))
    assert _layout(bare, arc[:3]) == ([], [2])
    first: Any = SimpleNamespace(chain=chain(20.0, None))
    assert _layout(first, arc[:3]) == ([2], [2])


@pytest.mark.parametrize("heading_deg", [0.0, 30.0, 135.0, -100.0])
def test_points_of_the_boat_turn_with_her_and_go_along(heading_deg: float) -> None:
    """By complex numbers: north real, east imaginary; forward turned by the heading."""
    a = math.radians(heading_deg)
    points = np.array([[-2.0, 3.0, 1.5], [4.0, -1.0, -0.5]])
    by = (points[:, 0] + 1j * points[:, 1]) * np.exp(1j * a)
    assert turned(points, a) == pytest.approx(np.stack([by.real, by.imag, points[:, 2]], axis=1))
    track = np.array([[[10.0, 20.0, a]], [[11.0, 25.0, a + 1.0]]])  # two samples of one member
    made = carried(points, track, 2)
    assert made.shape == (2, 2, 3)
    later = (points[:, 0] + 1j * points[:, 1]) * np.exp(1j * (a + 1.0)) + (11.0 + 25.0j)
    assert made[1] == pytest.approx(np.stack([later.real, later.imag, points[:, 2]], axis=1))
    assert made[0, :, 0] == pytest.approx(by.real + 10.0)


# -- what a block of samples told ------------------------------------------------------------------------------------


def closest(*pairs: dict[str, Any]) -> Any:
    """What separation found of pairs of rows."""
    count = len(pairs)
    usual = {
        "rows": (0, 1), "ratio": 2.0, "distance": 3.0, "required": 1.5, "time": 4.0, "crosses": False, "linked": 0,
        "contact": math.nan, "tackle": (),
    }  # fmt: skip
    told = [{**usual, **one} for one in pairs]
    passes = np.full((1, count, 3, 6), np.nan)
    for i, one in enumerate(told):
        for k, on in enumerate(one["tackle"]):
            passes[0, i, k] = (one["contact"], 1.0, 2.0, 3.0, 1.0, float(on))
    return SimpleNamespace(
        pairs=np.array([one["rows"] for one in told]), passes=passes,
        **{name: np.array([[one[key] for one in told]]) for name, key in (
            ("ratio", "ratio"), ("distance_m", "distance"), ("required_m", "required"), ("time_s", "time"),
            ("crosses", "crosses"), ("linked", "linked"), ("contact_s", "contact"),
        )},
    )  # fmt: skip


def judged(*blocks: tuple[float, tuple[dict[str, Any], ...]]) -> Encounters:
    """Blocks by their ends: chains "1" and "2", the second with a line to its release."""
    made = Encounters(Required())
    for end_s, pairs in blocks:
        made._samples = [SimpleNamespace(t_s=end_s)]  # type: ignore[list-item]
        made._judge(closest(*pairs), ["2", "1", "1"], 2)
    return made


def test_the_closest_approach_of_a_pair_is_kept_over_blocks() -> None:
    made = judged(
        (10.0, ({"ratio": 2.0}, {"rows": (0, 2), "ratio": 1.5, "distance": 2.0, "time": 7.0})),
        (20.0, ({"ratio": 1.5, "time": 13.0}, {"ratio": math.inf}, {"ratio": 0.1, "distance": math.inf})),
    )  # fmt: skip
    (least,) = made.least_of.values()
    assert (least.ratio, least.distance_m, least.required_m, least.t_s, least.keys) == (
        1.5,
        2.0,
        1.5,
        7.0,
        ("1", "2"),
    )
    assert made.least == least
    assert made.crossings == []
    nearer = judged((10.0, ({"ratio": 2.0},)), (20.0, ({"ratio": 1.4},)))
    assert nearer.least is not None
    assert nearer.least.ratio == 1.4


def test_a_crossing_counts_once_until_ten_seconds_are_clear() -> None:
    cross = {"crosses": True, "distance": 0.2}
    made = judged(
        (10.0, ({**cross, "contact": 8.0}, {**cross, "rows": (0, 2), "contact": 5.0, "distance": math.inf})),
        (20.0, ({**cross, "contact": 20.0},)), (31.0, ({**cross, "contact": 30.0},)),
        (45.0, ({**cross, "contact": 41.1},)),
    )  # fmt: skip
    assert [(one.t_s, one.keys, one.separation_m, one.wrapped) for one in made.crossings] == [
        (5.0, ("1", "2"), None, False), (41.1, ("1", "2"), 0.2, False),
    ]  # fmt: skip
    assert isinstance(made.crossings[0], Crossing)


@pytest.mark.parametrize(
    ("first", "second", "wrapped"),
    [((1, ()), (0, ()), True), ((1, ()), (-1, ()), False), ((0, (False, True)), (0, ()), True),
     ((0, (False,)), (0, ()), False), ((2, ()), (-1, ()), True)],
)  # fmt: skip
def test_lines_that_pass_and_do_not_pass_back_are_wrapped(
    first: tuple[int, tuple[bool, ...]], second: tuple[int, tuple[bool, ...]], wrapped: bool
) -> None:
    """By the sum of the passes' signs at the end, or where one passed the other's tackle."""
    blocks = [
        (10.0 * (k + 1), ({"crosses": True, "contact": 10.0 * k, "linked": linked, "tackle": tackle},))
        for k, (linked, tackle) in enumerate((first, second))
    ]
    assert [one.wrapped for one in judged(*blocks).crossings] == [wrapped]


def test_a_line_and_a_rods_line_are_linked_each_by_itself() -> None:
    """One pass of the chain and one back of the line to the release do not undo each other."""
    pair = {"crosses": True, "contact": 5.0}
    made = judged((10.0, ({**pair, "linked": 1}, {**pair, "rows": (0, 2), "linked": -1})))
    assert [one.wrapped for one in made.crossings] == [True]
