"""Shows a past trip on the screen: its debrief, and its recording to play beside it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from sternwatch.cli.common.exits import InputError

if TYPE_CHECKING:
    from sternwatch.cli.common.books import Book
    from sternwatch.cli.common.session import Screen
    from sternwatch.config import Preferences
    from sternwatch.debrief.report.so_far import Whole
    from sternwatch.debrief.trip.digest import Digest
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.sessions.runner import Runner


def past_screen(
    data: TripData,
    book: Book | None,
    *,
    again: bool = False,
    other: Callable[[TripData], Digest] | None = None,
    other_name: str = "",
) -> Screen:
    """The screen of a past trip. Entries made on it belong to the trip.

    ``book`` None: the demo, whose entries last as long as the session. ``other`` computes the same trip with another
    spread or calibration.
    """
    from sternwatch.cli.common.session import Screen

    feed = data.feed
    if feed is None:
        raise InputError(
            f"the recording of {data.id} is not there, and the screen plays it: leave out --screen for what is known"
        )
    writer = book.need_writer("the screen of a past trip") if book is not None else None

    def make_runner(preferences: Preferences) -> Runner:
        from sternwatch.debrief.trip.foretold import KeptForetold
        from sternwatch.feed.recording.reader import open_recording
        from sternwatch.logbook.store.logbook import Logbook
        from sternwatch.watch.alerts.rules import FORECAST
        from sternwatch.watch.picture.model import Session
        from sternwatch.watch.sessions.playback import Playback

        zone = preferences.zone_wanted
        session = Session.DEMO if book is None else Session.REPLAY

        def make_setup() -> Setup:
            return replace(
                data.setup(), session=session, units=preferences.system,
                zone_c=None if zone is None else (zone.low_c, zone.high_c),
                zone_name="" if zone is None else zone.name, zone_source="" if zone is None else zone.source,
            )  # fmt: skip

        logbook = writer if writer is not None else Logbook(None)
        return Playback(
            session, lambda: open_recording(feed), make_setup, list(data.actions), logbook, data.id,
            foretold=None if data.foretold else KeptForetold.of(data),
            warned=[event for event in data.events if event.id.startswith(FORECAST)],
        )  # fmt: skip

    def whole(progress: Callable[[float], None]) -> Whole:
        from contextlib import closing

        from sternwatch.cli.common.books import Book, worked_through
        from sternwatch.debrief.report.so_far import Whole
        from sternwatch.logbook.store.trips import open_read_only

        if book is None:
            digest = worked_through(data, None, progress=progress)
        else:
            with closing(open_read_only(book.path)) as reader:  # only the thread that opened a connection may use it
                digest = worked_through(data, Book(book.path, reader, writer), again=again, progress=progress)
        return Whole(data, digest, other(data) if other is not None else None, other_name)

    return Screen(make_runner, whole)
