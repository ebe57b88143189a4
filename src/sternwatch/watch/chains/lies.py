"""Where one chain lies at one moment, in the form that every part but the solver uses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.chains.members import Intervals

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Place:
    """Where the chain lies, in boat axes: astern, to starboard, down [m]."""

    shape_m: Floats  # (nodes, 3), read-only
    bodies_m: Floats  # (bodies, 3)
    depth_m: float
    astern_m: float
    abeam_m: float
    lure_speed_m_s: float  # through the water
    vertical_speed_m_s: float  # positive sinking
    tension_N: float
    entry_angle_deg: float
    intervals: Intervals | None = None  # None: no members are carried
