"""Actions about the whole trip, about lines put back or checked, and about hits from a notebook."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sternwatch.logbook.actions.base import ActionBase, Id, Moment, Number, RodAction

Name = Annotated[str, Field(min_length=1, max_length=40)]
Text = Annotated[str, Field(max_length=200)]
Count = Annotated[int, Field(strict=True, ge=0, le=1000)]


class PutBack(RodAction):
    """`r` again: the rod goes out as at the hit named. One entry holds length, setting and lead."""

    kind: Literal["put back"] = "put back"
    of: Id
    line_out_m: Number | None = Field(default=None, ge=0, le=2000)
    setting: str | None = Field(default=None, min_length=1, max_length=40)
    lead_m: Number | None = Field(default=None, gt=0, le=500)


class Checked(RodAction):
    """`k`: the crew looked at the line, and it is clean."""

    kind: Literal["checked"] = "checked"


class RanIn(ActionBase):
    """The boat ran too fast for lines to be out: these rods count as in since the speed rose."""

    kind: Literal["ran"] = "ran"
    keys: tuple[Annotated[str, Field(min_length=1, max_length=1)], ...] = Field(min_length=1)
    since: Moment
    since_elapsed_s: Number | None = None


class TripFacts(ActionBase):
    """The crew's facts about the trip. Facts left out keep their earlier values."""

    kind: Literal["trip"] = "trip"
    people: Annotated[int, Field(strict=True, ge=1, le=50)] | None = None
    target: tuple[Name, ...] | None = None  # the fish wanted
    limits: dict[Name, Count] | None = None  # the most that may be boxed by species, as the crew typed them
    wind: Text | None = None
    sea: Text | None = None
    note: Text | None = None
    utc_offset_min: Annotated[int, Field(strict=True, ge=-900, le=900)] | None = None  # offset of the crew's clock


class EndTrip(ActionBase):
    """The trip is over: rods that are out count as in, and fishing time ends."""

    kind: Literal["end"] = "end"


class Noted(ActionBase):
    """A notebook's facts about a hit that no watch computed: written down, not measured."""

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
    """The current of the surface water over ground, by the helm's knowledge. The newest entry counts."""

    kind: Literal["current"] = "current"
    speed_m_s: Number = Field(ge=0, le=3)
    towards_deg: Number = Field(ge=0, le=360)  # true
