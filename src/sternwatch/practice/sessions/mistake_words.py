"""Words mistakes in sentences: cause, consequence, and what would have avoided it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.watch.forecast.turn_words import risk_words
from sternwatch.watch.picture.manoeuvre import side_of

Fact = Mapping[str, Any]

_COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def said(fact: Fact, names: Mapping[str, str], units: DisplaySystem) -> str:
    """What happened, in one sentence that begins with its time."""
    if fact.get("cause"):
        return f"At {m_ss(fact['cause_t_s'])} you {_did(fact, units)}; {_came(fact)} at {m_ss(fact['t_s'])}."
    return f"{m_ss(fact['t_s'])}  {_other(fact, names, units)}."


def instead(fact: Fact, units: DisplaySystem) -> str:
    """What would have avoided it; empty where that is unknown."""
    kind = fact["kind"]
    if fact.get("cause"):
        return _ways(fact, units)
    if kind in ("wrapped", "touched", "near"):
        return "You were going straight before it: no turn or slowing of yours led to it."
    if kind == "bottom":
        if fact["raise_m"] is None:
            return "The lure itself had room: another part of the rig touched."
        up = units.show(fact["raise_m"], Dimension.LENGTH)
        room = units.show(1.0, Dimension.LENGTH)
        since = "" if fact["cause_t_s"] is None else f" at {m_ss(fact['cause_t_s'])}, when it ran close,"
        return f"{up} shallower{since} would have passed with {room} to spare."
    return {
        "not written": f"Press {''.join(fact['keys'])} as soon as the rod goes off.",
        "not ended": "Say how it ended: b boxed, f freed, d dropped, e no fish.",
        "false hit": "Take a wrong hit back with u, or end it with e, no fish.",
        "vessel": "Turn away earlier, and by enough that the other boat sees it.",
        "goal": "Keep all that the goal asks for without a break; the boat's row shows for how long you have.",
    }.get(kind, "")


def bent_words(fact: Fact, units: DisplaySystem) -> str:
    """The words for one thing that the drill changes on purpose."""
    if fact["kind"] == "current":
        depth = "at the surface" if not fact["depth_m"] else f"at {units.show(fact['depth_m'], Dimension.LENGTH)}"
        speed = units.show(fact["speed_m_s"], Dimension.SPEED, 1)
        return f"a current of {speed} to the {_COMPASS[round(fact['towards_deg'] / 45.0) % 8]} {depth}"
    sensor = f", {fact['sensor']}" if fact["sensor"] else ""
    until = "to the end" if fact["for_s"] is None else f"to {m_ss(fact['from_s'] + fact['for_s'])}"
    return f"an instrument that fails ({fact['kind']}{sensor}) from {m_ss(fact['from_s'])} {until}"


def _did(fact: Fact, units: DisplaySystem) -> str:
    if fact["cause"] == "slow":
        speed = units.show(fact["speed_m_s"], Dimension.SPEED, 1)
        return f"went {speed}; the slowest was {units.show(fact['limit'], Dimension.SPEED, 1)}"
    turned = f"turned {abs(fact['turned_deg']):.0f}° per 10 s to {_side(fact)}"
    if fact["cause"] == "unlooked":
        return f"{turned}; no limit was known then"
    if fact["limit"] is None:
        return f"{turned}; no turn that was tried kept the risk low"
    if fact["cause"] == "within":
        return f"{turned}, within the limit of {fact['limit']:.0f}"
    return f"{turned}; the limit was {fact['limit']:.0f}"


def _side(fact: Fact) -> str:
    return side_of(fact["turned_deg"])


def _came(fact: Fact) -> str:
    keys = " and ".join(fact["keys"])
    if fact["kind"] == "near":
        return f"{keys} closed to {fact['ratio']:.1f} of the distance wanted"
    return f"{keys} {'wrapped' if fact['kind'] == 'wrapped' else 'touched'}"


def _ways(fact: Fact, units: DisplaySystem) -> str:
    risk = "" if fact["risk"] is None else f" ({risk_words(fact['risk'])})"
    tight = (
        f"Turn {fact['limit']:.0f}° per 10 s or less{risk}."
        if fact["cause"] == "tight" and fact["limit"] is not None
        else "Go straight on until the lines have come together, or bring a rod in, and turn then."
    )
    if fact["cause"] == "slow":
        return f"Keep {units.show(fact['limit'], Dimension.SPEED, 1)} or more{risk}, or bring a rod in first."
    return {
        "tight": tight,
        "unlooked": "Before you turn, wait until the helm shows the limits, or plan the turn with p.",
        "within": "A limit leaves a risk, and these lines are not quite what the console believes. Turn even wider.",
    }[fact["cause"]]


def _other(fact: Fact, names: Mapping[str, str], units: DisplaySystem) -> str:
    kind = fact["kind"]
    named = " and ".join(names.get(key, key) for key in fact["keys"])
    if kind == "vessel":
        away, least = (units.show(fact[name], Dimension.LENGTH) for name in ("away_m", "least_m"))
        return f"the other boat came within {away}; the drill asks for {least}"
    if kind == "goal":
        return f"the goal held for {m_ss(fact['held_s'])} of {m_ss(fact['hold_s'])} at most"
    if kind == "near":
        return f"{named} closed to {fact['ratio']:.1f} of the distance wanted"
    return {
        "wrapped": f"{named} wrapped",
        "touched": f"{named} touched",
        "bottom": f"{named} touched bottom",
        "not written": f"{named}: {fact.get('what')} not written down",
        "not ended": f"{named}: {fact.get('what')} written down, but not how it ended",
        "false hit": f"{named}: a hit was written down where nothing had struck",
    }[kind]
