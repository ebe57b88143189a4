"""What the kernels read of a line and a body, how segments are dealt out, and what a chain must be to be packed."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from hydro.uncompiled import plain
from sternwatch.hydro.chain import forces as fo
from sternwatch.hydro.chain.cutting import counts_of
from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.chain.rows import Flow, pack

G, RHO, NU = 9.80665, 1000.0, 1.3e-6
LINE = Line(10.0, 2e-3, 0.02, 0.15, 5e4, normal_drag=1.25, tangential_drag=0.015, drag_factor=1.1)


current_at, smooth_step, smooth_step_slope = map(plain, (fo.current_at, fo.smooth_step, fo.smooth_step_slope))


def test_a_lines_numbers_are_those_of_a_metre_of_it() -> None:
    own = fo.line_numbers(LINE, RHO, NU)
    assert own[fo.L_NORMAL] == pytest.approx(0.5 * RHO * 2e-3 * 1.1)
    assert own[fo.L_CN] == 1.25
    assert own[fo.L_RE] == pytest.approx(2e-3 / NU)
    assert own[fo.L_TANGENT] == pytest.approx(0.5 * RHO * math.pi * 2e-3 * 0.015)
    assert own[fo.L_WET] == 0.15
    assert own[fo.L_DRY] == pytest.approx(0.02 * G)
    # A cylinder that moves across itself carries as much water as it displaces along.
    assert own[fo.L_MASS] == pytest.approx(0.02 + RHO * math.pi * 1e-3**2)
    assert own[fo.L_STIFF] == 5e4


def test_a_bodys_numbers() -> None:
    ball = Body(BodyKind.BLUFF, 4.5, 40.0, 0.2, drag_area_m2=3e-3)
    own = fo.body_numbers(ball, RHO)
    assert own[[fo.B_WET, fo.B_DRY, fo.B_MASS, fo.B_DRAG]] == pytest.approx([40.0, 4.5 * G, 4.7, 1.5])
    assert own[[fo.B_FLAT, fo.B_LIFT, fo.B_SIN, fo.B_SIDE, fo.B_BUOYANCY]] == pytest.approx(0.0)
    assert own[fo.B_COS] == 1.0
    heavy = fo.body_numbers(Body(BodyKind.BLUFF, 0.001, 0.5), RHO)
    assert heavy[fo.B_DRY] == 0.5, "nothing is lighter in air than in water"
    board = fo.body_numbers(
        Body(BodyKind.BOARD, 0.3, 0.0, 0.1, 0.008, lift_area_m2=0.016, side=-1.0, buoyancy_N=3.0, height_m=0.07), RHO
    )
    assert board[[fo.B_LIFT, fo.B_SIDE, fo.B_BUOYANCY, fo.B_HEIGHT]] == pytest.approx([8.0, -1.0, 3.0, 0.07])


@pytest.mark.parametrize("kind", [BodyKind.BLUFF, BodyKind.BOARD])
def test_at_rest_drag_grows_as_if_the_water_moved_at_a_millimetre_a_second(kind: BodyKind) -> None:
    own = fo.body_numbers(Body(kind, 0.3, 0.0, drag_area_m2=0.008), RHO)
    out = np.array(plain(fo.body_jacobian)(int(kind), False, tuple(own[fo.B_WET :]), 0.0, 0.0, 0.0, 5.0))
    assert out[[3, 7, 11]] == pytest.approx(0.5 * RHO * 0.008 * 1e-3, rel=1e-9)
    assert out[[4, 5, 6, 8, 9, 10]] == pytest.approx(0.0, abs=1e-15)


def test_the_current_between_and_beyond_its_depths() -> None:
    depths = np.array([2.0, 6.0, 10.0])
    current = np.array([(0.1, 0.0), (0.3, -0.2), (0.0, 0.4)])
    assert current_at(depths, current, 1.0) == (0.1, 0.0, 0.0, 0.0)
    assert current_at(depths, current, 2.0) == (0.1, 0.0, 0.0, 0.0)
    assert current_at(depths, current, 3.0) == pytest.approx((0.15, -0.05, 0.05, -0.05))
    assert current_at(depths, current, 6.0)[:2] == pytest.approx((0.3, -0.2))
    assert current_at(depths, current, 9.0) == pytest.approx((0.075, 0.25, -0.075, 0.15))
    assert current_at(depths, current, 10.0) == (0.0, 0.4, 0.0, 0.0)
    assert current_at(depths, current, 99.0) == (0.0, 0.4, 0.0, 0.0)
    assert current_at(np.zeros(0), np.zeros((0, 2)), 5.0) == (0.0, 0.0, 0.0, 0.0)
    flow = Flow(depths, current)
    for z in (0.0, 2.5, 8.0, 12.0):
        assert flow.at(np.array(z))[:2] == pytest.approx(current_at(depths, current, z)[:2])


def test_the_smooth_step_and_its_slope() -> None:
    assert [smooth_step(x) for x in (-1.0, 0.0, 0.25, 0.5, 1.0, 2.0)] == [0.0, 0.0, 0.15625, 0.5, 1.0, 1.0]
    assert [smooth_step_slope(x) for x in (-1.0, 0.0, 0.25, 0.5, 1.0, 2.0)] == [0.0, 0.0, 1.125, 1.5, 0.0, 0.0]


# -- segments -------------------------------------------------------------------------------------------------


def _two_lines(behind_m: float, *, area_m2: float = 0.001, plate_m2: float = 0.0, wet_N: float = 0.2) -> Chain:
    """A long thick line that a great weight pulls, and behind the weight a line with a lure."""
    front = Line(60.0, 1e-3, 1e-3, 0.0, 1e4)
    weight = Body(BodyKind.BLUFF, 50.0, 400.0, 0.0, drag_area_m2=0.05)
    back = Line(behind_m, 0.5e-3, 2e-4, 0.0, 1e3)
    kind = BodyKind.DIVER if plate_m2 else BodyKind.BLUFF
    return Chain(
        (0.0, 0.0, 0.0), (front, weight, back, Body(kind, 0.01, wet_N, 0.0, area_m2, plate_area_m2=plate_m2))
    )


@pytest.mark.parametrize(("area_m2", "plate_m2", "wet_N"), [(0.001, 0.0, 0.2), (0.001, 0.0, -0.2), (0.0, 0.001, 0.2)])
def test_a_line_longer_than_three_times_its_bending_length_gets_a_second_segment(
    area_m2: float, plate_m2: float, wet_N: float
) -> None:
    """Its bending length: what pulls at it over the drag of a metre, at 1.1 m/s with Cn 1.3; a plate pulls by 1.5."""
    q = 0.5 * RHO * 1.1**2
    bending_m = (q * (area_m2 + 1.5 * plate_m2) + abs(wet_N)) / (q * 1.3 * 0.5e-3)
    dealt = [
        list(counts_of(_two_lines(3.0 * bending_m * share, area_m2=area_m2, plate_m2=plate_m2, wet_N=wet_N), 3, RHO))
        for share in (0.98, 1.02)
    ]
    assert dealt == [[2, 1], [1, 2]], "else the longer one gets it"


def test_a_fifth_of_its_weight_is_what_a_line_pulls_at_the_one_before_it() -> None:
    """That holds the first line as straight as a lure of the same pull would."""
    q = 0.5 * RHO * 1.1**2
    bending_m = (q * 0.001 + 0.2 + 0.2 * 0.05 * 60.0) / (q * 1.3 * 0.5e-3)
    wire, lure = Line(60.0, 2e-5, 6e-3, 0.05, 1e4), Body(BodyKind.BLUFF, 0.01, 0.2, 0.0, 0.001)
    dealt = [
        list(
            counts_of(
                Chain((0.0, 0.0, 0.0), (Line(3.0 * bending_m * share, 0.5e-3, 2e-4, 0.0, 1e3), wire, lure)), 3, RHO
            )
        )
        for share in (0.98, 1.02)
    ]
    assert dealt == [[1, 2], [2, 1]], "else the longer one gets it"


def test_where_there_are_too_few_every_line_has_one() -> None:
    assert list(counts_of(_two_lines(30.0), 2, RHO)) == [1, 1]
    assert list(counts_of(_two_lines(30.0), 1, RHO)) == [1, 1]


def test_further_segments_go_where_segments_are_longest() -> None:
    """60 m in eleven are 5.45 m each: a line of 5.5 m is the next, one of 5.4 m is not."""
    assert list(counts_of(_two_lines(5.5), 12, RHO)) == [11, 1]
    assert list(counts_of(_two_lines(5.5), 13, RHO)) == [11, 2]
    assert list(counts_of(_two_lines(5.4), 13, RHO)) == [12, 1]


# -- packing --------------------------------------------------------------------------------------------------


def _pack(*items: Line | Body) -> None:
    pack([Chain((0.0, 0.0, 0.0), items)], density_kg_m3=RHO, viscosity_m2_s=NU)


LURE = Body(BodyKind.BLUFF, 0.01, 0.1)


@pytest.mark.parametrize(
    ("items", "said"),
    [
        ((), "the first item must be a Line"),
        ((LURE,), "the first item must be a Line"),
        ((LINE, LURE, LURE), "two Bodies without a Line between"),
        ((Line(0.0, 1e-3, 1e-3, 0.0, 1e3), LURE), "length must be positive, not 0.0"),
        ((Line(math.inf, 1e-3, 1e-3, 0.0, 1e3), LURE), "length must be positive, not inf"),
        ((Line(1.0, 0.0, 1e-3, 0.0, 1e3), LURE), "diameter_m must be positive"),
        ((Line(1.0, 1e-3, math.nan, 0.0, 1e3), LURE), "mass_kg_m must be positive"),
        ((Line(1.0, 1e-3, 1e-3, 0.0, -1.0), LURE), "stiffness_N must be positive"),
    ],
)
def test_what_is_no_chain_is_refused(items: tuple[Line | Body, ...], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        _pack(*items)


def test_only_one_body_may_carry_a_rod_line() -> None:
    ball = Body(BodyKind.BLUFF, 4.5, 40.0, rod_line=RodLine((0.0, 1.0, -1.0)))
    with pytest.raises(ValueError, match="only one body may carry a rod line"):
        _pack(LINE, ball, LINE, ball)


@pytest.mark.parametrize(
    ("depths", "velocities"),
    [
        ([0.0, 5.0], [(0.0, 0.0)]), ([[0.0, 5.0]], [(0.0, 0.0), (0.0, 0.0)]), ([5.0, 5.0], [(0.0, 0.0), (0.0, 0.0)]),
        ([0.0, math.nan], [(0.0, 0.0), (0.0, 0.0)]), ([0.0, 5.0], [(0.0, 0.0), (0.0, math.inf)]),
    ],
)  # fmt: skip
def test_what_is_no_current_is_refused(depths: list[float], velocities: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError, match="a current"):
        Flow(np.array(depths), np.array(velocities))


def test_rows_of_two_chains() -> None:
    ball = Body(BodyKind.BLUFF, 4.5, 40.0, rod_line=RodLine((0.1, 1.0, -1.0), pull_N=9.0, diameter_m=4e-4))
    leader = Line(3.0, 1e-3, 1e-3, 0.0, 1e3)
    rows = pack(
        [Chain((0.0, 0.0, -1.0), (LINE,)), Chain((0.0, 2.0, -1.0), (LINE, ball, leader, LURE))],
        segments=[2, 5], density_kg_m3=RHO, viscosity_m2_s=NU,
    )  # fmt: skip
    assert (len(rows), rows.nodes) == (2, 6)
    assert rows.n_nodes.tolist() == [3, 6]
    assert rows.arc_m[0] == pytest.approx([0.0, 5.0, 10.0, 10.0, 10.0, 10.0])
    assert rows.arc_m[1, -1] == pytest.approx(13.0)
    assert rows.body_node.tolist() == [[-1, -1], [int(rows.first_segments[1]), 5]]
    assert rows.node_body[1].tolist().count(-1) == 4
    assert [rows.node_body[1, node] for node in rows.body_node[1]] == [0, 1]
    assert rows.rod_node.tolist() == [-1, rows.body_node[1, 0]]
    assert rows.rod[1] == pytest.approx([9.0, 0.5 * RHO * 4e-4, -1.0, 4e-4 / NU])
    assert rows.rod_tip_m[1] == pytest.approx([0.1, 1.0, -1.0])
    again = rows.take([1, 0, 1])
    assert again.n_nodes.tolist() == [6, 3, 6]
    assert again.density_kg_m3 == RHO
    with pytest.raises(ValueError, match="the current has 2 rows, the chains 3"):
        Flow(np.array([0.0]), np.zeros((2, 1, 2))).by_row(len(again))


def test_members_of_a_rod_are_cut_alike_though_each_would_be_cut_otherwise_by_itself() -> None:
    """Of lines that share a chain's length otherwise; a chain of other things is cut as suits itself."""
    ball, leader = Body(BodyKind.BLUFF, 4.5, 40.0), Line(3.0, 1e-3, 1e-3, 0.0, 1e3)

    def chain(length_m: float, *more: Line | Body) -> Chain:
        return Chain((0.0, 0.0, -1.0), (replace(LINE, length_m=length_m), ball, leader, *more, LURE))

    chains = [chain(3.0), chain(40.0), chain(40.0, LURE, replace(leader, length_m=30.0))]
    given: dict[str, Any] = {"segments": 8, "density_kg_m3": RHO, "viscosity_m2_s": NU}
    own = pack(chains, **given)
    alike = pack(chains, cut_as=[0, 0, 0], **given)
    assert own.body_node[0, 0] != own.body_node[1, 0]
    assert alike.body_node[1].tolist() == alike.body_node[0].tolist() == own.body_node[0].tolist()
    assert alike.first_segments.tolist() == [*own.first_segments[[0, 0, 2]]]
    assert alike.body_node[2].tolist() == own.body_node[2].tolist()
    assert alike.arc_m[:, -1] == pytest.approx([6.0, 43.0, 73.0])
    assert np.diff(alike.arc_m[1, : alike.body_node[1, 0] + 1]) == pytest.approx(40.0 / alike.first_segments[1])
