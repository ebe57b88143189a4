"""What to do about a crossing that is forecast: the smallest single change that cures it, found by trying.

Candidates of each kind are tried from the smallest up on one member, the median one of the pair most likely to
cross, where what is required is asked with a margin; what cures it there is then confirmed with all members. Nothing
is advised that was not simulated.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from sternwatch.gear.units import Dimension, DisplaySystem
from sternwatch.hydro.separation import Required
from sternwatch.watch.ensemble import Fleet, one_of, with_line
from sternwatch.watch.outlook import Advice, Forecast
from sternwatch.watch.outlook_make import Risk, risk
from sternwatch.watch.outlook_path import Manoeuvre, path_of
from sternwatch.watch.turn_limit import RISK
from sternwatch.watch.turn_words import clock

# What the one member must keep for its change to be worth trying with all members.
MARGIN = 1.3
CONFIRMED = 3
SLOWER = (0.85, 0.7, 0.55, 0.45, 0.35, 0.25)
SPEEDS = (1.1, 0.9, 1.2, 0.8, 1.3, 0.7)
LINE_STEPS = (1, 2, 4)  # of ten feet, or three metres
SIDES = {1.0: "starboard", -1.0: "port"}


@dataclass(frozen=True, slots=True)
class Change:
    """One thing done otherwise. ``effort`` ranks changes of different kinds against one another."""

    kind: str
    effort: float
    manoeuvre: Manoeuvre
    rod: str | None = None
    by_m: float = 0.0


def advise(
    fleet: Fleet,
    made: Forecast,
    *,
    speed_m_s: float,
    required: Required,
    units: DisplaySystem,
    names: dict[str, str],
    set_risk: float = RISK,
) -> tuple[Advice, ...]:
    """At most three changes, smallest first, each with the share of members in which any pair still crosses.

    ``made`` is the forecast to be cured. A change that leaves more than ``set_risk`` is kept only where nothing
    cures, and only if it at least halves the risk. ``names``: what the rods are called, by key.
    """
    if made.worst is None or made.worst_member is None or made.any_crossing is None:
        return ()
    manoeuvre, before = made.manoeuvre, made.any_crossing
    median = one_of(fleet, made.worst_member)
    step_m = line_step_m(units)
    strict = replace(required, line_m=MARGIN * required.line_m, tackle_m=MARGIN * required.tackle_m)
    found: list[Change] = []
    for kind in (_slower(manoeuvre, speed_m_s), _other_side(manoeuvre), _speeds(manoeuvre, speed_m_s)):
        found += _first_cure(kind, median, speed_m_s, strict)
    for key in made.worst.keys:
        for sign in (1.0, -1.0):
            found += _first_cure(_lines(manoeuvre, key, sign * step_m), median, speed_m_s, strict)
    found.sort(key=lambda change: change.effort)
    tried = [(change, _try(change, fleet, speed_m_s, required)) for change in found[:CONFIRMED]]
    known = [(change, outcome.any) for change, outcome in tried if outcome is not None]
    good: list[tuple[Change, float]] = []
    for change, after in known:
        # Of one kind only the smallest: a turn slower than slow enough is no second advice.
        if after <= set_risk and all((change.kind, change.rod) != (c.kind, c.rod) for c, _ in good):
            good.append((change, after))
    if not good:
        good = sorted(((c, after) for c, after in known if after <= 0.5 * before), key=lambda entry: entry[1])[:1]
    return tuple(
        Advice(sentence(change, after, speed_m_s, units, names, set_risk), _record(change, speed_m_s), after)
        for change, after in good
    )


def line_step_m(units: DisplaySystem) -> float:
    """A step of line that a counter shows as a round number."""
    return 10 * 0.3048 if units.length == "ft" else 3.0


def _try(change: Change, fleet: Fleet, speed_m_s: float, required: Required) -> Risk | None:
    changed = fleet if change.rod is None else with_line(fleet, change.rod, change.by_m)
    return None if changed is None else risk(changed, change.manoeuvre, speed_m_s=speed_m_s, required=required)


def _first_cure(candidates: Iterator[Change], alone: Fleet, speed_m_s: float, strict: Required) -> list[Change]:
    """The smallest of a kind that cures one member, and the next larger as a second try."""
    cured: list[Change] = []
    for change in candidates:
        outcome = _try(change, alone, speed_m_s, strict)
        if outcome is not None and outcome.any == 0.0:
            cured.append(change)
            if len(cured) == 2:
                break
    return cured


def _slower(manoeuvre: Manoeuvre, speed_m_s: float) -> Iterator[Change]:
    if not manoeuvre.turn_rad:
        return
    for share in SLOWER:
        effort = math.log(1.0 / share) / math.log(1.0 / 0.7)
        if manoeuvre.radius_m is not None:
            yield Change("turn", effort, replace(manoeuvre, radius_m=manoeuvre.radius_m / share))
        else:
            path = path_of(manoeuvre, heading_rad=0.0, speed_m_s=speed_m_s)
            turning = max(path.ends_s - path.starts_s, 1.0)
            rate = manoeuvre.rate_rad_s or abs(manoeuvre.turn_rad) / turning
            yield Change("turn", effort, replace(manoeuvre, rate_rad_s=rate * share))


def _other_side(manoeuvre: Manoeuvre) -> Iterator[Change]:
    if manoeuvre.turn_rad:
        yield Change("side", 1.5, replace(manoeuvre, turn_rad=-manoeuvre.turn_rad))


def _speeds(manoeuvre: Manoeuvre, speed_m_s: float) -> Iterator[Change]:
    if manoeuvre.stop_s is not None:
        return
    base = speed_m_s if manoeuvre.to_speed_m_s is None else manoeuvre.to_speed_m_s
    for share in SPEEDS:
        effort = 1.2 * abs(math.log(share)) / math.log(1.1)
        yield Change("speed", effort, replace(manoeuvre, to_speed_m_s=share * base))


def _lines(manoeuvre: Manoeuvre, key: str, step_m: float) -> Iterator[Change]:
    for count in LINE_STEPS:
        yield Change("line", 0.5 + count, manoeuvre, rod=key, by_m=count * step_m)


def turn_words(side: str, degrees: float, seconds: float) -> str:
    """A turn as helmsmen steer it."""
    return f"{degrees:.0f}° to {side} in {clock(seconds)} ({10 * degrees / seconds:.0f}° per 10 s)"


def _turn_of(manoeuvre: Manoeuvre, speed_m_s: float) -> tuple[str, float, float]:
    """Side, degrees and seconds of a manoeuvre's turn."""
    path = path_of(manoeuvre, heading_rad=0.0, speed_m_s=speed_m_s)
    bends = [t for t, turned in zip(path.time_s[1:], abs(path.heading_rad[1:] - path.heading_rad[:-1]), strict=True)
             if turned > 1e-9]  # fmt: skip
    seconds = (max(bends) - path.starts_s) if bends else 0.0
    return SIDES[math.copysign(1.0, manoeuvre.turn_rad)], math.degrees(abs(manoeuvre.turn_rad)), float(seconds)


