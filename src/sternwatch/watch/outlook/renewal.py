"""Renews the outlook of a running session from snapshots of the watch.

One thread owns an ``OutlookMaker``. It shares only the snapshots with the watch.
"""

from __future__ import annotations

import copy
import math
import time
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem
from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.boat.manoeuvres import as_it_goes, hold, is_held
from sternwatch.watch.chains.ensemble import Fleet, required_of
from sternwatch.watch.forecast.bottom_ahead import Ground, on_purpose
from sternwatch.watch.forecast.make import InZone, forecast
from sternwatch.watch.forecast.slowed import slowing
from sternwatch.watch.forecast.snapshot import Casting, Snapshot
from sternwatch.watch.forecast.turn_limit import Search, search_limits
from sternwatch.watch.outlook.kept_advice import Case, Counsel
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import RISK, Forecast, Limits, Outlook

Floats = NDArray[np.float64]

# Time over which rate of turn and gain of speed are fitted. A yaw of ten degrees every eight seconds adds
# less than LEAST_RATE_RAD_S.
SMOOTH_S = 20.0
LEAST_SAMPLES = 6  # samples in that time; with fewer (a fast replay) the watch's own rate of turn is used
REMEMBERED_S = 600.0
LIMITS_EVERY_S = 20.0  # time from the beginning of one search to the next; a search takes several renewals
# The same while she holds course and speed with the same lines out: the next search would find the same.
# It tries only the edges of the last again, but all of it after WHOLE_EVERY_S.
STEADY_EVERY_S, WHOLE_EVERY_S = 150.0, 600.0
OLD_S = 120.0  # older limits are of another state of the lines, unless nothing that they depend on has changed
# Changes below these count as none: shares of speed, bottom and a lure's depth, and of line out and such a depth.
STEADY, STEADY_LINE_M = 0.03, 0.3
LIMITS_SHARE_S = 0.4  # wall time for the search of limits in each renewal, for renewals USUAL_S apart
USUAL_S, MOST_SHARES = 2.0, 3.0


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the crew wants of the outlook, besides the watch's own knowledge."""

    plan: Manoeuvre | None = None
    bottom_m: float | None = None  # level bottom that nothing may touch; None: unknown
    in_zone: InZone | None = None
    units: DisplaySystem = field(default_factory=lambda: SYSTEMS["us"])
    set_risk: float = RISK
    ground: Ground | None = None  # the soundings, and where the boat is over them
    fish_on: bool = False  # also forecast the effect of slowing
    limits_share_s: float = LIMITS_SHARE_S  # 0: no limits, and an outlook that depends on no clock
    alerts_only: bool = False  # nobody looks at it: only what alerts and their advice need


