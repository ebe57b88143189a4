"""Computes beside a running session what causes a rod's interval, and what this trip's observations teach.

Each has its own thread, and is computed again only when something on which it depends has changed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from sternwatch.system_words import reason
from sternwatch.watch.background import Beside
from sternwatch.watch.chains.spread_in_force import spread_of
from sternwatch.watch.picture.model import Picture, SpeedSource

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sternwatch.answers.belief.attribution import Attribution
    from sternwatch.answers.belief.calibration import Calibration
    from sternwatch.answers.belief.fit import Fit
    from sternwatch.answers.belief.fit_report import FitReport
    from sternwatch.answers.belief.observations import Observation
    from sternwatch.answers.chains.arrays import RodNow
    from sternwatch.answers.season.purpose import Guide
    from sternwatch.gear.spread_file.models import Spread

SPEED_STEP_M_S = 0.05
HEADING_STEP_RAD = math.radians(15.0)
TOLD_STEP = 0.1
LINE_STEP_M = 0.5
BOTTOM_STEP_M = 0.5
TAUGHT_S = 30.0  # how long a console waits at its end for the season to be saved


@dataclass(frozen=True, slots=True)
class PartsAsked:
    """A question about the parts of one rod's interval, as it is now."""

    spread: Spread
    key: str
    now: RodNow
    speed_m_s: float
    heading_rad: float
    over_ground: bool
    told: float  # the share left of the prior spread of the speed's error


@dataclass(frozen=True, slots=True)
class Fitted:
    """The fit of the trip's observations to earlier knowledge."""

    fit: Fit
    report: FitReport


@dataclass(frozen=True, slots=True)
class Purpose:
    """A rod under calibration: since when, the observations before, its interval then, the speed at first."""

    key: str
    begun_s: float
    before: frozenset[str]
    interval_m: tuple[float, float] | None
    speed_m_s: float | None = None


@dataclass(frozen=True, eq=False)
class _GuideAsked:
    spread: Spread
    purpose: Purpose
    bottom_m: float
    learned: Calibration | None


def _guided(asked: _GuideAsked) -> tuple[_GuideAsked, Guide]:
    from sternwatch.answers.chains.arrays import AS_FILED
    from sternwatch.answers.season.purpose import guide

    rod = asked.spread.rod_by_key(asked.purpose.key)
    assert rod is not None  # the picture belongs to this spread
    speed = asked.purpose.speed_m_s
    assert speed is not None  # set before the thread asks
    return asked, guide(asked.spread, rod, asked.bottom_m, speed, now=AS_FILED, learned=asked.learned)


@dataclass(frozen=True, eq=False)
class Lesson:
    """What a trip teaches. ``trip`` empty: nothing goes into the season; ``calibration`` is saved as it is."""

    spread: Spread
    observations: tuple[Observation, ...]
    trip: str
    calibration: Calibration | None


@dataclass(frozen=True, slots=True)
class Kept:
    """A saved calibration, or why it could not be saved."""

    name: str
    words: str
    saved: bool


