"""Entries in the crew's words: "hit on 3 P LOW 19:42"."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from sternwatch.local_time import BoatTime, offset_words
from sternwatch.logbook.actions.kinds import (
    Acknowledge,
    Action,
    Bite,
    Catch,
    Change,
    Checked,
    Confirm,
    CurrentSaid,
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
from sternwatch.logbook.crew.state import Crew

M_PER_FT = 0.3048


OWN = BoatTime()  # the time zone of this computer


def describe(action: Action, crew: Crew, clock: BoatTime = OWN, unit: Literal["ft", "m"] = "ft") -> str:
    """One entry in words with its time of day."""
    what = _what(action, crew, clock, unit)
    # A moved hit already names a time of day; a second one beside it would be misread.
    return what if isinstance(action, Retime) else f"{what} {clock.hm(action.time)}"


def rod_words(key: str, crew: Crew) -> str:
    """A rod by its key and its short name: "3 P LOW"."""
    rod = crew.rods.get(key)
    return f"{key} {rod.name}" if rod and rod.name else key


def length_words(metres: float, unit: Literal["ft", "m"]) -> str:
    """A length on the counter: whole feet, or tenths of a metre."""
    return f"{metres / M_PER_FT:.0f} ft" if unit == "ft" else f"{metres:.1f} m"


@dataclass(frozen=True, slots=True)
class _Saying:
    """What the words depend on: the crew whose entry it is, the clock, the units."""

    crew: Crew
    clock: BoatTime
    unit: Literal["ft", "m"]

    def rod(self, key: str) -> str:
        return rod_words(key, self.crew)

    def hit(self, hit_id: str) -> str:
        """A hit or a bite by its rod."""
        hit = self.crew.entries.get(hit_id)
        if isinstance(hit, Hit):
            return f"hit on {self.rod(hit.rod)}"
        return "bite" if isinstance(hit, Bite) else "hit"

    def length(self, metres: float) -> str:
        return length_words(metres, self.unit)


def _what(action: Action, crew: Crew, clock: BoatTime, unit: Literal["ft", "m"]) -> str:
    return _WORDS[type(action)](action, _Saying(crew, clock, unit))


def _going_out(act: GoingOut, to: _Saying) -> str:
    length = "" if act.line_out_m is None else f" to {to.length(act.line_out_m)}"
    return f"{to.rod(act.rod)} going out{length}"


def _taken_back(act: Undo | Restore, to: _Saying) -> str:
    of = to.crew.entries.get(act.of)
    verb = "taken back" if isinstance(act, Undo) else "restored"
    named = "an entry" if of is None or isinstance(of, Undo | Restore) else _what(of, to.crew, to.clock, to.unit)
    return f"{named} {verb}"


def _ran_in(act: RanIn, to: _Saying) -> str:
    plural = "s" * (len(act.keys) > 1)
    return f"rod{plural} {' '.join(act.keys)} taken as in: she has been running since {to.clock.hm(act.since)}"


def _current_said(act: CurrentSaid, to: _Saying) -> str:
    pace = f"{act.speed_m_s / 0.44704:.1f} mph" if to.unit == "ft" else f"{act.speed_m_s * 3.6:.1f} km/h"
    return f"current {pace} to {act.towards_deg:03.0f}°"


def _note(act: Note, _: _Saying) -> str:
    text = act.text if len(act.text) <= 40 else act.text[:39] + "…"
    return f"note “{text}”"


def _facts(action: TripFacts, _: _Saying) -> str:
    said = [] if action.people is None else [f"{action.people} aboard"]
    if action.target is not None:
        said.append("after " + ", ".join(action.target) if action.target else "no target")
    if action.limits is not None:
        said.append("limits " + (", ".join(f"{name} {n}" for name, n in action.limits.items()) or "none"))
    said += [f"{name} {text}" for name in ("wind", "sea", "note") if (text := getattr(action, name))]
    if action.utc_offset_min is not None:
        said.append(f"the boat's clock is UTC{offset_words(action.utc_offset_min)}")
    return ", ".join(said) or "trip"


def observed_words(action: Observed, unit: Literal["ft", "m"]) -> str:
    """An observation without its rod: "touched bottom", "ball seen on sounder 48 ft"."""
    said: list[str] = [action.at] if action.at is not None else []
    said.append(action.what)
    if action.depth_m is not None:
        said.append(length_words(action.depth_m, unit))
    if action.angle_deg is not None:
        said.append(f"{action.angle_deg:.0f}°")
    if action.pull_N is not None:
        said.append(f"{action.pull_N / 4.4482216152605:.1f} lb" if unit == "ft" else f"{action.pull_N:.0f} N")
    if action.speed_m_s is not None:
        said.append(f"at {action.speed_m_s / 0.44704:.1f} mph" if unit == "ft" else f"at {action.speed_m_s:.2f} m/s")
    return " ".join(said)


def _gauge(action: Gauge, to: _Saying) -> str:
    unit = to.unit
    said = []
    if action.temperature_c is not None:
        warmth = action.temperature_c
        said.append(f"{warmth * 1.8 + 32:.1f} °F" if unit == "ft" else f"{warmth:.1f} °C")
    if action.speed_m_s is not None:
        speed = action.speed_m_s
        said.append(f"{speed / 0.44704:.1f} mph" if unit == "ft" else f"{speed * 3.6:.1f} km/h")
    return f"{' and '.join(said)} at {length_words(action.depth_m, unit)}"


def _helm(action: Helm, _: _Saying) -> str:
    if action.heading_deg is not None:
        return f"holding {action.heading_deg:03.0f}°"
    rudder = action.rudder_deg or 0.0
    side = "amidships" if rudder == 0.0 else f"{abs(rudder):.0f}° {'starboard' if rudder > 0 else 'port'}"
    return f"helm {side}"


def _catch(action: Catch, unit: Literal["ft", "m"]) -> list[str]:
    said = [action.species] if action.species else []
    if action.length_m is not None:
        said.append(
            f"{action.length_m / M_PER_FT * 12:.1f} in" if unit == "ft" else f"{action.length_m * 100:.0f} cm"
        )
    if action.mass_kg is not None:
        said.append(f"{action.mass_kg / 0.45359237:.1f} lb" if unit == "ft" else f"{action.mass_kg:.1f} kg")
    if action.undersized:
        said.append("undersized")
    if action.note:
        said.append(f"“{action.note}”")
    return said


# The function that words each kind of entry.
_WORDS: dict[type, Callable[[Any, _Saying], str]] = {
    GoingOut: _going_out,
    SetRod: lambda act, to: f"{to.rod(act.rod)} set",
    TakeIn: lambda act, to: f"{to.rod(act.rod)} in",
    Length: lambda act, to: f"{to.rod(act.rod)} line out {to.length(act.line_out_m)}",
    Lead: lambda act, to: f"{to.rod(act.rod)} lead {to.length(act.lead_m)}",
    Setting: lambda act, to: f"{to.rod(act.rod)} setting {act.setting}",
    Hit: lambda act, to: f"{'doubtful ' if act.doubtful else ''}hit on {to.rod(act.rod)}",
    Bite: lambda _act, _to: "bite, rod not known yet",
    Confirm: lambda act, to: f"{to.hit(act.of)} confirmed",
    Doubt: lambda act, to: f"{to.hit(act.of)} doubted",
    Outcome: lambda act, to: f"{to.hit(act.of)} {act.outcome}",
    Catch: lambda act, to: f"{to.hit(act.of)}: {', '.join(_catch(act, to.unit)) or 'catch'}",
    Retime: lambda act, to: f"{to.hit(act.of)} moved to {to.clock.hm(act.to)}",
    Undo: _taken_back,
    Restore: _taken_back,
    Acknowledge: lambda _act, _to: "alert acknowledged",
    Gauge: _gauge,
    Helm: _helm,
    Fault: lambda act, _to: str(act.words),
    Throttle: lambda act, _to: f"{act.engine} at {100 * act.lever:.0f} %",
    PutBack: lambda act, to: f"{to.rod(act.rod)} put back",
    Checked: lambda act, to: f"{to.rod(act.rod)} line checked",
    RanIn: _ran_in,
    EndTrip: lambda _act, _to: "trip ended",
    TripFacts: _facts,
    CurrentSaid: _current_said,
    Noted: lambda act, to: f"{to.hit(act.of)} as in the notebook",
    Marked: lambda act, _to: f"{act.what} marked",
    Observed: lambda act, to: f"{to.rod(act.rod)} {observed_words(act, to.unit)}",
    FishSeen: lambda act, to: f"fish seen at {to.length(act.depth_m)}",
    Change: lambda act, to: f"{to.rod(act.rod)} {act.what} {act.name}",
    Move: lambda act, to: f"rigs of {to.rod(act.rod)} and {to.rod(act.to)} changed places",
    Planned: lambda act, _to: f"rods {' '.join(plan.rod for plan in act.rods)} as planned",
    Note: _note,
}
