"""One test per way in which feeds go wrong, on the bytes of real recordings where they hold it."""

import itertools
import random
from datetime import UTC, datetime

import pytest

from recordings import file_of
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Quantity, SensorState
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.feed.sentences.accounts import Cause


def _played(path, decoder=None, limit=None):
    """Decoder, board and readings after a recording, or its first ``limit`` lines."""
    decoder, board, readings = decoder or Decoder(), SensorBoard(), []
    for i, line in enumerate(open_recording(path).lines()):
        if limit is not None and i >= limit:
            break
        for reading in decoder.decode(line):
            board.take(reading)
            readings.append(reading)
    return decoder, board, readings


def _of(readings, quantity):
    return [reading for reading in readings if reading.quantity is quantity]


def test_lost_bottom_jumps_are_suspect_and_shown():
    _, _, readings = _played(file_of("lake boat, bottom lost and speed spikes"))
    depths = [r for r in _of(readings, Quantity.BOTTOM) if r.value is not None]
    jumps = [
        later for earlier, later in itertools.pairwise(depths)
        if abs(later.value - earlier.value) > 15 and not earlier.suspect
    ]  # fmt: skip
    assert len(jumps) > 100
    assert all(r.suspect for r in jumps)
    assert all(r.value is not None for r in jumps)


def test_zero_temperature_at_power_up():
    _, _, readings = _played(file_of("lake boat, no paddle wheel"))
    temperatures = _of(readings, Quantity.WATER_TEMPERATURE)
    zeros = [r for r in temperatures if r.value == 0]
    assert len(zeros) == 19
    assert all(r.suspect for r in zeros)
    believed = [r.value for r in temperatures if not r.suspect]
    assert min(believed) >= 17


def test_no_speed_through_water_at_all_is_never_not_zero():
    _, board, readings = _played(file_of("lake boat, no paddle wheel"), limit=2000)
    assert _of(readings, Quantity.STW) == []
    value = board.table(100.0)[Quantity.STW]
    assert (value.state, value.value, value.age_s) == (SensorState.NEVER, None, None)


def test_empty_speed_at_power_up_is_the_sensor_saying_none(talk):
    # First lines of "wrong checksums on good data", with checksums that fit.
    board = SensorBoard()
    for reading in talk.say("IIVHW,,,063,M,,,,"):
        board.take(reading)
    value = board.table(0.5)[Quantity.STW]
    assert (value.state, value.value) == (SensorState.NONE, None)


def test_a_broken_temperature_sensor_for_half_an_hour():
    _, _, readings = _played(file_of("two depths disagree, temperature sensor broken"))
    temperatures = _of(readings, Quantity.WATER_TEMPERATURE)
    assert len(temperatures) == 2022
    assert all(r.suspect and 39 <= r.value <= 39.2 for r in temperatures)


def test_wrong_checksums_on_good_data_are_refused_and_said():
    path = file_of("wrong checksums on good data")
    decoder, _, _ = _played(path)
    report = decoder.reports()[0]
    assert report.rejected == {Cause.BAD_CHECKSUM: 37550}
    assert sum(report.accepted.values()) + sum(report.unused.values()) == 1930
    assert report.complaint.startswith("recording: 9")
    assert "wrong checksum and are refused" in report.complaint
    # By explicit choice they are used, and that stays visible.
    decoder, _, readings = _played(path, Decoder(unchecked=["recording"]))
    assert len(_of(readings, Quantity.STW)) == 3792
    assert "by choice" in decoder.reports()[0].complaint


def test_fused_sentences_are_taken_apart():
    decoder, _, _ = _played(file_of("moored, sentences run together"))
    report = decoder.reports()[0]
    assert report.rejected == {Cause.CUT_OFF: 994, Cause.BAD_CHECKSUM: 142}
    assert sum(report.accepted.values()) + sum(report.unused.values()) == 6182


