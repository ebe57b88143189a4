"""Coefficients for what the spread file leaves out, in one table, each with its source and its range.

``low`` and ``high`` bound what is believable; a fit or an ensemble draws from that range. "memory" marks values that
no publication at hand confirms. A value in the file replaces the one here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Default:
    value: float
    low: float
    high: float
    unit: str
    source: str


# --- lines ----------------------------------------------------------------------------------------------------
# Factor on the cross-flow drag by vortex-induced vibration, 1 + 2.1 A/D (Blevins 1990, Flow-Induced Vibration) or
# 1 + 1.043 (2 A_rms/D)^0.65 (Vandiver 1983). A/D is not known on the boat. What was read: armoured tow cable fits
# Cn 1.5 whatever the Reynolds number ("Hydrodynamic Loading on Armored Towcables", abstract), which is 1.15 to 1.4
# times a smooth cylinder's 1.30 to 1.11 at Re 200 to 500. Cables of 1.4 to 3.6 mm strum; their drag is known to 10 to
# 20 % (NADC-AE-6719, 1967, abstract). A strumming cable with masses on it has Cd 2.4 to 3.2 (ASME J. Energy Resour.
# Technol. 106:458, abstract), the upper end. A manual of risers gives the two formulas with their authors.
STRUMMING = Default(
    1.3, 1.0, 1.7, "1",
    "armoured tow cable Cn 1.5 (abstract read); strumming cables 1.4-3.6 mm (NADC-AE-6719, 1967); Blevins, Vandiver",
)  # fmt: skip
# A line nearly along the stream, or a soft one, hums less, but it does hum: a flexible cylinder inclined by 80
# degrees vibrates regularly at Re 500 (Bourguet & Triantafyllou 2014, abstract read). Copper and lead-core towed at
# 10 to 15 degrees fit common practice with hardly any hum.
STRUMMING_ALONG = Default(
    1.05, 0.9, 1.25, "1",
    "inclined by 80 degrees it still vibrates, Re 500 (Bourguet & Triantafyllou 2014, abstract)",
)  # fmt: skip
STRUMMING_SOFT = Default(
    1.15, 0.95, 1.45, "1", "Blevins 1990, Vandiver 1983: formulas read, with A/D 0 to 0.2 for a soft, damped line"
)
# Tow tests of thin cylinders: tangential drag two to three times a flat plate's, which is 0.0027 at Re_L 1e7.
TANGENTIAL_DRAG = Default(
    0.01, 0.003, 0.02, "1",
    "on wetted area; 0.89 and 2.5 mm, 30-150 m long, towed: 2-3 times a flat plate's (FEDSM2002-36150, abstract)",
)  # fmt: skip

# --- divers ---------------------------------------------------------------------------------------------------
DIVER_TRIM = Default(math.radians(35), math.radians(25), math.radians(45), "rad", "memory")
DIVER_RING_AREA = Default(1.4, 1.3, 1.5, "1", "factor on the disc's area: memory")
DIVER_WET_WEIGHT = Default(0.5, 0.3, 0.9, "N", "memory; it decides how an inside diver sinks in a turn")
DIVER_PLATE = Default(
    1.0, 0.85, 1.15, "1", "on the plate's normal force: scatter of plate data (Ortiz, Rival & Wood 2015)"
)
DIVER_USUAL_AREA_M2 = math.pi / 4 * 0.120**2
DIVER_TRIPPED_DRAG_AREA = Default(0.002, 0.001, 0.004, "m^2", "memory; for a disc of 120 mm, by its area")
DIVER_AREAL_MASS = Default(9.0, 6.0, 13.0, "kg/m^2", "disc with its side weight: memory")

# --- balls, in-line weights -----------------------------------------------------------------------------------
SPHERE_DRAG = Default(0.47, 0.45, 0.50, "1", "Re 5e4 to 1e5: Barati et al. 2014; Clift, Grace & Weber 1978")
LEAD_DENSITY = Default(11340.0, 10800.0, 11340.0, "kg/m^3", "Callister; antimony hardens and lightens it")
ROD_LINE_PULL = Default(12.0, 6.0, 25.0, "N", "bend of a loaded downrigger rod: memory")

# --- boards ---------------------------------------------------------------------------------------------------
BOARD_AREA = Default(0.02, 0.012, 0.03, "m^2", "memory")
BOARD_LIFT = Default(0.8, 0.5, 1.1, "1", "C_L on that area: memory")
BOARD_DRAG = Default(0.4, 0.25, 0.6, "1", "C_D on that area: memory")
BOARD_BUOYANCY = Default(3.0, 2.0, 6.0, "N", "beyond its own weight, wholly under: memory")
BOARD_HEIGHT = Default(0.05, 0.03, 0.10, "m", "memory")
BOARD_MASS = Default(0.2, 0.1, 0.4, "kg", "memory")

# --- attractors, lures, snubbers ------------------------------------------------------------------------------
ATTRACTOR_LENGTH_M = 8 * 0.0254
# An 8 in paddle has a face of about 0.02 m². It swings and rolls at 15 to 35 degrees to the stream, where a plate's
# C_D is 0.2 to 0.6.
ATTRACTOR_DRAG_AREA = Default(
    0.006, 0.0032, 0.0115, "m^2", "paddle of 8 in, others by length squared: plate at 15 to 35 degrees, memory"
)
ATTRACTOR_WET_WEIGHT = Default(0.3, 0.1, 0.6, "N", "paddle of 8 in: memory")
ATTRACTOR_MASS = Default(0.07, 0.03, 0.12, "kg", "paddle of 8 in: memory")
SNUBBER_DRAG_AREA = Default(0.0003, 0.0001, 0.0006, "m^2", "memory")
# A snubber's length at rest and fully stretched, and the pull that stretches it fully: memory.
SNUBBER_LENGTH_M = 0.3
SNUBBER_MAX_LENGTH_M = 0.9
SNUBBER_MAX_PULL_N = 60.0


@dataclass(frozen=True, slots=True)
class LureForm:
    """A lure's body: Cd·A and downward C_L·A at its usual length, mass and weight in water: all memory."""

    length_m: float
    drag_area: Default
    lift_area_m2: float
    mass_kg: float
    wet_weight_N: float


LURES: dict[str, LureForm] = {
    "fly": LureForm(0.075, Default(0.0003, 0.00015, 0.0006, "m^2", "memory"), 0.0, 0.004, 0.01),
    "spoon": LureForm(0.10, Default(0.0008, 0.0004, 0.0016, "m^2", "memory"), 0.0, 0.012, 0.10),
    "plug": LureForm(0.11, Default(0.0015, 0.0008, 0.003, "m^2", "memory"), 0.0, 0.018, -0.02),
    "lipped plug": LureForm(0.11, Default(0.0015, 0.0008, 0.003, "m^2", "memory"), 0.002, 0.018, -0.02),
}
DEFAULT_LURE_FORM = "fly"
