"""The manifest of a packed trip. Every field is checked before anything of the trip is stored."""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from sternwatch.logbook.actions.base import Flag, Moment, Number
from sternwatch.logbook.crew.state import RodWord
from sternwatch.reading import UnreadableError, json_of

FORMAT = 1
_TIME = "an ISO 8601 time with its offset, like 2026-07-18T23:42:10Z"
_ACCEPTED = {"id": "1 to 80 letters, digits and hyphens", "begun": _TIME, "ended": f"{_TIME}, or null"}
_Whole = Annotated[int, Field(strict=True)]


class About(BaseModel):
    """The fields that a debrief uses; the others are kept unchanged."""

    model_config = ConfigDict(frozen=True, extra="allow")

    rods: tuple[str, ...] | None = None
    pay_out_m_s: Number | None = Field(default=None, gt=0, le=100)
    utc_offset_min: _Whole | None = Field(default=None, ge=-24 * 60, le=24 * 60)


class _Rod(BaseModel):
    model_config = ConfigDict(frozen=True, extra="allow")

    key: str
    name: str
    depth_believed_mean_m: Number | None = None
    depth_true_mean_m: Number | None = None
    depth_error_mean_m: Number | None = None
    depth_error_worst_m: Number | None = None
    interval_holds_share: Number | None


class Practised(BaseModel):
    """The fields of a practice result that a debrief shows; the others are kept unchanged."""

    model_config = ConfigDict(frozen=True, extra="allow")

    drill: str
    name: str
    done: Flag
    rods: tuple[_Rod, ...]
    seed: _Whole = Field(ge=-(1 << 63), lt=1 << 63)
    score: Number | None
    passed: Flag | None
    par: Number | None


class Manifest(BaseModel):
    """The manifest of a packed trip."""

    model_config = ConfigDict(frozen=True)

    id: str = Field(pattern="^[0-9A-Za-z-]{1,80}$")
    begun: Moment
    ended: Moment | None
    session: Literal["live", "demo", "replay", "practice", "notebook"]
    start: RodWord
    calibration: str
    about: dict[str, Any]
    feed: Flag
    practised: dict[str, Any] | None = None


def read(text: str) -> Manifest:
    """The manifest from text. Raises ValueError, whose message ends a sentence."""
    given = json_of(text)
    if not isinstance(given, dict):
        raise UnreadableError("is no JSON object")
    if given.get("format") != FORMAT:
        raise UnreadableError(f"is of format {given.get('format')!r:.20}; this sternwatch reads format {FORMAT}")
    try:
        found = Manifest.model_validate(given)
        About.model_validate(found.about)
        if found.practised is not None:
            Practised.model_validate(found.practised)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        field = ".".join(map(str, first["loc"]))
        if first["type"] == "missing":
            raise UnreadableError(f"{field} is missing") from None
        shown = json.dumps(first["input"], default=str)
        accepted = _ACCEPTED.get(field, first["msg"].removeprefix("Input should be "))
        raise UnreadableError(
            f"{field} = {shown if len(shown) <= 60 else shown[:57] + '…'} is not accepted; accepted: {accepted}"
        ) from None
    if found.ended is not None and found.ended < found.begun:
        raise UnreadableError("ended: lies before begun")
    return found