def test_fused_sentences_never_pass_as_one(talk, signed):
    fused = b"$IIVHW,,,054,M,04.2" + signed("IIMTW,+14.5,C")
    readings = talk.raw(fused)
    assert [r.quantity for r in readings] == [Quantity.WATER_TEMPERATURE]
    nested = b"$IIDPT,01" + signed("IIMTW,+14.5,C") + b"2.9,-1.0,*4A"
    assert [r.quantity for r in talk.raw(nested)] == []
    # Two whole ones run together both count.
    assert len(talk.raw(signed("IIMTW,+14.5,C") + signed("IIDPT,012.9,-1.0,"))) == 2


def test_fused_sentences_from_a_source_without_checksums(talk):
    assert talk.raw(b"$IIDPT,1$IIMTW,+14.5,C") == talk.readings
    assert [r.quantity for r in talk.readings] == [Quantity.WATER_TEMPERATURE]
    assert talk.report.rejected == {Cause.CUT_OFF: 1}


def test_a_wrong_letter_with_a_matching_checksum(talk, only):
    assert only(talk.say("IIVHW,,,054,M,04.2,K,,"), Quantity.STW).value is None
    assert only(talk.say("IIMTW,58.1,F"), Quantity.WATER_TEMPERATURE).value is None
    readings = talk.say("GPRMC,132647,A,4612.888,M,00610.030,E,04.7,310,050814,,,A")
    assert only(readings, Quantity.POSITION).value is None
    assert all(reading.value is None for reading in readings)
    assert talk.report.bad_fields == 3


def test_good_fixes_with_navigation_status_v(talk, only):
    readings = talk.say("GNRMC,132820.60,A,4134.498,N,09345.033,W,3.252,92.308,180320,11.6,E,D,V")
    assert only(readings, Quantity.SOG).value is not None
    assert only(readings, Quantity.POSITION).value is not None


def test_week_roll_over_with_midnight_between_gga_and_rmc():
    path = file_of("host clock, dates of another epoch")
    recording = open_recording(path)
    _, _, readings = _played(path)
    clocks = _of(readings, Quantity.CLOCK)
    assert len(clocks) == 2000
    assert recording.start_utc == pytest.approx(datetime(2014, 8, 1, 0, 0, 0, 124000, tzinfo=UTC).timestamp())
    for reading in clocks:
        # The host's clock and the mended one agree; RMC lags by what its own time says, under two seconds.
        assert -2.0 < reading.value - (recording.start_utc + reading.t_s) < 0.5


def test_two_talkers_of_rmc_one_without_a_date(talk):
    dated = "GPRMC,235959,A,4612.888,N,00610.030,E,04.7,310,050814,,,A"
    bare = "IIRMC,235959,A,4612.888,N,00610.030,E,04.7,310,,,,A"
    talk.say(bare)
    assert _of(talk.readings, Quantity.CLOCK) == []
    talk.say(dated)
    talk.say(bare.replace("235959", "000001"))
    clocks = _of(talk.readings, Quantity.CLOCK)
    assert [r.talker for r in clocks] == ["GP"]
    for seconds in range(2, 20):
        talk.say(bare.replace("235959", f"0000{seconds:02d}"))
    later = _of(talk.readings, Quantity.CLOCK)[1:]
    assert later  # the dated one is gone: the bare one takes over, on the next day
    midnight = datetime(2014, 8, 6, tzinfo=UTC).timestamp()
    assert all(midnight < r.value < midnight + 60 for r in later)


def test_no_rmc_at_all(talk):
    board = SensorBoard()
    for second in range(10):
        bodies = ("GPVTG,220.2,T,245.1,M,009.7,N,018.0,K,A", f"GPGLL,2200.1091,S,01756.3580,W,0000{second:02d},A,A")
        for reading in talk.say(*bodies):
            board.take(reading)
    table = board.table(9.5)
    assert table[Quantity.SOG].state is SensorState.FRESH
    assert table[Quantity.POSITION].sentence == "GLL"
    # Without a date anywhere there is no clock; with a computer's clock beside it there is one.
    assert board.utc_offset(9.5) is None
    talk.host_ms = 1_406_851_209_500
    readings = talk.say("GPGLL,2200.1091,S,01756.3580,W,000010,A,A")
    assert [r.value for r in readings if r.quantity is Quantity.CLOCK] == [1_406_851_210.0]


