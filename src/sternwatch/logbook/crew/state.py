"""The crew's state as one value: every rod, every hit, and what else the actions say. Made by ``fold``."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal, Protocol

from sternwatch.logbook.actions.kinds import Action, Change, FishSeen, Gauge, Marked, Move, Note, Noted, Observed
from sternwatch.logbook.crew.facts import Facts

RodWord = Literal["in", "letting out", "fishing", "fighting"]


@dataclass(frozen=True, slots=True)
class When:
    """A moment on the clock (UTC) and, where known, in feed time."""

    time: datetime
    elapsed_s: float | None = None


@dataclass(frozen=True, slots=True)
class RodDefaults:
    """What the spread file says of a rod, as plain values."""

    key: str
    name: str = ""
    line_out_m: float | None = None
    setting: str | None = None
    lead_m: float | None = None
    settings: tuple[str, ...] | None = None  # the labels it may have; None: any is taken


class GearError(ValueError):
    """Why a change of gear cannot be, in one sentence."""


class Gear(Protocol):
    """What hangs from the rods, as far as the fold must know it."""

    @property
    def rods(self) -> tuple[RodDefaults, ...]:
        """Every rod as rigged, its lengths and setting as they are before anybody changes them."""
        ...

    def changed(self, act: Change | Move) -> Gear:
        """After a change. Raises GearError."""
        ...


@dataclass(frozen=True, slots=True)
class UnknownGear:
    """Rods of which nobody knows what hangs from them."""

    rods: tuple[RodDefaults, ...]

    def changed(self, act: Change | Move) -> Gear:
        raise GearError(f"what hangs from rod {act.rod} is not known, so it cannot be changed")


@dataclass(frozen=True, slots=True)
class CrewRod:
    """One rod as the crew left it. Lengths are the counter's."""

    key: str
    name: str
    state: RodWord
    line_out_m: float | None
    setting: str | None
    lead_m: float | None
    state_since: When | None = None  # None: from the start
    set_at: When | None = None  # last let out or changed; None while in and before the first word of it
    fights: tuple[str, ...] = ()  # the hits it is fighting, oldest first
    before_fight: RodWord = "fishing"
    checked_at: When | None = None  # the line was last looked at, since it went out
    rigged_at: When | None = None  # when the whole rig was last changed; None: as in the spread file
    let_out_s: float = 0.0  # how long its line had gone out before hits stopped it on the way


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
    flag: str = ""  # said beside it: the rod was in
    from_memory: bool = False  # its moment was given afterwards
    bite: str | None = None
    species: str | None = None
    length_m: float | None = None
    mass_kg: float | None = None
    undersized: bool | None = None
    note: str = ""
    line_out_m: float | None = None  # the rod's, when the key was pressed
    setting: str | None = None
    lead_m: float | None = None
    noted: Noted | None = None  # what a notebook says of it

    @property
    def counts(self) -> bool:
        """Whether it is a hit for every tally: on a rod, not doubtful, and not "no fish"."""
        return self.rod is not None and not self.doubtful and self.outcome != "no fish"

    @property
    def state(self) -> str:
        """open | boxed | freed | dropped | no fish."""
        return self.outcome or "open"


@dataclass(frozen=True, slots=True)
class Crew:
    """Everything the actions say, as one immutable value."""

    entries: dict[str, Action]  # every stored action by id, in order of storing; never changed in place
    rods: dict[str, CrewRod]  # in spread order; never changed in place
    hits_by_id: dict[str, CrewHit]  # in order of entry, taken-back ones left out; bites awaiting a rod among them
    standing: dict[str, None]  # entries that count, the one that `u` would take back last
    undone: dict[str, None]  # the one that `y` would restore last
    acknowledged: frozenset[str]  # alert ids
    notes: tuple[Note, ...]
    gauges: tuple[Gauge, ...]  # in order of entry
    problems: tuple[str, ...]
    filed: Gear  # as the spread file has it
    gear: Gear  # in force
    start: RodWord
    facts: Facts = field(default_factory=Facts)
    places: tuple[Marked | FishSeen, ...] = ()  # in order of entry

    @property
    def observed(self) -> tuple[Observed, ...]:
        """What was observed of rods, in order of entry."""
        return tuple(one for key in self.standing if isinstance(one := self.entries[key], Observed))

    @property
    def hits(self) -> tuple[CrewHit, ...]:
        """Hits and waiting bites in order of entry."""
        return tuple(self.hits_by_id.values())

    @property
    def newest(self) -> Action | None:
        """The entry that `u` would take back: the newest that counts, one restored being new again."""
        return self.entries[key] if (key := next(reversed(self.standing), None)) else None

    @property
    def restorable(self) -> Action | None:
        """The entry that `y` would restore: the last taken back."""
        return self.entries[key] if (key := next(reversed(self.undone), None)) else None

    def hit(self, hit_id: str) -> CrewHit | None:
        """The hit of that id (or that took the bite of that id), unless it is taken back."""
        found = self.hits_by_id.get(hit_id)
        return found or next((h for h in self.hits_by_id.values() if h.bite == hit_id), None)

    def open_fish(self, key: str | None = None) -> tuple[CrewHit, ...]:
        """Hits without an outcome that are not doubtful, oldest first; of one rod or of all."""
        return tuple(
            h for h in self.hits_by_id.values()
            if h.rod is not None and h.outcome is None and not h.doubtful and (key is None or h.rod == key)
        )  # fmt: skip

    def last_hit(self, key: str) -> CrewHit | None:
        """The rod's last hit in time that counts."""
        mine = [h for h in self.hits_by_id.values() if h.rod == key and h.counts]
        return max(mine, key=lambda h: h.when.time, default=None)
