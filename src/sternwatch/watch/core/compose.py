"""Makes a picture from the state of a step. Changes nothing; the same state gives the same picture."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import Any

from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.local_time import BoatTime
from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.crew.state import Crew, CrewHit, CrewRod
from sternwatch.logbook.crew.words import describe
from sternwatch.logbook.store.samples import HitRow
from sternwatch.watch.alerts.alerts import Alerts
from sternwatch.watch.alerts.rod_care import unchecked
from sternwatch.watch.boat.own_boat import why_no_way
from sternwatch.watch.boat.water import bottom_m
from sternwatch.watch.bottom.charted_ground import ground_picture
from sternwatch.watch.bottom.marked_places import fish_pictures, mark_pictures
from sternwatch.watch.bottom.room import Below, Ground
from sternwatch.watch.chains.clearing_order import fights, pulling
from sternwatch.watch.chains.place import Place
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.chains.rod_state import device_of, line_out_m, past_tip_m, rod_state
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.memory.memory import Memory
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.model import (
    BottomPicture,
    DepthSpeed,
    EntryPicture,
    HitPicture,
    Picture,
    Point,
    RodPicture,
    RodState,
    SolverState,
    SpeedSource,
)
from sternwatch.water.profile import TemperatureProfile

ENTRIES = 12
LENGTH_LOST = "line was wound in the fight: say how much is out"
TRACK_STEP_M = 6.0
TRACK_SPARE_M = 24.0  # drawn beyond the last lure


@dataclass(frozen=True, slots=True)
class Said:
    """What stays as it is until the crew enters something: the last entries in its words, and how rods are rigged."""

    crew: Crew
    newest: str
    entries: tuple[EntryPicture, ...]
    taken_back: tuple[EntryPicture, ...]
    rigged: dict[str, tuple[str, tuple[str, ...]]]  # by rod: the device that carries it, its diver's settings
    hits: dict[str, list[CrewHit]]  # by rod, those that count
    shown: dict[str, tuple[float | None, HitRow | None, HitPicture]] = field(default_factory=dict)  # hits, by id

    @classmethod
    def of(cls, crew: Crew, units: DisplaySystem, spread: Spread) -> Said:
        """``spread``: the one in force for this crew."""
        clock = BoatTime(crew.facts.utc_offset_min, units.utc)

        def say(action: Action) -> str:
            return describe(action, crew, clock, "ft" if units.length == "ft" else "m")

        def last(keys: dict[str, None]) -> tuple[EntryPicture, ...]:
            newest_first = list(islice(crew.acts(keys), ENTRIES))
            return tuple(EntryPicture(key, say(crew.entries[key])) for key in reversed(newest_first))

        newest = crew.newest
        rigged = {rod.key: (device_of(spread, rod), spread.settings(rod)) for rod in spread.rods}
        hits = {rod.key: [hit for hit in crew.hits if hit.rod == rod.key and hit.counts] for rod in spread.rods}
        return cls(crew, "" if newest is None else say(newest), last(crew.standing), last(crew.undone), rigged, hits)

    def hit(self, hit: CrewHit, offset_s: float | None, row: HitRow | None) -> HitPicture:
        """A hit's picture; the last one as long as the same is known of it."""
        if hit.when.elapsed_s is not None:
            offset_s = None  # its moment needs none
        kept = self.shown.get(hit.id)
        if kept is None or kept[0] != offset_s or kept[1] is not row:
            kept = self.shown[hit.id] = offset_s, row, _hit(hit, offset_s, row)
        return kept[2]


