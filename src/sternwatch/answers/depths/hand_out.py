"""Assigns depths to rods by their steady states: one assignment problem, solved for each of a few preferences.

It gives only the beginnings of a search, and how even depths are. Others check whether lines then keep apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from sternwatch.answers.chains.arrays import AS_FILED, RodNow
from sternwatch.answers.depths.reach import Choice, Floats, Reach, Wanted, levels_m
from sternwatch.gear.spread_file.models import Spread


def unevenness_m(wanted: Wanted, depths_m: Sequence[float]) -> float:
    """Root mean square distance of the sorted lures from evenly spread depths; 0 without any."""
    if not len(depths_m):
        return 0.0
    off = np.sort(np.asarray(depths_m)) - levels_m(wanted, len(depths_m))
    return float(np.sqrt((off * off).mean()))


def beginnings(
    spread: Spread, able: Sequence[Reach], levels: Floats, now: Mapping[str, RodNow] | None = None
) -> list[dict[str, Choice]]:
    """A few ways to give every level to a rod: to keep lines apart, by the rods' own targets, by file order."""
    if not able:
        return []
    rods = {reach.key: spread.rod_by_key(reach.key) for reach in able}
    most = max((abs(rod.tip_abeam_m) for rod in rods.values() if rod is not None), default=0.0) or 1.0
    out = np.array([abs(rod.tip_abeam_m) / most if rod is not None else 0.0 for rod in rods.values()])
    deep = np.linspace(0.0, 1.0, len(levels)) if len(levels) > 1 else np.zeros(1)
    order = np.linspace(0.0, 1.0, len(able)) if len(able) > 1 else np.zeros(1)
    present = np.array([_wanted_level(spread, reach, levels) for reach in able])
    crossed = np.outer(out, deep)
    leanings = (
        (4.0 * crossed, _by_rank),  # outer rods shallow
        (-4.0 * crossed, _by_rank),  # outer rods deep
        (4.0 * np.abs(present[:, None] - deep[None, :]), _as_set),
        (4.0 * np.abs(order[:, None] - deep[None, :]), _as_set),  # file order
        (4.0 * np.abs(order[::-1, None] - deep[None, :]), _as_set),
    )
    found: list[dict[str, Choice]] = []
    for leaning, set_by in leanings:
        made = _assigned(able, leaning, set_by(spread, able, now or {}), len(levels))
        if made not in found:
            found.append(made)
    return found


def _wanted_level(spread: Spread, reach: Reach, levels: Floats) -> float:
    """Position of a rod's own target among the levels, 0 shallowest to 1 deepest; the middle without one."""
    rod = spread.rod_by_key(reach.key)
    target = rod.target_depth_m if rod is not None else None
    if target is None or len(levels) < 2 or levels[-1] <= levels[0]:
        return 0.5
    return float(np.clip((target - levels[0]) / (levels[-1] - levels[0]), 0.0, 1.0))


SetBy = dict[str, dict[str | None, float]]  # cost of each setting, by rod


def _as_set(spread: Spread, able: Sequence[Reach], now: Mapping[str, RodNow]) -> SetBy:
    """The present setting costs nothing."""
    made: SetBy = {}
    for reach in able:
        rod = spread.rod_by_key(reach.key)
        mine = now.get(reach.key, AS_FILED).setting
        is_now = mine if mine is not None or rod is None else spread.setting(rod)
        labels = {choice.now.setting for choice in reach.choices}
        made[reach.key] = {label: 0.0 if label == is_now else 3.0 for label in labels}
    return made


def _by_rank(spread: Spread, able: Sequence[Reach], now: Mapping[str, RodNow]) -> SetBy:
    """Costs that set the outer divers of a side wider than the inner ones."""
    made = _as_set(spread, able, now)
    rods = {reach.key: spread.rod_by_key(reach.key) for reach in able}
    for side in ("port", "starboard", "centre"):
        divers = [
            rod for rod in rods.values() if rod is not None and rod.side == side and len(spread.settings(rod)) > 1
        ]
        divers.sort(key=lambda rod: rod.tip_abeam_m * rod.sign)
        for place, rod in enumerate(divers):
            item = spread.setting_item(rod)
            piece = spread.tackle[item.tackle] if item is not None else None
            rolls = piece.settings if piece is not None and piece.kind == "diver" else {}
            widest = max(rolls.values(), default=0.0) or 1.0
            share = (place + 1) / len(divers)
            made[rod.key] = {
                label: 3.0 * abs(rolls.get(label or "", 0.0) / widest - share) for label in made[rod.key]
            }
    return made


def _assigned(able: Sequence[Reach], leaning: Floats, set_by: SetBy, levels: int) -> dict[str, Choice]:
    """Each rod's choice. Every level is taken once where possible; line out costs a little."""
    from scipy.optimize import linear_sum_assignment

    impossible = 1e3
    cost = np.full((len(able), levels), impossible)
    best: dict[tuple[int, int], Choice] = {}
    for row, reach in enumerate(able):
        for choice in reach.choices:
            assert choice.level is not None
            line = (choice.now.line_out_as_counter_m or 0.0) / 100.0
            if reach.fixed:  # as it is, unless lines would cross
                line = 0.0 if choice.now.line_out_as_counter_m == reach.present_m else 1.0
            at = line + leaning[row, choice.level] + set_by[reach.key].get(choice.now.setting, 0.0)
            if at < cost[row, choice.level]:
                cost[row, choice.level] = at
                best[row, choice.level] = choice
    rows, columns = linear_sum_assignment(cost)
    made = {}
    for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
        own = [level for r, level in best if r == row]
        level = column if (row, column) in best else min(own, key=lambda level: (abs(level - column), level))
        made[able[row].key] = best[row, level]
    return made
