"""Where exactly a sentence's number, its checksum, its clock and a source's account turn one way or the other."""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce
from operator import xor
from typing import Any

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity, Speech, Tongue
from sternwatch.feed.sentences import fields
from sternwatch.feed.sentences.accounts import Account, Cause, ChecksumRule
from sternwatch.feed.sentences.framing import checksum
from sternwatch.feed.sentences.hearing import Common, Hearing
from sternwatch.feed.sentences.stream import Stream
from sternwatch.feed.sentences.unusable_bytes import InVain

Q = Quantity
FOOT_M = 0.3048


@pytest.mark.parametrize(
    ("body", "low", "high", "below", "above"),
    [
        ("GPRMC,120000,A,4700.0,N,09000.0,W,{},90.0,180726,,,A", "0", "120", "-0.1", "120.1"),
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,{},180726,,,A", "0", "360", "-0.1", "360.1"),
        ("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180726,{},W,A", "0", "180", "-0.1", "180.1"),
        ("GPVTG,{},T,,M,1.0,N,,K,A", "0", "360", "-0.1", "360.1"),
        ("GPVTG,,T,,M,{},N,,K,A", "0", "120", "-0.1", "120.1"),
        ("GPVTG,,T,,M,,N,{},K,A", "0", "222", "-0.1", "222.1"), ("IIVHW,,T,,M,{},N,,K", "0", "120", "-0.1", "120.1"),
        ("IIVHW,,T,,M,,N,{},K", "0", "222", "-0.1", "222.1"), ("IIVHW,{},T,,M,1.0,N,,K", "0", "360", "-0.1", "360.1"),
        ("IIVHW,,T,{},M,1.0,N,,K", "0", "360", "-0.1", "360.1"), ("IIHDG,{},,,,", "0", "360", "-0.1", "360.1"),
        ("IIHDG,10.0,{},E,,", "0", "180", "-0.1", "180.1"), ("IIHDG,10.0,,,{},W", "0", "180", "-0.1", "180.1"),
        ("IIHDT,{},T", "0", "360", "-0.1", "360.1"), ("IIHDM,{},M", "0", "360", "-0.1", "360.1"),
        ("IIMTW,{},C", "-5", "50", "-5.1", "50.1"), ("SDDPT,{},0.5", "0", "11000", "-0.1", "11000.1"),
        ("SDDPT,5.0,{}", "-100", "100", "-100.1", "100.1"), ("SDDBT,,f,{},M,,F", "0", "11000", "-0.1", "11000.1"),
        ("SDDBT,{},f,,M,,F", "0", "36089.2", "-0.1", "36089.3"),
        ("SDDBS,,f,,M,{},F", "0", "6014.8", "-0.1", "6014.9"),
        ("SDDBK,{},f,,M,,F", "0", "36089.2", "-0.1", "36089.3"), ("TIROT,{},A", "-720", "720", "-720.1", "720.1"),
        ("IIXDR,C,{},F,PROBE", "23", "122", "22.9", "122.1"), ("IIXDR,C,{},C,PROBE", "-5", "50", "-5.1", "50.1"),
        ("IIXDR,D,{},M,PROBE", "0", "11000", "-0.1", "11000.1"), ("IIXDR,,{},N,PROBE", "0", "120", "-0.1", "120.1"),
        ("IIXDR,,{},K,PROBE", "0", "222", "-0.1", "222.1"),
    ],
)  # fmt: skip
def test_a_field_ends_where_the_boats_world_does(
    new_talk: Any, body: str, low: str, high: str, below: str, above: str
) -> None:
    for text, bad in ((low, 0), (high, 0), (below, 1), (above, 1)):
        talk = new_talk()
        talk.say(body.format(text))
        assert talk.report.bad_fields == bad, text


