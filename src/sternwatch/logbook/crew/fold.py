"""Folds the crew's actions into the state of every rod and the list of hits.

A pure fold over the actions in the order in which they were stored, used live and in replay: the same actions give
the same crew. The fold leaves out an undone entry, so lengths and states return to what they would be without it.
No action can make the fold fail: one that does not fit (an unknown rod, an outcome of a hit that does not exist)
is kept and described in ``problems``.

What each action does to a rod:

- ``going out``: letting out, to the length given, else the last one, else the file's. ``set``: fishing. ``in``: in.
- ``hit``: a rod that is out is fighting until every hit on it has an outcome. Doubtful hits wait for their
  ``confirm`` (an outcome other than "no fish" confirms too: a fish in the box was there). A hit on a rod that
  is in is kept and flagged, and leaves the rod in. ``doubt``: a hit becomes doubtful, and its rod goes on as before.
- ``outcome``: after "boxed" or "freed" the lure came in with the fish, so the rod is in. After "dropped" or
  "no fish" the lure still swims, and the rod goes on as before the hit. After a fight in which line was wound, nobody
  knows its length until ``length``, ``set``, ``checked`` or another letting out says it. A later outcome of the same
  hit replaces the first without moving the rod again.
- ``going out``, ``put back``, ``set`` and ``in`` end the fight. Its hits stay open until someone says how they ended.
- ``put back``: letting out with the length, setting and lead of the hit named. ``checked``: as if newly set.
- ``ran``: the rods named are in since the speed rose. ``end``: all are in. ``observed`` moves nothing.
- ``change``: another piece on the rod, which stays out or in. Another whole rig brings its own lengths and setting.
  ``move``: two stations swap rigs, with their lengths, settings and fights. An impossible change (a lure that nobody
  defined) is a problem and changes nothing. ``planned``: lengths and settings.

``reeling`` is not an action: it is motion, which the watch sees while line comes in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any, get_args

from sternwatch.logbook.actions.gear_acts import RodPlan
from sternwatch.logbook.actions.kinds import (
    Acknowledge,
    Action,
    Bite,
    Catch,
    Change,
    Checked,
    Confirm,
    Doubt,
    EndTrip,
    Fault,
    FishSeen,
    Gauge,
    GoingOut,
    Helm,
    Hit,
    Lead,
    Length,
    Marked,
    Move,
    Note,
    Noted,
    Observed,
    Outcome,
    Planned,
    PutBack,
    RanIn,
    Restore,
    Retime,
    SetRod,
    Setting,
    TakeIn,
    Throttle,
    TripFacts,
    Undo,
)
from sternwatch.logbook.crew.facts import Facts
from sternwatch.logbook.crew.state import (
    Crew,
    CrewHit,
    CrewRod,
    Gear,
    GearError,
    RodDefaults,
    RodWord,
    UnknownGear,
    When,
)

# Whoever fights a fish for longer than this has wound line; whoever finds none has felt it by then (memory, both).
WINDS_AFTER_S = 15.0
FEELS_WITHIN_S = 40.0

RodAct = GoingOut | SetRod | TakeIn | Length | Setting | Lead | PutBack | Checked | Observed


def start_state(actions: Iterable[Action]) -> RodWord:
    """The first state of a recorded session's rods: in, or fishing where no action ever takes one in or out."""
    told = any(isinstance(a, GoingOut | SetRod | TakeIn) for a in actions)
    return "in" if told else "fishing"


def fold(actions: Iterable[Action], rods: Gear | Sequence[RodDefaults], start: RodWord = "in") -> Crew:
    """The crew after all ``actions``, in the order in which they were stored; repeated ids are skipped.

    ``rods``: the gear on the rods. Given only rods, nothing but lengths and settings can change.
    """
    entries: dict[str, Action] = {}
    for action in actions:
        entries.setdefault(action.id, action)
    return _refold(entries, UnknownGear(tuple(rods)) if isinstance(rods, Sequence) else rods, start)


def apply(crew: Crew, action: Action) -> Crew:
    """The crew after one more action. A repeated id changes nothing."""
    if action.id in crew.entries:
        return crew
    entries = {**crew.entries, action.id: action}
    if isinstance(action, Undo | Restore):
        return _refold(entries, crew.filed, crew.start)
    folding = _Folding(
        crew.gear, dict(crew.rods), dict(crew.hits_by_id), dict(crew.standing), crew.undone,
        set(crew.acknowledged), list(crew.notes), list(crew.gauges), list(crew.problems), crew.facts,
        list(crew.places),
    )  # fmt: skip
    folding.enter(action)
    return folding.crew(entries, crew.filed, crew.start)


