"""Lead-core in colours: how many for a depth, and the card of a rod whose core is past the line at its tip.

On such a rod the counter measures the line before the core, which hardly sets the depth. A colour is 30 ft
(``gear.values.units``: common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sternwatch.answers.chains.arrays import AS_FILED, rig_of, water_of
from sternwatch.answers.depths.depth import current_in_boat_axes
from sternwatch.answers.depths.table import Card, CardTable, Members, let_out_card
from sternwatch.gear.spread_file.counter import reading_m
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread
from sternwatch.gear.values.units import COLOUR_M
from sternwatch.hydro.steady.solver import solve_many

STEP, MOST = 0.25, 15.0  # most colours tried for a depth; no core in use is longer (memory)


@dataclass(frozen=True, slots=True)
class ColoursForDepth:
    """The fewest colours that bring a lure to a depth. None: no number does. ``deepest_m``: with the most tried."""

    colours: float | None
    counter_m: float | None  # the counter's reading with them
    deepest_m: float | None


def is_core(spread: Spread, item: object) -> bool:
    """Whether an item of a chain is lead-core."""
    return isinstance(item, LineItem) and (spread.line[item.line].material or "").startswith("lead-core")


def core_at(spread: Spread, rod: Rod) -> int | None:
    """The index of the lead-core with its own length, past the line with ``out``. None where there is none."""
    out = rod.out_index or 0
    return next((i for i, item in enumerate(rod.chain) if i > out and is_core(spread, item)), None)


def colours_of(spread: Spread, rod: Rod) -> float | None:
    """How many colours are out by the file. None without lead-core in the water."""
    found = [item.out_m or item.length_m or 0.0 for item in rod.deployed
             if isinstance(item, LineItem) and is_core(spread, item)]  # fmt: skip
    return sum(found) / COLOUR_M if found else None


def with_colours(rod: Rod, at: int, colours: float) -> Rod:
    """The rod with another length of core."""
    chain = list(rod.chain)
    chain[at] = chain[at].model_copy(update={"length_m": colours * COLOUR_M})
    return rod.model_copy(update={"chain": chain})


def colours_for_depth(
    spread: Spread,
    rod: Rod,
    depth_m: float,
    speed_m_s: float,
    *,
    heading_rad: float = 0.0,
    median_m: float | None = None,
) -> ColoursForDepth | None:
    """How many colours for a depth, with the line before the core unchanged. None where the rod has no such core.

    ``median_m``: the median of its depth as filed, which stretches the nominal depths.
    """
    at = core_at(spread, rod)
    if at is None:
        return None
    water, current = water_of(spread), current_in_boat_axes(spread.water, heading_rad)
    colours = np.arange(STEP, MOST + STEP / 2.0, STEP)
    chains = [rig_of(spread, rod, AS_FILED, water).chain]
    chains += [rig_of(spread, with_colours(rod, at, n), AS_FILED, water).chain for n in colours.tolist()]
    found = solve_many(chains, [speed_m_s], water=water, current=current).depth_m[:, 0, 0]
    filed_m, depths = float(found[0]), found[1:]
    if median_m is not None and filed_m > 0.0:
        depths = depths * (median_m / filed_m)
    deepest = None if np.isnan(depths).all() else float(np.nanmax(depths))
    reached = np.flatnonzero(depths >= depth_m)
    if len(reached) == 0 or reached[0] == 0:
        return ColoursForDepth(None, rod.line_out_m, deepest)
    k = int(reached[0])
    share = (depth_m - depths[k - 1]) / (depths[k] - depths[k - 1])
    return ColoursForDepth(float(colours[k - 1] + share * STEP), rod.line_out_m, deepest)


def colours_card(
    spread: Spread,
    rod: Rod,
    colours: Sequence[float],
    speeds_m_s: Sequence[float],
    *,
    heading_rad: float | None = None,
    members_of: Callable[[Rod], Members] | None = None,
) -> Card:
    """The card of a rod with lead-core: rows are colours.

    Where the core is past the line at the tip, the counter's reading is the file's; where it is let out itself,
    every row has its own.
    """
    at = core_at(spread, rod)
    if at is None:
        readings = [reading_m(spread, rod, number * COLOUR_M) for number in colours]
        own = let_out_card(
            spread, rod, readings, speeds_m_s, heading_rad=heading_rad,
            members=None if members_of is None else members_of(rod),
        )  # fmt: skip
        return replace(own, colours=tuple(colours))
    rows = []
    card = None
    for number in colours:
        one = with_colours(rod, at, number)
        card = let_out_card(
            spread, one, [rod.line_out_m or 0.0], speeds_m_s, heading_rad=heading_rad,
            members=None if members_of is None else members_of(one),
        )  # fmt: skip
        rows += [table.cells[0] for table in card.tables]
    assert card is not None  # the caller gave some number
    table = CardTable(None, tuple(rows))
    return Card(
        card.key, card.name, card.rig, (rod.line_out_m or 0.0,) * len(colours), card.speeds_m_s, (table,), card.why,
        card.per_pass_m, tuple(colours),
    )  # fmt: skip
