"""The first step is the same however often a session asks for it: live it asks twenty times a second, replayed once a
line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.feed.readings import Quantity, Reading
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.fold import apply
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.inbox import Inbox
from sternwatch.watch.core.setup import Setup

# As agreed: a change of one is to be noticed.
WAIT_FOR_CLOCK_S = 3.0

BEFORE = Reading(0.10, "gps", Quantity.STW, 0.7)
CLOCK = Reading(0.25, "gps", Quantity.CLOCK, 1_000_000_000.25)
AFTER = [Reading(t, "log", Quantity.STW, v) for t, v in ((0.4, 0.8), (0.6, 0.9), (0.8, 1.0))]


def begun(readings: Sequence[Reading], asked_at_s: Sequence[float]) -> tuple[float, list[Reading]]:
    """The first step's feed time and what it takes, for one order of asking. Readings come when they are stamped."""
    inbox, board, waiting = Inbox(), SensorBoard({}), list(readings)
    for now in asked_at_s:
        while waiting and waiting[0].t_s <= now:
            inbox.hear(waiting.pop(0))
        first = inbox.begin(now, board)
        if first is not None and first <= now:
            return first, inbox.readings(first, board)
    raise AssertionError("no step was taken")


@pytest.mark.parametrize("asked_at_s", [[1.0], [0.1, 0.25, 0.3, 1.0], [n / 20 for n in range(1, 21)]])
def test_with_a_clock_every_reading_reaches_the_first_step(asked_at_s: Sequence[float]) -> None:
    feed = [BEFORE, CLOCK, *AFTER]
    assert begun(feed, asked_at_s) == (1.0, feed)


@pytest.mark.parametrize("asked_at_s", [[4.0], [0.1, 0.4, 0.6, 3.2, 4.0], [n / 20 for n in range(1, 81)]])
def test_without_a_clock_it_is_a_wait_after_the_first_reading(asked_at_s: Sequence[float]) -> None:
    feed = [BEFORE, *AFTER]
    first, fresh = begun(feed, asked_at_s)
    assert first == math.ceil(BEFORE.t_s + WAIT_FOR_CLOCK_S)
    assert fresh == feed


@pytest.mark.parametrize("utc_s", [1_784_376_000.0, 1_784_376_000.25])
def test_steps_lie_on_whole_milliseconds(utc_s: float) -> None:
    """Unix seconds have no more than seven digits behind the point: a step lay 7e-8 s before what it should use."""
    clock = Reading(26.001, "gps", Quantity.CLOCK, utc_s)
    first, fresh = begun([clock], [30.0])
    assert first == (26.001 if utc_s % 1.0 == 0.0 else 26.751)
    assert fresh == [clock]


def test_what_is_stamped_in_the_millisecond_of_a_step_counts_in_it(two_rods: Spread) -> None:
    watch = new_watch(Setup(two_rods, start="fishing"))
    noted = {"time": "2026-07-18T12:01:00Z", "kind": "note", "text": "a"}
    watch.observe(Reading(0.001, "gps", Quantity.CLOCK, 1_784_376_000.0))
    stamps = [round(second + 0.001, 3) for second in range(200)]
    for second, t_s in list(enumerate(stamps))[1:]:
        watch.act(parse({"id": f"{second}", "elapsed_s": t_s, **noted}))
        watch.observe(Reading(t_s, "log", Quantity.STW, 1.0 + second / 1000.0))
    watch.act(parse({"id": "dated", **noted}))
    for second, t_s in enumerate(stamps):
        watch.advance(t_s)
        assert watch.t_s == t_s
        assert watch.sensors()[Quantity.STW].value == (1.0 + second / 1000.0 if second else None)
        assert ("dated" in watch.crew.entries) == (second >= 60)
        assert len(watch.crew.entries) == second + (second >= 60)


def test_an_action_is_known_while_it_waits_and_when_it_counts(two_rods: Spread) -> None:
    watch = new_watch(Setup(two_rods, start="fishing"))
    act = parse({"id": "h", "time": "2026-07-18T23:00:00Z", "elapsed_s": 5.0, "kind": "note", "text": "a"})
    assert not watch.knows("h")
    watch.act(act)
    assert watch.knows("h")
    watch.crew = apply(watch.crew, act)
    watch.inbox = Inbox()
    assert watch.knows("h")
    assert not watch.knows("i")


@pytest.mark.parametrize(
    ("zone", "degrees", "inside"),
    [((8.0, 12.0), 8.0, True), ((8.0, 12.0), 12.0, True), ((8.0, 12.0), 7.9, False), ((8.0, 12.0), 12.1, False),
     (None, 9.0, None), ((8.0, 12.0), None, None)],
)  # fmt: skip
def test_both_ends_of_a_zone_of_temperatures_are_in_it(
    zone: tuple[float, float] | None, degrees: float | None, inside: bool | None
) -> None:
    from sternwatch.watch.core.compose import _in_zone

    assert _in_zone(zone, degrees) is inside


def test_the_newest_speed_read_at_a_depth_counts_though_it_is_none() -> None:
    from sternwatch.watch.core.compose import _depth_speed

    def gauge(number: int, speed: float | None, elapsed_s: float | None = None) -> Any:
        time = datetime(2026, 7, 18, 23, number, tzinfo=UTC)
        return SimpleNamespace(time=time, elapsed_s=elapsed_s, speed_m_s=speed, depth_m=10.0 * number)

    def told(*gauges: Any, offset_s: float | None = None) -> Any:
        made = _depth_speed(SimpleNamespace(gauges=gauges), offset_s)  # type: ignore[arg-type]
        return None if made is None else (made.speed_m_s, made.depth_m, made.t_s)

    assert told() is None
    assert told(gauge(1, None)) is None
    assert told(gauge(2, 0.0, 50.0), gauge(1, 1.2, 20.0), gauge(3, None, 60.0)) == (0.0, 20.0, 50.0)
    late = gauge(2, 0.9)
    assert told(late, offset_s=late.time.timestamp() - 7.0) == (0.9, 20.0, 7.0)


@pytest.mark.parametrize(
    ("depth_m", "inside"), [(9.9, False), (10.0, True), (15.0, True), (20.0, True), (20.1, False)]
)
def test_depths_are_in_the_zone_with_both_its_ends(depth_m: float, inside: bool) -> None:
    """16 degrees at the surface and a degree less every five metres: 12 to 14 degrees from 10 to 20 m."""
    from sternwatch.watch.outlook.lookout import zone_of
    from sternwatch.water.profile import TemperatureProfile

    column = TemperatureProfile.from_pairs([(0.0, 16.0), (40.0, 8.0)])
    within = zone_of(column, (12.0, 14.0))
    assert within is not None
    assert within(np.array([depth_m])).tolist() == [inside]
    assert zone_of(column, None) is None
    assert zone_of(TemperatureProfile.from_pairs([(0.0, 16.0)]), (12.0, 14.0)) is None
