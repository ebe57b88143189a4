"""Observations in words and in the crew's units."""

from __future__ import annotations

import math

from sternwatch.answers.belief.observations import Observation, What
from sternwatch.gear.values.units import Dimension, DisplaySystem


def value_words(what: What, value: float | None, units: DisplaySystem, *, label: bool = True) -> str:
    """A value of an observation, or of its error, with its unit; the dash where it is not known."""
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
    """What was observed, without rod and value: "ball seen on sounder"; of what is known, what of."""
    said = f"known {one.what.value}" if one.said == "known" else one.said
    return f"{one.at} {said}" if one.at else said


def wanted_words(what: What, at: str | None) -> str:
    """What could be observed, as a thing to do."""
    if what is What.DEPTH:
        return "where it touches the bottom" if at is None else f"the depth of its {at}"
    return {
        What.PULL: "the pull at its tip",
        What.ENTRY_ANGLE: "the angle of its line where it enters the water",
        What.CABLE_ANGLE: "the angle of its cable",
    }[what]
