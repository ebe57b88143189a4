"""Follows one wish to pass a place again: plans it beside the session, steers it step by step, reports on it.

Any thread may call ``want_hit``, ``want_place``, ``by_ground``, ``next`` and ``drop``; they never wait.
Only the session's thread calls ``offer``. Another thread makes the plans.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sternwatch.feed.readings import Quantity
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.again.asking import asked_now, of_hit, of_place, over_ground
from sternwatch.watch.again.looking_back import Nearest, nearest_now, passed_words
from sternwatch.watch.again.plan import Asked, Cannot, Proposal, Target, propose
from sternwatch.watch.again.steering import Helm, Steering, steer, steering_bar, steering_words
from sternwatch.watch.again.words import in_words
from sternwatch.watch.background import Beside
from sternwatch.watch.boat.own_boat import usable
from sternwatch.watch.forecast.snapshot import snapshot

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch
    from sternwatch.watch.picture.outlook import Limits

RENEWED_S = 10.0  # new proposals while none is being steered
LOST_FOR_S = 6.0  # after so long off the way a new plan is made
# While she keeps to the way it is aimed again, because current and lines are better known by then. Only on
# just before a turn nor on the last piece. A pass at quite another time would be another way, and is not taken.
KEPT_RENEWED_S = 30.0
CLEAR_OF_TURN_S = 15.0
LAST_S = 45.0
SAME_PASS_S = 40.0
INSTEAD_S = 60.0  # how long the helm is told that the way has changed
OVER_S = 20.0  # how long the report stands after the pass
TOLD_S = 60.0


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was asked for: a hit by its id, or a rod's lure through a place of the soundings' plane."""

    hit: str = ""
    rod: str = ""
    place_m: tuple[float, float] | None = None
    depth_m: float | None = None
    of: str = ""  # id of the mark or fish seen


@dataclass(frozen=True, slots=True)
class _Question:
    number: int
    asked: Asked
    t_s: float
    keeping: bool  # only aim the way that is being steered again


@dataclass(frozen=True, slots=True)
class _Answer:
    question: _Question
    found: tuple[Proposal, ...] | Cannot
    instead: str = ""


