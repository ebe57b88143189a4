"""Symmetries of the steady solver, its table, and what it does with rigs that do not hang in order."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydro.uncompiled import plain as plain_of
from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.steady import solver
from sternwatch.hydro.steady.rows import RefusedError
from sternwatch.hydro.steady.solver import Steady, solve, solve_many
from sternwatch.water.properties import fresh_water

Rig = tuple[Chain, float]
Rigs = dict[str, Rig]
G = 9.80665
LAKE = fresh_water(8.0)
TIP = (-0.3, 2.1, -1.5)
SHEAR = ((0.0, 10.0, 30.0), ((0.0, 0.0), (0.05, 0.10), (0.20, -0.15)))
DISC = Body(BodyKind.DIVER, 0.2, 0.5, 0.3, plate_area_m2=0.0113, trim_rad=math.radians(35.0), roll_rad=0.3)


def line(length: float, diameter: float, density: float, modulus: float, **more: float) -> Line:
    area = 0.25 * math.pi * diameter**2
    return Line(length, diameter, density * area, (density - LAKE.density_kg_m3) * G * area, modulus * area, **more)


def leader(length: float) -> Line:
    return line(length, 0.55e-3, 1780.0, 2.5e9)


FLY = Body(BodyKind.BLUFF, 0.005, 0.01, 0.002, drag_area_m2=0.0003)
SPOON = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, drag_area_m2=0.0008)
BOARD = Body(BodyKind.BOARD, 0.4, 0.0, 0.2, 0.008, lift_area_m2=0.016, side=1.0, buoyancy_N=3.0)


# ---- symmetries and limits ----


def mirrored(chain: Chain) -> Chain:
    items = tuple(
        dataclasses.replace(item, roll_rad=-item.roll_rad, side=-item.side) if isinstance(item, Body) else item
        for item in chain.items
    )
    return Chain((chain.tip_m[0], -chain.tip_m[1], chain.tip_m[2]), items)


def test_port_is_starboards_mirror_image(rig: Rig) -> None:
    chain, speed = rig
    one, other = solve(chain, speed, water=LAKE), solve(mirrored(chain), speed, water=LAKE)
    assert other.shape_m * [1.0, -1.0, 1.0] == pytest.approx(one.shape_m, abs=1e-9)
    assert other.tension_N == pytest.approx(one.tension_N, rel=1e-9)


@pytest.mark.parametrize("speed", [0.6, 1.2, 2.0])
def test_a_weightless_diver_lies_alike_at_every_speed(speed: float) -> None:
    """With no weight anywhere all forces go with speed squared; tip under water, so that no part is dry."""
    thread = Line(40.0, 0.8e-3, 1e-6, 0.0, 1e15, normal_drag=1.2)
    lifter = dataclasses.replace(DISC, wet_weight_N=0.0)
    state = solve(Chain((0.0, 0.0, 0.5), (thread, lifter)), speed, water=LAKE)
    one = solve(Chain((0.0, 0.0, 0.5), (thread, lifter)), 1.0, water=LAKE)
    assert state.shape_m == pytest.approx(one.shape_m, abs=40.0 * 1e-6)


def test_line_out_is_measured_from_the_tip_and_the_shape_begins_there(rigs: Rigs) -> None:
    chain, speed = rigs["diver wide"]
    state = solve(chain, speed, water=LAKE)
    assert state.shape_m[0] == pytest.approx(chain.tip_m, abs=1e-6)
    assert state.arc_m[0] == 0.0
    assert state.arc_m[-1] == pytest.approx(77.4)
    assert state.shape_m[-1] == pytest.approx([-state.astern_m, state.abeam_m, state.depth_m], abs=1e-9)
    assert state.body_m.shape == (2, 3)
    assert state.body_m[1] == pytest.approx(state.shape_m[-1], abs=1e-9)
    assert 75.0 in state.arc_m
    assert (np.diff(state.tension_N) < 0.0).all()


# ---- rigs that do not hang in order: each has a defined result ----


def finite(state: Steady) -> bool:
    numbers = [state.shape_m, state.tension_N, state.body_m, [state.depth_m, state.astern_m, state.abeam_m]]
    return all(np.isfinite(n).all() for n in numbers)


@pytest.mark.parametrize("speed", [0.0, 0.01, 0.1, 0.3, 3.0, 6.0])
def test_every_rig_has_a_place_at_every_speed(rig: Rig, speed: float) -> None:
    chain, _ = rig
    state = solve(chain, speed, water=LAKE)
    assert state.ok, state.why
    assert finite(state)
    lines = [item for item in chain.items if isinstance(item, Line)]
    reach = sum(item.length_m for item in lines)
    stretch = 1.0 + state.tip_tension_N / min(item.stiffness_N for item in lines)
    assert np.linalg.norm(state.shape_m - np.array(chain.tip_m), axis=1).max() <= 1.001 * stretch * reach
    assert state.shape_m[0] == pytest.approx(chain.tip_m, abs=1e-4 * reach)


def test_a_lure_on_less_line_than_the_tip_is_high_hangs_in_the_air() -> None:
    chain = Chain(TIP, (line(1.0, 0.5e-3, 1780.0, 2.5e9), SPOON))
    state = solve(chain, 1.2, water=LAKE)
    assert state.ok
    assert state.depth_m == pytest.approx(-0.5, abs=1e-3)
    assert math.isnan(state.entry_angle_deg)


def test_no_line_out_at_all() -> None:
    state = solve(Chain(TIP, (line(0.0, 0.5e-3, 1780.0, 2.5e9), SPOON)), 1.2, water=LAKE)
    assert state.ok
    assert (state.depth_m, state.astern_m, state.abeam_m) == pytest.approx((-1.5, 0.3, 2.1), abs=1e-9)


def test_a_floating_lure_on_a_floating_line_stays_at_the_surface() -> None:
    float_lure = Body(BodyKind.BLUFF, 0.02, -0.1, 0.02, drag_area_m2=0.0015)
    braid = line(30.0, 0.4e-3, 960.0, 60e9)
    state = solve(Chain(TIP, (braid, float_lure)), 0.8, water=LAKE)
    assert state.ok, state.why
    assert -0.1 < state.depth_m < 0.1


def test_a_bare_floating_line_lies_on_the_surface() -> None:
    state = solve(Chain(TIP, (line(30.0, 0.4e-3, 960.0, 60e9),)), 0.8, water=LAKE)
    assert state.ok, state.why
    assert -0.1 < state.depth_m < 0.1
    assert state.astern_m > 20.0


def test_a_diver_pulls_a_board_under_and_that_is_said(rigs: Rigs) -> None:
    held = rigs["board with lead-core"]
    assert not solve(held[0], held[1], water=LAKE).pulled_under
    under = Chain(TIP, (line(25.0, 0.5e-3, 1140.0, 2e9), BOARD, leader(10.0), DISC, leader(2.0), SPOON))
    state = solve(under, 0.9, water=LAKE)
    assert state.ok
    assert state.pulled_under


def test_a_diver_without_way_on_is_slack(rigs: Rigs) -> None:
    chain, _ = rigs["diver straight"]
    assert solve(chain, 0.2, water=LAKE).slack
    assert not solve(chain, 1.0, water=LAKE).slack


@pytest.mark.parametrize(
    ("chain", "speed", "why"),
    [
        (Chain(TIP, ()), 1.0, "begins with a line"),
        (Chain(TIP, (SPOON, leader(2.0))), 1.0, "begins with a line"),
        (Chain(TIP, (leader(2.0), SPOON, FLY)), 1.0, "merge them"),
        (Chain(TIP, (leader(-1.0), SPOON)), 1.0, "length must be 0 or more"),
        (Chain(TIP, (dataclasses.replace(leader(3.0), diameter_m=0.0), SPOON)), 1.0, "diameter_m must be positive"),
        (Chain(TIP, (leader(3.0), dataclasses.replace(SPOON, wet_weight_N=math.nan))), 1.0, "must be finite"),
        (Chain(TIP, (leader(3.0), SPOON)), -0.1, "must be 0 or more, not -0.1"),
        (Chain(TIP, (leader(3.0), SPOON)), math.nan, "must be 0 or more, not nan"),
    ],
)
def test_what_is_no_chain_says_why_and_gives_no_number(chain: Chain, speed: float, why: str) -> None:
    state = solve(chain, speed, water=LAKE)
    assert not state.ok
    assert why in state.why
    assert math.isnan(state.depth_m)
    assert math.isnan(state.tip_tension_N)


@pytest.mark.parametrize(
    "current",
    [
        ((0.0, 10.0), ((0.0, 0.0),)),
        ((10.0, 0.0), ((0.0, 0.0), (0.1, 0.0))),
        ((0.0, 5.0, 5.0), ((0.0, 0.0), (0.1, 0.0), (0.2, 0.0))),
        ((0.0,), ((math.inf, 0.0),)),
        ((math.nan,), ((0.1, 0.0),)),
        ((0.0, 10.0), ((0.0,), (0.1,))),
        (((0.0, 10.0),), ((0.0, 0.0),)),
        ((0.0,), (0.1,)),
    ],
)
def test_a_wrong_current_is_refused(
    current: tuple[tuple[float, ...], tuple[tuple[float, float], ...]], rigs: Rigs
) -> None:
    assert not solve(rigs["copper"][0], 1.0, water=LAKE, current=current).ok
    with pytest.raises(RefusedError):
        solve_many([rigs["copper"][0]], [1.0], water=LAKE, current=current)


def test_a_currents_depths_may_lie_close_and_a_third_of_its_numbers_is_left_out(rigs: Rigs) -> None:
    chain, speed = rigs["copper"]
    close = ((0.0, 0.5, 30.0), ((0.0, 0.0, 9.0), (0.1, 0.1, 9.0), (0.1, 0.1, 9.0)))
    plain = ((0.0, 0.5, 30.0), ((0.0, 0.0), (0.1, 0.1), (0.1, 0.1)))
    state = solve(chain, speed, water=LAKE, current=close)
    assert state.ok, state.why
    assert (state.shape_m == solve(chain, speed, water=LAKE, current=plain).shape_m).all()


@pytest.mark.parametrize(
    ("tip_z", "end"), [(-1.5, "through the surface"), (0.0, "from the surface"), (0.7, "under it")]
)
def test_the_angle_of_entry_is_the_lines_where_it_enters_the_water(tip_z: float, end: str) -> None:
    """From two points of the shape just below; a tip under water counts as the place of entry."""
    heavy = Line(30.0, 0.9e-3, 6e-3, 0.05, 9e4, normal_drag=1.3)
    chain = Chain((0.0, 1.0, tip_z), (heavy, SPOON))
    whole = solve(chain, 1.2, water=LAKE, arc_m=np.linspace(0.0, 10.0, 2001))
    first = int(np.argmax(whole.shape_m[:, 2] >= 0.0))
    dx, dy, dz = whole.shape_m[first + 1] - whole.shape_m[first]
    assert whole.entry_angle_deg == pytest.approx(math.degrees(math.atan2(dz, math.hypot(dx, dy))), abs=0.02), end
    dx, dy, dz = whole.shape_m[1] - whole.shape_m[0]
    at_tip = math.degrees(math.atan2(dz, math.hypot(dx, dy)))
    assert (abs(whole.entry_angle_deg - at_tip) > 0.5) == (tip_z < 0.0), "line in the air hangs by its weight"


@pytest.mark.parametrize(
    ("chain", "why"),
    [
        (Chain(TIP, (dataclasses.replace(leader(3.0), wet_weight_N_m=math.nan), SPOON)), "weight in water"),
        (Chain(TIP, (dataclasses.replace(leader(3.0), length_m=math.inf), SPOON)), "length must be 0 or more"),
        (Chain(TIP, (dataclasses.replace(leader(3.0), stiffness_N=math.inf), SPOON)), "stiffness_N must be positive"),
        (
            Chain(
                TIP,
                (leader(3.0), dataclasses.replace(FLY, rod_line=RodLine(TIP)), leader(3.0),
                 dataclasses.replace(SPOON, rod_line=RodLine(TIP))),
            ),
            "only one body",
        ),
        (Chain((math.nan, 0.0, 0.0), (leader(3.0), SPOON)), "must be finite"),
        (Chain(TIP, (leader(3.0), dataclasses.replace(SPOON, rod_line=RodLine((0.0, math.nan, 0.0))))), "finite"),
    ],
)  # fmt: skip
def test_numbers_that_no_chain_has_are_refused(chain: Chain, why: str) -> None:
    state = solve(chain, 1.0, water=LAKE)
    assert not state.ok
    assert why in state.why
    with pytest.raises(RefusedError, match=why):
        solve_many([chain], [1.0], water=LAKE)


def test_arcs_and_lengths_that_make_no_sense_are_refused() -> None:
    chain = Chain(TIP, (leader(5.0), SPOON))
    state = solve(chain, 1.0, water=LAKE, arc_m=[0.0, 3.0, 2.9])
    assert (state.ok, state.why) == (False, "the arcs to sample at must ascend")
    assert state.arc_m.tolist() == [0.0, 3.0, 2.9]
    assert np.isnan(state.shape_m).all()
    assert solve(chain, 1.0, water=LAKE, arc_m=[0.0, 3.0, 3.0]).ok
    for out in ([-0.1], [1.0, math.nan], [math.inf]):
        with pytest.raises(RefusedError, match="0 or more"):
            solve_many([chain], [1.0], water=LAKE, out_m=out)
    assert solve_many([chain], [1.0], water=LAKE, out_m=[0.0]).status.tolist() == [[[0]]]


def test_a_shape_that_cannot_be_followed_or_misses_the_tip_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    chain = Chain(TIP, (leader(5.0), SPOON))
    found = solver.find_end
    for off, ok in ((0.019, True), (0.021, False), (-0.021, False)):

        def aside(*given: Any, off: float = off) -> Any:
            status, env, end = found(*given)
            return status, env, end + np.array([0.0, off, 0.0])

        monkeypatch.setattr(solver, "find_end", aside)
        state = solve(chain, 1.0, water=LAKE)
        assert state.ok is ok
        assert state.why == ("" if ok else "no steady shape was found")
        assert solve(chain, 1.0, water=LAKE, arc_m=[1.0, 5.0]).ok, "not told where the tip is not asked for"
    monkeypatch.setattr(solver, "find_end", found)
    monkeypatch.setattr(solver, "integrate", lambda *_: solver.TOO_MANY_STEPS)
    state = solve(chain, 1.0, water=LAKE, arc_m=[0.0, 5.0])
    assert not state.ok
    assert "folds back" in state.why
    assert state.body_m.shape == (1, 3)


def test_a_place_asked_for_beyond_the_tip_by_rounding_is_the_tip() -> None:
    state = solve(Chain(TIP, (leader(5.0), SPOON)), 1.0, water=LAKE, arc_m=[-1e-13, -1e-14, 2.0])
    assert state.shape_m[:2] == pytest.approx(np.tile(TIP, (2, 1)), abs=1e-6)
    assert state.tension_N[:2] == pytest.approx(state.tip_tension_N)


# ---- the table ----


def test_a_table_is_its_cells(rigs: Rigs) -> None:
    chains = [chain for chain, _ in rigs.values()]
    lengths, speeds = [5.0, 30.0, 80.0], [0.0, 0.6, 1.0, 1.5]
    table = solve_many(chains, speeds, water=LAKE, out_m=lengths, current=SHEAR)
    assert table.depth_m.shape == (len(chains), 3, 4)
    assert (table.status == 0).all()
    for i, chain in enumerate(chains):
        first = chain.items[0]
        assert isinstance(first, Line)
        for m in (0, 2):
            cut = Chain(chain.tip_m, (dataclasses.replace(first, length_m=lengths[m]), *chain.items[1:]))
            for k in (1, 3):
                state = solve(cut, speeds[k], water=LAKE, current=SHEAR)
                assert table.depth_m[i, m, k] == pytest.approx(state.depth_m, abs=1e-3)
                assert table.astern_m[i, m, k] == pytest.approx(state.astern_m, abs=1e-3)
                assert table.abeam_m[i, m, k] == pytest.approx(state.abeam_m, abs=1e-3)
                assert table.tip_tension_N[i, m, k] == pytest.approx(state.tip_tension_N, rel=1e-4)
                assert table.pulled_under[i, m, k] == state.pulled_under
                assert table.slack[i, m, k] == state.slack


def test_a_table_without_lengths_takes_the_chains_as_they_are(rigs: Rigs) -> None:
    chain, speed = rigs["copper"]
    table = solve_many([chain], [speed], water=LAKE)
    assert table.depth_m.shape == (1, 1, 1)
    assert table.depth_m[0, 0, 0] == pytest.approx(solve(chain, speed, water=LAKE).depth_m, abs=1e-4)


# ---- any chain at all ----

TACKLE = st.sampled_from(
    [SPOON, FLY, DISC, BOARD, dataclasses.replace(DISC, roll_rad=-0.8), dataclasses.replace(SPOON, wet_weight_N=-0.2),
     Body(BodyKind.BLUFF, 5.0, 44.0, 0.2, 3.2e-3), Body(BodyKind.LIPPED, 0.02, -0.02, 0.02, 1.5e-3, 2e-3)]
)  # fmt: skip
LENGTHS = st.one_of(st.floats(0.0, 5.0), st.floats(5.0, 150.0))
KINDS = st.sampled_from(
    [(0.38e-3, 7900.0, 193e9), (0.55e-3, 1780.0, 2.5e9), (0.4e-3, 960.0, 50e9), (0.94e-3, 6900.0, 80e9)]
)


@st.composite
def chains(draw: st.DrawFn) -> Chain:
    items: list[Line | Body] = []
    for _ in range(draw(st.integers(1, 4))):
        items.append(line(draw(LENGTHS), *draw(KINDS)))
        if draw(st.booleans()):
            items.append(draw(TACKLE))
    return Chain((0.0, draw(st.floats(-3.0, 3.0)), draw(st.sampled_from([-2.0, -0.5, 0.0, 6.0]))), tuple(items))


@settings(max_examples=60, deadline=None)
@given(chains(), st.sampled_from([0.0, 0.05, 0.4, 1.0, 2.0]))
def test_any_chain_has_a_place_or_a_reason(chain: Chain, speed: float) -> None:
    state = solve(chain, speed, water=LAKE)
    if state.ok:
        assert finite(state)
        assert state.why == ""
        assert state.shape_m[0] == pytest.approx(chain.tip_m, abs=0.02)
        assert (state.tension_N >= 0.0).all()
    else:
        assert state.why
        assert math.isnan(state.depth_m)
        assert np.isnan(state.shape_m).all()
    table = solve_many([chain], [speed], water=LAKE)
    if state.ok and table.status[0, 0, 0] == 0 and not state.slack and state.tension_N.min() > 0.05:
        assert table.depth_m[0, 0, 0] == pytest.approx(state.depth_m, abs=0.02)


def test_a_table_has_what_each_solution_has_by_itself():
    """Depth, astern, abeam and the pull at the tip, for two lengths of the first line and two speeds."""
    area = 0.25 * math.pi * 0.5e-3**2
    wire = Line(20.0, 0.5e-3, 7930.0 * area, 6930.0 * area * 9.80665, 193e9 * area, normal_drag=1.2)
    disc = Body(BodyKind.DIVER, 0.12, 0.5, 0.2, plate_area_m2=0.0113, trim_rad=0.6, roll_rad=0.4)
    water = fresh_water(10.0)
    table = solve_many([Chain((-0.3, 1.0, -1.5), (wire, disc))], [0.9, 1.3], water=water, out_m=[12.0, 20.0])
    assert table.depth_m.shape == (1, 2, 2)
    for m, length in enumerate((12.0, 20.0)):
        for k, speed in enumerate((0.9, 1.3)):
            chain = Chain((-0.3, 1.0, -1.5), (dataclasses.replace(wire, length_m=length), disc))
            own = solve(chain, speed, water=water, arc_m=[0.0], tolerance=1e-7)
            assert table.status[0, m, k] == 0
            assert table.depth_m[0, m, k] == pytest.approx(own.depth_m, abs=1e-5)
            assert table.astern_m[0, m, k] == pytest.approx(own.astern_m, abs=1e-5)
            assert table.abeam_m[0, m, k] == pytest.approx(own.abeam_m, abs=1e-5)
            assert table.tip_tension_N[0, m, k] == pytest.approx(own.tip_tension_N, rel=1e-5)
            assert own.tension_N[0] == pytest.approx(own.tip_tension_N, rel=1e-6)


@pytest.mark.parametrize(
    ("kind", "depth", "flow", "pull", "told"),
    [
        (1, 5.0, 0.3, 1.0, (False, False)), (1, 5.0, 0.29, 9.0, (False, True)), (1, 5.0, 9.0, 0.99, (False, True)),
        (0, 5.0, 0.0, 0.0, (False, False)), (2, 0.2, 0.0, 0.0, (False, False)), (2, 0.21, 0.0, 0.0, (True, False)),
    ],
)  # fmt: skip
def test_a_board_under_its_own_height_and_a_diver_without_flow_or_pull(
    kind: int, depth: float, flow: float, pull: float, told: tuple[bool, bool]
) -> None:
    from sternwatch.hydro.chain.forces import B_HEIGHT, B_KIND
    from sternwatch.hydro.steady.table import faults

    bodies, report = np.zeros((2, 20)), np.zeros((2, 6))
    bodies[:, B_KIND] = -1.0
    bodies[1, B_KIND], bodies[1, B_HEIGHT] = kind, 0.2
    report[1] = (0.0, 0.0, depth, flow, pull, 0.0)
    assert tuple(map(bool, plain_of(faults)(bodies, report))) == told
