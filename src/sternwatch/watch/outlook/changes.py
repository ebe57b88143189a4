"""Single changes that may cure a forecast danger: candidates of each kind from the smallest up, and their words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.watch.boat.manoeuvres import path_of
from sternwatch.watch.forecast.turn_limit import RADII_M
from sternwatch.watch.forecast.turn_words import unlikely_words
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre, side_of

WIDER = (1.4, 2.0)  # factors for a turn wider than the limits' radii
SPEEDS = (1.1, 0.9, 1.2, 0.8, 1.3, 0.7)
LINE_STEPS = (1, 2, 4)  # steps of ten feet, or three metres
LINE_IN_STEPS = (1, 2, 3, 4, 6, 8)  # the same, off the bottom
AWAY_DEG = (20.0, 45.0, 90.0)
AWAY_RATE_RAD_S = math.radians(1.0)


@dataclass(frozen=True, slots=True)
class Change:
    """One thing done differently. ``effort`` ranks changes of different kinds."""

    kind: str  # turn | side | away | speed | line
    effort: float
    manoeuvre: Manoeuvre
    rod: str | None = None
    by_m: float = 0.0
    ball: bool = False  # the line is a cable with a ball


def line_step_m(units: DisplaySystem) -> float:
    """A step of line that a counter shows as a round number."""
    return 10 * 0.3048 if units.length == "ft" else 3.0


def slower_turns(manoeuvre: Manoeuvre, speed_m_s: float, least_m: float = 0.0) -> Iterator[Change]:
    """Wider and wider turns, on the same radii as the limits, so that cure and limit are the same number.

    ``least_m``: none is tighter than this, the limit of that side as far as it is known.
    """
    now_m = radius_m(manoeuvre, speed_m_s)
    if now_m is None:
        return
    for radius in [r for r in sorted(RADII_M) if r > now_m] or [share * now_m for share in WIDER]:
        if radius < least_m:
            continue
        effort = math.log(radius / now_m) / math.log(1.0 / 0.7)
        if manoeuvre.radius_m is not None:
            yield Change("turn", effort, replace(manoeuvre, radius_m=radius))
        else:  # a helm that steers by degrees in ten seconds keeps doing so
            yield Change("turn", effort, replace(manoeuvre, rate_rad_s=speed_m_s / radius))


def radius_m(manoeuvre: Manoeuvre, speed_m_s: float) -> float | None:
    """Radius of a turn at this speed. None without a turn, and for a boat that lies still: she swings on the spot."""
    if not manoeuvre.turn_rad or speed_m_s <= 0.0:
        return None
    if manoeuvre.radius_m is not None:
        return manoeuvre.radius_m
    path = path_of(manoeuvre, heading_rad=0.0, speed_m_s=speed_m_s)
    return speed_m_s / (manoeuvre.rate_rad_s or abs(manoeuvre.turn_rad) / max(path.ends_s - path.starts_s, 1.0))


def again(change: Change, manoeuvre: Manoeuvre, speed_m_s: float) -> Change | None:
    """The same change to the manoeuvre as it is now. None where nothing of it is left to do."""
    was = change.manoeuvre
    if change.kind == "turn":
        now, then = radius_m(manoeuvre, speed_m_s), radius_m(was, speed_m_s)
        if now is None or then is None or now >= then or manoeuvre.turn_rad * was.turn_rad < 0.0:
            return None
        return replace(change, manoeuvre=replace(manoeuvre, rate_rad_s=was.rate_rad_s, radius_m=was.radius_m))
    if change.kind == "side":
        same = manoeuvre.turn_rad * was.turn_rad < 0.0
        return replace(change, manoeuvre=replace(manoeuvre, turn_rad=-manoeuvre.turn_rad)) if same else None
    if change.kind == "speed":
        return replace(change, manoeuvre=replace(manoeuvre, to_speed_m_s=was.to_speed_m_s))
    return replace(change, manoeuvre=manoeuvre) if change.kind == "line" else None


def other_side(manoeuvre: Manoeuvre) -> Iterator[Change]:
    if manoeuvre.turn_rad:
        yield Change("side", 1.5, replace(manoeuvre, turn_rad=-manoeuvre.turn_rad))


def turns_away(manoeuvre: Manoeuvre, side: float) -> Iterator[Change]:
    """Turns away from a held course."""
    if manoeuvre.turn_rad:
        return
    for degrees in AWAY_DEG:
        turned = math.copysign(math.radians(degrees), side)
        away = replace(manoeuvre, name=PLAN, turn_rad=turned, rate_rad_s=AWAY_RATE_RAD_S)
        yield Change("away", 1.0 + degrees / 45.0, away)


def speeds(manoeuvre: Manoeuvre, speed_m_s: float) -> Iterator[Change]:
    if manoeuvre.stop_s is not None:
        return
    base = speed_m_s if manoeuvre.to_speed_m_s is None else manoeuvre.to_speed_m_s
    for share in SPEEDS:
        effort = 1.2 * abs(math.log(share)) / math.log(1.1)
        yield Change("speed", effort, replace(manoeuvre, to_speed_m_s=share * base))


def lines(
    manoeuvre: Manoeuvre, key: str, step_m: float, counts: tuple[int, ...] = LINE_STEPS, *, ball: bool = False
) -> Iterator[Change]:
    for count in counts:
        yield Change("line", 0.5 + count, manoeuvre, rod=key, by_m=count * step_m, ball=ball)


def turn_words(side: str, degrees: float, seconds: float) -> str:
    """A turn in the helm's terms."""
    turned = f"{degrees:.0f}° to {side}"
    return f"{turned} in {m_ss(seconds)} {_pace(degrees, seconds)}" if seconds > 0.0 else turned


