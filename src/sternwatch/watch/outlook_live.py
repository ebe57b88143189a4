"""The outlook of a running session: an ensemble that follows the boat, and forecasts renewed from it.

A thread of its own owns an ``OutlookMaker`` and hands it one ``Situation`` after another, taken from the watch. It
shares nothing with the watch but these values.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.arrays import RodNow
from sternwatch.gear.spread import Spread
from sternwatch.gear.units import SYSTEMS, DisplaySystem
from sternwatch.hydro.rows import Flow
from sternwatch.hydro.separation import Required
from sternwatch.watch.advice import advise
from sternwatch.watch.ensemble import Fleet, advance, cast_of, reconcile, required_of, settled
from sternwatch.watch.outlook import Advice, Forecast, Limits, Outlook
from sternwatch.watch.outlook_make import InZone, forecast
from sternwatch.watch.outlook_path import Manoeuvre, Path, as_it_goes, hold
from sternwatch.watch.priors import Draws
from sternwatch.watch.turn_limit import RISK, Search, search_limits
from sternwatch.water.properties import Water

Floats = NDArray[np.float64]

# Over this long the rate of turn and the gain of speed are fitted: a yaw of ten degrees every eight seconds leaves
# less than LEAST_RATE_RAD_S of them.
SMOOTH_S = 20.0
# How far back an ensemble is started, so that its chains have forgotten the start.
WARM_UP_S = 300.0
LIMITS_EVERY_S = 20.0  # a new search begins so long after the last one began; it takes several renewals
LIMITS_SHARE_S = 0.5  # wall time per renewal spent on searching limits
ADVICE_EVERY_S = 6.0


@dataclass(frozen=True, slots=True)
class Situation:
    """What the outlook is made from. ``track`` (k, 5): t, north, east [m], heading [rad], speed [m/s], oldest first.

    The track lies in the frame that drifts with the surface water; its last row is now. ``rods``: those with a chain
    in the water, as they are now.
    """

    t_s: float
    spread: Spread
    rods: Mapping[str, RodNow]
    water: Water
    flow: Flow
    track: Floats
    plan: Manoeuvre | None = None
    bottom_m: float | None = None
    in_zone: InZone | None = None
    units: DisplaySystem = field(default_factory=lambda: SYSTEMS["us"])

    @property
    def speed_m_s(self) -> float:
        return float(self.track[-1, 4])


def trend(track: Floats, column: int, over_s: float = SMOOTH_S) -> float:
    """Least-squares slope of a column of the track over its last seconds; 0 before a quarter of them is known."""
    recent = track[track[:, 0] >= track[-1, 0] - over_s - 1e-6]
    if len(recent) < 3 or recent[-1, 0] - recent[0, 0] < 0.25 * over_s:
        return 0.0
    values = np.unwrap(recent[:, column]) if column == 3 else recent[:, column]
    t = recent[:, 0] - recent[:, 0].mean()
    return float((t * (values - values.mean())).sum() / (t * t).sum())


def turned_so_far(track: Floats, rate_rad_s: float) -> float:
    """How far the present turn has gone [rad], without sign: back to where ten seconds of it were no turn."""
    heading = np.unwrap(track[:, 3])
    least = 10.0 * 0.3 * abs(rate_rad_s)
    begin = len(track) - 1
    while begin > 0:
        before = int(np.searchsorted(track[:, 0], track[begin, 0] - 10.0))
        if (heading[begin] - heading[before]) * math.copysign(1.0, rate_rad_s) < least or before == begin:
            break
        begin -= 1
    return float(abs(heading[-1] - heading[begin]))


def going(situation: Situation) -> Manoeuvre:
    """The manoeuvre of "as it goes": half a circle in all, what has been turned of it taken off."""
    rate = trend(situation.track, 3)
    made = as_it_goes(rate, trend(situation.track, 4), situation.speed_m_s)
    if not made.turn_rad:
        return made
    left = math.pi - turned_so_far(situation.track, rate) % math.pi
    return Manoeuvre(
        made.name, math.copysign(left, rate), made.rate_rad_s,
        to_speed_m_s=made.to_speed_m_s, speed_change_s=made.speed_change_s,
    )  # fmt: skip


class OutlookMaker:
    """Follows the boat and makes outlooks. Not thread-safe: one thread owns it."""

    def __init__(self, seed: int = 0) -> None:
        self._draws = Draws(seed)
        self._fleets: tuple[Fleet, Fleet] | None = None  # all members, and the nominal one
        self._t_s = -math.inf
        self._known: tuple[Spread, dict[str, RodNow], Water] | None = None
        self._search: Search[Limits] | None = None
        self._search_began_s = -math.inf
        self._limits: Limits | None = None
        self._advice: tuple[Advice, ...] = ()
        self._advice_for = ""
        self._advised_s = -math.inf

    def renew(self, situation: Situation) -> Outlook:
        """All forecasts from a situation; the fleet is first brought there."""
        began = time.perf_counter()
        if not situation.rods or len(situation.track) < 2:
            self._fleets, self._limits, self._search = None, None, None
            return Outlook(situation.t_s, time.perf_counter() - began, ())
        fleets = self._follow(situation)
        required = required_of(situation.spread)
        manoeuvres = [hold(), going(situation)] + ([situation.plan] if situation.plan is not None else [])
        made = tuple(
            forecast(fleets[0], m, speed_m_s=situation.speed_m_s, required=required, in_zone=situation.in_zone)
            for m in manoeuvres
        )
        self._advise(situation, fleets, made, required)
        self._look_for_limits(situation, fleets[0], required)
        return Outlook(
            situation.t_s, time.perf_counter() - began, made, self._limits, self._advice, self._advice_for
        )  # fmt: skip

    # -- the fleet --------------------------------------------------------------------------------------------

    def _follow(self, situation: Situation) -> tuple[Fleet, Fleet]:
        track, known = situation.track, self._known
        rods = dict(situation.rods)
        same_boat = known is not None and known[0] is situation.spread
        behind = track[:, 0] < self._t_s - 1e-6
        begin = int(behind.sum())
        fits = begin < len(track) and abs(track[begin, 0] - self._t_s) < 1e-6
        if self._fleets is None or not same_boat or not fits:
            begin = int((track[:, 0] < situation.t_s - WARM_UP_S - 1e-6).sum())
            self._fleets = self._start(situation, track[begin])
        elif known is not None and known[1] != rods:
            self._fleets = self._change(situation, known[1], track[begin])
        path = _path(track[begin:])
        if len(path.time_s) > 1:
            self._fleets = (advance(self._fleets[0], path), advance(self._fleets[1], path))
        self._known, self._t_s = (situation.spread, rods, situation.water), situation.t_s
        return self._fleets

    def _start(self, situation: Situation, at: Floats) -> tuple[Fleet, Fleet]:
        members, nominal = (
            settled(
                cast_of(situation.spread, situation.rods, water=situation.water, flow=situation.flow, draws=draws),
                heading_rad=float(at[3]),
                speed_m_s=float(at[4]),
            )
            for draws in (self._draws, None)
        )
        return members, nominal

    def _change(self, situation: Situation, before: dict[str, RodNow], at: Floats) -> tuple[Fleet, Fleet]:
        assert self._fleets is not None
        fresh = self._start(situation, at)
        members, nominal = (
            reconcile(old, new, before, situation.rods) for old, new in zip(self._fleets, fresh, strict=True)
        )
        return members, nominal

    # -- what needs no answer every time ----------------------------------------------------------------------

    def _advise(
        self, situation: Situation, fleets: tuple[Fleet, Fleet], made: tuple[Forecast, ...], required: Required
    ) -> None:
        """Advice for the most likely crossing; kept for some seconds, for it costs more than a forecast."""
        risky = [one for one in made if (one.any_crossing or 0.0) > RISK]
        if not risky:
            self._advice, self._advice_for, self._advised_s = (), "", -math.inf
            return
        worst = max(risky, key=lambda one: one.any_crossing or 0.0)
        name = worst.manoeuvre.name
        if name == self._advice_for and situation.t_s - self._advised_s < ADVICE_EVERY_S:
            return
        self._advice = advise(
            fleets[0], fleets[1], worst.manoeuvre,
            speed_m_s=situation.speed_m_s, required=required, units=situation.units,
            names={rod.key: rod.name for rod in situation.spread.rods},
            pair=worst.worst.keys if worst.worst else None, before=worst.any_crossing or 0.0,
        )  # fmt: skip
        self._advice_for, self._advised_s = name, situation.t_s

    def _look_for_limits(self, situation: Situation, fleet: Fleet, required: Required) -> None:
        if self._search is None and situation.t_s - self._search_began_s >= LIMITS_EVERY_S:
            self._search_began_s = situation.t_s
            self._search = search_limits(
                fleet, situation.t_s, speed_m_s=situation.speed_m_s, required=required, bottom_m=situation.bottom_m,
                on_bottom=[rod.key for rod in situation.spread.rods if rod.bottom is not None],
            )  # fmt: skip
        until = time.perf_counter() + LIMITS_SHARE_S
        while self._search is not None and time.perf_counter() < until:
            try:
                next(self._search)
            except StopIteration as done:
                self._limits, self._search = done.value, None


def _path(track: Floats) -> Path:
    """A track that was sailed, as a path from its first row."""
    return Path(
        time_s=track[:, 0] - track[0, 0],
        north_m=track[:, 1] - track[0, 1],
        east_m=track[:, 2] - track[0, 2],
        heading_rad=np.unwrap(track[:, 3]),
        speed_m_s=track[:, 4],
        starts_s=0.0,
        ends_s=0.0,
    )
