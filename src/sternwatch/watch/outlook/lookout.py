"""The lookout: a thread beside a session that makes outlooks from snapshots of the watch.

The session's thread may offer its watch at any time. When the lookout is idle and its last look is old enough,
it gets a snapshot. The thread can never delay a step or a key, and pictures know nothing of it.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Protocol

import numpy as np

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.watch.background import Beside
from sternwatch.watch.forecast.bottom_ahead import Ground, ground_of, level_m
from sternwatch.watch.forecast.make import Floats, InZone
from sternwatch.watch.forecast.marks_ahead import Marked, Passed, marked_about, passed
from sternwatch.watch.forecast.snapshot import Snapshot, snapshot
from sternwatch.watch.outlook.alerts import HOLE_S, ForecastAlerts
from sternwatch.watch.outlook.quiet import Pace, Seen
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import RISK, Outlook
from sternwatch.water.profile import TemperatureProfile

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch

EVERY_S = 2.0  # wall time from the beginning of one look to the next
# On a straight course on which nothing threatens there are fewer looks, to spare the battery; the first second of a
# turn ends the calm. A recording gets fewer still: nobody steers by it.
CALM_LIVE_EVERY_S = 4.0
CALM_EVERY_S = 6.0
# In the calm, while nothing has changed that a look depends on, the last one stands for so long.
STILL_EVERY_S = 16.0
# An outlook is removed after this much feed time without anything to look ahead from.
GONE_AFTER_S = 10.0
# Time before it tries again after a fault.
FAULT_RESTS_S = 10.0
# A look without an answer for so long is said.
LATE_S = 60.0


class Maker(Protocol):
    """The interface of ``OutlookMaker``: makes an outlook of a snapshot."""

    def renew(self, now: Snapshot, wishes: Wishes | None = None) -> Outlook: ...


@dataclass(frozen=True, slots=True)
class Look:
    """Everything that one look needs, taken on the watch's thread."""

    now: Snapshot
    ground: Ground | None
    in_zone: InZone | None
    moving: frozenset[str] = frozenset()  # rods whose line runs
    fish_on: bool = False
    marked: Marked | None = None  # nets and snags, while she turns


def look_from(watch: Watch) -> Look | None:
    """A look from a watch. None without a speed or a rod in the water."""
    now = snapshot(watch)
    if now is None:
        return None
    moving = frozenset(key for key, chain in watch.chains.items() if chain.moving)
    fish_on = any(mine.state == "fighting" for mine in watch.crew.rods.values())
    sensors = watch.sensors()
    column = watch.waters.column(watch.crew.gauges, sensors, watch.spread.boat.transducer_depth_m)
    ground = ground_of(now.t_s, watch.bottom, watch.boat)
    marked = marked_about(watch.bottom, watch.boat)
    return Look(now, ground, zone_of(column, watch.setup.zone_c), moving, fish_on, marked)


def zone_of(column: TemperatureProfile, zone_c: tuple[float, float] | None) -> InZone | None:
    """A test of depths for the wanted zone, in the water as known now. None without a zone or a profile."""
    return None if zone_c is None or len(column.pairs) < 2 else _in_zone(column, zone_c)


