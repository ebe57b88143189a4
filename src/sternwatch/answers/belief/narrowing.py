"""What to do about a wide interval: the cheapest thing that narrows it, and by how much, by the linear law."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.observations import TOUCHED_M
from sternwatch.gear.spread_file.uncertain import AXES, TAPED, Uncertain

Floats = NDArray[np.float64]

Deed = Literal["tape", "turn", "touch"]

TURN_LEAVES = 0.6  # share of the current's error left after going back on her course; legs of four minutes leave less
WORTH = 0.9  # a deed that leaves a larger share of the interval is not advised
_CURRENTS = tuple(f"current {axis}" for axis in AXES)


@dataclass(frozen=True, slots=True)
class Narrowing:
    """One thing to do, and the half width [m] at 90 % of a rod's depth after it."""

    deed: Deed
    after_m: float


def narrowing(
    names: Sequence[str], slopes: Floats, covariance: Floats, quantities: Mapping[str, Uncertain],
    off_m: float, z90: float, *, turned: bool,
) -> Narrowing | None:  # fmt: skip
    """The cheapest worthwhile deed: laying a tape, turning back, touching bottom. None: none is worth it.

    ``slopes`` (k,), ``covariance`` (k, k): of what the depth depends on; ``off_m``: the half width of the whole law,
    to which the linear law's is scaled; ``turned``: the boat's legs have already shown the current as well as they
    can.
    """
    before = float(slopes @ covariance @ slopes)
    if before <= 0.0 or off_m <= 0.0:
        return None
    linear_m = z90 * math.sqrt(before)

    def left(of: Mapping[str, float]) -> float:
        """Share of the half width left when the given share is left of these quantities' spread."""
        share = np.array([of.get(name, 1.0) for name in names])
        return math.sqrt(max(0.0, float((share * slopes) @ covariance @ (share * slopes))) / before)

    tape = (TAPED.high - TAPED.low) / 2.0
    counters = {name: tape / (0.5 * (quantities[name].high - quantities[name].low))
                for name in names if name.endswith(" counter") and quantities[name].heavy}  # fmt: skip
    deeds: list[tuple[Deed, float]] = []
    if counters:
        deeds.append(("tape", left(counters)))
    if not turned and any(name in names for name in _CURRENTS):
        deeds.append(("turn", left(dict.fromkeys(_CURRENTS, TURN_LEAVES))))
    # A touch measures the depth itself, so the sum of everything else.
    deeds.append(("touch", TOUCHED_M / math.hypot(TOUCHED_M, linear_m)))
    found = next(((deed, share) for deed, share in deeds if share <= WORTH), None)
    return None if found is None else Narrowing(found[0], found[1] * off_m)
