"""Finds the causes of alerts at one step."""

from __future__ import annotations

from collections.abc import Iterator

from sternwatch.feed.readings import Quantity, Sensors, SensorState
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.alerts.rod_care import RodCare
from sternwatch.watch.alerts.rules import Cause
from sternwatch.watch.alerts.sensor_causes import contradictions
from sternwatch.watch.alerts.tackle_causes import cautions
from sternwatch.watch.boat.own_boat import why_no_way
from sternwatch.watch.bottom.passings import Passing
from sternwatch.watch.chains.chains import Chains
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.manoeuvre import side_of
from sternwatch.watch.picture.model import SpeedSource

# Silence of all sensors for this long is "no feed".
SILENT_S = 5.0
# Values that come often enough for their silence to show within that time.
_OFTEN = (Quantity.SOG, Quantity.STW, Quantity.POSITION, Quantity.BOTTOM)


def _silent(sensors: Sensors) -> bool:
    """Whether every sensor has been silent for a while. A sensor that reports "no value" is not silent."""
    if any(sensors[quantity].state is SensorState.NONE for quantity in _OFTEN if quantity in sensors):
        return False
    ages = [value.age_s for value in sensors.values() if value.age_s is not None]
    return not ages or min(ages) > SILENT_S


def causes(step: Step, rod_care: RodCare, units: DisplaySystem, complaints: tuple[str, ...] = ()) -> Iterator[Cause]:
    """Everything that is wrong with the boat and her tackle at a step. ``complaints``: of lines that are refused."""
    boat, sensors = step.boat, step.sensors
    if running := boat.running.words(step.t_s, step.crew, units):
        yield Cause("running", running, "u takes it back if they are out")
    any_out = any(rod.state != "in" for rod in step.crew.rods.values())
    if _silent(sensors):
        kind = "no feed" if any_out else "feed silent"
        if complaints:  # each is a caution of its own, with rates
            yield Cause(kind, "No feed: nothing that arrives can be used", complaints[0])
        else:
            yield Cause(kind, "No feed: no sensor says anything", "Check the cable and the plug")
    elif any_out and boat.source is SpeedSource.NONE:
        yield Cause("no speed", f"No speed, so no depths: {boat.why_no_speed}", "Depths come back with the speed")
    elif any_out and not boat.way_known:
        yield Cause("no course", f"No course, so no depths: {why_no_way(sensors)}", "Go ahead on a straight course")
    elif any_out and boat.way_assumed:
        text = f"Depths as on a straight course, since turns cannot be seen: {why_no_way(sensors)}"
        yield Cause("no course", text, "They are wrong in a turn")
    yield from _chain_causes(step.chains)
    yield from contradictions(step, units)
    yield from cautions(step, rod_care, units)
    for passing in step.bottom.passings(step.chains):
        yield _passing_cause(passing, units)


def _chain_causes(chains: Chains) -> Iterator[Cause]:
    """Causes that the solver reports of each line that is out."""
    for key, chain in chains.items():
        if not chain.out or chain.dark:
            continue
        name = f"{key} {chain.rod.name}"
        if chain.why:
            yield Cause("solver", f"{name}: no depth, {chain.why}", keys=(key,))
        if chain.under:
            yield Cause(
                "pulled under",
                f"{name}: the board is pulled under",
                "Slow down, or put less line or weight behind it",
                (key,),
            )
        if chain.slack and not chain.moving:  # a diver going out is slack while the line runs
            yield Cause(
                "slack", f"{name}: diver slack, it sinks", "Speed up or straighten out so that it dives again", (key,)
            )


def _passing_cause(passing: Passing, units: DisplaySystem) -> Cause:
    """A net or snag ahead, with the side on which the boat clears it sooner."""
    side = side_of(passing.aside_m)
    far = units.show(abs(passing.aside_m), Dimension.LENGTH)
    what = passing.spot.what
    where = "is among" if passing.time_s <= 0.0 else "lies on the way of"
    lines = "this line" if len(passing.keys) == 1 else "these lines"
    return Cause(
        f"{what} ahead",
        f"A {what} {where} {lines}",
        f"Pass {far} farther to {side}",
        passing.keys,
        passing.time_s,
        about=passing.spot.id,
    )
