"""A run is told by speed and time; what it takes in is said for a minute, and can be taken back."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.boat.runs import Running

# As agreed: a change of one is to be noticed.
FAST_M_S = 2.68224

US = SYSTEMS["us"]


def crew(*states: str, standing: Any = (), undone: Any = ()) -> Any:
    rods = {str(k): SimpleNamespace(state=state) for k, state in enumerate(states, 1)}
    facts = SimpleNamespace(utc_offset_min=0)
    return SimpleNamespace(rods=rods, standing=standing, undone=undone, facts=facts)


def ran(seconds: range, speed: float | None = FAST_M_S + 0.01, running: Running | None = None) -> Running:
    running = running or Running()
    for t in seconds:
        running.step(float(t), speed)
    return running


def test_twenty_seconds_faster_than_six_miles_an_hour() -> None:
    assert not ran(range(100, 120)).lasts
    assert ran(range(100, 121)).lasts
    assert not ran(range(100, 200), FAST_M_S).lasts


def test_a_wave_does_not_end_it_and_five_seconds_do() -> None:
    running = ran(range(100, 125))
    ran(range(125, 129), 1.0, running)
    assert running.since_s == 100.0
    ran(range(129, 130), 1.0, running)
    assert running.since_s is None
    assert running.before == (100.0, 124.0)
    assert ran(range(100, 125)).before is None
    short = ran(range(100, 110))
    assert ran(range(110, 130), None, short).before is None, "too short to count"


def test_rods_are_taken_in_once_for_each_run() -> None:
    running = ran(range(100, 121))
    entry = running.take_in(120.5, 1_784_000_000.0, crew("in", "fishing", "reeling"))
    assert entry is not None
    assert entry.keys == ("2", "3")
    assert (entry.id, entry.elapsed_s, entry.since_elapsed_s) == ("ran-120500", 120.5, 100.0)
    assert (entry.time - entry.since).total_seconds() == 20.5
    assert entry.time.timestamp() == 1_784_000_120.5
    assert running.take_in(121.0, 0.0, crew("fishing")) is None, "once"
    ran(range(121, 140), 1.0, running)
    ran(range(140, 165), running=running)
    again = running.take_in(165.0, None, crew("fishing"))
    assert again is not None
    assert again.time.timestamp() == 165.0, "no clock: feed time from the epoch"
    assert ran(range(100, 119)).take_in(119.0, None, crew("fishing")) is None, "no run yet"
    assert ran(range(100, 125)).take_in(125.0, None, crew("in")) is None, "none is out"


def test_what_a_run_covers_unless_it_was_taken_back() -> None:
    running = ran(range(100, 125))
    entry = running.take_in(124.0, None, crew("fishing"))
    assert entry is not None
    stands, undone = crew("in"), crew("fishing", undone={entry.id})
    assert [running.covers(t, stands) for t in (99.9, 100.0, 124.0, 124.1)] == [False, True, True, False]
    assert not running.covers(110.0, undone)
    ran(range(125, 135), 1.0, running)
    assert [running.covers(t, stands) for t in (99.9, 100.0, 124.0, 124.1)] == [False, True, True, False]
    assert not running.covers(110.0, undone)
    ran(range(140, 165), running=running)
    assert running.covers(150.0, undone), "another run than the one taken back"


def test_what_is_no_run_yet_covers_nothing() -> None:
    running = ran(range(100, 110))
    assert running.since_s == 100.0
    assert not running.covers(105.0, crew("fishing"))


def test_it_is_said_for_a_minute() -> None:
    running = ran(range(100, 125))
    assert running.words(124.0, crew("fishing"), US) == ""
    entry = running.take_in(124.0, 1_784_000_000.0 - 1_784_000_000.0 % 86400.0, crew("fishing", "in", "fishing"))
    assert entry is not None
    stands = crew("in", standing={entry.id})
    said = "Rods 1 3 taken as in: the boat has run above 6 mph since 00:01:40"
    assert running.words(124.0, stands, US) == said
    assert running.words(184.0, stands, US) == said
    assert running.words(184.1, stands, US) == ""
    assert running.words(130.0, crew("fishing"), US) == "", "taken back"
    one = ran(range(100, 125))
    single = one.take_in(124.0, 0.0, crew("fishing"))
    assert single is not None
    assert one.words(124.0, crew("in", standing={single.id}), US).startswith("Rod 1 taken")


@pytest.mark.parametrize("speed", [None, 0.0])
def test_a_boat_that_does_not_run_takes_nothing_in(speed: float | None) -> None:
    assert ran(range(100), speed).take_in(100.0, None, crew("fishing")) is None
