"""What the watch knew at every second of the last quarter of an hour, for hits that are entered late.

A step makes one moment from what it knows, and nothing changes it later: a later sounding does not alter an
earlier clearance. The same streams give the same moments, live or replayed.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import islice
from typing import overload

from sternwatch.feed.readings import Quantity, Sensors
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.quickly import quickly_made
from sternwatch.watch.boat.motion_filter import wrap_deg
from sternwatch.watch.boat.own_boat import Boat, usable
from sternwatch.watch.boat.water import bottom_m
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.chains.rod_state import line_out_m, rod_state
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.model import RodState, SolverState, SpeedSource
from sternwatch.water.profile import TemperatureProfile

KEPT_S = 900
WAKE_S = 30  # longer than a sample of fishing time waits for its release
# A moment holds until the next one, but no longer than this.
STANDS_S = 2.0
# A lure is in a turn when the heading changed by this much while the boat ran the lure's distance astern (memory).
TURN_DEG = 15.0
LEAST_LAG_S = 10.0
MOST_LAG_S = 180.0
# Rising or sinking, as the screen says it: 1 ft in 10 s.
TREND_M = 0.3048
# The boat slows or quickens when its speed changes by this much (0.2 mph) in this time (memory).
PACE_M_S = 0.0894
PACE_S = 15
# With or against the current: speed over ground less speed through water, mean of this time, by this much (memory).
CURRENT_M_S = 0.1
CURRENT_S = 30


# Share of her trolling speed: a crew slows to about half for a fish that fights (memory).
FISH_ON_SHARE = 0.5
LEAST_RECORD_S = 20  # moments, a second apart, before a speed counts as usual
SLOWS_IN_S = 20.0  # what she does earlier in a fight is still her slowing down (memory)


@quickly_made
@dataclass(frozen=True, slots=True)
class RodMoment:
    """One rod at a moment. Computed values are None where nothing was known."""

    spread: Spread
    rod: Rod  # as rigged then
    state: RodState
    solver: SolverState
    line_out_m: float | None
    setting: str | None
    lead_m: float | None
    depth_m: float | None = None
    depth_interval_m: tuple[float, float] | None = None
    astern_m: float | None = None
    abeam_m: float | None = None
    lure_speed_m_s: float | None = None
    vertical_speed_m_s: float | None = None  # positive sinking
    temperature_c: float | None = None
    clearance_m: float | None = None
    position_deg: tuple[float, float] | None = None  # of the lure
    trend: str | None = None  # rising | steady | sinking
    turn: str | None = None  # straight | inside | outside | turning (a rod in the middle)

    @property
    def in_water(self) -> bool:
        """Whether its time counts: a lure is in the water, and no fish is on."""
        return self.state in (RodState.LETTING_OUT, RodState.FISHING, RodState.REELING)


@quickly_made
@dataclass(frozen=True)
class Moment:
    """Everything known at one second."""

    t_s: float
    utc_s: float | None
    silent_s: float | None  # since the last reading of any kind; None before the first
    speed_source: SpeedSource
    speed_m_s: float | None  # the speed that drives the chains
    sog_m_s: float | None
    stw_m_s: float | None
    course_deg: float | None
    heading_deg: float | None
    rate_of_turn_deg_s: float | None
    position_deg: tuple[float, float] | None
    water_temperature_c: float | None  # at the surface
    bottom_m: float | None
    pace: str | None  # slowing | steady | quickening
    current: str | None  # with | against | little
    sensors: Sensors  # values, ages and sources then
    rods: Mapping[str, RodMoment]
    points_deg: float  # where the boat points, for turns

    @cached_property
    def lines_out(self) -> bool:
        """Whether any lure fishes. (Every look ahead asks it of a quarter of an hour.)"""
        return any(rod.in_water for rod in self.rods.values())

    @cached_property
    def fish_on(self) -> bool:
        return any(rod.state is RodState.FIGHTING for rod in self.rods.values())

    @cached_property
    def gain_m_s(self) -> float | None:
        """Speed over ground less speed through water."""
        return None if self.sog_m_s is None or self.stw_m_s is None else self.sog_m_s - self.stw_m_s

    @property
    def clock_s(self) -> int:
        """Whole seconds of UTC, or of feed time for a feed without a clock. Samples count on it."""
        return round(self.t_s if self.utc_s is None else self.utc_s)


@dataclass(slots=True, eq=False)
class Moments(Sequence[Moment]):
    """The moments of the last quarter of an hour, oldest first. Only ``add`` changes it; ``copy`` shares them."""

    _kept: deque[Moment] = field(default_factory=lambda: deque(maxlen=KEPT_S))

    def copy(self) -> Moments:
        return Moments(self._kept.copy())

    def __len__(self) -> int:
        return len(self._kept)

    @overload
    def __getitem__(self, index: int) -> Moment: ...
    @overload
    def __getitem__(self, index: slice) -> list[Moment]: ...
    def __getitem__(self, index: int | slice) -> Moment | list[Moment]:
        return list(self._kept)[index] if isinstance(index, slice) else self._kept[index]

    def __iter__(self) -> Iterator[Moment]:
        return iter(self._kept)

    def __reversed__(self) -> Iterator[Moment]:
        return reversed(self._kept)

    def add(self, moment: Moment) -> None:
        """Add the newest moment; the oldest one is dropped."""
        self._kept.append(moment)

    def at(self, t_s: float) -> Moment | None:
        """The newest moment before ``t_s``. None where it is not kept, or too old."""
        for moment in reversed(self._kept):
            if moment.t_s < t_s:
                return moment if t_s - moment.t_s <= STANDS_S else None
        return None

    def back(self, steps: int) -> Moment | None:
        """The moment a number of steps before the newest."""
        return self._kept[-1 - steps] if steps < len(self._kept) else None

    def usual_m_s(self) -> tuple[float, float] | None:
        """The lowest and highest speed of this boat with lines out, from her own record. None without a record.

        The lowest is her speed with a fish on, if there was one, else half her trolling speed (memory): nobody stops
        with lines out.
        """
        trolled, fought, since_s = [], [], None
        for moment in self._kept:
            speed = moment.speed_m_s
            if speed is None:
                continue
            if moment.lines_out:
                trolled.append(speed)
            if not moment.fish_on:
                since_s = None
                continue
            since_s = moment.t_s if since_s is None else since_s
            if moment.t_s - since_s >= SLOWS_IN_S:
                fought.append(speed)
        if len(trolled) < LEAST_RECORD_S:
            return None
        trolled.sort()
        fought.sort()
        half = FISH_ON_SHARE * trolled[len(trolled) // 2]
        slowest = fought[len(fought) // 10] if len(fought) >= LEAST_RECORD_S else half
        return slowest, trolled[-1]

    def wake_deg(self) -> Iterator[tuple[float, float]]:
        """The boat's places in the last half minute, every fifth second, oldest first, (latitude, longitude)."""
        for steps in range(WAKE_S, -1, -5):
            moment = self.back(steps)
            if moment is not None and moment.position_deg is not None:
                yield moment.position_deg

    def boat_at(self, t_s: float) -> tuple[float, float] | None:
        """The boat's place at a feed time, else its last one, (latitude, longitude)."""
        moment = self.at(t_s + 1e-3) or (self._kept[-1] if self._kept else None)
        return moment.position_deg if moment is not None else None