class Following:
    """For one session."""

    def __init__(self) -> None:
        self._beside: Beside[_Question, _Answer] = Beside(self._plan, "again")
        self._wanted: Wanted | None = None
        self._asked = self._taken = 0
        self._asked_s = -math.inf
        self._lost_since_s: float | None = None
        self._at_first: Target | None = None  # of a place: the course and speed with which it was asked for
        self._nearest, self._helm = Nearest(), Helm()
        self._instead, self._instead_s = "", -math.inf
        self._now_s = -math.inf
        self._past_s: float | None = None
        self._steered_s: float | None = None
        self.found: tuple[Proposal, ...] | Cannot | None = None
        self.over_ground = False  # the speed wanted is the one over ground
        self.index = 0  # names of the proposal being steered
        self.steering: Steering | None = None
        self.passed = ""  # how near it came, once it has

    # -- any thread -------------------------------------------------------------------------------------------

    def want_hit(self, hit_id: str) -> None:
        """Bring the lure of a hit through its place again."""
        self._begin(Wanted(hit=hit_id))

    def want_place(self, rod: str, place_m: tuple[float, float], depth_m: float | None = None, of: str = "") -> None:
        """Bring a rod's lure through a place (north, east in the plane of the soundings)."""
        self._begin(Wanted(rod=rod, place_m=place_m, depth_m=depth_m, of=of))

    def by_ground(self, on: bool) -> None:
        """Take the wanted speed as over ground or through the water, and plan again."""
        self.over_ground = on
        self._begin(self._wanted)

    def next(self) -> None:
        """Steer the next of the proposals instead."""
        if isinstance(self.found, tuple) and self.found:
            self.index, self.steering, self._past_s = (self.index + 1) % len(self.found), None, None
            self._nearest, self.passed = Nearest(), ""

    def drop(self) -> None:
        """Stop following; nothing is wanted."""
        self._begin(None)

    def stop(self) -> None:
        """End the thread."""
        self._beside.stop()

    @property
    def wanted(self) -> Wanted | None:
        """What is being followed."""
        return self._wanted

    @property
    def chosen(self) -> Proposal | None:
        """The proposal that is steered."""
        if not isinstance(self.found, tuple) or not self.found:
            return None
        return self.found[min(self.index, len(self.found) - 1)]

    def words(self, units: DisplaySystem, names: Mapping[str, str]) -> tuple[str, str]:
        """The lines for the helm: how to steer, and which proposal that is. Empty where nothing is wanted."""
        if self._wanted is None:
            return "", ""
        if self.passed:
            return self.passed, ""
        if isinstance(self.found, Cannot):
            return f"AGAIN {self.found.why}", ""
        chosen = self.chosen
        if chosen is None:
            return f"AGAIN {self._beside.trouble or 'planning the way there'}", ""
        steered = "" if self.steering is None else steering_words(self.steering, units)
        way = f"{', '.join(chosen.names)}: {in_words(chosen, units, names)}"
        if self._instead and self._now_s - self._instead_s <= INSTEAD_S:
            way = f"{self._instead} {way}"
        return steered or "AGAIN", way

    @property
    def waiting(self) -> bool:
        """Whether a plan is being made."""
        return self._asked > self._taken and not self._beside.trouble

    @property
    def bar(self) -> str:
        """A bar of the boat beside the way. Empty after the pass, and where no way is steered."""
        return "" if self.steering is None or self.passed else steering_bar(self.steering)

    def _begin(self, wanted: Wanted | None) -> None:
        self._taken = self._asked  # the plan under way answers an older wish
        self.found, self.index, self.steering, self.passed = None, 0, None, ""
        self._asked_s, self._lost_since_s, self._past_s, self._nearest = -math.inf, None, None, Nearest()
        self._at_first, self._instead = None, ""
        self._wanted = wanted

    # -- the session's thread ---------------------------------------------------------------------------------

    def offer(self, watch: Watch, limits: Limits | None, units: DisplaySystem) -> None:
        """After a step: take the finished plan, steer, and ask for a new plan when one is due."""
        if self._wanted is None:
            return
        self._now_s = watch.now_s
        self._take(watch.now_s)
        if self.steering is None or watch.t_s != self._steered_s:  # offered many times a step
            self._steered_s = watch.t_s
            self._steer(watch, units)
        if self._wanted is not None and self._is_due(watch.now_s):
            self._ask(watch, limits)

    def _take(self, now_s: float) -> None:
        answer = self._beside.made
        if answer is None or answer.question.number <= self._taken:
            return
        self._taken, before = answer.question.number, self.chosen
        if answer.question.keeping and before is not None and self.steering is not None:
            self._aim(answer, before, now_s)
            return
        self.found, self._lost_since_s = answer.found, None
        self._say_instead(answer.instead, now_s)
        if before is None or not isinstance(self.found, tuple):
            return
        self.steering = None
        same = [k for k, one in enumerate(self.found) if one.reverse == before.reverse]
        self.index = same[0] if same else 0
        if not same:
            self._say_instead("The way steered so far can no longer be kept; instead", now_s)

    def _say_instead(self, text: str, now_s: float) -> None:
        if text:
            self._instead, self._instead_s = text, now_s

    def _aim(self, answer: _Answer, before: Proposal, now_s: float) -> None:
        """The same way, aimed again from where she is now; nothing where that would pass at another time."""
        assert self.steering is not None
        if not isinstance(answer.found, tuple) or not isinstance(self.found, tuple):
            return
        since_s = now_s - answer.question.t_s
        off_s = [abs(one.time_s - since_s - self.steering.pass_in_s) for one in answer.found]
        k = min(range(len(off_s)), key=off_s.__getitem__)
        if off_s[k] > SAME_PASS_S:
            return
        newer = replace(answer.found[k], names=before.names)
        self.found = tuple(newer if one is before else one for one in self.found)
        self.steering = None

    def _is_due(self, now_s: float) -> bool:
        if self.waiting or self.passed:
            return False
        since_s = now_s - self._asked_s
        if self.chosen is None or self.steering is None:
            return since_s >= RENEWED_S
        if self._keeping():
            return since_s >= KEPT_RENEWED_S
        lost = self._lost_since_s is not None and now_s - self._lost_since_s >= LOST_FOR_S
        return lost and since_s >= RENEWED_S

    def _keeping(self) -> bool:
        """Whether she is on the way, on a straight, and far enough from its end or next turn to aim again."""
        now = self.steering
        if now is None or self._lost_since_s is not None or now.pass_in_s < LAST_S:
            return False
        return now.turn_in_s is None or now.turn_in_s > CLEAR_OF_TURN_S

    def _ask(self, watch: Watch, limits: Limits | None) -> None:
        self._asked_s = watch.now_s
        target = self._target_of(watch)
        if isinstance(target, Cannot):
            self.found = target
            return
        asked = asked_now(target, snapshot(watch), watch.bottom, watch.boat, limits)
        if isinstance(asked, Cannot):
            self.found = asked
            return
        keeping, chosen = self._keeping(), self.chosen
        if keeping and chosen is not None:
            asked = replace(asked, reverse=chosen.reverse)
        self._asked += 1
        self._beside.ask(_Question(self._asked, asked, watch.now_s, keeping))

    def _target_of(self, watch: Watch) -> Target | Cannot:
        wanted = self._wanted
        assert wanted is not None
        if wanted.place_m is not None:
            if self._at_first is None:
                made = of_place(wanted.rod, wanted.place_m, wanted.depth_m, watch.boat)
                if isinstance(made, Cannot):
                    return made
                sog = usable(watch.sensors().get(Quantity.SOG))
                self._at_first = over_ground(made, sog) if self.over_ground and sog else made
            return self._at_first
        context = watch.memory.hits.by_id.get(wanted.hit)
        rod = None if context is None or context.rod is None else watch.crew.rods.get(context.rod)
        target = of_hit(context, watch.bottom.origin_deg, None if rod is None else rod.line_out_m)
        if isinstance(target, Cannot) or not self.over_ground:
            return target
        assert context is not None
        if context.moment is None or not context.moment.sog_m_s:
            return Cannot("The speed over ground at that hit is not known")
        return over_ground(target, context.moment.sog_m_s)

    def _plan(self, question: _Question) -> _Answer:
        asked = question.asked
        found = propose(asked)
        if not isinstance(found, Cannot) or not asked.target.over_ground:
            return _Answer(question, found)
        through = replace(asked, target=replace(asked.target, speed_m_s=asked.speed_m_s, over_ground=False))
        other = propose(through)
        if isinstance(other, Cannot):
            return _Answer(question, found)
        return _Answer(
            question, other, "Not possible at that speed over ground; shown for the speed through the water"
        )

    def _steer(self, watch: Watch, units: DisplaySystem) -> None:
        chosen, place = self.chosen, watch.bottom.over.transom_m
        if chosen is None or place is None:
            return
        since = self.steering.sample if self.steering is not None else 0
        heading = math.radians(watch.boat.heading_deg)
        self.steering = now = steer(
            chosen, place, heading, since, ahead_s=self._helm.follows_s, drift_m_s=watch.boat.drift.now_m_s
        )
        self._helm.said(watch.now_s, math.radians(now.course_deg), heading)
        if not now.lost:
            self._lost_since_s = None
        elif self._lost_since_s is None:
            self._lost_since_s = watch.now_s
        self._look_back(watch, chosen, now, units)

    def _look_back(self, watch: Watch, chosen: Proposal, now: Steering, units: DisplaySystem) -> None:
        """How near the lure has come; told once it is past."""
        if self._past_s is not None:  # wherever on the way she is again
            if watch.now_s - self._past_s > TOLD_S:
                self.drop()
            return
        self._nearest = nearest_now(watch, chosen.target, self._nearest)
        if now.pass_in_s <= -OVER_S:
            self._past_s = watch.now_s
            self.passed = passed_words(self._nearest, chosen, units)
