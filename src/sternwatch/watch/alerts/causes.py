"""What gives cause for an alert at a step, from the watch's state."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sternwatch.feed.readings import Quantity, Sensors, SensorState
from sternwatch.watch.alerts.rules import Cause
from sternwatch.watch.alerts.tackle_causes import cautions
from sternwatch.watch.bottom.marked_places import passing_causes
from sternwatch.watch.picture.model import SpeedSource

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch

# No word from any sensor for this long is "no feed".
SILENT_S = 5.0
# What is told so often that its silence shows within about that time.
_OFTEN = (Quantity.SOG, Quantity.STW, Quantity.POSITION, Quantity.BOTTOM)


def _silent(sensors: Sensors) -> bool:
    """Whether no sensor has said a word for a while; one that says it has no value speaks."""
    if any(sensors[quantity].state is SensorState.NONE for quantity in _OFTEN if quantity in sensors):
        return False
    ages = [value.age_s for value in sensors.values() if value.age_s is not None]
    return not ages or min(ages) > SILENT_S


def causes(watch: Watch, sensors: Sensors) -> Iterator[Cause]:
    """Everything that stands wrong at this step."""
    yield from watch.outside
    for complaint in watch.complaints:
        yield Cause("checksums", complaint, "See the sensor screen")
    if running := watch.running.words(watch.now_s, watch.crew):
        yield Cause("running", running, "u takes it back if they are out")
    any_out = any(rod.state != "in" for rod in watch.crew.rods.values())
    if _silent(sensors):
        kind = "no feed" if any_out else "feed silent"
        yield Cause(kind, "No feed: nothing comes from any sensor", "Look at the cable and the plug")
    elif any_out and watch.boat.source is SpeedSource.NONE:
        yield Cause("no speed", f"No speed, so no depths: {watch.why_no_speed}", "Depths come back with the speed")
    for key, chain in watch.chains.items():
        if not chain.out or chain.dark:
            continue
        name = f"{key} {chain.rod.name}"
        if chain.why:
            yield Cause("solver", f"{name}: no depth, {chain.why}", keys=(key,))
        if chain.under:
            yield Cause(
                "pulled under", f"{name}: the board is pulled under", "Slow down or shorten what it pulls", (key,)
            )
        if chain.slack and not chain.moving:  # a diver going out is slack while the line runs
            yield Cause("slack", f"{name}: diver slack, it sinks", "Quicken or straighten to load it again", (key,))
    yield from cautions(watch, sensors)
    yield from passing_causes(watch)
