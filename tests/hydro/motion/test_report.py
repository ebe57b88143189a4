"""What is told of a state: pulls and angles against statics by hand, flows past the tackle, and what is a fault."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line
from sternwatch.hydro.chain.rows import Flow, Rows, pack
from sternwatch.hydro.motion.fleet import State, start
from sternwatch.hydro.motion.report import report

G = 9.80665
WIRE = Line(9.0, 0.5e-3, 1.6e-3, 0.0137, 4e4)
BALL = Body(BodyKind.BLUFF, 4.5, 40.0, 0.2, 3.1e-3)
DISC = Body(BodyKind.DIVER, 0.12, 0.5, plate_area_m2=0.0113, trim_rad=0.6)
BOARD = Body(BodyKind.BOARD, 0.3, 0.0, drag_area_m2=0.008, buoyancy_N=3.0, height_m=0.05)
STILL = np.zeros(3)


def rows_of(*chains: Chain, segments: int = 3) -> Rows:
    return pack(chains, segments=segments, density_kg_m3=1000.0, viscosity_m2_s=1.3e-6)


def straight(rows: Rows, way: tuple[float, float, float], velocity: np.ndarray = STILL) -> State:
    return start(rows, rows.tip_m[:, None] + rows.arc_m[..., None] * np.array(way), velocity)


@pytest.mark.parametrize(("tip_m", "dry_m"), [(-4.0, 1.5), (-1.5, 1.5), (-0.5, 0.5), (0.0, 0.0), (2.0, 0.0)])
def test_the_pull_at_the_tip_is_that_of_its_segments_middle_and_what_hangs_above(tip_m: float, dry_m: float) -> None:
    """Line hangs straight down: above a segment's middle are 1.5 m, in air or in water."""
    rows = rows_of(Chain((0.0, 0.0, tip_m), (WIRE, BALL)))
    state = straight(rows, (0.0, 0.0, 1.0))
    state.tension_N[:] = 41.0
    state.rest_m[:, 1:] = 7.0  # of the others
    weight = dry_m * WIRE.mass_kg_m * G + (1.5 - dry_m) * WIRE.wet_weight_N_m
    assert report(rows, state).tip_tension_N == pytest.approx(41.0 + weight, abs=1e-9)


@pytest.mark.parametrize("tip_m", [0.5, 1.5, 2.0, 4.0])
def test_where_line_goes_up_from_the_tip_the_wet_half_is_the_near_one(tip_m: float) -> None:
    """From so deep up into the air: of the half next to the tip as much is wet, and all of it pulls down."""
    rows = rows_of(Chain((0.0, 0.0, tip_m), (WIRE, BALL)))
    state = straight(rows, (0.0, 0.0, -1.0))
    state.tension_N[:] = 41.0
    wet_m = min(tip_m, 1.5)
    weight = (1.5 - wet_m) * WIRE.mass_kg_m * G + wet_m * WIRE.wet_weight_N_m
    assert report(rows, state).tip_tension_N == pytest.approx(41.0 - weight, abs=1e-9)


@pytest.mark.parametrize("tip_m", [-0.6, -1.4, -2.0, -3.6])
def test_the_angle_at_the_surface_is_that_of_the_pull_there(tip_m: float) -> None:
    """A light pull, so that the weight between the surface and the middle of its segment bends it."""
    rows = rows_of(Chain((0.0, 0.0, tip_m), (WIRE, BALL)))
    way = (-math.cos(0.9), 0.0, math.sin(0.9))
    state = straight(rows, way)
    state.tension_N[:] = 0.3
    at_m = -tip_m / way[2]  # along the line
    middle_m = 1.5 if at_m < 3.0 else 4.5
    line = WIRE.wet_weight_N_m if at_m < middle_m else WIRE.mass_kg_m * G
    down = 0.3 * way[2] + (middle_m - at_m) * line
    found = report(rows, state).entry_angle_rad
    assert found == pytest.approx(math.atan2(down, 0.3 * math.cos(0.9)), abs=1e-9)


def test_drag_counts_at_the_surface_too() -> None:
    """A line to port that is towed to starboard: half a metre a second against it, 0.4 of it across."""
    line = Line(9.0, 0.5e-3, 1.6e-3, 0.0137, 4e4, normal_drag=1.2, tangential_drag=0.0)
    rows = rows_of(Chain((0.0, 0.0, -0.6), (line, BALL)))
    state = straight(rows, (0.0, -0.6, 0.8), np.array([0.0, 0.5, 0.0]))
    state.tension_N[:] = 0.3
    share_m = 1.5 - 0.75  # from the surface to the middle of the segment through it, all of it wet
    drag = 0.5 * 1000.0 * 0.5e-3 * 1.2 * 0.4 * np.array([-0.32, -0.24])
    aside = 0.3 * -0.6 + share_m * drag[0]
    down = 0.3 * 0.8 + share_m * (drag[1] + 0.0137)
    assert report(rows, state).entry_angle_rad == pytest.approx(math.atan2(down, abs(aside)), abs=1e-6)


