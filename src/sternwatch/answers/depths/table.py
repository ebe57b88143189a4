"""The let-out card: how deep a rod's lure runs, by line out and speed, at each setting of its diver."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import AS_FILED, Rig, RodNow, rig_of, water_of
from sternwatch.answers.depths.depth import current_in_boat_axes, intervals_90
from sternwatch.gear.spread_file.counter import SHORTEST_M, offset_m, true_line_m, zero_of
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread
from sternwatch.hydro.chain.model import Line
from sternwatch.hydro.steady.solver import solve_many

Array = NDArray[np.float64]

# Members of an ensemble need no more than a centimetre.
_MEMBER_TOLERANCE = 1e-6

# Rows that differ by no more than this are alike on a card of whole feet.
_FLAT_M = 0.3

Members = Callable[[RodNow], Sequence[Rig]]


@dataclass(frozen=True, slots=True)
class Cell:
    """One entry of a card; None: not known."""

    depth_m: float | None
    plus_minus_m: float | None  # half the 90 % interval, its wider side
    slack: bool
    pulled_under: bool


@dataclass(frozen=True, slots=True)
class CardTable:
    """One setting's table; ``cells[i][k]`` at line out i and speed k. ``setting`` None: there is none to choose."""

    setting: str | None
    cells: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class Card:
    """A rod's let-out card. ``why`` says why there is none."""

    key: str
    name: str
    rig: tuple[str, ...]  # what hangs from the tip, outward
    line_out_as_counter_m: tuple[float, ...]
    speeds_m_s: tuple[float, ...]
    tables: tuple[CardTable, ...]
    why: str
    per_pass_m: float | None = None  # where the crew counts passes across the reel

    @property
    def flat(self) -> bool:
        """Whether line out hardly changes the depth, as before a board: then one row says all."""
        for table in self.tables:
            for column in zip(*table.cells, strict=True):
                depths = [cell.depth_m for cell in column if cell.depth_m is not None]
                if len(depths) < len(column) or max(depths) - min(depths) > _FLAT_M:
                    return False
        return len(self.line_out_as_counter_m) > 1 and bool(self.tables)


def let_out_card(
    spread: Spread,
    rod: Rod,
    line_out_as_counter_m: Sequence[float],
    speeds_m_s: Sequence[float],
    *,
    settings: Sequence[str] | None = None,
    heading_rad: float | None = None,
    now: RodNow = AS_FILED,
    members: Members | None = None,
) -> Card:
    """The card of one rod: its lure's depth at every line out (as the counter reads), speed and setting.

    ``settings``: those wanted; None: all the diver has. ``members`` gives, for a state of the rod, its rigs as they
    may also be; without it no ± is known. A rod clipped to another's cable has no line out and gets a reason.
    """
    names = tuple(_parts(rod))
    lengths, speeds = tuple(map(float, line_out_as_counter_m)), tuple(map(float, speeds_m_s))
    if rod.clipped_to is not None:
        why = f"hangs on rod {rod.clipped_to.rod}'s cable and has no line out of its own"
        return Card(rod.key, rod.name, names, lengths, speeds, (), why)
    labels = spread.settings(rod) if settings is None else tuple(settings)
    chosen: Sequence[str | None] = labels or (None,)
    tables = []
    for label in chosen:
        state = replace(now, setting=label) if label is not None else now
        tables.append(CardTable(label, _cells(spread, rod, lengths, speeds, state, heading_rad or 0.0, members)))
    return Card(rod.key, rod.name, names, lengths, speeds, tuple(tables), "", rod.counter.per_pass_m)


def _parts(rod: Rod) -> list[str]:
    return [item.line if isinstance(item, LineItem) else item.tackle for item in rod.deployed]


def _cells(
    spread: Spread, rod: Rod, readings: Sequence[float], speeds: Sequence[float], now: RodNow, heading_rad: float,
    members: Members | None,
) -> tuple[tuple[Cell, ...], ...]:  # fmt: skip
    water = water_of(spread)
    current = current_in_boat_axes(spread.water, heading_rad)
    true = [true_line_m(spread, rod, reading, now.lead_m) for reading in readings]
    chain = rig_of(spread, rod, now, water).chain
    nominal = solve_many([chain], speeds, water=water, current=current, out_m=true)
    wide = np.full(nominal.depth_m.shape[1:], np.nan)
    if members is not None:
        depths = [
            solve_many(
                [rig.chain], speeds, water=water, current=current, tolerance=_MEMBER_TOLERANCE,
                out_m=_own_lengths(spread, rod, rig, readings, now),
            ).depth_m.ravel()
            for rig in members(now)
        ]  # fmt: skip
        low, high = intervals_90(np.stack(depths))
        flat = nominal.depth_m[0].ravel()
        wide = np.maximum(high - flat, flat - low).reshape(wide.shape)
    return tuple(
        tuple(
            Cell(
                _known(nominal.depth_m[0, i, k]),
                _known(wide[i, k]),
                bool(nominal.slack[0, i, k]),
                bool(nominal.pulled_under[0, i, k]),
            )
            for k in range(len(speeds))
        )
        for i in range(len(readings))
    )


def _own_lengths(spread: Spread, rod: Rod, rig: Rig, readings: Sequence[float], now: RodNow) -> list[float]:
    """Line past the tip of one member at every reading: its counter is its own."""
    past = offset_m(spread, rod, now.lead_m)
    read = rod.line_out_m if now.line_out_as_counter_m is None else now.line_out_as_counter_m
    first = rig.chain.items[0]
    assert isinstance(first, Line)  # every chain begins with one
    per_read = (first.length_m - past) / read if read else 1.0
    return [max(SHORTEST_M, reading * per_read + past) for reading in readings]


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def alike(spread: Spread, rods: Sequence[Rod]) -> list[list[Rod]]:
    """Rods in groups whose cards are the same, in the order of their first: alike but for side, line out and setting.

    Port and starboard mirror one another unless a current runs across.
    """
    groups: dict[object, list[Rod]] = {}
    for rod in rods:
        groups.setdefault(_likeness(spread, rod), []).append(rod)
    return list(groups.values())


def _likeness(spread: Spread, rod: Rod) -> object:
    items: list[tuple[object, ...]] = []
    for item in rod.deployed:
        if isinstance(item, LineItem):
            items.append((item.line, item.length_m if item.out_m is None else None))
        else:
            across = item.side is not None and item.side != rod.side
            items.append((item.tackle, across, item.tripped))
    beside = (
        (rod.tip, rod.rod_line) if rod.rod_line is not None else rod.tip.height_m if rod.tip is not None else rod.key
    )
    side = rod.side if rod.side == "centre" or spread.water.current else ""
    own = tuple(spread.values.get(f"rod {rod.key} {what}") for what in ("counter", "roll", "pull"))
    return (
        tuple(items),
        beside,
        side,
        zero_of(spread, rod),
        rod.counter.scale,
        rod.counter.per_pass_m,
        own,
        rod.clipped_to,
    )


def even_readings(rod: Rod, step_m: float, rows: int = 16) -> tuple[float, ...]:
    """Line out for a card's rows: multiples of a step, up to half as much again as the file has out."""
    filed = rod.line_out_m or 0.0
    last = max(4, math.ceil(1.5 * filed / step_m))
    stride = math.ceil(last / rows)
    return tuple(step_m * n for n in range(stride, last + stride, stride))
