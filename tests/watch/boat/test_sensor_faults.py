"""Sensors against each other on real recordings: sound ones raise nothing, faults are said in time."""

from __future__ import annotations

from bisect import bisect_left

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
    (HELD_OUT, LAKE),
]
STARTS = range(600, 9000, 600)
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
    for quantity in PAIRS:
        heard[f"{quantity}"] = hear_pair(doubled(readings, quantity), quantity, prior)
    for pair, one in heard.items():
        print(f"\n{name}, {pair}: {one.seconds / 3600:.2f} h with both, said {one.said_s}")
    assert heard["log and ground"].seconds > 1500
    assert {pair: one.said_s for pair, one in heard.items()} == dict.fromkeys(heard, ())


@pytest.mark.campaign
def test_the_table_of_faults():
    """Contradictions between a false log and the ground are said, and how soon after."""
    readings = _readings(SOUND[0][0])
    cases = {
        name: [hear(readings, LAKE, make(), s, s + LASTS_S, s - 60.0) for s in STARTS]
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
