"""Kinds of line in the spread file, and their numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from sternwatch.gear.values.defaults import STRUMMING_SOFT, TANGENTIAL_DRAG, Default
from sternwatch.gear.values.materials import MATERIALS, SHORT_NAMES, find_material
from sternwatch.gear.values.quantities import Density, ForceAboveZero, LineDiameter, MassPerLength, Number, refuse
from sternwatch.gear.values.words import nearest

# The stretch of a line with neither material nor stiffness is unknown. It counts as stiff: a thousandth of its length
# under 100 N.
UNKNOWN_STIFFNESS_N = 1e5


def _known_material(name: str) -> str:
    if find_material(name) is None:
        known = [*MATERIALS, *SHORT_NAMES]
        raise refuse(
            "unknown_material", f"not in the materials table{nearest(name, known)}; known: {', '.join(known)}"
        )
    return name


class LineSpec(BaseModel):
    """``[line.NAME]``: a kind of line. Given values are used as given; the material supplies the others."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    material: Annotated[str, AfterValidator(_known_material)] | None = Field(
        default=None, json_schema_extra={"examples": [*MATERIALS]}
    )
    diameter_m: LineDiameter | None = Field(default=None, alias="diameter")
    density_kg_m3: Density | None = Field(default=None, alias="density")
    mass_kg_m: MassPerLength | None = Field(default=None, alias="mass_per_length")
    stiffness_N: ForceAboveZero | None = Field(default=None, alias="stiffness", description="axial stiffness EA")
    normal_drag: Number | None = Field(default=None, ge=0, le=10, description="drag coefficient of the cross-flow")
    tangential_drag: Number | None = Field(default=None, ge=0, le=1, description="on wetted area")
    drag_factor: Number | None = Field(default=None, gt=0, le=5, description="on normal drag: strumming")
    strength_N: ForceAboveZero | None = Field(default=None, alias="strength", description="breaking load")
    note: Annotated[str, Field(min_length=1, max_length=200)] | None = Field(
        default=None, description="the crew's own words, or where its numbers come from"
    )

    @model_validator(mode="after")
    def _enough(self) -> Self:
        material = find_material(self.material) if self.material else None
        graded = material is not None and material.diameter_m is not None
        if self.diameter_m is None and not graded:
            raise refuse("line_diameter", 'its diameter is missing, for example diameter = "0.38 mm"')
        if material is None and self.density_kg_m3 is None and self.mass_kg_m is None:
            raise refuse(
                "line_material",
                f"neither material nor density nor mass_per_length is given; materials: {', '.join(MATERIALS)}",
            )
        return self


@dataclass(frozen=True, slots=True)
class LineNumbers:
    """A line per metre, SI. ``displaced_m3_m``: the water it displaces."""

    diameter_m: float
    mass_kg_m: float
    displaced_m3_m: float
    stiffness_N: float
    normal_drag: float | None  # None: a smooth cylinder's, by Reynolds number
    tangential_drag: float
    drag_factor: float
    strength_N: float | None


def strumming_of(spec: LineSpec) -> Default:
    """The factor of a line's hum on its cross-flow drag. A line of unknown material counts as soft."""
    material = find_material(spec.material) if spec.material else None
    return STRUMMING_SOFT if material is None else material.strumming


def resolve_line(spec: LineSpec) -> LineNumbers:
    """A line's numbers: given values as they are, the rest from its material and the defaults."""
    material = find_material(spec.material) if spec.material else None
    diameter = spec.diameter_m
    if diameter is None:
        assert material is not None  # LineSpec._enough
        assert material.diameter_m is not None
        diameter = material.diameter_m
    circle = math.pi / 4 * diameter**2
    mass, displaced = _mass_and_displacement(spec, circle)
    if spec.stiffness_N is not None:
        stiffness = spec.stiffness_N
    elif material is None:
        stiffness = UNKNOWN_STIFFNESS_N  # unknown: counts as stiff
    elif material.stiffness_N is not None:
        stiffness = material.stiffness_N
    else:
        stiffness = material.modulus_Pa * circle * material.fill
    normal_drag = spec.normal_drag
    if normal_drag is None and material is not None:
        normal_drag = material.normal_drag
    # A given drag was measured, so it includes strumming; so does a braid's.
    strumming = strumming_of(spec).value if normal_drag is None else 1.0
    return LineNumbers(
        diameter_m=diameter,
        mass_kg_m=mass,
        displaced_m3_m=displaced,
        stiffness_N=stiffness,
        normal_drag=normal_drag,
        tangential_drag=TANGENTIAL_DRAG.value if spec.tangential_drag is None else spec.tangential_drag,
        drag_factor=strumming if spec.drag_factor is None else spec.drag_factor,
        strength_N=spec.strength_N,
    )


def _mass_and_displacement(spec: LineSpec, circle_m2: float) -> tuple[float, float]:
    """Mass per metre and water displaced per metre.

    Water fills the holes of a strand or braid, so only its solid displaces water. A given density is the mean over
    the whole circle; a mass given without density belongs to the whole circle too.
    """
    material = find_material(spec.material) if spec.material else None
    if spec.mass_kg_m is not None:
        if spec.density_kg_m3 is not None:
            return spec.mass_kg_m, spec.mass_kg_m / spec.density_kg_m3
        if material is None or material.composite:
            return spec.mass_kg_m, circle_m2
        return spec.mass_kg_m, spec.mass_kg_m / material.density_kg_m3
    if spec.density_kg_m3 is not None:
        return spec.density_kg_m3 * circle_m2, circle_m2
    assert material is not None  # LineSpec._enough
    if material.mass_kg_m is not None:
        mass = material.mass_kg_m
        return mass, circle_m2 if material.composite else mass / material.density_kg_m3
    solid = circle_m2 * material.fill
    return material.density_kg_m3 * solid, solid
