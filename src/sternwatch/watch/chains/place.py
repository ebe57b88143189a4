"""Where one chain is at one moment, in the form that every part but the solver uses."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.answer import stretch
from sternwatch.answers.depths.along_lines import Quantiles
from sternwatch.hydro.chain.rows import Rows
from sternwatch.hydro.motion.fleet import State
from sternwatch.hydro.motion.report import Report
from sternwatch.watch.boat.axes import Towing, to_boat

Floats = NDArray[np.float64]
Point = tuple[float, float, float]

WIDE = 0.25  # share of the depth: a wider interval makes the depth only about right
NO_LONGER_WIDE = 0.22  # a narrower one makes it right again; the gap stops a number's look from flickering


def is_rough(depth_m: float, interval_m: tuple[float, float] | None, before: bool) -> bool:
    """Whether a depth is only about right. ``before``: whether it was so a moment ago."""
    if interval_m is None:
        return False
    return interval_m[1] - interval_m[0] > (NO_LONGER_WIDE if before else WIDE) * max(depth_m, 0.0)


@dataclass(frozen=True, slots=True)
class Place:
    """Where the chain is, in boat axes: astern, to starboard, down [m]. It ends at the median of the members.

    ``stretched``: the factor on the nominal chain's depths that brings it there.
    """

    shape_m: Floats  # (nodes, 3), read-only
    bodies_m: tuple[Point, ...]  # of its bodies in chain order, the same
    depth_m: float
    astern_m: float
    abeam_m: float
    lure_speed_m_s: float  # through the water
    vertical_speed_m_s: float  # positive sinking
    tension_N: float
    entry_angle_deg: float
    depth_quantiles_m: Quantiles | None = None  # None: no members are carried, or too few are known
    stretched: float = 1.0

    @property
    def depth_interval_m(self) -> tuple[float, float] | None:
        """From the 5 % to the 95 % quantile."""
        return None if self.depth_quantiles_m is None else (self.depth_quantiles_m[0], self.depth_quantiles_m[4])


def place_of(rows: Rows, state: State, report: Report, boat: Towing, law: Quantiles | None) -> Place:
    """The place of the chain in the first row; ``law``: the quantiles of its lure's depth, if members are carried."""
    n = int(rows.n_nodes[0])
    shape = to_boat(state.position_m[0, :n], boat)
    by = 1.0 if law is None else stretch(float(shape[-1, 2]), law[2])
    if by != 1.0:
        np.multiply(shape[:, 2], by, out=shape[:, 2], where=shape[:, 2] > 0.0)
    shape.setflags(write=False)
    *bodies, end = shape[[*(node for node in rows.body_node[0].tolist() if node >= 0), -1]].tolist()
    lure = len(bodies) - 1
    sinking = report.body_velocity_m_s[0, lure, 2] if lure >= 0 else state.velocity_m_s[0, n - 1, 2]
    return Place(
        shape_m=shape,
        bodies_m=tuple(map(tuple, bodies)),
        depth_m=end[2],
        astern_m=end[0],
        abeam_m=end[1],
        lure_speed_m_s=float(report.body_flow_m_s[0, lure]) if lure >= 0 else math.nan,
        vertical_speed_m_s=float(sinking),
        tension_N=float(report.tip_tension_N[0]),
        entry_angle_deg=math.degrees(report.entry_angle_rad[0]),
        depth_quantiles_m=law,
        stretched=by,
    )
