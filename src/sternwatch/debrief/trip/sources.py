"""A trip to debrief from any source: the logbook, a packed file, loose files, the demo."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Literal

from sternwatch.answers.belief import calibration_file
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.debrief.clocks import clock_of
from sternwatch.debrief.counting.tally import exposure_rows, hit_values
from sternwatch.debrief.trip.digest import Digest, basis, from_body, make_digest
from sternwatch.feed.recording.reader import open_recording
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import Gear, RodDefaults, RodWord, UnknownGear
from sternwatch.logbook.store import samples as rows
from sternwatch.logbook.store.trips import Event, Trip, events, trip_no, trips
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.memory.hits import hit_row
from sternwatch.watch.picture.model import Session


class TripError(ValueError):
    """A trip cannot be used; the message says why in one sentence."""


@dataclass(frozen=True, slots=True)
class TripData:
    """A trip's two streams and their particulars. ``feed`` None: the recording is missing."""

    id: str
    begun: datetime
    spread_text: str
    actions: Sequence[Action]
    feed: Path | None
    start: RodWord = "in"
    ended: datetime | None = None
    session: str = "live"
    calibration: str = ""  # the text of the spread file
    about: Mapping[str, Any] = field(default_factory=dict)
    events: Sequence[Event] = ()
    practised: Mapping[str, Any] | None = None  # a practice session's result
    beside: Path | None = None  # the folder of the logbook, with loggers' series

    @property
    def spread(self) -> Spread:
        """The trip's spread, with the rods that took part. Raises SpreadError."""
        whole = parse_spread(self.spread_text, f"spread of {self.id}")
        part = self.about.get("rods")
        if not isinstance(part, list):
            return whole
        return whole.model_copy(update={"rod": tuple(rod for rod in whole.rods if rod.key in part)})

    @property
    def foretold(self) -> bool:
        """Whether alerts of what was forecast are kept; they cannot be made again from the two streams."""
        return self.about.get("foretold") is not False

    @property
    def learned(self) -> Calibration | None:
        """The calibration in force on the trip. Raises TripError where it cannot be read."""
        try:
            return calibration_file.parse(self.calibration, f"calibration of {self.id}") if self.calibration else None
        except calibration_file.CalibrationError as fault:
            raise TripError(str(fault)) from None

    def setup(
        self, spread: Spread | None = None, learned: Calibration | Literal["recorded"] | None = "recorded"
    ) -> Setup:
        """The watch's setup of the trip, or of the same trip with another spread or calibration (None: without)."""
        gear = spread if spread is not None else self.spread
        own = self.learned if learned == "recorded" else learned
        if own is not None:
            own, _ = calibration_file.for_spread(own, gear)
        setup = Setup(gear, Session.REPLAY, trip=self.id, start=self.start, calibration=own)
        pay_out = self.about.get("pay_out_m_s")
        return replace(setup, pay_out_m_s=float(pay_out)) if isinstance(pay_out, int | float) else setup

    @property
    def basis(self) -> str:
        """The code of all that its digest is made from; "rows" where only the watch's stored rows exist."""
        if self.feed is None:
            return "rows"
        return basis(self.feed, self.actions, self.spread_text, self.calibration, self.about)


def recording_of(trip: Trip, data_dir: Path) -> Path | None:
    """The path of a trip's feed; None where it is missing."""
    named = Path(trip.feed) if trip.feed else data_dir / "recordings" / f"{trip.id}.nmea"
    if not named.is_absolute():
        named = data_dir / named
    return next((p for p in (named, named.with_name(named.name + ".gz")) if p.is_file()), None)


def find_trip(known: Sequence[Trip], asked: str) -> Trip:
    """Find a trip by "last", its id, or the beginning of its id. Raises TripError."""
    sea = [trip for trip in known if trip.session in ("live", "notebook")]
    if not known:
        raise TripError("the logbook holds no trips yet")
    if asked == "last":
        if not sea:
            raise TripError("there is no trip on the water in the logbook yet")
        return sea[-1]
    found = [trip for trip in known if trip.id == asked] or [trip for trip in known if trip.id.startswith(asked)]
    if len(found) == 1:
        return found[0]
    newest = ", ".join(trip.id for trip in known[-3:])
    if found:
        raise TripError(
            f"{asked!r} fits {len(found)} trips ({', '.join(t.id for t in found[:3])} …): give more of it"
        )
    raise TripError(f"no trip {asked!r} in the logbook; accepted: last, or the beginning of an id ({newest} …)")


