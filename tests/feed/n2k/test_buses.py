"""Real buses: fast packets against the library's own reassembler, and which temperatures are of the sea."""

import random
from collections import Counter
from itertools import pairwise

import pytest

from feed.n2k import bridge
from recordings import CORPUS, RECORDINGS, file_of
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.n2k import frames
from sternwatch.feed.n2k.packets import Packets
from sternwatch.feed.readings import Line, Quantity, Speech, Tongue
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.sensors.board import SensorBoard

# As agreed: a change of one is to be noticed.
GAP_S = 90.0

BUS = Speech(Tongue.N2K)
SPLIT = {
    "bus without a depth": 406,
    "bus, speed, depth and rudder": 196,
    "bus, frames with a time": 89,
    "bus, simulated": 63,
}


def parts(name):
    """Every frame of a message of several, whatever it is of."""
    from nmea2000 import backend

    found = []
    for line in file_of(name).read_bytes().splitlines():
        frame = frames.parse(line.decode("ascii", "replace").rstrip())
        if frame is not None and len(frame.data) == 8 and backend.is_fast_pgn(frame.pgn):
            found.append(frame)
    return found


def ours(given):
    packets = Packets()
    pushed = [(one.pgn, one.source, packets.push(one.pgn, one.source, one.data)) for one in given]
    return Counter(one for one in pushed if one[2] is not None)


def the_librarys(given):
    from nmea2000 import _canboat

    joined, found = _canboat.Reassembler(), Counter()
    for one in given:
        whole = joined.push(one.pgn, one.data, one.source)
        if whole is not None:
            found[one.pgn, one.source, bytes(whole)] += 1
    return found


@pytest.mark.parametrize("name", SPLIT)
def test_the_same_messages_as_the_librarys_own_reassembler(name):
    given = parts(name)
    assert ours(given) == the_librarys(given)
    assert ours(given).total() == SPLIT[name]


@pytest.mark.parametrize("name", SPLIT)
def test_a_lost_frame_never_makes_another_message(name):
    """Of what the whole log says, something is missing; nothing is new."""
    given, rng = parts(name), random.Random(4)
    true = the_librarys(given)
    for _ in range(5):
        heard = ours([one for one in given if rng.random() > 0.05])
        assert heard - true == Counter()
        assert 0.3 * true.total() < heard.total() < true.total()


def heard(name):
    """(readings, the source's account)."""
    with open_recording(file_of(name), "bus", BUS) as recording:
        decoder = Decoder(speech={"bus": BUS})
        readings = [reading for line in recording.lines() for reading in decoder.decode(line)]
    return readings, decoder.reports()[0]


def test_a_simulator_that_says_sea_is_believed_and_its_other_temperatures_are_not():
    """The corpus calls it simulated, with no temperature of a real sea. That is so of the boat, not of her words.

    48 of its frames say water or sea, all of them 16.0 °C, by seven speakers, and nothing in a frame tells a
    simulator from a thermometer. The 34 that are said to be of a cabin, a freezer or the air stay out.
    """
    said = Counter()
    for line in file_of("bus, simulated").read_bytes().splitlines():
        taken = bridge.message(line.decode("ascii"))
        if taken is None or len(taken[2]) < 8:
            continue
        pgn, _, data = taken
        kind = {130310: 0, 130311: data[1] & 0x3F, 130312: data[2], 130316: data[2]}.get(pgn)
        if kind is not None:
            said["sea" if kind == 0 else "other"] += 1
    readings, _ = heard("bus, simulated")
    found = [r for r in readings if r.quantity is Quantity.WATER_TEMPERATURE]
    assert said == {"sea": 48, "other": 34}
    assert {round(r.value, 6) for r in found} == {16.0}
    speakers = {(r.talker, r.sentence) for r in found}
    assert len(found) + len(speakers) == 48  # what was said once does not count


