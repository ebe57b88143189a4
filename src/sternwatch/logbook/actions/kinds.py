"""The kinds of actions. Actions are what the crew do: the second of a trip's two streams.

An action is stored before anything shows it as saved, and never changes: a correction is a new action.
Each is one line of JSON: ``{"id", "time", "kind", "rod", ...}``. ``time`` is the moment that the act counts for (UTC,
by the feed's clock where it has one). ``elapsed_s`` is the feed time of that moment. It places the action in a feed
without a clock, and in a replay to the millisecond.
"""

from __future__ import annotations

import difflib
import json
import uuid
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import Field, TypeAdapter, ValidationError, model_validator
from pydantic_core import ErrorDetails, PydanticCustomError

from sternwatch.logbook.actions.base import ActionBase, Flag, Id, Moment, Number, RodAction, iso
from sternwatch.logbook.actions.gear_acts import Change, Move, Planned
from sternwatch.logbook.actions.observing_acts import Observed
from sternwatch.logbook.actions.place_acts import FishSeen, Marked
from sternwatch.logbook.actions.practice_acts import Fault
from sternwatch.logbook.actions.trip_acts import Checked, CurrentSaid, EndTrip, Noted, PutBack, RanIn, TripFacts
from sternwatch.reading import UnreadableError, json_of, read_text

__all__ = [
    "ActionBase",
    "Change",
    "Checked",
    "CurrentSaid",
    "EndTrip",
    "Fault",
    "FishSeen",
    "Marked",
    "Move",
    "Noted",
    "Observed",
    "Planned",
    "PutBack",
    "RanIn",
    "RodAction",
    "TripFacts",
    "iso",
]


class GoingOut(RodAction):
    """`o`: the rod starts going out, to ``line_out_m`` (its last or written length when None)."""

    kind: Literal["going out"] = "going out"
    line_out_m: Number | None = Field(default=None, ge=0, le=2000)


class SetRod(RodAction):
    """`o` again: it is set and fishing."""

    kind: Literal["set"] = "set"


class TakeIn(RodAction):
    """`i`: the rod is taken in."""

    kind: Literal["in"] = "in"


class Length(RodAction):
    """Line let out or taken in, up to this reading of the counter, SI."""

    kind: Literal["length"] = "length"
    line_out_m: Number = Field(ge=0, le=2000)


class Setting(RodAction):
    """A diver's setting, by the user's own label."""

    kind: Literal["setting"] = "setting"
    setting: str = Field(min_length=1, max_length=40)


class Lead(RodAction):
    """A change of the length with ``adjust`` (a downrigger's lead)."""

    kind: Literal["lead"] = "lead"
    lead_m: Number = Field(gt=0, le=500)


class Hit(RodAction):
    """A fish struck. It takes the time of the ``bite`` named. A doubtful hit counts nowhere until it is confirmed."""

    kind: Literal["hit"] = "hit"
    doubtful: Flag = False
    why: str = ""
    bite: Id | None = None


class Bite(ActionBase):
    """A bite on a rod not known yet."""

    kind: Literal["bite"] = "bite"


class Confirm(ActionBase):
    """The crew confirm a doubtful hit."""

    kind: Literal["confirm"] = "confirm"
    of: Id


class Doubt(ActionBase):
    """A stored hit becomes doubtful: a later key press shows that it is one of several at once."""

    kind: Literal["doubt"] = "doubt"
    of: Id
    why: str = ""


class Outcome(ActionBase):
    """How a hit ended. After "no fish" it no longer counts as a hit."""

    kind: Literal["outcome"] = "outcome"
    of: Id
    outcome: Literal["boxed", "freed", "dropped", "no fish"]


class Catch(ActionBase):
    """The fish and its size, as far as they are known."""

    kind: Literal["catch"] = "catch"
    of: Id
    species: str | None = None
    length_m: Number | None = Field(default=None, gt=0, le=3)
    mass_kg: Number | None = Field(default=None, gt=0, le=200)
    undersized: Flag | None = None
    note: str | None = None


class Retime(ActionBase):
    """A hit was at another moment than its key press."""

    kind: Literal["retime"] = "retime"
    of: Id
    to: Moment
    to_elapsed_s: Number | None = None


class Undo(ActionBase):
    """`u`: the named entry is undone; nothing is deleted."""

    kind: Literal["undo"] = "undo"
    of: Id


class Restore(ActionBase):
    """`y`: an undone entry counts again."""

    kind: Literal["restore"] = "restore"
    of: Id


class Acknowledge(ActionBase):
    """The crew acknowledge an alert, by its id."""

    kind: Literal["acknowledge"] = "acknowledge"
    alert: str = Field(min_length=1)


class Note(ActionBase):
    """A note of the crew, about a rod or about anything else."""

    kind: Literal["note"] = "note"
    text: str = Field(min_length=1, max_length=500)


class Gauge(ActionBase):
    """`g`: a gauge's reading at a depth: the water's temperature, its speed past the gauge, or both.

    ``rod``: the rod whose line carries the gauge, if any.
    """

    kind: Literal["gauge"] = "gauge"
    depth_m: Number = Field(ge=0, le=500)
    temperature_c: Number | None = Field(default=None, ge=-2, le=40)
    speed_m_s: Number | None = Field(default=None, ge=0, le=10)

    @model_validator(mode="after")
    def _something(self) -> Gauge:
        if self.temperature_c is None and self.speed_m_s is None:
            raise PydanticCustomError("gauge", "temperature_c or speed_m_s, or both")
        return self


