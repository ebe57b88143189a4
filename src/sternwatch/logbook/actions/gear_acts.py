"""Actions that change what hangs from the rods: another lure, leader or rig, a rig carried to another station.

Pieces and chains are written as in a spread file, so that an entry says all that it needs and a trip can be worked
through elsewhere; what they mean is for those to say who know gear.
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
    """`c`: another lure or attractor (``name`` is the piece's), or another leader or whole rig (``chain``)."""

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
    """`x`: the rig goes to the station ``to``, whose own comes back in exchange."""

    kind: Literal["move"] = "move"
    to: Key


class RodPlan(BaseModel):
    """One rod of a plan; what is left out stays."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    rod: Key
    line_out_m: Number | None = Field(default=None, ge=0, le=2000)
    setting: str | None = Field(default=None, min_length=1, max_length=40)


class Planned(ActionBase):
    """Lengths and settings of several rods at once, as planned: one entry, so that one key takes it back."""

    kind: Literal["planned"] = "planned"
    rods: tuple[RodPlan, ...] = Field(min_length=1, max_length=20)