def from_logbook(connection: sqlite3.Connection, asked: str, data_dir: Path) -> TripData:
    """A trip of the logbook. Raises TripError, ActionError, sqlite3.Error."""
    from sternwatch.logbook.store.results import of_trip
    from sternwatch.logbook.store.trips import actions

    trip = find_trip(trips(connection), asked)
    return TripData(
        trip.id, trip.begun, trip.spread_text, actions(connection, trip.id), recording_of(trip, data_dir),
        trip.start, trip.ended, trip.session, trip.calibration, trip.about, events(connection, trip.id),
        of_trip(connection, trip.id), data_dir,
    )  # fmt: skip


def utc_offset_min(data: TripData, digest: Digest) -> int | None:
    """The crew's clock: by their word, else the computer's when the trip began; None where unknown."""
    return clock_of(data.about, digest.crew.facts.utc_offset_min).said_min


def digest_of(data: TripData, progress: Callable[[float], None] = lambda _: None) -> Digest:
    """Compute a trip. Raises FeedError, SpreadError, TripError."""
    if data.feed is None:
        return _without_feed(data)
    with open_recording(data.feed) as recording:
        return make_digest(recording, data.setup(), data.actions, progress)


def _gear(data: TripData) -> Gear:
    """The spread's rods; without a spread those named in the notebook."""
    if data.spread_text:
        return Rigging.of(data.spread)
    return UnknownGear(tuple(RodDefaults(k) for k in sorted({a.rod for a in data.actions if a.rod is not None})))


def _without_feed(data: TripData) -> Digest:
    """The digest of a trip without a feed: hits as entered, with nothing known of their moments."""
    crew = fold(data.actions, _gear(data), data.start)
    hits = [hit_row(hit, None) for hit in crew.hits if hit.rod is not None]
    return Digest((), tuple(sorted(hits, key=lambda h: (h.time_ms, h.id))), (), (), crew, 0.0, None)


def kept_digest(connection: sqlite3.Connection, data: TripData) -> Digest | None:
    """The logbook's digest of a trip, if it was made from exactly these streams."""
    number = trip_no(connection, data.id)
    if number is None:
        return None
    row = connection.execute("SELECT basis, body FROM digest WHERE trip_no = ?", (number,)).fetchone()
    if row is None and data.feed is None:
        return _from_rows(connection, number, data)
    if row is None or row[0] != data.basis:
        return None
    body = json.loads(row[1])
    generated = body.pop("entries", [])
    from sternwatch.logbook.actions.kinds import parse

    own = [parse(entry) for entry in generated]
    crew = fold(_merged(data.actions, own), _gear(data), data.start)
    return from_body(
        json.dumps(body), rows.samples_of(connection, number), rows.hits_of(connection, number), crew
    )  # fmt: skip


def _from_rows(connection: sqlite3.Connection, number: int, data: TripData) -> Digest | None:
    """The digest from the rows that the watch stored, for a trip whose recording is gone."""
    samples = rows.samples_of(connection, number)
    if not samples:
        return None
    made = _without_feed(data)
    kept = {hit.id: hit for hit in rows.hits_of(connection, number)}
    hits = tuple(kept.get(hit.id, hit) for hit in made.hits)
    return Digest(tuple(samples), hits, (), (), made.crew, samples[-1].boat.at_s, None)


def _merged(actions: Sequence[Action], own: Sequence[Action]) -> list[Action]:
    """The crew's and the watch's own entries, in order of their moments."""
    known = {action.id for action in actions}
    merged = list(actions)
    for entry in own:
        if entry.id in known:
            continue
        at = next((i for i, action in enumerate(merged) if action.time > entry.time), len(merged))
        merged.insert(at, entry)
    return merged


def keep(connection: sqlite3.Connection, data: TripData, digest: Digest, made_ms: int) -> None:
    """Write a digest with its rows and rollup in the open transaction. It replaces an older one."""
    number = trip_no(connection, data.id)
    if number is None:
        raise TripError(f"trip {data.id} is not in the logbook")
    rows.forget(connection, number)
    rows.keep_samples(connection, number, digest.samples)
    offset = utc_offset_min(data, digest) or 0
    for hit in digest.hits:
        rows.keep_hit(connection, number, hit, hit_values(hit, offset))
    exposure = [
        (factor, value, rig, cell, seconds)
        for (factor, value, rig, cell), seconds in exposure_rows(digest.samples, offset).items()
    ]
    rows.keep_exposure(connection, number, exposure)
    from sternwatch.logbook.actions.kinds import dump

    known = {action.id for action in data.actions}
    body = json.loads(digest.body())
    body["entries"] = [dump(action) for action in digest.crew.entries.values() if action.id not in known]
    connection.execute(
        "INSERT INTO digest VALUES (?, ?, ?, ?)",
        (number, data.basis, made_ms, json.dumps(body, ensure_ascii=False, sort_keys=True)),
    )


def now_ms() -> int:
    """The present moment in whole milliseconds of Unix time."""
    return round(datetime.now(UTC).timestamp() * 1000)
