"""Receivers' dates: the 1,024-week roll-over (IS-GPS-200), two-digit years, midnight between sentences."""

from datetime import date, timedelta

import pytest

from sternwatch.feed.sentences import dates


def test_the_research_vessel_s_receiver():
    # Its RMC said 15–16 December 1994 while the host said 1 August 2014: 7,168 days.
    assert dates.mend(date(1994, 12, 16), None) == date(2014, 8, 1)
    assert dates.mend(date(1994, 12, 16), date(2014, 8, 1)) == date(2014, 8, 1)


def test_a_receiver_with_that_fault_today():
    # 2007-03-19 + 7,168 days, worked with an independent calendar: 2026-11-02.
    assert dates.mend(date(2007, 3, 19), date(2026, 11, 2)) == date(2026, 11, 2)
    assert dates.mend(date(2007, 3, 19), None) == date(2026, 11, 2)


def test_a_computer_s_clock_without_battery_mends_nothing():
    assert dates.mend(date(2026, 11, 2), date(1970, 1, 1)) == date(2026, 11, 2)
    assert dates.mend(date(2007, 3, 19), date(1970, 1, 1)) == date(2026, 11, 2)


def test_an_old_recording_played_today_keeps_its_date():
    # Twelve years are not near a roll-over, so the date is what the receiver meant.
    assert dates.mend(date(2014, 8, 5), date(2026, 11, 2)) == date(2014, 8, 5)


def test_a_fault_after_the_floor_is_mended_by_the_computer_s_clock():
    assert dates.mend(date(2011, 5, 1), date(2030, 12, 16)) == date(2030, 12, 15)


@pytest.mark.parametrize(("given", "year"), [(94, 1994), (80, 1980), (79, 2079), (14, 2014), (0, 2000)])
def test_two_digit_years(given, year):
    assert dates.two_digit_year(given) == year


def test_a_bare_time_of_day_takes_the_nearest_day():
    midnight = dates.unix_s(date(2014, 8, 2), 0.0)
    assert dates.nearest_day(86399.0, midnight + 1) == midnight - 1
    assert dates.nearest_day(1.0, midnight - 1) == midnight + 1


def test_a_clock_that_is_no_date():
    assert dates.host_day(None) is None
    assert dates.host_day(-5) is None
    assert dates.host_day(10**15) is None
    assert dates.host_day(1_406_851_200_124) == date(2014, 8, 1)


def test_a_mended_date_after_now_is_not_believed():
    # An honest date of 2008, said today: one roll-over later is 2028.
    assert dates.mend(date(2008, 7, 1), date(2026, 11, 2)) == date(2008, 7, 1)
    # A receiver that has no fix yet begins its count anew: seven years before the computer's clock.
    assert dates.mend(date(1999, 8, 22), date(2026, 11, 2)) == date(1999, 8, 22)


@pytest.mark.parametrize(
    ("changed", "holds"),
    [
        (date(2024, 5, 1), {"2024-05-02": True, "2024-05-03": False, "2022-06-01": True, "2022-04-01": False}),
        (
            date(1980, 1, 1),
            {"2026-11-03": True, "2026-11-04": False, "2013-01-01": True},
        ),  # no clock
        (date(2030, 1, 1), {"2026-11-03": True, "2026-11-04": False, "2013-01-01": True}),
    ],
)
def test_what_fits_a_file_s_own_time(changed, holds):
    written = dates.Written.of_file(dates.unix_s(changed, 5.0), dates.unix_s(date(2026, 11, 2), 9.0))
    assert {day: written.holds(date.fromisoformat(day)) for day in holds} == holds


def test_what_was_done_is_said():
    said, meant = date(2007, 3, 19), date(2026, 11, 2)
    assert dates.mending(said, meant).endswith(
        "its count of weeks has rolled over, so 1024 weeks are added: 2026-11-02"
    )
    assert "and that is believed" in dates.mending(said, said)
    assert dates.mending(meant, meant) == ""


def test_the_floor_is_the_first_day_of_2010():
    assert dates.mend(date(2010, 1, 1), None) == date(2010, 1, 1)
    assert dates.mend(date(2009, 12, 31), None) == date(2029, 8, 16)
    assert dates.mending(date(2010, 1, 1), date(2010, 1, 1)) == ""
    assert "and that is believed" in dates.mending(date(2009, 12, 31), date(2009, 12, 31))


def test_four_hundred_days_from_the_computer_s_clock_and_no_more():
    host = date(2026, 11, 2)
    assert dates.mend(date(2007, 3, 19) + dates.timedelta(days=400), host) == date(2027, 12, 7)
    assert dates.mend(date(2007, 3, 19) + dates.timedelta(days=401), host) == date(2008, 4, 23)
    near = date(2009, 12, 1)  # before the floor, and as the computer has it: it is what it says
    assert dates.mend(near, near + dates.timedelta(days=400)) == near
    assert dates.mend(near, near + dates.timedelta(days=401)) == near


@pytest.mark.parametrize(
    ("changed", "earliest"),
    [
        (date(1981, 1, 1), None),
        (date(1981, 1, 2), date(1979, 1, 3)),
        (date(2026, 11, 2), date(2024, 11, 2)),
        (date(2026, 11, 3), None),
    ],
)
def test_a_file_s_own_time_is_one_from_1981_until_now(changed, earliest):
    written = dates.Written.of_file(dates.unix_s(changed, 0.0), dates.unix_s(date(2026, 11, 2), 86399.0))
    assert written.earliest == earliest
    assert written.latest == (dates.date(2026, 11, 2) if earliest is None else changed) + dates.timedelta(days=1)


def test_what_fits_ends_on_its_days():
    written = dates.Written(date(2024, 5, 2), date(2022, 5, 2))
    assert [written.holds(date(2024, 5, day)) for day in (2, 3)] == [True, False]
    assert [written.holds(date(2022, 5, day)) for day in (1, 2)] == [False, True]


def test_the_first_and_the_last_moment_that_a_clock_may_say():
    assert dates.host_day(0) == date(1970, 1, 1)
    assert dates.host_day(86_399_999) == date(1970, 1, 1)
    assert dates.host_day(86_400_000) == date(1970, 1, 2)
    assert dates.host_day(32_503_680_000_000 - 1) == date(2999, 12, 31)
    assert dates.host_day(32_503_680_000_000) is None


def test_a_computers_clock_is_believed_from_the_floor_on() -> None:
    """A thousand days before it: a roll-over would be years ahead of a clock that is believed."""
    day = dates.FLOOR - timedelta(days=1000)
    assert dates.mend(day, dates.FLOOR) == day
    assert dates.mend(day, dates.FLOOR - timedelta(days=1)) == day + dates.ROLLOVER
    assert dates.mend(day, None) == day + dates.ROLLOVER
