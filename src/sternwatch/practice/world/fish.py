"""Fish: when they strike, how long they fight, when they are lost; also releases that open without a fish.

Every lure has a rate of strikes that depends on its water and its motion: highest in the zone, and higher while it
rises or quickens (common practice among trolling crews, no source). The rate is integrated until it reaches a number
drawn from the exponential law. So strikes are a Poisson process whose draws do not depend on the steering. After one
strike others are likelier for a while, which makes doubles.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from sternwatch.logbook.crew.state import Crew, CrewHit
from sternwatch.practice.drills.model import FishSpec, StrikeSpec
from sternwatch.practice.world.truth import TruePlace

StrikeKind = Literal["fish", "false release"]

# All below is memory, nothing published: rates, doubles, fights, and how fish are lost.
OUTSIDE_C: Final = 1.5  # the rate falls off outside the zone by a bell of this width
RISING: Final = 12.0  # per m/s that a lure rises: 0.1 m/s doubles the rate, and more
QUICKENING: Final = 6.0  # per m/s^2
MOST: Final = 4.0  # the greatest factor on a lure's attraction
DOUBLE: Final = 5.0  # times the rate on the others ...
DOUBLE_S: Final = 45.0  # ... for so long after a strike
KEY_WITHIN_S: Final = 20.0  # a hit entered within this time of the strike belongs to it
KEY_BEFORE_S: Final = 2.0
IN_THE_WATER: Final = ("fishing", "letting out")  # fish also strike a lure on its way out
TELLS_S: Final = 20.0  # time until the crew know whether a fish is there
SHAKES_OFF_S: Final = 60.0  # with nobody at the rod
FIGHT_S: Final = 75.0
TOWED_OFF_M_S: Final = 1.5  # a fish dragged faster than this tears off in the end
TEARS_PER_S: Final = 1.0 / 40.0


@dataclass(frozen=True, slots=True)
class Strike:
    """A rod goes off. A while later the crew find out whether a fish is there."""

    id: str
    t_s: float
    key: str
    kind: StrikeKind
    fight_s: float
    work_s: float = 0.0  # time fought so far
    ready_s: float | None = None  # at the net
    off_s: float | None = None  # gone


@dataclass(slots=True)
class Fish:
    """All strikes of a session."""

    spec: FishSpec
    planned: tuple[StrikeSpec, ...]
    seed: int
    strikes: list[Strike] = field(default_factory=list)
    _owed: dict[str, float] = field(default_factory=dict)
    _drawn: dict[str, int] = field(default_factory=dict)
    _speed: dict[str, float] = field(default_factory=dict)
    _done: set[int] = field(default_factory=set)
    _last_s: float = -math.inf

    def step(
        self,
        t_s: float,
        dt_s: float,
        drill_s: float,
        turned_deg: float,
        speed_m_s: float,
        places: Mapping[str, TruePlace],
        crew: Crew,
    ) -> None:
        """Go on by the ``dt_s`` before ``t_s``. Nothing strikes before the drill begins."""
        if drill_s >= 0.0:
            fishing = {key: place for key, place in places.items() if crew.rods[key].state in IN_THE_WATER}
            busy = {strike.key for strike in self.strikes if strike.off_s is None and not self._over(strike, crew)}
            free = {key: place for key, place in fishing.items() if key not in busy}
            self._planned(t_s, drill_s, turned_deg, free)
            for key, place in sorted(free.items()):
                self._chance(t_s, dt_s, key, place)
        self._speed = {key: place.lure_speed_m_s for key, place in places.items()}
        self.strikes = [self._fought(strike, t_s, dt_s, speed_m_s, crew) for strike in self.strikes]

    # -- strikes -----------------------------------------------------------------------------------------------

    def _planned(self, t_s: float, drill_s: float, turned_deg: float, free: Mapping[str, TruePlace]) -> None:
        for i, plan in enumerate(self.planned):
            if i in self._done or plan.rod not in free:
                continue
            by_time = plan.at_s is not None and drill_s >= plan.at_s
            turned = plan.turned is not None and turned_deg * math.copysign(1.0, plan.turned) >= abs(plan.turned)
            if by_time or turned:
                self._done.add(i)
                self._strike(t_s, plan.rod, plan.kind, plan.fight_s)

    def _chance(self, t_s: float, dt_s: float, key: str, place: TruePlace) -> None:
        fish = dt_s / 3600.0 * self.spec.per_hour * self._appeal(t_s, dt_s, key, place)
        if self._falls_due(f"{key} fish", fish):
            rng = random.Random(f"{self.seed} fight {key} {t_s:.1f}")
            self._strike(t_s, key, "fish", FIGHT_S * rng.uniform(0.6, 1.6))
        elif self._falls_due(f"{key} false", dt_s / 3600.0 * self.spec.false_per_hour):
            self._strike(t_s, key, "false release", 0.0)

    def _appeal(self, t_s: float, dt_s: float, key: str, place: TruePlace) -> float:
        low, high = self.spec.zone_c
        outside = max(low - place.temperature_c, place.temperature_c - high, 0.0)
        appeal = math.exp(-0.5 * (outside / OUTSIDE_C) ** 2)
        rises = max(-place.vertical_m_s, 0.0)
        quickens = max(place.lure_speed_m_s - self._speed.get(key, place.lure_speed_m_s), 0.0) / dt_s
        appeal *= min(1.0 + RISING * rises + QUICKENING * quickens, MOST)
        return appeal * (DOUBLE if t_s - self._last_s < DOUBLE_S else 1.0)

    def _falls_due(self, name: str, rate: float) -> bool:
        owed = self._owed.get(name)
        if owed is None:
            owed = self._draw(name)
        owed -= rate
        due = owed <= 0.0
        self._owed[name] = self._draw(name) if due else owed
        return due

    def _draw(self, name: str) -> float:
        number = self._drawn[name] = self._drawn.get(name, 0) + 1
        return random.Random(f"{self.seed} {name} {number}").expovariate(1.0)

    def _strike(self, t_s: float, key: str, kind: StrikeKind, fight_s: float) -> None:
        self._last_s = t_s
        self.strikes.append(Strike(f"s{len(self.strikes) + 1}", t_s, key, kind, fight_s))

    # -- fights ------------------------------------------------------------------------------------------------

    def _fought(self, strike: Strike, t_s: float, dt_s: float, speed_m_s: float, crew: Crew) -> Strike:
        if strike.off_s is not None or self._over(strike, crew):
            return strike
        if strike.kind == "false release":
            return replace(strike, off_s=t_s) if t_s - strike.t_s >= TELLS_S else strike
        if keyed(strike, crew) is None:
            return replace(strike, off_s=t_s) if t_s - strike.t_s > SHAKES_OFF_S else strike
        if speed_m_s > TOWED_OFF_M_S and self._falls_due(f"{strike.id} tears", dt_s * TEARS_PER_S):
            return replace(strike, off_s=t_s)
        # The boat's way also pulls against the fish.
        eased = min(max((1.5 - speed_m_s) / 0.7, 0.2), 1.0)
        work = strike.work_s + eased * dt_s
        ready = t_s if strike.ready_s is None and work >= strike.fight_s else strike.ready_s
        return replace(strike, work_s=work, ready_s=ready)

    def _over(self, strike: Strike, crew: Crew) -> bool:
        hit = keyed(strike, crew)
        return hit is not None and hit.outcome is not None


def keyed(strike: Strike, crew: Crew) -> CrewHit | None:
    """The crew's hit for a strike: on its rod, near its time."""
    for hit in crew.hits:
        if hit.rod != strike.key or hit.when.elapsed_s is None or hit.doubtful:
            continue
        if -KEY_BEFORE_S <= hit.when.elapsed_s - strike.t_s <= KEY_WITHIN_S:
            return hit
    return None


def right(strike: Strike, crew: Crew) -> bool:
    """Whether the crew's entries about a strike are right, as far as they exist."""
    hit = keyed(strike, crew)
    if hit is None:
        return False
    if strike.kind == "false release":
        return hit.outcome == "no fish"
    if strike.off_s is not None and hit.outcome is not None:
        return hit.outcome in ("dropped", "freed")
    return hit.outcome in (None, "boxed", "freed")


def landed(strike: Strike, crew: Crew) -> bool:
    """Whether the fish reached the net, to be kept or freed."""
    hit = keyed(strike, crew)
    return strike.ready_s is not None and hit is not None and hit.outcome in ("boxed", "freed")
