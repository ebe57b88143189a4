"""Where one chain is at one moment, in the form that every part but the solver uses."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.answers.belief.answer import stretch
from sternwatch.answers.depths.along_lines import Quantiles
from sternwatch.hydro.chain.rows import Rows
from sternwatch.hydro.motion.fleet import State
from sternwatch.hydro.motion.report import Report
from sternwatch.quickly import quickly_made
from sternwatch.watch.boat.axes import Towing

Floats = NDArray[np.float64]
Point = tuple[float, float, float]

WIDE = 0.25  # share of the depth: a wider interval makes the depth only about right
NO_LONGER_WIDE = 0.22  # a narrower one makes it right again; the gap stops a number's look from flickering


def is_rough(depth_m: float, interval_m: tuple[float, float] | None, before: bool) -> bool:
    """Whether a depth is only about right. ``before``: whether it was so a moment ago."""
    if interval_m is None:
        return False
    return interval_m[1] - interval_m[0] > (NO_LONGER_WIDE if before else WIDE) * max(depth_m, 0.0)


@quickly_made
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


@njit(cache=True, nogil=True, error_model="numpy")
def _see(
    position: Floats, north_m: float, east_m: float, heading_rad: float, deeper: float, shape: Floats
) -> None:  # fmt: skip
    """Set ``shape`` (nodes, 3) to the first row's nodes in boat axes, depths below the surface times ``deeper``."""
    c, s = math.cos(heading_rad), math.sin(heading_rad)
    for i in range(len(shape)):
        north, east, down = position[0, i, 0] - north_m, position[0, i, 1] - east_m, position[0, i, 2]
        shape[i, 0] = -(north * c + east * s)
        shape[i, 1] = east * c - north * s
        shape[i, 2] = down * deeper if down > 0.0 else down


def place_of(rows: Rows, state: State, report: Report, boat: Towing, law: Quantiles | None) -> Place:
    """The place of the chain in the first row; ``law``: the quantiles of its lure's depth, if members are carried."""
    n = int(rows.n_nodes[0])
    by = 1.0 if law is None else stretch(float(state.position_m[0, n - 1, 2]), law[2])
    shape = np.empty((n, 3))
    _see(state.position_m, boat.north_m, boat.east_m, math.radians(boat.heading_deg), by, shape)
    shape.setflags(write=False)
    astern, abeam, depth = shape[-1].tolist()
    return Place(
        shape_m=shape,
        bodies_m=tuple(map(tuple, shape[rows.first_bodies].tolist())),
        depth_m=depth,
        astern_m=astern,
        abeam_m=abeam,
        lure_speed_m_s=report.lure_flow_m_s,
        vertical_speed_m_s=report.lure_sinking_m_s,
        tension_N=report.tip_tension_N,
        entry_angle_deg=math.degrees(report.entry_angle_rad),
        depth_quantiles_m=law,
        stretched=by,
    )
