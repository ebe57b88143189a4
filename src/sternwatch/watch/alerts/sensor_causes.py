"""Causes from two sensors that disagree, or from one that is silent for long.

What contradicts, and how long it must last, is decided where two are compared: `contradiction`, `compass`, `twins`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from sternwatch.feed.readings import Quantity, SensorValue
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.alerts.rules import Cause
from sternwatch.watch.boat.own_boat import usable
from sternwatch.watch.memory.step import Step

NO_BOTTOM_S: Final = 60.0
ADVICE: Final = "Depths use speed over ground; their ± covers both. Look at the log; if a current runs, enter it"


def contradictions(step: Step, units: DisplaySystem) -> Iterator[Cause]:
    """Everything of this step."""
    words = step.boat.speeds_differ.words(units)
    if words:
        yield Cause("speeds differ", words, ADVICE)
    if step.boat.compass_differs.stands:
        yield Cause(
            "sensors differ",
            step.boat.compass_differs.words,
            "Check the compass; until then the course counts",
            about="heading",
        )
    yield from _two_of_a_kind(step, units)
    yield from _no_bottom(step)


def _two_of_a_kind(step: Step, units: DisplaySystem) -> Iterator[Cause]:
    """Sounders and thermometers; the one in use is named first, then the other farthest off."""
    for twin in step.twins.by_quantity.values():
        if not twin.stands or twin.pair is None:
            continue
        depth = twin.quantity is Quantity.BOTTOM
        dimension = Dimension.LENGTH if depth else Dimension.TEMPERATURE
        one, two = (f"{units.show(v, dimension)} ({_who(s)})" for s in twin.pair if (v := usable(s)) is not None)
        yield Cause(
            "sensors differ",
            f"{'Sounders' if depth else 'Thermometers'} contradict each other: {one}, {two}",
            "The shallower counts until you know which is wrong" if depth else "Check both; the first is in use",
            about=twin.quantity.value,
        )


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
            "Check the sounder; go by the chart's depths",
        )
