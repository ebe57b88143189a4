"""A proposal in words, and steering along it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import accumulate

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.plan import Proposal
from sternwatch.watch.forecast.turn_words import crossing_share
from sternwatch.watch.picture.manoeuvre import side_of

PROPOSAL = "Only a proposal: whoever is in charge keeps the lookout and steers. Not for navigation."


def legs_in_words(made: Proposal, units: DisplaySystem) -> str:
    """The way in the helm's terms: "starboard 180° in 2:10, then 065° at 2.3 mph"."""
    *parts, last = _called_out(made, units)
    return ", ".join([*parts, f"then {last}" if parts else last])


def steps_of(made: Proposal, units: DisplaySystem) -> list[str]:
    """The way as a list, each leg with the time at which it begins."""
    return timed(_called_out(made, units), made.legs, float(made.path.speed_m_s[-1]))


def _called_out(made: Proposal, units: DisplaySystem) -> list[str]:
    """Each leg; the last, which leads to the place, with its speed in place of a time."""
    speed = float(made.path.speed_m_s[-1])
    last = f"{round(math.degrees(made.heading_rad)) % 360:03d}° at {units.show(speed, Dimension.SPEED, 1)}"
    return [*called_out(made.legs[:-1], float(made.path.heading_rad[0]), speed), last]


def timed(called: Iterable[str], legs: Iterable[Leg], speed_m_s: float) -> list[str]:
    """Legs that are called out, each after the time at which it begins: "0:35  105° for 2:10"."""
    begins = accumulate((leg.length_m / speed_m_s for leg in legs), initial=0.0)
    return [f"{m_ss(at):>5}  {text}" for text, at in zip(called, begins, strict=False)]


def called_out(legs: Iterable[Leg], heading_rad: float, speed_m_s: float) -> list[str]:
    """Each leg with its time: "starboard 40° in 0:35", "105° for 2:10"."""
    heading, parts = math.degrees(heading_rad), []
    for leg in legs:
        takes = m_ss(leg.length_m / speed_m_s)
        if leg.turn_rad:
            heading += math.degrees(leg.turn_rad)
            side = side_of(leg.turn_rad)
            parts.append(f"{side} {abs(math.degrees(leg.turn_rad)):.0f}° in {takes}")
        else:
            parts.append(f"{round(heading) % 360:03d}° for {takes}")
    return parts


def in_words(made: Proposal, units: DisplaySystem, names: Mapping[str, str]) -> str:
    """The whole proposal in one or two sentences. ``names``: names of the rods, by key."""
    text = f"{legs_in_words(made, units)}; {outcome(made, units, names)}"
    first = first_act(made, units)
    return f"{first}; {text}" if first else text


def outcome(made: Proposal, units: DisplaySystem, names: Mapping[str, str]) -> str:
    """When and how near the lure passes the place, and what touches on the way."""
    passed = made.passed
    within = units.show(passed.within_m, Dimension.LENGTH)
    text = f"{names.get(made.target.key, made.target.key)} passes the place in "
    text += f"{m_ss(passed.time_s)} within {within} (90 %)"
    if passed.deeper_m is not None:
        deeper = units.show(abs(passed.deeper_m), Dimension.LENGTH)
        level = float(deeper.split()[0]) == 0.0
        text += ", at the same depth" if level else f", {deeper} {'deeper' if passed.deeper_m > 0 else 'shallower'}"
    said = crossing_share(made.risk, made.members)
    text += (
        f"; lines touch {said}" if made.worst is None else f"; {made.worst[0]} and {made.worst[1]} touch in {said}"
    )
    if made.touching:
        text += f"; {', '.join(made.touching)} come{'' if len(made.touching) > 1 else 's'} to the bottom"
    return text


def first_act(made: Proposal, units: DisplaySystem) -> str:
    """What has to be done with the rod's line before; empty where nothing has."""
    if made.target.put_out and made.target.as_then is not None:
        out_m = made.target.as_then.line_out_as_counter_m
        to = "" if out_m is None else f" to {units.show(out_m, Dimension.LENGTH)} by its counter"
        return f"first put it out{to}"
    if longer_m := made.target.longer_m:
        # In tenths of a metre: half a metre is worth changing and must not be told as none.
        by = units.show(abs(longer_m), Dimension.LENGTH, 0 if units.length == "ft" else 1)
        return f"first {'let out' if longer_m > 0.0 else 'take in'} {by}"
    return ""