class Knowing:
    """The answers for one session. Any thread may call everything, and nothing waits."""

    def __init__(self, spread: Spread, learned: Calibration | None, trip: str = "") -> None:
        """``trip``: the trip on the water under which observations go into the season; empty: they do not."""
        self._spread, self._learned, self.trip = spread, learned, trip
        self._parts: Beside[PartsAsked, tuple[PartsAsked, Attribution]] = Beside(self._part, "parts of an interval")
        self._fits: Beside[_FitAsked, tuple[_FitAsked, Fitted]] = Beside(_fitted, "fit")
        self._keeps: Beside[Lesson, Kept] = Beside(_keep, "keeping a calibration")
        self._guides: Beside[_GuideAsked, tuple[_GuideAsked, Guide]] = Beside(_guided, "a guide")
        self._guide_asked: _GuideAsked | None = None
        self.purpose: Purpose | None = None
        self._parts_asked: PartsAsked | None = None
        self._fit_asked: _FitAsked | None = None

    @property
    def learned(self) -> Calibration | None:
        """The calibration that this session uses."""
        return self._learned

    def stop(self) -> None:
        for beside in (self._parts, self._fits, self._guides):
            beside.stop()
        self._keeps.stop(TAUGHT_S)

    # -- parts of an interval ----------------------------------------------------------------------------------

    def parts(self, picture: Picture, key: str) -> Attribution | None:
        """The parts of a rod's present ±. None while they are being computed, or where unknown."""
        wanted = self._parts_of(picture, key)
        if wanted is None:
            return None
        if self._parts_asked is None or not _alike(self._parts_asked, wanted):
            self._parts_asked = wanted
            self._parts.ask(wanted)
        made = self._parts.made
        return made[1] if made is not None and made[0] is self._parts_asked else None

    @property
    def trouble(self) -> str:
        """Why there is no answer, in a sentence."""
        return self._parts.trouble

    def _parts_of(self, picture: Picture, key: str) -> PartsAsked | None:
        from sternwatch.answers.chains.arrays import RodNow

        rod = next((rod for rod in picture.rods if rod.key == key), None)
        own = picture.own
        if rod is None or rod.depth_m is None or own.speed_m_s is None or own.speed_source is SpeedSource.NONE:
            return None
        spread = self._spread_of(picture)
        heading = math.radians(own.heading_deg if own.heading_deg is not None else own.course_deg or 0.0)
        speed = own.speed_mean_m_s if own.speed_mean_m_s is not None else own.speed_m_s
        return PartsAsked(
            spread, key, RodNow(rod.line_out_m, rod.setting, rod.lead_m), speed, heading,
            own.speed_source is SpeedSource.OVER_GROUND, _told(spread, picture),
        )  # fmt: skip

    def _part(self, asked: PartsAsked) -> tuple[PartsAsked, Attribution]:
        from sternwatch.answers.belief.attribution import attribution

        rod = asked.spread.rod_by_key(asked.key)
        assert rod is not None  # the picture belongs to this spread
        return asked, attribution(
            asked.spread, rod, asked.speed_m_s, now=asked.now, heading_rad=asked.heading_rad,
            over_ground=asked.over_ground, told=asked.told, learned=self._learned,
        )  # fmt: skip

    # -- a quarter of an hour on purpose ------------------------------------------------------------------------

    def begin_purpose(self, picture: Picture, key: str) -> None:
        """Begin calibrating one rod. Earlier touches do not count."""
        rod = next((one for one in picture.rods if one.key == key), None)
        self.purpose = Purpose(
            key, picture.t_s, frozenset(one.id for one in picture.observations),
            None if rod is None else rod.depth_interval_m,
        )  # fmt: skip

    def touched(self, picture: Picture) -> int:
        """How many touches of the rod since then inform."""
        of = self.purpose
        if of is None:
            return 0
        own = (one for one in picture.observations if one.rod == of.key and one.id not in of.before)
        return sum(one.used and one.said == "touched bottom" for one in own)

    def guide(self, picture: Picture) -> Guide | None:
        """The line out for each touch. None while it is being computed, or while no bottom is known."""
        speed = picture.own.speed_mean_m_s or picture.own.speed_m_s
        if self.purpose is None or picture.bottom_m is None or speed is None:
            return None
        if self.purpose.speed_m_s is None:
            self.purpose = replace(self.purpose, speed_m_s=speed)
        asked = self._guide_asked
        spread = self._spread_of(picture)
        if (
            asked is None or asked.spread is not spread or asked.purpose != self.purpose
            or abs(asked.bottom_m - picture.bottom_m) > BOTTOM_STEP_M
        ):  # fmt: skip
            asked = self._guide_asked = _GuideAsked(spread, self.purpose, picture.bottom_m, self._learned)
            self._guides.ask(asked)
        made = self._guides.made
        return made[1] if made is not None and made[0] is asked else None

    def purpose_interval(self, picture: Picture) -> tuple[float, float] | None:
        """The interval of the rod as filed, from the fit with the touches. The one before goes into the purpose."""
        fitted = self.fitted(picture)
        if fitted is None or self.purpose is None:
            return None
        row = next((one for one in fitted.report.rods if one.key == self.purpose.key), None)
        if row is None:
            return None
        if row.interval_before_m is not None:
            self.purpose = replace(self.purpose, interval_m=row.interval_before_m)
        return row.interval_after_m

    # -- the fit -----------------------------------------------------------------------------------------------

    def fitted(self, picture: Picture) -> Fitted | None:
        """The fit of this trip's observations. None while it is being made, or with nothing to fit."""
        if not self.anything(picture):
            return None
        wanted = _FitAsked(self._spread_of(picture), picture.observations, picture.utc_s, self._learned)
        if self._fit_asked is None or self._fit_asked.of != wanted.of:
            self._fit_asked = wanted
            self._fits.ask(wanted)
        made = self._fits.made
        return made[1] if made is not None and made[0] is self._fit_asked else None

    def anything(self, picture: Picture) -> bool:
        """Whether there is an observation or earlier knowledge."""
        return bool(picture.observations or self._spread_of(picture).known)

    @property
    def fit_trouble(self) -> str:
        """Why there is no fit, or why it was not saved, in a sentence."""
        return self._fits.trouble or self._keeps.trouble

    def keep(self, fitted: Fitted) -> None:
        """Add it to the season; off the water, save it where sessions find the newest one."""
        own = tuple(one for one in fitted.fit.observations if not one.id.startswith("known "))
        self._keeps.ask(Lesson(fitted.fit.spread, own, self.trip, fitted.fit.calibration))

    def teach(self, spread: Spread, observations: Sequence[Observation]) -> None:
        """At a trip's end, add its observations to the season automatically."""
        if self.trip and any(one.used for one in observations):
            self._keeps.ask(Lesson(spread, tuple(observations), self.trip, None))

    @property
    def kept(self) -> Kept | None:
        """The outcome of the last calibration saved."""
        return self._keeps.made

    def _spread_of(self, picture: Picture) -> Spread:
        return self._spread if picture.crew is None else spread_of(picture.crew, self._spread)


