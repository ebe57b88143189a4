"""Opens the console for a session: the runner behind it, the preferences, the log."""

from __future__ import annotations

import hashlib
import logging
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.feed.readings import SENTENCES, Speech

if TYPE_CHECKING:
    from sternwatch.answers.belief.calibration import Calibration
    from sternwatch.cli.common.boat import Boat
    from sternwatch.cli.common.deck import DeckWish
    from sternwatch.config import Preferences
    from sternwatch.console.controls.tour import Stop
    from sternwatch.debrief.report.so_far import WorkThrough
    from sternwatch.feed.sources.specs import FeedSetup
    from sternwatch.gear.spread_file.models import Spread
    from sternwatch.logbook.actions.kinds import Action
    from sternwatch.logbook.actions.place_acts import Marked
    from sternwatch.logbook.crew.state import RodWord
    from sternwatch.logbook.store.logbook import Logbook
    from sternwatch.logbook.store.soundings import Charted
    from sternwatch.logbook.store.trips import Trip
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.picture.model import Session
    from sternwatch.watch.sessions.foretelling import Kept
    from sternwatch.watch.sessions.runner import Runner


@dataclass(frozen=True, slots=True)
class Play:
    """A recorded feed to show, and how."""

    feed: Path
    spread: Spread
    actions: list[Action]
    speech: Speech = SENTENCES  # the feed's tongue, unless the recording says it
    begin_s: float = 0.0
    run_up_s: float | None = None  # how much before that moment is played to get there; None: all
    rate: float = 1.0
    unchecked: bool = False  # ignore checksums
    learned: Calibration | None = None


@dataclass(frozen=True, slots=True)
class Screen:
    """What to show. It makes the runner once the preferences are known.

    ``whole``: computes a past trip, whose debrief is shown first.
    """

    make_runner: Callable[[Preferences], Runner]
    whole: WorkThrough | None = None
    tour: tuple[Stop, ...] = ()

    @classmethod
    def demo(cls, play: Play, tour: tuple[Stop, ...]) -> Screen:
        """The demo. Its entries last as long as the session. ``tour``: what it says about itself on the way."""
        from sternwatch.logbook.store.logbook import Logbook
        from sternwatch.watch.picture.model import Session

        return cls(lambda preferences: _playback(Session.DEMO, play, Logbook(None), "demo", preferences), tour=tour)

    @classmethod
    def live(cls, boat: Boat, feed: FeedSetup, *, new: bool, learned: Calibration | None = None) -> Screen:
        """A session on the water. It resumes the open trip, with its calibration, unless a new trip is asked for."""
        return cls(lambda preferences: _live(boat, feed, preferences, new=new, learned=learned))

    @classmethod
    def replay(cls, play: Play) -> Screen:
        """A replay. Entries made meanwhile are stored under the recording's digest."""
        from sternwatch.logbook.actions.kinds import ActionError
        from sternwatch.logbook.store.lock import LogbookBusyError
        from sternwatch.logbook.store.logbook import Logbook, LogbookError
        from sternwatch.places import data_dir
        from sternwatch.watch.picture.model import Session

        def make(preferences: Preferences) -> Runner:
            name = _digest(play.feed)
            try:
                logbook = Logbook(data_dir() / "replays" / f"{name}.sqlite")
            except LogbookBusyError as fault:
                raise InputError(str(fault)) from fault
            try:
                earlier = logbook.actions(name)
            except (LogbookError, ActionError):
                earlier = []  # an alarm shows the logbook's fault
            known = {action.id for action in play.actions}
            merged = [*play.actions, *(action for action in earlier if action.id not in known)]
            return _playback(Session.REPLAY, replace(play, actions=merged), logbook, name, preferences)

        return cls(make)


# A trip left open for longer than this is over: its crew has slept since.
TRIP_LASTS_S = 18 * 3600.0