@pytest.mark.parametrize(
    ("name", "low", "high", "others"),
    [("bus of a motor boat, twice", 31.8, 32.0, 1150), ("bus of a sailing boat", 22.8, 22.9, 140)],
)
def test_of_a_dozen_temperatures_only_the_seas(name, low, high, others):
    with open_recording(file_of(name), "bus", BUS) as recording:
        messages = [bridge.message(line.data.decode("ascii", "replace")) for line in recording.lines()]
    kinds = Counter(one[2][2] for one in messages if one is not None and one[0] == 130312)
    assert sum(count for kind, count in kinds.items() if kind) >= others
    values = [r.value for r in heard(name)[0] if r.quantity is Quantity.WATER_TEMPERATURE and r.value is not None]
    assert values
    assert low < min(values) <= max(values) < high


def test_old_messages_said_again_among_the_others_do_not_move_the_time():
    """1,170 of the 40,000 lines are what the gateway heard up to a minute before. The log holds its minute twice."""
    with open_recording(file_of("bus of a motor boat, twice"), "bus", BUS) as recording:
        assert 128.0 < recording.span_s - GAP_S < 130.0
        (twice,) = recording.splices
        speeds = [line.t_s for line in recording.lines() if b",128259," in line.data]
    gaps = [b - a for a, b in pairwise(speeds)]
    assert (twice.again, round(twice.by_s)) == (True, -64)
    assert len(speeds) == 130
    assert sorted(gaps)[-2] < 1.5
    assert GAP_S <= max(gaps) < GAP_S + 1.5


def test_a_log_begun_again_goes_on(tmp_path):
    path = tmp_path / "bus.log"
    plain = "2020-08-22T13:52:%06.3fZ,2,128259,35,255,8,00,7b,00,ff,ff,00,ff,ff\n"
    path.write_text("".join(plain % (10 + i / 4) for i in range(100)) + "".join(plain % (i / 4) for i in range(100)))
    with open_recording(path, "bus", BUS) as recording:
        times = [line.t_s for line in recording.lines()]
    assert times == sorted(times)
    assert times[99] == 24.75
    assert times[-1] == pytest.approx(
        24.75 + GAP_S + 20.0, abs=0.3
    )  # the first twenty lines tell a new start from old words


def test_of_several_thermometers_of_a_kind_one_is_still_better_than_a_poorer_message():
    decoder, board = Decoder(speech={"bus": BUS}), SensorBoard()
    poor = b"09FD0624 00 00 6F FF FF FF FF FF"  # 130310: 11.05 °C
    second = b"09FD0824 00 01 00 69 6E FF FF FF"  # 130312, instance 1: 9.5 °C
    for i in range(4):
        for data in (poor, second):
            for reading in decoder.decode(Line(float(i), None, "bus", data)):
                board.take(reading)
    found = board.table(3.0)[Quantity.WATER_TEMPERATURE]
    assert (found.sentence, round(found.value, 2)) == ("PGN 130312/1", 9.5)


def test_the_course_of_a_boat_that_drifts_may_jump_and_is_not_held_against_the_next():
    decoder = Decoder(speech={"bus": BUS})

    def courses(i, degrees, m_s):
        raw = round(degrees * 174.53292519943295)
        data = bytes([0, 0xFC]) + raw.to_bytes(2, "little") + round(m_s * 100).to_bytes(2, "little") + b"\xff\xff"
        line = f"09F80224 {data.hex(' ')}".encode()
        readings = decoder.decode(Line(i / 4, None, "bus", line))
        return [(round(r.value), bool(r.suspect)) for r in readings if r.quantity is Quantity.COG]

    assert courses(0, 90, 1.5) == []
    assert courses(1, 90, 1.5) == [(90, False)]
    assert courses(2, 200, 1.5) == [(200, True)]
    assert courses(3, 270, 0.2) == [(270, False)]
    assert courses(4, 10, 0.1) == [(10, False)]
    assert courses(5, 120, 0.9) == [(120, False)]  # under way again
    assert courses(6, 240, 0.9) == [(240, True)]


@pytest.mark.skipif(not CORPUS.is_dir(), reason="the real recordings are not beside the repository")
def test_every_bus_of_the_list_has_its_name():
    named = {file_of(name) for name in RECORDINGS if "bus" in name}
    folder = file_of("bus, simulated").parent
    assert named == {path for path in folder.iterdir() if path.suffix != ".md"}
