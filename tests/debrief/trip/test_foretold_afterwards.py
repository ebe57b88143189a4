"""Forecasts made from a recording that nobody looked ahead along: kept in the cache, told in the debrief."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.cli.common.books import demo_trip
from sternwatch.cli.main import main
from sternwatch.debrief.report.prepared import report
from sternwatch.debrief.report.so_far import Debriefs, Whole
from sternwatch.debrief.report.text import text_of
from sternwatch.debrief.trip.digest import Digest
from sternwatch.debrief.trip.foretold import KeptForetold, awaited, with_foretold
from sternwatch.debrief.trip.packing import unpack
from sternwatch.debrief.trip.sources import TripData, _without_feed
from sternwatch.debrief.trip.trip_events import Separation
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.store.trips import Event

EVENTS = [
    Event("ahead 80.1", 80.0, "crossing", "warning", "active", ("2", "3"), "2 and 3 wrap (60 %)", "Ease."),
    Event("ahead 80.1", 140.0, "crossing", "warning", "gone", ("2", "3"), "2 and 3 wrap (60 %)", "Ease."),
]
UNITS = SYSTEMS["us"]


@pytest.fixture
def taken_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> TripData:
    """A recording that was taken in without alerts."""
    monkeypatch.setenv("STERNWATCH_CACHE_DIR", str(tmp_path / "cache"))
    feed = tmp_path / "feed.nmea"
    feed.write_bytes(b"$GPRMC,1\r\n")
    demo = Path(__file__).parents[3] / "demo_logs" / "evening.toml"
    begun = datetime(2026, 7, 18, 23, 2, tzinfo=UTC)
    return TripData("t", begun, demo.read_text(encoding="utf-8"), [], feed, about={"foretold": False})


@pytest.fixture
def digest(taken_in: TripData) -> Digest:
    near = (Separation(("2", "3"), 0.0, 90.0, 1.5, "wrapped"), Separation(("4", "5"), 0.1, 300.0, 1.5, "touch"))
    return replace(_without_feed(taken_in), separations=near)


def kept_of(data: TripData) -> KeptForetold:
    kept = KeptForetold.of(data)
    assert kept is not None
    return kept


def test_what_was_made_is_found_for_the_same_streams_alone(taken_in: TripData) -> None:
    kept = kept_of(taken_in)
    assert kept.load(()) is None
    assert with_foretold(taken_in) is taken_in
    kept.keep((), EVENTS)
    assert kept.load(()) == EVENTS
    assert [path.suffix for path in kept.path(()).parent.iterdir()] == [".jsonl"]
    made = with_foretold(taken_in)
    assert (made.foretold, list(made.events)) == (True, EVENTS)
    assert kept_of(replace(taken_in, spread_text="other")).load(()) is None
    assert taken_in.feed is not None
    taken_in.feed.write_bytes(b"$GPRMC,2\r\n")
    assert with_foretold(taken_in) is taken_in


def test_a_trip_that_was_looked_ahead_along_keeps_its_own(taken_in: TripData) -> None:
    own = replace(taken_in, about={})
    kept_of(own).keep((), EVENTS)
    assert with_foretold(own) is own
    assert KeptForetold.of(replace(taken_in, feed=None)) is None
    assert with_foretold(replace(taken_in, feed=None)).foretold is False


def test_damage_and_a_cache_that_cannot_be_written_are_as_nothing(taken_in: TripData, tmp_path: Path) -> None:
    kept = kept_of(taken_in)
    kept.keep((), EVENTS)
    kept.path(()).write_text("{}\n", encoding="utf-8")
    assert kept.load(()) is None
    (tmp_path / "cache" / "foretold").rename(tmp_path / "away")
    (tmp_path / "cache" / "foretold").write_text("a file in its place", encoding="utf-8")
    kept.keep((), EVENTS)
    assert kept.load(()) is None
    assert awaited(taken_in) == kept.path(())
    (tmp_path / "cache" / "foretold").unlink()
    kept.keep((), EVENTS)
    kept.path(()).write_text("{}\n", encoding="utf-8")
    assert awaited(taken_in) is None, "a damaged one is not waited for again and again"
    assert taken_in.feed is not None
    taken_in.feed.unlink()
    assert kept.load(()) is None
    assert awaited(taken_in) is None


def test_the_debrief_tells_of_them_and_that_nobody_saw_them(taken_in: TripData, digest: Digest) -> None:
    before = report(taken_in, digest, UNITS)
    assert [row[-1] for row in before.separations.rows] == ["not known", "not known"]
    kept_of(taken_in).keep((), EVENTS)
    made = report(with_foretold(taken_in), digest, UNITS)
    assert [row[-1] for row in made.separations.rows] == ["raised 1:20", "none"]
    assert [(row[2], row[3]) for row in made.alerts.rows] == [("2 and 3 wrap (60 %)", "60 s")]
    said = " ".join(text_of(made).split())
    assert said.count("Nobody on the boat was told of it.") == 2
    assert "not known here" not in said


def test_a_packed_trip_takes_them_along(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """So its debrief is the same wherever it is unpacked, without this cache."""
    monkeypatch.setenv("STERNWATCH_CACHE_DIR", str(tmp_path / "cache"))
    here = demo_trip()
    kept_of(here).keep(here.actions, EVENTS)
    assert main(["trip", "pack", "demo", str(tmp_path / "demo.trip")]) == 0
    monkeypatch.setenv("STERNWATCH_CACHE_DIR", str(tmp_path / "another"))
    there = unpack(tmp_path / "demo.trip", tmp_path / "there")
    assert list(there.events)[-2:] == EVENTS
    assert (there.foretold, there.about["foretold"]) == (True, "afterwards")
    assert with_foretold(there) is there


def test_nothing_foreseen_is_known_too(taken_in: TripData, digest: Digest) -> None:
    kept_of(taken_in).keep((), [])
    made = report(with_foretold(taken_in), digest, UNITS)
    assert [row[-1] for row in made.separations.rows] == ["none", "none"]


def test_the_screen_makes_its_report_again_once_they_are_there(
    taken_in: TripData, digest: Digest, monkeypatch: pytest.MonkeyPatch
) -> None:
    debriefs = Debriefs(UNITS, lambda _: Whole(taken_in, digest))
    asked: list[Any] = []
    monkeypatch.setattr(debriefs._beside, "ask", asked.append)
    picture: Any = SimpleNamespace(fishing=(), hit_rows=(), trip="t", t_s=0.0)
    debriefs.offer(picture)
    debriefs.offer(picture)
    assert len(asked) == 1
    debriefs._make(picture)
    debriefs.offer(picture)
    assert len(asked) == 1
    kept_of(taken_in).keep((), EVENTS)
    debriefs.offer(picture)
    debriefs.offer(picture)
    assert len(asked) == 2
    assert len(debriefs._make(picture).alerts.rows) == 1
    debriefs.offer(picture)
    assert len(asked) == 2