def _live(boat: Boat, feed: FeedSetup, preferences: Preferences, *, new: bool, learned: Calibration | None) -> Runner:
    from sternwatch.answers.belief import calibration_file
    from sternwatch.feed.recording.feed_clock import FeedClock
    from sternwatch.feed.recording.recorder import Recorder
    from sternwatch.feed.sources.hub import Hub
    from sternwatch.logbook.actions.kinds import ActionError
    from sternwatch.logbook.actions.place_acts import marks_before
    from sternwatch.logbook.store.lock import LogbookBusyError
    from sternwatch.logbook.store.logbook import Logbook, LogbookError
    from sternwatch.logbook.store.soundings import charted
    from sternwatch.logbook.store.trips import new_trip
    from sternwatch.places import data_dir
    from sternwatch.watch.grids.store import charts_for
    from sternwatch.watch.picture.model import Session
    from sternwatch.watch.sessions.live import Live
    from sternwatch.watch.sessions.power import Laptop
    from sternwatch.watch.sessions.runner import Anew

    def fresh(begun: datetime) -> Trip:
        offset = begun.astimezone().utcoffset()
        trip = new_trip(
            begun,
            spread_name=spread.boat.name,
            spread_text=boat.text,
            calibration="" if learned is None else calibration_file.text_of(learned),
            # A debrief on another machine needs these for the same depths and times of day.
            about={
                "pay_out_m_s": preferences.let_out_m_s,
                "utc_offset_min": round(offset.total_seconds() / 60) if offset is not None else 0,
            },
        )
        logbook.begin_trip(trip)
        return trip

    def charts(trip_id: str) -> tuple[tuple[Charted, ...], tuple[Marked, ...]]:
        """The soundings and marks of earlier trips."""
        return logbook.ask(charted), logbook.ask(lambda c: marks_before(c, trip_id))

    def setup_of(trip: Trip, sounded: tuple[Charted, ...], marked: tuple[Marked, ...]) -> Setup:
        setup = replace(
            _setup(spread, Session.LIVE, trip.id, "in", preferences),
            charted=sounded, marked=marked, grids=tuple(charts_for(Session.LIVE)),
            calibration=_calibration(trip, spread),
        )  # fmt: skip
        pay_out = trip.about.get("pay_out_m_s")  # a resumed trip keeps the values of its beginning
        return replace(setup, pay_out_m_s=float(pay_out)) if isinstance(pay_out, int | float) else setup

    def recording_of(trip: Trip) -> Path:
        return data_dir() / "recordings" / f"{trip.id}.nmea"

    def another() -> Anew:
        trip = fresh(datetime.now(UTC))
        try:
            found = charts(trip.id)
        except LogbookError:
            found = (), ()
        return Anew(trip.id, recording_of(trip), lambda: setup_of(trip, *found))

    now, spread = datetime.now(UTC), boat.spread
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
        told = logbook.events(trip.id) if trip is not None else []
        sounded, marked = charts(trip.id if trip is not None else "")
    except (LogbookError, ActionError):
        # The console must open in any case: an alarm shows the logbook's fault, and entries are kept aside.
        trip, actions, told, sounded, marked = None, [], [], (), ()
    taken_up = trip if trip is not None else fresh(now)
    recording = recording_of(taken_up)
    clock = FeedClock.resume(recording, max((one.elapsed_s or 0.0 for one in (*actions, *told)), default=0.0))
    hub = Hub(feed.sources(), recorder=Recorder(recording, feed.declared), clock=clock)
    return Live(
        hub, feed, lambda: setup_of(taken_up, sounded, marked), logbook, taken_up.id, actions, Laptop(), another,
        boat.instead,
    )  # fmt: skip


def _calibration(trip: Trip, spread: Spread) -> Calibration | None:
    """The calibration that a trip began with, as far as it holds for the present spread; none if unreadable."""
    from sternwatch.answers.belief import calibration_file

    try:
        own = calibration_file.parse(trip.calibration, f"calibration of {trip.id}") if trip.calibration else None
    except calibration_file.CalibrationError as fault:
        logging.getLogger(__name__).warning("%s", fault)
        return None
    return None if own is None else calibration_file.for_spread(own, spread)[0]