@pytest.mark.parametrize(
    ("body", "quantity", "value"),
    [
        ("GPVTG,,T,,M,10.0,N,,K,A", Q.SOG, 10.0 * 1852.0 / 3600.0), ("GPVTG,,T,,M,,N,36.0,K,A", Q.SOG, 10.0),
        ("IIVHW,,T,,M,,N,3.6,K", Q.STW, 1.0), ("SDDBT,10.0,f,,M,,F", Q.BOTTOM, 3.048),
        ("SDDBT,99.0,f,10.0,M,88.0,F", Q.BOTTOM, 10.0), ("SDDBS,,f,,M,10.0,F", Q.BOTTOM, 18.288),
        ("SDDPT,10.0,0.5", Q.BOTTOM, 10.5), ("SDDPT,10.0,0.0", Q.BOTTOM, 10.0), ("SDDPT,10.0,-0.5", Q.BOTTOM, 10.0),
        ("SDDPT,0.0,0.5", Q.BOTTOM, None), ("TIROT,-30.0,A", Q.RATE_OF_TURN, -0.5),
        ("TIROT,-30.0,V", Q.RATE_OF_TURN, None),
        ("IIXDR,C,50.0,F,PROBE", Q.PROBE_TEMPERATURE, 10.0), ("IIXDR,D,18.0,M,PROBE", Q.PROBE_DEPTH, 18.0),
        ("IIXDR,,10.0,N,PROBE1", Q.PROBE_SPEED, 10.0 * 1852.0 / 3600.0), ("IIXDR,,3.6,K,probe", Q.PROBE_SPEED, 1.0),
        ("IIXDR,A,1.0,D,HEEL,D,7.0,M,PROBE", Q.PROBE_DEPTH, 7.0),
        ("IIHDG,350.0,15.0,E,5.0,W", Q.HEADING, 0.0), ("IIHDG,350.0,15.0,E,,", Q.HEADING, 5.0),
        ("IIHDT,360.0,T", Q.HEADING, 0.0), ("IIHDT,12.0,", Q.HEADING, 12.0), ("IIHDT,12.0,M", Q.HEADING, None),
        ("IIHDM,12.0,M", Q.HEADING, 12.0), ("IIHDM,12.0,T", Q.HEADING, None),
        ("IIVHW,10.0,T,20.0,M,1.0,N,,K", Q.HEADING, 10.0), ("IIVHW,10.0,X,20.0,M,1.0,N,,K", Q.HEADING, None),
        ("IIVHW,,T,20.0,M,1.0,N,,K", Q.HEADING, 20.0),
        ("GPZDA,120000,18,07,2026,00,00", Q.CLOCK, 1784376000.0), ("GPZDA,,18,07,2026,00,00", Q.CLOCK, None),
    ],
)  # fmt: skip
def test_a_number_in_si(talk: Any, body: str, quantity: Quantity, value: float | None) -> None:
    (found,) = [r.value for r in talk.say(body) if r.quantity is quantity]
    assert found == (None if value is None else pytest.approx(value))


@pytest.mark.parametrize(
    "body",
    ["GPZDA,120000,018,07,2026,00,00", "GPZDA,120000,18,07,26,00,00", "GPZDA,120000,18,07,02026,00,00",
     "GPZDA,120000,1x,07,2026,00,00", "GPZDA,120000,18,0x,2026,00,00", "GPZDA,120000,18,07,202x,00,00",
     "GPZDA,120000,32,07,2026,00,00"],
)  # fmt: skip
def test_a_day_of_another_form_is_no_date(talk: Any, body: str) -> None:
    assert talk.say(body) == []
    assert talk.report.bad_fields == 1


def test_one_digit_of_day_and_month_is_a_date(talk: Any) -> None:
    assert [r.value for r in talk.say("GPZDA,120000,1,7,2026,00,00")] == [1782907200.0]


def test_a_variation_counts_with_its_letter(new_talk: Any) -> None:
    for variation, letter, heard, bad in (("5.0", "W", -5.0, 0), ("5.0", "E", 5.0, 0), ("5.0", "", None, 0),
                                          ("", "W", None, 0), ("5.0", "X", None, 1)):  # fmt: skip
        talk = new_talk()
        talk.say(f"GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180726,{variation},{letter},A")
        assert talk.decoder.common.heard_variation_deg == heard
        assert talk.report.bad_fields == bad


