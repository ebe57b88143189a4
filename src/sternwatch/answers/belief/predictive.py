"""The depth of a rod's lure by everything believed: the median and the 5, 25, 75 and 95 % quantiles.

Members are dealt by the part that a quantity has for a rod, not by the rod's key. Water that flows across meets a
port rod as it meets a starboard rod, mirrored. So rods that mirror one another have the same numbers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.observations import Observation, What, concerns, flow_past, predicted, rods_behind
from sternwatch.answers.belief.priors import CARRIED, Z90, Draws, believed_of, value_at, varied_rigs
from sternwatch.answers.chains.arrays import AS_FILED, RodNow, water_of
from sternwatch.answers.depths.along_lines import Quantiles
from sternwatch.answers.depths.law import PLACES, Places, quantiles_of
from sternwatch.answers.depths.table import CardMembers, Members
from sternwatch.gear.spread_file.models import Rod, Spread, TackleItem
from sternwatch.gear.spread_file.uncertain import Uncertain
from sternwatch.water.properties import Water

Floats = NDArray[np.float64]

# Certain where the speed through the water is given.
OF_SPEED = ("speed", "speed over ground noise", "current north", "current east")
WATERS = (("shear north", "shear east"), ("current north", "current east"))


def part_of(spread: Spread, rod: Rod, name: str) -> str:
    """The part of a quantity for a rod, the same for its mirror image: "own counter" for "rod 6 counter"."""
    for own, other in zip(("own", "carrier"), reversed(rods_behind(spread, rod)), strict=False):
        start = f"rod {other.key} "
        if name.startswith(start):
            return f"{own} {name.removeprefix(start)}"
    return name


def places_of(
    spread: Spread, rod: Rod, names: Sequence[str], learned: Calibration | None, members: Floats | None = None
) -> Places:
    """The law of these quantities of a rod. ``members`` (M, k): the members' numbers; default: dealt by part."""
    believed = believed_of(spread, learned)
    quantities = [believed[name] for name in names]
    if members is None:
        members = dealt_by_part(spread, rod, names, learned)
    held = np.array([learned is not None and name in learned.index for name in names])
    there = np.zeros((PLACES, len(names)))
    if learned is not None and held.any():
        many = Draws(None, PLACES, learned)
        there[:, held] = np.stack([many.normal(name) for name, own in zip(names, held, strict=True) if own], axis=1)
    middle = there[:, held].mean(axis=0)
    # Learned quantities are correlated: principal axes, scaled by spread, keep the depth that they share.
    spreads, axes = np.linalg.eigh(np.cov(there[:, held], rowvar=False).reshape(middle.size, middle.size))
    own_axes = axes / np.sqrt(np.maximum(spreads, 1e-9))

    def measured(z: Floats) -> Floats:
        """Learned quantities along their principal axes; the others as logarithms (shifts as they are)."""
        out = np.empty(z.shape)
        out[:, held] = (z[:, held] - middle) @ own_axes
        for j, one in enumerate(quantities):
            if not held[j]:
                out[:, j] = _measured(one, z[:, j])
        return out

    def lay(numbers: Floats) -> Floats:
        return measured(np.where(held, there, numbers) if held.any() else numbers)

    return Places(measured(members), lay, drawn=bool(held.any()))


def _measured(one: Uncertain, z: Floats) -> Floats:
    """A quantity at standard normal numbers as the depth responds to it: its logarithm, about one wide."""
    value = value_at(z, one)
    ends = np.array([one.low, one.high])
    if one.law == "factor":
        value, ends = np.log(value), np.log(ends)
    made: Floats = value / max(float(np.ptp(ends)) / (2.0 * Z90), 1e-12)
    return made


def dealt_by_part(spread: Spread, rod: Rod, names: Sequence[str], learned: Calibration | None) -> Floats:
    """(members, k) standard normal numbers, the same for rods that mirror one another."""
    draws = Draws(None, CARRIED, learned)
    return np.stack([draws.normal(name, part_of(spread, rod, name)) for name in names], axis=1)


def depth_quantiles(
    spread: Spread,
    rod: Rod,
    speed_m_s: float,
    *,
    now: RodNow = AS_FILED,
    heading_rad: float = 0.0,
    over_ground: bool = False,
    told: float = 0.0,
    learned: Calibration | None = None,
    water: Water | None = None,
) -> Quantiles | None:
    """Quantiles of the lure's depth on a straight course. None where too many members have no steady shape.

    ``speed_m_s``: through the surface water. ``told``: the share left of the spread of its error (of the current's
    where ``over_ground``); 0: the speed is known. ``water`` None: the file's.
    """
    names, places, one = question(
        spread, rod, speed_m_s, now=now, heading_rad=heading_rad, over_ground=over_ground, told=told,
        learned=learned, water=water,
    )  # fmt: skip
    quantities = believed_of(spread, learned)
    raw = dealt_by_part(spread, rod, names, learned)
    members = member_values(rod, names, quantities, raw, heading_rad, learned)
    return quantiles_of(places, np.array([predicted(spread, one, values) for values in members]))


def question(
    spread: Spread, rod: Rod, speed_m_s: float, *, now: RodNow, heading_rad: float, over_ground: bool, told: float,
    learned: Calibration | None, water: Water | None,
) -> tuple[tuple[str, ...], Places, Observation]:  # fmt: skip
    """Names of the quantities behind a rod's depth there, their law, and the depth as an observation."""
    names = concerns(spread, rod, believed_of(spread, learned))
    if told == 0.0:
        names = tuple(name for name in names if name not in OF_SPEED)
    at = "lure" if any(isinstance(item, TackleItem) for item in rod.deployed) else None
    one = Observation(
        "", rod.key, What.DEPTH, 0.0, 1.0, speed_m_s, "", at=at, now=now, over_ground=over_ground, told=told,
        heading_rad=heading_rad, water=water,
    )  # fmt: skip
    return names, places_of(spread, rod, names, learned), one


def member_values(
    rod: Rod, names: Sequence[str], quantities: Mapping[str, Uncertain], z: Floats, heading_rad: float,
    learned: Calibration | None,
) -> list[dict[str, float]]:  # fmt: skip
    """Factors and shifts by name at z (members, k). Unlearned currents are along the heading and outward."""
    values = {name: value_at(z[:, j], quantities[name]) for j, name in enumerate(names)}
    c, s = math.cos(heading_rad), math.sin(heading_rad)
    for north, east in WATERS:
        if all(axis in values and (learned is None or axis not in learned.index) for axis in (north, east)):
            along, out = values[north], values[east] * (-1.0 if rod.side == "port" else 1.0)
            values[north], values[east] = c * along - s * out, s * along + c * out
    return [{name: float(of[member]) for name, of in values.items()} for member in range(len(z))]


def card_members(spread: Spread, rod: Rod, heading_rad: float, learned: Calibration | None) -> Members:
    """The members of a let-out card for a state of its rod."""
    quantities, water = believed_of(spread, learned), water_of(spread)

    def members(now: RodNow) -> CardMembers:
        names, places, one = question(
            spread, rod, 1.0, now=now, heading_rad=heading_rad, over_ground=False, told=0.0, learned=learned,
            water=None,
        )  # fmt: skip
        rigs, currents = [], []
        raw = dealt_by_part(spread, rod, names, learned)
        for values in member_values(rod, names, quantities, raw, heading_rad, learned):
            rigs.append(varied_rigs(spread, [rod], {rod.key: now}, water, values)[rod.key])
            currents.append(flow_past(spread, one, values)[1])
        return CardMembers(tuple(rigs), tuple(currents), places)

    return members
