"""A chain for the steady kernel: lines from the free end inward, each with the body at its outboard end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.chain.forces import B_KIND, BODY_FIELDS, LINE_FIELDS, body_numbers, line_numbers
from sternwatch.hydro.chain.model import Chain, Line
from sternwatch.hydro.chain.rows import ROD_FIELDS
from sternwatch.hydro.steady.kernel import Rig
from sternwatch.water.properties import Water

Array = NDArray[np.float64]
Current = tuple[Sequence[float] | Array, Sequence[Sequence[float]] | Array]

# Columns of a link (the rod's own line to a downrigger release): the numbers of ``rows.ROD_FIELDS``, then its tip.
LINK_FIELDS: Final = ROD_FIELDS + 3


class RefusedError(ValueError):
    """Raised for a chain, speed or current that cannot be solved. The message says what and why."""


@dataclass(frozen=True)
class Packed:
    """One chain; n lines. A body at the rod tip itself is refused: no line holds it."""

    rig: Rig
    has_body: NDArray[np.bool_]  # (n,)
    body_arc: Array  # (bodies,) from the rod tip, in chain order
    tip: Array  # (3,)


def _check_line(line: Line) -> None:
    if not (math.isfinite(line.length_m) and line.length_m >= 0.0):
        raise RefusedError(f"a line's length must be 0 or more, not {line.length_m} m")
    for name in ("diameter_m", "mass_kg_m", "stiffness_N"):
        value = getattr(line, name)
        if not (math.isfinite(value) and value > 0.0):
            raise RefusedError(f"a line's {name} must be positive, not {value}")
    if not math.isfinite(line.wet_weight_N_m):
        raise RefusedError(f"a line's weight in water must be a number, not {line.wet_weight_N_m}")


def pack(chain: Chain, water: Water, current: Current | None = None) -> Packed:
    """A chain's numbers in water and current. Raises RefusedError for items that make no chain."""
    if not chain.items or not isinstance(chain.items[0], Line):
        raise RefusedError("a chain begins with a line at the rod tip")
    lines: list[Array] = []
    geometry: list[tuple[float, float]] = []
    bodies: list[Array] = []
    arcs: list[float] = []
    link_at, link = -1, np.zeros(LINK_FIELDS)
    none = np.zeros(BODY_FIELDS)
    none[B_KIND] = -1.0
    arc = 0.0
    hanging = none
    hanging_link = False
    for item in reversed(chain.items):
        if isinstance(item, Line):
            _check_line(item)
            if hanging_link:
                link_at = len(lines)
            lines.append(line_numbers(item, water.density_kg_m3, water.viscosity_m2_s))
            geometry.append((item.length_m, item.stiffness_N))
            bodies.append(hanging)
            arc += item.length_m
            hanging, hanging_link = none, False
            continue
        if hanging is not none:
            raise RefusedError("two bodies without a line between them: merge them")
        hanging = body_numbers(item, water.density_kg_m3)
        arcs.append(arc)
        if item.rod_line is not None:
            if link_at >= 0:
                raise RefusedError("only one body of a chain may carry a rod's line")
            own = item.rod_line
            cn = -1.0 if own.normal_drag is None else own.normal_drag
            link[:ROD_FIELDS] = (
                own.pull_N, 0.5 * water.density_kg_m3 * own.diameter_m, cn, own.diameter_m / water.viscosity_m2_s,
            )  # fmt: skip
            link[ROD_FIELDS:] = own.tip_m
            hanging_link = True
    rig = Rig(
        np.array(lines).reshape(-1, LINE_FIELDS),
        np.array(geometry).reshape(-1, 2),
        np.array(bodies).reshape(-1, BODY_FIELDS),
        link_at,
        link,
        *currents_of(current),
    )
    tip = np.array(chain.tip_m, dtype=float)
    for numbers in (rig.lines, rig.bodies, rig.link, tip):
        if not np.isfinite(numbers).all():
            raise RefusedError("every number of a chain must be finite")
    has_body = np.array([b is not none for b in bodies], dtype=bool)
    return Packed(rig, has_body, arc - np.array(arcs[::-1], dtype=float), tip)


def currents_of(current: Current | None) -> tuple[Array, Array]:
    """Depths (n,) and velocities (n, 2) of a profile. Raises RefusedError if depths do not ascend."""
    if current is None:
        return np.empty(0), np.empty((0, 2))
    depths = np.ascontiguousarray(current[0], dtype=float)
    velocities = np.ascontiguousarray(current[1], dtype=float)
    if depths.ndim != 1 or velocities.ndim != 2 or velocities.shape[1] < 2 or len(depths) != len(velocities):
        raise RefusedError("a current needs as many velocities (forward, starboard) as depths")
    velocities = np.ascontiguousarray(velocities[:, :2])
    if not (np.isfinite(depths).all() and np.isfinite(velocities).all()) or (np.diff(depths) <= 0.0).any():
        raise RefusedError("a current's depths must ascend and all its numbers be finite")
    return depths, velocities


def checked_speed(speed_m_s: float) -> float:
    """The speed unchanged. Raises RefusedError unless it is finite and not negative."""
    if not (math.isfinite(speed_m_s) and speed_m_s >= 0.0):
        raise RefusedError(f"the speed through the water must be 0 or more, not {speed_m_s} m/s")
    return float(speed_m_s)