def moment_of(step: Step, before: Moments) -> Moment:
    """The moment of the last step. ``before``: those of the earlier steps."""
    own, sensors, offset = step.boat, step.sensors, step.utc_offset_s
    known = own.known
    speed = own.speed_m_s if known else None
    position = sensors.get(Quantity.POSITION) if step.bottom.over.place_m is not None else None
    points = own.heading_deg
    transducer_m = step.spread.boat.transducer_depth_m
    column = step.column
    return Moment(
        t_s=step.t_s,
        utc_s=None if offset is None else float(round(step.t_s + offset)),
        silent_s=step.silent_s,
        speed_source=own.source if known else SpeedSource.NONE,
        speed_m_s=speed,
        sog_m_s=usable(sensors.get(Quantity.SOG)),
        stw_m_s=usable(sensors.get(Quantity.STW)),
        course_deg=usable(sensors.get(Quantity.COG)),
        heading_deg=usable(sensors.get(Quantity.HEADING)),
        rate_of_turn_deg_s=own.rate_of_turn_deg_s if known else None,
        position_deg=position.value if position is not None and isinstance(position.value, tuple) else None,
        water_temperature_c=usable(sensors.get(Quantity.WATER_TEMPERATURE)),
        bottom_m=bottom_m(sensors, transducer_m),
        pace=_pace(before, speed),
        current=_current(before, sensors) or _current_told(own),
        sensors=sensors,
        rods={key: _rod(step, before, chain, column, speed, points) for key, chain in step.chains.items()},
        points_deg=points,
    )


