"""Observations in words and in the crew's units."""

from __future__ import annotations

import math

from sternwatch.answers.belief.causes import Beyond, Unclear, Unlikely
from sternwatch.answers.belief.observations import Observation, What
from sternwatch.gear.spread_file.uncertain_words import words
from sternwatch.gear.values.units import Dimension, DisplaySystem


def value_words(what: What, value: float | None, units: DisplaySystem, *, label: bool = True) -> str:
    """A value of an observation, or of its error, with its unit; a dash where unknown."""
    if value is None or not math.isfinite(value):
        return "–"
    match what:
        case What.DEPTH:
            return units.show(value, Dimension.LENGTH, 1, label=label)
        case What.PULL:
            return units.show(value, Dimension.FORCE, 1, label=label)
        case _:
            return f"{math.degrees(value):.0f}°"


def said_words(one: Observation) -> str:
    """What was observed, without rod and value: "ball seen on sounder". For a known value, what it is of."""
    said = f"known {one.what.value}" if one.said == "known" else one.said
    return f"{one.at} {said}" if one.at else said


def wanted_words(what: What, at: str | None) -> str:
    """A possible observation, as a thing to do."""
    if what is What.DEPTH:
        return "where it touches the bottom" if at is None else f"the depth of its {at}"
    return {
        What.PULL: "the pull at its tip",
        What.ENTRY_ANGLE: "the angle of its line where it enters the water",
        What.CABLE_ANGLE: "the angle of its cable",
    }[what]


def quantity_words(value: float, unit: str) -> str:
    """A factor or a shift: "×1.90", "+3.0°", "-0.12 m/s"."""
    if unit == "1":
        return f"×{value:.2f}"
    return f"{math.degrees(value):+.1f}°" if unit == "rad" else f"{value:+.2f} {unit}"


def beyond_words(one: Beyond) -> str:
    """A quantity that the fit pushed outside the 99 % of its usual range."""
    low, high = (quantity_words(end, one.unit) for end in (one.low, one.high))
    return (
        f"{words(one.name)} would have to be {quantity_words(one.now, one.unit)}; nine in ten lie between {low} and "
        f"{high}, and hardly one in a hundred so far out. Something else is likely wrong: look at that gear, its "
        "counter and the observations."
    )


def unlikely_words(one: Unlikely, units: DisplaySystem) -> str:
    """A rod whose depths such tackle can hardly have."""
    way = "deeper" if one.off_m > 0.0 else "shallower"
    by = units.show(abs(one.off_m), Dimension.LENGTH, 0 if units.length == "ft" else 1)
    return (
        f"rod {one.rod} was seen {by} {way} than was believed, as hardly one in a hundred would be. Something else "
        "is likely wrong: look at its counter, its line and what was observed."
    )


def unclear_words(one: Unclear, units: DisplaySystem) -> str:
    """Which causes the observations cannot separate, and the observation that would."""
    way = "deeper" if one.moved_m > 0.0 else "shallower"
    by = units.show(abs(one.moved_m), Dimension.LENGTH, 0 if units.length == "ft" else 1)
    causes = f"{', '.join(one.causes[:-1])} or {one.causes[-1]}"
    text = f"rod {one.rod} runs {by} {way} than was believed. The cause may be {causes}."
    deed = _deed_words(one, units)
    return f"{text} {deed} would tell which." if deed else f"{text} No single observation would tell which."


def _deed_words(one: Unclear, units: DisplaySystem) -> str:
    length = units.show(one.at, Dimension.LENGTH, 0) if one.deed == "shorter" else ""
    pace = units.show(one.at, Dimension.SPEED, 1) if one.deed in ("slower", "faster") else ""
    return {
        None: "",
        "tape": f"A tape beside the counter at {'100 ft' if units.length == 'ft' else '30 m'}",
        "slower": f"The same rod at {pace}",
        "faster": f"The same rod at {pace}",
        "back": "The same rod on the opposite course",
        "shorter": f"The same rod with {length} out",
        "cable": "The angle of its cable",
    }[one.deed]
