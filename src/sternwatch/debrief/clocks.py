"""The boat's clock on a past trip."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping

from sternwatch.local_time import BoatTime
from sternwatch.logbook.actions.kinds import ActionError
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.store.trips import actions


def clock_of(about: Mapping[str, object], said_min: int | None = None, *, utc: bool = False) -> BoatTime:
    """The boat's clock on a trip: by the crew's word, else the one at the trip's beginning, else this computer's."""
    kept = about.get("utc_offset_min")
    if said_min is None and isinstance(kept, int):
        said_min = kept
    return BoatTime(said_min, utc)


def said_clock(connection: sqlite3.Connection, trip_id: str) -> int | None:
    """The crew's own word for their clock [min east of UTC]; None without one. Raises sqlite3.Error."""
    told = connection.execute(
        "SELECT 1 FROM action JOIN trip ON trip_no = no WHERE trip.id = ? AND kind = 'trip' "
        "AND body LIKE '%utc_offset_min%' LIMIT 1", (trip_id,)
    )  # fmt: skip
    if told.fetchone() is None:
        return None
    try:
        return fold(actions(connection, trip_id), ()).facts.utc_offset_min
    except ActionError:
        return None  # the logbook's check tells of it
