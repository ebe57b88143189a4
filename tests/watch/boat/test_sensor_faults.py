"""Sensors against each other on real recordings: sound ones raise nothing, faults are said in time."""

from __future__ import annotations

import math
from bisect import bisect_left
from statistics import median

import pytest

from recordings import SEA, file_of
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Quantity, Reading
from sternwatch.feed.recording.reader import open_recording
from sternwatch.watch.boat.current import Prior
from watch.boat.faulty import SAID_S, Heard, faults, hear, table
from watch.boat.pairs import PAIRS, doubled, faults_of, hear_pair

LAKE = Prior()
TIDES = Prior(current_sd_m_s=(0.375, 0.375))  # 1.2 kn either way, nine times in ten: a user's own range
HELD_OUT = "wrong checksums on good data"  # no gate was ever tuned on it
SOUND = [
    ("lake boat, bottom lost and speed spikes", LAKE),
    ("two depths disagree, temperature sensor broken", LAKE),
    (SEA, TIDES),
]
STARTS, HELD_OUT_STARTS = range(600, 9000, 600), range(900, 9000, 600)
LASTS_S = 180.0


def _readings(name: str) -> list[Reading]:
    with open_recording(file_of(name)) as recording:
        lines = list(recording.lines())
        decoder = Decoder(unchecked={line.source for line in lines} if name == HELD_OUT else ())
        return [reading for line in lines for reading in decoder.decode(line)]


def _part(readings: list[Reading], begin_s: float, end_s: float) -> list[Reading]:
    first, last = (bisect_left(readings, t_s, key=lambda one: one.t_s) for t_s in (begin_s, end_s))
    return readings[first:last]


def test_ten_minutes_of_a_lake_raise_nothing_and_a_log_at_half_is_said():
    with open_recording(file_of(SOUND[0][0])) as recording:
        sound = hear(recording, LAKE, begin_s=8000.0, to_s=8400.0)
        half = hear(recording, LAKE, faults()["half"](), 8100.0, 8400.0, 8000.0)
    assert sound.seconds > 350
    assert sound.said_s == ()
    assert half.wait_s is not None
    assert half.wait_s <= SAID_S


@pytest.mark.campaign
@pytest.mark.parametrize(("name", "prior"), SOUND, ids=[name for name, _ in SOUND])
def test_good_recordings_raise_nothing(name, prior):
    readings = _readings(name)
    heard = {"log and ground": hear(readings, prior)}
    heard |= _pairs(readings, prior)
    for pair, one in heard.items():
        print(f"\n{name}, {pair}: {one.seconds / 3600:.2f} h with both, said {one.said_s}")
    assert heard["log and ground"].seconds > 1500
    assert {pair: one.said_s for pair, one in heard.items()} == dict.fromkeys(heard, ())


def _pairs(readings: list[Reading], prior: Prior) -> dict[str, Heard]:
    return {f"{quantity}": hear_pair(doubled(readings, quantity), quantity, prior) for quantity in PAIRS}


@pytest.mark.campaign
def test_the_recording_held_back_has_a_false_log_and_nothing_else_is_said():
    """Its log agrees with the ground to the east and reads half as much again to the west, in a fjord without a tide;
    and it stands at nothing up to a metre a second. What is said of it is true, and said of nothing else."""
    readings = _readings(HELD_OUT)
    assert [one.said_s for one in _pairs(readings, LAKE).values()] == [()] * len(PAIRS)
    said = hear(readings, LAKE).said_s
    east, west = _log_over_ground(readings, 90.0), _log_over_ground(readings, 270.0)
    print(f"\nlog over ground: {east:.2f} to the east, {west:.2f} to the west; said {said}")
    assert east == pytest.approx(1.0, abs=0.05)
    assert west > 1.5
    assert 1 <= len(said) <= 3


def _log_over_ground(readings: list[Reading], course_deg: float) -> float:
    """The median, within 22 deg of a course at more than a metre a second."""
    newest: dict[Quantity, float] = {}
    found = []
    for reading in readings:
        if not isinstance(reading.value, float) or reading.suspect:
            continue
        newest[reading.quantity] = reading.value
        off_deg = math.remainder(newest.get(Quantity.COG, course_deg + 180.0) - course_deg, 360.0)
        if (
            reading.quantity is Quantity.SOG
            and reading.value > 1.0
            and abs(off_deg) < 22.0
            and Quantity.STW in newest
        ):
            found.append(newest[Quantity.STW] / reading.value)
    return median(found)


@pytest.mark.campaign
@pytest.mark.parametrize("starts", [STARTS, HELD_OUT_STARTS], ids=["chosen on", "held out"])
def test_the_table_of_faults(starts):
    """Contradictions between a false log and the ground are said, and how soon after."""
    readings = _readings(SOUND[0][0])
    cases = {
        name: [
            hear(_part(readings, s - 60.0, s + LASTS_S + 1.0), LAKE, make(), s, s + LASTS_S, s - 60.0) for s in starts
        ]
        for name, make in faults().items()
    }
    for name, apart, said, worst_s in table(cases):
        assert said >= 0.9 * apart, name
        assert worst_s <= SAID_S, name


@pytest.mark.campaign
@pytest.mark.parametrize("quantity", PAIRS)
def test_the_table_of_faults_in_one_of_two(quantity: Quantity):
    """As above: a compass against the course, one of two sounders, one of two thermometers."""
    readings = doubled(_readings(SOUND[0][0]), quantity)
    cases: dict[str, list[Heard]] = {
        name: [
            hear_pair(_part(readings, s - 60.0, s + LASTS_S + 1.0), quantity, LAKE, make(), s, s + LASTS_S, s - 60.0)
            for s in STARTS
        ]
        for name, make in faults_of(quantity).items()
    }
    print(f"\n{quantity}")
    for name, apart, said, worst_s in table(cases):
        assert said >= 0.9 * apart, name
        assert worst_s <= SAID_S, name
