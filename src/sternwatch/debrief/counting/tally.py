"""Counts hits and fishing time by every factor at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from sternwatch.debrief.counting.factors import OF_RIG, SAMPLE_S, Factor, Value, kept_values, rig_values
from sternwatch.logbook.store.samples import HitRow, Rig, Sample, cell_of


@dataclass(slots=True)
class Count:
    """Hits and seconds of fishing, and the rods that fished there."""

    hits: int = 0
    seconds: int = 0
    rods: set[str] = field(default_factory=set)


@dataclass(slots=True)
class Tally:
    """Counts by factor and value. ``outside``: valid hits whose moment is outside recorded fishing time."""

    by_value: dict[Value, Count] = field(default_factory=dict)
    outside: int = 0

    def of(self, value: Value) -> Count:
        """The count of a value; a new one where there is none."""
        return self.by_value.setdefault(value, Count())

    @property
    def total(self) -> Count:
        """All hits and all rod time."""
        return self.by_value.get(Value(Factor.ALL), Count())

    def values(self, factor: Factor) -> list[tuple[Value, Count]]:
        """A factor's values in order."""
        found = [(value, count) for value, count in self.by_value.items() if value.factor is factor]
        return sorted(found, key=lambda pair: pair[0].key)

    def add(self, factor: Factor, at: int, rig: Rig, *, seconds: int = 0, hits: int = 0) -> None:
        """Add to a stored factor; ``ALL`` adds to the rig's own factors too."""
        values = [Value(factor, at)]
        if factor is Factor.ALL:
            values += rig_values(rig)
        for value in values:
            count = self.of(value)
            count.seconds += seconds
            count.hits += hits
            if rig.rod:
                count.rods.add(rig.rod)


Rows = dict[tuple[int, int, Rig, int], int]
"""(factor, value, rig, cell) to seconds."""


def exposure_rows(samples: Iterable[Sample], utc_offset_min: int) -> Rows:
    """Seconds of fishing by factor, value, rig and place, which the logbook keeps for questions across trips."""
    rows: Rows = {}
    for sample in samples:
        boat = sample.boat
        cell = cell_of(boat.latitude_deg, boat.longitude_deg)
        for rod in sample.rods:
            for factor, at in kept_values(boat, rod, utc_offset_min):
                key = (int(factor), at, rod.rig, cell)
                rows[key] = rows.get(key, 0) + SAMPLE_S
    return rows


def hit_values(hit: HitRow, utc_offset_min: int) -> dict[int, int]:
    """The stored factors' values at a hit."""
    if hit.boat is None or hit.rod_row is None:
        return {}
    return {int(factor): at for factor, at in kept_values(hit.boat, hit.rod_row, utc_offset_min)}


def tally(samples: Iterable[Sample], hits: Iterable[HitRow], utc_offset_min: int = 0) -> Tally:
    """Count samples and hits."""
    result = Tally()
    for (factor, at, rig, _), seconds in exposure_rows(samples, utc_offset_min).items():
        result.add(Factor(factor), at, rig, seconds=seconds)
    for hit in hits:
        if not hit.counts:
            continue
        if not hit.in_hours or hit.rod_row is None:
            result.outside += 1
            continue
        for factor, at in hit_values(hit, utc_offset_min).items():
            result.add(Factor(factor), at, hit.rod_row.rig, hits=1)
    return result


__all__ = ["OF_RIG", "Count", "Tally", "exposure_rows", "hit_values", "tally"]
