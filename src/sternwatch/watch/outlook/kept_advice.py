"""Keeps advice for some seconds from one renewal to the next, because it costs more than a forecast.

A renewal makes at most one new advice against a crossing and one against a touch, the most pressing first. Only
feed time decides when, so that the same streams give the same advice. A given cure of a crossing stays until it
fails: a helm that has begun one thing is not told another.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.chains.ensemble import Fleet
from sternwatch.watch.forecast.bottom_ahead import Ground, on_purpose, touches
from sternwatch.watch.forecast.slowed import SLOWED
from sternwatch.watch.outlook.advice import Danger, advise_touch, find_cures
from sternwatch.watch.outlook.changes import Change, again, radius_m
from sternwatch.watch.picture.manoeuvre import PLAN, side_of
from sternwatch.watch.picture.outlook import RISK, Advice, Forecast, Limits, SideLimit

EVERY_S = 6.0
# From one advice against a touch to the next, about any rod: where all touch, each waits its turn.
APART_S = 4.0
KEPT_S = 30.0  # a cure is remembered this long after its danger was last there


@dataclass(frozen=True)
class Case:
    """What advice depends on: where every chain is, and what the crew wants."""

    t_s: float
    spread: Spread
    fleet: Fleet
    speed_m_s: float
    required: Required
    units: DisplaySystem
    set_risk: float
    ground: Ground | None


@dataclass(slots=True)
class Counsel:
    """The advice of one session. Not thread-safe: one thread owns it."""

    crossing: tuple[Advice, ...] = ()
    crossing_for: str = ""  # the name of the manoeuvre that it cures
    limit: SideLimit | None = None  # how tight she may go on turning, if a slower turn cures
    _crossing_s: float = -math.inf
    _kept: list[tuple[Change, float]] = field(default_factory=list)
    _kept_for: str = ""
    _kept_s: float = -math.inf  # last time with something to cure
    _touch_s: float = -math.inf
    _touch: dict[tuple[str, str], tuple[float, tuple[Advice, ...]]] = field(default_factory=dict)

    def copy(self) -> Counsel:
        return replace(self, _kept=list(self._kept), _touch=dict(self._touch))

    def with_touches(self, case: Case, made: tuple[Forecast, ...]) -> tuple[Forecast, ...]:
        """Every forecast with the rods that touch the bottom in it, and the advice against it."""
        if case.ground is None:
            self._touch.clear()
            return made
        meant = on_purpose(case.spread)
        found = {one.manoeuvre.name: touches(one, case.ground, meant) for one in made}
        told = [(one, touch) for one in made for touch in found[one.manoeuvre.name]]
        kept = {(one.manoeuvre.name, touch.key) for one, touch in told}
        self._touch = {about: given for about, given in self._touch.items() if about in kept}
        # The effect of slowing for a fish gets no cure: the cure is not to slow.
        stale = [
            (one, touch)
            for one, touch in told
            if one.manoeuvre.name != SLOWED and self._age_s(case, one.manoeuvre.name, touch.key) >= EVERY_S
        ]
        if stale and case.t_s - self._touch_s >= APART_S:
            self._touch_s = case.t_s
            # The oldest advice first, so that no rod keeps another waiting; of equals the soonest touch.
            one, touch = min(stale, key=lambda entry: (
                entry[0].manoeuvre.name == PLAN, -self._age_s(case, entry[0].manoeuvre.name, entry[1].key),
                entry[1].time_s,
            ))  # fmt: skip
            given = advise_touch(
                case.fleet, replace(one, touches=found[one.manoeuvre.name]), touch.key, case.ground,
                speed_m_s=case.speed_m_s, required=case.required, units=case.units, names=_names(case),
                set_risk=case.set_risk, on_bottom=meant,
            )  # fmt: skip
            self._touch[one.manoeuvre.name, touch.key] = (case.t_s, given)
        return tuple(
            replace(one, touches=tuple(
                replace(touch, advice=self._touch.get((one.manoeuvre.name, touch.key), (0.0, ()))[1])
                for touch in found[one.manoeuvre.name]
            ))
            for one in made
        )  # fmt: skip

    def _age_s(self, case: Case, name: str, key: str) -> float:
        given = self._touch.get((name, key))
        return math.inf if given is None else case.t_s - given[0]

    def on_crossings(self, case: Case, made: tuple[Forecast, ...], limits: Limits | None = None) -> None:
        """Renew the advice against the most likely crossing when it is due.

        ``limits``: the tightest turns as far as known; an advised turn is no tighter.
        """
        self.limit = None
        risky = [one for one in made if one.known_crossing > case.set_risk]
        if not risky:
            self.crossing, self.crossing_for, self._crossing_s = (), "", -math.inf
            return
        worst = max(risky, key=_pressing)
        name = worst.manoeuvre.name
        if name != self._kept_for or case.t_s - self._kept_s > KEPT_S:
            self._kept, self._crossing_s = [], -math.inf
        self._kept_for, self._kept_s = name, case.t_s
        busy = self._touch_s == case.t_s  # the advice against a touch has priority: one thing at a time
        if self.crossing_for != name or not (busy or case.t_s - self._crossing_s < EVERY_S):
            danger = Danger(
                case.fleet, worst, case.speed_m_s, case.required, case.set_risk, case.ground, on_purpose(case.spread)
            )
            self._kept = _still(danger, self._kept) or find_cures(
                danger, case.units, _least_m(worst, limits, case.speed_m_s)
            )
            self.crossing = danger.advice(self._kept, case.units, _names(case))
            self.crossing_for, self._crossing_s = name, case.t_s
        if worst.manoeuvre.turn_rad and name != PLAN:
            self.limit = _limit(worst, self._kept, case)


def _pressing(made: Forecast) -> tuple[bool, bool, float]:
    """Sort key: what the boat does before what the helm only plans, and a turn under way before holding on."""
    real = _likely(made) and made.manoeuvre.name != PLAN
    return real, real and made.manoeuvre.turn_rad != 0.0, made.known_crossing


def _still(danger: Danger, kept: list[tuple[Change, float]]) -> list[tuple[Change, float]]:
    """The earlier cures that still cure, in their order. None where the first has failed."""
    holding: list[tuple[Change, float]] = []
    for change, _ in kept:
        now = again(change, danger.made.manoeuvre, danger.speed_m_s)
        after = None if now is None else danger.left(now)
        if now is not None and after is not None and after <= danger.set_risk:
            holding.append((now, after))
        elif not holding:
            return []
    return holding


def _least_m(made: Forecast, limits: Limits | None, speed_m_s: float) -> float:
    """The limit of a half circle's side. Easing to a tighter turn than this would break it."""
    turn, now_m = made.manoeuvre, radius_m(made.manoeuvre, speed_m_s)
    if limits is None or now_m is None or turn.name == PLAN:
        return 0.0
    return limits.of(side_of(turn.turn_rad)).radius_m or 0.0


def _limit(made: Forecast, kept: list[tuple[Change, float]], case: Case) -> SideLimit:
    """How tight she may go on turning, from the cure. Without a radius where no slower turn cures."""
    side = side_of(made.manoeuvre.turn_rad)
    by = made.worst.keys if made.worst is not None else None
    for change, after in kept:
        radius = radius_m(change.manoeuvre, case.speed_m_s) if change.kind == "turn" else None
        if radius is not None and after <= case.set_risk:
            rate = math.degrees(case.speed_m_s / radius)
            return SideLimit(side, radius, rate, 180.0 / rate, by, ((radius, after),))
    return SideLimit(side, None, None, None, by, ())


def _names(case: Case) -> dict[str, str]:
    return {rod.key: rod.name for rod in case.spread.rods}


def _likely(made: Forecast) -> bool:
    return made.known_crossing >= RISK
