"""Tackle in the spread file: one model per kind. A coefficient that the file gives is used as given.

``mass``, ``volume`` or ``density``, and ``wet_weight`` (submerged weight, positive when it sinks) say how heavy a
thing is. ``drag_area`` is Cd·A, ``lift_area`` C_L·A. Values left out come from ``gear.values.defaults``.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, StrictBool, model_validator

from sternwatch.gear.values.defaults import ATTRACTOR_LENGTH_M
from sternwatch.gear.values.quantities import (
    Area,
    Density,
    Diameter,
    ForceAboveZero,
    LengthAboveZero,
    Mass,
    Roll,
    SignedArea,
    SignedForce,
    Trim,
    Volume,
    refuse,
)

Label = Annotated[str, Field(min_length=1, max_length=12)]
Note = Annotated[str, Field(min_length=1, max_length=200)]


class _Tackle(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    mass_kg: Mass | None = Field(default=None, alias="mass")
    volume_m3: Volume | None = Field(default=None, alias="volume")
    density_kg_m3: Density | None = Field(default=None, alias="density")
    wet_weight_N: SignedForce | None = Field(default=None, alias="wet_weight", description="positive sinks")
    drag_area_m2: Area | None = Field(default=None, alias="drag_area")
    strength_N: ForceAboveZero | None = Field(default=None, alias="strength", description="breaking load")
    note: Note | None = Field(default=None, description="the crew's own words, or where its numbers come from")

    @model_validator(mode="after")
    def _one_bulk(self) -> Self:
        if self.volume_m3 is not None and self.density_kg_m3 is not None and self.mass_kg is not None:
            raise refuse("two_bulks", "mass, volume and density are all given; give two of them, the third follows")
        return self


class Diver(_Tackle):
    """A bridled diving disc. ``settings`` maps the user's own labels to the roll of its lift."""

    kind: Literal["diver"]
    diameter_m: Diameter | None = Field(default=None, alias="diameter")
    ring: StrictBool = False
    settings: dict[Label, Roll] = Field(default_factory=dict)
    trim_rad: Trim | None = Field(default=None, alias="trim", description="angle of the set disc to the stream")
    lift_area_m2: Area | None = Field(default=None, alias="lift_area", description="C_L·A, rolled by the setting")
    release_pull_N: ForceAboveZero | None = Field(default=None, alias="release_pull")

    @model_validator(mode="after")
    def _enough(self) -> Self:
        if self.diameter_m is None and self.lift_area_m2 is None:
            raise refuse("diver_size", 'its diameter is missing, for example diameter = "120 mm" (or give lift_area)')
        return self


class _Heavy(_Tackle):
    diameter_m: Diameter | None = Field(default=None, alias="diameter", description="of a sphere")

    @model_validator(mode="after")
    def _heavy_enough(self) -> Self:
        bulk = self.volume_m3 is not None and self.density_kg_m3 is not None
        if self.mass_kg is None and self.wet_weight_N is None and not bulk:
            raise refuse("no_mass", 'its mass is missing, for example mass = "10 lb" (or give wet_weight)')
        return self


class Ball(_Heavy):
    """A downrigger weight."""

    kind: Literal["ball"]
    release_pull_N: ForceAboveZero | None = Field(default=None, alias="release_pull")


class Weight(_Heavy):
    """An in-line weight."""

    kind: Literal["weight"]


class Board(_Tackle):
    """A board that planes on the surface and pulls to its side."""

    kind: Literal["board"]
    lift_area_m2: Area | None = Field(default=None, alias="lift_area", description="C_L·A, sideways")
    buoyancy_N: ForceAboveZero | None = Field(default=None, alias="buoyancy", description="net, wholly under")
    height_m: LengthAboveZero | None = Field(default=None, alias="height")
    release_pull_N: ForceAboveZero | None = Field(default=None, alias="release_pull")


class Attractor(_Tackle):
    """A flasher, dodger or string of blades; by default a paddle of 8 in."""

    kind: Literal["attractor"]
    length_m: LengthAboveZero = Field(default=ATTRACTOR_LENGTH_M, alias="length", validate_default=False)


class Lure(_Tackle):
    """What the fish takes. ``lift_area`` acts downward: it is the lip's."""

    kind: Literal["lure"]
    form: Literal["fly", "spoon", "plug", "lipped plug"] | None = None
    colour: Annotated[str, Field(min_length=1, max_length=24)] | None = Field(
        default=None, description="a word of the crew's, for what produced"
    )
    length_m: LengthAboveZero | None = Field(default=None, alias="length")
    lift_area_m2: SignedArea | None = Field(default=None, alias="lift_area", description="C_L·A, downward")


class Snubber(_Tackle):
    """An elastic link that softens a strike. Its length counts for strikes, not for the lure's position."""

    kind: Literal["snubber"]
    length_m: LengthAboveZero | None = Field(default=None, alias="length")
    max_length_m: LengthAboveZero | None = Field(default=None, alias="max_length", description="stretched fully")
    max_pull_N: ForceAboveZero | None = Field(default=None, alias="max_pull", description="pull at max_length")


Tackle = Annotated[Diver | Ball | Weight | Board | Attractor | Lure | Snubber, Field(discriminator="kind")]
