"""A pass in words, and as JSON rows in SI."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.watch.again.plan import Cannot
from sternwatch.watch.again.rows import leg_rows, short
from sternwatch.watch.again.words import called_out, timed
from sternwatch.watch.forecast.turn_words import crossing_share
from sternwatch.watch.whole_pass.plan import WholePass
from sternwatch.watch.whole_pass.wish import Band, Wish


def wish_in_words(wish: Wish, units: DisplaySystem) -> str:
    """The wish in words: "3 to 15 ft over the bottom"."""
    parts = []
    if wish.over_bottom_m is not None:
        parts.append(f"{_band(wish.over_bottom_m, units)} over the bottom")
    if wish.depth_m is not None:
        parts.append(f"{_band(wish.depth_m, units)} down")
    if wish.zone:
        parts.append("in the zone")
    return " and ".join(parts) + (", in the box" if wish.box is not None else "")


def _band(band: Band, units: DisplaySystem) -> str:
    low = units.show(band[0], Dimension.LENGTH, label=False)
    return f"{low} to {units.show(band[1], Dimension.LENGTH)}"


def in_words(made: WholePass, wish: Wish, units: DisplaySystem, names: Mapping[str, str], legs: int = 0) -> str:
    """The next legs and the pass's results. ``legs``: how many legs are listed, 0 for all."""
    called = _called_out(made)
    shown = called[:legs] if legs else called
    text = ", ".join(shown) + (f" and {len(called) - len(shown)} legs more" if len(shown) < len(called) else "")
    return f"{text}; {outcome(made, wish, units, names)}"


def steps_of(made: WholePass) -> list[str]:
    """The way as a list, each leg with the time at which it begins."""
    return timed(_called_out(made), made.legs, float(made.path.speed_m_s[-1]))


def _called_out(made: WholePass) -> list[str]:
    return called_out(made.legs, float(made.path.heading_rad[0]), float(made.path.speed_m_s[-1]))


def outcome(made: WholePass, wish: Wish, units: DisplaySystem, names: Mapping[str, str]) -> str:
    """The pass's results."""
    low, high = made.wanted_range_s
    text = (
        f"{made.wanted_s / 60.0:.0f} lure-minutes {wish_in_words(wish, units)} in {m_ss(made.lasts_s)} "
        f"({low / 60.0:.0f} to {high / 60.0:.0f}), {_straight_on(made)}"
    )
    said = crossing_share(made.risk, made.members)
    text += f"; lines touch {said}" if made.worst is None else f"; {' and '.join(made.worst)} touch in {said}"
    if not made.within_risk:
        text += ", more than you allow"
    if made.provisional:
        text += f"; a first look, by {made.members} of {made.of_members} versions"
    if made.touching:
        keys = ", ".join(names.get(key, key) for key in made.touching)
        text += f"; {keys} come{'' if len(made.touching) > 1 else 's'} to the bottom"
    return text


def _straight_on(made: WholePass) -> str:
    """The same result if she goes straight on. Its lures on the bottom are told, lest it seem the better way."""
    if made.straight_on_s is None:
        return "straight on she comes too near a mark"
    touching = f" with {', '.join(made.straight_touching)} on the bottom" if made.straight_touching else ""
    return f"straight on {made.straight_on_s / 60.0:.0f}{touching}"


def row(found: WholePass | Cannot) -> dict[str, Any]:
    """A pass as JSON: ``legs`` as in *again*, ``lasts_s``, ``wanted_s`` (lure-seconds, median of the members),
    ``wanted_interval_s`` (5 and 95 %), ``by_rod_s``, ``straight_on_s`` (the same if she goes straight on; null
    where that comes too near a mark), ``straight_touching`` the bottom then, ``speed_m_s``, ``probability`` that any
    lines touch, ``within_risk``, ``members``, ``worst`` pair, ``touching`` the bottom; or null and ``why``.
    """  # fmt: skip
    if isinstance(found, Cannot):
        return {"pass": None, "why": found.why}
    speed = float(found.path.speed_m_s[-1])
    return {
        "pass": {
            "legs": leg_rows(found.legs, speed),
            "lasts_s": short(found.lasts_s),
            "speed_m_s": short(speed),
            "wanted_s": short(found.wanted_s),
            "wanted_interval_s": [short(end) for end in found.wanted_range_s],
            "by_rod_s": {key: short(seconds) for key, seconds in found.by_rod_s.items()},
            "straight_on_s": None if found.straight_on_s is None else short(found.straight_on_s),
            "straight_touching": list(found.straight_touching),
            "probability": short(found.risk),
            "within_risk": found.within_risk,
            "members": found.members,
            "worst": None if found.worst is None else list(found.worst),
            "touching": list(found.touching),
        }
    }
