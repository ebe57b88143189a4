"""The instruments through the very decoder that a serial port's lines go through."""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Callable
from itertools import pairwise

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity, Reading
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import ActionError, Fault, parse
from sternwatch.practice.drills.faults import FaultError, SensorFault, fault_of, parse_fault
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.world.boat import Pose
from sternwatch.practice.world.instruments import LEAST_DELAY_S, ORIGIN_DEG, RHYTHM, Instruments, Truth
from sternwatch.practice.world.world import World
from sternwatch.watch.bottom.soundings import local_metres

BEGIN = 1_752_922_800


def heard(
    *faults: SensorFault, seconds: int = 120, seed: int = 1, heading: float = 75.0, factor: float = 1.0
) -> tuple[list[Line], list[Reading]]:
    made = Instruments(seed, BEGIN, 0.5, factor, faults)
    lines: list[Line] = []
    for t_ms in range(0, seconds * 1000, 100):
        t = t_ms / 1000.0
        pose = Pose(t, 0.0, 1.2 * t, heading, 1.2, (0.3, 1.16), 1.2)
        made.sense(t_ms, Truth(pose, 0.0, 1.3 * t, (0.0, 1.3), 14.0, 30.0))
        lines += made.lines(t_ms)
    decoder = Decoder()
    return lines, [reading for line in lines for reading in decoder.decode(line)]


def values(readings: list[Reading], quantity: Quantity) -> list[float]:
    return [r.value for r in readings if r.quantity is quantity and isinstance(r.value, float)]


def test_every_sentence_is_understood_and_tells_the_truth_within_its_noise() -> None:
    lines, readings = heard()
    assert Counter(line.data[3:6].decode() for line in lines).keys() == RHYTHM.keys()
    late = readings[len(readings) // 4 :]
    assert statistics.fmean(values(late, Quantity.STW)) == pytest.approx(1.2, abs=0.02)
    assert statistics.fmean(values(late, Quantity.SOG)) == pytest.approx(1.3, abs=0.02)
    assert statistics.fmean(values(late, Quantity.COG)) == pytest.approx(90.0, abs=1.0)
    assert statistics.fmean(values(late, Quantity.HEADING)) == pytest.approx(75.0, abs=2.5)
    assert statistics.fmean(values(late, Quantity.WATER_TEMPERATURE)) == pytest.approx(14.0, abs=0.3)
    assert statistics.fmean(values(late, Quantity.BOTTOM)) == pytest.approx(30.0, abs=0.1)  # from the surface
    assert 0.01 < statistics.pstdev(values(late, Quantity.STW)) < 0.05
    place = [r for r in readings if r.quantity is Quantity.POSITION][-1]
    assert isinstance(place.value, tuple)
    north, east = local_metres(ORIGIN_DEG, place.value)
    assert (north, east) == pytest.approx((0.0, 1.3 * place.t_s), abs=6.0)
    assert [r.value for r in readings if r.quantity is Quantity.CLOCK][-1] == pytest.approx(BEGIN + 119, abs=1.0)


def test_rates_and_delays_are_those_promised() -> None:
    lines, _ = heard(seconds=60)
    counts = Counter(line.data[3:6].decode() for line in lines)
    for name, (every, delay) in RHYTHM.items():
        assert counts[name] == pytest.approx(60_000 / every, abs=delay / every + 1.5)
    assert [line.t_s for line in lines] == sorted(line.t_s for line in lines)
    assert all(line.t_s >= LEAST_DELAY_S for line in lines)
    rmc = [round(line.t_s % 1.0, 3) for line in lines if b"RMC" in line.data]
    assert min(rmc) >= 0.3
    assert len(set(rmc)) > 5  # no clockwork


def test_a_seed_writes_the_same_bytes() -> None:
    assert heard(seed=4)[0] == heard(seed=4)[0]
    assert heard(seed=4)[0] != heard(seed=5)[0]


def test_the_paddle_wheel_is_as_wrong_as_it_is_made() -> None:
    _, readings = heard(factor=0.9)
    assert statistics.fmean(values(readings[200:], Quantity.STW)) == pytest.approx(1.08, abs=0.02)


def during(readings: list[Reading], low: float, high: float) -> list[Reading]:
    return [r for r in readings if low + 1.0 <= r.t_s < high]


def test_a_dropout_is_silence_and_passes() -> None:
    _, readings = heard(SensorFault("dropout", "gps", 30.0, 20.0))
    gone = {r.quantity for r in during(readings, 30.0, 50.0)}
    assert not {Quantity.SOG, Quantity.POSITION} & gone
    assert Quantity.STW in gone
    assert Quantity.SOG in {r.quantity for r in readings if r.t_s > 52.0}


def test_a_frozen_sensor_repeats_itself() -> None:
    lines, _ = heard(SensorFault("frozen", "log", 30.0, 20.0))
    said = [line.data for line in lines if b"VHW" in line.data and 31.0 <= line.t_s < 50.0]
    assert len(said) > 15
    assert len(set(said)) == 1


def test_without_a_fix_the_receiver_says_so() -> None:
    _, readings = heard(SensorFault("no fix", "gps", 30.0, 20.0))
    gone = during(readings, 30.0, 50.0)
    assert [r.value for r in gone if r.quantity is Quantity.POSITION] != []
    assert all(r.value is None for r in gone if r.quantity in (Quantity.POSITION, Quantity.SOG, Quantity.COG))


def test_a_lost_bottom_is_no_depth() -> None:
    _, readings = heard(SensorFault("lost bottom", "sounder", 30.0, 20.0))
    assert {r.value for r in during(readings, 30.0, 50.0) if r.quantity is Quantity.BOTTOM} == {None}


def test_bad_checksums_are_thrown_out_by_the_decoder() -> None:
    lines, readings = heard(SensorFault("bad checksums", "compass", 30.0, 40.0))
    sent = sum(b"HDG" in line.data for line in lines if 31.0 <= line.t_s < 70.0)
    taken = sum(r.quantity is Quantity.HEADING and r.sentence == "HDG" for r in during(readings, 30.0, 70.0))
    assert 0.25 * sent < taken < 0.55 * sent


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("dropout", SensorFault("dropout", "all")),
        ("no fix@30 s+60 s", SensorFault("no fix", "gps", 30.0, 60.0)),
        ("frozen:log@2 min", SensorFault("frozen", "log", 120.0)),
        ("lost bottom", SensorFault("lost bottom", "sounder")),
    ],
)
def test_faults_as_they_are_written(given: str, wanted: SensorFault) -> None:
    assert parse_fault(given) == wanted


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("dropuot", 'did you mean "dropout"'),
        ("dropout:gpss", 'did you mean "gps"'),
        ("dropout@30", "unit is missing"),
        ("dropout@30 s+3 ft", "length"),
        ("", "accepted: KIND"),
    ],
)
def test_a_wrong_fault_is_one_sentence(given: str, said: str) -> None:
    with pytest.raises(FaultError, match=said):
        parse_fault(given)