def _setup(spread: Spread, session: Session, trip: str, start: RodWord, preferences: Preferences) -> Setup:
    """The watch's setup by the user's preferences. The demo's crew has its own zone unless the user has one."""
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.picture.model import Session
    from sternwatch.water.zones import Zone

    zone = preferences.zone_wanted
    if zone is None and session is Session.DEMO:
        zone = Zone("coho", 8.3, 13.3, "invented, as the evening is")
    return Setup(
        spread,
        session,
        trip=trip,
        start=start,
        pay_out_m_s=preferences.let_out_m_s,
        zone_c=None if zone is None else (zone.low_c, zone.high_c),
        zone_name="" if zone is None else zone.name,
        zone_source="" if zone is None else zone.source,
        units=preferences.system,
        risk=preferences.risk,
    )


def _digest(path: Path) -> str:
    """A name for a recording that depends on its content alone, wherever the file moves."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    return digest.hexdigest()[:20]


def _playback(session: Session, play: Play, logbook: Logbook, trip: str, preferences: Preferences) -> Runner:
    from sternwatch.feed.recording.reader import open_recording
    from sternwatch.logbook.crew.fold import start_state
    from sternwatch.logbook.store.trips import Trip
    from sternwatch.watch.picture.model import Session
    from sternwatch.watch.sessions.playback import Playback

    def make_setup() -> Setup:
        made = _setup(play.spread, session, play.feed.name, start_state(play.actions), preferences)
        return replace(made, calibration=play.learned)

    logbook.begin_trip(Trip(trip, datetime.now(UTC), session=session.value, spread_name=play.spread.boat.name))
    return Playback(
        session, lambda: open_recording(play.feed, speech=play.speech), make_setup, play.actions, logbook, trip,
        begin_s=play.begin_s, run_up_s=play.run_up_s, rate=play.rate, unchecked=play.unchecked,
        foretold=_foretold(play, preferences) if session is Session.REPLAY else None,
    )  # fmt: skip


def _foretold(play: Play, preferences: Preferences) -> Kept:
    """Where the forecasts over a replayed recording are kept: under all that they depend on."""
    from sternwatch.answers.belief import calibration_file
    from sternwatch.debrief.trip.foretold import KeptForetold

    about = {"speech": repr(play.speech), "unchecked": play.unchecked, "pay_out_m_s": preferences.let_out_m_s}
    learned = "" if play.learned is None else calibration_file.text_of(play.learned)
    return KeptForetold(play.feed, play.spread.model_dump_json(), learned, about)


def preferences() -> Preferences:
    """The user's preferences. Their faults become the command's."""
    from sternwatch.config import NAME, ConfigError, load_preferences
    from sternwatch.console.keys import keymap
    from sternwatch.places import config_dir

    try:
        found = load_preferences()
        keymap.check(found, str(config_dir() / NAME))
    except ConfigError as fault:
        raise InputError(str(fault)) from fault
    return found


def forgiving_preferences() -> tuple[Preferences, tuple[str, ...]]:
    """The user's preferences for a session, and their faults. A faulty one gets its default.

    All get their defaults where the file cannot be read.
    """
    from sternwatch.config import ConfigError, Preferences, forgiving, read_preferences
    from sternwatch.console.keys import keymap

    try:
        given, where = read_preferences()
    except ConfigError as fault:
        return Preferences(), (f"{fault}; the defaults stand",)
    found, said = forgiving(given, where)
    try:
        keymap.check(found, where)
    except ConfigError as fault:
        return found.model_copy(update={"keys": {}}), (*said, f"{fault}; the default keys stand")
    return found, said


def show(screen: Screen, deck: DeckWish | None = None) -> int:
    """Run the console until the user leaves it, with a page for the deck where the user wishes it."""
    terminal.need()
    chosen, faults = forgiving_preferences()
    for fault in faults:
        print(fault, file=sys.stderr)
    page = None if deck is None else deck.begin()
    try:
        runner = screen.make_runner(chosen)
        from sternwatch.cli.common.unexpected import logged
        from sternwatch.console.app import SternwatchApp
        from sternwatch.console.controls.controls import Tone
        from sternwatch.console.frame.terminal_gone import ends_with_terminal

        app = SternwatchApp(runner, chosen, screen.whole, page)
        app.controls.tour = screen.tour
        for fault in faults:
            app.controls.say(fault, app.clock(), Tone.ERROR)
        with logged(), ends_with_terminal(app):
            app.run_session()
    finally:
        if page is not None:
            page.stop()
    return Exit.DONE