@pytest.mark.parametrize(
    ("body", "fixed"),
    [
        *((f"GPGGA,120000,4700.0,N,09000.0,W,{quality},08,1.0,183.0,M,,M,,", quality in "12345678")
          for quality in "0123456789"),
        *((f"GPGLL,4700.0,N,09000.0,W,120000,A,{mode}", mode in "ADEFMPRS") for mode in "ADEFMPRSNV"),
        ("GPGLL,4700.0,N,09000.0,W,120000,V,A", False), ("GPGLL,4700.0,N,09000.0,W", True),
        ("GNGNS,120000,4700.0,N,09000.0,W,NA,08,1.0,183.0,,,", True),
        ("GNGNS,120000,4700.0,N,09000.0,W,NN,08,1.0,183.0,,,", False),
        *((f"GPRMC,120000,{s},4700.0,N,09000.0,W,1.0,90.0,180726,,,{m}", s == "A" and m != "N")
          for s in "AV" for m in "AN"),
    ],
)  # fmt: skip
def test_with_a_fix_there_is_a_position(talk: Any, only: Any, body: str, fixed: bool) -> None:
    found = only(talk.say(body), Q.POSITION).value
    assert found == ((47.0, -90.0) if fixed else None)
    # What says nothing of its fix has that of its speaker.
    (speed,) = [r.value for r in talk.say(f"{body[:2]}VTG,90.0,T,,M,1.0,N,,K") if r.quantity is Q.SOG]
    assert (speed is not None) is fixed


# -- fields --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("000000", 0.0), ("235959", 86399.0), ("010203.5", 3723.5), ("010203.123456", 3723.123456), ("", None)],
)
def test_a_time_of_day(text: str, seconds: float | None) -> None:
    assert fields.seconds_of_day(text) == seconds


@pytest.mark.parametrize("text", ["240000", "236000", "235960", "12345", "1234567", "12000a"])
def test_no_time_of_day(text: str) -> None:
    with pytest.raises(fields.BadFieldError):
        fields.seconds_of_day(text)


@pytest.mark.parametrize(
    ("given", "place"),
    [
        (("4730.0", "N", "08930.0", "W"), (47.5, -89.5)), (("4730.0", "S", "08930.0", "E"), (-47.5, 89.5)),
        (("9000.0", "N", "18000.0", "E"), (90.0, 180.0)), (("0000.0", "N", "00100.0", "E"), (0.0, 1.0)),
        (("0100.0", "N", "00000.0", "E"), (1.0, 0.0)),
        (("4759.99", "N", "08959.99", "E"), (47.99983333, 89.99983333)),
        (("", "", "", ""), None),
    ],
)  # fmt: skip
def test_a_position_in_degrees(given: tuple[str, ...], place: tuple[float, float] | None) -> None:
    assert fields.position(*given) == (None if place is None else pytest.approx(place))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "given",
    [("4760.0", "N", "08930.0", "W"), ("4730.0", "N", "08960.0", "W"), ("9000.1", "N", "08930.0", "W"),
     ("4730.0", "N", "18000.1", "W"), ("0000.0", "N", "00000.0", "W"), ("4730.0", "", "08930.0", "W"),
     ("4730.0", "N", "08930.0", ""), ("4730.0", "N", "", "W"), ("", "N", "08930.0", "W")],
)  # fmt: skip
def test_no_position(given: tuple[str, ...]) -> None:
    with pytest.raises(fields.BadFieldError):
        fields.position(*given)  # type: ignore[arg-type]


# -- clocks --------------------------------------------------------------------------------------------------------


def _clocks(at: Callable[[float], list[Any]], times: list[float]) -> list[bool]:
    return [any(r.quantity is Q.CLOCK and r.value is not None for r in at(t)) for t in times]


@pytest.fixture
def bare(signed: Callable[[str], bytes]) -> Callable[[Decoder, float], list[Any]]:
    """A time without a date, at a moment of feed time."""

    def say(decoder: Decoder, t_s: float) -> list[Any]:
        body = f"GPGGA,12{int(t_s) // 60:02d}{int(t_s) % 60:02d},4700.0,N,09000.0,W,1,08,1.0,183.0,M,,M,,"
        return decoder.decode(Line(t_s, None, "gps", signed(body)))

    return say


