"""A recording without stamps: which clock in it counts, how lines lie between its times, where it is in pieces."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest

from sternwatch.feed.recording.own_clock import (
    Track,
    _catches_up,
    _clean,
    _goes_on,
    _has_fix,
    _track,
    day_in,
    said_day,
    track,
)
from sternwatch.feed.sentences.layouts import parse

Sign = Callable[[str], bytes]
NOON_S = datetime(2026, 7, 18, 12, tzinfo=UTC).timestamp()
DAY_S = 86_400.0


@pytest.fixture
def zda(signed: Sign) -> Callable[..., bytes]:
    """Sentences of one length, at seconds after noon."""

    def make(*seconds: int) -> bytes:
        told = (f"GPZDA,{12 + t // 3600:02d}{t // 60 % 60:02d}{t % 60:02d}.00,18,07,2026,00,00" for t in seconds)
        return b"".join(signed(body) + b"\r\n" for body in told)

    return make


def test_lines_lie_between_two_times_by_their_bytes(zda: Callable[..., bytes]) -> None:
    long = len(zda(0))
    found = track(b"x" * 98 + b"\r\n" + zda(0, 1, 2, 3))
    assert found.words == "the sentences' own clock (ZDA)"
    before_ms = 100 * 1000.0 / long  # the first time comes behind a hundred bytes
    assert found.start_unix_s == pytest.approx(NOON_S - before_ms / 1000.0, rel=0.0, abs=1e-5)
    assert found.splices == ()
    for k in range(4):
        for more in (0, long // 2):
            assert found.at(100 + k * long + more) == int(before_ms + 1000.0 * (k + more / long) + 1e-9)
    assert found.at(50) == int(before_ms / 2)


@pytest.mark.parametrize(("extra", "seconds", "evenly"), [(0, 7, True), (0, 8, False), (1, 9, True), (1, 10, False)])
def test_a_hole_is_longer_than_twice_the_time_of_its_bytes_and_five_seconds(
    zda: Callable[..., bytes], extra: int, seconds: int, evenly: bool
) -> None:
    long = len(zda(0))
    filler = (b"y" * (long - 2) + b"\r\n") * extra
    data = zda(*range(10)) + filler + zda(9 + seconds, 10 + seconds, 11 + seconds)
    at, span = track(data).at(9 * long + long // 2) - 9000, (1 + extra) * long
    assert at == pytest.approx(1000.0 * (seconds * (long // 2) / span if evenly else long // 2 / long), abs=1.0)
    assert track(data).at(9 * long + span) == 9000 + 1000 * seconds


def test_the_usual_rhythm_is_of_times_at_most_ten_seconds_apart(zda: Callable[..., bytes]) -> None:
    """Of others it is as fast as a line of 4800 baud."""
    long = len(zda(0))
    ten, eleven = track(zda(*range(0, 50, 10))), track(zda(*range(0, 55, 11)))
    assert ten.at(4 * long + 20) == int(40_000 + 20 * 10_000 / long)
    assert eleven.at(4 * long + 20) == int(44_000 + 20 * 1000 / 480)
    assert eleven.at(3 * long + 20) == int(33_000 + 20 * 1000 / 480)


def _rmc(signed: Sign, second: int, status: str = "A") -> bytes:
    return signed(f"GPRMC,1200{second:02d}.00,{status},4700.000,N,09000.000,W,1.0,90.0,180726,,,A") + b"\r\n"


def _gga(signed: Sign, second: int) -> bytes:
    return signed(f"GPGGA,1200{second:02d}.00,4700.000,N,09000.000,W,1,08,1.0,183.0,M,,M,,") + b"\r\n"


@pytest.mark.parametrize(
    ("dated", "undated", "words"),
    [
        (3, 0, "(RMC)"), (3, 10, "(RMC)"), (3, 11, "(GGA, without a date)"), (2, 10, "(GGA, without a date)"),
        (2, 2, "it has no clock"), (2, 3, "(GGA, without a date)"), (30, 30, "(RMC)"),
    ],
)  # fmt: skip
def test_the_dated_clock_counts_where_it_speaks_often_enough(
    signed: Sign, dated: int, undated: int, words: str
) -> None:
    """Three times at least, and three in ten of the sentence that speaks most."""
    data = b"".join(
        (_rmc(signed, k) if k < dated else b"") + (_gga(signed, k) if k < undated else b"") for k in range(30)
    )
    assert words in track(data).words


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ([(k, "V") for k in range(6)], "it has no clock"),  # without a fix
        ([(5, "A")] * 6, "it has no clock"),  # it stands
        ([(5, "A"), (5, "A"), (6, "A")], "(RMC)"),
    ],
)
def test_a_clock_has_a_fix_and_goes(signed: Sign, told: list[tuple[int, str]], words: str) -> None:
    assert words in track(b"".join(_rmc(signed, second, status) for second, status in told)).words


def test_a_clock_whose_checksums_are_all_wrong_has_no_date_to_believe(signed: Sign) -> None:
    good = b"".join(_rmc(signed, k) for k in range(5))
    wrong = good.replace(b",W,1.0", b",W,1.5")
    assert track(good).start_unix_s == NOON_S
    assert track(good).words == "the sentences' own clock (RMC)"
    assert track(wrong).start_unix_s is None
    assert track(wrong).words == "the sentences' own clock (RMC), though their checksums are wrong"
    assert track(wrong).at(len(wrong) // 5 * 4) == 4000


def test_a_time_of_day_goes_on_past_midnight(signed: Sign) -> None:
    bodies = [
        f"GPGGA,{t},4700.000,N,09000.000,W,1,08,1.0,183.0,M,,M,," for t in ("235958", "235959", "000000", "000001")
    ]
    data = b"".join(signed(body) + b"\r\n" for body in bodies)
    found, long = track(data), len(data) // 4
    assert [found.at(k * long) for k in range(4)] == [0, 1000, 2000, 3000]
    assert (found.start_unix_s, found.splices) == (None, ())


@pytest.mark.parametrize(
    ("body", "fixed"),
    [
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180726,,,A", True),
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180726,,", True),
        ("GPRMC,120000,V,4700.0,N,09000.0,W,1.0,90.0,180726,,,A", False),
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180726,,,N", False),
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180726,,,V", False),
        ("GPGLL,4700.0,N,09000.0,W,120000,A,A", True), ("GPGLL,4700.0,N,09000.0,W,120000,V,A", False),
        ("GPGLL,4700.0,N,09000.0,W,120000,A,N", False), ("GPGLL,4700.0,N,09000.0,W,120000,A,V", False),
        ("GPGGA,120000,4700.0,N,09000.0,W,1,08,1.0,183.0,M,,M,,", True),
        ("GPGGA,120000,4700.0,N,09000.0,W,0,08,1.0,183.0,M,,M,,", False),
        ("GPGGA,120000,4700.0,N,09000.0,W,,08,1.0,183.0,M,,M,,", False),
        ("GNGNS,120000,4700.0,N,09000.0,W,AN,08,1.0,183.0,,,", True),
        ("GNGNS,120000,4700.0,N,09000.0,W,NN,08,1.0,183.0,,,", False),
        ("GNGNS,120000,4700.0,N,09000.0,W,,08,1.0,183.0,,,", False),
        ("GPZDA,120000,18,07,2026,00,00", True),
    ],
)  # fmt: skip
def test_a_receiver_with_a_fix_has_a_clock(body: str, fixed: bool) -> None:
    sentence = parse(body)
    assert _has_fix(sentence.formatter, sentence) is fixed


@pytest.mark.parametrize(
    ("body", "day"),
    [
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180726,,,A", date(2026, 7, 18)),
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180799,,,A", date(1999, 7, 18)),
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,320726,,,A", None),
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,,,,A", None),
        ("GPZDA,120000,18,07,2026,00,00", date(2026, 7, 18)), ("GPZDA,120000,18,07,26,00,00", None),
        ("GPZDA,120000,,,2026,00,00", None), ("GPGGA,120000,4700.0,N,09000.0,W,1,08,1.0,183.0,M,,M,,", None),
    ],
)  # fmt: skip
def test_a_sentences_date(signed: Sign, body: str, day: date | None) -> None:
    sentence = parse(body)
    assert said_day(sentence.formatter, sentence) == day
    assert day_in(signed(body)) == day
    assert day_in(signed(body)[:-2] + b"zz") is None
    assert day_in(signed(body)[:-2] + b"%02X" % (int(signed(body)[-2:], 16) ^ 1)) is None


# -- without any clock ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kinds", "span_s"),
    [
        ({"SDDPT": 10, "IIVHW": 20, "IIMTW": 40}, 20.0), ({"SDDPT": 10, "IIVHW": 20}, 10.0),
        ({"SDDPT": 10, "GPGSV": 90, "GPGSA": 80}, 10.0), ({"SDDPT": 7}, 7.0),
    ],
)  # fmt: skip
def test_the_sentence_of_median_frequency_is_said_once_a_second(kinds: dict[str, int], span_s: float) -> None:
    data = b"".join(b"$%s,1.0\r\n" % kind.encode() * n for kind, n in kinds.items())
    found = track(data)
    assert found.slopes[0] * len(data) == pytest.approx(1000.0 * span_s)
    assert (found.start_unix_s, found.offsets, found.ms) == (None, (0,), (0.0,))


def test_of_nothing_that_is_used_480_bytes_are_a_second() -> None:
    assert track(b"$GPGSV,1.0\r\n" * 50).at(4800) == 10_000
    assert track(b"rubbish\r\n" * 600).at(960) == 2000


def test_a_line_is_never_later_than_the_next_time_nor_before_the_start() -> None:
    made = Track((0, 10), (0.0, 50.0), (10.0, 1.0), None, "")
    assert [made.at(offset) for offset in (0, 4, 5, 9, 10, 15)] == [0, 40, 50, 50, 50, 55]
    late = Track((10,), (-5.0,), (1.0,), None, "")
    assert [late.at(offset) for offset in (0, 12, 16)] == [0, 0, 1]


# -- pieces --------------------------------------------------------------------------------------------------------


def pieces(*times: float) -> tuple[list[float], dict[int, tuple[float, bool]]]:
    clean, steps = _clean(list(enumerate(times)))
    return [t for _, t, _ in clean], {at: (round(by, 6), again) for at, (by, again) in steps.items()}


WEEK = 7 * DAY_S


def run(first: float, count: int = 8) -> list[float]:
    """A clock that goes on second by second."""
    return [first + k for k in range(count)]


@pytest.mark.parametrize(
    ("times", "left_out", "steps"),
    [
        # A minute ahead is believed at once; more only where it goes on from there.
        ([*run(0), 67, *run(8)], (), {9: (-59.0, True)}), ([*run(0), 67.5, *run(8)], (8,), {}),
        ([*run(0), *run(167)], (), {}),
        # The same time again is no news, nor is one up to five seconds older.
        ([*run(0), 7, *run(8)], (8,), {}), ([*run(0), 2, 2, 2], (8, 9, 10), {}),
        ([*run(0), 1.5, 1.5, 1.5], (9, 10), {8: (-5.5, True)}),
        # A pause of a week is one; a longer one begins another piece.
        ([*run(0), *run(7 + WEEK)], (), {}), ([*run(0), *run(7.5 + WEEK)], (), {8: (WEEK + 0.5, False)}),
        # A minute that sticks is a minute and a second at most; then it catches up.
        ([*run(100), *run(46), *run(108)], tuple(range(8, 16)), {}),
        ([*run(100), *run(45.5), *run(108)], (), {8: (-61.5, False)}),
        # Whether a time was there before: five seconds before a piece began, and up to its last time.
        ([*run(1000, 80), *run(995, 3)], (), {80: (-84.0, True)}),
        ([*run(1000, 80), *run(994.5, 3)], (), {80: (-84.5, False)}),
        ([*run(0), *run(1e7), *run(7)], (), {8: (1e7 - 7, False), 16: (-1e7, True)}),
        ([*run(0), *run(1e7), *run(7.5)], (), {8: (1e7 - 7, False), 16: (-1e7 + 0.5, False)}),
        ([*run(0), *run(1e7, 80), *run(1e7 - 5)], (), {8: (1e7 - 7, False), 88: (-84.0, True)}),
        ([*run(0), *run(1e7, 80), *run(1e7 - 5.5)], (), {8: (1e7 - 7, False), 88: (-84.5, False)}),
    ],
)  # fmt: skip
def test_a_clock_in_pieces(
    times: list[float], left_out: tuple[int, ...], steps: dict[int, tuple[float, bool]]
) -> None:
    assert pieces(*times) == ([t for k, t in enumerate(times) if k not in left_out], steps)


def test_a_new_piece_is_a_minute_and_a_half_after_the_old() -> None:
    clean, _ = _clean(list(enumerate([*run(1000), *run(100, 3), 105.0])))
    assert [moved for _, _, moved in clean] == [0.0, *[1.0] * 7, 90.0, 1.0, 1.0, 3.0]


def test_a_clock_begins_with_the_first_time_that_goes_on() -> None:
    assert pieces(500, *run(0)) == (run(0), {})
    assert pieces(500, 900) == ([900], {})


@pytest.mark.parametrize(
    ("times", "at"),
    [
        ([100, 50, 39, 101, 102], 3), ([100, 50, 38.5, 101, 102], None), ([100, 50, 100, 101, 102], 3),
        ([100, 50, 100 + WEEK, 101 + WEEK], 2), ([100, 50, 100.5 + WEEK, 101 + WEEK], None),
        ([100, 50, 51], None), ([100, 50, 101, 0, 0, 0], None),
        ([100, *[50.0] * 3999, 101, 102], 4000), ([100, *[50.0] * 4000, 101, 102], None),
    ],
)  # fmt: skip
def test_where_a_clock_that_fell_behind_catches_up(times: list[float], at: int | None) -> None:
    assert _catches_up(list(enumerate(map(float, times))), 1, 100.0) == at


@pytest.mark.parametrize(
    ("following", "goes_on"),
    [
        ([5.0], True), ([65.0], True), ([65.5], False), ([4.5], False), ([6.0, 7.0, 8.0, 0.0, 0.0], True),
        ([0.0, 0.0, 0.0, 6.0, 7.0, 8.0, 9.0, 10.0], False), ([6.0, 0.0], True), ([6.0, 0.0, 0.0], False), ([], True),
    ],
)  # fmt: skip
def test_a_time_counts_where_half_of_the_next_five_are_of_the_minute_after_it(
    following: list[float], goes_on: bool
) -> None:
    assert _goes_on([(0, 5.0), *((k, t) for k, t in enumerate(following, 1))], 0) is goes_on


def test_between_two_times_lines_come_by_the_bytes_between_them_and_after_the_last_as_usual() -> None:
    made = _track([(0, 0.0, 0.0), (100, 1.0, 1.0), (1000, 2.0, 1.0)], {}, "by hand", dated=False)
    assert (made.offsets, made.ms) == ((0, 100, 1000), (0.0, 1000.0, 2000.0))
    assert made.slopes == pytest.approx((1000.0 / 100.0, 1000.0 / 900.0, 1000.0 / 500.0))
