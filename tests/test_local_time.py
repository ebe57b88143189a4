"""One clock for people: the boat's own, as the crew, the trip or the computer says; UTC on request."""

import time
from datetime import UTC, datetime, timedelta, tzinfo

import pytest

from sternwatch.config import Preferences
from sternwatch.debrief.clocks import clock_of
from sternwatch.local_time import BoatTime, offset_words

SUMMER, WINTER = datetime(2026, 7, 18, 23, 8, tzinfo=UTC), datetime(2026, 1, 18, 23, 8, tzinfo=UTC)


def test_what_the_crew_says_stands_before_the_trip_and_the_computer() -> None:
    about = {"utc_offset_min": -300}
    assert clock_of(about, -240).hm(SUMMER) == "19:08"
    assert clock_of(about).hm(SUMMER) == "18:08"
    assert clock_of({}).said_min is None


def test_utc_is_said_where_it_is_asked_for_and_only_there() -> None:
    assert BoatTime(-240, utc=True).hms(SUMMER) == "23:08:00 UTC"
    assert BoatTime(-240).hms(SUMMER) == "19:08:00"
    assert BoatTime(-240, utc=True).offset_min(SUMMER) == 0
    assert Preferences(clock="UTC").system.utc
    assert not Preferences().system.utc
    assert BoatTime(-240).name(SUMMER) == "UTC-4"
    assert BoatTime(-240, utc=True).name(SUMMER) == "UTC"


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone cannot be set for one process")
def test_the_computers_own_zone_is_that_of_the_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as there:
        there.setenv("TZ", "EST5EDT,M3.2.0,M11.1.0")
        time.tzset()
        clock = BoatTime()
        assert (clock.hm(SUMMER), clock.name(SUMMER)) == ("19:08", "EDT")
        assert (clock.hm(WINTER), clock.name(WINTER)) == ("18:08", "EST")
        assert clock.offset_min(WINTER.timestamp()) == -300
    time.tzset()


@pytest.mark.parametrize("letters", ["Eastern Daylight Time", "-03", None])
def test_a_zone_without_letters_is_told_by_its_hours(monkeypatch: pytest.MonkeyPatch, letters: str | None) -> None:
    class Zone(tzinfo):
        def utcoffset(self, _: datetime | None) -> timedelta:
            return timedelta(hours=-4)

        dst = utcoffset

        def tzname(self, _: datetime | None) -> str | None:
            return letters

    monkeypatch.setattr(BoatTime, "zone", Zone())
    assert BoatTime().name(SUMMER) == "UTC-4"


@pytest.mark.parametrize(("minutes", "said"), [(0, ""), (-240, "-4"), (330, "+5:30"), (-210, "-3:30")])
def test_an_offset_in_words(minutes: int, said: str) -> None:
    assert offset_words(minutes) == said