def _dated(decoder: Decoder, signed: Callable[[str], bytes], t_s: float) -> None:
    decoder.decode(Line(t_s, None, "gps", signed("GPZDA,120000,18,07,2026,00,00")))


def test_a_time_without_a_date_waits_ten_seconds_for_one_with_it(signed: Any, bare: Any) -> None:
    decoder = Decoder()
    assert _clocks(lambda t: bare(decoder, t), [0.0, 5.0]) == [False, False], "no date was ever heard"
    _dated(decoder, signed, 6.0)
    assert _clocks(lambda t: bare(decoder, t), [7.0, 15.5, 16.0, 17.0]) == [False, False, True, True]


@pytest.mark.parametrize(("silent_to_s", "at_once"), [(60.0, True), (60.5, False)])
def test_after_a_silence_of_a_minute_it_waits_again(
    signed: Any, bare: Any, silent_to_s: float, at_once: bool
) -> None:
    decoder = Decoder()
    _dated(decoder, signed, 0.0)
    times = [silent_to_s, silent_to_s + 9.5, silent_to_s + 10.0]
    assert _clocks(lambda t: bare(decoder, t), times) == [at_once, at_once, True]


def test_a_time_without_a_date_is_of_the_day_nearest_to_the_last(signed: Any) -> None:
    decoder = Decoder()
    decoder.decode(Line(0.0, None, "gps", signed("GPZDA,235950,18,07,2026,00,00")))
    body = "GPGGA,000010,4700.0,N,09000.0,W,1,08,1.0,183.0,M,,M,,"
    found = decoder.decode(Line(20.0, None, "gps", signed(body)))
    assert [r.value for r in found if r.quantity is Q.CLOCK] == [1784419210.0]
    hosted = Decoder().decode(Line(20.0, 1784419190_000, "gps", signed(body)))
    assert [r.value for r in hosted if r.quantity is Q.CLOCK] == [1784419210.0]


# -- the account ---------------------------------------------------------------------------------------------------


def _wrong_and_right(wrong: int, right: int, **how: Any) -> Account:
    account = Account("gps", **how)
    for k in range(wrong + right):
        if k % (wrong + right) < wrong:
            account.reject(Cause.BAD_CHECKSUM, b"x" * 130)
        else:
            account.right_checksum()
    return account


def test_wrong_checksums_are_complained_of_from_twenty_lines_and_more_than_half() -> None:
    assert "65 %" in _wrong_and_right(13, 7).report().complaint
    assert _wrong_and_right(12, 7).report().complaint == ""
    assert _wrong_and_right(10, 10).report().complaint == ""
    assert (
        _wrong_and_right(11, 10).report().complaint
        == "gps: 52 % of its sentences have a wrong checksum and are refused"
    )
    kept = _wrong_and_right(20, 0, unchecked=True).report()
    assert kept.complaint.endswith("are used all the same, by choice")
    assert (kept.checksums, kept.checksum_failures) == (ChecksumRule.OFF, 1.0)
    assert _wrong_and_right(1, 0).report().checksums is ChecksumRule.NONE_SENT
    assert _wrong_and_right(0, 1).report().checksums is ChecksumRule.REQUIRED
    assert Account("gps").report().checksum_failures is None
    assert kept.last_rejected[Cause.BAD_CHECKSUM] == b"x" * 120
    assert kept.rejected == {Cause.BAD_CHECKSUM: 20}


def test_the_share_of_wrong_checksums_is_of_the_last_few_hundred() -> None:
    account = _wrong_and_right(399, 0)
    assert (account._right, account._wrong) == (0.0, 399.0)
    account.reject(Cause.BAD_CHECKSUM, b"")
    assert (account._right, account._wrong) == (0.0, 200.0)
    for _ in range(200):
        account.right_checksum()
    assert (account._right, account._wrong) == (100.0, 100.0)


