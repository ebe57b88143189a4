"""The crew's state as one value: every rod, every hit, and all else that actions give. ``fold`` makes it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, Protocol

from sternwatch.logbook.actions.kinds import Action, Change, FishSeen, Gauge, Marked, Move, Note, Noted, Observed
from sternwatch.logbook.crew.facts import Facts
from sternwatch.quickly import quickly_made

RodWord = Literal["in", "letting out", "fishing", "fighting"]


@dataclass(frozen=True, slots=True)
class When:
    """A moment on the clock (UTC) and, where known, in feed time."""

    time: datetime
    elapsed_s: float | None = None


@dataclass(frozen=True, slots=True)
class RodDefaults:
    """A rod's values in the spread file."""

    key: str
    name: str = ""
    line_out_m: float | None = None
    setting: str | None = None
    lead_m: float | None = None
    settings: tuple[str, ...] | None = None  # the labels it may have; None: any


class GearError(ValueError):
    """A change of gear is impossible; the message says why in one sentence."""


class Gear(Protocol):
    """The gear on the rods, as far as the fold needs it."""

    @property
    def rods(self) -> tuple[RodDefaults, ...]:
        """Every rod as rigged, with the lengths and setting that it starts with."""
        ...

    def changed(self, act: Change | Move) -> Gear:
        """The gear after a change. Raises GearError."""
        ...


@dataclass(frozen=True, slots=True)
class UnknownGear:
    """Gear that is unknown."""

    rods: tuple[RodDefaults, ...]

    def changed(self, act: Change | Move) -> Gear:
        raise GearError(f"what hangs from rod {act.rod} is not known, so it cannot be changed")


@quickly_made
@dataclass(frozen=True, slots=True)
class CrewRod:
    """One rod in the state that the crew left it in. Lengths are counter readings."""

    key: str
    name: str
    state: RodWord
    line_out_m: float | None
    setting: str | None
    lead_m: float | None
    state_since: When | None = None  # None: from the start
    set_at: When | None = None  # last let out or changed; None while in and before the first such entry
    fights: tuple[str, ...] = ()  # ids of the hits it is fighting, oldest first
    before_fight: RodWord = "fishing"
    checked_at: When | None = None  # last check of the line since it went out
    rigged_at: When | None = None  # last change of the whole rig; None: as in the spread file
    let_out_s: float = 0.0  # how long its line had run out before hits interrupted it
    length_lost: bool = False  # line was wound in a fight: until it is said, ``line_out_m`` is that of before


@quickly_made
@dataclass(frozen=True, slots=True)
class CrewHit:
    """A hit, or a bite whose rod is not known yet (``rod`` None)."""

    id: str
    rod: str | None
    when: When  # the moment it counts for
    entered: When  # the moment of the key press
    outcome: str | None = None  # None: open
    outcome_at: When | None = None
    doubtful: bool = False
    why: str = ""
    flag: str = ""  # a remark beside it, such as "rod was in"
    from_memory: bool = False  # the crew gave its moment afterwards
    bite: str | None = None
    species: str | None = None
    length_m: float | None = None
    mass_kg: float | None = None
    undersized: bool | None = None
    note: str = ""
    line_out_m: float | None = None  # the rod's at the key press
    setting: str | None = None
    lead_m: float | None = None
    noted: Noted | None = None  # a notebook's facts about it

    @property
    def counts(self) -> bool:
        """Whether it is a hit for every tally: on a rod, not doubtful, and not "no fish"."""
        return self.rod is not None and not self.doubtful and self.outcome != "no fish"

    @property
    def state(self) -> str:
        """open | boxed | freed | dropped | no fish."""
        return self.outcome or "open"


@quickly_made
@dataclass(frozen=True, slots=True)
class Crew:
    """All that follows from the actions, as one immutable value."""

    entries: dict[str, Action]  # every stored action by id, in order of storing; never changed in place
    rods: dict[str, CrewRod]  # in spread order; never changed in place
    hits_by_id: dict[str, CrewHit]  # in order of entry, without undone ones; with bites that have no rod yet
    standing: dict[str, None]  # entries that count; the last is the next that `u` undoes
    undone: dict[str, None]  # the last is the next that `y` restores
    acknowledged: frozenset[str]  # alert ids
    notes: tuple[Note, ...]
    gauges: tuple[Gauge, ...]  # in order of entry
    problems: tuple[str, ...]
    filed: Gear  # as in the spread file
    gear: Gear  # in force
    start: RodWord
    facts: Facts = field(default_factory=Facts)
    places: tuple[Marked | FishSeen, ...] = ()  # in order of entry

    @property
    def observed(self) -> tuple[Observed, ...]:
        """The observations of rods, in order of entry."""
        return tuple(one for key in self.standing if isinstance(one := self.entries[key], Observed))

    @property
    def hits(self) -> tuple[CrewHit, ...]:
        """Hits and waiting bites in order of entry."""
        return tuple(self.hits_by_id.values())

    @property
    def newest(self) -> Action | None:
        """The entry that `u` undoes: the newest that counts. Restoring an entry makes it the newest."""
        return self.entries[key] if (key := next(self.acts(self.standing), None)) else None

    def acts(self, keys: dict[str, None]) -> Iterator[str]:
        """The entries of ``standing`` or ``undone``, the newest first, without the parts of others."""
        return (key for key in reversed(keys) if self.entries[key].part_of not in self.entries)

    @property
    def restorable(self) -> Action | None:
        """The entry that `y` restores: the last undone."""
        return self.entries[key] if (key := next(self.acts(self.undone), None)) else None

    def hit(self, hit_id: str) -> CrewHit | None:
        """The hit with this id, or the one that took the bite with this id; None where it is undone."""
        found = self.hits_by_id.get(hit_id)
        return found or next((h for h in self.hits_by_id.values() if h.bite == hit_id), None)

    def open_fish(self, key: str | None = None) -> tuple[CrewHit, ...]:
        """Hits of one rod or of all that have no outcome and are not doubtful, oldest first."""
        return tuple(
            h for h in self.hits_by_id.values()
            if h.rod is not None and h.outcome is None and not h.doubtful and (key is None or h.rod == key)
        )  # fmt: skip

    def last_hit(self, key: str) -> CrewHit | None:
        """The latest hit of a rod that counts."""
        mine = [h for h in self.hits_by_id.values() if h.rod == key and h.counts]
        return max(mine, key=lambda h: h.when.time, default=None)
