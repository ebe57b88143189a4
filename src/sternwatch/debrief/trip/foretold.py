"""What a console would have warned of on a trip of which no forecasts were kept, made afterwards from its recording.

The console makes them while it shows the recording, and keeps them in the cache. Here they are kept and found.
"""

from __future__ import annotations

import logging
import os
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from sternwatch import places
from sternwatch.debrief.trip.digest import basis
from sternwatch.debrief.trip.packing import event_lines, parse_events
from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.files import move
from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.store.trips import Event
from sternwatch.reading import UnreadableError, read_text

_log = logging.getLogger(__name__)

AFTERWARDS = "afterwards"  # of ``about["foretold"]``: made from the recording, seen by nobody on the trip
MOST_BYTES = 64 << 20


@dataclass(frozen=True, slots=True)
class KeptForetold:
    """The events of one recording, with a spread and a calibration, for any entries."""

    feed: Path
    spread_text: str
    calibration: str
    about: Mapping[str, Any]

    @classmethod
    def of(cls, data: TripData) -> KeptForetold | None:
        """Those of a trip; None where its recording is missing."""
        return None if data.feed is None else cls(data.feed, data.spread_text, data.calibration, data.about)

    def path(self, actions: Sequence[Action]) -> Path:
        """The file for these entries. Raises OSError where the recording cannot be read."""
        code = basis(self.feed, actions, self.spread_text, self.calibration, self.about)
        return places.cache_dir() / "foretold" / f"{code}.jsonl"

    def load(self, actions: Sequence[Action]) -> list[Event] | None:
        """None where they were not made, or cannot be read: then they are made again."""
        try:
            path = self.path(actions)
            return parse_events(read_text(path, MOST_BYTES), str(path)) if path.is_file() else None
        except (OSError, UnreadableError, TripError) as fault:
            _log.warning("%s", fault)
            return None

    def keep(self, actions: Sequence[Action], events: Sequence[Event]) -> None:
        """Keep all of them or, where the cache cannot be written, none."""
        try:
            path = self.path(actions)
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, unfinished = tempfile.mkstemp(dir=path.parent, suffix=".part")
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(event_lines(events))
            move(Path(unfinished), path)
        except OSError as fault:
            _log.warning("what was foretold is not kept: %s", fault)


def with_foretold(data: TripData) -> TripData:
    """The trip with what was made afterwards, where its own forecasts are not known and that is there."""
    kept = None if data.foretold else KeptForetold.of(data)
    events = None if kept is None else kept.load(data.actions)
    if events is None:
        return data
    return replace(data, events=(*data.events, *events), about={**data.about, "foretold": AFTERWARDS})


def awaited(data: TripData) -> Path | None:
    """Where the console will put what it makes from the trip's recording. None where that is there, or cannot be."""
    kept = KeptForetold.of(data)
    try:
        path = None if kept is None else kept.path(data.actions)
    except OSError:
        return None
    return None if path is None or path.exists() else path
