"""A runner without a watch: it stores actions in a list and shows the pictures it is given."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.picture.outlook import Outlook
from sternwatch.watch.planner.check import Checked
from sternwatch.watch.sessions.how_sure import Knowing
from sternwatch.watch.sessions.runner import Mark, ReplayControl, ReplayStatus, Saved, Senses, TripControl

MORNING = datetime(2026, 8, 20, 1, 0, tzinfo=UTC)


@dataclass
class FakeReplay:
    """A recording of an hour that goes where it is told."""

    at: ReplayStatus = field(
        default_factory=lambda: ReplayStatus(
            600.0, (0.0, 3600.0), False, 1.0, 1800.0,
            (Mark(300.0, "hit", "3 P LOW"), Mark(900.0, "turn", "to port"), Mark(1500.0, "alert", "slack")),
            "the sentences' own clock", None,
        )
    )  # fmt: skip

    def status(self) -> ReplayStatus:
        return self.at

    def play(self, playing: bool) -> None:
        self.at = replace(self.at, playing=playing)

    def set_rate(self, rate: float) -> None:
        self.at = replace(self.at, rate=rate)

    def seek(self, t_s: float) -> None:
        self.at = replace(self.at, t_s=t_s)

    def step(self, seconds: float) -> None:
        self.at = replace(self.at, t_s=self.at.t_s + seconds)


class FakeRunner:
    """Actions are checked against the logbook's models; they count as stored when ``store`` says so."""

    def __init__(self, session: Session = Session.LIVE, first: Picture | None = None, storing: bool = True) -> None:
        self.session = session
        self.first = first
        self.storing = storing
        self.actions: list[Action] = []
        self.preparing = ""
        self.sensed = Senses(0.0)
        self.ahead: Outlook | None = None
        self.plans: list[Manoeuvre | None] = []
        self.stopped = False
        self.checked: Checked | None = None
        self.knowing: Knowing | None = None
        self.again: Any = None
        self.passing: Any = None
        self.begun = 0
        self._replay = FakeReplay() if session is Session.REPLAY else None
        self._on_picture: Callable[[Picture], None] = lambda _picture: None
        self._on_saved: Callable[[Saved], None] = lambda _saved: None

    def start(self, on_picture: Callable[[Picture], None], on_saved: Callable[[Saved], None]) -> None:
        self._on_picture, self._on_saved = on_picture, on_saved
        if self.first is not None:
            on_picture(self.first)

    def stop(self) -> None:
        self.stopped = True

    def submit(self, kind: str, rod: str | None = None, **fields: Any) -> str:
        action_id = f"a{len(self.actions) + 1}"
        given: dict[str, Any] = {"id": action_id, "time": MORNING.isoformat(), "kind": kind, **fields}
        if rod is not None:
            given["rod"] = rod
        if isinstance(given.get("to"), datetime):
            given["to"] = given["to"].isoformat()
        self.actions.append(parse(given))
        if self.storing:
            self.store(action_id)
        return action_id

    def store(self, action_id: str, error: str = "") -> None:
        """Say that an action was stored, or not."""
        action = next(a for a in self.actions if a.id == action_id)
        self._on_saved(Saved(action_id, None if error else action, error))

    def show(self, picture: Picture) -> None:
        """Bring a picture, as the watch would."""
        self._on_picture(picture)

    def did(self) -> list[tuple[str, str | None]]:
        """(kind, rod) of every action, in order."""
        return [(a.kind, a.rod) for a in self.actions]

    def findings(self) -> Checked | None:
        return self.checked

    def outlook(self) -> Outlook | None:
        return self.ahead

    def plan(self, manoeuvre: Manoeuvre | None) -> None:
        self.plans.append(manoeuvre)

    @property
    def trips(self) -> TripControl | None:
        return self if self.session is Session.LIVE else None

    def begin(self) -> None:
        """Another trip was asked for."""
        self.begun += 1

    @property
    def replay(self) -> ReplayControl | None:
        return self._replay

    def senses(self) -> Senses:
        return self.sensed

    @property
    def busy(self) -> str:
        return self.preparing
