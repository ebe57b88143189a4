"""Moves chains to other nodes: when much line goes out, its number of segments must grow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sternwatch.hydro.chain.rows import Floats, Rows
from sternwatch.hydro.motion import fleet as motion


def with_first_line(rows: Rows, length_m: float | Floats) -> Rows:
    """Every row with its first Line scaled to an unstretched length, one for all or (n,); counts stay."""
    rest = rows.rest_m.copy()
    lengths = np.broadcast_to(np.asarray(length_m, dtype=np.float64), (len(rows),))
    for row, segments in enumerate(rows.first_segments):
        rest[row, :segments] *= lengths[row] / rest[row, :segments].sum()
    arc = np.concatenate([np.zeros((len(rows), 1)), np.cumsum(rest, axis=1)], axis=1)
    return replace(rows, rest_m=rest, arc_m=arc)


def regrid(state: motion.State, old: Rows, new: Rows) -> motion.State:
    """The same chains on ``new``'s nodes, linear between the old ones.

    ``new`` holds the same lines and bodies at the lengths that ``state`` has now, but cut differently. The shape
    stays as far as straight segments can show it. Tensions settle within a step or two.
    """
    made = motion.start(new, np.zeros((*new.arc_m.shape, 3)), np.zeros(3))
    for row in range(len(new)):
        before, after = int(old.n_nodes[row]), int(new.n_nodes[row])
        arc = np.concatenate([[0.0], np.cumsum(state.rest_m[row, : before - 1])])
        at = new.arc_m[row, :after]
        for name in ("position_m", "before_m", "velocity_m_s", "velocity_before_m_s"):
            source, target = getattr(state, name)[row], getattr(made, name)[row]
            for axis in range(3):
                target[:after, axis] = np.interp(at, arc, source[:before, axis])
            target[after:] = target[after - 1]
        middle = 0.5 * (at[1:] + at[:-1])
        made.tension_N[row, : after - 1] = np.interp(
            middle, 0.5 * (arc[1:] + arc[:-1]), state.tension_N[row, : before - 1]
        )
    made.step_s[:] = state.step_s
    made.owed_s[:] = state.owed_s
    made.failed[:] = state.failed
    return made
