"""Advice from one renewal to the next: kept for some seconds, for it costs more than a forecast.

At most one advice against a crossing and one against a touch is made anew in a renewal, the most pressing first; by
feed time alone, so that the same streams give the same advice.
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
from sternwatch.watch.outlook.advice import advise, advise_touch
from sternwatch.watch.picture.manoeuvre import PLAN
from sternwatch.watch.picture.outlook import RISK, Advice, Forecast

EVERY_S = 6.0
# From one advice against a touch to the next, about whichever rod: where all touch each waits its turn.
APART_S = 4.0


@dataclass(frozen=True)
class Case:
    """What advice is given on: where every chain is, and what the crew asks."""

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
    """Of one session. Not thread-safe: one thread owns it."""

    crossing: tuple[Advice, ...] = ()
    crossing_for: str = ""  # the name of the manoeuvre that it cures
    _crossing_s: float = -math.inf
    _touch_s: float = -math.inf
    _touch: dict[tuple[str, str], tuple[float, tuple[Advice, ...]]] = field(default_factory=dict)

    def with_touches(self, case: Case, made: tuple[Forecast, ...]) -> tuple[Forecast, ...]:
        """Every forecast with the rods that come to the bottom in it, and what keeps them off."""
        if case.ground is None:
            self._touch.clear()
            return made
        meant = on_purpose(case.spread)
        found = {one.manoeuvre.name: touches(one, case.ground, meant) for one in made}
        told = [(one, touch) for one in made for touch in found[one.manoeuvre.name]]
        kept = {(one.manoeuvre.name, touch.key) for one, touch in told}
        self._touch = {about: given for about, given in self._touch.items() if about in kept}
        # What slowing for a fish would do is told and not cured: one just does not slow.
        stale = [
            (one, touch)
            for one, touch in told
            if one.manoeuvre.name != SLOWED and self._age_s(case, one.manoeuvre.name, touch.key) >= EVERY_S
        ]
        if stale and case.t_s - self._touch_s >= APART_S:
            self._touch_s = case.t_s
            # The oldest advice first, so that one rod does not keep another waiting; of equals the soonest touch.
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

    def on_crossings(self, case: Case, made: tuple[Forecast, ...]) -> None:
        """Renew the advice against the most likely crossing where it is time to."""
        risky = [one for one in made if (one.any_crossing or 0.0) > case.set_risk]
        if not risky:
            self.crossing, self.crossing_for, self._crossing_s = (), "", -math.inf
            return
        # What the boat does comes before what the helm only thinks of.
        worst = max(risky, key=lambda one: (_likely(one) and one.manoeuvre.name != PLAN, one.any_crossing or 0.0))
        name = worst.manoeuvre.name
        busy = self._touch_s == case.t_s  # with a touch: one thing at a time
        if name == self.crossing_for and (busy or case.t_s - self._crossing_s < EVERY_S):
            return
        self.crossing = advise(
            case.fleet, worst,
            speed_m_s=case.speed_m_s, required=case.required, units=case.units, names=_names(case),
            set_risk=case.set_risk, ground=case.ground, on_bottom=on_purpose(case.spread),
        )  # fmt: skip
        self.crossing_for, self._crossing_s = name, case.t_s


def _names(case: Case) -> dict[str, str]:
    return {rod.key: rod.name for rod in case.spread.rods}


def _likely(made: Forecast) -> bool:
    return (made.any_crossing or 0.0) >= RISK
