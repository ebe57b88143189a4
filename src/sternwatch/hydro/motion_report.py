"""What a state says of its chains: pulls, angles, flow past the tackle, and what is out of order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from sternwatch.hydro.chain import BodyKind
from sternwatch.hydro.forces import B_HEIGHT, B_KIND, L_DRY, L_WET, line_force
from sternwatch.hydro.motion import Bools, State
from sternwatch.hydro.rows import STILL, Floats, Flow, Rows

SLACK_FLOW_M_S: Final = 0.3  # past a diver
SLACK_PULL_N: Final = 1.0  # of the line to it


@dataclass(frozen=True)
class Report:
    """n rows, B bodies (padding nan or False). All numbers of a failed row are old ones and not to be shown."""

    tip_tension_N: Floats  # (n,) what the rod tip holds, the half segment next to it included
    entry_angle_rad: Floats  # (n,) of the line below the horizontal where it meets the surface
    end_depth_m: Floats  # (n,)
    body_position_m: Floats  # (n, B, 3)
    body_flow_m_s: Floats  # (n, B) speed of the water past it
    body_velocity_m_s: Floats  # (n, B, 3) its own, in the drifting frame; z positive sinking
    slack: Bools  # (n,) a diver's flow under 0.3 m/s or its line's pull under 1 N
    board_under: Bools  # (n,) a board deeper than its height; that it lasts 3 s is for the caller to find
    failed: Bools  # (n,)


def _loads(rows: Rows, state: State, flow: Flow, row: int, k: int) -> tuple[Floats, Floats, Floats]:
    """Of segment k: its pull (3,) at the middle [N], and what water and weight do to a metre of it wet and dry."""
    x = state.position_m[row]
    along = x[k + 1] - x[k]
    tangent = along / np.linalg.norm(along)
    depth = 0.5 * (x[k, 2] + x[k + 1, 2])
    water = np.zeros(3)
    if len(flow.depths_m):
        table = flow.by_row(len(rows))
        own = table[row if len(table) > 1 else 0]
        water[:2] = [np.interp(depth, flow.depths_m, own[:, axis]) for axis in range(2)]
    velocity = 0.5 * (state.velocity_m_s[row, k] + state.velocity_m_s[row, k + 1])
    wet = np.array(line_force(rows.line[row, k], *(water - velocity), *tangent))
    wet[2] += rows.line[row, k, L_WET]
    return state.tension_N[row, k] * tangent, wet, np.array([0.0, 0.0, rows.line[row, k, L_DRY]])


def _tip(rows: Rows, state: State, flow: Flow, row: int) -> tuple[float, float]:
    """Tension at the tip and entry angle of one row: a segment's pull is that at its middle, so loads are added."""
    z = state.position_m[row, : int(rows.n_nodes[row]), 2]
    pull, wet, dry = _loads(rows, state, flow, row, 0)
    rest = float(state.rest_m[row, 0])
    # Of the half next to the tip so much is under water.
    under = min(max(0.5 + 0.5 * (z[0] + z[1]) / max(abs(z[1] - z[0]), 1e-9), 0.0), 1.0)
    half = min(under, 0.5) if z[0] > z[1] else max(under - 0.5, 0.0)
    held = pull + rest * (half * wet + (0.5 - half) * dry)
    crossing = np.flatnonzero((z[:-1] <= 0.0) & (z[1:] > 0.0))
    k = int(crossing[0]) if len(crossing) else 0
    if k > 0:
        pull, wet, dry = _loads(rows, state, flow, row, k)
    at = -z[k] / (z[k + 1] - z[k]) if len(crossing) else 0.0
    pull = pull + float(state.rest_m[row, k]) * ((0.5 - at) * wet if at < 0.5 else (0.5 - at) * dry)
    return float(np.linalg.norm(held)), float(np.arctan2(pull[2], np.hypot(pull[0], pull[1])))


def report(rows: Rows, state: State, flow: Flow = STILL) -> Report:
    """See ``Report``."""
    n, most = rows.body_node.shape
    tips = np.array([_tip(rows, state, flow, row) for row in range(n)]).reshape(n, 2)
    real = rows.body_node >= 0
    node = np.maximum(rows.body_node, 1)
    at = np.arange(n)[:, None]
    position = np.where(real[..., None], state.position_m[at, node], np.nan)
    velocity = np.where(real[..., None], state.velocity_m_s[at, node], np.nan)
    water = np.zeros((n, most, 3))
    if len(flow.depths_m):
        table = flow.by_row(n)
        for row in range(n):
            own = table[row if len(table) > 1 else 0]
            for axis in range(2):
                water[row, :, axis] = np.interp(state.position_m[row, node[row], 2], flow.depths_m, own[:, axis])
    speed = np.linalg.norm(water - velocity, axis=-1)
    kind = rows.body[..., B_KIND]
    diver = real & (kind == BodyKind.DIVER)
    pull = state.tension_N[at, node - 1]
    slack = (diver & ((speed < SLACK_FLOW_M_S) | (pull < SLACK_PULL_N))).any(axis=1)
    board = real & (kind == BodyKind.BOARD)
    under = (board & (np.nan_to_num(position[..., 2]) > rows.body[..., B_HEIGHT])).any(axis=1)
    last = state.position_m[np.arange(n), rows.n_nodes - 1, 2]
    return Report(
        tip_tension_N=tips[:, 0],
        entry_angle_rad=tips[:, 1],
        end_depth_m=last,
        body_position_m=position,
        body_flow_m_s=speed,
        body_velocity_m_s=velocity,
        slack=slack,
        board_under=under,
        failed=state.failed.copy(),
    )
