"""What the user believes and knows, in the spread file: ``[prior."NAME"]`` and ``[[known]]``."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema, model_validator

from sternwatch.gear.spread_file.tackle import Label
from sternwatch.gear.values.quantities import EntryAngle, ForceAboveZero, Length, LengthAboveZero, Speed, refuse
from sternwatch.gear.values.units import Dimension, QuantityError, parse_quantity

At = Literal["lure", "device", "ball"]


def _bound(given: Any) -> float:
    """A bound of a prior: a bare factor, or an angle, speed, length or temperature difference with its unit."""
    if isinstance(given, bool) or not isinstance(given, int | float | str):
        raise refuse("prior_bound", 'a factor is a bare number, a shift has its unit, for example "-5 deg"')
    if not isinstance(given, str):
        if not math.isfinite(given):
            raise refuse("prior_bound", "a finite number is wanted")
        return float(given)
    text = given.strip()
    if text.endswith(" K"):
        try:
            return float(text[:-2])
        except ValueError:
            raise refuse("prior_bound", 'a temperature difference is, for example, "-6 K"') from None
    for dimension in (Dimension.ANGLE, Dimension.SPEED, Dimension.LENGTH):
        try:
            return parse_quantity(text, dimension)
        except QuantityError:
            continue
    raise refuse("prior_bound", 'a factor is a bare number, a shift is, for example, "-5 deg", "0.1 mph" or "-6 K"')


Bound = Annotated[
    float,
    BeforeValidator(_bound),
    WithJsonSchema(
        {"anyOf": [{"type": "number"}, {"type": "string"}], "description": "a factor, or a shift with its unit"}
    ),
]


class PriorSpec(BaseModel):
    """``[prior."line wire strumming"]``: the range that holds a quantity nine times in ten.

    Bounds are factors on the value in use (bare numbers) or shifts from it (with a unit). Both at 1 (or 0): certain.
    ``sternwatch fit SPREAD --priors`` lists the names.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    low: Bound
    high: Bound
    source: str = Field(default="yours", max_length=200)

    @model_validator(mode="after")
    def _order(self) -> Self:
        if self.high < self.low:
            raise refuse("prior_order", "low must not be above high")
        return self


class Known(BaseModel):
    """``[[known]]``: something that the crew already knows of a rod ("ticks bottom in 75 ft at 2.3").

    It has exactly one of ``depth``, ``entry_angle``, ``cable_angle`` and ``pull``. ``out``, ``setting`` and ``lead``
    default to the rod's own in the file. ``at`` names the piece whose depth it is; the default is the deepest piece
    of tackle, the one that ticks. ``error``: nine times in ten the value is within this.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    rod: str
    speed_m_s: Speed = Field(alias="speed", description="through the water")
    depth_m: Length | None = Field(default=None, alias="depth")
    entry_angle_rad: EntryAngle | None = Field(
        default=None, alias="entry_angle", description="of the line where it enters the water, below the horizontal"
    )
    cable_angle_rad: EntryAngle | None = Field(
        default=None, alias="cable_angle", description="of a downrigger's cable, off the vertical"
    )
    pull_N: ForceAboveZero | None = Field(default=None, alias="pull", description="at the rod tip")
    out_m: LengthAboveZero | None = Field(default=None, alias="out", description="as the counter read")
    setting: Label | None = None
    lead_m: LengthAboveZero | None = Field(default=None, alias="lead")
    at: At | None = None
    error: str | None = Field(default=None, description='nine times in ten, for example "3 ft", "5 deg", "2 lbf"')
    note: str = Field(default="", max_length=200)

    @model_validator(mode="after")
    def _one(self) -> Self:
        given = [self.depth_m, self.entry_angle_rad, self.cable_angle_rad, self.pull_N]
        if sum(value is not None for value in given) != 1:
            raise refuse("known_one", "exactly one of depth, entry_angle, cable_angle and pull is wanted")
        if self.speed_m_s == 0.0:
            raise refuse("known_speed", "speed is 0: nothing is towed then")
        if self.at is not None and self.depth_m is None:
            raise refuse("known_at", '"at" says what was at a depth; leave it out with an angle or a pull')
        if self.error is not None:
            self._error()
        return self

    def _error(self) -> float:
        assert self.error is not None  # called only where it is given
        dimension = Dimension.LENGTH if self.depth_m is not None else Dimension.ANGLE
        if self.pull_N is not None:
            dimension = Dimension.FORCE
        try:
            value = parse_quantity(self.error, dimension)
        except QuantityError as fault:
            raise refuse("known_error", f"error: {fault}") from None
        if not value > 0.0:
            raise refuse("known_error", "error: more than 0 is wanted")
        return value

    @property
    def error_si(self) -> float | None:
        """The error [m, rad or N]; None where the file gives none."""
        return None if self.error is None else self._error()