def test_a_line_that_is_wholly_under_enters_at_its_tip() -> None:
    rows = rows_of(Chain((0.0, 0.0, 1.0), (WIRE, BALL)))
    state = straight(rows, (-0.6, 0.0, 0.8))
    state.tension_N[:] = 2.0
    down = 2.0 * 0.8 + 1.5 * WIRE.wet_weight_N_m
    assert report(rows, state).entry_angle_rad == pytest.approx(math.atan2(down, 1.2), abs=1e-9)


def test_drag_counts_at_the_tip() -> None:
    """Level water past a line that hangs: it pulls aft with the drag of half a segment, all of it wet."""
    rows = rows_of(Chain((0.0, 0.0, 1.0), (Line(9.0, 0.5e-3, 1.6e-3, 0.0, 4e4, normal_drag=1.2), BALL)))
    state = straight(rows, (0.0, 0.0, 1.0), np.array([1.1, 0.0, 0.0]))
    state.tension_N[:] = 0.4
    aft = 1.5 * 0.5 * 1000.0 * 0.5e-3 * 1.2 * 1.1**2
    assert report(rows, state).tip_tension_N == pytest.approx(math.hypot(0.4, aft), rel=1e-6)


def test_a_segments_drag_is_that_of_its_two_ends_mean_velocity() -> None:
    """The tip rests; the far ends go ahead, to the side and down, the next ones otherwise."""
    rows = rows_of(Chain((0.0, 0.0, 1.0), (Line(9.0, 0.5e-3, 1.6e-3, 0.0, 4e4, normal_drag=1.2), BALL)))
    state = straight(rows, (0.0, 0.0, 1.0))
    state.velocity_m_s[0, 1], state.velocity_m_s[0, 2:] = (0.8, 0.6, 0.3), (9.0, -9.0, 9.0)
    state.tension_N[:] = 0.4
    across = 1.5 * 0.5 * 1000.0 * 0.5e-3 * 1.2 * 0.5**2
    along = 1.5 * 0.5 * 1000.0 * math.pi * 0.5e-3 * 0.01 * 0.15**2
    assert report(rows, state).tip_tension_N == pytest.approx(math.hypot(0.4 - along, across), rel=1e-6)


def test_the_flow_past_the_last_tackle_and_how_it_sinks() -> None:
    rows = rows_of(
        Chain((0.0, 0.0, -1.0), (WIRE, BALL)), Chain((0.0, 2.0, -1.0), (WIRE, DISC, WIRE, BALL)), segments=4
    )
    state = straight(rows, (0.0, 0.0, 1.0), np.array([0.5, 0.1, -0.2]))
    flow = Flow(np.array([0.0, 16.0]), np.array([(0.0, 0.0), (0.16, 0.32)]))
    state.velocity_m_s[1, rows.body_node[1, 0]] = (9.0, 9.0, 9.0)  # of a diver before the lure
    near, far = report(rows, state, flow), report(rows, state, flow, row=1)
    assert near.lure_flow_m_s == pytest.approx(math.sqrt(0.42**2 + 0.06**2 + 0.2**2))
    assert far.lure_flow_m_s == pytest.approx(math.sqrt(0.34**2 + 0.22**2 + 0.2**2))
    assert (near.lure_sinking_m_s, far.lure_sinking_m_s) == (-0.2, -0.2)
    by_row = Flow(flow.depths_m, np.stack([flow.velocity_m_s, 0.0 * flow.velocity_m_s]))
    assert report(rows, state, by_row, row=1).lure_flow_m_s == pytest.approx(math.sqrt(0.25 + 0.01 + 0.04))


def test_a_bare_line_has_no_flow_past_a_lure_and_its_end_sinks() -> None:
    rows = rows_of(Chain((0.0, 0.0, -1.0), (WIRE,)))
    told = report(rows, straight(rows, (0.0, 0.0, 1.0), np.array([0.5, 0.1, 0.2])))
    assert math.isnan(told.lure_flow_m_s)
    assert told.lure_sinking_m_s == 0.2


@pytest.mark.parametrize(
    ("speed", "pull_N", "slack"), [(0.31, 1.01, False), (0.29, 1.01, True), (0.31, 0.99, True), (0.3, 1.0, False)]
)
def test_a_diver_is_slack_in_little_flow_or_under_little_pull(speed: float, pull_N: float, slack: bool) -> None:
    rows = rows_of(Chain((0.0, 0.0, -1.0), (WIRE, DISC, WIRE, BALL)), segments=4)
    state = straight(rows, (0.0, 0.0, 1.0), np.array([speed, 0.0, 0.0]))
    state.tension_N[:] = 0.1
    state.tension_N[0, rows.body_node[0, 0] - 1] = pull_N
    assert report(rows, state).slack is slack
    ball = rows_of(Chain((0.0, 0.0, -1.0), (WIRE, BALL)))
    assert not report(ball, straight(ball, (0.0, 0.0, 1.0))).slack, "a ball never is"


@pytest.mark.parametrize(("depth_m", "under"), [(0.049, False), (0.051, True)])
def test_a_board_deeper_than_its_height_is_under(depth_m: float, under: bool) -> None:
    rows = rows_of(Chain((0.0, 0.0, depth_m), (WIRE, BOARD, WIRE, BALL)), segments=4)
    told = report(rows, straight(rows, (-1.0, 0.0, 0.0)))
    assert told.board_under is under
    assert not told.slack