def _refold(entries: dict[str, Action], filed: Gear, start: RodWord) -> Crew:
    standing: dict[str, None] = {}
    undone: dict[str, None] = {}
    problems: list[str] = []
    parts: dict[str, list[str]] = {}
    together: dict[str, Sequence[str]] = {}  # what went with an undone entry comes back with it, and nothing else
    for action in entries.values():
        if not isinstance(action, Undo | Restore):
            standing[action.id] = None
            if action.part_of is not None:
                parts.setdefault(action.part_of, []).append(action.id)
        elif action.of not in standing and action.of not in undone:
            problems.append(f"{action.kind} {action.id}: {action.of!r} is not an earlier entry")
        else:
            undo = isinstance(action, Undo)
            source, target = (standing, undone) if undo else (undone, standing)
            act = (action.of, *parts.get(action.of, ())) if undo else together.pop(action.of, (action.of,))
            moved = [key for key in act if key in source]
            for key in moved:
                del source[key]
                target[key] = None
            if undo and moved:
                together[action.of] = moved
    rods = {d.key: CrewRod(d.key, d.name, start, d.line_out_m, d.setting, d.lead_m) for d in filed.rods}
    folding = _Folding(filed, rods, {}, standing, undone, set(), [], [], problems, Facts(), [])
    for action in entries.values():
        if action.id in standing:
            folding.enter(action)
    return folding.crew(entries, filed, start)


def _taken_in(rod: CrewRod, when: When) -> CrewRod:
    return replace(rod, state="in", state_since=when, set_at=None, fights=(), checked_at=None, length_lost=False)


def _seconds(since: When, until: When) -> float:
    """By the feed's seconds where both are known, else by the clock."""
    if since.elapsed_s is not None and until.elapsed_s is not None:
        return until.elapsed_s - since.elapsed_s
    return (until.time - since.time).total_seconds()