@dataclass(frozen=True, eq=False)
class _FitAsked:
    spread: Spread
    observations: tuple[Observation, ...]
    utc_s: float | None
    learned: Calibration | None

    @property
    def of(self) -> tuple[int, tuple[int, ...]]:
        """The identity of a fit's input: observations never change, and may hold nan."""
        return id(self.spread), tuple(map(id, self.observations))


def _fitted(asked: _FitAsked) -> tuple[_FitAsked, Fitted]:
    from sternwatch.answers.belief.fit import fit
    from sternwatch.answers.belief.fit_report import report, usual_speed
    from sternwatch.answers.belief.observations import known_of
    from sternwatch.gear.spread_file.uncertain import prints

    made = datetime.now(UTC) if asked.utc_s is None else datetime.fromtimestamp(asked.utc_s, UTC)
    made = made.replace(microsecond=0)
    name = f"{made:%Y-%m-%d %H:%M} {asked.spread.boat.name}"[:80]
    season = None if asked.learned is None else asked.learned.fitted_to(prints(asked.spread))[0]
    if season is None or not season.names:  # else the season already has it
        found = fit(asked.spread, (*known_of(asked.spread), *asked.observations), name=name, made=made)
    else:
        found = fit(asked.spread, asked.observations, name=name, made=made, season=season)
    return asked, Fitted(found, report(found, usual_speed(found)))


def _keep(lesson: Lesson) -> Kept:
    from sternwatch.answers.belief import calibration_file
    from sternwatch.answers.season.keeping import Season

    name = f"season to {lesson.trip}" if lesson.calibration is None else lesson.calibration.name
    try:
        if lesson.trip:
            _, season = Season.own().add(
                lesson.spread, lesson.observations, trip=lesson.trip, made=datetime.now(UTC).replace(microsecond=0)
            )
            return Kept(season.name, "kept beside the logbook; trips begun from now on use it", saved=True)
        if lesson.calibration is None:
            raise calibration_file.NothingToKeepError
        path = calibration_file.save(lesson.calibration)
    except calibration_file.CalibrationError as fault:
        return Kept(name, str(fault), saved=False)
    except OSError as fault:
        return Kept(name, f"it cannot be saved: {reason(fault)}", saved=False)
    return Kept(name, f"kept as {path.name}; sessions begun from now on use it", saved=True)


def _told(spread: Spread, picture: Picture) -> float:
    from sternwatch.answers.belief.priors import Z90
    from sternwatch.watch.boat.current import Prior

    water, prior = picture.own.water, Prior.of(spread, (0.0, 0.0))
    if water is None:
        return 1.0
    if picture.own.speed_source is SpeedSource.OVER_GROUND:
        off, before = water.current_off_m_s, Z90 * max(prior.current_sd_m_s)
    else:
        off, before = water.scale_off or 0.0, Z90 * prior.scale_sd
    return round(min(off / before, 1.0), 2)


def _alike(asked: PartsAsked, wanted: PartsAsked) -> bool:
    """Whether the same answer holds."""
    line, before = wanted.now.line_out_as_counter_m, asked.now.line_out_as_counter_m
    near = line == before or (line is not None and before is not None and abs(line - before) < LINE_STEP_M)
    turned = abs(math.remainder(asked.heading_rad - wanted.heading_rad, math.tau))
    return (
        asked.spread is wanted.spread
        and (asked.key, asked.over_ground) == (wanted.key, wanted.over_ground)
        and replace(asked.now, line_out_as_counter_m=line) == wanted.now
        and near
        and abs(asked.speed_m_s - wanted.speed_m_s) < SPEED_STEP_M_S
        and turned < HEADING_STEP_RAD
        and abs(asked.told - wanted.told) < TOLD_STEP
    )