def _pace(degrees: float, seconds: float) -> str:
    return f"({10 * degrees / seconds:.0f}° per 10 s)"


def _turn_of(manoeuvre: Manoeuvre, speed_m_s: float) -> tuple[str, float, float]:
    """Side, degrees and seconds of a manoeuvre's turn."""
    path = path_of(manoeuvre, heading_rad=0.0, speed_m_s=speed_m_s)
    bends = [t for t, turned in zip(path.time_s[1:], abs(path.heading_rad[1:] - path.heading_rad[:-1]), strict=True)
             if turned]  # fmt: skip
    seconds = (max(bends) - path.starts_s) if bends else 0.0
    return side_of(manoeuvre.turn_rad), math.degrees(abs(manoeuvre.turn_rad)), float(seconds)


def sentence(
    change: Change,
    after: float,
    speed_m_s: float,
    units: DisplaySystem,
    names: dict[str, str],
    set_risk: float,
    danger: str = "crossing",
    *,
    members: int,
) -> str:
    """A change and the danger it leaves, as one sentence in the user's units. ``members``: how many were run."""
    small = after <= set_risk
    outcome = unlikely_words(danger, after, members) if small else f"{danger} still {100 * after:.0f} %"
    return f"{_whole(change, speed_m_s, units, names)}: {outcome}."


def short(change: Change, speed_m_s: float, units: DisplaySystem, names: dict[str, str]) -> str:
    """The change alone, for an alert's line that begins with what is wrong."""
    if change.kind == "turn":
        return f"slow to 180° in {m_ss(_half_circle_s(change.manoeuvre, speed_m_s))}"
    if change.kind == "side":
        return f"turn to {side_of(change.manoeuvre.turn_rad)} instead"
    said = _whole(change, speed_m_s, units, names)
    return said[0].lower() + said[1:]


def _half_circle_s(manoeuvre: Manoeuvre, speed_m_s: float) -> float:
    radius = radius_m(manoeuvre, speed_m_s)
    assert radius is not None
    return math.pi * radius / speed_m_s


def _whole(change: Change, speed_m_s: float, units: DisplaySystem, names: dict[str, str]) -> str:
    if change.kind == "line":
        length = units.show(abs(change.by_m), Dimension.LENGTH)
        name, more = names.get(change.rod or "", change.rod), change.by_m > 0
        if change.ball:
            return f"{'Lower' if more else 'Raise'} {name}'s ball {length}"
        return f"{'Let out' if more else 'Take in'} {length} on {name}"
    if change.kind == "speed":
        assert change.manoeuvre.to_speed_m_s is not None
        return f"Go {units.show(change.manoeuvre.to_speed_m_s, Dimension.SPEED, 1)} from now on"
    if change.kind == "turn" and change.manoeuvre.name != PLAN:
        # In a turn a helm steers by the rate; it is given for half a circle, like the limits.
        half = _half_circle_s(change.manoeuvre, speed_m_s)
        return f"Turn more slowly: 180° in {m_ss(half)} {_pace(180.0, half)}"
    side, degrees, seconds = _turn_of(change.manoeuvre, speed_m_s)
    if change.kind == "side":
        return f"Turn to {side} instead, {degrees:.0f}° in {m_ss(seconds)}"
    if change.kind == "away":
        return f"Turn {degrees:.0f}° to {side} now"
    return f"Turn slower, {turn_words(side, degrees, seconds)}"


def record(change: Change, speed_m_s: float) -> dict[str, str | float]:
    """A change as JSON: SI values with their unit in the name."""
    if change.kind == "line":
        assert change.rod is not None
        return {"what": "line", "rod": change.rod, "by_m": change.by_m}
    if change.kind == "speed":
        assert change.manoeuvre.to_speed_m_s is not None
        return {"what": "speed", "to_speed_m_s": change.manoeuvre.to_speed_m_s}
    side, degrees, seconds = _turn_of(change.manoeuvre, speed_m_s)
    made: dict[str, str | float] = {"what": "turn", "side": side, "turn_deg": degrees, "turn_s": seconds}
    if change.manoeuvre.radius_m is not None:
        made["radius_m"] = change.manoeuvre.radius_m
    return made
