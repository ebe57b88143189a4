"""What each sentence gives, in SI, worked by hand from the fields (IEC 61162-1 gives the fields' meaning)."""

import copy
from datetime import UTC, datetime

import pytest

from recordings import file_of
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity
from sternwatch.feed.sentences.accounts import Cause, ChecksumRule
from sternwatch.feed.sentences.framing import checksum
from sternwatch.feed.sentences.layouts import UnreadableError, parse

KNOT = 0.514444444  # 1852 m in 3600 s


def test_rmc(talk, only):
    readings = talk.say("IIRMC,132647,A,4612.888,N,00610.030,E,04.7,310,050814,,,A")
    assert only(readings, Quantity.SOG).value == pytest.approx(4.7 * KNOT, rel=1e-8)
    assert only(readings, Quantity.COG).value == 310
    assert only(readings, Quantity.POSITION).value == pytest.approx((46.2148, 6.1671667), abs=1e-6)
    moment = datetime(2014, 8, 5, 13, 26, 47, tzinfo=UTC).timestamp()
    assert only(readings, Quantity.CLOCK).value == moment
    assert {(r.source, r.talker, r.sentence) for r in readings} == {("gps", "II", "RMC")}


@pytest.mark.parametrize("status_and_mode", ["A,A", "A,D", "A,A,V", "A,"])
def test_rmc_with_a_fix_whatever_the_navigation_status(talk, only, status_and_mode):
    status, *rest = status_and_mode.split(",")
    readings = talk.say(f"GPRMC,132647,{status},4612.888,N,00610.030,E,04.7,310,050814,,,{','.join(rest)}")
    assert only(readings, Quantity.SOG).value is not None


@pytest.mark.parametrize(
    "sentence",
    ["132647,V,4612.888,N,00610.030,E,04.7,310,050814,,,A", "132647,A,4612.888,N,00610.030,E,04.7,310,050814,,,N"],
)
def test_void_rmc_says_none_of_everything_and_gives_no_time(talk, only, sentence):
    readings = talk.say(f"GPRMC,{sentence}")
    for quantity in (Quantity.SOG, Quantity.COG, Quantity.POSITION, Quantity.CLOCK):
        assert only(readings, quantity).value is None


def test_vtg(talk, only):
    readings = talk.say("GPVTG,220.2,T,245.1,M,009.7,N,018.0,K,A")
    assert only(readings, Quantity.SOG).value == pytest.approx(9.7 * KNOT, rel=1e-8)
    assert only(readings, Quantity.COG).value == 220.2
    assert only(talk.say("GPVTG,,T,,M,,N,018.0,K,A"), Quantity.SOG).value == pytest.approx(5.0)
    assert only(talk.say("GPVTG,,,,,,,,,N"), Quantity.SOG).value is None


def test_gga_gll_gns_positions(talk, only):
    for body in (
        "GPGGA,235959.226,2200.1091,S,01756.3580,W,1,06,1.3,033.6,M,-002.6,M,,",
        "GPGLL,2200.1091,S,01756.3580,W,235959.226,A",
        "GPGLL,2200.1091,S,01756.3580,W",  # before version 2.0 of the standard
        "GNGNS,235959.00,2200.1091,S,01756.3580,W,AN,06,1.3,33.6,-2.6,,",
    ):
        value = only(talk.say(body), Quantity.POSITION).value
        assert value == pytest.approx((-22.001818, -17.939300), abs=1e-6)
    for body in (
        "GPGGA,,,,,,0,00,99.99,,,,,,",
        "GPGLL,2200.1091,S,01756.3580,W,235959.226,V",
        "GPGLL,2200.1091,S,01756.3580,W,235959.226,A,N",
        "GNGNS,235959.00,2200.1091,S,01756.3580,W,NN,06,1.3,33.6,-2.6,,",
    ):
        assert only(talk.say(body), Quantity.POSITION).value is None


