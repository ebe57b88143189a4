"""Questions across trips: filters, notebooks, what is left out."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from sternwatch.debrief.counting.factors import Factor, Value
from sternwatch.debrief.counting.season import Filters, season
from sternwatch.debrief.counting.tally import tally
from sternwatch.debrief.trip import sources as tripdata
from sternwatch.debrief.trip.digest import Digest
from sternwatch.debrief.trip.notebook import read_notebook
from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.store import schema, writing
from sternwatch.logbook.store.samples import HitRow, Sample, cell_centre, cell_of
from sternwatch.logbook.store.trips import Trip
from sternwatch.watch.bottom.soundings import local_metres

from ..conftest import BEGIN_MS, EIGHT, hit_at, invented_day


@pytest.fixture
def book() -> Iterator[sqlite3.Connection]:
    connection = schema.connect(None)
    yield connection
    connection.close()


def put(
    book: sqlite3.Connection, name: str, samples: Sequence[Sample], hits: Sequence[HitRow], days: int = 0
) -> TripData:
    """A trip with its digest, so many days after the first."""
    begun = datetime.fromtimestamp(BEGIN_MS / 1000, UTC) + timedelta(days=days)
    writing.write(book, writing.begin(Trip(name, begun)))
    data = TripData(name, begun, "", (), None, "fishing")
    digest = Digest(tuple(samples), tuple(hits), (), (), fold((), (), "fishing"), 0.0, None)
    tripdata.keep(book, data, digest, 0)
    return data


@pytest.fixture
def two_trips(book: sqlite3.Connection) -> tuple[list[Sample], list[HitRow], list[Sample], list[HitRow]]:
    first = invented_day(EIGHT, 200, seed=1)
    second = [replace(s, boat=replace(s.boat, latitude_deg=46.5)) for s in invented_day(EIGHT[:4], 100, seed=2)]
    hits = [hit_at(first, i * 10, i % 3, i) for i in range(9)]
    later = [replace(hit_at(second, i * 10, 1, i), species="lake trout") for i in range(4)]
    put(book, "one", first, hits)
    put(book, "two", second, later, days=60)
    return first, hits, second, later


def counts(connection: sqlite3.Connection, filters: Filters) -> dict[Value, tuple[int, int]]:
    return {v: (c.hits, c.seconds) for v, c in season(connection, filters).tally.by_value.items()}


class TestCounting:
    def test_the_rollup_counts_what_the_samples_count(
        self, book: sqlite3.Connection, two_trips: tuple[list[Sample], list[HitRow], list[Sample], list[HitRow]]
    ) -> None:
        first, hits, second, later = two_trips
        straight = tally([*first, *second], [*hits, *later])
        assert counts(book, Filters()) == {v: (c.hits, c.seconds) for v, c in straight.by_value.items()}

    @pytest.mark.usefixtures("two_trips")
    def test_a_species_filters_hits_and_not_hours(self, book: sqlite3.Connection) -> None:
        every, trout = season(book), season(book, Filters(species="lake trout"))
        assert trout.tally.total.seconds == every.tally.total.seconds
        assert (every.tally.total.hits, trout.tally.total.hits) == (13, 4)
        assert trout.species == (("lake trout", 4),)

    @pytest.mark.usefixtures("two_trips")
    def test_a_month_filters_trips(self, book: sqlite3.Connection) -> None:
        july, september = (season(book, Filters(months=frozenset({m}))) for m in (7, 9))
        assert (july.trips, july.tally.total.hits, september.trips, september.tally.total.hits) == (1, 9, 1, 4)
        assert season(book, Filters(years=frozenset({2020}))).tally.total.seconds == 0

    def test_the_month_is_that_of_the_crews_clock(self, book: sqlite3.Connection) -> None:
        """Begun on 1 August at 02:30 UTC, which is the last evening of July at UTC-4."""
        begun = datetime(2026, 8, 1, 2, 30, tzinfo=UTC)
        kept = {"kept": {"utc_offset_min": -240}, "said": {"utc_offset_min": 0}, "utc": {"utc_offset_min": 0}}
        for name, about in kept.items():
            writing.write(book, writing.begin(Trip(name, begun, about=about)))
            data = TripData(name, begun, "", (), None, "fishing")
            tripdata.keep(book, data, Digest((), (), (), (), fold((), (), "fishing"), 0.0, None), 0)
        word = {"id": "a", "time": "2026-08-01T02:30:00.000Z", "elapsed_s": 0, "kind": "trip", "utc_offset_min": -240}
        assert writing.write(book, {"op": "action", "trip": "said", "action": word}) == ""
        assert [season(book, Filters(months=frozenset({m}))).trips for m in (7, 8)] == [2, 1]

    @pytest.mark.usefixtures("two_trips")
    def test_a_place_filters_both(self, book: sqlite3.Connection) -> None:
        here = season(book, Filters(near_deg=(46.5, -89.5), radius_m=2000.0))
        assert (here.tally.total.hits, here.tally.total.seconds) == (4, 4 * 100 * 10)
        assert season(book, Filters(near_deg=(10.0, 10.0), radius_m=2000.0)).tally.total.seconds == 0
        assert "46.5" not in Filters(near_deg=(46.5, -89.5), radius_m=2000.0).words

    @pytest.mark.parametrize("radius_m", [300.0, 1500.0, 4000.0, 20_000.0, 200_000.0])
    def test_whole_blocks_count_like_their_cells(
        self,
        book: sqlite3.Connection,
        two_trips: tuple[list[Sample], list[HitRow], list[Sample], list[HitRow]],
        radius_m: float,
    ) -> None:
        first, hits, second, later = two_trips
        near = (47.01, -89.5)

        def inside(row: Sample | HitRow) -> bool:
            assert row.boat is not None
            middle = cell_centre(cell_of(row.boat.latitude_deg, row.boat.longitude_deg))
            return math.hypot(*local_metres(near, middle)) <= radius_m

        straight = tally(filter(inside, [*first, *second]), filter(inside, [*hits, *later]))
        found = counts(book, Filters(near_deg=near, radius_m=radius_m))
        assert found == {v: (c.hits, c.seconds) for v, c in straight.by_value.items()}

    @pytest.mark.usefixtures("two_trips")
    def test_a_rig_filters_both(self, book: sqlite3.Connection) -> None:
        divers = season(book, Filters(rig="DIVER"))
        assert {v.word for v, _ in divers.tally.values(Factor.ROD)} == {"2 P HIGH", "3 P LOW", "6 S LOW", "7 S HIGH"}
        assert divers.tally.total.hits == 3 + 3 + 4

    @pytest.mark.usefixtures("two_trips")
    def test_trips_that_nobody_debriefed_are_named(self, book: sqlite3.Connection) -> None:
        writing.write(book, writing.begin(Trip("three", datetime(2026, 8, 1, tzinfo=UTC))))
        assert season(book).undigested == ("three",)

    def test_a_digest_made_again_takes_the_place_of_the_old(
        self, book: sqlite3.Connection, two_trips: tuple[list[Sample], list[HitRow], list[Sample], list[HitRow]]
    ) -> None:
        first, hits, _, _ = two_trips
        before = counts(book, Filters())
        begun = datetime.fromtimestamp(BEGIN_MS / 1000, UTC)
        digest = Digest(tuple(first), tuple(hits), (), (), fold((), (), "fishing"), 0.0, None)
        tripdata.keep(book, TripData("one", begun, "", (), None, "fishing"), digest, 1)
        assert counts(book, Filters()) == before


NOTEBOOK = """date,time,rod,species,length,depth,lure,latitude,longitude,outcome,note
2024-07-18,19:42,P LOW,coho,22 in,60 ft,spoon,47.0,-89.5,boxed,"slick, calm"
2024-07-18,,3,,,,,,,freed,
2024-08-02,06:10,,lake trout,,110 ft,fly,,,,
"""


class TestNotebook:
    @pytest.fixture
    def old(self, tmp_path: Path) -> Path:
        path = tmp_path / "old.csv"
        path.write_text("\ufeff" + NOTEBOOK, encoding="utf-8")
        return path

    def test_hits_come_in_by_day(self, old: Path) -> None:
        first, second = read_notebook(old, -240)
        assert (first.session, first.begun.isoformat()) == ("notebook", "2024-07-18T04:00:00+00:00")
        digest = tripdata.digest_of(first)
        hit = digest.hits[1]
        assert (hit.rod, hit.species, hit.counts, hit.in_hours) == ("P", "coho", True, False)
        assert hit.noted["depth_m"] == pytest.approx(18.288)
        assert hit.length_m == pytest.approx(0.5588)
        assert hit.note == "P LOW; slick, calm"
        assert [h.outcome for h in digest.hits] == ["freed", "boxed"]
        assert len(tripdata.digest_of(second).hits) == 1

    def test_reading_it_again_gives_the_same_trips(self, old: Path) -> None:
        assert read_notebook(old, -240) == read_notebook(old, -240)

    def test_they_are_in_no_rate(self, book: sqlite3.Connection, old: Path) -> None:
        for data in read_notebook(old, -240):
            writing.write(book, writing.begin(Trip(data.id, data.begun, data.session, about=data.about)))
            tripdata.keep(book, data, tripdata.digest_of(data), 0)
        found = season(book)
        assert (found.notebook, found.tally.total.hits, found.tally.outside) == (3, 0, 0)
        assert season(book, Filters(species="lake trout")).notebook == 1
        assert season(book, Filters(near_deg=(47.0, -89.5), radius_m=1000.0)).notebook == 1
        assert season(book, Filters(rig="fly")).notebook == 1

    @pytest.mark.parametrize(
        ("change", "said"),
        [
            (("date,time", "day,time"), "column 'day' is not known; accepted: date, time, rod"),
            (("date,time", "time,time"), "column 'date' is missing"),
            (
                ("2024-08-02", "2.8.2024"),
                r"line 4: date: '2\.8\.2024' is not accepted; accepted is, for example, 2024-",
            ),
            (("2024-08-02,", ","), "line 4: date: is empty"),
            (("110 ft", "110"), "line 4: depth: '110' is not accepted; accepted is, for example, \"60 ft\""),
            (("freed", "eaten"), "line 3: outcome: \"eaten\" is not accepted; accepted: 'boxed', 'freed'"),
            (("-89.5", "-189.5"), "line 2: longitude_deg: -189.5 is not accepted"),
            (("06:10,,", "06:10,,,,,,,,,,,"), "line 4: has more cells than there are columns"),
        ],
    )
    def test_what_is_wrong_is_said_with_line_and_column(self, old: Path, change: tuple[str, str], said: str) -> None:
        old.write_text(NOTEBOOK.replace(*change, 1), encoding="utf-8")
        with pytest.raises(TripError, match=rf"old\.csv:? ?{said}"):
            read_notebook(old, -240)

    def test_no_hits_and_no_text_are_said(self, old: Path) -> None:
        old.write_text("date,time\n", encoding="utf-8")
        with pytest.raises(TripError, match="has no hits in it"):
            read_notebook(old, 0)
        old.write_bytes(b"\xff\xfe")
        with pytest.raises(TripError, match="is not UTF-8 text"):
            read_notebook(old, 0)