def test_twenty_lines_of_nothing_are_complained_of() -> None:
    account = Account("gps")
    account.lines = 19
    assert account.report().complaint == ""
    account.lines = 20
    assert account.report().complaint == "gps: nothing that arrives is a sentence (wrong baud rate?)"
    account.unhandled("GSV")
    assert account.report().complaint == ""


def test_a_hundred_kinds_of_sentences_are_counted_by_name() -> None:
    account = Account("gps")
    for k in range(102):
        account.unhandled(f"X{k}")
    account.unhandled("X5")
    assert (len(account.unused), account.unused["X99"], account.unused["other"], account.unused["X5"]) == (
        101,
        1,
        2,
        2,
    )


def test_of_256_speakers_the_next_forgets_all() -> None:
    hearing = Hearing(Common(), "gps", False, Account("gps"))
    for k in range(256):
        hearing.fix(f"{k}", False)
    assert hearing.is_void("0")
    hearing.fix("next", False)
    assert not hearing.is_void("0")
    assert hearing.is_void("next")
    for k in range(257):
        hearing._speaking(f"{k}", "MTW", "")
        hearing.emit(Q.WATER_TEMPERATURE, 12.0)
        assert len(hearing._gates) == (k + 1 if k < 256 else 1)
    stream = Stream(Common(), "gps", False, False)
    for k in range(257):
        stream._doubt_neighbours((f"{k}", "MTW"), 0, bad=True)
        assert len(stream._bad_running) == (k + 1 if k < 256 else 1)


def test_a_source_in_another_tongue_is_told_what_to_say(signed: Any) -> None:
    frame = b"09F50323 00 7B 00 FF FF 00 FF FF"
    decoder = Decoder()
    for k in range(25):
        decoder.decode(Line(float(k), None, "bus", frame))
    assert (
        decoder.reports()[0].complaint
        == "bus: NMEA 2000 frames arrive here, not sentences: write n2k: before the source"
    )
    rubbish = Decoder()
    for k in range(25):
        rubbish.decode(Line(float(k), None, "bus", b"rubbish"))
    assert "n2k" not in rubbish.reports()[0].complaint
    said = Decoder(speech={"bus": Speech(Tongue.N2K)})
    for k in range(25):
        said.decode(Line(float(k), None, "bus", signed("IIMTW,12.0,C")))
    assert "nothing that arrives is an NMEA 2000 frame" in said.reports()[0].complaint


def test_a_tag_block_of_the_source_is_stepped_over(talk: Any, signed: Any) -> None:
    line = signed("IIMTW,12.0,C")
    for block in (b"\\\\", b"\\s:x*00\\", b"\\g:1-2-3*00\\"):
        assert [r.value for r in talk.raw(block + line)] == [12.0]
    frames = Decoder(speech={"n": Speech(Tongue.N2K)})
    for k in range(2):
        found = frames.decode(Line(float(k), None, "n", b"\\\\09F50323 00 7B 00 FF FF 00 FF FF"))
    assert [r.value for r in found] == [1.23]
    assert frames.reports()[0].accepted == {"PGN 128259": 2}


@pytest.mark.parametrize(
    ("line", "cause"),
    [
        (b"$A,B,C", Cause.NO_SENTENCE), (b"$GPXXX,1*", None), (b"IIMTW,12.0,C", Cause.NO_SENTENCE),
        (b"$IIMTW,12.0,C*", None), (b"$IIMTW,12.0\x7fC", Cause.NOT_TEXT), (b"$IIMTW,12.0~C", None),
        (b"$AB*00", Cause.NO_SENTENCE), (b"$ABC*00", Cause.BAD_CHECKSUM),
        (b"$IIMTW,12.0\x1fC", Cause.NOT_TEXT), (b"$IIMTW,12.0,C*000", Cause.BAD_CHECKSUM),
    ],
)  # fmt: skip
def test_why_a_line_is_not_used(talk: Any, line: bytes, cause: Cause | None) -> None:
    talk.raw(line)
    assert dict(talk.report.rejected) == ({} if cause is None else {cause: 1})


