"""What the crew observed of a rod, with what the watch knew at that moment: numbers that can be fitted.

An observation is made once, at the step its entry counts from, and never changed. One of a moment that cannot inform
keeps the reason.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

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
from sternwatch.logbook.actions.observing_acts import Observed
from sternwatch.watch.picture.model import SolverState, SpeedSource

if TYPE_CHECKING:
    from sternwatch.watch.bottom.room import Below
    from sternwatch.watch.chains.rod_chain import RodChain
    from sternwatch.watch.core.engine import Watch

# A turn that is harder than this bends every line (the outlook's own limit for a straight course).
STRAIGHT_DEG_S = 1.0
# A feed silent for longer tells of another moment.
STALE_S = 5.0
# A step takes up what was entered since the one before; a moment longer ago is another session's.
LATE_S = 3.0
# Farther than this many errors off the steady shape a line was on its way somewhere else; nearer, half of what it was
# off counts as error.
UNSETTLED = 2.0
UNSETTLED_SHARE = 0.5
# Bottom sounded beside the tackle, not under it: one metre in ten may lie between (memory).
SLOPE = 0.1

_ERRORS = {"touched bottom": TOUCHED_M, "seen on sounder": SEEN_M, "logger": LOGGED_M}


@dataclass(slots=True)
class Observing:
    """The observations of a session by their entries' ids; ``copy`` shares them."""

    by_id: dict[str, Observation] = field(default_factory=dict)

    def copy(self) -> Observing:
        return Observing(dict(self.by_id))

    @property
    def all(self) -> tuple[Observation, ...]:
        """In order of entry, those taken back left out."""
        return tuple(self.by_id.values())

    def step(self, watch: Watch, silent_s: float | None) -> None:
        """After actions were taken: entries that are new are looked at, those taken back forgotten."""
        standing = {action.id: action for action in watch.crew.observed}
        for gone in self.by_id.keys() - standing.keys():
            del self.by_id[gone]
        for key, action in standing.items():
            if key not in self.by_id:
                self.by_id[key] = observation_of(watch, action, silent_s)


def observation_of(watch: Watch, action: Observed, silent_s: float | None) -> Observation:
    """An entry with the circumstances of now, or its own where it tells of another time."""
    what, value = _value(action)
    given = action.error_m or action.error_N or (None if action.error_deg is None else math.radians(action.error_deg))
    usual = _ERRORS.get(action.what) or usual_error(what, value if value is not None else 0.0)
    spread = watch.spread
    rod = spread.rod_by_key(action.rod)
    told = Observation(
        action.id, action.rod, what, math.nan if value is None else value, given or usual, action.speed_m_s,
        action.what, at=action.at, now=RodNow(action.line_out_m, action.setting, action.lead_m),
        gear="" if rod is None else rig_print(spread, rod), when=action.time,
    )  # fmt: skip
    if rod is None:
        return told.refused(f"the spread has no rod {action.rod}")
    if action.speed_m_s is not None:
        return told
    if _long_ago(watch, action):
        return told.refused("it was entered before the console was started again; the recorded trip can be fitted")
    return _now(watch, watch.chains[action.rod], told, sounded=value is None, silent_s=silent_s, given=given)


def _long_ago(watch: Watch, action: Observed) -> bool:
    """Whether an entry is of a moment that this watch did not live through."""
    at, offset = action.elapsed_s, watch.board.utc_offset(watch.now_s)
    if at is None and offset is not None:
        at = action.time.timestamp() - offset
    return at is not None and watch.now_s - at > LATE_S


def _value(action: Observed) -> tuple[What, float | None]:
    match action.what:
        case "pull":
            return What.PULL, action.pull_N
        case "entry angle" | "cable angle":
            what = What.ENTRY_ANGLE if action.what == "entry angle" else What.CABLE_ANGLE
            return what, None if action.angle_deg is None else math.radians(action.angle_deg)
        case _:
            return What.DEPTH, action.depth_m


