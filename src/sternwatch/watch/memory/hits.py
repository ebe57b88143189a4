"""What the watch knew at the moment of every hit, found again when the moment is moved."""

from __future__ import annotations

from dataclasses import dataclass, field

from sternwatch.logbook.crew.state import Crew, CrewHit
from sternwatch.logbook.store.samples import HitRow
from sternwatch.watch.memory.moments import Memory, Moment, RodMoment
from sternwatch.watch.memory.sample_rows import hit_row


@dataclass(frozen=True, slots=True)
class HitContext:
    """A hit's moment. ``moment`` None: it is not kept (more than a quarter of an hour back, or in a hole)."""

    t_s: float | None  # feed time of the hit; None while the feed has no clock to place it by
    rod: str | None
    moment: Moment | None
    from_memory: bool  # its time was given afterwards
    over: bool = False  # the trip was over by then

    @property
    def at_rod(self) -> RodMoment | None:
        """The rod as it was then; None for a bite whose rod is not known, or an unknown rod."""
        return None if self.moment is None or self.rod is None else self.moment.rods.get(self.rod)


def hit_time(hit: CrewHit, utc_offset_s: float | None) -> float | None:
    """Feed time of the moment a hit counts for."""
    if hit.when.elapsed_s is not None:
        return hit.when.elapsed_s
    return None if utc_offset_s is None else hit.when.time.timestamp() - utc_offset_s


@dataclass(slots=True)
class HitContexts:
    """The context of every hit of a session; those of hits that are taken back are forgotten."""

    by_id: dict[str, HitContext] = field(default_factory=dict)
    rows: tuple[HitRow, ...] = ()  # every hit on a rod with its moment, in order of entry
    earlier: dict[str, HitRow] = field(default_factory=dict)  # of a trip taken up again
    _made: dict[str, tuple[CrewHit, HitContext, HitRow]] = field(default_factory=dict)

    def copy(self) -> HitContexts:
        return HitContexts(dict(self.by_id), self.rows, self.earlier, dict(self._made))

    def step(self, crew: Crew, memory: Memory, utc_offset_s: float | None) -> None:
        """After actions were taken: hits that are new, moved or got a rod are looked up."""
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
                moment = memory.at(t_s)
            self.by_id[hit.id] = HitContext(t_s, hit.rod, moment, hit.from_memory, over)
        self.rows = tuple(self._row(hit) for hit in crew.hits_by_id.values() if hit.rod is not None)

    def _row(self, hit: CrewHit) -> HitRow:
        context = self.by_id[hit.id]
        made = self._made.get(hit.id)
        if made is None or made[0] is not hit or made[1] is not context:
            made = self._made[hit.id] = (hit, context, hit_row(hit, context, self.earlier.get(hit.id)))
        return made[2]