def _rod(
    step: Step,
    before: Moments,
    chain: RodChain,
    column: TemperatureProfile,
    speed_m_s: float | None,
    points_deg: float,
) -> RodMoment:
    mine = step.crew.rods[chain.rod.key]
    state, line = rod_state(mine, chain), line_out_m(mine, chain)
    place = chain.place
    if place is None or chain.ball_only or chain.solver is SolverState.FAILED:
        return RodMoment(chain.spread, chain.rod, state, chain.solver, line, mine.setting, mine.lead_m)
    return RodMoment(
        spread=chain.spread,
        rod=chain.rod,
        state=state,
        solver=chain.solver,
        line_out_m=line,
        setting=mine.setting,
        lead_m=mine.lead_m,
        depth_m=place.depth_m,
        depth_interval_m=place.depth_interval_m,
        astern_m=place.astern_m,
        abeam_m=place.abeam_m,
        lure_speed_m_s=place.lure_speed_m_s if math.isfinite(place.lure_speed_m_s) else None,
        vertical_speed_m_s=place.vertical_speed_m_s,
        temperature_c=column.temperature_c(place.depth_m),
        clearance_m=step.bottom.ground.clearance_m(chain),
        position_deg=step.bottom.degrees_at(place.astern_m, place.abeam_m),
        trend=_trend(chain.change_10s_m),
        turn=_turn(before, chain.rod, place.astern_m, speed_m_s, points_deg),
    )


def _trend(change_10s_m: float | None) -> str | None:
    if change_10s_m is None:
        return None
    return _beyond(change_10s_m, TREND_M, ("sinking", "rising", "steady"))


def _beyond(value: float, limit: float, words: tuple[str, str, str]) -> str:
    """The word for a value above a limit, for one as far below nought, and for one between."""
    above, below, between = words
    return above if value > limit else below if value < -limit else between


def _turn(moments: Moments, rod: Rod, astern_m: float, speed_m_s: float | None, points_deg: float) -> str | None:
    """On which side of a turn a lure is, from the boat's turning since she passed the lure's present place."""
    if speed_m_s is None or speed_m_s < 0.1:
        return None
    lag = min(max(astern_m / speed_m_s, LEAST_LAG_S), MOST_LAG_S)
    before = moments.back(round(lag) - 1)
    if before is None or before.speed_m_s is None:
        return None
    turned = wrap_deg(points_deg - before.points_deg)
    if abs(turned) < TURN_DEG:
        return "straight"
    # By the rod's side: in boat axes every line far astern swings to the inside.
    return "turning" if rod.sign == 0.0 else "inside" if rod.sign * turned > 0.0 else "outside"


def _pace(moments: Moments, speed_m_s: float | None) -> str | None:
    before = moments.back(PACE_S - 1)
    if speed_m_s is None or before is None or before.speed_m_s is None:
        return None
    return _beyond(speed_m_s - before.speed_m_s, PACE_M_S, ("quickening", "slowing", "steady"))


def _current(moments: Moments, sensors: Sensors) -> str | None:
    """How the current runs, from both speeds over half a minute. None unless both were present most of the time."""
    sog, stw = usable(sensors.get(Quantity.SOG)), usable(sensors.get(Quantity.STW))
    known = [sog - stw] if sog is not None and stw is not None else []
    earlier = islice(reversed(moments), CURRENT_S - 1)
    known += [gain for before in earlier if (gain := before.gain_m_s) is not None]
    if len(known) < CURRENT_S // 2:
        return None
    return _beyond(sum(known) / len(known), CURRENT_M_S, ("with", "against", "little"))


def _current_told(boat: Boat) -> str | None:
    """The same with only one speed, from the estimated current. None where it is unknown along this course."""
    north, east = boat.velocity_m_s
    course = math.atan2(east, north)
    if boat.t_s is None or not (boat.current.found and boat.current.along_found(course)):
        return None
    north, east = boat.current.belief.current_m_s
    along = north * math.cos(course) + east * math.sin(course)
    return _beyond(along, CURRENT_M_S, ("with", "against", "little"))