def _now(
    watch: Watch, chain: RodChain, one: Observation, *, sounded: bool, silent_s: float | None, given: float | None
) -> Observation:
    """The observation with the moment's speed, lengths and shape."""
    boat, crew = watch.boat, watch.crew.rods[one.rod]
    known = boat.source is not SpeedSource.NONE and boat.t_s is not None
    over_ground = boat.source is SpeedSource.OVER_GROUND
    one = replace(
        one,
        speed_m_s=boat.speed_m_s if known else None,
        over_ground=over_ground,
        told=_told(watch) if known else 1.0,
        heading_rad=math.radians(boat.heading_deg),
        water=watch.waters.water(watch.board.table(watch.now_s)),
        now=RodNow(chain.reading_m, crew.setting, crew.lead_m),
    )
    why = _why_not(watch, chain, silent_s)
    if why:
        return one.refused(why)
    assert chain.place is not None  # ``_why_not`` has seen to it
    if sounded:
        below = _sounded(watch, chain, one.at)
        if below is None:
            return one.refused("the bottom where it was has not been sounded")
        error = one.error if given is not None else math.hypot(one.error, SLOPE * below.off_m)
        one = replace(one, value=below.bottom_m, error=error)
    return _settled(watch, chain, one)


def _settled(watch: Watch, chain: RodChain, one: Observation) -> Observation:
    """With what the moving chain was off the steady one."""
    place, rig = chain.place, chain.rig
    assert place is not None
    assert rig is not None
    match one.what:
        case What.PULL:
            moving = place.tension_N
        case What.DEPTH:
            moving = depth_at(place.bodies_m[:, 2], rig.kinds, one.at, place.depth_m)
        case _:
            below = math.radians(place.entry_angle_deg)
            moving = below if one.what is What.ENTRY_ANGLE else math.pi / 2 - below
    spread = watch.spread
    values = {k: float(v[0]) for k, v in dealt(spread, Draws.nominal(watch.setup.calibration)).items()}
    values = {name: value for name, value in values.items() if name not in ("speed", "speed over ground noise")}
    steady = see(spread, one, values).of(one.what, one.at)
    off = moving - steady
    if not math.isfinite(off):
        return one.refused("no steady shape is known for it")
    if abs(off) > UNSETTLED * one.error:
        return one.refused("the line had not settled")
    return replace(one, unsteady=off, error=math.hypot(one.error, UNSETTLED_SHARE * off))


def _told(watch: Watch) -> float:
    """What share of the prior spread of the speed's error was left."""
    found = watch.boat.current
    belief, prior = found.belief, found.prior
    if watch.boat.source is SpeedSource.OVER_GROUND:
        along = math.radians(watch.boat.heading_deg)
        before = math.hypot(prior.current_sd_m_s[0] * math.cos(along), prior.current_sd_m_s[1] * math.sin(along))
        return min(belief.along_sd_m_s(along) / before, 1.0) if before > 0.0 else 1.0
    return min(belief.scale_sd / prior.scale_sd, 1.0) if prior.scale_sd > 0.0 else 1.0


def _why_not(watch: Watch, chain: RodChain, silent_s: float | None) -> str:
    """Why this moment tells nothing of a rod's line; empty where it does."""
    boat = watch.boat
    if watch.dark_since_s is not None or boat.source is SpeedSource.NONE or boat.t_s is None:
        return "no speed was known"
    if silent_s is not None and silent_s > STALE_S:
        return f"the feed had been silent for {silent_s:.0f} s"
    rate = boat.rate_of_turn_deg_s
    if rate is not None and abs(rate) > STRAIGHT_DEG_S:
        return f"the boat was turning, {abs(rate):.0f}° a second"
    state = watch.crew.rods[chain.rod.key].state
    if state == "in":
        return "the rod was in"
    if state == "fighting" or chain.ball_only:
        return "a fish was on"
    if chain.moving:
        return "its line was running"
    if chain.place is None:
        return chain.why or "nothing was known of its line"
    match chain.solver:
        case SolverState.SETTLED:
            return ""
        case SolverState.SLACK:
            return "its line was slack"
        case SolverState.PULLED_UNDER:
            return "its board was pulled under"
        case SolverState.UNSETTLED:
            return "the line had not been towed long enough"
        case _:
            return chain.why or "nothing was known of its line"


def _sounded(watch: Watch, chain: RodChain, at: str | None) -> Below | None:
    """The bottom under the piece of tackle that touched: the one named, else the one with the least room."""
    below = watch.ground.below.get(chain.rod.key) or ()
    if at is None:
        return watch.ground.least(chain, below)
    kinds = chain.rig.kinds if chain.rig is not None else ()
    if at == "lure":
        return below[-1] if below else None
    wanted = DEVICES if at == "device" else ("ball",)
    return next((one for one, kind in zip(below, kinds, strict=False) if kind in wanted), None)
