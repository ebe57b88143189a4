"""What the watch knew at the moment of every hit. It is looked up again when the crew moves the moment."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from sternwatch.feed.readings import SensorState
from sternwatch.gear.spread_file.models import LineItem
from sternwatch.logbook.crew.state import Crew, CrewHit
from sternwatch.logbook.store.samples import HitRow, quantised
from sternwatch.logbook.store.trips import to_ms
from sternwatch.watch.memory.current_carried_back import Learnt, carried_hit
from sternwatch.watch.memory.moments import Moment, Moments, RodMoment
from sternwatch.watch.memory.sample_rows import boat_of, row_of

HEARD_WITHIN_S = 10.0


@dataclass(frozen=True, slots=True)
class HitContext:
    """A hit's moment. ``moment`` None: not kept (more than a quarter of an hour ago, or in a hole)."""

    t_s: float | None  # feed time of the hit; None while the feed has no clock
    rod: str | None
    moment: Moment | None
    from_memory: bool  # its time was entered afterwards
    over: bool  # the trip was already over

    @property
    def at_rod(self) -> RodMoment | None:
        """The rod at that moment. None for a bite without a known rod, or for an unknown rod."""
        return None if self.moment is None or self.rod is None else self.moment.rods.get(self.rod)


def hit_time(hit: CrewHit, utc_offset_s: float | None) -> float | None:
    """Feed time of the moment for which a hit counts."""
    if hit.when.elapsed_s is not None:
        return hit.when.elapsed_s
    return None if utc_offset_s is None else hit.when.time.timestamp() - utc_offset_s


@dataclass(slots=True)
class HitContexts:
    """The context of every hit of a session. Only ``step`` changes it; it drops hits that were taken back."""

    by_id: dict[str, HitContext] = field(default_factory=dict)
    rows: tuple[HitRow, ...] = ()  # every hit on a rod with its moment, in order of entry
    earlier: dict[str, HitRow] = field(default_factory=dict)  # of a resumed trip
    learnt: tuple[Learnt, ...] = ()  # currents carried back over them
    _made: dict[str, tuple[CrewHit, HitContext, HitRow]] = field(default_factory=dict)

    def copy(self) -> HitContexts:
        return HitContexts(dict(self.by_id), self.rows, self.earlier, self.learnt, dict(self._made))

    def step(self, crew: Crew, moments: Moments, utc_offset_s: float | None) -> None:
        """Update from the crew's entries: look up hits that are new, were moved or got a rod."""
        for gone in self.by_id.keys() - crew.hits_by_id.keys():
            del self.by_id[gone]
        for hit in crew.hits_by_id.values():
            t_s = hit_time(hit, utc_offset_s)
            known = self.by_id.get(hit.id) or (self.by_id.get(hit.bite) if hit.bite else None)
            over = t_s is not None and crew.facts.over_at(t_s)
            if known is not None and (known.t_s, known.rod, known.over) == (t_s, hit.rod, over):
                continue
            moment = known.moment if known is not None and known.t_s == t_s else None
            if moment is None and t_s is not None:
                moment = moments.at(t_s)
            self.by_id[hit.id] = HitContext(t_s, hit.rod, moment, hit.from_memory, over)
        self.rows = tuple(self._row(hit) for hit in crew.hits_by_id.values() if hit.rod is not None)

    def learn(self, learnt: tuple[Learnt, ...], crew: Crew) -> None:
        """Tell the hits anew by the currents that were learnt."""
        self.learnt = learnt
        self._made.clear()
        self.rows = tuple(self._row(hit) for hit in crew.hits_by_id.values() if hit.rod is not None)

    def struck_at(self, hits: Iterable[str]) -> tuple[float, float] | None:
        """Where the lure was at the first of these hits with a known place, (astern, abeam). None: nobody knows."""
        context = next((c for hit in hits if (c := self.by_id.get(hit)) is not None), None)
        at = context.at_rod if context is not None else None
        return None if at is None or at.astern_m is None or at.abeam_m is None else (at.astern_m, at.abeam_m)

    def _row(self, hit: CrewHit) -> HitRow:
        context = self.by_id[hit.id]
        made = self._made.get(hit.id)
        if made is None or made[0] is not hit or made[1] is not context:
            made = self._made[hit.id] = (hit, context, hit_row(hit, context, self.earlier.get(hit.id), self.learnt))
        return made[2]


