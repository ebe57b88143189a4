"""The check of the spread beside a running session, for the rods' present lengths and settings.

A thread of its own makes it, and makes it again only when a length, a setting, the speed, the bottom or the number of
people has changed so much that the answer may differ.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.quickly import quickly_made
from sternwatch.watch.background import Beside
from sternwatch.watch.chains.spread_in_force import spread_of
from sternwatch.watch.picture.model import Picture

if TYPE_CHECKING:
    from sternwatch.answers.chains.arrays import RodNow
    from sternwatch.answers.checks.check import Check, Earlier
    from sternwatch.answers.checks.findings import Finding
    from sternwatch.logbook.crew.state import Crew, CrewRod

# Between these speeds the boat trolls, and the check uses her own speed; else the usual one.
TROLLING_M_S = (0.5, 2.2)
SPEED_STEP_M_S = 0.1
BOTTOM_STEP_M = 1.0
HEADING_STEP_RAD = math.radians(15.0)

# The worst first: findings that may lose gear or hurt somebody come before those that only lose fish.
KINDS = {
    "wrong_side": "set for the wrong side",
    "neighbours": "too close on a straight course",
    "strength": "near its breaking load",
    "bottom": "on the bottom",
    "pulled_under": "board pulled under",
    "strike": "a strike may part it",
    "release": "release likely",
    "slack": "diver slack",
    "leader": "leader too long to net",
    "in_air": "lure in the air",
    "one_holder": "two rods in one holder",
    "counter": "a counter that leaves no line out",
    "rods": "more rods than your own number",
}


@quickly_made
@dataclass(frozen=True, slots=True)
class Question:
    """What to check. Angles in radians, the rest SI. None: unknown."""

    rods: tuple[tuple[str, RodNow], ...]
    speed_m_s: float
    own_speed: bool  # the boat's, not the usual one
    heading_rad: float | None
    bottom_m: float | None
    people: int | None
    spread: Spread | None = None  # in force then; None: as the session began


@dataclass(frozen=True, slots=True)
class Checked:
    """A check and its question, findings worst first. ``check`` None: it could not be made."""

    check: Check | None
    question: Question
    trouble: str = ""  # why the newest check could not be made

    @property
    def findings(self) -> tuple[Finding, ...]:
        if self.check is None:
            return ()
        rank = {kind: place for place, kind in enumerate(KINDS)}
        return tuple(sorted(self.check.findings, key=lambda finding: rank.get(finding.kind, len(rank))))

    @property
    def line(self) -> str:
        """One line: the number of findings and the worst one; "" without any."""
        found = self.findings
        if not found:
            return ""
        worst = found[0]
        where = " and ".join(worst.keys) or "the whole spread"
        count = f"{len(found)} findings, worst" if len(found) > 1 else "1 finding"
        return f"Check: {count}: {where}, {KINDS.get(worst.kind, worst.kind)}"


class Checking:
    """Keeps the check of one session up to date. Only the session's thread calls ``offer``, which never waits."""

    def __init__(self, spread: Spread, units: DisplaySystem) -> None:
        self._spread, self._units = spread, units
        self._beside: Beside[Question, Checked] = Beside(self._check, "check")
        self._crew_rods: dict[str, CrewRod] | None = None
        self._rods: tuple[tuple[str, RodNow], ...] = ()
        self._asked: Question | None = None
        self._earlier: Earlier | None = None  # checks of the same spread
        self._crewed: tuple[Spread, int, Spread] | None = None  # a spread, another number of people, both together

    def offer(self, picture: Picture) -> None:
        """Ask again if something changed on which the check depends."""
        crew = picture.crew
        if crew is None:
            return
        if crew.rods is not self._crew_rods:
            self._crew_rods, self._rods = crew.rods, _rods_now(crew.rods)
        wanted = steady(self._asked, self._question(picture, crew))
        if wanted != self._asked:
            self._asked = wanted
            self._beside.ask(wanted)

    def _question(self, picture: Picture, crew: Crew) -> Question:
        speed = picture.own.speed_mean_m_s
        low, high = TROLLING_M_S
        own = speed is not None and low <= speed <= high
        heading = picture.own.heading_deg if self._spread.water.current else None
        return Question(
            rods=self._rods,
            speed_m_s=speed if own and speed is not None else self._spread.boat.usual_m_s,
            own_speed=own,
            heading_rad=None if heading is None else math.radians(heading),
            # At the dock or running, she is not yet over the place where the lines will hang.
            bottom_m=picture.bottom_m if own else None,
            people=crew.facts.people,
            spread=spread_of(crew, self._spread),
        )

    @property
    def checked(self) -> Checked | None:
        """The newest check. None while the first is being made."""
        made, trouble = self._beside.made, self._beside.trouble
        if not trouble or self._asked is None:
            return made
        return Checked(None, self._asked, trouble) if made is None else replace(made, trouble=trouble)

    def stop(self) -> None:
        self._beside.stop()

    def _check(self, question: Question) -> Checked:
        from sternwatch.answers.checks.check import Earlier, check_spread

        self._earlier = self._earlier or Earlier()
        made = check_spread(
            self._of_people(question.spread or self._spread, question.people),
            question.speed_m_s,
            heading_rad=question.heading_rad,
            now=dict(question.rods),
            bottom_m=question.bottom_m,
            units=self._units,
            earlier=self._earlier,
        )
        return Checked(made, question)

    def _of_people(self, spread: Spread, people: int | None) -> Spread:
        """The spread with so many aboard; the very same one as long as neither changes."""
        if people is None:
            return spread
        if self._crewed is None or self._crewed[0] is not spread or self._crewed[1] != people:
            boat = spread.boat.model_copy(update={"people": people})
            self._crewed = spread, people, spread.model_copy(update={"boat": boat})
        return self._crewed[2]


def _rods_now(rods: dict[str, CrewRod]) -> tuple[tuple[str, RodNow], ...]:
    from sternwatch.answers.chains.arrays import RodNow

    return tuple(
        (key, RodNow(line_out_as_counter_m=rod.line_out_m, setting=rod.setting, lead_m=rod.lead_m))
        for key, rod in rods.items()
    )


def steady(asked: Question | None, wanted: Question) -> Question:
    """``wanted`` with the numbers of the last question where they have hardly changed."""
    if asked is None:
        return wanted
    kept = wanted
    if asked.own_speed == wanted.own_speed and abs(asked.speed_m_s - wanted.speed_m_s) < SPEED_STEP_M_S:
        kept = replace(kept, speed_m_s=asked.speed_m_s)
    if _near(asked.bottom_m, wanted.bottom_m, BOTTOM_STEP_M):
        kept = replace(kept, bottom_m=asked.bottom_m)
    if asked.heading_rad is not None and wanted.heading_rad is not None:
        turned = abs(math.remainder(asked.heading_rad - wanted.heading_rad, math.tau))
        if turned < HEADING_STEP_RAD:
            kept = replace(kept, heading_rad=asked.heading_rad)
    return kept


def _near(before: float | None, now: float | None, step: float) -> bool:
    return before is not None and now is not None and abs(before - now) < step
