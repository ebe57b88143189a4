"""Says in one sentence what the rest of the spread does if the boat slows for a fish."""

from __future__ import annotations

from collections.abc import Mapping

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.watch.forecast.meeting_words import verb
from sternwatch.watch.forecast.turn_words import unlikely_words
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import RISK, Forecast

# Share of her speed: a crew slows to about half for a fish that fights (memory).
SHARE = 0.5
SLOWED = "slowed"  # the manoeuvre's name
NAMED = 2  # most rods listed that cross, and most that touch
LEAST_SINK_M = 0.3


def slowing(speed_m_s: float) -> Manoeuvre:
    """The manoeuvre: straight on at half the speed, from now."""
    return Manoeuvre(SLOWED, to_speed_m_s=SHARE * speed_m_s)


def slowed_words(made: Forecast, names: Mapping[str, str], units: DisplaySystem, risk: float = RISK) -> str:
    """Which rods cross, touch and sink most. ``names``: names of the rods, by key."""
    to = made.manoeuvre.to_speed_m_s
    assert to is not None
    found = [_crossing(made, names, risk)]
    found += [
        f"{_name(touch.key, names)} touches bottom in {m_ss(touch.time_s)}"
        for touch in sorted(made.touches, key=lambda touch: touch.time_s)[:NAMED]
    ]
    sinks = {rod.key: rod.depth_max_m - float(rod.depth_m[0, 1]) for rod in made.rods if rod.depth_max_m is not None}
    key = max(sinks, key=lambda k: sinks[k], default=None)
    if key is not None and sinks[key] >= LEAST_SINK_M:
        found.append(f"{_name(key, names)} sinks most, {units.show(sinks[key], Dimension.LENGTH)}")
    return f"to {units.show(to, Dimension.SPEED, 1)} now: {'; '.join(found)}"


def _crossing(made: Forecast, names: Mapping[str, str], risk: float) -> str:
    if made.any_crossing is None:
        return "crossings not known"
    share = f"{100 * made.any_crossing:.0f} %"
    likely = sorted(
        (pair for pair in made.pairs if pair.known_probability > risk),
        key=lambda pair: (-pair.known_probability, pair.meet_s or 0.0),
    )
    if likely:
        told = []
        for pair in likely[:NAMED]:
            when = "" if pair.meet_s is None else f" in {m_ss(pair.meet_s)}"
            one, other = (_name(key, names) for key in pair.keys)
            told.append(f"{one} and {other} {verb(pair)} ({100 * pair.known_probability:.0f} %){when}")
        return "; ".join(told)
    return (
        unlikely_words("crossing", made.any_crossing, made.members)
        if made.any_crossing <= risk
        else f"some lines touch ({share})"
    )


def _name(key: str, names: Mapping[str, str]) -> str:
    return f"{key} {names.get(key, '')}".strip()