class Helm:
    """How the boat was steered: enough to distinguish a turn from a yaw."""

    def __init__(self) -> None:
        self._past: deque[tuple[float, float, float]] = deque()  # t, heading [rad, not wrapped], speed

    def copy(self) -> Helm:
        own = Helm()
        own._past = self._past.copy()
        return own

    def take(self, now: Snapshot) -> None:
        heading = now.heading_rad
        if self._past:
            t, before, _ = self._past[-1]
            if not 0.0 < now.t_s - t <= SMOOTH_S:
                self._past.clear()
            else:
                heading = before + math.remainder(heading - before, math.tau)
        self._past.append((now.t_s, heading, now.speed_m_s))
        while self._past[0][0] < now.t_s - REMEMBERED_S:
            self._past.popleft()

    def trend(self, column: int) -> float | None:
        """Least-squares slope of heading (1) or speed (2) over the last seconds [per s]. None if unknown."""
        past = np.array(self._past)
        recent = past[past[:, 0] >= past[-1, 0] - SMOOTH_S - 1e-6]
        if len(recent) < LEAST_SAMPLES or recent[-1, 0] - recent[0, 0] < 0.85 * SMOOTH_S:
            return None
        t = recent[:, 0] - recent[:, 0].mean()
        return float((t * (recent[:, column] - recent[:, column].mean())).sum() / (t * t).sum())

    def turned(self, rate_rad_s: float) -> float:
        """How far the present turn has gone [rad, no sign], since the last ten seconds without a turn."""
        past = np.array(self._past)
        least = 10.0 * 0.3 * abs(rate_rad_s)
        begin = len(past) - 1
        while begin > 0:
            before = min(int(np.searchsorted(past[:, 0], past[begin, 0] - 10.0)), begin - 1)
            gone = (past[begin, 1] - past[before, 1]) * math.copysign(1.0, rate_rad_s)
            if gone < least * (past[begin, 0] - past[before, 0]) / 10.0:
                break
            begin -= 1
        return float(abs(past[-1, 1] - past[begin, 1]))

    def going(self, now: Snapshot) -> Manoeuvre:
        """The manoeuvre "as it goes": the rest of a half circle after what has been turned."""
        rate = self.trend(1)
        if rate is None:
            rate = now.rate_rad_s
        made = as_it_goes(rate, self.trend(2) or 0.0, now.speed_m_s, now.usual_m_s)
        if not made.turn_rad:
            return made
        left = math.pi - self.turned(rate) % math.pi
        return Manoeuvre(
            made.name, math.copysign(left, made.turn_rad), made.rate_rad_s,
            to_speed_m_s=made.to_speed_m_s, speed_change_s=made.speed_change_s,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Searched:
    """What a search of limits depends on, besides the shapes of the chains and the spread."""

    steady: bool  # she held course and speed
    speed_m_s: float  # the mean of the last seconds
    line_m: Floats  # of every chain
    depth_m: Floats  # of every lure, in every member
    bottom_m: float | None
    set_risk: float

    def is_like(self, other: _Searched) -> bool:
        """Whether a search now would begin from nearly the same: chains are settled on a held course."""
        speed = abs(other.speed_m_s - self.speed_m_s) <= STEADY * self.speed_m_s
        lines = self.line_m.shape == other.line_m.shape and bool(
            np.all(np.abs(other.line_m - self.line_m) <= STEADY_LINE_M)
        )
        lures = self.depth_m.shape == other.depth_m.shape and np.allclose(
            other.depth_m, self.depth_m, rtol=STEADY, atol=STEADY_LINE_M, equal_nan=True
        )
        here, there = self.bottom_m, other.bottom_m
        level = here is there if here is None or there is None else abs(there - here) <= STEADY * here
        return (
            self.steady and other.steady and speed and lines and lures and level and self.set_risk == other.set_risk
        )


def _forecasts(
    fleet: Fleet, asked: Sequence[Manoeuvre], speed_m_s: float, required: Required, wishes: Wishes
) -> tuple[Forecast, ...]:
    """Of every manoeuvre. One that holds course and speed is run once, whatever its name: a quiet watch halves."""
    held: Forecast | None = None
    out = []
    for manoeuvre in asked:
        if is_held(manoeuvre) and held is not None:
            out.append(replace(held, manoeuvre=manoeuvre))
            continue
        made = forecast(
            fleet, manoeuvre, speed_m_s=speed_m_s, required=required, in_zone=wishes.in_zone,
            alerts_only=wishes.alerts_only,
        )  # fmt: skip
        held = made if is_held(manoeuvre) else held
        out.append(made)
    return tuple(out)


class OutlookMaker:
    """Makes outlooks. Not thread-safe: one thread owns it."""

    def __init__(self) -> None:
        self._casting = Casting()
        self._helm = Helm()
        self._spread: Spread | None = None
        self._search: Search[Limits] | None = None
        self._search_began_s = -math.inf
        self._searched: _Searched | None = None  # what the present search depends on, or the last one
        self._found_for: _Searched | None = None  # what the limits found depend on
        self._searched_s = math.inf  # wall time of the last part of a search
        self._whole_s = -math.inf  # when the last search of all began
        self._found: Limits | None = None  # the result of the last search
        self._limits: Limits | None = None  # the same, with the cure of a turn
        self._counsel = Counsel()
        self._t_s = -math.inf

    def copy(self) -> OutlookMaker:
        """One that goes on from here by itself. A search of limits under way begins anew in it."""
        own = copy.copy(self)
        own._casting, own._helm, own._counsel, own._search = (
            self._casting.copy(), self._helm.copy(), self._counsel.copy(), None,
        )  # fmt: skip
        return own

    def renew(self, now: Snapshot, wishes: Wishes | None = None) -> Outlook:
        """All forecasts from a snapshot, with limits and advice as far as they are ready."""
        began = time.perf_counter()
        wishes = wishes or Wishes()
        if now.t_s < self._t_s or now.spread is not self._spread:
            self._forget()
        self._spread, self._t_s = now.spread, now.t_s
        self._helm.take(now)
        fleet = self._casting.fleet(now)
        required = required_of(now.spread)
        manoeuvres = [hold(), self._helm.going(now)] + ([wishes.plan] if wishes.plan is not None else [])
        asked = [*manoeuvres, slowing(now.speed_m_s)] if wishes.fish_on else manoeuvres
        made = _forecasts(fleet, asked, now.speed_m_s, required, wishes)
        state = _Searched(
            is_held(manoeuvres[1]),
            now.speed_m_s if now.mean_m_s is None else now.mean_m_s,
            fleet.cast.rows.rest_m.sum(axis=1),
            fleet.state.position_m[:, -1, 2].copy(),
            wishes.bottom_m,
            wishes.set_risk,
        )
        case = Case(
            now.t_s, now.spread, fleet, now.speed_m_s, required, wishes.units, wishes.set_risk, wishes.ground
        )  # fmt: skip
        made, slowed = self._counsel.with_touches(case, made), None
        if wishes.fish_on:
            *others, slowed = made
            made = tuple(others)
        self._counsel.on_crossings(case, made, self._limits_of(now.t_s, state))
        self._look_for_limits(now, wishes, fleet, required, state)
        if self._limits is not None and (limit := self._counsel.limit) is not None:
            # In a turn with a crossing, the limit of its side is the cure shown to the helm.
            port = limit.side == "port"
            self._limits = replace(self._limits, port=limit) if port else replace(self._limits, starboard=limit)
        return Outlook(
            now.t_s, time.perf_counter() - began, made, self._limits_of(now.t_s, state), self._counsel.crossing,
            self._counsel.crossing_for, if_slowed=slowed,
        )  # fmt: skip

    def _limits_of(self, t_s: float, state: _Searched) -> Limits | None:
        """The limits found, unless they are old and of another state: then they are unknown until found anew."""
        limits, found_for = self._limits, self._found_for
        if limits is None or found_for is None or t_s - limits.t_s <= OLD_S:
            return limits
        return limits if t_s - limits.t_s <= WHOLE_EVERY_S and found_for.is_like(state) else None

    def _forget(self) -> None:
        """Drop all results after a change of spread or a replay that went back."""
        self._helm = Helm()
        self._search, self._found, self._limits, self._searched = None, None, None, None
        self._search_began_s = self._whole_s = -math.inf
        self._counsel = Counsel()

    def _look_for_limits(
        self, now: Snapshot, wishes: Wishes, fleet: Fleet, required: Required, state: _Searched
    ) -> None:
        if not wishes.limits_share_s:
            return
        before = self._found if self._searched is not None and self._searched.is_like(state) else None
        every_s = LIMITS_EVERY_S if before is None else STEADY_EVERY_S
        if self._search is None and now.t_s - self._search_began_s >= every_s:
            self._search_began_s, self._searched = now.t_s, state
            if now.t_s - self._whole_s >= WHOLE_EVERY_S:
                before = None
            if before is None:
                self._whole_s = now.t_s
            self._search = search_limits(
                fleet, now.t_s, speed_m_s=now.speed_m_s, required=required, bottom_m=wishes.bottom_m,
                on_bottom=on_purpose(now.spread), set_risk=wishes.set_risk, before=before,
            )  # fmt: skip
        began, last = time.perf_counter(), self._searched_s
        # The same share of the time where looks are farther apart.
        until = began + wishes.limits_share_s * min(max((began - last) / USUAL_S, 1.0), MOST_SHARES)
        self._searched_s = began
        while self._search is not None and time.perf_counter() < until:
            try:
                next(self._search)
            except StopIteration as done:
                self._found = self._limits = done.value
                self._found_for = self._searched
                self._search = None
