"""The steady turn: where a chain lies when the boat has held one radius and one speed for minutes.

In the frame that turns with the boat the chain is at rest in a flow that goes round the turn's centre, and its mass
feels the centrifugal force.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.chain import Chain
from sternwatch.hydro.steady import WHY, Steady, describe, find_end, unknown
from sternwatch.hydro.steady_kernel import NOT_CONVERGED, SOLVED
from sternwatch.hydro.steady_roots import end_place
from sternwatch.hydro.steady_rows import Packed, RefusedError, checked_speed, pack
from sternwatch.water.properties import Water

Array = NDArray[np.float64]

# Tightening the turn in this many pieces at most before giving up.
MOST_PIECES: Final = 256


def _rounded(end: Array, tip: Array, before: float, after: float) -> Array:
    """A chain's end at curvature ``before`` [1/m, positive to starboard], carried round to curvature ``after``.

    It keeps its offset and its distance along the circle from the tip, as if it trailed in the boat's wake.
    """
    out = end.copy()
    change = after - before
    astern = tip[0] - end[0]
    angle = min(max(astern * change, -1.5), 1.5)
    if abs(change) > 1e-12:
        lateral = (1.0 - math.cos(angle)) / change
        out[0] = tip[0] - math.sin(angle) / change
        out[1] = end[1] + lateral
    return out


def _tighten(packed: Packed, env: Array, curvature: float, end: Array, tolerance: float) -> int:
    """From the straight solution ``end`` (in place) to the turn of ``curvature``, in as few pieces as converge."""
    done, piece, pieces = 0.0, 1.0, 0
    while done < 1.0:
        share = min(1.0, done + piece)
        trial = _rounded(end, packed.tip, done * curvature, share * curvature)
        env[1] = share * curvature * env[0]
        status = end_place(packed.rig, env, packed.tip, tolerance, trial)
        pieces += 1
        if status == SOLVED:
            done, end[:] = share, trial
            piece *= 2.0
        else:
            piece *= 0.5
            if pieces > MOST_PIECES or piece < 1e-4:
                return NOT_CONVERGED
    return SOLVED


def solve_turn(
    chain: Chain,
    speed_m_s: float,
    radius_m: float,
    side: Literal["port", "starboard"],
    *,
    water: Water,
    arc_m: Sequence[float] | Array | None = None,
    tolerance: float = 1e-9,
) -> Steady:
    """The steady state in a turn whose radius is that of the transom's centre, in still water; boat axes.

    ``speed_m_s`` is the transom's centre's through the water. Depth, astern and abeam are those of the free end in
    the boat's axes at that moment, not along the wake. Nothing is raised: what cannot be solved says why.
    """
    arcs = None if arc_m is None else np.asarray(arc_m, dtype=float)
    nothing = np.empty(0) if arcs is None else arcs
    try:
        packed = pack(chain, water)
        speed = checked_speed(speed_m_s)
        if not (math.isfinite(radius_m) and radius_m > 0.0):
            raise RefusedError(f"a turn's radius must be positive, not {radius_m} m")
        if side not in ("port", "starboard"):
            raise RefusedError(f"a turn goes to port or starboard, not {side!r}")
    except RefusedError as refused:
        return unknown(chain, nothing, str(refused))
    status, env, end = find_end(packed, speed, tolerance)
    curvature = (1.0 if side == "starboard" else -1.0) / radius_m
    if status == SOLVED and speed > 0.0:
        env[2] = 1.0
        status = _tighten(packed, env, curvature, end, tolerance)
    if status != SOLVED:
        return unknown(chain, nothing, WHY[status])
    return describe(chain, packed, env, end, arcs, tolerance)
