"""A fleet as polylines for separation, with the rod lines of downriggers among them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.motion.rod_lines import POINTS, lay_all
from sternwatch.watch.chains.ensemble import Cast, Run
from sternwatch.watch.chains.strands import carried

Floats = NDArray[np.float64]


def polylines(done: Run) -> Floats:
    """Every polyline that counts for separation, (S, M, rods + rod lines, nodes, 3): the run's own room, filled."""
    cast, out = done.cast, done.lines_m
    samples, m, n = done.positions_m.shape[:3]
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