def test_a_field_is_a_habit_from_the_third_sentence_on(talk: Any) -> None:
    given = [[r.value for r in talk.say("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,x,180726,,,A") if r.quantity is Q.SOG]
             for _ in range(4)]  # fmt: skip
    assert [bool(one) for one in given] == [False, False, True, True]
    talk.say("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,90.0,180726,,,A")
    assert [r for r in talk.say("GPRMC,120000,A,4700.0,N,09000.0,W,1.0,x,180726,,,A") if r.quantity is Q.SOG] == []


# -- bytes in vain -------------------------------------------------------------------------------------------------


def vain(seconds: int, size: int = 40, *, right: int = 0, joined: int = 0, halves: int = 0, wrong: int = 0,
         odd: int = 0) -> str:  # fmt: skip
    """What is said after so many seconds of a line of ``size`` bytes, and so many pieces in the last of them."""
    made = InVain()
    for k in range(seconds):
        made.hear(float(k), b"\x80" * odd + b"x" * (size - 2 - odd))
    for _ in range(right):
        made.right()
    for _ in range(joined):
        made.cut_off(by_another=True)
    for _ in range(halves):
        made.cut_off(by_another=False)
    for _ in range(wrong):
        made.wrong(b"$IIMTW,12.0,C*00")
    return made.words()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"seconds": 4, "wrong": 10}, "wrong checksums"), ({"seconds": 3, "wrong": 10}, ""),
        ({"seconds": 4, "size": 30, "wrong": 10}, "wrong checksums"), ({"seconds": 4, "size": 29, "wrong": 10}, ""),
        ({"seconds": 4, "wrong": 10, "right": 1}, "hardly a sentence"), ({"seconds": 4, "wrong": 9, "right": 1}, ""),
        ({"seconds": 4, "wrong": 10}, "no sentence among them"), ({"seconds": 4, "wrong": 19, "right": 2}, ""),
        ({"seconds": 8, "size": 20, "odd": 3, "wrong": 1}, "wrong checksums"),
        ({"seconds": 8, "size": 20, "odd": 4, "wrong": 1}, "20 % are not text. Wrong baud rate?"),
        ({"seconds": 4, "joined": 1, "wrong": 9}, "wrong checksums"),
        ({"seconds": 4, "joined": 2, "wrong": 9}, "Two talkers"),
        ({"seconds": 4, "halves": 3, "wrong": 7}, "wrong checksums"),
        ({"seconds": 4, "halves": 4, "wrong": 7}, "halves of"),
        (
            {"seconds": 4, "halves": 8},
            "40 bytes a second arrive, and no sentence among them can be used: 2.0 halves of",
        ),
        ({"seconds": 4, "joined": 8}, ": 2.0 a second run into another."),
        ({"seconds": 4, "wrong": 8}, ": 2.0 wrong checks"),
    ],
)  # fmt: skip
def test_what_is_wrong_where_bytes_come_in_vain(given: dict[str, int], said: str) -> None:
    words = vain(**given)  # type: ignore[arg-type]
    assert said in words
    assert bool(words) is bool(said)


def test_two_checksums_or_forty_one_commas_are_two_sentences_in_one() -> None:
    for piece, joined in ((b"*00", False), (b"*0*0", True), (b"," * 40, False), (b"," * 41, True)):
        made = InVain()
        made.hear(0.0, b"")
        made.wrong(piece)
        assert (made._seconds[-1].joined, made._seconds[-1].wrong) == ((1, 0) if joined else (0, 1))


def test_eight_seconds_are_looked_back_on() -> None:
    made = InVain()
    for k in range(20):
        made.hear(float(k), b"x")
    assert [s.at_s for s in made._seconds] == list(range(12, 20))
    assert {s.size for s in made._seconds} == {3}
    assert InVain().words() == ""


@pytest.mark.parametrize("count", [0, 1, 70, 255, 256, 257, 471, 512, 513, 4096])
def test_a_checksum_is_of_all_bytes_however_long_the_sentence(count: int) -> None:
    """A gateway wraps a message of 223 bytes into a sentence of 471."""
    body = bytes((7 * k * k + 13) % 251 for k in range(count))
    assert checksum(body) == reduce(xor, body, 0)
