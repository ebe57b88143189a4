"""The crew's facts about the trip, and the box against the limits that they typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Protocol

from sternwatch.logbook.actions.trip_acts import EndTrip, TripFacts

UNNAMED = "unnamed fish"
"""The species of a fish of which nobody said what it was."""


class Fish(Protocol):
    """The fields of a hit that counting the box needs."""

    @property
    def counts(self) -> bool: ...
    @property
    def outcome(self) -> str | None: ...
    @property
    def species(self) -> str | None: ...


@dataclass(frozen=True, slots=True)
class Facts:
    """The newest value of each fact; None or empty where nobody gave one."""

    people: int | None = None
    target: tuple[str, ...] = ()
    limits: Mapping[str, int] = field(default_factory=dict)
    wind: str = ""
    sea: str = ""
    note: str = ""
    utc_offset_min: int | None = None
    ended: datetime | None = None
    ended_s: float | None = None  # in feed time

    def over_at(self, t_s: float) -> bool:
        """Whether the trip is over at a moment of feed time."""
        return self.ended_s is not None and t_s >= self.ended_s

    def told(self, action: TripFacts | EndTrip) -> Facts:
        """These facts after one more action."""
        if isinstance(action, EndTrip):
            return replace(self, ended=action.time, ended_s=action.elapsed_s)
        names = ("people", "target", "limits", "wind", "sea", "note", "utc_offset_min")
        return replace(self, **{n: value for n in names if (value := getattr(action, n)) is not None})


@dataclass(frozen=True, slots=True)
class BoxCount:
    """One species: how many are in the box, how many were freed, and the limit (None: nobody typed one)."""

    species: str
    boxed: int
    freed: int
    limit: int | None

    @property
    def left(self) -> int | None:
        """How many more the typed limit allows; negative beyond the limit."""
        return None if self.limit is None else self.limit - self.boxed

    @property
    def words(self) -> str:
        """For the screen: "coho 3 of 5", "chinook 2", "coho 6 of 5, 1 too many"."""
        if self.limit is None:
            return f"{self.species} {self.boxed}"
        over = f", {-self.left} too many" if self.left is not None and self.left < 0 else ""
        return f"{self.species} {self.boxed} of {self.limit}{over}"


def box_counts(hits: Iterable[Fish], facts: Facts) -> tuple[BoxCount, ...]:
    """Every species boxed, freed or limited: those with limits first, in the order typed, then the others by name."""
    boxed: dict[str, int] = {}
    freed: dict[str, int] = {}
    for hit in hits:
        if not hit.counts:
            continue
        table = boxed if hit.outcome == "boxed" else freed if hit.outcome == "freed" else None
        if table is not None:
            name = hit.species or UNNAMED
            table[name] = table.get(name, 0) + 1
    others = sorted((boxed.keys() | freed.keys()) - facts.limits.keys())
    return tuple(
        BoxCount(name, boxed.get(name, 0), freed.get(name, 0), facts.limits.get(name))
        for name in (*facts.limits, *others)
    )


def rods_allowed(facts: Facts, rods_per_person: int | None, people: int | None = None) -> int | None:
    """People aboard times rods per person, as a reminder by the user's own numbers; None where either is unknown."""
    aboard = facts.people if facts.people is not None else people
    return None if aboard is None or rods_per_person is None else aboard * rods_per_person