class _Folding:
    """The fold's working state: its own dictionaries of immutable values."""

    def __init__(
        self,
        gear: Gear,
        rods: dict[str, CrewRod],
        hits: dict[str, CrewHit],
        standing: dict[str, None],
        undone: dict[str, None],
        acknowledged: set[str],
        notes: list[Note],
        gauges: list[Gauge],
        problems: list[str],
        facts: Facts,
        places: list[Marked | FishSeen],
    ) -> None:
        self.gear, self.rods, self.hits = gear, rods, hits
        self.standing, self.undone = standing, undone
        self.acknowledged, self.notes, self.gauges, self.problems = acknowledged, notes, gauges, problems
        self.facts, self.places = facts, places

    def crew(self, entries: dict[str, Action], filed: Gear, start: RodWord) -> Crew:
        return Crew(
            entries, self.rods, self.hits, self.standing, self.undone, frozenset(self.acknowledged),
            tuple(self.notes), tuple(self.gauges), tuple(self.problems), filed, self.gear, start, self.facts,
            tuple(self.places),
        )  # fmt: skip

    def enter(self, action: Action) -> None:
        """Enter one action that counts."""
        self.standing[action.id] = None
        when = When(action.time, action.elapsed_s)
        enter = _ENTER.get(type(action))
        if enter is not None:
            enter(self, action, when)

    def _bite(self, action: Bite, when: When) -> None:
        self.hits[action.id] = CrewHit(action.id, None, when, when)

    def _acknowledge(self, action: Acknowledge, _: When) -> None:
        self.acknowledged.add(action.alert)
        del self.standing[action.id]  # acknowledging cannot be undone

    def _steered(self, action: Helm | Throttle | Fault, _: When) -> None:
        del self.standing[action.id]  # steering cannot be undone

    def _note(self, action: Note, _: When) -> None:
        self.notes.append(action)

    def _gauge(self, action: Gauge, _: When) -> None:
        self.gauges.append(action)

    def _place(self, action: Marked | FishSeen, _: When) -> None:
        self.places.append(action)

    def _told(self, action: TripFacts, _: When) -> None:
        self.facts = self.facts.told(action)

    def _end(self, action: EndTrip, when: When) -> None:
        self.facts = self.facts.told(action)
        for rod in [rod for rod in self.rods.values() if rod.state != "in"]:
            self.rods[rod.key] = _taken_in(rod, when)

    def _ran_in(self, action: RanIn, _: When) -> None:
        since = When(action.since, action.since_elapsed_s)
        for key in action.keys:
            if key in self.rods:
                self.rods[key] = _taken_in(self.rods[key], since)

    def _problem(self, action: Action, text: str) -> None:
        self.problems.append(f"{action.kind} {action.id}: {text}")

    def _rod(self, action: RodAct, when: When) -> None:
        rod = self.rods.get(action.rod)
        if rod is None:
            self._problem(action, f"no rod {action.rod!r}; the spread has {', '.join(self.rods)}")
            return
        changed = rod.set_at if rod.state == "in" else when
        match action:
            case GoingOut():
                length = rod.line_out_m if action.line_out_m is None else action.line_out_m
                rod = replace(rod, state="letting out", line_out_m=length, state_since=when, set_at=when, fights=())
                rod = replace(rod, checked_at=None, let_out_s=0.0, length_lost=False)
            case SetRod():
                rod = replace(rod, state="fishing", state_since=when, set_at=when, fights=(), length_lost=False)
            case TakeIn():
                rod = _taken_in(rod, when)
            case PutBack():
                back = {
                    name: value
                    for name in ("line_out_m", "setting", "lead_m")
                    if (value := getattr(action, name)) is not None
                }
                rod = replace(rod, state="letting out", state_since=when, set_at=when, fights=(), checked_at=None)
                rod = replace(rod, **back, length_lost=False)
            case Checked():
                rod = replace(rod, set_at=changed, checked_at=None if rod.state == "in" else when, length_lost=False)
            case Length():
                rod = replace(rod, line_out_m=action.line_out_m, set_at=changed, length_lost=False)
            case Lead() if rod.lead_m is None:
                self._problem(action, f"rod {rod.key} has no lead that can be changed")
            case Lead():
                rod = replace(rod, lead_m=action.lead_m, set_at=changed)
            case Setting():
                made = self._set_to(action, rod, action.setting)
                rod = rod if made is rod else replace(made, set_at=changed)
        self.rods[rod.key] = rod

    def _of(self, key: str) -> RodDefaults:
        return next(known for known in self.gear.rods if known.key == key)

    def _set_to(self, action: Setting | Planned, rod: CrewRod, setting: str) -> CrewRod:
        labels = self._of(rod.key).settings
        if labels is None or setting in labels:
            return replace(rod, setting=setting)
        has = f"it has {', '.join(labels)}" if labels else "it has none"
        self._problem(action, f"rod {rod.key} has no setting {setting!r}; {has}")
        return rod

    def _planned(self, action: Planned, when: When) -> None:
        for plan in action.rods:
            self._plan(action, plan, when)

    def _plan(self, action: Planned, plan: RodPlan, when: When) -> None:
        rod = self.rods.get(plan.rod)
        if rod is None:
            self._problem(action, f"no rod {plan.rod!r}; the spread has {', '.join(self.rods)}")
            return
        made = rod if plan.setting is None else self._set_to(action, rod, plan.setting)
        made = made if plan.line_out_m is None else replace(made, line_out_m=plan.line_out_m, length_lost=False)
        self.rods[rod.key] = made if made == rod or rod.state == "in" else replace(made, set_at=when)

    def _regear(self, action: Change | Move, when: When) -> None:
        """Put the changed gear in force. An impossible change leaves the gear as it is and becomes a problem."""
        keys = (action.rod, action.to) if isinstance(action, Move) else (action.rod,)
        unknown = [key for key in keys if key not in self.rods]
        try:
            if unknown:
                raise GearError(f"no rod {unknown[0]!r}; the spread has {', '.join(self.rods)}")
            self.gear = self.gear.changed(action)
        except GearError as fault:
            del self.standing[action.id]  # it has no effect, so `u` must skip it
            self._problem(action, str(fault))
            return
        if isinstance(action, Move):
            here, there = self.rods[action.rod], self.rods[action.to]
            self.rods[there.key] = replace(here, key=there.key, name=there.name, rigged_at=when)
            self.rods[here.key] = replace(there, key=here.key, name=here.name, rigged_at=when)
        for key in keys:
            rod, now = self.rods[key], self._of(key)
            if isinstance(action, Change):
                rod = replace(rod, set_at=rod.set_at if rod.state == "in" else when)
                if action.what == "rig":
                    rod = replace(rod, line_out_m=now.line_out_m, lead_m=now.lead_m, setting=now.setting)
                    rod = replace(rod, rigged_at=when, length_lost=False)
            if now.settings is not None and rod.setting not in now.settings:
                rod = replace(rod, setting=now.setting)
            self.rods[key] = rod

    def _hit(self, action: Hit, when: When) -> None:
        rod = self.rods.get(action.rod)
        flag = ""
        if rod is None:
            self._problem(action, f"no rod {action.rod!r}; the spread has {', '.join(self.rods)}")
            flag = "no such rod"
        elif rod.state == "in":
            flag = "rod was in"
        length_m, setting, lead_m = (rod.line_out_m, rod.setting, rod.lead_m) if rod else (None, None, None)
        if rod is not None and rod.length_lost:
            length_m = None
        hit = CrewHit(
            action.id, action.rod, when, when, doubtful=action.doubtful, why=action.why, flag=flag,
            line_out_m=length_m, setting=setting, lead_m=lead_m,
        )  # fmt: skip
        bite = self.hits.get(action.bite) if action.bite else None
        if bite is not None and bite.rod is None:
            # The bite becomes the hit, with all that was entered about it meanwhile.
            del self.hits[bite.id]
            hit = replace(
                hit, bite=bite.id, when=bite.when, from_memory=bite.from_memory, outcome=bite.outcome,
                outcome_at=bite.outcome_at, species=bite.species, length_m=bite.length_m, mass_kg=bite.mass_kg,
                undersized=bite.undersized, note=bite.note,
            )  # fmt: skip
        self.hits[hit.id] = hit
        if not hit.doubtful:
            self._fight(hit)

    def _fight(self, hit: CrewHit) -> None:
        """Let the hit's rod fight it, if the rod has been out since and the hit has no outcome."""
        rod = self.rods.get(hit.rod or "")
        if rod is None or rod.state == "in" or hit.outcome is not None or hit.flag:
            return
        if rod.rigged_at is not None and rod.rigged_at.time > hit.entered.time:
            return  # that rod has another rig by now
        if rod.state != "fighting":
            if rod.state_since is not None and rod.state_since.time > hit.entered.time:
                return
            if rod.state == "letting out" and rod.state_since is not None:
                ran_s = _seconds(rod.state_since, hit.entered)
                rod = replace(rod, let_out_s=rod.let_out_s + max(ran_s, 0.0))
            rod = replace(rod, state="fighting", before_fight=rod.state, state_since=hit.entered)
        self.rods[rod.key] = replace(rod, fights=(*rod.fights, hit.id))

    def _of_hit(self, action: Confirm | Doubt | Outcome | Catch | Retime | Noted, when: When) -> None:
        hit = self.hits.get(action.of) or next((h for h in self.hits.values() if h.bite == action.of), None)
        if hit is None:
            del self.standing[action.id]  # it has no effect, so `u` must skip it
            if action.of not in self.undone:
                self._problem(action, f"{action.of!r} is not an earlier hit")
            return
        match action:
            case Confirm():
                if hit.doubtful:
                    hit = self.hits[hit.id] = replace(hit, doubtful=False)
                    self._fight(hit)
            case Doubt():
                hit = self.hits[hit.id] = replace(hit, doubtful=True, why=action.why)
                self._end_fight(hit, when)
            case Outcome():
                doubtful = hit.doubtful and action.outcome == "no fish"
                hit = self.hits[hit.id] = replace(hit, outcome=action.outcome, outcome_at=when, doubtful=doubtful)
                self._end_fight(hit, when)
            case Retime():
                self.hits[hit.id] = replace(hit, when=When(action.to, action.to_elapsed_s), from_memory=True)
            case Noted():
                self.hits[hit.id] = replace(hit, noted=action)
            case Catch():
                said = {
                    name: value
                    for name in ("species", "length_m", "mass_kg", "undersized", "note")
                    if (value := getattr(action, name)) is not None
                }
                self.hits[hit.id] = replace(hit, **said)

    def _end_fight(self, hit: CrewHit, when: When) -> None:
        # Its rig may be at another station by now.
        rod = next((rod for rod in self.rods.values() if hit.id in rod.fights), None)
        if rod is None:
            return
        if hit.outcome in ("boxed", "freed"):
            rod = _taken_in(rod, when)
        else:
            left = tuple(other for other in rod.fights if other != hit.id)
            if left:
                rod = replace(rod, fights=left)
            else:
                fought_s = 0.0 if rod.state_since is None else _seconds(rod.state_since, when)
                wound = hit.outcome == "dropped" and fought_s > WINDS_AFTER_S
                wound = wound or (hit.outcome == "no fish" and fought_s > FEELS_WITHIN_S)
                rod = replace(rod, state=rod.before_fight, state_since=when, fights=())
                if wound or rod.length_lost:
                    rod = replace(rod, state="fishing", length_lost=True)
        self.rods[rod.key] = rod


# How the fold enters each kind of action. Kinds that are not here change nothing.
_ENTER: dict[type, Callable[[_Folding, Any, When], None]] = {
    **dict.fromkeys(get_args(RodAct), _Folding._rod),
    Hit: _Folding._hit,
    Change: _Folding._regear,
    Move: _Folding._regear,
    Planned: _Folding._planned,
    Bite: _Folding._bite,
    **dict.fromkeys((Confirm, Doubt, Outcome, Catch, Retime, Noted), _Folding._of_hit),
    Acknowledge: _Folding._acknowledge,
    **dict.fromkeys((Helm, Throttle, Fault), _Folding._steered),
    Note: _Folding._note,
    Gauge: _Folding._gauge,
    **dict.fromkeys((Marked, FishSeen), _Folding._place),
    TripFacts: _Folding._told,
    EndTrip: _Folding._end,
    RanIn: _Folding._ran_in,
}
