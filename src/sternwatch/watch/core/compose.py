"""From the watch's state to a picture. Changes nothing; the same state gives the same picture."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from sternwatch.gear.spread_file.models import Rod, Spread, TackleItem
from sternwatch.hydro.separation.distance import nearest
from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.crew.state import Crew, CrewHit, CrewRod
from sternwatch.logbook.crew.words import describe
from sternwatch.logbook.store.samples import HitRow
from sternwatch.watch.alerts.rod_care import unchecked
from sternwatch.watch.boat.water import bottom_m
from sternwatch.watch.bottom.marked_places import fish_pictures, mark_pictures
from sternwatch.watch.bottom.room import Below, clearance, over_ground
from sternwatch.watch.chains.clearing_order import fights, pulling
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.chains.spread_in_force import spread_of
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

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch

ENTRIES = 12
TRACK_STEP_M = 6.0
TRACK_SPARE_M = 24.0  # drawn beyond the last lure


def compose(watch: Watch, crew: Crew | None = None) -> Picture:
    """The picture of the last step taken; ``crew`` stands for the crew's part where given."""
    crew = crew or watch.crew
    spread = spread_of(crew, watch.setup.spread)
    sensors = watch.board.table(watch.now_s)
    offset = watch.board.utc_offset(watch.now_s)
    utc = None if offset is None or watch.t_s is None else float(round(watch.t_s + offset))
    near = nearest_chains(watch)
    track, track_age = _bottom_track(watch)
    people = spread.boat.people if crew.facts.people is None else crew.facts.people
    column = watch.waters.column(crew.gauges, sensors, spread.boat.transducer_depth_m)
    rods = tuple(_rod(watch, spread, rod, crew, column, near.get(rod.key)) for rod in spread.rod)
    entries = list(crew.standing)[-ENTRIES:]
    undone = list(crew.undone)[-ENTRIES:]
    newest = crew.newest

    def say(action: Action) -> str:
        return describe(action, crew, unit="ft" if watch.setup.units.length == "ft" else "m")

    rows = {row.id: row for row in watch.contexts.rows}
    return Picture(
        t_s=watch.now_s,
        utc_s=utc,
        session=watch.setup.session,
        trip=watch.setup.trip,
        sensors=sensors,
        own=watch.boat.own(sensors, watch.why_no_speed),
        rods=rods,
        alerts=watch.alerts.standing(),
        hits=tuple(_hit(hit, offset, rows.get(hit.id)) for hit in crew.hits),
        zone_c=watch.setup.zone_c,
        zone_name=watch.setup.zone_name,
        zone_source=watch.setup.zone_source,
        temperature_profile=column.pairs,
        depth_speed=_depth_speed(crew, offset),
        bottom_m=bottom_m(sensors, spread.boat.transducer_depth_m),
        bottom_track=track,
        bottom_age_s=track_age,
        marks=mark_pictures(watch),
        fish_seen=fish_pictures(watch, rods),
        fights=fights(watch),
        pulling=pulling(rods, people) if any(rod.state is not RodState.IN for rod in rods) else None,
        newest_entry="" if newest is None else say(newest),
        spread_name=spread.boat.name,
        calibration="" if watch.setup.calibration is None else watch.setup.calibration.name,
        observations=watch.observing.all,
        crew=crew,
        hit_rows=watch.contexts.rows,
        fishing=watch.fishing.copy(),
        people=people,
        rods_per_person=spread.boat.rods_per_person,
        entries=tuple(EntryPicture(i, say(crew.entries[i])) for i in entries),
        taken_back=tuple(EntryPicture(i, say(crew.entries[i])) for i in undone),
    )


def _rod(
    watch: Watch, spread: Spread, rod: Rod, crew: Crew, column: TemperatureProfile, near: tuple[float, str] | None
) -> RodPicture:
    mine, chain = crew.rods[rod.key], watch.chains[rod.key]
    hits = [h for h in crew.hits if h.rod == rod.key and h.counts]
    place = chain.place
    what = chain.rig.what if chain.rig is not None else ()
    below: tuple[Below | None, ...] = watch.ground.below.get(rod.key) or (None,) * len(what)
    failed = chain.solver is SolverState.FAILED
    there = place is not None and not failed
    shown = there and not chain.ball_only  # a lure's numbers are not the ball's
    temperature_c = column.temperature_c(place.depth_m) if shown and place else None
    return RodPicture(
        key=rod.key,
        name=rod.name,
        side=rod.side,
        tip_abeam_m=rod.tip_abeam_m,
        state=rod_state(mine, chain),
        solver=SolverState.NONE if chain.ball_only else chain.solver,
        line_out_m=_line_out(mine, chain),
        setting=mine.setting,
        lead_m=mine.lead_m,
        target_depth_m=rod.target_depth_m,
        depth_m=place.depth_m if shown and place else None,
        astern_m=place.astern_m if shown and place else None,
        abeam_m=place.abeam_m if shown and place else None,
        depth_interval_m=place.intervals.depth_m if shown and place and place.intervals else None,
        lure_speed_m_s=_finite(place.lure_speed_m_s) if shown and place else None,
        vertical_speed_m_s=place.vertical_speed_m_s if shown and place else None,
        depth_change_10s_m=chain.change_10s_m if shown else None,
        temperature_c=temperature_c,
        in_zone=_in_zone(watch, temperature_c),
        left_zone_s=watch.tending.left_zone_s(rod.key, _in_zone(watch, temperature_c), watch.now_s),
        unchecked=unchecked(mine, watch.now_s),
        clearance_m=clearance(watch, chain) if shown else None,
        bottom=_bottom(watch, rod.key, below) if there else None,
        clearance_wanted_m=rod.clearance_m if rod.bottom is not None else None,
        nearest_m=near[0] if near is not None and shown else None,
        nearest_key=near[1] if near is not None and shown else None,
        tension_N=_finite(place.tension_N) if shown and place else None,
        entry_angle_deg=_finite(place.entry_angle_deg) if shown and place else None,
        points=tuple(
            Point(name, float(at[2]), float(at[0]), float(at[1]), None if under is None else under.room_m)
            for name, at, under in zip(what, place.bodies_m, below, strict=False)
        )
        if there and place
        else (),
        shape_m=place.shape_m if there and place else None,
        moving_to_m=mine.line_out_m if chain.moving else None,
        why_no_depth=_why_no_depth(watch, mine, chain),
        hits=len(hits),
        last_hit_t_s=max((h.when.elapsed_s for h in hits if h.when.elapsed_s is not None), default=None),
        set_t_s=mine.set_at.elapsed_s if mine.set_at is not None else None,
        rig=device_of(spread, rod),
        settings=spread.settings(rod),
    )


