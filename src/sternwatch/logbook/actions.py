"""What the crew does: actions, the second of a trip's two streams.

An action is stored before anything shows it as saved, and is never changed: a correction is a new action.
On a line of its own as JSON: ``{"id", "time", "kind", "rod", ...}``. ``time`` is the moment the act counts
for (UTC, the feed's clock where it has one); ``elapsed_s`` is the feed time of the same moment, which places
an action in a feed without a clock and in a replay to the millisecond.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, TypeAdapter, field_serializer


class ActionBase(BaseModel):
    """What every action carries."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str = Field(min_length=1, max_length=40)
    time: AwareDatetime
    elapsed_s: float | None = None
    rod: str | None = None

    @field_serializer("time")
    def _iso(self, value: datetime) -> str:
        return value.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


class RodAction(ActionBase):
    """An action on one rod, named by its key."""

    rod: str = Field(min_length=1, max_length=1)


class GoingOut(RodAction):
    """`o`: the rod starts going out, to ``line_out_m`` (its last or written length when None)."""

    kind: Literal["going out"] = "going out"
    line_out_m: float | None = Field(default=None, ge=0, le=2000)


class SetRod(RodAction):
    """`o` again: it is set and fishing."""

    kind: Literal["set"] = "set"


class TakeIn(RodAction):
    """`i`: the rod is in."""

    kind: Literal["in"] = "in"


class Length(RodAction):
    """Line let out or taken in: the counter's reading wanted, SI."""

    kind: Literal["length"] = "length"
    line_out_m: float = Field(ge=0, le=2000)


class Setting(RodAction):
    """A diver's setting, by the user's own label."""

    kind: Literal["setting"] = "setting"
    setting: str


class Lead(RodAction):
    """The length that carries ``adjust`` (a downrigger's lead)."""

    kind: Literal["lead"] = "lead"
    lead_m: float = Field(gt=0, le=500)


class Hit(RodAction):
    """A fish struck. ``bite`` names the bite whose time it takes; doubtful ones count in nothing until confirmed."""

    kind: Literal["hit"] = "hit"
    doubtful: bool = False
    why: str = ""
    bite: str | None = None


class Bite(ActionBase):
    """A bite, rod not known yet."""

    kind: Literal["bite"] = "bite"


class Confirm(ActionBase):
    """A doubtful hit confirmed."""

    kind: Literal["confirm"] = "confirm"
    of: str


class Doubt(ActionBase):
    """A hit already stored turns out doubtful: a later key press showed it to be one of several at once."""

    kind: Literal["doubt"] = "doubt"
    of: str
    why: str = ""


class Outcome(ActionBase):
    """How a hit ended; "no fish" makes it not a hit any more."""

    kind: Literal["outcome"] = "outcome"
    of: str
    outcome: Literal["boxed", "freed", "dropped", "no fish"]


class Catch(ActionBase):
    """What fish and size, each or none of them."""

    kind: Literal["catch"] = "catch"
    of: str
    species: str | None = None
    length_m: float | None = Field(default=None, gt=0, le=3)
    mass_kg: float | None = Field(default=None, gt=0, le=200)
    undersized: bool | None = None
    note: str | None = None


class Retime(ActionBase):
    """A hit was at another moment than the key press said."""

    kind: Literal["retime"] = "retime"
    of: str
    to: AwareDatetime
    to_elapsed_s: float | None = None

    @field_serializer("to")
    def _iso_to(self, value: datetime) -> str:
        return value.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


class Undo(ActionBase):
    """`u`: the named entry is taken back; nothing is deleted."""

    kind: Literal["undo"] = "undo"
    of: str


class Restore(ActionBase):
    """`y`: what was taken back counts again."""

    kind: Literal["restore"] = "restore"
    of: str


class Acknowledge(ActionBase):
    """An alert acknowledged, by its id."""

    kind: Literal["acknowledge"] = "acknowledge"
    alert: str


Action = Annotated[
    GoingOut
    | SetRod
    | TakeIn
    | Length
    | Setting
    | Lead
    | Hit
    | Bite
    | Confirm
    | Doubt
    | Outcome
    | Catch
    | Retime
    | Undo
    | Restore
    | Acknowledge,
    Field(discriminator="kind"),
]

ADAPTER: TypeAdapter[Action] = TypeAdapter(Action)


def dump(action: Action) -> dict[str, Any]:
    """The action as a JSON object, unset fields left out."""
    return ADAPTER.dump_python(action, mode="json", exclude_none=True)  # type: ignore[no-any-return]
