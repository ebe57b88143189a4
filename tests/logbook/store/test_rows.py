"""Samples and hits as rows, and the way from older versions of the file."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.store import schema
from sternwatch.logbook.store.logbook import Logbook, LogbookError
from sternwatch.logbook.store.samples import (
    BoatRow,
    HitRow,
    Rig,
    RodRow,
    Sample,
    block_of,
    cell_centre,
    cell_of,
    forget,
    hit_body,
    hit_from,
    hits_of,
    keep_exposure,
    keep_hit,
    keep_samples,
    quantised,
    samples_of,
)
from sternwatch.logbook.store.trips import Trip, actions, trip_no, verify

BEGUN = datetime(2026, 7, 18, 23, 0, tzinfo=UTC)
RIG = Rig("3", "P LOW", "port", "low diver", "diver: paddle, fly", "fly", "green", "low")

numbers = st.none() | st.floats(-5000, 5000).map(lambda v: quantised("depth_m", v))
boats = st.builds(
    BoatRow, st.just(10.0), st.none() | st.integers(0, 2**42), numbers, numbers, numbers, numbers, numbers, numbers,
    st.none() | st.floats(-90, 90).map(lambda v: quantised("latitude_deg", v)),
    st.none() | st.floats(-180, 180).map(lambda v: quantised("longitude_deg", v)),
    numbers, numbers, st.sampled_from([None, "slowing", "steady", "quickening"]),
    st.sampled_from([None, "with", "against", "little"]),
)  # fmt: skip
rods = st.builds(
    RodRow, st.just(RIG), *[numbers] * 9, st.sampled_from([None, "rising", "steady", "sinking"]),
    st.sampled_from([None, "straight", "inside", "outside", "turning"]),
)  # fmt: skip


@pytest.fixture
def trip(tmp_path: Path) -> Logbook:
    book = Logbook(tmp_path / "logbook.sqlite")
    book.begin_trip(Trip("t", BEGUN))
    return book


def _seconds_at(trip: Logbook) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    trip.derive(lambda c: found.extend(c.execute("SELECT cell, seconds FROM exposure_at"))).result()
    return found


class TestRows:
    @given(boats, rods)
    def test_what_is_kept_comes_back_as_it_was(self, boat: BoatRow, rod: RodRow) -> None:
        connection = schema.connect(None)
        connection.execute("INSERT INTO trip VALUES (1, 't', 0, NULL, 'live', 'in', '', '', '', '', '{}')")
        keep_samples(connection, 1, [Sample(boat, (rod,))])
        assert samples_of(connection, 1) == [Sample(boat, (rod,))]
        connection.close()

    @given(boats, rods)
    def test_a_hit_comes_back_as_it_was(self, boat: BoatRow, rod: RodRow) -> None:
        hit = HitRow(
            "h", "3", 9.5, 1000, True, True, True, "boxed", None, "coho", 0.5, None, "a “note”", "", boat, rod,
            (47.1, -89.2), "fishing", ({"line": "wire", "length_m": 50.0},), ({"quantity": "stw", "value": 1.0},),
            {"depth_m": 18.0},
        )  # fmt: skip
        assert hit_from(hit_body(hit)) == hit

    def test_a_later_word_on_a_hit_replaces_the_earlier(self, trip: Logbook) -> None:
        hit = HitRow("h", "3", 9.5, 1000, True, True)
        for outcome in ("dropped", "boxed"):
            row = HitRow("h", "3", 9.5, 1000, True, True, outcome=outcome)
            trip.derive(lambda c, row=row: keep_hit(c, 1, row, {})).result()  # type: ignore[misc]
        found: list[HitRow] = []
        trip.derive(lambda c: found.extend(hits_of(c, 1))).result()
        assert [h.outcome for h in found] == ["boxed"]
        assert found[0].id == hit.id
        trip.close()

    def test_everything_made_can_be_forgotten_and_nothing_else(self, trip: Logbook) -> None:
        act = parse({"id": "a", "time": "2026-07-18T23:00:00Z", "kind": "hit", "rod": "3"})
        trip.submit("t", act).result()
        trip.derive(lambda c: keep_samples(c, 1, [Sample(BoatRow(0.0), (RodRow(RIG),))])).result()
        trip.derive(lambda c: forget(c, 1)).result()
        found: list[Sample] = []
        trip.derive(lambda c: found.extend(samples_of(c, 1))).result()
        assert found == []
        assert trip.actions("t") == [act]
        trip.close()

    def test_seconds_of_a_place_are_counted_in_its_cell_its_block_and_the_whole(self, trip: Logbook) -> None:
        here, beside, far = (cell_of(47.0, lon) for lon in (-89.011, -89.021, -88.511))
        other = replace(RIG, lure="spoon")
        rows = [(1, 7, RIG, here, 30), (1, 7, RIG, beside, 20), (1, 7, RIG, far, 10), (1, 8, RIG, here, 10),
                (2, 7, RIG, 0, 40), (1, 7, other, here, 20)]  # fmt: skip
        trip.derive(lambda c: keep_exposure(c, 1, rows)).result()
        found: list[tuple[int, ...]] = []
        trip.derive(lambda c: found.extend(c.execute("SELECT factor, value, seconds FROM exposure"))).result()
        assert sorted(found) == [(1, 7, 20), (1, 7, 60), (1, 8, 10), (2, 7, 40)]
        places: dict[int, list[int]] = {}
        for at, seconds in _seconds_at(trip):
            places.setdefault(at, []).append(seconds)
        assert {at: sorted(seconds) for at, seconds in places.items()} == {
            here: [10, 20, 30], beside: [20], far: [10],
            block_of(here): [10, 20, 50], block_of(far): [10],
        }  # fmt: skip
        trip.derive(lambda c: forget(c, 1)).result()
        assert _seconds_at(trip) == []
        trip.close()

    def test_work_that_fails_leaves_nothing_half_done(self, trip: Logbook) -> None:
        def work(connection: sqlite3.Connection) -> None:
            keep_samples(connection, 1, [Sample(BoatRow(0.0), (RodRow(RIG),))])
            connection.execute("INSERT INTO no_table VALUES (1)")

        with pytest.raises(LogbookError, match="no such table"):
            trip.derive(work).result()
        found: list[Sample] = []
        trip.derive(lambda c: found.extend(samples_of(c, 1))).result()
        assert found == []
        trip.close()


class TestPlaces:
    @given(st.floats(-89.9, 89.9), st.floats(-179.9, 179.9))
    def test_a_place_lies_in_its_cell(self, north: float, east: float) -> None:
        middle = cell_centre(cell_of(north, east))
        assert middle[0] == pytest.approx(north, abs=0.0051)
        assert middle[1] == pytest.approx(east, abs=0.0051)

    def test_no_place_is_no_cell(self) -> None:
        assert cell_of(None, 3.0) == cell_of(3.0, None) == 0


class TestMigrations:
    def test_a_file_that_is_as_it_should_be_is_not_copied(self, tmp_path: Path) -> None:
        for _ in range(2):
            Logbook(tmp_path / "logbook.sqlite").close()
        assert list(tmp_path.glob("*.v*")) == []

    @pytest.mark.parametrize("version", range(1, len(schema.MIGRATIONS)))
    def test_a_file_of_an_older_version_keeps_every_entry(
        self, tmp_path: Path, version: int, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path = tmp_path / "logbook.sqlite"
        acts = [parse({"id": f"a{n}", "time": "2026-07-18T23:00:00Z", "kind": "hit", "rod": "3"}) for n in range(20)]
        with monkeypatch.context() as older:
            older.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[:version])
            with Logbook(path) as book:
                book.begin_trip(Trip("t", BEGUN, about={"people": 3}))
                for act in acts:
                    book.submit("t", act).result()
        with Logbook(path) as book:
            assert book.trouble == ""
            assert book.actions("t") == acts
            assert book.trips()[0].about == {"people": 3}
            assert book.verify() == []
            sample = Sample(BoatRow(0.0), (RodRow(RIG, depth_m=1.0),))
            book.derive(lambda c: keep_samples(c, trip_no(c, "t") or 0, [sample])).result()
        connection = sqlite3.connect(path)
        assert schema.version(connection) == len(schema.MIGRATIONS)
        connection.close()
        before = sqlite3.connect(path.with_name(f"logbook.sqlite.v{version}"))
        assert actions(before, "t") == acts  # the copy made before the change
        assert verify(before) == []
        before.close()
