"""A current that the legs taught only later, carried back over these legs.

Before the boat has turned nobody can tell the current from her own speed, so by GPS alone speeds and depths are off
by it. Once it is told, what was kept since the legs began gets the speed and depth that are believed now.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from sternwatch.answers.belief.observations import Observation, What, see
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.store.samples import BoatRow, HitRow, RodRow, Sample, quantised
from sternwatch.watch.memory.sample_rows import rig_of
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.model import SpeedSource
from sternwatch.water.profile import TemperatureProfile
from sternwatch.water.properties import Water

# A current of longer ago is another one (memory: it turns within hours).
MOST_BACK_S = 3600.0
# The steady depth is asked at her speed and at this much of it; between them it goes as a power of the speed.
QUICKER = 1.15
SAYS = "speed and depth by a current learnt later"

Set = tuple[str, float | None, str | None, float | None]
"""A rod, its line out, setting and lead."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """A current of the surface water over ground, (north, east), and the feed time that it is carried back over."""

    since_s: float
    until_s: float
    current_m_s: tuple[float, float]
    before_m_s: tuple[float, float]  # what the depths were computed with
    speed_m_s: float  # through the water
    spread: Spread
    column: TemperatureProfile
    water: Water
    _powers: dict[tuple[int, Set], tuple[Spread, float]] = field(default_factory=dict, compare=False)

    def covers(self, at_s: float) -> bool:
        """Whether a moment lies on the legs that taught it."""
        return self.since_s <= at_s <= self.until_s

    def boat(self, row: BoatRow) -> BoatRow | None:
        """The boat at a moment by this current; None where speed over ground did not drive the depths."""
        if row.stw_m_s is not None or row.sog_m_s is None or row.course_deg is None or row.speed_m_s is None:
            return None
        a = math.radians(row.course_deg)
        ground = (row.sog_m_s * math.cos(a), row.sog_m_s * math.sin(a))
        change = _length(ground, self.current_m_s) - _length(ground, self.before_m_s)
        return replace(row, speed_m_s=quantised("speed_m_s", max(row.speed_m_s + change, 0.0)))

    def rod(self, spread: Spread, row: RodRow, was_m_s: float | None, now_m_s: float | None) -> RodRow:
        """A rod at a moment at which the boat went ``now_m_s`` through the water, not ``was_m_s``."""
        if row.depth_m is None or not was_m_s or not now_m_s:
            return row
        ratio = (now_m_s / was_m_s) ** self._power(spread, row)
        clear, flow, depth_m = row.clearance_m, row.lure_speed_m_s, row.depth_m * ratio
        return replace(
            row,
            depth_m=quantised("depth_m", depth_m),
            depth_low_m=quantised("depth_low_m", None if row.depth_low_m is None else row.depth_low_m * ratio),
            depth_high_m=quantised("depth_high_m", None if row.depth_high_m is None else row.depth_high_m * ratio),
            lure_speed_m_s=quantised("lure_speed_m_s", None if flow is None else max(flow + now_m_s - was_m_s, 0.0)),
            clearance_m=quantised("clearance_m", None if clear is None else clear + row.depth_m - depth_m),
            temperature_c=quantised(
                "temperature_c", None if row.temperature_c is None else self.column.temperature_c(depth_m)
            ),
        )

    def _power(self, spread: Spread, row: RodRow) -> float:
        """How a rod's steady depth goes with the speed; 0 where none is known."""
        as_set = (row.rig.rod, row.line_out_m, row.rig.setting or None, row.lead_m)
        made = self._powers.get((id(spread), as_set))
        if made is None:
            at, quicker = (self._depth_m(spread, as_set, self.speed_m_s * by) for by in (1.0, QUICKER))
            known = math.isfinite(at) and math.isfinite(quicker) and at > 0.0 and quicker > 0.0
            power = math.log(quicker / at) / math.log(QUICKER) if known else 0.0
            made = self._powers[id(spread), as_set] = (spread, power)
        return made[1]

    def _depth_m(self, spread: Spread, as_set: Set, speed_m_s: float) -> float:
        key, line_out_m, setting, lead_m = as_set
        if spread.rod_by_key(key) is None:
            return math.nan
        now = RodNow(line_out_m, setting, lead_m)
        asked = Observation("", key, What.DEPTH, math.nan, math.nan, speed_m_s, "", now=now, water=self.water)
        return see(spread, asked, {}).of(What.DEPTH, "lure")


@dataclass(slots=True)
class Learning:
    """The currents that a session learnt from its legs. ``step`` alone changes it."""

    all: tuple[Learnt, ...] = ()
    _told: bool = False

    def copy(self) -> Learning:
        return Learning(self.all, self._told)

    def step(self, step: Step) -> Learnt | None:
        """The current that the legs have just told, if they have."""
        found = step.boat.current
        told = found.found and found.said is None and step.boat.source is SpeedSource.OVER_GROUND
        now, self._told = told and not self._told, told
        if not now or found.since_s is None:
            return None
        since_s = max(found.since_s, step.t_s - MOST_BACK_S, self.all[-1].until_s if self.all else -math.inf)
        one = Learnt(
            since_s, step.t_s, found.told_m_s, found.prior.given_m_s, found.through_m_s, step.spread,
            step.column, step.waters.water(step.sensors),
        )  # fmt: skip
        self.all = (*self.all, one)
        return one


def carried_hit(row: HitRow, spread: Spread, learnt: Sequence[Learnt]) -> HitRow:
    """A hit as it is believed now, and marked, where it lies on legs that taught a current."""
    one = _of(learnt, row.at_s)
    if one is None or row.boat is None or row.rod_row is None:
        return row
    boat = one.boat(row.boat)
    if boat is None:
        return row
    rod = one.rod(spread, row.rod_row, row.boat.speed_m_s, boat.speed_m_s)
    return replace(row, boat=boat, rod_row=rod, speed_by=SAYS)


def carried_sample(sample: Sample, one: Learnt) -> Sample:
    """A sample of fishing time likewise, so that hits and hours are counted at the same depths."""
    boat = one.boat(sample.boat) if one.covers(sample.boat.at_s) else None
    if boat is None:
        return sample
    was_m_s = sample.boat.speed_m_s
    rods = tuple(
        one.rod(one.spread, row, was_m_s, boat.speed_m_s) if _still(row, one.spread) else row for row in sample.rods
    )
    return Sample(boat, rods)


def _of(learnt: Sequence[Learnt], at_s: float | None) -> Learnt | None:
    return None if at_s is None else next((one for one in learnt if one.covers(at_s)), None)


def _still(row: RodRow, spread: Spread) -> bool:
    """Whether the rod is rigged as it was then."""
    rod = spread.rod_by_key(row.rig.rod)
    return rod is not None and rig_of(spread, rod, row.rig.setting or None) == row.rig


def _length(ground: tuple[float, float], current: tuple[float, float]) -> float:
    return math.hypot(ground[0] - current[0], ground[1] - current[1])