def test_headings(talk, only, new_talk):
    heading = only(talk.say("IIHDG,063,,,,"), Quantity.HEADING)
    assert (heading.value, heading.reference) == (63, "magnetic")
    heading = only(talk.say("IIHDG,063,,,01,E"), Quantity.HEADING)
    assert (heading.value, heading.reference) == (64, "true")
    heading = only(talk.say("IIHDG,359,2.0,W,4,E"), Quantity.HEADING)
    assert heading.value == pytest.approx(1.0)
    assert only(talk.say("HCHDT,181.5,T"), Quantity.HEADING).value == 181.5
    heading = only(talk.say("SDVHW,81.0,T,80.0,M,4.4,N,8.3,K"), Quantity.HEADING)
    assert (heading.value, heading.reference) == (81, "true")
    # RMC's variation makes later magnetic headings true, whoever gives them.
    talk.say("GPRMC,132647,A,4612.888,N,00610.030,E,04.7,310,050814,24.9,W,A")
    heading = only(talk.say("APHDM,218.0,M"), Quantity.HEADING)
    assert heading.value == pytest.approx(193.1)
    assert heading.reference == "true"
    told = new_talk(Decoder(variation_deg=-3.0))
    assert only(told.say("IIHDG,001,,,,"), Quantity.HEADING).value == 358


def test_water_speed_and_temperature(talk, only):
    readings = talk.say("IIVHW,,,054,M,04.2,N,,")
    assert only(readings, Quantity.STW).value == pytest.approx(4.2 * KNOT, rel=1e-8)
    assert only(talk.say("IIVHW,,,063,M,,,,"), Quantity.STW).value is None
    assert only(talk.say("IIVHW,,,063,M,,,7.2,K"), Quantity.STW).value == pytest.approx(2.0)
    assert only(talk.say("IIMTW,+14.5,C"), Quantity.WATER_TEMPERATURE).value == 14.5


def test_depths_say_what_they_are_below(talk, only):
    def bottom(body):
        reading = only(talk.say(body), Quantity.BOTTOM)
        return reading.value, reading.reference

    assert bottom("IIDPT,007.0,+0.7,") == (pytest.approx(7.7), "surface")
    assert bottom("IIDPT,012.9,-1.0,") == (12.9, "transducer")
    assert bottom("IIDPT,7.5") == (7.5, "transducer")
    assert bottom("SDDBT,7.7,f,2.3,M,1.3,F") == (2.3, "transducer")
    assert bottom("SDDBT,10.0,f,,M,,F") == (pytest.approx(3.048), "transducer")
    assert bottom("SDDBT,,f,,M,1.0,F") == (pytest.approx(1.8288), "transducer")
    assert bottom("SDDBS,,,2.9,M,,") == (2.9, "surface")
    assert bottom("SDDBK,,,1.9,M,,") == (1.9, "keel")
    assert parse("SDDBK,,,1.9,M,,").talker == "SD"
    assert bottom("SDDBK,,f,,M,1.0,F") == (pytest.approx(1.8288), "keel")


@pytest.mark.parametrize(
    "body", ["pGMTW,12.4,C", "PGMTW,12.4,C", " IMTW,12.4,C", "I-MTW,12.4,C", "IIMTW12.4,C", "IIXYZ,1"]
)
def test_what_is_no_talkers_sentence_is_not_read(body: str) -> None:
    with pytest.raises(UnreadableError):
        parse(body)
    assert parse("iiMTW,12.4,C").talker == "II"


@pytest.mark.parametrize(
    "body", ["IIDPT,0", "IIDPT,000.0,-1.0,", "IIDPT,,,", "IIDPT,-2.0,0.5,", "IIDPT,---,0.5,", "SDDBT,,f,,M,,F"]
)
def test_a_sounder_without_a_bottom_has_none(talk, only, body):
    assert only(talk.say(body), Quantity.BOTTOM).value is None


def test_rate_of_turn(talk, only):
    assert only(talk.say("APROT,-90.0,A"), Quantity.RATE_OF_TURN).value == -1.5
    assert only(talk.say("APROT,-90.0,V"), Quantity.RATE_OF_TURN).value is None


