"""The crew's observations of a rod with what the watch knew at that moment: numbers for a fit.

An observation is made once, at the first step of its entry, and never changes. One from a moment that tells nothing
keeps the reason.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.observations import (
    DEVICES,
    LOGGED_M,
    SEEN_M,
    TOUCHED_M,
    Observation,
    What,
    depth_at,
    rig_print,
    see,
    usual_error,
)
from sternwatch.answers.belief.priors import Draws, dealt
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.observing_acts import Observed
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.bottom.room import Below, Ground
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.model import SolverState, SpeedSource

# A harder turn than this bends every line (the outlook's own limit for a straight course).
STRAIGHT_DEG_S = 1.0
# After a longer silence the feed's values belong to another moment.
STALE_S = 5.0
# A step handles entries since the step before. An older moment belongs to another session.
LATE_S = 3.0
# More than this many errors from its steady shape, a line was still moving to another place. Within it, half of the
# difference counts as error.
UNSETTLED = 2.0
UNSETTLED_SHARE = 0.5
# Bottom sounded beside the tackle, not under it, may differ by one metre in ten (memory).
SLOPE = 0.1

_ERRORS = {"touched bottom": TOUCHED_M, "seen on sounder": SEEN_M, "logger": LOGGED_M}


@dataclass(slots=True)
class Observing:
    """The observations of a session by their entries' ids. Only ``step`` changes it; ``copy`` shares them."""

    by_id: dict[str, Observation] = field(default_factory=dict)

    def copy(self) -> Observing:
        return Observing(dict(self.by_id))

    @property
    def all(self) -> tuple[Observation, ...]:
        """All in order of entry, without those taken back."""
        return tuple(self.by_id.values())

    def step(self, step: Step, calibration: Calibration | None) -> None:
        """Update from the crew's entries: make new observations, drop those taken back."""
        standing = {action.id: action for action in step.crew.observed}
        for gone in self.by_id.keys() - standing.keys():
            del self.by_id[gone]
        for key, action in standing.items():
            if key not in self.by_id:
                self.by_id[key] = observation_of(step, action, calibration)


def observation_of(step: Step, action: Observed, calibration: Calibration | None) -> Observation:
    """An entry with the present circumstances, or with its own where it is of another time."""
    what, value = _value(action)
    measured = math.nan if value is None else value
    given = action.error_m or action.error_N or (None if action.error_deg is None else math.radians(action.error_deg))
    usual = _ERRORS.get(action.what) or usual_error(what, measured)
    spread = step.spread
    rod = spread.rod_by_key(action.rod)
    told = Observation(
        action.id, action.rod, what, measured, given or usual, action.speed_m_s,
        action.what, at=action.at, now=RodNow(action.line_out_m, action.setting, action.lead_m),
        gear="" if rod is None else rig_print(spread, rod), when=action.time,
    )  # fmt: skip
    if rod is None:
        return told.refused(f"the spread has no rod {action.rod}")
    if action.speed_m_s is not None:
        return told
    if _long_ago(step, action):
        return told.refused("it was entered before the console was started again; the recorded trip can be fitted")
    one = _now(step, told)
    chain = step.chains[action.rod]
    why = _why_not(step, chain)
    if why:
        return one.refused(why)
    if value is None:
        below = _sounded(step.bottom.ground, chain, one.at)
        if below is None:
            return one.refused("the bottom where it was has not been sounded")
        error = one.error if given is not None else math.hypot(one.error, SLOPE * below.off_m)
        one = replace(one, value=below.bottom_m, error=error)
    return _settled(step.spread, calibration, chain, one)


def _long_ago(step: Step, action: Observed) -> bool:
    """Whether an entry is of a moment before this watch."""
    at, offset = action.elapsed_s, step.utc_offset_s
    if at is None and offset is not None:
        at = action.time.timestamp() - offset
    return at is not None and step.t_s - at > LATE_S


def _value(action: Observed) -> tuple[What, float | None]:
    match action.what:
        case "pull":
            return What.PULL, action.pull_N
        case "entry angle" | "cable angle":
            what = What.ENTRY_ANGLE if action.what == "entry angle" else What.CABLE_ANGLE
            return what, None if action.angle_deg is None else math.radians(action.angle_deg)
        case _:
            return What.DEPTH, action.depth_m


