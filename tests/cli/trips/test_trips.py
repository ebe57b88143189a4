"""Trips as commands list, move and sum them up: an old notebook goes through all of them."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from sternwatch.cli.common.exits import Exit
from sternwatch.cli.main import build_parser, main
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import new_trip
from sternwatch.places import shipped

NOTEBOOK = """date,time,rod,species,outcome,depth,latitude,longitude,note
2024-07-18,19:42,2,coho,boxed,60 ft,47.02,-89.55,at the drop-off
2024-07-18,20:10,P HIGH,,dropped,,,,
2024-08-01,06:05,2,lake trout,freed,90 ft,,,
"""


@pytest.fixture(autouse=True)
def data(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path / "config"))
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def days(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """Two days of a notebook in the logbook: their ids."""
    (tmp_path / "old.csv").write_text(NOTEBOOK, encoding="utf-8")
    assert main(["trip", "import", "--notebook", str(tmp_path / "old.csv"), "--utc-offset", "UTC-04:00"]) == Exit.DONE
    said = [line.split(": ") for line in capsys.readouterr().out.splitlines()]
    assert len(said) == 2, said
    return [trip for trip, _ in said]


def refused(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(list(argv)) == Exit.WRONG_INPUT
    found = capsys.readouterr()
    assert found.out == ""
    return found.err


def told(capsys: pytest.CaptureFixture[str], *argv: str) -> str:
    assert main(list(argv)) == Exit.DONE
    return capsys.readouterr().out


# -- trip list, end ------------------------------------------------------------------------------------------------


def test_trips_are_listed_by_their_own_clock(days: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    first, second = told(capsys, "trip", "list").splitlines()
    assert first.startswith(f"{days[0]}  2024-07-18 ")
    assert first.endswith("notebook, 2 hits, no recording")
    assert second.startswith(f"{days[1]}  2024-08-01 ")
    rows = [json.loads(line) for line in told(capsys, "trip", "list", "--json").splitlines()]
    assert [row["id"] for row in rows] == days
    assert rows[0]["begun"].startswith("2024-07-18T")
    assert (rows[0]["utc_offset_min"], rows[0]["session"], rows[0]["hits"]) == (-240, "notebook", 2)
    assert (rows[0]["recording"], rows[0]["debriefed"]) == (False, True)


def test_the_open_trip_is_ended_once(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Logbook(data / "logbook.sqlite") as logbook:
        trip = new_trip(datetime(2026, 7, 18, 23, 0, tzinfo=UTC), spread_name="evening", spread_text="")
        logbook.begin_trip(trip)
    assert "–open " in told(capsys, "trip", "list")
    assert told(capsys, "trip", "end") == f"{trip.id} is ended\n"
    assert "open" not in told(capsys, "trip", "list")
    assert refused(capsys, "trip", "end") == "sternwatch: no trip is open\n"


# -- trip import ---------------------------------------------------------------------------------------------------


def test_a_notebook_is_taken_in_once_and_with_nothing_of_a_recordings(
    days: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert len(days) == 2
    told(capsys, "trip", "import", "--notebook", str(tmp_path / "old.csv"), "--utc-offset=-4:00")
    assert len(told(capsys, "trip", "list").splitlines()) == 2
    wrong = refused(capsys, "trip", "import", "--notebook", str(tmp_path / "old.csv"), "--spread", "a.toml")
    assert "--notebook takes no --spread, --actions or --alerts" in wrong


@pytest.mark.parametrize(
    ("text", "said"),
    [("species\ncoho\n", "column 'date' is missing"), ("date,bait\n2024-07-18,x\n", "column 'bait' is not known"),
     (None, "no.csv: there is no such file")],
)  # fmt: skip
def test_a_wrong_notebook_is_one_sentence(
    text: str | None, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if text is not None:
        (tmp_path / "no.csv").write_text(text, encoding="utf-8")
    assert said in refused(capsys, "trip", "import", "--notebook", str(tmp_path / "no.csv"))


@pytest.mark.parametrize(
    ("given", "minutes"),
    [("UTC-04:00", -240), ("+5:30", 330), ("-4:00", -240), ("UTC\N{MINUS SIGN}03:30", -210), ("+14:59", 899),
     ("-0000", 0)],
)  # fmt: skip
def test_a_clock_is_an_offset_from_utc(given: str, minutes: int) -> None:
    from sternwatch.cli.main import build_parser

    for words in ([f"--utc-offset={given}"], ["--utc-offset", given]):
        asked = build_parser().parse_args(["trip", "import", "a.csv", *words])
        assert asked.utc_offset == minutes


@pytest.mark.parametrize("given", ["4", "UTC", "+15:00", "-04:60", "EST"])
def test_another_clock_is_refused(given: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["trip", "import", "a.csv", f"--utc-offset={given}"])
    assert f'"{given}": accepted is, for example, UTC-04:00' in capsys.readouterr().err


def test_without_a_clock_a_notebook_has_this_computers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "old.csv").write_text("date,time\n2024-07-18,12:00\n", encoding="utf-8")
    told(capsys, "trip", "import", "--notebook", str(tmp_path / "old.csv"))
    offset = datetime.now().astimezone().utcoffset()
    assert offset is not None
    (row,) = told(capsys, "trip", "list", "--json").splitlines()
    assert json.loads(row)["utc_offset_min"] == offset.total_seconds() // 60


# -- trip pack, unpack ---------------------------------------------------------------------------------------------


def test_packed_and_unpacked_elsewhere_a_trip_is_itself(
    days: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["trip", "pack", days[0]]) == Exit.DONE
    found = capsys.readouterr()
    assert found.out == f"{days[0]}.trip\n"
    assert found.err == f"sternwatch: the recording of {days[0]} is not there: packed without it\n"
    entries = told(capsys, "trip", "export", days[0], "--what", "actions", "--positions")
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path / "elsewhere"))
    assert told(capsys, "trip", "unpack", f"{days[0]}.trip").startswith(f"{days[0]}: ")
    assert told(capsys, "trip", "export", days[0], "--what", "actions", "--positions") == entries
    nowhere = tmp_path / "none" / "a.trip"
    assert f"{nowhere} cannot be written: no such file or folder" in refused(
        capsys, "trip", "pack", days[0], str(nowhere)
    )
    assert "none.trip" in refused(capsys, "trip", "unpack", "none.trip")
    (tmp_path / "broken.trip").write_bytes(b"PK half")
    assert "broken.trip" in refused(capsys, "trip", "unpack", "broken.trip")


# -- trip export ---------------------------------------------------------------------------------------------------


def test_hits_of_several_trips_are_one_table_with_one_head(
    days: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = list(csv.DictReader(io.StringIO(told(capsys, "trip", "export", *days, "--what", "hits"))))
    assert [row["species"] for row in rows] == ["coho", "", "lake trout"]
    species, file = ["coho", "", "lake trout"], tmp_path / "hits.csv"
    assert told(capsys, "trip", "export", *days, "--what", "hits", "--out", str(file)) == ""
    assert [row["species"] for row in csv.DictReader(io.StringIO(file.read_text("utf-8")))] == species
    nowhere = tmp_path / "none" / "hits.csv"
    wrong = refused(capsys, "trip", "export", days[0], "--what", "hits", "--out", str(nowhere))
    assert wrong.startswith(f"sternwatch: {nowhere} cannot be written: no such file or folder")


def test_places_leave_the_logbook_only_where_they_are_asked_for(
    days: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    for what in ("hits", "actions", "geojson", "return", "exposure", "alerts"):
        assert "47.02" not in told(capsys, "trip", "export", days[0], "--what", what)
    assert "47.02" in told(capsys, "trip", "export", days[0], "--what", "hits", "--positions")
    wrong = refused(capsys, "trip", "export", days[0], "--what", "gpx")
    assert "a GPX file holds nothing but places: add --positions" in wrong
    assert "<gpx" in told(capsys, "trip", "export", days[0], "--what", "gpx", "--positions")


def test_what_is_of_one_trip_takes_one(days: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert "--what geojson takes one trip" in refused(capsys, "trip", "export", *days, "--what", "geojson")


def test_the_demos_entries_are_told_without_a_logbook(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [json.loads(line) for line in told(capsys, "trip", "export", "demo", "--what", "actions").splitlines()]
    assert {"hit", "in"} <= {row["kind"] for row in rows}
    assert not data.exists()


# -- debrief -------------------------------------------------------------------------------------------------------


def test_a_notebooks_day_is_debriefed_as_text_json_and_a_page(
    days: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "coho" in told(capsys, "debrief", days[0])
    document = json.loads(told(capsys, "debrief", days[0], "--json"))
    assert document
    page = tmp_path / "day.html"
    assert main(["debrief", "last", "--html", str(page)]) == Exit.DONE
    assert capsys.readouterr().err == f"sternwatch: written to {page}\n"
    assert "lake trout" in page.read_text(encoding="utf-8")


def test_on_the_screen_a_debrief_is_of_the_logbook_and_has_its_recording(
    days: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    for also in (["--json"], ["--html", "a.html"], ["--positions"]):
        assert "--screen takes no --json, --html or --positions" in refused(capsys, "debrief", "--screen", *also)
    wrong = refused(capsys, "debrief", "a.trip", "--screen")
    assert "must be in the logbook for the screen: sternwatch trip unpack a.trip" in wrong
    wrong = refused(capsys, "debrief", days[0], "--screen")
    assert "the recording of" in wrong
    assert "leave out --screen for what is known" in wrong


def test_without_its_recording_a_trip_cannot_be_run_again_with_another_spread(
    days: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = refused(capsys, "debrief", days[0], "--calibration", "none")
    assert f"the recording of {days[0]} is not there, so it cannot be run again" in wrong
    assert "nobody.toml" in refused(capsys, "debrief", days[0], "--spread", "nobody.toml")


# -- season --------------------------------------------------------------------------------------------------------


def test_a_season_of_a_notebook_counts_its_hits_and_no_hours(
    days: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert len(days) == 2
    text = told(capsys, "season")
    assert text.splitlines()[2:5] == [
        "0 hits in 0 rod-hours", "In no rate: 3 hits from a notebook, without hours",
        "All hits: unnamed fish 1, coho 1, lake trout 1",
    ]  # fmt: skip
    assert text.lower().count("no fishing time") == 1
    found = json.loads(told(capsys, "season", "--json", "--species", "coho", "--year", "2024", "--month", "7"))
    assert (found["trips"], found["hits_in_hours"], found["notebook_hits"]) == (0, 0, 1)
    assert found["species"] == {"coho": 1}
    assert found["rod_hours"] == 0.0
    assert "coho" in found["filters"]


def test_trips_that_were_not_debriefed_are_said_and_taken_in(data: Path, capsys: pytest.CaptureFixture[str]) -> None:
    begun = datetime(2026, 7, 18, 23, 0, tzinfo=UTC)
    with Logbook(data / "logbook.sqlite") as logbook:
        for text in ((shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8"), "none"):
            trip = new_trip(begun, spread_name="evening", spread_text=text)
            logbook.begin_trip(trip)
            logbook.end_trip(trip.id, begun + timedelta(hours=2))
            begun += timedelta(days=1)
    assert "2 trips have not been debriefed: --update takes them in" in told(capsys, "season")
    assert main(["season", "--update"]) == Exit.DONE
    found = capsys.readouterr()
    assert found.err.count("sternwatch: working 202607") == 2
    assert found.err.count("sternwatch: left out: ") == 1
    assert f"sternwatch: left out: spread of {trip.id}: not valid TOML" in found.err
    assert "2 trips could not be debriefed and are not counted" in found.out


def test_a_distance_needs_the_place_it_is_from(capsys: pytest.CaptureFixture[str]) -> None:
    assert "--within needs --near" in refused(capsys, "season", "--within", "3000 m")


@pytest.mark.parametrize("words", [("debrief", "last"), ("trip", "import", "day.nmea"), ("replay", "day.nmea")])
def test_the_invented_boat_is_meant_wherever_a_recording_needs_a_spread(words: tuple[str, ...]) -> None:
    assert build_parser().parse_args([*words, "--spread", "demo"]).spread == shipped("demo_logs") / "evening.toml"