def test_probe_by_transducer_name_or_by_source(new_talk, only):
    talk = new_talk()
    readings = talk.say("YXXDR,C,7.4,C,PROBE_T,D,18.3,M,PROBE_D,N,2.1,N,PROBE_S")
    assert only(readings, Quantity.PROBE_TEMPERATURE).value == 7.4
    assert only(readings, Quantity.PROBE_DEPTH).value == 18.3
    assert only(readings, Quantity.PROBE_SPEED).value == pytest.approx(2.1 * KNOT, rel=1e-8)
    assert talk.say("IIXDR,C,C,,C,AIRTEMP,A,13.4,D,HEEL") == []
    probe = new_talk(Decoder(probes=["deep"]), source="deep")
    assert only(probe.say("IIMTW,6.5,C"), Quantity.PROBE_TEMPERATURE).value == 6.5
    assert only(probe.say("IIVHW,,,,,2.0,N,,"), Quantity.PROBE_SPEED).value == pytest.approx(2 * KNOT, rel=1e-8)
    named = new_talk(Decoder(transducers={"TEMP7": Quantity.PROBE_TEMPERATURE}))
    assert only(named.say("YXXDR,C,45.5,F,TEMP7"), Quantity.PROBE_TEMPERATURE).value == pytest.approx(7.5)


def test_a_checksum_once_sent_is_required(new_talk):
    talk = new_talk()
    assert talk.raw(b"$IIMTW,+14.5,C")[0].value == 14.5
    assert talk.report.checksums is ChecksumRule.NONE_SENT
    talk.say("IIMTW,+14.5,C")
    assert talk.report.checksums is ChecksumRule.REQUIRED
    assert talk.raw(b"$IIMTW,+14.5,C") == []
    assert talk.report.rejected == {Cause.NO_CHECKSUM: 1}
    # Another source is judged by itself.
    other = new_talk(talk.decoder, source="sounder")
    assert len(other.raw(b"$IIMTW,+14.5,C")) == 1


def test_one_digit_and_lower_case_count(talk):
    # Lines of two real recordings, one with its checksum's letter made small, one with its leading zero left out.
    assert len(talk.raw(b"$IIMTW,+21.0,C*3b")) == 1
    assert len(talk.raw(b"$SDDBT,7.7,f,2.3,M,1.3,F*5")) == 1
    assert talk.raw(b"$IIMTW,+21.0,C*3C") == []
    assert talk.raw(b"$IIMTW,+21.0,C*3B7") == []
    assert talk.report.rejected == {Cause.BAD_CHECKSUM: 2}
    assert talk.report.last_rejected == {Cause.BAD_CHECKSUM: b"$IIMTW,+21.0,C*3B7"}


def test_a_checksum_has_no_third_digit(talk):
    body = b"IIMTW,+21.0,C"
    assert talk.raw(b"$%s*0%02X" % (body, checksum(body))) == []
    assert len(talk.raw(b"$%s*%02X" % (body, checksum(body)))) == 1


def test_checksums_off_by_choice_stays_visible(new_talk):
    talk = new_talk(Decoder(unchecked=["gps"]))
    for _ in range(40):
        assert talk.raw(b"$IIMTW,+14.5,C*00")[0].value == 14.5
    assert talk.report.checksums is ChecksumRule.OFF
    assert (
        talk.report.complaint
        == "gps: 100 % of its sentences have a wrong checksum and are used all the same, by choice"
    )


def test_unhandled_sentences_are_counted_by_type(talk):
    talk.say("IIMWV,117,R,06.9,N,A", "IIMWV,117,R,06.9,N,A", "GPGSV,1,1,00", "PXYZ,1,2")
    talk.raw(b"!AIVDM,1,1,1,,13aI8e?P00PGpU:NR6s00?vT2000,0,0*1C")
    assert talk.report.unused == {"MWV": 2, "GSV": 1, "other": 1, "VDM": 1}
    assert talk.readings == []


def test_a_bad_field_refuses_the_whole_sentence_unless_it_is_a_habit(talk, only):
    damaged = "GPRMC,132647,A,4612.888,N,00610.030,E,2.4.1,310,050814,,,A"
    readings = talk.say(damaged)
    assert only(readings, Quantity.SOG).value is None
    assert all(reading.value is None for reading in readings)
    assert talk.report.bad_fields == 1
    assert "2.4.1" in talk.report.last_bad_field
    talk.say(damaged)
    assert only(talk.say(damaged), Quantity.COG).value == 310  # the third running: it writes them so


def test_a_source_of_rubbish_is_said(talk):
    for _ in range(30):
        talk.raw(b"\xf3\x81\x9a\xff")
    assert talk.report.complaint == "gps: nothing that arrives is a sentence (wrong baud rate?)"
    assert talk.report.rejected == {Cause.NO_SENTENCE: 30}