def test_two_depths_that_disagree_do_not_alternate():
    _, board, _ = _played(file_of("two depths disagree, temperature sensor broken"), limit=5000)
    entries = [e for e in board.entries(130.0) if e.quantity is Quantity.BOTTOM]
    assert sorted(e.sentence for e in entries) == ["DBT", "DPT"]
    used = [e.sentence for e in entries if e.in_use]
    assert used == ["DPT"]
    assert len({e.value for e in entries}) == 2


def test_speed_spikes():
    _, _, readings = _played(file_of("lake boat, bottom lost and speed spikes"))
    speeds = _of(readings, Quantity.SOG)
    spikes = [r for r in speeds if r.value > 6.0]
    assert spikes
    assert all(r.suspect for r in spikes)


def test_seventy_knots(talk, only):
    body = "IIRMC,132647,A,4612.888,N,00610.030,E,{},310,050814,,,A"
    judged = [only(talk.say(body.format(kn)), Quantity.SOG) for kn in ("03.8", "74.0", "03.9")]
    assert [bool(r.suspect) for r in judged] == [False, True, False]
    assert judged[1].value == pytest.approx(38.07, abs=0.01)


def test_binary_in_mid_stream(talk):
    raw = file_of("binary in mid-stream").read_bytes()
    talk.stream(raw)
    report = talk.report
    assert report.rejected == {Cause.NOT_TEXT: 25, Cause.BAD_CHECKSUM: 1}
    assert sum(report.accepted.values()) + sum(report.unused.values()) + 26 == report.lines


@pytest.mark.parametrize("checksums", [True, False])
def test_unplug_in_mid_sentence(new_talk, signed, checksums):
    talk = new_talk()
    sentence = signed("IIVHW,,,063,M,04.2,N,,") if checksums else b"$IIVHW,,,063,M,04.2,N,,"
    talk.raw(sentence)
    good = talk.readings[0]
    for cut in range(1, len(sentence)):
        for reading in talk.raw(sentence[:cut], whole=False):
            assert reading.value == good.value, sentence[:cut]
    assert talk.report.rejected


def test_a_second_reader_stealing_bytes(talk):
    """Half of the chunks vanish: what survives is right, the rest is refused and counted."""
    raw = file_of("sea, three hours").read_bytes()[:300_000]
    whole = set(raw.splitlines())
    thief = random.Random(4)
    kept = b"".join(raw[i : i + 37] for i in range(0, len(raw), 37) if thief.random() < 0.5)
    refused_before = len(talk.readings)
    talk.stream(kept)
    assert talk.report.rejected[Cause.CUT_OFF] > 50
    assert sum(talk.report.rejected.values()) > 1000
    assert refused_before < len(talk.readings) < len(whole)
    temperatures = {r.value for r in talk.readings if r.quantity is Quantity.WATER_TEMPERATURE} - {None}
    assert temperatures
    assert all(12 <= value <= 17 for value in temperatures)


def test_a_truncated_depth_is_no_depth():
    _, _, readings = _played(file_of("a depth cut off"))
    depths = _of(readings, Quantity.BOTTOM)
    assert depths[0].value is None
    assert all(r.value is None or r.value > 1 for r in depths)


def test_void_fixes_give_no_time():
    _, board, readings = _played(file_of("receiver without a fix"))
    first_fix = next(r.t_s for r in readings if r.quantity is Quantity.POSITION and r.value is not None)
    clocks = [r for r in readings if r.quantity is Quantity.CLOCK and r.value is not None]
    assert clocks
    assert all(r.t_s >= first_fix for r in clocks)
    assert all(r.value != (0.0, 0.0) for r in readings)
    assert board.utc_offset(1e6) is not None
