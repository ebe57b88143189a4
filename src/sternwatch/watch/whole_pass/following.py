"""Follows a pass while a session runs: plans it beside the session, renews it under way, steers at every step.

The first proposal comes soon, confirmed by some of the members. All members confirm the same way right after it.

Any thread may call ``want`` and ``drop``, which never wait. Only the session's thread calls ``offer``.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.plan import Cannot
from sternwatch.watch.again.steering import PASS_ENDS, Helm, Steering, steer, steering_bar, steering_words
from sternwatch.watch.background import Beside
from sternwatch.watch.chart.bed import Chartlike
from sternwatch.watch.whole_pass.asking import Taken, asked_of, taken
from sternwatch.watch.whole_pass.plan import WholePass, confirm, propose
from sternwatch.watch.whole_pass.ways import rest_of
from sternwatch.watch.whole_pass.wish import Wish
from sternwatch.watch.whole_pass.words import in_words

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch
    from sternwatch.watch.picture.outlook import Limits

RENEWED_S = 10.0  # from one plan to the next, in wall time and in feed time ...
HALF = 2.0  # ... and at least this many times the last plan's computing time: half a core at most
LAST_S = 120.0  # with less than this left, the pass stays as it is
OVER_S = 60.0
LEGS_TOLD = 3


@dataclass(frozen=True)
class _Question:
    number: int
    taken: Taken
    kept: tuple[Leg, ...]
    how: Literal["soon", "all members", "anew"]  # a first proposal, the same way confirmed by all, or a renewed one


@dataclass(frozen=True)
class _Answer:
    number: int
    found: WholePass | Cannot
    seconds: float


class Passing:
    """The pass of one session.

    Parameters
    ----------
    charts
        The imported grids of the session. Called once, on the thread beside.
    """

    def __init__(
        self, charts: Callable[[], Sequence[Chartlike]] = tuple, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._charts_of, self._clock = charts, clock
        self._charts: Sequence[Chartlike] | None = None
        self._beside: Beside[_Question, _Answer] = Beside(self._plan, "pass")
        self._asked = self._taken = 0
        self._asked_s = self._wall_s = -math.inf
        self._took_s = 0.0
        self._helm = Helm()
        self._ends_s: float | None = None  # feed time
        self._steered_s: float | None = None
        self._told: WholePass | None = None  # the newest plan, which begins where she was when it was asked for
        self.wish: Wish | None = None
        self.found: WholePass | Cannot | None = None
        self.steering: Steering | None = None

    # -- any thread -------------------------------------------------------------------------------------------

    def want(self, wish: Wish) -> None:
        """Plan a pass from her present place."""
        self._begin(wish)

    def drop(self) -> None:
        """Stop; no pass is wanted."""
        self._begin(None)

    def stop(self) -> None:
        """End the thread."""
        self._beside.stop()

    def words(self, units: DisplaySystem, names: Mapping[str, str]) -> tuple[str, str]:
        """The lines for the helm: how to steer, and the pass. Empty where none is wanted."""
        wish, found = self.wish, self.found
        if wish is None:
            return "", ""
        if isinstance(found, Cannot):
            return f"PASS {found.why}", ""
        if found is None:
            return f"PASS {self._beside.trouble or 'looking for a way'}", ""
        now = self.steering
        steered = "PASS" if now is None else steering_words(now, units, "PASS", PASS_ENDS)
        return steered, in_words(self._told or found, wish, units, names, LEGS_TOLD)

    @property
    def way_m(self) -> NDArray[np.float64] | None:
        """(n, 2) the way being steered over ground: north, east in the plane of the soundings."""
        return self.found.over_ground_m if isinstance(self.found, WholePass) else None

    @property
    def waiting(self) -> bool:
        """Whether a plan is being made."""
        return self._asked > self._taken and not self._beside.trouble

    @property
    def bar(self) -> str:
        """A bar of the boat beside the way. Empty where none is steered."""
        return "" if self.steering is None else steering_bar(self.steering)

    def _begin(self, wish: Wish | None) -> None:
        self._taken = self._asked
        self.found, self.steering, self._ends_s, self._told = None, None, None, None
        self._asked_s = self._wall_s = -math.inf
        self._took_s = 0.0
        self.wish = wish

    # -- the session's thread ---------------------------------------------------------------------------------

    def offer(self, watch: Watch, limits: Limits | None) -> None:
        """After a step: take the finished plan, steer, and ask for a new plan when one is due."""
        if self.wish is None:
            return
        self._take()
        if watch.t_s != self._steered_s:
            self._steered_s = watch.t_s
            self._steer(watch)
        if self._ends_s is not None and watch.now_s > self._ends_s + OVER_S:
            self.drop()
        elif self._is_due(watch.now_s):
            self._ask(watch, limits)

    def _take(self) -> None:
        answer = self._beside.made
        if answer is None or answer.number <= self._taken:
            return
        self._taken, self._took_s = answer.number, answer.seconds
        new, old = answer.found, self.found
        if isinstance(new, Cannot):
            if not isinstance(old, WholePass) or self._lost:
                self.found = new
            return
        self._told = new
        if new.stays and isinstance(old, WholePass):
            # Begun anew from wherever she is, it would forgive every metre that she was beside it.
            self.found = replace(new, legs=old.legs, path=old.path, over_ground_m=old.over_ground_m)
        else:
            self.found, self.steering, self._steered_s = new, None, None
        if self._ends_s is None:
            self._ends_s = self._asked_s + new.lasts_s

    @property
    def _lost(self) -> bool:
        return self.steering is not None and self.steering.lost

    def _steer(self, watch: Watch) -> None:
        place = watch.bottom.over.transom_m
        if not isinstance(self.found, WholePass) or place is None:
            return
        since = self.steering.sample if self.steering is not None else 0
        heading = math.radians(watch.boat.heading_deg)
        self.steering = steer(
            self.found, place, heading, since, ahead_s=self._helm.follows_s, drift_m_s=watch.boat.drift.now_m_s
        )
        self._helm.said(watch.now_s, math.radians(self.steering.course_deg), heading)

    def _is_due(self, now_s: float) -> bool:
        if self.waiting:
            return False
        wall = self._clock() - self._wall_s
        if isinstance(self.found, WholePass) and self.found.provisional:
            return wall >= HALF * self._took_s
        if now_s - self._asked_s < RENEWED_S or wall < max(RENEWED_S, HALF * self._took_s):
            return False
        return self._ends_s is None or self._ends_s - now_s >= LAST_S

    def _ask(self, watch: Watch, limits: Limits | None) -> None:
        assert self.wish is not None
        self._asked_s, self._wall_s = watch.now_s, self._clock()
        wish = self.wish
        if self._ends_s is not None:
            wish = replace(wish, lasts_s=self._ends_s - watch.now_s)
        kept = self._kept(math.radians(watch.boat.heading_deg))
        one = taken(wish, watch, limits)
        if isinstance(one, Cannot):
            if not isinstance(self.found, WholePass):
                self.found = one
            return
        self._asked += 1
        self._beside.ask(_Question(self._asked, one, kept, self._how(kept)))

    def _kept(self, heading_rad: float) -> tuple[Leg, ...]:
        """The rest of the way being steered. A turn under way still ends on the course that it was to end on."""
        if not isinstance(self.found, WholePass) or self.steering is None or self.steering.lost:
            return ()
        path, gone_s = self.found.path, self.found.time_s - self.steering.pass_in_s
        kept = rest_of(self.found.legs, gone_s * float(path.speed_m_s[-1]))
        if not kept or not kept[0].turn_rad:
            return kept
        behind = math.remainder(float(np.interp(gone_s, path.time_s, path.heading_rad)) - heading_rad, math.tau)
        share = 1.0 + behind / kept[0].turn_rad
        return (Leg(kept[0].length_m * share, kept[0].turn_rad * share), *kept[1:]) if share > 0.0 else kept[1:]

    def _how(self, kept: tuple[Leg, ...]) -> Literal["soon", "all members", "anew"]:
        if self.found is None:
            return "soon"
        return "all members" if isinstance(self.found, WholePass) and self.found.provisional and kept else "anew"

    def _plan(self, question: _Question) -> _Answer:
        begun = time.thread_time()
        if self._charts is None:
            self._charts = self._charts_of()
        asked = asked_of(question.taken, self._charts)
        if question.how == "all members":
            found = confirm(asked, question.kept)
        else:
            found = propose(asked, question.kept, question.number, soon=question.how == "soon")
        return _Answer(question.number, found, time.thread_time() - begun)