class Helm(ActionBase):
    """Practice: the simulated boat's helm, either a rudder angle or a heading that the helm holds by itself."""

    kind: Literal["helm"] = "helm"
    rudder_deg: Number | None = Field(default=None, ge=-45, le=45)  # positive turns her to starboard
    heading_deg: Number | None = Field(default=None, ge=0, le=360)  # true

    @model_validator(mode="after")
    def _one_of_two(self) -> Helm:
        if (self.rudder_deg is None) == (self.heading_deg is None):
            raise PydanticCustomError("helm", "either rudder_deg or heading_deg, not both and not neither")
        return self


class Throttle(ActionBase):
    """Practice: the engine that drives the simulated boat, and how far its lever is open."""

    kind: Literal["throttle"] = "throttle"
    engine: Literal["kicker", "main"]
    lever: Number = Field(ge=0, le=1)


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
    | Acknowledge
    | Note
    | Gauge
    | Helm
    | Throttle
    | Fault
    | PutBack
    | Checked
    | RanIn
    | TripFacts
    | EndTrip
    | Noted
    | CurrentSaid
    | Marked
    | FishSeen
    | Observed
    | Change
    | Move
    | Planned,
    Field(discriminator="kind"),
]

ADAPTER: TypeAdapter[Action] = TypeAdapter(Action)

_MEMBERS: tuple[type[ActionBase], ...] = get_args(get_args(Action)[0])
MODELS: dict[str, type[ActionBase]] = {model.model_fields["kind"].default: model for model in _MEMBERS}
KINDS: tuple[str, ...] = tuple(MODELS)
_MOST_BYTES = 64 << 20


def new_id() -> str:
    """A unique id for a new action."""
    return uuid.uuid4().hex


def dump(action: Action) -> dict[str, Any]:
    """The action as a JSON object, unset fields left out."""
    return ADAPTER.dump_python(action, mode="json", exclude_none=True)  # type: ignore[no-any-return]


class ActionError(ValueError):
    """An action is faulty; the message says what is wrong and where, in one sentence."""


def parse(data: str | bytes | Mapping[str, Any], where: str = "action") -> Action:
    """One action from a JSON line or an object. ``where`` (file and line) begins the sentence of an error.

    Raises ActionError that names the field, the value given and what is accepted.
    """
    if isinstance(data, Mapping):
        given: Any = dict(data)
    else:
        try:
            given = json_of(data)
        except UnreadableError as exc:
            raise ActionError(f"{where}: not a line of JSON: {exc}") from None
    if not isinstance(given, dict):
        raise ActionError(f"{where}: {_shown(given)} is not a JSON object with fields id, time, kind …")
    kind = given.get("kind")
    if not isinstance(kind, str) or kind not in MODELS:
        said = "is missing" if kind is None else f"{_shown(kind)} is not a kind of action"
        raise ActionError(f"{where}: kind: {said}{_nearest(kind, KINDS)}; accepted: {', '.join(KINDS)}")
    try:
        return ADAPTER.validate_python(given)
    except ValidationError as exc:
        first = exc.errors()[0]
        raise ActionError(f"{where}: {_sentence(kind, first)}") from None


def load_actions(path: Path) -> list[Action]:
    """The actions of a JSON Lines file in its order; see :func:`parse_actions`.

    Raises ActionError, also for a file that cannot be read.
    """
    try:
        text = read_text(path, _MOST_BYTES)
    except FileNotFoundError:
        raise ActionError(f"{path}: there is no such file") from None
    except UnreadableError as exc:
        raise ActionError(f"{path}: {exc}") from None
    return parse_actions(text, str(path))


def parse_actions(text: str, where: str) -> list[Action]:
    """The actions of a text of JSON Lines in its order; empty lines are skipped.

    An action given twice in the same words counts once. Raises ActionError for the first faulty line, and for an id
    that two different actions share.
    """
    seen: dict[str, tuple[int, Action]] = {}
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        action = parse(line, f"{where} line {number}")
        known = seen.get(action.id)
        if known is not None and known[1] != action:
            raise ActionError(f"{where} line {number}: id: {action.id!r} is already used on line {known[0]}")
        seen.setdefault(action.id, (number, action))
    return [action for _, action in seen.values()]


def lines(actions: Iterable[Action]) -> str:
    """The actions as JSON Lines. Reading them back gives equal actions."""
    return "".join(json.dumps(dump(action), ensure_ascii=False) + "\n" for action in actions)


_TIME = "an ISO 8601 time with its offset, like 2025-07-18T23:42:10Z"
_ACCEPTED = {
    "float_type": "a number",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "string_type": "a text",
    "timezone_aware": _TIME,
    "datetime_parsing": _TIME,
    "datetime_from_date_parsing": _TIME,
    "value_error": _TIME,
}


def _sentence(kind: str, error: ErrorDetails) -> str:
    """One sentence for one of pydantic's errors. Its location starts with the kind."""
    field = ".".join(str(part) for part in error["loc"][1:]) or "action"
    fields = tuple(MODELS[kind].model_fields)
    code, context = error["type"], error.get("ctx", {})
    if code == "missing":
        return f"{field}: is missing; a {kind!r} action needs it"
    if code == "extra_forbidden":
        return f"{field}: is not a field of a {kind!r} action{_nearest(field, fields)}; accepted: {', '.join(fields)}"
    accepted = _ACCEPTED.get(code)
    if code == "literal_error":
        accepted = str(context["expected"])
    elif accepted is None:
        accepted = error["msg"].removeprefix("Input should be ").removeprefix("String should have ")
    return f"{field}: {_shown(error['input'])} is not accepted; accepted: {accepted}"


def _nearest(given: object, names: Iterable[str]) -> str:
    near = difflib.get_close_matches(str(given), list(names))
    return f" (did you mean {near[0]!r}?)" if near else ""


def _shown(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= 60 else text[:57] + "…"
