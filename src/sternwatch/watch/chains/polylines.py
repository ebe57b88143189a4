"""A fleet as polylines for separation: which parts are tackle, and the rod lines of downriggers among them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.chain.leaders import leaders
from sternwatch.hydro.chain.model import Body, Chain
from sternwatch.hydro.chain.rows import Rows
from sternwatch.hydro.motion.rod_lines import POINTS, lay_all
from sternwatch.hydro.separation.distance import Strands

if TYPE_CHECKING:
    from sternwatch.watch.chains.ensemble import Cast, Run

Floats = NDArray[np.float64]


def strands_of_rows(rows: Rows, chains: Sequence[Chain], parent: Sequence[int], with_line: Sequence[int]) -> Strands:
    """The first len(chains) rows and their rod lines as separation is given them; the members' do not differ."""
    n, nodes = len(chains), max(rows.nodes, POINTS)
    total = n + len(with_line)
    arc = np.zeros((total, nodes))
    body = np.zeros((total, nodes), dtype=np.bool_)
    leader = np.zeros((total, nodes - 1), dtype=np.bool_)
    count = np.zeros(total, dtype=np.int64)
    owner = np.arange(total)
    for i, chain in enumerate(chains):
        m = int(rows.n_nodes[i])
        count[i] = m
        arc[i, : rows.nodes] = rows.arc_m[i]
        arc[i, rows.nodes :] = rows.arc_m[i, -1]
        body[i, rows.body_node[i][rows.body_node[i] >= 0]] = True
        leader[i, : m - 1] = leaders(chain, _segments_of(rows, i, chain))
        if parent[i] >= 0:
            owner[i] = parent[i]
    for j, i in enumerate(with_line):
        row = n + j
        count[row] = POINTS
        owner[row] = owner[i]
        straight = float(np.linalg.norm(rows.rod_tip_m[i])) + float(rows.arc_m[i, rows.rod_node[i]])
        arc[row, :POINTS] = np.linspace(0.0, straight, POINTS)
    return Strands(count, arc, body, leader, owner)


def _segments_of(rows: Rows, row: int, chain: Chain) -> list[int]:
    """How many segments each Line of a chain was given: by its lengths along the arc."""
    out, done, at = [], 0.0, 0
    arc = rows.arc_m[row, : rows.n_nodes[row]]
    for item in chain.items:
        if isinstance(item, Body):
            continue
        done += item.length_m
        end = int(np.argmin(np.abs(arc - done)))
        out.append(end - at)
        at = end
    return out


def polylines(done: Run) -> Floats:
    """Every polyline that counts for separation, (S, M, rods + rod lines, nodes, 3)."""
    cast = done.cast
    samples, m, n, nodes = done.positions_m.shape[:4]
    wide = cast.strands.arc_m.shape[1]
    out = np.empty((samples, m, n + len(cast.rod_line_of), wide, 3))
    out[:, :, :n, :nodes] = done.positions_m
    out[:, :, :n, nodes:] = done.positions_m[:, :, :, -1:]
    if not cast.rod_line_of:
        return out
    rod_tips = carried(cast.rows.rod_tip_m, done.track, n).reshape(samples, m, n, 3)
    for j, rod in enumerate(cast.rod_line_of):
        rows = np.arange(m) * n + rod
        node = int(cast.rows.rod_node[rod])
        ball = np.ascontiguousarray(done.positions_m[:, :, rod, node])
        water = np.zeros((samples, m, 3))
        water[..., :2] = water_at(cast, rod, ball[..., 2])
        curves = np.empty((samples, m, POINTS, 3))
        lay_all(
            cast.rows.rod[rows], ball, np.ascontiguousarray(rod_tips[:, :, rod]), done.path.step_s, water, curves
        )  # fmt: skip
        out[:, :, n + j, :POINTS] = curves
        out[:, :, n + j, POINTS:] = curves[:, :, -1:]
    return out


def water_at(cast: Cast, rod: int, depth_m: Floats) -> Floats:
    """The water's velocity (S, M, 2) at depths (S, M) of one rod's members."""
    out = np.zeros((*depth_m.shape, 2))
    flow = cast.flow
    if len(flow.depths_m):
        table = flow.by_row(cast.members * cast.rods)
        for member in range(cast.members):
            own = table[member * cast.rods + rod if len(table) > 1 else 0]
            for axis in range(2):
                out[:, member, axis] = np.interp(depth_m[:, member], flow.depths_m, own[:, axis])
    return out


def turned(points_m: Floats, heading_rad: float | Floats) -> Floats:
    """Boat axes (forward, starboard, down) to (north, east, down)."""
    c, s = np.cos(heading_rad), np.sin(heading_rad)
    x, y = points_m[..., 0], points_m[..., 1]
    return np.stack([c * x - s * y, s * x + c * y, points_m[..., 2]], axis=-1)


def carried(points_m: Floats, track: Floats, n: int) -> Floats:
    """Points of the boat (rows, 3) along the members' tracks (S, M, 3): (S, rows, 3)."""
    by_row = np.repeat(track, n, axis=1)
    out = turned(np.broadcast_to(points_m, (*by_row.shape[:2], 3)), by_row[..., 2])
    out[..., 0] += by_row[..., 0]
    out[..., 1] += by_row[..., 1]
    return out