def hit_row(
    hit: CrewHit, context: HitContext | None, earlier: HitRow | None = None, learnt: Sequence[Learnt] = ()
) -> HitRow:
    """A hit with its moment. ``earlier``: its stored row, for values no longer in memory."""
    at_s = None if context is None or context.t_s is None else round(context.t_s, 3)
    row = HitRow(
        id=hit.id,
        rod=hit.rod or "",
        at_s=at_s,
        time_ms=to_ms(hit.when.time),
        counts=hit.counts,
        in_hours=False,
        from_memory=hit.from_memory,
        outcome=hit.outcome,
        undersized=hit.undersized,
        species=hit.species,
        length_m=hit.length_m,
        mass_kg=hit.mass_kg,
        note=hit.note,
        flag=hit.flag or (f"doubtful: {hit.why}" if hit.doubtful else ""),
        noted=hit.noted.model_dump(exclude={"id", "time", "elapsed_s", "rod", "kind", "of"}, exclude_none=True)
        if hit.noted is not None
        else {},
    )
    at_rod = context.at_rod if context is not None else None
    if context is None or context.moment is None or at_rod is None:
        if earlier is None or (earlier.rod, earlier.at_s) != (row.rod, row.at_s):
            return row
        return replace(
            row, in_hours=earlier.in_hours, boat=earlier.boat, rod_row=earlier.rod_row, lure_deg=earlier.lure_deg,
            state=earlier.state, chain=earlier.chain, readings=earlier.readings,
        )  # fmt: skip
    moment = context.moment
    heard = moment.silent_s is not None and moment.silent_s <= HEARD_WITHIN_S
    lure = at_rod.position_deg
    row = replace(
        row,
        in_hours=heard and at_rod.in_water and not context.over,
        boat=boat_of(moment),
        rod_row=row_of(at_rod),
        lure_deg=None if lure is None else (round(lure[0], 7), round(lure[1], 7)),
        state=at_rod.state.value,
        chain=_chain(at_rod),
        readings=_readings(moment),
    )
    return carried_hit(row, at_rod.spread, learnt)


def _chain(at_rod: RodMoment) -> tuple[Mapping[str, Any], ...]:
    """The chain at that moment, from the tip outward, with the lengths and settings of then."""
    items: list[Mapping[str, Any]] = []
    diver = at_rod.spread.setting_item(at_rod.rod)
    for item in at_rod.rod.deployed:
        if isinstance(item, LineItem):
            length = at_rod.line_out_m if item.out_m is not None else item.length_m
            if item.adjust and at_rod.lead_m is not None:
                length = at_rod.lead_m
            items.append({"line": item.line, "length_m": quantised("length_m", length)})
        elif item is diver:
            items.append({"tackle": item.tackle, "setting": at_rod.setting})
        else:
            items.append({"tackle": item.tackle})
    return tuple(items)


def _readings(moment: Moment) -> tuple[Mapping[str, Any], ...]:
    """Every received quantity, with its age and source."""
    found: list[Mapping[str, Any]] = []
    for quantity, value in sorted(moment.sensors.items()):
        if value.state is SensorState.NEVER or value.value is None or quantity.value in ("position", "clock"):
            continue
        said = {
            "quantity": quantity.value,
            "state": value.state.value,
            "value": round(value.value, 3) if isinstance(value.value, float) else None,
            "age_s": quantised("age_s", value.age_s),
            "source": value.source,
            "sentence": value.sentence,
            "suspect": value.suspect,
        }
        found.append({name: part for name, part in said.items() if part not in (None, "")})
    return tuple(found)
