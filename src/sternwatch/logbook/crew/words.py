"""Entries in words, as the crew would say them: "hit on 3 P LOW 19:42"."""

from __future__ import annotations

from datetime import tzinfo
from typing import Literal

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


def describe(action: Action, crew: Crew, zone: tzinfo | None = None, unit: Literal["ft", "m"] = "ft") -> str:
    """One entry in words with its time of day in ``zone`` (None: this computer's own)."""
    what = _what(action, crew, zone, unit)
    # A moved hit already names a time of day; a second one beside it would be taken for it.
    return what if isinstance(action, Retime) else f"{what} {action.time.astimezone(zone):%H:%M}"


def newest_entry(crew: Crew, zone: tzinfo | None = None, unit: Literal["ft", "m"] = "ft") -> str:
    """What `u` would take back, in words; empty when there is nothing."""
    return describe(crew.newest, crew, zone, unit) if crew.newest else ""


def restorable_entry(crew: Crew, zone: tzinfo | None = None, unit: Literal["ft", "m"] = "ft") -> str:
    """What `y` would restore, in words; empty when there is nothing."""
    return describe(crew.restorable, crew, zone, unit) if crew.restorable else ""


def rod_words(key: str, crew: Crew) -> str:
    """A rod by its key and the name that is shouted: "3 P LOW"."""
    rod = crew.rods.get(key)
    return f"{key} {rod.name}" if rod and rod.name else key


def length_words(metres: float, unit: Literal["ft", "m"]) -> str:
    """A length on the counter: whole feet, or tenths of a metre."""
    return f"{metres / M_PER_FT:.0f} ft" if unit == "ft" else f"{metres:.1f} m"


def _what(action: Action, crew: Crew, zone: tzinfo | None, unit: Literal["ft", "m"]) -> str:
    match action:
        case GoingOut():
            to = "" if action.line_out_m is None else f" to {length_words(action.line_out_m, unit)}"
            return f"{rod_words(action.rod, crew)} going out{to}"
        case SetRod():
            return f"{rod_words(action.rod, crew)} set"
        case TakeIn():
            return f"{rod_words(action.rod, crew)} in"
        case Length():
            return f"{rod_words(action.rod, crew)} line out {length_words(action.line_out_m, unit)}"
        case Lead():
            return f"{rod_words(action.rod, crew)} lead {length_words(action.lead_m, unit)}"
        case Setting():
            return f"{rod_words(action.rod, crew)} setting {action.setting}"
        case Hit():
            return f"{'doubtful ' if action.doubtful else ''}hit on {rod_words(action.rod, crew)}"
        case Bite():
            return "bite, rod not known yet"
        case Confirm():
            return f"{_of(action.of, crew)} confirmed"
        case Doubt():
            return f"{_of(action.of, crew)} doubted"
        case Outcome():
            return f"{_of(action.of, crew)} {action.outcome}"
        case Catch():
            said = ", ".join(_catch(action, unit)) or "catch"
            return f"{_of(action.of, crew)}: {said}"
        case Retime():
            return f"{_of(action.of, crew)} moved to {action.to.astimezone(zone):%H:%M}"
        case Undo() | Restore():
            of = crew.entries.get(action.of)
            verb = "taken back" if isinstance(action, Undo) else "restored"
            named = "an entry" if of is None or isinstance(of, Undo | Restore) else _what(of, crew, zone, unit)
            return f"{named} {verb}"
        case Acknowledge():
            return "alert acknowledged"
        case Gauge():
            return _gauge(action, unit)
        case Helm():
            return _helm(action)
        case Fault():
            return action.words
        case Throttle():
            return f"{action.engine} at {action.lever:.0%}"
        case PutBack():
            return f"{rod_words(action.rod, crew)} put back"
        case Checked():
            return f"{rod_words(action.rod, crew)} line checked"
        case RanIn():
            keys = " ".join(action.keys)
            since = action.since.astimezone(zone)
            return f"rod{'s' * (len(action.keys) > 1)} {keys} taken as in, running since {since:%H:%M}, noticed"
        case EndTrip():
            return "trip ended"
        case TripFacts():
            return _facts(action)
        case CurrentSaid():
            pace = f"{action.speed_m_s / 0.44704:.1f} mph" if unit == "ft" else f"{action.speed_m_s * 3.6:.1f} km/h"
            return f"current {pace} to {action.towards_deg:03.0f}°"
        case Noted():
            return f"{_of(action.of, crew)} as in the notebook"
        case Marked():
            return f"{action.what} marked"
        case Observed():
            return f"{rod_words(action.rod, crew)} {observed_words(action, unit)}"
        case FishSeen():
            return f"fish seen at {length_words(action.depth_m, unit)}"
        case Change():
            return f"{rod_words(action.rod, crew)} {action.what} {action.name}"
        case Move():
            return f"rigs of {rod_words(action.rod, crew)} and {rod_words(action.to, crew)} changed places"
        case Planned():
            return f"rods {' '.join(plan.rod for plan in action.rods)} as planned"
        case Note():
            text = action.text if len(action.text) <= 40 else action.text[:39] + "…"
            return f"note “{text}”"


def _facts(action: TripFacts) -> str:
    said = [] if action.people is None else [f"{action.people} aboard"]
    if action.target is not None:
        said.append("after " + ", ".join(action.target) if action.target else "no target")
    if action.limits is not None:
        said.append("limits " + (", ".join(f"{name} {n}" for name, n in action.limits.items()) or "none"))
    said += [f"{name} {text}" for name in ("wind", "sea", "note") if (text := getattr(action, name))]
    return ", ".join(said) or "trip"


def observed_words(action: Observed, unit: Literal["ft", "m"]) -> str:
    """What was observed, without the rod: "touched bottom", "ball seen on sounder 48 ft"."""
    said: list[str] = [action.at] if action.at is not None else []
    said.append(action.what)
    if action.depth_m is not None:
        said.append(length_words(action.depth_m, unit))
    if action.angle_deg is not None:
        said.append(f"{action.angle_deg:.0f}°")
    if action.pull_N is not None:
        said.append(f"{action.pull_N / 4.4482216152605:.1f} lbf" if unit == "ft" else f"{action.pull_N:.0f} N")
    if action.speed_m_s is not None:
        said.append(f"at {action.speed_m_s / 0.44704:.1f} mph" if unit == "ft" else f"at {action.speed_m_s:.2f} m/s")
    return " ".join(said)


def _gauge(action: Gauge, unit: Literal["ft", "m"]) -> str:
    said = []
    if action.temperature_c is not None:
        warmth = action.temperature_c
        said.append(f"{warmth * 1.8 + 32:.1f} °F" if unit == "ft" else f"{warmth:.1f} °C")
    if action.speed_m_s is not None:
        speed = action.speed_m_s
        said.append(f"{speed / 0.44704:.1f} mph" if unit == "ft" else f"{speed * 3.6:.1f} km/h")
    return f"{' and '.join(said)} at {length_words(action.depth_m, unit)}"


def _helm(action: Helm) -> str:
    if action.heading_deg is not None:
        return f"holding {action.heading_deg:03.0f}°"
    rudder = action.rudder_deg or 0.0
    side = "amidships" if rudder == 0.0 else f"{abs(rudder):.0f}° {'starboard' if rudder > 0 else 'port'}"
    return f"helm {side}"


def _of(hit_id: str, crew: Crew) -> str:
    hit = crew.entries.get(hit_id)
    if isinstance(hit, Hit):
        return f"hit on {rod_words(hit.rod, crew)}"
    return "bite" if isinstance(hit, Bite) else "hit"


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
