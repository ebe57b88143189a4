"""Which of the wanted depths a rod can reach, at which setting, with how much line; or why it reaches none.

The wanted depths are spread evenly over a band, one level for each rod. The line out for a level comes from tables
of steady states, refined around each level.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import AS_FILED, RodNow, rig_of, water_of
from sternwatch.answers.depths.depth import current_in_boat_axes
from sternwatch.answers.depths.inverse import MOST_LINE_M
from sternwatch.answers.depths.table import alike
from sternwatch.gear.spread_file.counter import reading_m, true_line_m
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.hydro.steady.solver import solve_many

Floats = NDArray[np.float64]

_TRIALS = 40
_FINER = 5
# Where no length above a few metres changes the depth by more than this, line out does not set it.
_FLAT_M = 0.3
_FLAT_FROM_M = 3.0
# A fixed depth this near to the band counts as in it: nobody knows a depth to half a metre.
_NEARLY_M = 0.5
# Nobody fishes with less line past the tip.
LEAST_LINE_M = 2.0
# Lengths to choose from [m] where line out does not change the depth: it still sets how far out a board runs.
BOARD_LINES_M = (18.0, 27.0, 36.0, 45.0, 60.0)


@dataclass(frozen=True, slots=True)
class Wanted:
    """A wish: lures between two depths at a steady speed through the surface water, for the named rods."""

    from_m: float
    to_m: float
    speed_m_s: float
    keys: tuple[str, ...]
    heading_rad: float | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to fish a rod. ``level``: which of the wanted depths it takes; None: none."""

    key: str
    now: RodNow
    level: int | None
    depth_m: float


@dataclass(frozen=True, slots=True)
class Curve:
    """Depth by line out of a rod at one setting, lengths as the counter reads; nan where not solved."""

    setting: str | None
    readings_m: Floats
    depths_m: Floats

    @property
    def flat(self) -> bool:
        """Whether line out hardly changes the depth."""
        long = self.depths_m[self.readings_m >= _FLAT_FROM_M]
        known = long[np.isfinite(long)]
        return bool(len(known)) and float(known.max() - known.min()) < _FLAT_M


@dataclass(frozen=True, slots=True)
class Reach:
    """What a rod can do. ``why``: what prevents it, in a sentence; empty: the rod can reach the band."""

    key: str
    choices: tuple[Choice, ...]  # every level at every setting that reaches it; else the choices nearest to the band
    fixed: bool  # its depth cannot be chosen
    why: str = ""
    present_m: float | None = None  # the present line out, as the counter reads


def levels_m(wanted: Wanted, count: int) -> Floats:
    """Depths spread evenly over the band, with its ends; a single one is in the middle."""
    if count == 1:
        return np.array([0.5 * (wanted.from_m + wanted.to_m)])
    return np.linspace(wanted.from_m, wanted.to_m, count)


def reaches(spread: Spread, wanted: Wanted, now: Mapping[str, RodNow] | None = None) -> tuple[Reach, ...]:
    """What every named rod can do, in file order. ``now``: how rods differ from the file."""
    given = now or {}
    rods = [rod for rod in spread.rods if rod.key in wanted.keys]
    curves = _curves(spread, [rod for rod in rods if rod.clipped_to is None], wanted, given)
    able = [rod.key for rod in rods if rod.key in curves and _able(curves[rod.key], wanted)]
    levels = levels_m(wanted, len(able)) if able else np.zeros(0)
    finer = {key: _at_levels(spread, key, curves[key], levels, wanted, given) for key in able}
    return tuple(_reach(spread, rod, wanted, curves, finer, given.get(rod.key, AS_FILED)) for rod in rods)


def level_of(levels: Floats, depth_m: float) -> int:
    """The level nearest to a depth."""
    return int(np.argmin(np.abs(levels - depth_m)))


# -- tables --------------------------------------------------------------------------------------------------------


