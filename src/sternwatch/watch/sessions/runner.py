"""The interface of a running session for screens and scripts: live, demo, replay or practice.

A runner owns its threads. Callbacks run on them, so in callbacks a screen must only post messages.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, Protocol

from sternwatch.feed.sensors.board import SensorEntry
from sternwatch.feed.sentences.accounts import SourceReport
from sternwatch.feed.sources.base import SourceStatus
from sternwatch.logbook.actions.kinds import Action
from sternwatch.quickly import quickly_made
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.planner.check import Checked
from sternwatch.watch.sessions.how_sure import Knowing

if TYPE_CHECKING:
    from pathlib import Path

    from sternwatch.watch.again.following import Following
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.picture.manoeuvre import Manoeuvre
    from sternwatch.watch.picture.outlook import Outlook
    from sternwatch.watch.whole_pass.following import Passing


# Rates of playing a recording, feed seconds per second.
RATES = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)


@dataclass(frozen=True, slots=True)
class Saved:
    """The outcome of a submitted action: kept (``action``) and where, or not kept (``error``, one sentence).

    In the ``logbook`` or ``aside`` (in the journal beside it) it is on the disk; in ``memory`` it is not yet.
    """

    id: str
    action: Action | None
    error: str = ""
    kept: Literal["logbook", "aside", "memory", "refused"] = "logbook"


@quickly_made
@dataclass(frozen=True, slots=True)
class Senses:
    """What every source sends and how it is used. It lets the crew find out why there is no depth."""

    t_s: float = 0.0
    entries: tuple[SensorEntry, ...] = ()  # every quantity of every source
    reports: tuple[SourceReport, ...] = ()  # every source's account: accepted, rejected by cause, the last offender
    statuses: tuple[SourceStatus, ...] = ()  # state of every live source; empty in a replay


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the timeline of a replay."""

    t_s: float
    kind: str  # hit | turn | alert | note | splice
    label: str


@dataclass(frozen=True, slots=True)
class ReplayStatus:
    """The state of a replay."""

    t_s: float
    span_s: tuple[float, float]
    playing: bool
    rate: float
    reached_s: float  # progress of the background pass: any moment before it is ready
    marks: tuple[Mark, ...]
    timing: str  # source of the timing, in words
    utc_offset_s: float | None  # feed time + this = Unix time, if the feed has a clock
    manages: float | None = None  # the rate that this computer reaches, where it cannot reach the wanted one
    going_to_s: float | None = None  # a moment that was asked for and is not reached yet
    since_s: float = 0.0  # the picture knows nothing of what was fished before this, until all of that is read


class ReplayControl(Protocol):
    """Controls that only a recorded feed has."""

    def status(self) -> ReplayStatus: ...
    def play(self, playing: bool) -> None: ...
    def set_rate(self, rate: float) -> None: ...
    def seek(self, t_s: float) -> None: ...
    def step(self, seconds: float) -> None: ...


@dataclass(frozen=True, slots=True)
class Anew:
    """A trip that begins while the session runs: already stored, with what its watch needs."""

    trip_id: str
    recording: Path
    make_setup: Callable[[], Setup]


class TripControl(Protocol):
    """Controls that only a session on the water has: going on from one trip to the next."""

    def begin(self) -> None:
        """End the trip if it has not ended, and begin another. Its pictures follow. Never blocks."""
        ...


class Runner(Protocol):
    """A running session."""

    session: Session

    def start(self, on_picture: Callable[[Picture], None], on_saved: Callable[[Saved], None]) -> None: ...
    def stop(self) -> None: ...

    def submit(self, kind: str, rod: str | None = None, **fields: Any) -> str:
        """Stamp an action with this moment, queue it for storing, and return its id at once.

        Never blocks on the disk. The outcome arrives at ``on_saved``; pictures show it afterwards.
        """
        ...

    def senses(self) -> Senses:
        """The sources as of the newest picture; cheap to read."""
        ...

    def findings(self) -> Checked | None:
        """The newest check of the spread, with the rods as they are now. None before the first; cheap to read."""
        ...

    @property
    def knowing(self) -> Knowing | None:
        """Answers on how sure depths are, and why. None until the solver is ready."""
        ...

    @property
    def again(self) -> Following | None:
        """Plans to bring a lure through a place again. None until the solver is ready."""
        ...

    @property
    def passing(self) -> Passing | None:
        """Plans of a whole pass. None until the solver is ready."""
        ...

    def outlook(self) -> Outlook | None:
        """The newest outlook, with its feed time and its alerts. None before the first; cheap to read."""
        ...

    def plan(self, manoeuvre: Manoeuvre | None) -> None:
        """Set the helm's plan: outlooks include it from now on. None drops it."""
        ...

    @property
    def replay(self) -> ReplayControl | None: ...

    @property
    def trips(self) -> TripControl | None: ...

    @property
    def busy(self) -> str:
        """What the session is preparing, in words for the screen. Empty when it runs."""
        ...