def compose(
    setup: Setup, step: Step, memory: Memory, alerts: Alerts, said: Said, *, stepped: Crew, begun: bool
) -> Picture:
    """The picture of the last step, or of a feed that has not ``begun``.

    ``stepped``: the crew at that step, where the picture must also show entries that no step has used yet.
    """
    crew, spread, sensors, offset, now_s = step.crew, step.spread, step.sensors, step.utc_offset_s, step.t_s
    near = step.chains.nearest()
    track, track_age = _bottom_track(step)
    people = spread.boat.people if crew.facts.people is None else crew.facts.people
    column = step.column
    rods = tuple(_rod(setup, step, alerts, said, rod, column, near.get(rod.key)) for rod in spread.rod)
    rows = {row.id: row for row in memory.hits.rows}
    return Picture(
        t_s=now_s,
        utc_s=float(round(now_s + offset)) if begun and offset is not None else None,
        session=setup.session,
        trip=setup.trip,
        sensors=sensors,
        own=step.boat.own(sensors),
        rods=rods,
        alerts=alerts.standing(),
        hits=tuple(said.hit(hit, offset, rows.get(hit.id)) for hit in crew.hits),
        zone_c=setup.zone_c,
        zone_name=setup.zone_name,
        zone_source=setup.zone_source,
        temperature_profile=column.pairs,
        depth_speed=_depth_speed(crew, offset),
        bottom_m=bottom_m(sensors, spread.boat.transducer_depth_m),
        bottom_track=track,
        bottom_age_s=track_age,
        marks=mark_pictures(step.bottom.marked, step.bottom.over, now_s),
        fish_seen=fish_pictures(step.bottom.marked, step.bottom.over, now_s, rods),
        fights=fights(stepped, step.chains, memory.hits.struck_at),
        pulling=pulling(rods, people) if any(rod.state is not RodState.IN for rod in rods) else None,
        newest_entry=said.newest,
        spread_name=spread.boat.name,
        calibration="" if setup.calibration is None else setup.calibration.name,
        observations=memory.observed.all,
        crew=crew,
        hit_rows=memory.hits.rows,
        fishing=memory.fishing.copy(),
        ground=ground_picture(step.bottom, step.boat.heading_deg, memory.moments.wake_deg(), now_s),
        people=people,
        rods_per_person=spread.boat.rods_per_person,
        entries=said.entries,
        taken_back=said.taken_back,
    )


def _rod(
    setup: Setup,
    step: Step,
    alerts: Alerts,
    said: Said,
    rod: Rod,
    column: TemperatureProfile,
    near: tuple[float, str] | None,
) -> RodPicture:
    crew, ground = step.crew, step.bottom.ground
    mine, chain = crew.rods[rod.key], step.chains[rod.key]
    hits, solver = said.hits[rod.key], chain.solver
    place = chain.place if solver is not SolverState.FAILED else None
    shown = place if not chain.ball_only else None  # a lure's numbers are not the ball's
    temperature_c = column.temperature_c(shown.depth_m) if shown is not None else None
    in_zone = _in_zone(setup.zone_c, temperature_c)
    rig, settings = said.rigged[rod.key]
    below: tuple[Below | None, ...] = ground.below.get(rod.key) or (None,) * len(_bodies(chain))
    return RodPicture(
        key=rod.key,
        name=rod.name,
        side=rod.side,
        tip_abeam_m=rod.tip_abeam_m,
        state=rod_state(mine, chain),
        solver=SolverState.NONE if chain.ball_only else solver,
        line_out_m=line_out_m(mine, chain),
        setting=mine.setting,
        lead_m=mine.lead_m,
        target_depth_m=rod.target_depth_m,
        temperature_c=temperature_c,
        temperature_range_c=column.range_c(shown.depth_m) if shown is not None else None,
        in_zone=in_zone,
        left_zone_s=alerts.rod_care.left_zone_s(rod.key, in_zone, step.t_s),
        unchecked=unchecked(mine, step.t_s),
        clearance_wanted_m=rod.clearance_m if rod.bottom is not None else None,
        on_bottom=rod.bottom is not None,
        moving_to_m=mine.line_out_m if chain.moving else None,
        past_tip_m=past_tip_m(mine, chain),
        uncounted_m=max(-(chain.reading_m or 0.0), 0.0) if chain.moving > 0 else 0.0,
        why_no_depth=_why_no_depth(step, mine, chain),
        hits=len(hits),
        last_hit_t_s=max((h.when.elapsed_s for h in hits if h.when.elapsed_s is not None), default=None),
        set_t_s=mine.set_at.elapsed_s if mine.set_at is not None else None,
        rig=rig,
        settings=settings,
        **(_of_the_lure(shown, chain, ground, near) if shown is not None else {}),
        **(_of_the_chain(place, chain, ground, below) if place is not None else {}),
    )


def _of_the_lure(place: Place, chain: RodChain, ground: Ground, near: tuple[float, str] | None) -> dict[str, Any]:
    """The fields of a rod picture that exist while its own lure is towed and known."""
    nearest_m, nearest_key = near if near is not None else (None, None)
    return {
        "depth_m": place.depth_m,
        "astern_m": place.astern_m,
        "abeam_m": place.abeam_m,
        "depth_interval_m": place.depth_interval_m,
        "depth_quantiles_m": place.depth_quantiles_m,
        "rough": chain.rough,
        "lure_speed_m_s": _finite(place.lure_speed_m_s),
        "vertical_speed_m_s": place.vertical_speed_m_s,
        "depth_change_10s_m": chain.change_10s_m,
        "clearance_m": ground.clearance_m(chain),
        "nearest_m": nearest_m,
        "nearest_key": nearest_key,
        "tension_N": _finite(place.tension_N),
        "entry_angle_deg": _finite(place.entry_angle_deg),
    }


