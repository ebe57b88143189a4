"""One place to be passed again, while a session runs: planned beside it, steered by the newest step, looked back at.

``want_hit``, ``want_place``, ``next`` and ``drop`` may be called from any thread and never wait; ``offer`` belongs to
the session's own. The plans are made on a thread of their own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.again.asking import asked_now, of_hit, of_place
from sternwatch.watch.again.plan import Asked, Cannot, Proposal, Target, propose
from sternwatch.watch.again.steering import Steering, steer, steering_bar, steering_words
from sternwatch.watch.again.words import in_words
from sternwatch.watch.background import Beside
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.forecast.snapshot import snapshot

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch
    from sternwatch.watch.picture.outlook import Limits

RENEWED_S = 10.0  # proposals while none is steered
LOST_FOR_S = 6.0  # off the way for so long it is planned anew
OVER_S = 20.0  # after the pass it is told, and stands for
TOLD_S = 60.0


@dataclass(frozen=True, slots=True)
class Wanted:
    """What was asked for: a hit by its id, or a rod's lure through a place of the soundings' plane."""

    hit: str = ""
    rod: str = ""
    place_m: tuple[float, float] | None = None
    depth_m: float | None = None


@dataclass(frozen=True, slots=True)
class _Answer:
    number: int
    found: tuple[Proposal, ...] | Cannot


@dataclass(slots=True)
class _Nearest:
    off_m: float = math.inf
    depth_m: float | None = None


class Following:
    """For one session."""

    def __init__(self) -> None:
        self._beside: Beside[tuple[int, Asked], _Answer] = Beside(self._plan, "again")
        self._wanted: Wanted | None = None
        self._asked = self._taken = 0
        self._asked_s = -math.inf
        self._lost_since_s: float | None = None
        self._target: Target | None = None
        self._nearest = _Nearest()
        self._past_s: float | None = None
        self._steered_s: float | None = None
        self.found: tuple[Proposal, ...] | Cannot | None = None
        self.index = 0  # of the proposal that is steered
        self.steering: Steering | None = None
        self.passed = ""  # how near it came, once it has

    # -- any thread -------------------------------------------------------------------------------------------

    def want_hit(self, hit_id: str) -> None:
        """Bring the lure of a hit through its place again."""
        self._begin(Wanted(hit=hit_id))

    def want_place(self, rod: str, place_m: tuple[float, float], depth_m: float | None = None) -> None:
        """Bring a rod's lure through a place (north, east in the plane of the soundings)."""
        self._begin(Wanted(rod=rod, place_m=place_m, depth_m=depth_m))

    def next(self) -> None:
        """Steer the next of the proposals instead."""
        if isinstance(self.found, tuple) and self.found:
            self.index, self.steering, self._past_s = (self.index + 1) % len(self.found), None, None
            self._nearest = _Nearest()

    def drop(self) -> None:
        """Want nothing any more."""
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
        """What the helm is told: the line to steer by, and the proposal it belongs to. Empty: nothing is wanted."""
        if self._wanted is None:
            return "", ""
        if self.passed:
            return self.passed, ""
        if isinstance(self.found, Cannot):
            return f"AGAIN  {self.found.why}", ""
        chosen = self.chosen
        if chosen is None:
            return f"AGAIN  {self._beside.trouble or 'planning the way there'}", ""
        steered = "" if self.steering is None else steering_words(self.steering, units)
        return steered or "AGAIN", f"{', '.join(chosen.names)}: {in_words(chosen, units, names)}"

    @property
    def bar(self) -> str:
        """Where the boat is beside the way that is steered; empty where none is, or after the pass."""
        return "" if self.steering is None or self.passed else steering_bar(self.steering)

    def _begin(self, wanted: Wanted | None) -> None:
        self._taken = self._asked  # what is under way belongs to another wish
        self.found, self.index, self.steering, self.passed = None, 0, None, ""
        self._asked_s, self._lost_since_s, self._past_s, self._nearest = -math.inf, None, None, _Nearest()
        self._target = None
        self._wanted = wanted

    # -- the session's thread ---------------------------------------------------------------------------------

    def offer(self, watch: Watch, limits: Limits | None, units: DisplaySystem) -> None:
        """After a step: take what was planned, steer, ask anew where that is due."""
        if self._wanted is None:
            return
        self._take()
        if self.steering is None or watch.t_s != self._steered_s:  # offered many times a step
            self._steered_s = watch.t_s
            self._steer(watch, units)
        if self._wanted is not None and self._is_due(watch.now_s):
            self._ask(watch, limits)

    def _take(self) -> None:
        answer = self._beside.made
        if answer is None or answer.number <= self._taken:
            return
        self._taken, before = answer.number, self.chosen
        self.found, self._lost_since_s = answer.found, None
        if before is not None and isinstance(self.found, tuple):
            self.steering = None
            same = [k for k, one in enumerate(self.found) if one.reverse == before.reverse]
            self.index = same[0] if same else 0

    def _is_due(self, now_s: float) -> bool:
        if self._asked > self._taken and not self._beside.trouble:
            return False  # one is under way
        if self.chosen is None or self.steering is None:
            return now_s - self._asked_s >= RENEWED_S
        lost = self._lost_since_s is not None and now_s - self._lost_since_s >= LOST_FOR_S
        return lost and now_s - self._asked_s >= RENEWED_S

    def _ask(self, watch: Watch, limits: Limits | None) -> None:
        self._asked_s = watch.now_s
        target = self._target_of(watch)
        if isinstance(target, Cannot):
            self.found = target
            return
        self._target = target
        sensors = watch.board.table(watch.now_s)
        asked = asked_now(target, snapshot(watch), watch.bottom, watch.boat, sensors, limits)
        if isinstance(asked, Cannot):
            self.found = asked
            return
        self._asked += 1
        self._beside.ask((self._asked, asked))

    def _target_of(self, watch: Watch) -> Target | Cannot:
        wanted = self._wanted
        assert wanted is not None
        if wanted.place_m is not None:
            return of_place(wanted.rod, wanted.place_m, wanted.depth_m, watch.boat)
        context = watch.memory.hits.by_id.get(wanted.hit)
        rod = None if context is None or context.rod is None else watch.crew.rods.get(context.rod)
        return of_hit(context, watch.bottom.origin_deg, None if rod is None else rod.line_out_m)

    def _plan(self, question: tuple[int, Asked]) -> _Answer:
        number, asked = question
        return _Answer(number, propose(asked))

    def _steer(self, watch: Watch, units: DisplaySystem) -> None:
        chosen, place = self.chosen, watch.bottom.over.at(0.0, 0.0)
        if chosen is None or place is None:
            return
        since = self.steering.sample if self.steering is not None else 0
        self.steering = now = steer(chosen, place, math.radians(watch.boat.heading_deg), since)
        if not now.lost:
            self._lost_since_s = None
        elif self._lost_since_s is None:
            self._lost_since_s = watch.now_s
        self._look_back(watch, chosen, now, units)

    def _look_back(self, watch: Watch, chosen: Proposal, now: Steering, units: DisplaySystem) -> None:
        """How near the lure has come; told once it is past."""
        origin = watch.bottom.origin_deg
        rod = watch.memory.moments[-1].rods.get(chosen.target.key) if len(watch.memory.moments) else None
        if rod is not None and rod.position_deg is not None and origin is not None:
            off = math.dist(local_metres(origin, rod.position_deg), chosen.target.place_m)
            if off < self._nearest.off_m:
                self._nearest = _Nearest(off, rod.depth_m)
        if now.pass_in_s > -OVER_S:
            return
        if self._past_s is None:
            self._past_s = watch.now_s
            self.passed = self._passed_words(chosen, units)
        elif watch.now_s - self._past_s > TOLD_S:
            self.drop()

    def _passed_words(self, chosen: Proposal, units: DisplaySystem) -> str:
        near = self._nearest
        if not math.isfinite(near.off_m):
            return "AGAIN  passed; how near the lure came is not known"
        text = f"AGAIN  passed {units.show(near.off_m, Dimension.LENGTH)} from the place"
        if near.depth_m is not None and chosen.target.depth_m is not None:
            deeper = near.depth_m - chosen.target.depth_m
            shown = units.show(abs(deeper), Dimension.LENGTH)
            text += f", {shown} {'deeper' if deeper > 0 else 'shallower'}"
        within = units.show(chosen.passed.within_m, Dimension.LENGTH)
        return f"{text}, as computed; within {within} (90 %) was planned"
