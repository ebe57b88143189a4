"""The let-out card: a lure's depth by line out and speed, at each setting of its diver."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import AS_FILED, Rig, RodNow, rig_of, water_of
from sternwatch.answers.depths.along_lines import Quantiles
from sternwatch.answers.depths.depth import Current, current_in_boat_axes
from sternwatch.answers.depths.law import Places, quantiles_of
from sternwatch.gear.spread_file.counter import SHORTEST_M, true_line_m, zero_of
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread
from sternwatch.hydro.chain.model import Chain, Line
from sternwatch.hydro.steady.solver import solve_many
from sternwatch.water.properties import Water

Array = NDArray[np.float64]

# A centimetre is precise enough for members of an ensemble.
_MEMBER_TOLERANCE = 1e-6

# Rows that differ by no more than this are the same on a card of whole feet.
_FLAT_M = 0.3

# Members are solved at this many lengths and speeds of a card. Between them, their difference from the nominal depth
# is smooth.
_LENGTHS, _SPEEDS = 5, 3


@dataclass(frozen=True, slots=True)
class CardMembers:
    """Possible versions of a rod's rig, the water of each, and the law that they represent."""

    rigs: tuple[Rig, ...]
    currents: tuple[Current | None, ...]
    places: Places


Members = Callable[[RodNow], CardMembers]


@dataclass(frozen=True, slots=True)
class Cell:
    """One entry of a card. None: unknown. ``depth_m``: the median where quantiles are known, else nominal."""

    depth_m: float | None
    slack: bool
    pulled_under: bool
    depth_quantiles_m: Quantiles | None = None

    @property
    def plus_minus_m(self) -> float | None:
        """From the median to the farther end of the 90 % interval."""
        q = self.depth_quantiles_m
        return None if q is None else max(q[4] - q[2], q[2] - q[0])


@dataclass(frozen=True, slots=True)
class CardTable:
    """One setting's table; ``cells[i][k]`` at line out i and speed k. ``setting`` None: the rod has none."""

    setting: str | None
    cells: tuple[tuple[Cell, ...], ...]