def _now(step: Step, one: Observation) -> Observation:
    """The observation with the moment's speed, water and lengths."""
    boat, crew, chain = step.boat, step.crew.rods[one.rod], step.chains[one.rod]
    return replace(
        one,
        speed_m_s=boat.speed_m_s if boat.known else None,
        over_ground=boat.source is SpeedSource.OVER_GROUND,
        told=_told(boat),
        heading_rad=math.radians(boat.heading_deg),
        water=step.waters.water(step.sensors),
        now=RodNow(chain.reading_m, crew.setting, crew.lead_m),
    )


def _settled(spread: Spread, calibration: Calibration | None, chain: RodChain, one: Observation) -> Observation:
    """Add the difference of the moving chain from the steady one."""
    place, rig = chain.place, chain.rig
    assert place is not None
    assert rig is not None
    match one.what:
        case What.PULL:
            moving = place.tension_N
        case What.DEPTH:
            moving = (
                depth_at([body[2] for body in place.bodies_m], rig.kinds, one.at, place.depth_m) / place.stretched
            )
        case _:
            below = math.radians(place.entry_angle_deg)
            moving = below if one.what is What.ENTRY_ANGLE else math.pi / 2 - below
    values = {k: float(v[0]) for k, v in dealt(spread, Draws.nominal(calibration)).items()}
    values = {name: value for name, value in values.items() if name not in ("speed", "speed over ground noise")}
    steady = see(spread, one, values).of(one.what, one.at)
    off = moving - steady
    if not math.isfinite(off):
        return one.refused("no steady shape is known for it")
    if abs(off) > UNSETTLED * one.error:
        return one.refused("the line had not settled")
    return replace(one, unsteady=off, error=math.hypot(one.error, UNSETTLED_SHARE * off))


def _told(boat: Boat) -> float:
    """The share left of the prior spread of the speed's error."""
    found = boat.current
    belief, prior = found.belief, found.prior
    if boat.source is SpeedSource.OVER_GROUND:
        along = math.radians(boat.heading_deg)
        before = math.hypot(prior.current_sd_m_s[0] * math.cos(along), prior.current_sd_m_s[1] * math.sin(along))
        return min(belief.along_sd_m_s(along) / before, 1.0) if before > 0.0 else 1.0
    return min(belief.scale_sd / prior.scale_sd, 1.0) if prior.scale_sd > 0.0 else 1.0


# What is wrong with a line in each state of its solver. States that are not here have their own reasons.
_UNFIT: Mapping[SolverState, str] = {
    SolverState.SETTLED: "",
    SolverState.SLACK: "its line was slack",
    SolverState.PULLED_UNDER: "its board was pulled under",
    SolverState.UNSETTLED: "the line had not been towed long enough",
}


def _why_not(step: Step, chain: RodChain) -> str:
    """Why this moment does not inform about a rod's line. Empty where it does."""
    boat, silent_s, rate = step.boat, step.silent_s, step.boat.rate_of_turn_deg_s
    state = step.crew.rods[chain.rod.key].state
    if boat.dark_since_s is not None or not boat.known:
        return "no speed was known"
    if silent_s is not None and silent_s > STALE_S:
        return f"the feed had been silent for {silent_s:.0f} s"
    if rate is not None and abs(rate) > STRAIGHT_DEG_S:
        return f"the boat was turning, {abs(rate):.0f}° a second"
    if state == "in":
        return "the rod was in"
    if state == "fighting" or chain.ball_only:
        return "a fish was on"
    if chain.moving:
        return "its line was running"
    unknown = chain.why or "nothing was known of its line"
    return unknown if chain.place is None else _UNFIT.get(chain.solver, unknown)


def _sounded(ground: Ground, chain: RodChain, at: str | None) -> Below | None:
    """The bottom under the piece of tackle that touched: the named one, else the one with the least room."""
    below = ground.below.get(chain.rod.key) or ()
    if at is None:
        return ground.least(chain, below)
    kinds = chain.rig.kinds if chain.rig is not None else ()
    if at == "lure":
        return below[-1] if below else None
    wanted = DEVICES if at == "device" else ("ball",)
    return next((one for one, kind in zip(below, kinds, strict=False) if kind in wanted), None)
