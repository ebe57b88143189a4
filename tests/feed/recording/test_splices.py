"""Recordings that are pieced together: found, said, and every piece in its own time."""

import itertools
import os
from datetime import UTC, datetime

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity
from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.splices import Splice, sentence
from sternwatch.feed.sensors.board import SensorBoard

# As agreed: a change of one is to be noticed.
GAP_S = 90.0
HOLE_S = 60.0

NOON = datetime(2025, 7, 1, 12, 0, tzinfo=UTC).timestamp()


@pytest.fixture
def minutes(signed):
    """A feed from a Unix time on: a fix each second, and a temperature."""

    def make(begin: float, seconds: int) -> bytes:
        lines = []
        for second in range(seconds):
            now = datetime.fromtimestamp(begin + second, UTC)
            lines.append(signed(f"GPRMC,{now:%H%M%S},A,4700.0,N,09000.0,W,2.0,90.0,{now:%d%m%y},,,A"))
            lines.append(signed("IIMTW,7.0,C"))
        return b"\r\n".join(lines) + b"\r\n"

    return make


def _opened(path, data, changed=None):
    path.write_bytes(data)
    if changed is not None:
        os.utime(path, (changed, changed))
    return open_recording(path)


def _utc(recording):
    """UTC by the sensor board at every fix, with its feed time."""
    decoder, board, found = Decoder(written=recording.written), SensorBoard(), []
    for line in recording.lines():
        for reading in decoder.decode(line):
            board.take(reading)
            if reading.quantity is Quantity.CLOCK:
                found.append((line.t_s, line.t_s + board.utc_offset(line.t_s), reading.value))
    return found


def test_the_gap_is_a_hole_to_the_watch():
    assert GAP_S > HOLE_S


def test_the_same_ten_minutes_six_times(tmp_path, minutes):
    recording = _opened(tmp_path / "a.nmea", minutes(NOON, 600) * 6)
    assert [(one.by_s, one.again) for one in recording.splices] == [(-599.0, True)] * 5
    assert [one.at_s for one in recording.splices] == pytest.approx([k * (599 + GAP_S) for k in range(1, 6)], abs=1)
    assert recording.notes == (
        "it is in 6 pieces (5 of them repeat a time): at 0:11:29 the clock goes back by 10 min to a time that was "
        "there before, and in 4 more places; each piece keeps its own time, and everything begins anew with it",
    )
    times = [line.t_s for line in recording.lines()]
    assert len([1 for a, b in itertools.pairwise(times) if b - a > HOLE_S]) == 5
    # Every second of every piece has the time that was said in it.
    heard = _utc(recording)
    assert len(heard) == 3600
    assert max(abs(utc - said) for _, utc, said in heard) < 1.1


@pytest.mark.parametrize(
    ("second", "by_s", "again"),
    [
        (NOON - 7200, -7499.0, False),  # the day's beginning behind its end
        (NOON + 200, -99.0, True),  # an overlap that goes on beyond what was there
        (NOON - 86_400 * 40, None, False),
        (NOON + 86_400 * 30, None, False),  # another month
    ],
)
def test_another_piece_has_its_own_time(tmp_path, minutes, second, by_s, again):
    recording = _opened(tmp_path / "a.nmea", minutes(NOON, 300) + minutes(second, 300))
    (splice,) = recording.splices
    assert splice.by_s == (by_s if by_s is not None else second - NOON - 299)
    assert splice.again is again
    assert recording.span_s == pytest.approx(598 + GAP_S, abs=1)
    assert max(abs(utc - said) for _, utc, said in _utc(recording)) < 1.1


def test_a_day_off_is_a_hole_and_no_splice(tmp_path, minutes):
    recording = _opened(tmp_path / "a.nmea", minutes(NOON, 300) + minutes(NOON + 86_400, 300))
    assert recording.splices == ()
    assert recording.span_s == pytest.approx(86_400 + 299, abs=1)


def test_a_minute_that_sticks_is_no_splice(tmp_path, minutes):
    stuck = minutes(NOON, 60) * 5 + minutes(NOON + 300, 300)
    recording = _opened(tmp_path / "a.nmea", stuck)
    assert (recording.splices, recording.notes) == ((), ())
    assert recording.span_s == pytest.approx(599, abs=1)


