"""Describes chains and rod lines to separation (which parts are tackle), and points that the boat carries along."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.chain.leaders import leaders
from sternwatch.hydro.chain.model import Body, Chain
from sternwatch.hydro.chain.rows import Rows
from sternwatch.hydro.motion.rod_lines import POINTS
from sternwatch.hydro.separation.distance import Strands

Floats = NDArray[np.float64]


def strands_of_rows(rows: Rows, chains: Sequence[Chain], parent: Sequence[int], with_line: Sequence[int]) -> Strands:
    """The first len(chains) rows and their rod lines, for separation. They are the same in all members."""
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
    """How many segments each Line of a chain has, from its lengths along the arc."""
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


def turned(points_m: Floats, heading_rad: float | Floats) -> Floats:
    """Boat axes (forward, starboard, down) to (north, east, down)."""
    c, s = np.cos(heading_rad), np.sin(heading_rad)
    x, y = points_m[..., 0], points_m[..., 1]
    return np.stack([c * x - s * y, s * x + c * y, points_m[..., 2]], axis=-1)


def carried(points_m: Floats, track: Floats, n: int) -> Floats:
    """Points fixed to the boat (rows, 3) along the members' tracks (S, M, 3): (S, rows, 3)."""
    heading = track[..., 2]
    c, s = np.repeat(np.cos(heading), n, axis=1), np.repeat(np.sin(heading), n, axis=1)
    x, y = points_m[:, 0], points_m[:, 1]
    out = np.empty((*c.shape, 3))
    out[..., 0] = c * x - s * y + np.repeat(track[..., 0], n, axis=1)
    out[..., 1] = s * x + c * y + np.repeat(track[..., 1], n, axis=1)
    out[..., 2] = points_m[:, 2]
    return out
