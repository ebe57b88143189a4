"""Actions on a practice boat besides steering her: her instruments fail and are mended."""

from __future__ import annotations

from typing import Literal, get_args

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from sternwatch.logbook.actions.base import ActionBase, Number

FaultKind = Literal["dropout", "frozen", "no fix", "lost bottom", "bad checksums"]
Sensor = Literal["gps", "compass", "log", "thermometer", "sounder", "all"]
KINDS: tuple[FaultKind, ...] = get_args(FaultKind)
SENSORS: tuple[Sensor, ...] = get_args(Sensor)
# A fault that only one sensor can have needs no sensor named.
OWN: dict[FaultKind, Sensor] = {"no fix": "gps", "lost bottom": "sounder"}


class Fault(ActionBase):
    """Practice: an instrument fails from now on, for ``for_s`` or until ``mended``, which ends every fault.

    Without a sensor named, the fault's own sensor fails, or all of them.
    """

    kind: Literal["fault"] = "fault"
    what: FaultKind | Literal["mended"]
    sensor: Sensor | None = None
    for_s: Number | None = Field(default=None, gt=0, le=86_400)

    @model_validator(mode="after")
    def _fits(self) -> Fault:
        if self.what == "mended" and (self.sensor is not None or self.for_s is not None):
            raise PydanticCustomError("fault", "no sensor and no for_s with mended: all of them are")
        return self

    @property
    def words(self) -> str:
        """The fault in words: "dropout: gps, for 60 s"."""
        if self.what == "mended":
            return "instruments mended"
        sensor = self.sensor or OWN.get(self.what, "all")
        said = f"{self.what}: {'every instrument' if sensor == 'all' else sensor}"
        return said if self.for_s is None else f"{said}, for {self.for_s:g} s"