def _curves(
    spread: Spread, rods: Sequence[Rod], wanted: Wanted, now: Mapping[str, RodNow]
) -> dict[str, tuple[Curve, ...]]:
    """One table for each rod. Rods that differ only in side share it."""
    lengths = np.geomspace(LEAST_LINE_M, MOST_LINE_M, _TRIALS)
    made: dict[str, tuple[Curve, ...]] = {}
    for group in alike(spread, rods):
        leads = {(mine := now.get(rod.key, AS_FILED)).lead_m: mine for rod in group}
        tables = {lead: _tables(spread, group[0], wanted, mine, lengths) for lead, mine in leads.items()}
        for rod in group:
            mine = now.get(rod.key, AS_FILED)
            made[rod.key] = tuple(
                Curve(setting, np.array([reading_m(spread, rod, m, mine.lead_m) for m in lengths]), depths)
                for setting, depths in tables[mine.lead_m]
            )
    return made


def _tables(spread: Spread, rod: Rod, wanted: Wanted, now: RodNow, true_m: Floats) -> list[tuple[str | None, Floats]]:
    labels: Sequence[str | None] = spread.settings(rod) or (None,)
    return [(label, _depths(spread, rod, wanted, replace(now, setting=label), true_m)) for label in labels]


def _depths(spread: Spread, rod: Rod, wanted: Wanted, now: RodNow, true_m: Floats) -> Floats:
    water = water_of(spread)
    chain = rig_of(spread, rod, now, water).chain
    current = current_in_boat_axes(spread.water, wanted.heading_rad or 0.0)
    table = solve_many([chain], [wanted.speed_m_s], water=water, current=current, out_m=true_m, tolerance=1e-6)
    depths: Floats = table.depth_m[0, :, 0]
    return depths


def _able(curves: tuple[Curve, ...], wanted: Wanted) -> bool:
    """Whether any setting reaches the band."""
    for curve in curves:
        known = curve.depths_m[np.isfinite(curve.depths_m)]
        if not len(known):
            continue
        spare = _NEARLY_M if curve.flat else 0.0
        low = float(known[-1]) if curve.flat else float(known.min())
        if low <= wanted.to_m + spare and float(known.max()) >= wanted.from_m - spare:
            return True
    return False


def _at_levels(
    spread: Spread, key: str, curves: tuple[Curve, ...], levels: Floats, wanted: Wanted, now: Mapping[str, RodNow]
) -> tuple[Choice, ...]:
    """For every setting and level, the least line out that brings the rod there."""
    rod = spread.rod_by_key(key)
    assert rod is not None
    mine = now.get(key, AS_FILED)
    made = []
    for curve in curves:
        state = replace(mine, setting=curve.setting)
        if curve.flat:
            made += _flat(rod, curve, state, levels)
            continue
        brackets = [(level, at) for level in range(len(levels)) if (at := _bracket(curve, float(levels[level])))]
        if not brackets:
            continue
        shares = np.linspace(0.0, 1.0, _FINER)
        finer = np.concatenate([_between(curve.readings_m, at, shares) for _, at in brackets])
        true = np.array([true_line_m(spread, rod, reading, mine.lead_m) for reading in finer.tolist()])
        depths = _depths(spread, rod, wanted, state, true).reshape(len(brackets), _FINER)
        for (level, at), found in zip(brackets, depths, strict=True):
            reading = _crossed(_between(curve.readings_m, at, shares), found, float(levels[level]))
            if reading is not None:
                made.append(Choice(key, replace(state, line_out_as_counter_m=reading), level, float(levels[level])))
    return tuple(made)


def _present(rod: Rod, now: RodNow) -> float:
    """Present line out, as the counter reads."""
    given = now.line_out_as_counter_m if now.line_out_as_counter_m is not None else rod.line_out_m
    return 0.0 if given is None else given


def _flat(rod: Rod, curve: Curve, state: RodNow, levels: Floats) -> list[Choice]:
    """Lengths for a rod whose depth does not depend on them, the present one first."""
    depth = float(curve.depths_m[np.isfinite(curve.depths_m)][-1])
    level = level_of(levels, depth) if len(levels) else None
    lengths = dict.fromkeys((_present(rod, state), *BOARD_LINES_M))
    return [Choice(rod.key, replace(state, line_out_as_counter_m=out), level, depth) for out in lengths]