def test_a_source_s_own_tag_block_is_stepped_over(talk):
    assert talk.raw(rb"\s:GPS,c:1120959341*5B\$IIMTW,+14.5,C*38")[0].value == 14.5


def test_a_copied_decoder_goes_on_alike():
    lines = file_of("sea, three hours").read_bytes().splitlines()[:6000]
    straight = Decoder()
    first = [r for i, line in enumerate(lines[:3000]) for r in straight.decode(Line(i / 10, None, "x", line))]
    assert len(first) > 1000
    checkpoint = copy.deepcopy(straight)
    rest = [straight.decode(Line(300 + i / 10, None, "x", line)) for i, line in enumerate(lines[3000:])]
    again = [checkpoint.decode(Line(300 + i / 10, None, "x", line)) for i, line in enumerate(lines[3000:])]
    assert again == rest
    assert checkpoint.reports() == straight.reports()


def test_a_control_byte_refuses_a_sentence_however_right_its_checksum(talk):
    assert talk.say("GPRMC,132647,A,4612.888,N,00610.030,E,2.4,\x1b[2J,050814,,,A") == []
    assert talk.report.rejected == {Cause.NOT_TEXT: 1}


@pytest.mark.parametrize(
    ("body", "quantity", "value"),
    [
        ("GPVTG,,,,,,,0.5,K", Quantity.SOG, 0.5 / 3.6),
        ("GPVTG,,,,,,,221.9,K", Quantity.SOG, 221.9 / 3.6),
        ("IIHDG,350.0,20.0,E,,", Quantity.HEADING, 10.0),
        ("IIHDG,10.0,180.0,W,,", Quantity.HEADING, 190.0),
        ("SDDBT,36089.0,f,,M,,F", Quantity.BOTTOM, 36089.0 * 0.3048),  # feet reach as deep as metres do
        ("SDDBT,,f,,M,6014.0,F", Quantity.BOTTOM, 6014.0 * 1.8288),
        ("SDDBT,,f,10999.0,M,,F", Quantity.BOTTOM, 10999.0),
        ("IIXDR,C,121.9,F,PROBE", Quantity.PROBE_TEMPERATURE, 89.9 / 1.8),
        ("IIXDR,C,23.1,F,PROBE", Quantity.PROBE_TEMPERATURE, -8.9 / 1.8),
        ("IIROT,-720.0,A", Quantity.RATE_OF_TURN, -12.0),
    ],
)
def test_numbers_at_the_ends_of_their_ranges_count(talk, only, body, quantity, value):
    assert only(talk.say(body), quantity).value == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    "body",
    [
        "GPVTG,,,,,,,222.5,K",
        "GPVTG,,,,,120.5,N,,",
        "IIHDG,10.0,180.5,E,,",
        "SDDBT,36090.0,f,,M,,F",
        "SDDBT,,f,,M,6015.5,F",
        "SDDPT,11000.5,0.3,",
        "IIXDR,C,122.5,F,PROBE",
        "IIXDR,C,22.5,F,PROBE",
        "IIXDR,C,50.5,C,PROBE",
        "IIROT,720.5,A",
    ],
)
def test_numbers_beyond_the_ends_are_bad_fields(talk, body):
    assert all(reading.value is None for reading in talk.say(body))
    assert talk.report.bad_fields == 1


@pytest.mark.parametrize("date", ["05081", "0508144", "05o814"])
def test_a_date_of_another_length_or_with_letters_gives_no_time(talk, date):
    readings = talk.say(f"GPRMC,132647,A,4612.888,N,00610.030,E,04.7,310,{date},,,A")
    assert [r.value for r in readings if r.quantity is Quantity.CLOCK and r.value is not None] == []
    assert date in talk.report.last_bad_field


def test_a_clock_without_a_time_says_none(talk, only):
    assert only(talk.say("GPZDA,,05,08,2014,00,00"), Quantity.CLOCK).value is None
    moment = datetime(2014, 8, 5, 13, 26, 47, tzinfo=UTC).timestamp()
    assert only(talk.say("GPZDA,132647,05,08,2014,00,00"), Quantity.CLOCK).value == moment
