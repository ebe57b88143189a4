"""How near a lure came to its place, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.again.plan import Proposal, Target
from sternwatch.watch.bottom.soundings import local_metres

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch


@dataclass(frozen=True, slots=True)
class Nearest:
    """The lure at its nearest so far, as the watch computed it."""

    off_m: float = math.inf
    depth_m: float | None = None
    depth_range_m: tuple[float, float] | None = None
    within_m: float | None = None  # 90 % of the members came this near; None where no members are carried


def nearest_now(watch: Watch, target: Target, before: Nearest) -> Nearest:
    """The newest step, if the lure is nearer than ever before."""
    origin = watch.bottom.origin_deg
    rod = watch.memory.moments[-1].rods.get(target.key) if len(watch.memory.moments) else None
    if rod is None or rod.position_deg is None or origin is None:
        return before
    off = math.dist(local_metres(origin, rod.position_deg), target.place_m)
    if off >= before.off_m:
        return before
    return Nearest(off, rod.depth_m, rod.depth_interval_m, _within(watch, target))


def _within(watch: Watch, target: Target) -> float | None:
    """How near 90 % of the members' lures come, each behind its own boat."""
    transom, beliefs = watch.bottom.over.transom_m, watch.chains.beliefs
    chain = watch.chains.get(target.key)
    if transom is None or beliefs is None or chain is None or chain.members is None:
        return None
    lures = chain.members.state.position_m[:, -1, :2] - beliefs.place_m + np.array(transom)
    off = np.hypot(*(lures - np.array(target.place_m)).T)
    off = off[np.isfinite(off)]
    return float(np.quantile(off, 0.9)) if len(off) else None


def passed_words(near: Nearest, chosen: Proposal, units: DisplaySystem) -> str:
    """One line: how far off it passed, how much deeper, and how sure that is."""
    if not math.isfinite(near.off_m):
        return "AGAIN passed; how near the lure came is not known"
    text = f"AGAIN passed {units.show(near.off_m, Dimension.LENGTH)} from the place"
    if near.depth_m is not None and chosen.target.depth_m is not None:
        deeper = near.depth_m - chosen.target.depth_m
        shown = units.show(abs(deeper), Dimension.LENGTH)
        text += f", {shown} {'deeper' if deeper > 0 else 'shallower'}"
    text += ", as computed"
    if near.within_m is not None:
        text += f"; 90 %: within {units.show(near.within_m, Dimension.LENGTH)}"
        if near.depth_range_m is not None:
            half = 0.5 * (near.depth_range_m[1] - near.depth_range_m[0])
            text += f" and ±{units.show(half, Dimension.LENGTH)} in depth"
    return f"{text}; within {units.show(chosen.passed.within_m, Dimension.LENGTH)} was planned"
