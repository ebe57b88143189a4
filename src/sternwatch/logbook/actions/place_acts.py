"""Actions about places: those to find again or to keep clear of, and fish seen on the sounder."""

from __future__ import annotations

import sqlite3
from typing import Annotated, Literal, get_args

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from sternwatch.logbook.actions.base import ActionBase, Number

MarkKind = Literal["net", "snag", "bait", "break"]
DANGERS = ("net", "snag")  # marks that one keeps clear of
MARK_KINDS: tuple[MarkKind, ...] = get_args(MarkKind)

Latitude = Annotated[Number, Field(ge=-90, le=90)]
Longitude = Annotated[Number, Field(ge=-180, le=180)]


class _Placed(ActionBase):
    """A place: ``latitude_deg`` and ``longitude_deg``. Without both it is the boat's place at that moment."""

    latitude_deg: Latitude | None = None
    longitude_deg: Longitude | None = None

    @model_validator(mode="after")
    def _both(self) -> _Placed:
        if (self.latitude_deg is None) != (self.longitude_deg is None):
            raise PydanticCustomError("place", "both latitude_deg and longitude_deg, or neither")
        return self

    @property
    def place_deg(self) -> tuple[float, float] | None:
        """(latitude, longitude); None where the entry does not give them."""
        if self.latitude_deg is None or self.longitude_deg is None:
            return None
        return self.latitude_deg, self.longitude_deg


class Marked(_Placed):
    """`m`: this place, and what is there. A break is an edge of the bottom or of the temperature."""

    kind: Literal["mark"] = "mark"
    what: MarkKind


class FishSeen(_Placed):
    """`s`: fish on the sounder at a depth."""

    kind: Literal["fish seen"] = "fish seen"
    depth_m: Number = Field(ge=0, le=500)


def marks_before(connection: sqlite3.Connection, trip_id: str = "") -> tuple[Marked, ...]:
    """Marks with a place from all trips on the water except ``trip_id``, without undone ones, oldest first."""
    rows = connection.execute(
        "SELECT a.trip_no, a.kind, a.body FROM action a JOIN trip t ON a.trip_no = t.no "
        "WHERE t.session = 'live' AND t.id != ? AND a.kind IN ('mark', 'undo', 'restore') ORDER BY a.seq",
        (trip_id,),
    )
    found: dict[tuple[int, str], Marked] = {}
    undone: set[tuple[int, str]] = set()
    for trip, kind, body in rows:
        if kind == "mark":
            mark = Marked.model_validate_json(body)
            found[trip, mark.id] = mark
            continue
        of = _Of.model_validate_json(body).of
        (undone.add if kind == "undo" else undone.discard)((trip, of))
    return tuple(mark for key, mark in found.items() if key not in undone and mark.place_deg is not None)


class _Of(ActionBase):
    kind: str
    of: str
