"""An invented bottom for the place of the demo's evening. It is labelled as invented wherever it is shown."""

from __future__ import annotations

import numpy as np

from sternwatch.watch.bottom.soundings import EARTH_RADIUS_M
from sternwatch.watch.grids.model import About, LakeGrid

_ORIGIN_DEG = (47.0210, -89.5630)
_STEP_M = 40.0
_SOUTH_M, _WEST_M, _ROWS, _COLUMNS = -1200.0, -1200.0, 75, 105
_LEAST_M = 6.0


def demo_bottom() -> LakeGrid:
    """A gentle slope with one reef, close to the demo's invented soundings (standard deviation 0.7 m)."""
    north = _SOUTH_M + _STEP_M * np.arange(_ROWS)[:, None]
    east = _WEST_M + _STEP_M * np.arange(_COLUMNS)[None, :]
    reef = 75.6 * np.exp(-((north + 242.0) ** 2 + (east - 1035.0) ** 2) / 230.0**2)
    depth = np.maximum(43.8 + 0.0042 * north + 0.001 * east - reef, _LEAST_M).astype(np.float32)
    degree_m = float(np.radians(EARTH_RADIUS_M))
    east_degree_m = degree_m * float(np.cos(np.radians(_ORIGIN_DEG[0])))
    return LakeGrid(
        About(
            name="demo bottom", file="none", kind="made", datum="the evening's surface", level_m=0.0,
            south_deg=_ORIGIN_DEG[0] + _SOUTH_M / degree_m, west_deg=_ORIGIN_DEG[1] + _WEST_M / east_degree_m,
            north_step_deg=_STEP_M / degree_m, east_step_deg=_STEP_M / east_degree_m, rows=_ROWS, columns=_COLUMNS,
            imported="2026-07-18", invented=True,
        ),
        depth,
    )  # fmt: skip