def entry(**fields: object) -> Fault:
    action = parse({"id": "f", "time": "2025-07-19T11:00:00Z", "kind": "fault"} | fields)
    assert isinstance(action, Fault)
    return action


def test_a_fault_that_is_an_entry_begins_at_its_moment_and_is_mended(
    make_drill: Callable[..., DrillFile], spread: Spread
) -> None:
    world = World(make_drill().drill, spread, 3, BEGIN)
    world.act(entry(what="lost bottom", elapsed_s=5.0))
    world.act(entry(what="dropout", sensor="gps", for_s=4, elapsed_s=5.0))
    world.act(entry(what="mended", elapsed_s=12.0))
    said = world.to(18.0)
    depths = {round(line.t_s): line.data.split(b",")[1] for line in said if line.data[3:6] == b"DPT"}
    assert depths[3]
    assert depths[15]
    assert not any(depths[at] for at in range(7, 12))
    fixes = [line.t_s for line in said if line.data[3:6] == b"RMC"]
    assert max(after - before for before, after in pairwise(fixes)) == pytest.approx(5.0, abs=0.5)
    assert fixes[-1] > 16.0


@pytest.mark.parametrize(
    ("fields", "wanted"),
    [
        ({"what": "no fix"}, SensorFault("no fix", "gps", 3.0)),
        ({"what": "frozen", "for_s": 20}, SensorFault("frozen", "all", 3.0, 20.0)),
        ({"what": "dropout", "sensor": "log"}, SensorFault("dropout", "log", 3.0)),
        ({"what": "mended"}, None),
    ],
)
def test_what_an_entry_makes_fail(fields: dict[str, object], wanted: SensorFault | None) -> None:
    assert fault_of(entry(**fields), 3.0) == wanted


def test_mended_names_no_sensor() -> None:
    with pytest.raises(ActionError, match="mended"):
        entry(what="mended", sensor="gps")
