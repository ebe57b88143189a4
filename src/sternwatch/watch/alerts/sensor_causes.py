"""Causes from two sensors that disagree, or from one that is silent for long. Each tests one step.

The rule says how long a difference must last. The limits are wide (judgement): they allow for a compass's
deviation, a current's effect on the course, two sounders on a slope, two thermometers at different depths. An
innovation is the difference of two readings. It contradicts beyond `GATE_SD` of its standard deviation, part of
which grows with the reading.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from sternwatch.feed.readings import Quantity, SensorValue
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.alerts.rules import Cause
from sternwatch.watch.boat.own_boat import usable
from sternwatch.watch.memory.step import Step

COMPASS_RAD: Final = math.radians(30.0)  # more than the current can explain
LEAST_FOR_COURSE_M_S: Final = 0.8
CURRENT_SD: Final = 4.0  # how many standard deviations of current may run across the way
NO_BOTTOM_S: Final = 60.0
GATE_SD: Final = 4.5
# Standard deviation of the difference: a fixed part, and a share of the smaller reading [m, degC].
_APART_SD: Final = {Quantity.BOTTOM: (1.0, 0.04), Quantity.WATER_TEMPERATURE: (0.8, 0.0)}
TWICE_TOLD: Final = tuple(_APART_SD)
ADVICE: Final = "Depths use speed over ground; their ± covers both. Look at the log; if a current runs, enter it"


def contradictions(step: Step, units: DisplaySystem) -> Iterator[Cause]:
    """Everything of this step."""
    words = step.boat.speeds_differ.words(units)
    if words:
        yield Cause("speeds differ", words, ADVICE)
    yield from _heading(step)
    yield from _two_of_a_kind(step, units)
    yield from _no_bottom(step)


def _heading(step: Step) -> Iterator[Cause]:
    """The compass against the course over ground, allowing for the angle that a current can cause."""
    value = step.sensors.get(Quantity.HEADING)
    heading, course, speed = (
        usable(value),
        usable(step.sensors.get(Quantity.COG)),
        usable(step.sensors.get(Quantity.SOG)),
    )
    if value is None or value.reference == "magnetic" or heading is None or course is None or speed is None:
        return
    log = usable(step.sensors.get(Quantity.STW))
    if speed < LEAST_FOR_COURSE_M_S or (log is not None and log < LEAST_FOR_COURSE_M_S):
        return  # she drifts, and a drifting boat points anywhere
    found = step.boat.current
    current = math.hypot(*found.belief.current_m_s) + CURRENT_SD * max(found.prior.current_sd_m_s)
    apart = abs(math.remainder(heading - course, 360.0))
    if apart > math.degrees(COMPASS_RAD + math.asin(min(current / speed, 1.0))):
        yield Cause(
            "sensors differ",
            f"Heading {heading:03.0f}° and course {course:03.0f}° contradict each other",
            "Look at the compass: she goes otherwise than it points",
            about="heading",
        )


def _two_of_a_kind(step: Step, units: DisplaySystem) -> Iterator[Cause]:
    """The sounder or thermometer in use against the others that speak; the one farthest off is named."""
    for quantity in TWICE_TOLD:
        own = step.sensors.get(quantity)
        mine = usable(own)
        if own is None or mine is None:
            continue
        others = [(theirs, other) for other in step.others.get(quantity, ()) if (theirs := usable(other)) is not None]
        if not others:
            continue
        theirs, other = max(others, key=lambda one: abs(one[0] - mine))
        if abs(theirs - mine) <= GATE_SD * _apart_sd(quantity, min(mine, theirs)):
            continue
        depth = quantity is Quantity.BOTTOM
        dimension = Dimension.LENGTH if depth else Dimension.TEMPERATURE
        one, two = (f"{units.show(v, dimension)} ({_who(s)})" for v, s in ((mine, own), (theirs, other)))
        yield Cause(
            "sensors differ",
            f"{'Sounders' if depth else 'Thermometers'} contradict each other: {one}, {two}",
            "Mind the shallower until you know which is false" if depth else "Look at both: the first is in use",
            about=quantity.value,
        )


def _apart_sd(quantity: Quantity, least: float) -> float:
    own, share = _APART_SD[quantity]
    return own + share * max(least, 0.0)


def _who(value: SensorValue) -> str:
    """A source's name in a few letters."""
    return " ".join(part for part in (value.source, value.sentence) if part)


def _no_bottom(step: Step) -> Iterator[Cause]:
    """A sounder that has found the bottom before but not for a long time, with rods fishing."""
    value = step.sensors.get(Quantity.BOTTOM)
    fishing = any(rod.state != "in" for rod in step.crew.rods.values())
    if fishing and value is not None and value.age_s is not None and value.age_s >= NO_BOTTOM_S:
        yield Cause(
            "no bottom",
            f"No bottom for {value.age_s / 60.0:.0f} min: nothing warns of it",
            "Look at the sounder; mind the depth by the chart",
        )
