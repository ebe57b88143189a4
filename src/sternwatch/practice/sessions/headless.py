"""A practice session without a screen or wall time. World and watch are the usual ones; a script steers."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final, Protocol

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.practice.drills.faults import SensorFault
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.sessions.crew_view import Shown, shown_of
from sternwatch.practice.sessions.kept import Kept
from sternwatch.practice.sessions.result import result_of
from sternwatch.practice.world.believed import Believed
from sternwatch.practice.world.instruments import ORIGIN_DEG
from sternwatch.practice.world.sounded import sounded
from sternwatch.practice.world.world import World
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.intake import Intake
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, Session

STEP_S: Final = 1.0
# An invented morning: so the same session gives the same bytes on any day.
BEGIN: Final = datetime(2025, 7, 19, 11, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Order:
    """An action to do now, without its id and time."""

    kind: str
    rod: str | None
    fields: dict[str, Any]


def order(kind: str, rod: str | None = None, **fields: Any) -> Order:
    """A short way to make an order."""
    return Order(kind, rod, fields)


@dataclass(frozen=True, slots=True)
class View:
    """What somebody at the helm sees, which is not the truth."""

    t_s: float
    drill_s: float
    picture: Picture
    shown: Shown
    watch: Watch  # only for asking the outlook; the helmsman must not change it
    place_m: tuple[float, float] | None  # (north, east) of the antenna from the start, by the receiver


class Helmsman(Protocol):
    """A helmsman sees the console, feels the boat, and acts."""

    def acts(self, view: View) -> Sequence[Order]: ...


class Run:
    """One headless session, a second at a time."""

    def __init__(
        self,
        file: DrillFile,
        spread: Spread,
        seed: int,
        *,
        begin: datetime = BEGIN,
        faults: Iterable[SensorFault] = (),
        actions: Iterable[Action] = (),
        members: int = 0,
    ) -> None:
        self.file = file
        self.world = World(file.drill, spread, seed, int(begin.timestamp()), faults)
        setup = Setup(
            spread, Session.PRACTICE, trip=file.id, start=file.drill.start.rods, members=members,
            zone_c=file.drill.fish.zone_c, charted=sounded(file.drill, seed, begin.timestamp()),
        )  # fmt: skip
        self.watch = new_watch(setup, SensorBoard())
        self._intake = Intake(self.watch, Decoder())
        self.believed, self.kept = Believed(), Kept()
        self.actions: list[Action] = []
        self.t_s = 0.0
        self._serial = 0
        self._ahead: deque[Line] = deque()
        for key, line_out_m in file.drill.start.line_out_m.items():
            self.do(order("length", key, line_out_m=line_out_m))
        for action in actions:
            self._take(action)

    def do(self, wanted: Order) -> Action:
        """Do something now."""
        self._serial += 1
        moment = datetime.fromtimestamp(self.world.begin_unix_s + self.t_s, UTC)
        given = {"id": f"p{self._serial:05d}", "time": moment, "elapsed_s": round(self.t_s, 3), "kind": wanted.kind}
        if wanted.rod is not None:
            given["rod"] = wanted.rod
        action = parse(given | wanted.fields, wanted.kind)
        self._take(action)
        return action

    def _take(self, action: Action) -> None:
        self.actions.append(action)
        self.world.act(action)
        self.watch.act(action)

    def step(self, heard: Callable[[Line], None] = lambda _: None) -> Picture:
        """Go on by one second; returns the picture then. ``heard`` is called with every line."""
        self.t_s = round(self.t_s + STEP_S, 3)
        for line in self.world.to(self.t_s):
            heard(line)
            self._intake.take(line)
        self._intake.to(self.t_s)
        picture = self.watch.picture()
        self.kept.take(self.world)
        if self.world.drill_s >= 0.0 and not self.over:
            self.believed.take(picture.t_s, picture.rods, self.world.below)
        return picture

    def lines(self, t_s: float, helmsman: Helmsman | None) -> list[bytes]:
        """The sentences due up to a moment, for callers that want only the feed. The helmsman acts meanwhile.

        The session runs up to a second ahead, so that every sentence leaves at its own moment.
        """
        while self.t_s <= t_s:
            picture = self.step(self._ahead.append)
            if helmsman is not None and self.world.drill_s >= 0.0:
                for wanted in helmsman.acts(self.view(picture)):
                    self.do(wanted)
        out: list[bytes] = []
        while self._ahead and self._ahead[0].t_s <= t_s:
            out.append(self._ahead.popleft().data)
        return out

    def view(self, picture: Picture) -> View:
        """What the helmsman sees."""
        position = picture.own.position_deg
        place = None if position is None else local_metres(ORIGIN_DEG, position)
        return View(self.t_s, self.world.drill_s, picture, shown_of(self.world), self.watch, place)

    @property
    def over(self) -> bool:
        """Whether the drill has reached its goal or its end."""
        return self.world.tally.over

    def result(self) -> dict[str, Any]:
        """The result of the session."""
        return result_of(self.file, self.world, self.believed, self.kept)


def run(
    session: Run, helmsman: Helmsman | None = None, each: Callable[[Run, Picture], None] | None = None
) -> dict[str, Any]:
    """Run a session to its end and return its result. ``each`` is called every second."""
    while not session.over:
        picture = session.step()
        if each is not None:
            each(session, picture)
        if helmsman is not None and session.world.drill_s >= 0.0:
            for wanted in helmsman.acts(session.view(picture)):
                session.do(wanted)
    return session.result()