def _in_zone(column: TemperatureProfile, zone_c: tuple[float, float]) -> InZone:
    depths, warmth = np.array(column.pairs).T

    def inside(depth_m: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        found = np.interp(depth_m, depths, warmth)
        within: np.ndarray[tuple[int, ...], np.dtype[np.bool_]] = (found >= zone_c[0]) & (found <= zone_c[1])
        return within

    return inside


def renewed(maker: Maker, look: Look, wishes: Wishes) -> Outlook:
    """Make one look."""
    level = level_m(look.ground)
    asked = replace(wishes, in_zone=look.in_zone, bottom_m=level, ground=look.ground, fish_on=look.fish_on)
    return maker.renew(look.now, asked)


@dataclass(frozen=True, slots=True)
class _Question:
    number: int
    look: Look
    wishes: Wishes


@dataclass(frozen=True, slots=True)
class _Answer:
    number: int
    outlook: Outlook
    moving: frozenset[str]
    passing: tuple[Passed, ...]


class Lookout:
    """Looks ahead for a session. Any thread may use ``outlook``, ``trouble`` and ``plan``; the session's the rest.

    Parameters
    ----------
    spread
        For the rods' names.
    units
        Units of the advice's sentences.
    risk
        The risk of any crossing that limits of turns and speed allow.
    make
        Makes the maker, on the lookout's thread.
    every_s, calm_every_s
        Seconds of wall time from one look to the next; the second one, if longer, in the calm. With a longer one,
        a calm look also stands for ``STILL_EVERY_S`` while nothing changes.
    """

    def __init__(
        self,
        spread: Spread,
        units: DisplaySystem = SYSTEMS["us"],
        *,
        risk: float = RISK,
        make: Callable[[], Maker] = OutlookMaker,
        every_s: float = EVERY_S,
        calm_every_s: float = 0.0,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._units, self._risk, self._make, self._clock = units, risk, make, clock
        self._every_s, self._calm_every_s = every_s, max(every_s, calm_every_s)
        self._still_every_s = max(STILL_EVERY_S, calm_every_s) if calm_every_s > every_s else self._calm_every_s
        self._seen: Seen | None = None  # at the last look
        self._since: Seen | None = None  # at the last step that was compared with it
        self._alerts = ForecastAlerts({rod.key: rod.name for rod in spread.rods}, units)
        self._beside: Beside[_Question, _Answer] = Beside(self._work, "lookout")
        self._maker: Maker | None = None  # only the lookout's thread uses it
        self._asked, self._taken = 0, 0
        self._began_s = -math.inf  # wall time of the last look
        self._first_asked_s = -math.inf  # wall time of the first look after the last answer
        self._plan: Manoeuvre | None = None
        self._hurry = False
        self._outlook: Outlook | None = None

    def stop(self) -> None:
        """Stop, and wait a second or so for a look that is under way."""
        self._beside.stop()

    # -- any thread -------------------------------------------------------------------------------------------

    @property
    def outlook(self) -> Outlook | None:
        """The newest outlook with its standing alerts."""
        return self._outlook

    @property
    def trouble(self) -> str:
        """Why there is no new outlook, in one sentence. Empty while all is well."""
        if self._beside.trouble:
            return f"No forecast: {self._beside.trouble}"
        waited_s = 0.0 if self._idle() else self._clock() - self._first_asked_s
        if waited_s < LATE_S:
            return ""
        return f"No new forecast for {m_ss(waited_s)}: this computer has too much to do."

    def plan(self, manoeuvre: Manoeuvre | None) -> None:
        """Set the helm's plan. Looks include it from now on, and the next one comes as soon as possible."""
        self._plan, self._hurry = manoeuvre, True

    # -- the session's thread ---------------------------------------------------------------------------------

    def offer(self, watch: Watch) -> bool:
        """Take a finished look, and hand over a snapshot if wanted. Returns whether the outlook has changed."""
        changed = self._take()
        if self._outlook is not None and watch.now_s < self._outlook.t_s:
            changed = self.reset()  # a replay gone back
        if not self._wanted(self._clock(), watch):
            return changed
        look = look_from(watch)
        if look is None:
            gone = self._outlook is not None and watch.now_s - self._outlook.t_s > GONE_AFTER_S
            return self.reset() if gone else changed
        self._began_s, self._hurry = self._clock(), False
        self._seen = self._since = Seen.of(watch)
        if self._idle():
            self._first_asked_s = self._began_s
        self._asked += 1
        wishes = Wishes(plan=self._plan, units=self._units, set_risk=self._risk)
        self._beside.ask(_Question(self._asked, look, wishes))
        return changed

    def pass_over(self, watch: Watch) -> None:
        """Take no look, on the way to another moment, and drop what was seen from one too far away."""
        if self._outlook is None or not 0.0 <= self._outlook.age_s(watch.now_s) <= HOLE_S:
            self.reset()

    def acknowledge(self, alert_id: str) -> None:
        """Acknowledge one of its alerts. Nothing happens for another's id."""
        self._alerts.acknowledge(alert_id)
        if self._outlook is not None:
            self._outlook = replace(self._outlook, alerts=self._alerts.standing())

    def reset(self) -> bool:
        """Drop the outlook and the look under way: they belong to another moment."""
        self._outlook, self._taken = None, self._asked
        self._alerts.forget()
        return True

    def _wanted(self, wall_s: float, watch: Watch) -> bool:
        past_s = wall_s - self._began_s
        if self._beside.trouble:
            return past_s >= FAULT_RESTS_S
        if not self._idle():
            return self._beside.lost
        if self._hurry:
            return True
        pace = Pace(self._every_s, self._calm_every_s, self._still_every_s)
        return pace.is_due(past_s, watch.boat.rate_of_turn_deg_s, self._outlook, lambda: self._is_still(watch))

    def _is_still(self, watch: Watch) -> bool:
        """Whether nothing has changed since the last look. A step is compared with it once."""
        assert self._seen is not None
        assert self._since is not None
        if self._since.t_s != watch.t_s:
            self._since = Seen.of(watch)
        return self._since.is_still(self._seen)

    def _idle(self) -> bool:
        """Whether the newest look has its answer."""
        answer = self._beside.made
        return self._asked == (answer.number if answer is not None else 0)

    def _take(self) -> bool:
        answer = self._beside.made
        if answer is None or answer.number <= self._taken:
            return False
        self._taken = answer.number
        alerts = self._alerts.step(answer.outlook, answer.moving, answer.passing)
        self._outlook = replace(answer.outlook, alerts=alerts)
        return True

    # -- the lookout's thread ---------------------------------------------------------------------------------

    def _work(self, question: _Question) -> _Answer:
        maker, self._maker = self._maker or self._make(), None  # after a fault with a fresh one
        outlook = renewed(maker, question.look, question.wishes)
        self._maker = maker
        return _Answer(question.number, outlook, question.look.moving, passed(outlook, question.look.marked))
