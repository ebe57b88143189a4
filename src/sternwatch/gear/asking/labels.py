"""Describes a line from its spool's label: kind and test, or the printed diameter. Weighing a length is better.

A label's test gives a diameter through the stress at which such lines break, taken over the circle of the outside
diameter: ``d = sqrt(4 F / (π σ))``. Stresses and ranges are typical ones from memory. A printed diameter is used as
printed. Where the line is solid, a weighed length beats both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from sternwatch.gear.spread_file.lines import LineSpec
from sternwatch.gear.values.materials import find_material
from sternwatch.gear.values.units import FOOT_M, POUND_KG, STANDARD_GRAVITY_M_S2

WEIGHED_M = 20 * FOOT_M
# A kitchen scale is within one of its last digits nine times in ten: memory. Most read to the gram.
SCALE_KG = 0.001
_MEMORY = "typical, from memory"
_WEIGHED = "weighed on a kitchen scale"
_POUND_N = POUND_KG * STANDARD_GRAVITY_M_S2


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of line in the trade's words: material, typical breaking stress, how far its diameter may be off."""

    material: str
    stress_Pa: float
    share: float
    density_kg_m3: float | None = None  # of the whole circle; used where the material gives none
    solid: bool = True  # then its weight gives its diameter


KINDS: dict[str, Kind] = {
    "wire": Kind("stainless steel", 1200e6, 0.12),
    # Seven strands fill 7/9 of the circle around them.
    "cable": Kind("stainless steel", 1300e6, 0.14, density_kg_m3=8000.0 * 7 / 9),
    "mono": Kind("nylon", 560e6, 0.10),
    "fluoro": Kind("fluorocarbon", 620e6, 0.10),
    "braid": Kind("UHMWPE braid", 1900e6, 0.16, solid=False),
    "copper": Kind("stranded copper", 286e6, 0.08),
}
GRADES = {"lead-core": (18, 27, 36)}  # pounds; the materials table has their diameter and weight


@dataclass(frozen=True, slots=True)
class Labelled:
    """A line for a spread file: its name, its table, and how far ``diameter`` and ``weight`` may be off."""

    name: str
    table: dict[str, Any]
    priors: dict[str, dict[str, Any]]


def typical_diameter_m(kind: str, test_N: float) -> float:
    """The typical diameter [m] for a kind and test [N]: from memory, ± ``KINDS[kind].share``."""
    return math.sqrt(4.0 * test_N / (math.pi * KINDS[kind].stress_Pa))


def weighed_diameter_m(kind: str, mass_kg: float, length_m: float = WEIGHED_M) -> float:
    """The diameter [m] from the mass [kg] of a length: ``sqrt(4 m / (π ρ fill L))``."""
    material = find_material(KINDS[kind].material)
    assert material is not None  # KINDS uses names of the table of materials
    solid = KINDS[kind].density_kg_m3 or material.density_kg_m3 * material.fill
    return math.sqrt(4.0 * mass_kg / (math.pi * solid * length_m))


def line_from_label(
    kind: str,
    test_lb: float,
    *,
    diameter_m: float | None = None,
    weighed_kg: float | None = None,
    digit_kg: float = SCALE_KG,
) -> Labelled:
    """The line that a label describes: its test in pounds, a printed diameter, the mass of 20 ft if it was weighed.

    ``digit_kg`` is the scale's last digit.

    Raises ``KeyError`` for an unknown kind, ``ValueError`` for an unknown grade of lead-core and where weight and
    label disagree by more than a factor of two in mass (a slipped decimal point).
    """
    name = f"{kind} {test_lb:g} lb"
    if kind in GRADES:
        return _graded(kind, name, test_lb, weighed_kg, digit_kg)
    known = KINDS[kind]
    table: dict[str, Any] = {"material": known.material}
    priors: dict[str, dict[str, Any]] = {}
    diameter = typical_diameter_m(kind, test_lb * _POUND_N) if diameter_m is None else diameter_m
    note = f"{_MEMORY}: diameter from the test" if diameter_m is None else "diameter as printed on the spool"
    share, source, mass_kg_m = known.share, _MEMORY, None
    if weighed_kg is not None:
        by_weight = weighed_diameter_m(kind, weighed_kg)
        if not 0.5 < (by_weight / diameter) ** 2 < 2.0:
            raise ValueError(_disagree(weighed_kg, (diameter / by_weight) ** 2 * weighed_kg))
        by_scale = digit_kg / weighed_kg / 2.0 + 0.02
        if diameter_m is not None:
            note = f"diameter as printed, {weighed_kg * 1000:g} g in 20 ft as weighed"
            mass_kg_m = weighed_kg / WEIGHED_M
            priors["weight"] = _range(digit_kg / weighed_kg + 0.01, _WEIGHED)
        elif by_scale < share and known.solid:  # 20 ft of nylon weigh few grams; a braid's holes are unknown
            diameter, note = by_weight, f"diameter from {weighed_kg * 1000:g} g in 20 ft"
            share, source = by_scale, _WEIGHED
    table["diameter"] = f"{diameter * 1000:.3g} mm"
    if mass_kg_m is not None:
        table["mass_per_length"] = f"{mass_kg_m * 1000:.3g} g/m"
    elif known.density_kg_m3 is not None:
        table["density"] = f"{known.density_kg_m3:.0f} kg/m^3"
    if diameter_m is None:
        priors["diameter"] = _range(share, source)
    table |= {"strength": f"{test_lb:g} lbf", "note": note}
    LineSpec.model_validate(table)
    return Labelled(name, table, priors)


def _graded(kind: str, name: str, test_lb: float, weighed_kg: float | None, digit_kg: float) -> Labelled:
    if test_lb not in GRADES[kind]:
        grades = ", ".join(str(grade) for grade in GRADES[kind])
        raise ValueError(f"{kind} comes in {grades} lb")
    material = find_material(name)
    assert material is not None  # the table has every grade
    assert material.mass_kg_m is not None
    table: dict[str, Any] = {"material": name, "strength": f"{test_lb:g} lbf"}
    priors: dict[str, dict[str, Any]] = {}
    note = f"{_MEMORY}: a grade of the materials table"
    if weighed_kg is not None:
        if not 0.5 < weighed_kg / (material.mass_kg_m * WEIGHED_M) < 2.0:
            raise ValueError(_disagree(weighed_kg, material.mass_kg_m * WEIGHED_M))
        table["mass_per_length"] = f"{weighed_kg / WEIGHED_M * 1000:.3g} g/m"
        note = f"{weighed_kg * 1000:g} g in 20 ft as weighed; diameter typical, from memory"
        priors["weight"] = _range(digit_kg / weighed_kg + 0.01, _WEIGHED)
    return Labelled(name, {**table, "note": note}, priors)


def _range(share: float, source: str) -> dict[str, Any]:
    return {"low": round(1.0 - share, 3), "high": round(1.0 + share, 3), "source": source}


def _disagree(weighed_kg: float, wanted_kg: float) -> str:
    return (
        f"20 ft of it should weigh about {wanted_kg * 1000:.0f} g, not {weighed_kg * 1000:g} g: "
        "weigh it again, or look at the label again"
    )
