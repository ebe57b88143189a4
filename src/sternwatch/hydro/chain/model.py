"""A chain as numbers: lengths of line and bodies from the rod tip outward.

Plain frozen values, SI, no names of gear. ``answers`` makes them from the spread; ``hydro`` packs them into
arrays. Boat axes: x forward, y to starboard, z down, the surface at z = 0, origin at the transom's centre.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class BodyKind(IntEnum):
    """How a body at a node responds to the flow."""

    BLUFF = 0  # ball, weight, attractor, lure, snubber: weight and |r| r drag
    DIVER = 1  # bridled disc: the plate law of a lifting disc, rolled by its setting
    BOARD = 2  # runs on the surface and pulls to one side
    LIPPED = 3  # bluff, with its own downward lift (a lipped plug)


@dataclass(frozen=True, slots=True)
class Line:
    """One uniform length of line."""

    length_m: float
    diameter_m: float
    mass_kg_m: float
    wet_weight_N_m: float  # submerged weight per metre; negative floats
    stiffness_N: float  # axial EA
    normal_drag: float | None = None  # Cn; None: from the Reynolds number of the cross-flow
    drag_factor: float = 1.0  # factor on Cn: strumming
    tangential_drag: float = 0.01  # Ct on wetted area


@dataclass(frozen=True, slots=True)
class RodLine:
    """The rod's own line to a downrigger release: neutral, from rod tip to ball, under the rod's pull."""

    tip_m: tuple[float, float, float]
    pull_N: float = 12.0
    diameter_m: float = 0.45e-3
    normal_drag: float | None = None  # the same


@dataclass(frozen=True, slots=True)
class Body:
    """One tackle item. Fields that its kind does not use stay at their defaults."""

    kind: BodyKind
    mass_kg: float = 0.0
    wet_weight_N: float = 0.0  # submerged
    added_mass_kg: float = 0.0
    drag_area_m2: float = 0.0  # Cd A
    lift_area_m2: float = 0.0  # C_L A: LIPPED downward, BOARD sideways
    plate_area_m2: float = 0.0  # DIVER: disc area, ring included
    trim_rad: float = 0.0  # DIVER
    plate_factor: float = 1.0  # DIVER: factor on the plate's normal-force coefficient
    roll_rad: float = 0.0  # DIVER: positive pulls to starboard
    side: float = 0.0  # BOARD: +1 starboard, -1 port
    buoyancy_N: float = 0.0  # BOARD: when wholly under
    height_m: float = 0.05  # BOARD
    rod_line: RodLine | None = None


@dataclass(frozen=True, slots=True)
class Chain:
    """``items`` from the tip outward. At most one Body follows a Line; merge neighbouring bodies before."""

    tip_m: tuple[float, float, float]
    items: tuple[Line | Body, ...]
