"""Opening the console for a session: the runner behind it, the preferences, the log."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from sternwatch.cli.exits import Exit, InputError

if TYPE_CHECKING:
    from sternwatch.config import Preferences
    from sternwatch.feed.specs import FeedSetup
    from sternwatch.gear.spread import Spread
    from sternwatch.logbook.actions import Action
    from sternwatch.logbook.store import Logbook
    from sternwatch.watch.engine import Setup
    from sternwatch.watch.picture import Session
    from sternwatch.watch.runner import Runner


@dataclass(frozen=True, slots=True)
class Screen:
    """What is to be shown: makes the runner once the preferences are known."""

    make_runner: Callable[[Preferences], Runner]

    @classmethod
    def demo(cls, feed: Path, spread: Spread, actions: list[Action], *, begin_s: float, rate: float) -> Screen:
        """The demo: entries last as long as the session."""
        from sternwatch.logbook.store import Logbook
        from sternwatch.watch.picture import Session

        return cls(
            lambda preferences: _playback(
                Session.DEMO, feed, spread, actions, Logbook(None), "demo", preferences, begin_s, rate
            )
        )

    @classmethod
    def live(cls, path: Path, spread: Spread, feed: FeedSetup, *, new: bool) -> Screen:
        """On the water: the open trip is taken up again unless a new one is asked for."""
        return cls(lambda preferences: _live(path, spread, feed, preferences, new=new))

    @classmethod
    def replay(cls, feed: Path, spread: Spread, actions: list[Action], *, rate: float) -> Screen:
        """A recording: entries made while watching it are kept under the recording's own digest."""
        from sternwatch.logbook.lock import LogbookBusyError
        from sternwatch.logbook.store import Logbook, LogbookError
        from sternwatch.places import data_dir
        from sternwatch.watch.picture import Session

        def make(preferences: Preferences) -> Runner:
            name = _digest(feed)
            try:
                logbook = Logbook(data_dir() / "replays" / f"{name}.sqlite")
                earlier = logbook.actions(name)
            except (LogbookBusyError, LogbookError) as fault:
                raise InputError(str(fault)) from fault
            known = {action.id for action in actions}
            merged = [*actions, *(action for action in earlier if action.id not in known)]
            return _playback(Session.REPLAY, feed, spread, merged, logbook, name, preferences, 0.0, rate)

        return cls(make)


# A trip left open longer than this is over: its crew has slept since.
TRIP_LASTS_S = 18 * 3600.0


def _live(path: Path, spread: Spread, feed: FeedSetup, preferences: Preferences, *, new: bool) -> Runner:
    from datetime import UTC, datetime

    from sternwatch.feed.feedclock import FeedClock
    from sternwatch.feed.hub import Hub
    from sternwatch.feed.recorder import Recorder
    from sternwatch.logbook.lock import LogbookBusyError
    from sternwatch.logbook.store import Logbook, LogbookError
    from sternwatch.logbook.trips import new_trip
    from sternwatch.places import data_dir
    from sternwatch.watch.live import Live
    from sternwatch.watch.picture import Session

    now = datetime.now(UTC)
    try:
        logbook = Logbook(data_dir() / "logbook.sqlite")
    except LogbookBusyError as fault:
        raise InputError(str(fault)) from fault
    try:
        trip = logbook.open_trip()
        if trip is not None and (new or (now - trip.begun).total_seconds() > TRIP_LASTS_S):
            logbook.end_trip(trip.id, now)
            trip = None
        actions = logbook.actions(trip.id) if trip is not None else []
    except LogbookError:
        # The console must come up all the same: what ails the file stands as an alarm, entries are kept aside.
        trip, actions = None, []
    if trip is None:
        trip = new_trip(now, spread_name=spread.boat.name, spread_text=path.read_text(encoding="utf-8"))
        logbook.begin_trip(trip)
    recording = data_dir() / "recordings" / f"{trip.id}.nmea"
    clock = FeedClock.resume(recording)
    recording.parent.mkdir(parents=True, exist_ok=True)
    hub = Hub(feed.sources(), recorder=Recorder(recording, feed.declared), clock=clock)
    name = trip.id

    def make_setup() -> Setup:
        from sternwatch.watch.engine import Setup

        return Setup(spread, Session.LIVE, trip=name, start="in", unit=_unit(preferences))

    return Live(hub, feed, make_setup, logbook, trip.id, actions)


def _unit(preferences: Preferences) -> Literal["ft", "m"]:
    return "ft" if preferences.system.length == "ft" else "m"


def _digest(path: Path) -> str:
    """A name for a recording that stays with its content, wherever the file is moved."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()[:20]


def _playback(
    session: Session,
    feed: Path,
    spread: Spread,
    actions: list[Action],
    logbook: Logbook,
    trip: str,
    preferences: Preferences,
    begin_s: float,
    rate: float,
) -> Runner:
    from datetime import UTC, datetime

    from sternwatch.feed.recording import open_recording
    from sternwatch.logbook.fold import start_state
    from sternwatch.logbook.trips import Trip
    from sternwatch.watch.playback import Playback

    def make_setup() -> Setup:
        from sternwatch.watch.engine import Setup

        return Setup(spread, session, trip=feed.name, start=start_state(actions), unit=_unit(preferences))

    logbook.begin_trip(Trip(trip, datetime.now(UTC), session=session.value, spread_name=spread.boat.name))
    return Playback(
        session, lambda: open_recording(feed), make_setup, actions, logbook, trip, begin_s=begin_s, rate=rate
    )


def show(screen: Screen) -> int:
    """Run the console until it is left."""
    from sternwatch.config import NAME, ConfigError, load_preferences
    from sternwatch.console import keymap
    from sternwatch.places import config_dir

    try:
        preferences = load_preferences()
        keymap.build(preferences.keys, f"{config_dir() / NAME}: keys")  # refused before anything is opened
    except ConfigError as fault:
        raise InputError(str(fault)) from fault
    runner = screen.make_runner(preferences)
    from sternwatch.console.app import SternwatchApp

    SternwatchApp(runner, preferences).run_session()
    return Exit.DONE
