"""The planner beside a running session: a thread that makes the newest requested plan."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.background import Beside
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.planner.check import TROLLING_M_S

if TYPE_CHECKING:
    from sternwatch.answers.belief.calibration import Calibration
    from sternwatch.answers.chains.arrays import RodNow
    from sternwatch.watch.planner.plan import SpreadPlan


USUAL_U_TURN_S = 120.0


@dataclass(frozen=True)
class PlanQuestion:
    """What the crew wants of the spread in force, with the present state of every rod."""

    spread: Spread
    rods: tuple[tuple[str, RodNow], ...]
    from_m: float
    to_m: float
    speed_m_s: float
    own_speed: bool  # the boat's speed, not the usual one
    heading_rad: float | None
    u_turn_s: float | None
    pay_out_m_s: float
    learned: Calibration | None = None


@dataclass(frozen=True)
class Proposal:
    """A plan and its question."""

    question: PlanQuestion
    plan: SpreadPlan


def question_of(
    picture: Picture,
    from_m: float,
    to_m: float,
    u_turn_s: float | None,
    pay_out_m_s: float,
    learned: Calibration | None = None,
) -> PlanQuestion | None:
    """A question for all rods as they are, at the boat's own speed while she trolls. None: the rigs are unknown."""
    from sternwatch.answers.chains.arrays import RodNow

    crew = picture.crew
    if crew is None or not isinstance(crew.gear, Rigging):
        return None
    speed = picture.own.speed_mean_m_s
    own = speed is not None and TROLLING_M_S[0] <= speed <= TROLLING_M_S[1]
    heading = picture.own.heading_deg if crew.gear.spread.water.current else None
    return PlanQuestion(
        spread=crew.gear.spread,
        rods=tuple((key, RodNow(rod.line_out_m, rod.setting, rod.lead_m)) for key, rod in crew.rods.items()),
        from_m=from_m,
        to_m=to_m,
        speed_m_s=speed if own and speed is not None else crew.gear.spread.boat.usual_m_s,
        own_speed=own,
        heading_rad=None if heading is None else math.radians(heading),
        u_turn_s=u_turn_s,
        pay_out_m_s=pay_out_m_s,
        learned=learned,
    )


class SpreadPlanning:
    """Makes plans. Any thread may call every method, and none waits."""

    def __init__(self) -> None:
        self._beside: Beside[PlanQuestion, Proposal] = Beside(_propose, "planner")
        self._asked: PlanQuestion | None = None
        self._done: Proposal | None = None
        self.was_entered = False  # number of the plan that no longer waits

    def ask(self, question: PlanQuestion) -> None:
        self._asked = question
        self._beside.ask(question)

    @property
    def newest(self) -> Proposal | None:
        """The last requested plan. None while it is being made."""
        made = self._beside.made
        return made if made is not None and made.question is self._asked else None

    @property
    def proposal(self) -> Proposal | None:
        """The newest plan, while it waits to be entered."""
        newest = self.newest
        return None if newest is self._done else newest

    @property
    def busy(self) -> bool:
        """Whether a plan is being made."""
        made = self._beside.made
        return self._asked is not None and not self.trouble and (made is None or made.question is not self._asked)

    @property
    def trouble(self) -> str:
        """Why the newest plan could not be made, in a sentence."""
        return self._beside.trouble

    def done(self, *, entered: bool) -> None:
        """The newest plan no longer waits: it was entered, or is not wanted."""
        self._done, self.was_entered = self.newest, entered

    def stop(self) -> None:
        self._beside.stop()


def _propose(question: PlanQuestion) -> Proposal:
    from sternwatch.answers.depths.reach import Wanted
    from sternwatch.watch.planner.plan import make_plan

    keys = tuple(rod.key for rod in question.spread.rods)
    wanted = Wanted(question.from_m, question.to_m, question.speed_m_s, keys, question.heading_rad)
    plan = make_plan(
        question.spread,
        wanted,
        u_turn_s=question.u_turn_s,
        now=dict(question.rods),
        pay_out_m_s=question.pay_out_m_s,
        learned=question.learned,
    )
    return Proposal(question, plan)