def _bottom(watch: Watch, key: str, below: tuple[Below | None, ...]) -> BottomPicture | None:
    """None also where only the bottom under what runs shallower is known: the room of the rod is not that."""
    least = watch.ground.least(watch.chains[key], below)
    if least is None:
        return None
    ahead = watch.ground.ahead.get(key)
    made = BottomPicture(least.what, least.room_m, least.off_m, least.age_s, least.earlier)
    if ahead is None:
        return made
    if ahead.touches_s is None:
        return replace(made, known_s=ahead.known_s)
    left = ahead.touches_s
    return replace(made, touches=ahead.what, touches_s=left, raise_m=ahead.raise_m, known_s=ahead.known_s)


def device_of(spread: Spread, rod: Rod) -> str:
    """What carries a rod's line: the first device past its tip; a rod on another's cable goes with its ball."""
    if rod.clipped_to is not None:
        return "ball"
    kinds = (spread.tackle[item.tackle].kind for item in rod.deployed if isinstance(item, TackleItem))
    return next((kind for kind in kinds if kind in ("board", "ball", "diver", "weight")), "")


def rod_state(mine: CrewRod, chain: RodChain) -> RodState:
    """The crew's word, and what the line is seen to do while it moves."""
    if mine.state == "fishing" and chain.moving:
        return RodState.LETTING_OUT if chain.moving > 0 else RodState.REELING
    return RodState(mine.state)


def _line_out(mine: CrewRod, chain: RodChain) -> float | None:
    """As the counter reads now; the length it was left at while the rod is in is not line out."""
    if mine.state == "in":
        return None
    return chain.reading_m if chain.out and chain.reading_m is not None else mine.line_out_m


def _why_no_depth(watch: Watch, mine: CrewRod, chain: RodChain) -> str:
    if mine.state == "in":
        return "the rod is in"
    if mine.state == "fighting":
        return "a fish is on"
    if watch.boat.source is SpeedSource.NONE:
        return watch.why_no_speed or "no speed yet"
    return chain.why


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _in_zone(watch: Watch, temperature_c: float | None) -> bool | None:
    zone = watch.setup.zone_c
    return None if zone is None or temperature_c is None else zone[0] <= temperature_c <= zone[1]


def _bottom_track(watch: Watch) -> tuple[tuple[tuple[float, float], ...], float | None]:
    """Soundings straight astern of the boat, as (astern, depth); the oldest's age where one is of another trip."""
    if watch.place_m is None:
        return (), None
    astern = [c.place.astern_m for c in watch.chains.values() if c.place is not None]
    length = max(astern, default=0.0) + TRACK_SPARE_M
    track, ages = [], []
    for k in range(int(length / TRACK_STEP_M) + 1):
        back = k * TRACK_STEP_M
        at = over_ground(watch, back, 0.0)
        there = watch.soundings.near(*at) if at is not None else None
        if there is not None:
            track.append((back, there.depth_m))
            if there.earlier and there.t_s is not None:
                ages.append(watch.now_s - there.t_s)
    return tuple(track), max(ages, default=None)


def nearest_chains(watch: Watch) -> dict[str, tuple[float, str]]:
    """For every rod with a chain the distance to the nearest other chain, and whose it is."""
    keys = [key for key, chain in watch.chains.items() if chain.place is not None]
    if len(keys) < 2:
        return {}
    shapes = [watch.chains[key].place.shape_m for key in keys]  # type: ignore[union-attr]
    most = max(len(shape) for shape in shapes)
    positions = np.zeros((len(keys), most, 3))
    for row, shape in enumerate(shapes):
        positions[row, : len(shape)] = shape
        positions[row, len(shape) :] = shape[-1]
    found = nearest(positions, np.array([len(shape) for shape in shapes], dtype=np.int64))
    return {
        key: (float(found.distance_m[row]), keys[int(found.other[row])])
        for row, key in enumerate(keys)
        if found.other[row] >= 0
    }


def _depth_speed(crew: Crew, offset_s: float | None) -> DepthSpeed | None:
    """The newest speed the crew read at a depth."""
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
        note=hit.note or hit.flag or hit.why,
        species=hit.species,
        length_m=hit.length_m,
        mass_kg=hit.mass_kg,
        line_out_m=hit.line_out_m,
        setting=hit.setting,
    )
