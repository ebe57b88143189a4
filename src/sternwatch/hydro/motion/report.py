"""Computes pulls, angles, the flow past the lure and faults from a state."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit

from sternwatch.hydro.chain.forces import B_HEIGHT, B_KIND, L_DRY, L_WET, current_at, line_force
from sternwatch.hydro.chain.model import BodyKind
from sternwatch.hydro.chain.rows import STILL, Floats, Flow, Ints, Rows
from sternwatch.hydro.motion.fleet import State

SLACK_FLOW_M_S: Final = 0.3  # past a diver
SLACK_PULL_N: Final = 1.0  # of the line to it
DIVER: Final = int(BodyKind.DIVER)
BOARD: Final = int(BodyKind.BOARD)


class Report(NamedTuple):
    """Of one chain. All numbers of a chain whose step failed are old and must not be shown."""

    tip_tension_N: float  # pull at the rod tip, with the half segment next to it
    entry_angle_rad: float  # of the line below the horizontal at the surface
    lure_flow_m_s: float  # speed of the water past the last body; nan: there is none
    lure_sinking_m_s: float  # the last body's own speed down, or the end's
    slack: bool  # a diver's flow is under 0.3 m/s or its line's pull under 1 N
    board_under: bool  # a board is deeper than its height; the caller decides whether it lasts 3 s


@njit(cache=True, nogil=True, error_model="numpy")
def _loads(
    x: Floats, v: Floats, line: Floats, tension: Floats, depths: Floats, current: Floats, k: int, out: Floats
) -> None:
    """Segment k into ``out`` (3, 3): its pull at the middle [N], and the load on a metre of it, wet and dry."""
    length = 0.0
    for axis in range(3):
        length += (x[k + 1, axis] - x[k, axis]) ** 2
    length = math.sqrt(length)
    tx, ty, tz = (x[k + 1, 0] - x[k, 0]) / length, (x[k + 1, 1] - x[k, 1]) / length, (x[k + 1, 2] - x[k, 2]) / length
    north, east, _, _ = current_at(depths, current, 0.5 * (x[k, 2] + x[k + 1, 2]))
    fx, fy, fz = line_force(
        line[k],
        north - 0.5 * (v[k, 0] + v[k + 1, 0]), east - 0.5 * (v[k, 1] + v[k + 1, 1]), -0.5 * (v[k, 2] + v[k + 1, 2]),
        tx, ty, tz,
    )  # fmt: skip
    out[0, 0], out[0, 1], out[0, 2] = tension[k] * tx, tension[k] * ty, tension[k] * tz
    out[1, 0], out[1, 1], out[1, 2] = fx, fy, fz + line[k, L_WET]
    out[2, 0], out[2, 1], out[2, 2] = 0.0, 0.0, line[k, L_DRY]


@njit(cache=True, nogil=True, error_model="numpy")
def _tip(
    x: Floats, v: Floats, line: Floats, tension: Floats, rest: Floats, depths: Floats, current: Floats, nodes: int
) -> tuple[float, float]:
    """Tension at the tip and entry angle of one row. Adds loads, because a segment's pull is that at its middle."""
    loads = np.empty((3, 3))
    _loads(x, v, line, tension, depths, current, int(np.int64(0)), loads)  # (for a bare 0 it is compiled once more)
    # The share under water of the half segment next to the tip.
    z0, z1 = x[0, 2], x[1, 2]
    under = min(max(0.5 + 0.5 * (z0 + z1) / max(abs(z1 - z0), 1e-9), 0.0), 1.0)
    half = min(under, 0.5) if z0 > z1 else max(under - 0.5, 0.0)
    held = 0.0
    for axis in range(3):
        pull = loads[0, axis] + rest[0] * (half * loads[1, axis] + (0.5 - half) * loads[2, axis])
        held += pull * pull
    k, crosses = 0, False
    for i in range(nodes - 1):
        if x[i, 2] <= 0.0 and x[i + 1, 2] > 0.0:
            k, crosses = i, True
            break
    if k > 0:
        _loads(x, v, line, tension, depths, current, k, loads)
    at = -x[k, 2] / (x[k + 1, 2] - x[k, 2]) if crosses else 0.0
    beyond = 1 if at < 0.5 else 2
    share = rest[k] * (0.5 - at)
    px = loads[0, 0] + share * loads[beyond, 0]
    py = loads[0, 1] + share * loads[beyond, 1]
    pz = loads[0, 2] + share * loads[beyond, 2]
    return math.sqrt(held), math.atan2(pz, math.hypot(px, py))


@njit(cache=True, nogil=True, error_model="numpy")
def _report(
    row: int, x: Floats, v: Floats, tension: Floats, rest: Floats, n_nodes: Ints, line: Floats, body: Floats,
    body_node: Ints, depths: Floats, current: Floats,
) -> tuple[float, float, float, float, bool, bool]:  # fmt: skip
    own = current[row if current.shape[0] > 1 else 0]
    nodes = n_nodes[row]
    pull, angle = _tip(x[row], v[row], line[row], tension[row], rest[row], depths, own, nodes)
    past, sinking, slack, under = math.nan, v[row, nodes - 1, 2], False, False
    for b in range(body_node.shape[1]):
        node = body_node[row, b]
        if node < 0:
            continue
        north, east, _, _ = current_at(depths, own, x[row, node, 2])
        past = math.sqrt((north - v[row, node, 0]) ** 2 + (east - v[row, node, 1]) ** 2 + v[row, node, 2] ** 2)
        sinking = v[row, node, 2]
        kind = body[row, b, B_KIND]
        if kind == DIVER and (past < SLACK_FLOW_M_S or tension[row, node - 1] < SLACK_PULL_N):
            slack = True
        if kind == BOARD and x[row, node, 2] > body[row, b, B_HEIGHT]:
            under = True
    return pull, angle, past, sinking, slack, under


def report(rows: Rows, state: State, flow: Flow = STILL, row: int = 0) -> Report:
    """What is to be told of one row."""
    return Report(
        *_report(
            row, state.position_m, state.velocity_m_s, state.tension_N, state.rest_m, rows.n_nodes, rows.line,
            rows.body, rows.body_node, flow.depths_m, flow.by_row(len(rows)),
        )
    )  # fmt: skip
