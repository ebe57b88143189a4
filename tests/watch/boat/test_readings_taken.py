"""Which reading moves what of the boat: by the speed that drives the depths, the compass, and who is in charge."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.feed.readings import Quantity, Reading, SensorState, SensorValue
from sternwatch.watch.boat.motion_filter import MotionFilter
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.picture.model import SpeedSource

THROUGH, OVER = SpeedSource.THROUGH_WATER, SpeedSource.OVER_GROUND


def reading(quantity: Quantity, value: Any, t_s: float = 5.0, **more: Any) -> Reading:
    given = {"source": "gps", "talker": "GP", "sentence": "RMC", "reference": "", **more}
    return Reading(quantity=quantity, value=value, t_s=t_s, **given)


class Told:
    """Names of what was told, with the numbers."""

    def __init__(self, source: SpeedSource, *, heading_known: bool = False, doubted: bool = False) -> None:
        self.said: list[tuple[Any, ...]] = []
        self.boat = Boat(MotionFilter())
        self.boat.source, self.boat.heading_known = source, heading_known
        kept = {"take_speed", "take_ground_velocity", "take_heading", "take_rate", "measure", "take_ground",
                "log", "log_m_s", "ground_m_s", "window_heading", "probe"}  # fmt: skip
        self.to = {name: (lambda *given, name=name: self.said.append((name, *given))) for name in kept}
        named: Any = SimpleNamespace
        self.boat.filters = named(
            **{name: self.to[name] for name in ("take_speed", "take_ground_velocity", "take_heading", "take_rate")},
            direction=named(measure=self.to["measure"]),
        )
        window = named(
            take_ground=self.to["take_ground"], take_heading=self.to["window_heading"],
            logs=named(append=self.to["log"]), probes=named(append=self.to["probe"]),
        )  # fmt: skip
        self.boat.current = named(window=window, driving_scale=1.1)
        self.boat.speeds_differ = named(take_log=self.to["log_m_s"], take_ground=self.to["ground_m_s"])
        self.boat.compass_differs = named(stands=doubted)

    def of(self, *readings: Reading, sog: float | None = None, sensors: Any = None) -> list[tuple[Any, ...]]:
        """What it is told of readings from the sources in charge, beside a speed over ground."""
        charge = {one.quantity: one for one in readings} if sensors is None else sensors
        known: dict[Quantity, Any] = {
            q: SensorValue(q, SensorState.FRESH, one.value, 0.5, one.source, one.sentence, talker=one.talker)
            for q, one in charge.items()
        }
        if sog is not None:
            known[Quantity.SOG] = SensorValue(Quantity.SOG, SensorState.FRESH, sog, 0.5, "gps", "RMC")
        self.said.clear()
        self.boat.take(readings, known)
        return list(self.said)


def test_a_log_drives_her_where_depths_go_by_it_and_is_compared_always() -> None:
    log = reading(Quantity.STW, 1.0)
    assert Told(THROUGH).of(log) == [("log", 1.0), ("log_m_s", 5.0, 1.0), ("take_speed", 5.0, 1.1)]
    assert Told(OVER).of(log) == [("log_m_s", 5.0, 1.0)]


def test_a_speed_over_ground_goes_with_a_course_of_the_same_moment() -> None:
    sog, course = reading(Quantity.SOG, 1.2), reading(Quantity.COG, 80.0, 3.0)
    assert Told(OVER).of(sog) == [("ground_m_s", 5.0, 1.2), ("take_ground_velocity", 5.0, 1.2, None)]
    assert Told(THROUGH).of(sog) == [("ground_m_s", 5.0, 1.2)]
    assert Told(OVER).of(course, sog) == [
        ("take_ground", 1.2, 80.0), ("ground_m_s", 5.0, 1.2), ("take_ground_velocity", 5.0, 1.2, 80.0),
    ]  # fmt: skip
    old = Told(OVER).of(reading(Quantity.COG, 80.0, 1.9), sog)
    assert old == [("ground_m_s", 5.0, 1.2), ("take_ground_velocity", 5.0, 1.2, None)]


@pytest.mark.parametrize(
    ("source", "heading_known", "sog", "taken"),
    [(THROUGH, False, 0.3, True), (THROUGH, False, 0.29, False), (THROUGH, False, None, False),
     (THROUGH, True, 1.0, False), (OVER, False, 1.0, False)],
)  # fmt: skip
def test_a_course_is_her_direction_where_she_moves_and_no_compass_tells_it(
    source: SpeedSource, heading_known: bool, sog: float | None, taken: bool
) -> None:
    """A receiver at rest says any course."""
    told = Told(source, heading_known=heading_known).of(reading(Quantity.COG, 80.0), sog=sog)
    assert told == ([("measure", 5.0, 80.0, 4.0)] if taken else [])


@pytest.mark.parametrize(
    ("reference", "doubted", "for_current"),
    [("true", False, True), ("", False, True), ("magnetic", False, False), ("true", True, False)],
)
def test_a_heading_tells_the_current_unless_it_is_magnetic_or_doubted(
    reference: str, doubted: bool, for_current: bool
) -> None:
    told = Told(THROUGH, doubted=doubted).of(reading(Quantity.HEADING, 40.0, reference=reference))
    assert told == [*([("window_heading", 40.0)] if for_current else []), ("take_heading", 5.0, 40.0)]


def test_a_rate_of_turn_and_a_probe() -> None:
    assert Told(THROUGH).of(reading(Quantity.RATE_OF_TURN, 2.0)) == [("take_rate", 5.0, 2.0)]
    assert Told(THROUGH).of(reading(Quantity.PROBE_SPEED, 0.9)) == [("probe", 0.9)]


def test_what_is_suspect_or_of_a_source_that_is_not_in_charge_moves_nothing() -> None:
    log = reading(Quantity.STW, 1.0)
    for other in ({"source": "log"}, {"sentence": "VHW"}, {"talker": "II"}):
        assert Told(THROUGH).of(log, sensors={Quantity.STW: reading(Quantity.STW, 1.0, **other)}) == []
    assert Told(THROUGH).of(log, sensors={}) == []
    assert Told(THROUGH).of(reading(Quantity.STW, 1.0, suspect="a jump")) == []
    assert Told(THROUGH).of(reading(Quantity.STW, None)) == []
    assert Told(THROUGH).of(reading(Quantity.POSITION, (47.0, -89.0))) == []
    several = [reading(Quantity.STW, None), log]
    assert Told(THROUGH).of(*several, sensors={Quantity.STW: log})[-1] == ("take_speed", 5.0, 1.1), (
        "the next one counts"
    )
