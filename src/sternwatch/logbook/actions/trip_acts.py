"""Actions about the trip as a whole, about lines put back or looked at, and about hits written down elsewhere."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sternwatch.logbook.actions.base import ActionBase, Id, Moment, Number, RodAction

Name = Annotated[str, Field(min_length=1, max_length=40)]
Text = Annotated[str, Field(max_length=200)]
Count = Annotated[int, Field(strict=True, ge=0, le=1000)]


class PutBack(RodAction):
    """`r` again: the rod goes out as it was at the hit named, one entry for length, setting and lead."""

    kind: Literal["put back"] = "put back"
    of: Id
    line_out_m: Number | None = Field(default=None, ge=0, le=2000)
    setting: str | None = Field(default=None, min_length=1, max_length=40)
    lead_m: Number | None = Field(default=None, gt=0, le=500)


class Checked(RodAction):
    """`k`: the line was looked at and is clean."""

    kind: Literal["checked"] = "checked"


class RanIn(ActionBase):
    """The boat has run too fast for lines to be out: these rods are taken as in from when the speed rose."""

    kind: Literal["ran"] = "ran"
    keys: tuple[Annotated[str, Field(min_length=1, max_length=1)], ...] = Field(min_length=1)
    since: Moment
    since_elapsed_s: Number | None = None


class TripFacts(ActionBase):
    """What the crew says of the trip; what is left out stays as it was said before."""

    kind: Literal["trip"] = "trip"
    people: Annotated[int, Field(strict=True, ge=1, le=50)] | None = None
    target: tuple[Name, ...] | None = None  # the fish wanted
    limits: dict[Name, Count] | None = None  # species to the most that may be boxed, as the crew typed them
    wind: Text | None = None
    sea: Text | None = None
    note: Text | None = None
    utc_offset_min: Annotated[int, Field(strict=True, ge=-900, le=900)] | None = None  # of the crew's clock


class EndTrip(ActionBase):
    """The trip is over: rods that are out are taken as in, and nothing is fishing time from then on."""

    kind: Literal["end"] = "end"


class Noted(ActionBase):
    """What a notebook says of a hit that no watch computed: as written down, not as measured."""

    kind: Literal["noted"] = "noted"
    of: Id
    depth_m: Number | None = Field(default=None, ge=0, le=500)
    line_out_m: Number | None = Field(default=None, ge=0, le=2000)
    setting: str | None = Field(default=None, min_length=1, max_length=40)
    lure: Name | None = None
    colour: Name | None = None
    temperature_c: Number | None = Field(default=None, ge=-2, le=40)  # at the surface
    bottom_m: Number | None = Field(default=None, ge=0, le=500)
    latitude_deg: Number | None = Field(default=None, ge=-90, le=90)
    longitude_deg: Number | None = Field(default=None, ge=-180, le=180)


class CurrentSaid(ActionBase):
    """The current of the surface water over ground, as the helm knows it; the one said last counts."""

    kind: Literal["current"] = "current"
    speed_m_s: Number = Field(ge=0, le=3)
    towards_deg: Number = Field(ge=0, le=360)  # true