def sentence(
    change: Change, after: float, speed_m_s: float, units: DisplaySystem, names: dict[str, str], set_risk: float
) -> str:
    """A change and what it leaves, as one sentence in the user's units."""
    left = f"{100 * after:.0f} %"
    outcome = f"crossing unlikely ({left})" if after <= set_risk else f"crossing still {left}"
    if change.kind == "line":
        length = units.show(abs(change.by_m), Dimension.LENGTH)
        verb = "Let out" if change.by_m > 0 else "Take in"
        return f"{verb} {length} on {names.get(change.rod or '', change.rod)}: {outcome}."
    if change.kind == "speed":
        assert change.manoeuvre.to_speed_m_s is not None
        return f"Go {units.show(change.manoeuvre.to_speed_m_s, Dimension.SPEED, 1)} from now on: {outcome}."
    side, degrees, seconds = _turn_of(change.manoeuvre, speed_m_s)
    if change.kind == "side":
        return f"Turn to {side} instead, {degrees:.0f}° in {clock(seconds)}: {outcome}."
    return f"Turn slower, {turn_words(side, degrees, seconds)}: {outcome}."


def _record(change: Change, speed_m_s: float) -> dict[str, str | float]:
    if change.kind == "line":
        assert change.rod is not None
        return {"what": "line", "rod": change.rod, "by_m": change.by_m}
    if change.kind == "speed":
        assert change.manoeuvre.to_speed_m_s is not None
        return {"what": "speed", "to_speed_m_s": change.manoeuvre.to_speed_m_s}
    side, degrees, seconds = _turn_of(change.manoeuvre, speed_m_s)
    record: dict[str, str | float] = {"what": "turn", "side": side, "turn_deg": degrees, "turn_s": seconds}
    if change.manoeuvre.radius_m is not None:
        record["radius_m"] = change.manoeuvre.radius_m
    return record