@dataclass(frozen=True, slots=True)
class Card:
    """A rod's let-out card. ``why``: why there is none."""

    key: str
    name: str
    rig: tuple[str, ...]  # the tackle from the tip outward
    line_out_as_counter_m: tuple[float, ...]
    speeds_m_s: tuple[float, ...]
    tables: tuple[CardTable, ...]
    why: str
    per_pass_m: float | None = None  # for a crew that counts passes across the reel
    colours: tuple[float, ...] = ()  # colours of every row, where rows are lengths of lead-core

    @property
    def flat(self) -> bool:
        """Whether line out hardly changes the depth, as before a board. Then one row is enough."""
        if self.colours:
            return False
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
    """The card of one rod: the lure's depth at every line out (as the counter reads), speed and setting.

    ``settings``: those wanted; None: all of the diver. ``members`` gives possible versions of the rig for a state of
    the rod; without it no ± is known. A rod clipped to another's cable has no line out and gets a reason.
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
    flat = nominal.depth_m[0]
    law = np.full((5, *flat.shape), np.nan)
    if members is not None:
        law = flat + _off_nominal(rod, readings, np.array(speeds), now, water, flat, members(now))
    return tuple(
        tuple(
            _cell(flat[i, k], law[:, i, k], bool(nominal.slack[0, i, k]), bool(nominal.pulled_under[0, i, k]))
            for k in range(len(speeds))
        )
        for i in range(len(readings))
    )


def _cell(nominal_m: float, law_m: Array, slack: bool, under: bool) -> Cell:
    if not (math.isfinite(nominal_m) and np.isfinite(law_m).all()):
        return Cell(_known(nominal_m), slack, under)
    a, b, c, d, e = map(float, law_m)
    return Cell(c, slack, under, (a, b, c, d, e))


def _off_nominal(
    rod: Rod, readings: Sequence[float], speeds: Array, now: RodNow, water: Water, nominal: Array,
    members: CardMembers,
) -> Array:  # fmt: skip
    """(5, lengths, speeds): the quantiles less the nominal depth."""
    rows, columns = _spaced(len(readings), _LENGTHS), _spaced(len(speeds), _SPEEDS)
    some = [readings[row] for row in rows]
    depths = np.stack(
        [
            _member_depths(rig, _own_lengths(rod, rig, some, now), some, speeds[columns], water, current)
            for rig, current in zip(members.rigs, members.currents, strict=True)
        ]
    )
    off = np.full((5, len(rows), len(columns)), np.nan)
    for i in range(len(rows)):
        for k in range(len(columns)):
            found = quantiles_of(members.places, depths[:, i, k])
            if found is not None:
                off[:, i, k] = np.array(found) - nominal[rows[i], columns[k]]
    off = _between(off, speeds[columns], speeds, axis=2)
    return _between(off, np.array(some), np.array(readings), axis=1)


def _member_depths(
    rig: Rig, lengths_m: list[float], readings: Sequence[float], speeds: Array, water: Water, current: Current | None
) -> Array:
    """(lengths, speeds) depths of one member."""

    def depths(chain: Chain, at_m_s: Array, out_m: list[float]) -> Array:
        found = solve_many([chain], at_m_s, water=water, current=current, tolerance=_MEMBER_TOLERANCE, out_m=out_m)
        return np.asarray(found.depth_m[0])

    if rig.beside.is_nothing:
        return depths(rig.chain, speeds, lengths_m)
    out = np.empty((len(lengths_m), len(speeds)))
    for i, (length, reading) in enumerate(zip(lengths_m, readings, strict=True)):
        for k, speed in enumerate(speeds):
            out[i, k] = depths(rig.towed(float(speed), reading).chain, speeds[[k]], [length])[0, 0]
    return out


def _spaced(count: int, most: int) -> list[int]:
    """A given count of a row's numbers, evenly chosen, with its ends."""
    return sorted(set(np.linspace(0, count - 1, min(count, most)).round().astype(int).tolist()))


def _between(values: Array, at: Array, wanted: Array, axis: int) -> Array:
    """Monotone cubics [Fritsch Carlson 1980] through values at ``at``; a single value is constant."""
    if len(at) == 1:
        return np.repeat(values, len(wanted), axis=axis)
    if len(at) == len(wanted):
        return values
    from scipy.interpolate import PchipInterpolator

    order = np.argsort(at)
    known = np.take(values, order, axis=axis)
    if not np.isfinite(known).all():  # around an unknown value the result is unknown too
        whole = np.apply_along_axis(lambda row: np.interp(wanted, at[order], row), axis, known)
        return np.asarray(whole)
    made: Array = PchipInterpolator(at[order], known, axis=axis)(wanted)
    return made


def _own_lengths(rod: Rod, rig: Rig, readings: Sequence[float], now: RodNow) -> list[float]:
    """Line past the tip of one member at every reading: each member has its own counter."""
    past = rig.past_m
    read = rod.line_out_m if now.line_out_as_counter_m is None else now.line_out_as_counter_m
    first = rig.chain.items[0]
    assert isinstance(first, Line)  # every chain begins with one
    per_read = (first.length_m - past) / read if read else 1.0
    return [max(SHORTEST_M, reading * per_read + past) for reading in readings]


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def alike(spread: Spread, rods: Sequence[Rod]) -> list[list[Rod]]:
    """Groups of rods with the same card, in order: they differ only in side, line out and setting.

    Port and starboard rods mirror one another unless a current runs across.
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
    """Line out for a card's rows: multiples of a step, up to one and a half times the file's line out."""
    filed = rod.line_out_m or 0.0
    last = max(4, math.ceil(1.5 * filed / step_m))
    stride = math.ceil(last / rows)
    return tuple(step_m * n for n in range(stride, last + stride, stride))
