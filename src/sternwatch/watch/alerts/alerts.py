"""The alerts of a session. Every step gathers causes; the rules decide which alerts stand."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass, field

from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.alerts.causes import causes
from sternwatch.watch.alerts.rod_care import RodCare
from sternwatch.watch.alerts.rules import AlertBook, Cause
from sternwatch.watch.memory.moments import Moment
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.alert import Alert


@dataclass(slots=True)
class Alerts:
    """One session's alerts. The watch's step changes them; the session sets ``outside`` and ``complaints``."""

    units: DisplaySystem  # of what is put in words
    zone_c: tuple[float, float] | None = None  # the temperatures wanted; None: no zone chosen
    book: AlertBook = field(default_factory=AlertBook)
    rod_care: RodCare = field(default_factory=RodCare)
    outside: tuple[Cause, ...] = ()  # causes from outside the feed, such as a disk that does not save
    complaints: tuple[str, ...] = ()  # one sentence for each source most of whose lines are refused

    def copy(self) -> Alerts:
        return Alerts(
            self.units, self.zone_c, copy.deepcopy(self.book), self.rod_care.copy(), self.outside, self.complaints
        )

    def step(self, step: Step, moment: Moment) -> None:
        """Gather what is wrong at a step. ``moment``: all that holds at that step."""
        self.rod_care.step(moment, step.crew, step.chains.values(), self.zone_c)
        self.book.step(step.t_s, self._causes(step))

    def _causes(self, step: Step) -> Iterator[Cause]:
        yield from self.outside
        for complaint in self.complaints:
            yield Cause("checksums", complaint, "See the sensor screen")
        yield from causes(step, self.rod_care, self.units, self.complaints)

    def acknowledge(self, alert_id: str) -> None:
        """Acknowledge one. Nothing happens for an unknown id: that alert has gone meanwhile."""
        self.book.acknowledge(alert_id)

    def standing(self) -> tuple[Alert, ...]:
        """Worst first."""
        return self.book.standing()
