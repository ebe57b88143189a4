"""Actions that change the gear on the rods: another lure, leader or rig, or a rig moved to another station.

Pieces and chains are written as in a spread file. So an entry holds all that it needs, and another program or machine
can go through a trip. The room ``gear`` says what they mean.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from sternwatch.logbook.actions.base import ActionBase, Number, RodAction

Key = Annotated[str, Field(min_length=1, max_length=1)]
Pieces = dict[Annotated[str, Field(min_length=1, max_length=60)], dict[str, Any]]
PieceKind = Literal["lure", "attractor", "leader", "rig"]


class Change(RodAction):
    """`c`: another lure or attractor (the piece ``name``), or another leader or whole rig (``chain``)."""

    kind: Literal["change"] = "change"
    what: PieceKind
    name: str = Field(min_length=1, max_length=60)
    chain: tuple[dict[str, Any], ...] | None = Field(default=None, min_length=1, max_length=40)
    line: Pieces | None = None  # kinds of line and pieces of tackle that the spread may lack
    tackle: Pieces | None = None

    @model_validator(mode="after")
    def _fits(self) -> Change:
        if (self.what in ("leader", "rig")) != (self.chain is not None):
            raise PydanticCustomError("change", "a chain for a leader or a rig, and only for those")
        return self


class Move(RodAction):
    """`x`: the rod swaps rigs with the station ``to``."""

    kind: Literal["move"] = "move"
    to: Key


class RodPlan(BaseModel):
    """One rod of a plan. Values left out stay as they are."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    rod: Key
    line_out_m: Number | None = Field(default=None, ge=0, le=2000)
    setting: str | None = Field(default=None, min_length=1, max_length=40)


class Planned(ActionBase):
    """Planned lengths and settings of several rods in one entry, so that one key undoes it."""

    kind: Literal["planned"] = "planned"
    rods: tuple[RodPlan, ...] = Field(min_length=1, max_length=20)
