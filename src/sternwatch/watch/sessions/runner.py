"""How a screen or a script meets a running session, whatever feeds it: live, demo, replay or practice.

A runner owns its threads. It calls back from them, so a screen must only post messages from the callbacks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, Protocol

from sternwatch.feed.sensors.board import SensorEntry
from sternwatch.feed.sentences.accounts import SourceReport
from sternwatch.feed.sources.base import SourceStatus
from sternwatch.logbook.actions.kinds import Action
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


# At which a recording can be played, feed seconds per second.
RATES = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0)


@dataclass(frozen=True, slots=True)
class Saved:
    """What became of a submitted action: kept (``action``) and where, or not at all (``error``, one sentence).

    In the ``logbook`` and ``aside`` (in the journal beside it) it is on the disk; in ``memory`` it is not yet.
    """

    id: str
    action: Action | None
    error: str = ""
    kept: Literal["logbook", "aside", "memory", "refused"] = "logbook"


@dataclass(frozen=True, slots=True)
class Senses:
    """What every source says and what is made of it: the crew's way to find out why there is no depth."""

    t_s: float
    entries: tuple[SensorEntry, ...] = ()  # every quantity of every speaker
    reports: tuple[SourceReport, ...] = ()  # every source's account: accepted, rejected by cause, the last offender
    statuses: tuple[SourceStatus, ...] = ()  # what every live source is doing; empty in a replay


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the timeline of a replay."""

    t_s: float
    kind: str  # hit | turn | alert | note | splice
    label: str


@dataclass(frozen=True, slots=True)
class ReplayStatus:
    """Where a replay stands."""

    t_s: float
    span_s: tuple[float, float]
    playing: bool
    rate: float
    reached_s: float  # how far the background pass has got: any moment before it is at hand
    marks: tuple[Mark, ...]
    timing: str  # where the timing came from, in words
    utc_offset_s: float | None  # feed time + this = Unix time, if the feed has a clock


class ReplayControl(Protocol):
    """What only a recorded feed can do."""

    def status(self) -> ReplayStatus: ...
    def play(self, playing: bool) -> None: ...
    def set_rate(self, rate: float) -> None: ...
    def seek(self, t_s: float) -> None: ...
    def step(self, seconds: float) -> None: ...


@dataclass(frozen=True, slots=True)
class Anew:
    """A trip that begins while the session runs: stored as begun, and what its watch is made from."""

    trip_id: str
    recording: Path
    make_setup: Callable[[], Setup]


class TripControl(Protocol):
    """What only a session on the water can do: go on from one trip to the next."""

    def begin(self) -> None:
        """End the trip, unless it is, and begin another; pictures of it follow. Never blocks."""
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
        """As of the newest picture; cheap to ask."""
        ...

    def findings(self) -> Checked | None:
        """The newest check of the spread as the rods are now, None before the first is made; cheap to ask."""
        ...

    @property
    def knowing(self) -> Knowing | None:
        """What tells how sure depths are and why; None until the solver is ready."""
        ...

    @property
    def again(self) -> Following | None:
        """What brings a lure through a place once more; None until the solver is ready."""
        ...

    @property
    def passing(self) -> Passing | None:
        """What plans a whole pass; None until the solver is ready."""
        ...

    def outlook(self) -> Outlook | None:
        """The newest forecast, with its feed time and the alerts it raises; None before the first; cheap to ask."""
        ...

    def plan(self, manoeuvre: Manoeuvre | None) -> None:
        """What the helm thinks of doing: outlooks include it from now on. None drops it."""
        ...

    @property
    def replay(self) -> ReplayControl | None: ...

    @property
    def trips(self) -> TripControl | None: ...

    @property
    def busy(self) -> str:
        """What the session is preparing, in words for the screen; empty when it runs."""
        ...