@pytest.mark.parametrize("stamped", ["tag", "host"])
def test_stamps_that_go_back_begin_another_piece(tmp_path, minutes, stamped):
    lines = minutes(NOON, 200).splitlines()

    def piece(begin_s):
        for k, data in enumerate(lines):
            at = begin_s + k / 2
            if stamped == "tag":
                yield tagblock.write(Line(at - begin_s, None, "gps", data))
            else:
                yield f"{datetime.fromtimestamp(at, UTC):%Y-%m-%dT%H:%M:%S.%f}Z ".encode() + data + b"\r\n"

    recording = _opened(tmp_path / "a.nmea", b"".join(itertools.chain(*(piece(NOON) for _ in range(3)))))
    assert [(one.by_s, one.again) for one in recording.splices] == [(-199.5, True)] * 2
    times = [line.t_s for line in recording.lines()]
    for k in range(3):
        begin = k * (199.5 + GAP_S)
        assert times[k * 400 : (k + 1) * 400] == pytest.approx([begin + i / 2 for i in range(400)])
    assert recording.start_utc == (None if stamped == "tag" else NOON)
    jumped = list(recording.lines_from(times[401]))
    assert [line.t_s for line in jumped] == times[401:]


def test_words():
    assert sentence(()) == ""
    assert "at 1:02:03 the clock goes on by 3 years;" in sentence([Splice(3723.9, 3 * 365.25 * 86_400, again=False)])


class TestDatesOfARecording:
    """A receiver's week count may have rolled over; what is made of it must fit the file's own time of change."""

    OLD = datetime(2008, 7, 1, 12, 0, tzinfo=UTC).timestamp()  # one roll-over later: 2028-02-15
    WRONG = datetime(1993, 12, 15, 12, 0, tzinfo=UTC).timestamp()  # one roll-over later: 2013-07-31
    MEANT = datetime(2013, 7, 31, 12, 0, tzinfo=UTC).timestamp()
    ROLL_S = 1024 * 7 * 86_400

    @pytest.mark.parametrize(
        ("said", "changed", "meant"),
        [
            (OLD, OLD + 700, OLD),  # mended it lies after now, and after the file's last change
            (OLD, OLD + 15 * 365 * 86_400, OLD),
            (WRONG, MEANT + 700, MEANT),
            (WRONG, MEANT + 300 * 86_400, MEANT),
            (WRONG, MEANT + 5 * 365 * 86_400, WRONG),  # years before its last change
            (WRONG, WRONG + 700, WRONG),  # an honest one, as old as it says
            (WRONG, 315_532_800.0, MEANT),  # 1980: a file system without a clock
            (NOON, NOON + 700, NOON),
        ],
    )
    def test_the_date_is_what_fits(self, tmp_path, minutes, said, changed, meant):
        recording = _opened(tmp_path / "a.nmea", minutes(said, 120), changed)
        assert recording.start_utc == pytest.approx(meant, abs=1)
        heard = _utc(recording)
        assert heard[-1][1] == pytest.approx(meant + 119, abs=1.1)
        day = f"{datetime.fromtimestamp(said, UTC):%Y-%m-%d}"
        if meant != said:
            assert recording.notes == (
                f"its receiver says {day}; its count of weeks has rolled over, so 1024 weeks are added: "
                f"{datetime.fromtimestamp(meant, UTC):%Y-%m-%d}",
            )
        elif said != NOON:
            assert f"its receiver says {day}, and that is believed: with its count" in recording.notes[0]
        else:
            assert recording.notes == ()


@pytest.mark.parametrize(
    ("by_s", "words"),
    [(59.0, "59 s"), (60.0, "1 min"), (7199.0, "120 min"), (7200.0, "2 h"), (172_799.0, "48 h"),
     (172_800.0, "2 days"), (-2 * 365.25 * 86400.0, "2 years")],
)  # fmt: skip
def test_how_far_a_clock_steps_is_said_in_one_unit(by_s, words):
    assert Splice(0.0, by_s, False).words.endswith(f" by {words}")