def _of_the_chain(place: Place, chain: RodChain, ground: Ground, below: tuple[Below | None, ...]) -> dict[str, Any]:
    """The fields that exist while a chain is in the water and known, including a ball alone."""
    return {
        "bottom": _bottom(ground, chain, below),
        "points": tuple(
            Point(name, at[2], at[0], at[1], None if under is None else under.room_m)
            for name, at, under in zip(_bodies(chain), place.bodies_m, below, strict=False)
        ),
        "shape_m": place.shape_m,
    }


def _bodies(chain: RodChain) -> tuple[str, ...]:
    """The names of a chain's pieces of tackle, outward."""
    return chain.rig.what if chain.rig is not None else ()


def _bottom(ground: Ground, chain: RodChain, below: tuple[Below | None, ...]) -> BottomPicture | None:
    """The bottom under a rod. Also None where only the bottom under its shallower pieces is known."""
    least = ground.least(chain, below)
    if least is None:
        return None
    ahead = ground.ahead.get(chain.rod.key)
    made = BottomPicture(least.what, least.room_m, least.off_m, least.age_s, least.earlier, error_m=least.error_m)
    if ahead is None:
        return made
    if ahead.touches_s is None:
        return replace(made, known_s=ahead.known_s)
    left = ahead.touches_s
    return replace(made, touches=ahead.what, touches_s=left, raise_m=ahead.raise_m, known_s=ahead.known_s)


def _why_no_depth(step: Step, mine: CrewRod, chain: RodChain) -> str:
    boat = step.boat
    if mine.state == "in":
        return "the rod is in"
    if mine.state == "fighting":
        return "a fish is on"
    if mine.length_lost:
        return LENGTH_LOST
    if boat.source is SpeedSource.NONE:
        return boat.why_no_speed or "no speed yet"
    return chain.why if boat.way_known else why_no_way(step.sensors)


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _in_zone(zone_c: tuple[float, float] | None, temperature_c: float | None) -> bool | None:
    return None if zone_c is None or temperature_c is None else zone_c[0] <= temperature_c <= zone_c[1]


def _bottom_track(step: Step) -> tuple[tuple[tuple[float, float], ...], float | None]:
    """Soundings straight astern of the boat as (astern, depth), and the oldest age of those from earlier trips."""
    bottom = step.bottom
    if bottom.over.place_m is None:
        return (), None
    astern = [c.place.astern_m for c in step.chains.values() if c.place is not None]
    length = max(astern, default=0.0) + TRACK_SPARE_M
    track, ages = [], []
    found = bottom.soundings.astern(bottom.over, TRACK_STEP_M, int(length / TRACK_STEP_M) + 1)
    for k, (depth_m, earlier) in enumerate(found):
        if not math.isnan(depth_m):
            track.append((k * TRACK_STEP_M, depth_m))
        if earlier is not None and earlier.t_s is not None:
            ages.append(step.t_s - earlier.t_s)
    return tuple(track), max(ages, default=None)


def _depth_speed(crew: Crew, offset_s: float | None) -> DepthSpeed | None:
    """The newest speed that the crew read at a depth."""
    read = [gauge for gauge in crew.gauges if gauge.speed_m_s is not None]
    if not read:
        return None
    gauge = max(read, key=lambda gauge: gauge.time)
    t = gauge.elapsed_s if gauge.elapsed_s is not None else gauge.time.timestamp() - (offset_s or 0.0)
    return DepthSpeed(gauge.speed_m_s or 0.0, gauge.depth_m, t)


def _hit(hit: CrewHit, offset_s: float | None, row: HitRow | None) -> HitPicture:
    at_rod = row.rod_row if row is not None else None
    t = hit.when.elapsed_s
    if t is None:
        t = hit.when.time.timestamp() - (offset_s or 0.0)
    return HitPicture(
        id=hit.id,
        t_s=t,
        utc_s=hit.when.time.timestamp(),
        rod=hit.rod,
        state=hit.state,
        doubtful=hit.doubtful,
        depth_m=at_rod.depth_m if at_rod is not None else None,
        note=hit.note or hit.flag or hit.why or ("" if row is None else row.speed_by),
        species=hit.species,
        length_m=hit.length_m,
        mass_kg=hit.mass_kg,
        line_out_m=hit.line_out_m,
        setting=hit.setting,
    )
