"""What the crew saw or felt of a rod that shows where its line really is."""

from __future__ import annotations

from typing import Literal, get_args

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from sternwatch.logbook.actions.base import Number, RodAction

ObservedWhat = Literal["touched bottom", "seen on sounder", "logger", "entry angle", "cable angle", "pull", "known"]
OBSERVED: tuple[ObservedWhat, ...] = get_args(ObservedWhat)
ObservedAt = Literal["lure", "device", "ball"]

_DEPTHS = ("touched bottom", "seen on sounder", "logger", "known")


class Observed(RodAction):
    """`h` and similar keys. Unless given, speed, lengths and setting are those of the moment.

    ``at``: the piece of the chain; by default the deepest piece of tackle. A touch needs no ``depth_m``: then the
    depth is that of the bottom sounded where the piece was. Angles: the entry angle is below the horizontal, the
    cable's off the vertical. ``error_…``: nine times in ten the value is within this; by default the usual error.
    With ``speed_m_s`` (through the water) the observation is of another time, with the lengths and setting given, or
    else the spread's.
    """

    kind: Literal["observed"] = "observed"
    what: ObservedWhat
    at: ObservedAt | None = None
    depth_m: Number | None = Field(default=None, ge=0, le=500)
    angle_deg: Number | None = Field(default=None, ge=0, le=90)
    pull_N: Number | None = Field(default=None, gt=0, le=5000)
    error_m: Number | None = Field(default=None, gt=0, le=100)
    error_deg: Number | None = Field(default=None, gt=0, le=45)
    error_N: Number | None = Field(default=None, gt=0, le=1000)
    speed_m_s: Number | None = Field(default=None, gt=0, le=10)
    line_out_m: Number | None = Field(default=None, gt=0, le=2000)
    setting: str | None = Field(default=None, min_length=1, max_length=40)
    lead_m: Number | None = Field(default=None, gt=0, le=500)

    @model_validator(mode="after")
    def _fits(self) -> Observed:
        field, error = "pull_N", "error_N"
        if self.what in _DEPTHS:
            field, error = "depth_m", "error_m"
        elif self.what != "pull":
            field, error = "angle_deg", "error_deg"
        sounded = self.what == "touched bottom" and self.speed_m_s is None
        if getattr(self, field) is None and not sounded:
            raise PydanticCustomError("observed", "{field} with {what}", {"field": field, "what": self.what})
        for other in ("depth_m", "angle_deg", "pull_N", "error_m", "error_deg", "error_N"):
            if other not in (field, error) and getattr(self, other) is not None:
                raise PydanticCustomError("observed", "no {field} with {what}", {"field": other, "what": self.what})
        if self.what == "known" and self.speed_m_s is None:
            raise PydanticCustomError("observed", "speed_m_s with what is known")
        if self.at is not None and field != "depth_m":
            raise PydanticCustomError("observed", "no at with {what}", {"what": self.what})
        return self