def _bracket(curve: Curve, level_m: float) -> int | None:
    """The first trial at or below a depth after a trial above it. None where there is no such pair."""
    met = np.flatnonzero(curve.depths_m >= level_m)
    if not len(met) or met[0] == 0 or not np.isfinite(curve.depths_m[met[0] - 1]):
        return None
    return int(met[0])


def _between(readings: Floats, at: int, shares: Floats) -> Floats:
    low, high = readings[at - 1], readings[at]
    between: Floats = low + shares * (high - low)
    return between


def _crossed(readings: Floats, depths: Floats, level_m: float) -> float | None:
    met = np.flatnonzero(depths >= level_m)
    if not len(met):
        return None
    at = int(met[0])
    if at == 0:
        return float(readings[0])
    low, high = float(depths[at - 1]), float(depths[at])
    if not np.isfinite(low):
        return None
    share = (level_m - low) / (high - low) if high > low else 1.0
    return float(readings[at - 1] + share * (readings[at] - readings[at - 1]))


def _reach(
    spread: Spread,
    rod: Rod,
    wanted: Wanted,
    curves: Mapping[str, tuple[Curve, ...]],
    finer: Mapping[str, tuple[Choice, ...]],
    now: RodNow,
) -> Reach:
    if rod.clipped_to is not None:
        why = f"hangs on rod {rod.clipped_to.rod}'s cable and has no line out of its own"
        return Reach(rod.key, (Choice(rod.key, now, None, np.nan),), True, why)
    mine, present = curves[rod.key], _present(rod, now)
    choices = finer.get(rod.key, ())
    if choices:
        fixed = all(curve.flat for curve in mine)
        return Reach(rod.key, choices, fixed, "line out hardly changes its depth" if fixed else "", present)
    setting = now.setting if now.setting is not None else spread.setting(rod)
    curve = next((one for one in mine if one.setting == setting), mine[0])
    if curve.flat:
        outside = tuple(_flat(rod, curve, replace(now, setting=setting), np.zeros(0)))
        return Reach(rod.key, outside, True, _why_not(mine, wanted), present)
    nearest = [_nearest(rod, one, wanted, now) for one in mine if np.isfinite(one.depths_m).any()]
    as_now = Choice(
        rod.key, replace(now, setting=setting, line_out_as_counter_m=present), None, _depth(curve, present)
    )
    return Reach(rod.key, (as_now, *nearest), True, _why_not(mine, wanted), present)


def _depth(curve: Curve, reading_m: float) -> float:
    known = np.isfinite(curve.depths_m)
    if not known.any():
        return np.nan
    return float(np.interp(reading_m, curve.readings_m[known], curve.depths_m[known]))


def _nearest(rod: Rod, curve: Curve, wanted: Wanted, now: RodNow) -> Choice:
    """The least line that comes within half a metre of the nearest possible approach to the band."""
    off = off_band_m(wanted, curve.depths_m)
    at = int(np.flatnonzero(off <= np.nanmin(off) + _NEARLY_M)[0])
    state = replace(now, setting=curve.setting, line_out_as_counter_m=float(curve.readings_m[at]))
    return Choice(rod.key, state, None, float(curve.depths_m[at]))


def off_band_m(wanted: Wanted, depth_m: Floats) -> Floats:
    """Distance of depths outside the band, 0 inside."""
    outside: Floats = np.maximum(np.maximum(wanted.from_m - depth_m, depth_m - wanted.to_m), 0.0)
    return outside


def _why_not(curves: tuple[Curve, ...], wanted: Wanted) -> str:
    known = np.concatenate([curve.depths_m[np.isfinite(curve.depths_m)] for curve in curves])
    if not len(known):
        return "no steady shape was found"
    if all(curve.flat for curve in curves):
        return "line out hardly changes its depth, and that lies outside the band"
    if float(known.max()) < wanted.from_m:
        return "no length of line brings it down to the band"
    return "it runs below the band even with the least line out"
