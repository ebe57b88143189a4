"""A trip debriefed, packed, unpacked elsewhere, exported and imported again: the same to the last byte."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
import xmlschema

from feed.n2k.demo_bus import demo_bus
from sternwatch.cli.main import main
from sternwatch.debrief.report.asjson import as_json
from sternwatch.debrief.report.page import PageError, page
from sternwatch.debrief.report.prepared import report
from sternwatch.debrief.report.text import text_of
from sternwatch.debrief.trip import exports
from sternwatch.debrief.trip import sources as tripdata
from sternwatch.debrief.trip.digest import Digest
from sternwatch.debrief.trip.packing import pack, unpack
from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import load_actions
from sternwatch.logbook.store.logbook import Logbook

DEMO = Path(__file__).parents[3] / "demo_logs"
PART_S = 273.0
SOONER = 0.5  # times the demo's moments of the actions, so that the part can be short
HIT_OF_3_S = 866.4  # in the demo; sooner still here
PLACE = re.compile(r"\b(47\.0\d+|-?89\.5\d+)")


@pytest.fixture(scope="session")
def part(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first minutes of the demo evening with its low divers alone: feed, actions, spread."""
    folder = tmp_path_factory.mktemp("part")
    lines = (DEMO / "evening.nmea").read_bytes().splitlines(keepends=True)
    until = next(i for i, line in enumerate(lines) if int(re.search(rb",r:(\d+)", line)[1]) > PART_S * 1000)  # type: ignore[index]
    (folder / "part.nmea").write_bytes(b"".join(lines[:until]))
    said = [json.loads(line) for line in (DEMO / "evening.actions.jsonl").read_text(encoding="utf-8").splitlines()]
    others = {act["id"] for act in said if act.get("rod", "3") not in "36"}
    kept = []
    for act in said:
        was_s = act["elapsed_s"]
        act["elapsed_s"] = was_s * SOONER * (0.5 if act.get("rod") == "3" and was_s == HIT_OF_3_S else 1.0)
        time = datetime.fromisoformat(act["time"]) - timedelta(seconds=was_s - act["elapsed_s"])
        act["time"] = time.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        if act["elapsed_s"] <= PART_S and act["id"] not in others and act.get("of") not in others:
            kept.append(json.dumps(act) + "\n")
    (folder / "part.actions.jsonl").write_text("".join(kept), encoding="utf-8")
    head, *rods = (DEMO / "evening.toml").read_text(encoding="utf-8").split("[[rod]]")
    divers = [rod for rod in rods if 'key = "3"' in rod or 'key = "6"' in rod]
    (folder / "part.toml").write_text("[[rod]]".join([head, *divers]), encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def trip(part: Path) -> TripData:
    actions = load_actions(part / "part.actions.jsonl")
    return TripData(
        "20260718T230200Z-0000demo", actions[0].time, (part / "part.toml").read_text(encoding="utf-8"), actions,
        part / "part.nmea", about={"utc_offset_min": -240},
    )  # fmt: skip


@pytest.fixture(scope="session")
def digest(trip: TripData) -> Digest:
    return tripdata.digest_of(trip)


def everything(trip: TripData, digest: Digest) -> tuple[str, ...]:
    made = report(trip, digest, SYSTEMS["us"])
    return text_of(made), page(made), as_json(made), exports.hits_csv(trip, digest, positions=True)


class TestDigest:
    def test_hits_have_their_moments_and_hours(self, digest: Digest) -> None:
        hits = {hit.rod: hit for hit in digest.hits if hit.counts}
        assert set(hits) == {"3", "6"}
        first = min(digest.hits, key=lambda hit: hit.time_ms)
        assert first.rod_row is not None
        assert first.rod_row.depth_low_m is not None
        assert first.rod_row.depth_m is not None
        assert first.rod_row.depth_high_m is not None
        assert first.rod_row.depth_low_m < first.rod_row.depth_m < first.rod_row.depth_high_m
        assert first.rod_row.temperature_c is not None
        assert first.in_hours
        rods = sum(len(sample.rods) for sample in digest.samples) / 360
        assert 0.5 < rods / (2 * PART_S / 3600) < 1.0

    def test_a_second_reading_gives_the_same_digest(self, trip: TripData, digest: Digest) -> None:
        again = tripdata.digest_of(trip)
        assert (again.samples, again.hits, again.body()) == (digest.samples, digest.hits, digest.body())

    def test_a_hit_moved_after_the_trip_is_looked_up_where_it_was(self, trip: TripData, digest: Digest) -> None:
        hit = next(hit for hit in digest.hits if hit.rod == "6" and hit.counts)
        assert hit.at_s is not None
        from sternwatch.logbook.actions.kinds import parse

        moved = parse({
            "id": "late", "time": "2026-07-19T12:00:00Z", "elapsed_s": PART_S - 1, "kind": "retime", "of": hit.id,
            "to": "2026-07-18T23:04:44.200Z", "to_elapsed_s": 164.2,
        })  # fmt: skip
        again = tripdata.digest_of(replace(trip, actions=[*trip.actions, moved]))
        found = next(h for h in again.hits if h.id == hit.id)
        assert (found.at_s, found.from_memory) == (164.2, True)
        assert found.boat is not None
        assert found.boat.at_s == 164.0


class TestPacking:
    def test_unpacked_elsewhere_it_is_the_same_trip(self, trip: TripData, digest: Digest, tmp_path: Path) -> None:
        target = tmp_path / "a.trip"
        pack(trip, target)
        there = unpack(target, tmp_path / "there")
        assert replace(there, feed=trip.feed, actions=list(there.actions), events=()) == replace(
            trip, actions=list(trip.actions), events=()
        )
        assert there.feed is not None
        assert trip.feed is not None
        assert there.feed.read_bytes() == trip.feed.read_bytes()
        assert there.basis == trip.basis
        assert everything(there, tripdata.digest_of(there)) == everything(trip, digest)

    def test_packing_twice_gives_the_same_bytes(self, trip: TripData, tmp_path: Path) -> None:
        pack(trip, tmp_path / "a.trip")
        pack(unpack(tmp_path / "a.trip", tmp_path / "there"), tmp_path / "b.trip")
        assert (tmp_path / "a.trip").read_bytes() == (tmp_path / "b.trip").read_bytes()

    @pytest.mark.parametrize("cut", [10, 300, 5000])
    def test_a_damaged_file_is_refused_and_leaves_nothing(self, trip: TripData, tmp_path: Path, cut: int) -> None:
        pack(trip, tmp_path / "a.trip")
        (tmp_path / "bad.trip").write_bytes((tmp_path / "a.trip").read_bytes()[:cut])
        with pytest.raises(TripError, match=r"bad\.trip: is no packed trip, or is damaged"):
            unpack(tmp_path / "bad.trip", tmp_path / "there")
        assert list((tmp_path / "there").glob("*")) == []

    def test_other_archives_are_refused_by_name(self, tmp_path: Path) -> None:
        with zipfile.ZipFile(tmp_path / "x.trip", "w") as archive:
            archive.writestr("hello.txt", "hello")
        with pytest.raises(TripError, match=r"x\.trip: trip\.json is missing"):
            unpack(tmp_path / "x.trip", tmp_path)

    @pytest.mark.parametrize(
        ("change", "said"),
        [
            ({"format": 9}, "is of format 9; this sternwatch reads format 1"),
            ({"id": "../../etc/x"}, r'trip\.json: id = "\.\./\.\./etc/x" is not accepted; accepted: 1 to 80 letters'),
            ({"begun": "yesterday"}, r'trip\.json: begun = "yesterday" is not accepted; accepted: an ISO 8601 time'),
            ({"about": 3}, r"trip\.json: about = 3 is not accepted; accepted: a valid dictionary"),
        ],
    )
    def test_a_manifest_that_is_wrong_is_refused(
        self, trip: TripData, tmp_path: Path, change: dict[str, object], said: str
    ) -> None:
        pack(trip, tmp_path / "a.trip")
        with zipfile.ZipFile(tmp_path / "a.trip") as source, zipfile.ZipFile(tmp_path / "b.trip", "w") as target:
            for name in source.namelist():
                data = source.read(name)
                if name == "trip.json":
                    data = json.dumps(json.loads(data) | change).encode()
                target.writestr(name, data)
        with pytest.raises(TripError, match=said):
            unpack(tmp_path / "b.trip", tmp_path / "there")
        assert not list(tmp_path.rglob("*.nmea"))


def candump(frame: bytes) -> str:
    """A gateway's frame as a log of candump has it."""
    identifier, *data = frame.decode().split()
    return f"{identifier}#{''.join(data)}"


class TestCommands:
    """Through the command line, with a data folder of its own."""

    @pytest.fixture
    def run(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> Callable[..., tuple[int, str, str]]:
        def call(where: str, *args: str) -> tuple[int, str, str]:
            monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path / where))
            monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path / "config"))
            code = main(list(args))
            out = capsys.readouterr()
            return code, out.out, out.err

        return call

    def test_a_bus_is_taken_in_packed_and_unpacked(
        self, run: Callable[..., tuple[int, str, str]], part: Path, tmp_path: Path
    ) -> None:
        """With the prefix of ``replay``; without it what to say is said."""
        log, spread = tmp_path / "bus.log", ["--spread", str(part / "part.toml")]
        lines = demo_bus(600.0, 30.0)
        log.write_text("".join(f"({1784000000 + one.t_s:.6f}) can0 {candump(one.data)}\n" for one in lines))
        code, _, said = run("here", "trip", "import", str(log), *spread)
        assert (code, f"n2k:{log} plays it" in said) == (1, True)
        code, out, _ = run("here", "trip", "import", f"n2k:{log}", *spread)
        trip_id = out.split(":")[0]
        _, straight, _ = run("here", "replay", f"n2k:{log}", *spread, "--headless", "--json")
        assert run("here", "trip", "pack", "last", str(tmp_path / "t.trip"))[0] == 0
        assert run("there", "trip", "unpack", str(tmp_path / "t.trip"))[0] == 0
        kept = tmp_path / "there" / "recordings" / f"{trip_id}.nmea"
        _, again, _ = run("there", "replay", str(kept), *spread, "--headless", "--json")
        rows = [json.loads(row) for row in straight.splitlines()]
        assert [json.loads(row) for row in again.splitlines()] == rows
        assert sum(row["stw_m_s"] is not None for row in rows) >= 25
        assert run("there", "debrief", "last", "--json")[0] == 0

    def test_a_trip_goes_round_and_comes_back_the_same(
        self, run: Callable[..., tuple[int, str, str]], part: Path, tmp_path: Path
    ) -> None:
        files = ["--spread", str(part / "part.toml"), "--actions", str(part / "part.actions.jsonl")]
        code, out, _ = run("here", "trip", "import", str(part / "part.nmea"), *files, "--utc-offset", "UTC-04:00")
        assert code == 0
        trip_id = out.split(":")[0]
        code, first, _ = run("here", "debrief", "last", "--json")
        assert code == 0
        assert json.loads(first)["summary"]["trip"] == trip_id
        code, kept, _ = run("here", "debrief", trip_id[:13], "--json")  # from the rows kept
        assert (code, kept) == (0, first)
        assert run("here", "trip", "pack", "last", str(tmp_path / "t.trip"))[0] == 0
        assert run("there", "trip", "unpack", str(tmp_path / "t.trip"))[0] == 0
        code, there, _ = run("there", "debrief", "last", "--json")
        assert (code, there) == (0, first)
        code, actions, _ = run("there", "trip", "export", "last", "--what", "actions")
        (tmp_path / "again.jsonl").write_text(actions, encoding="utf-8")
        assert (code, load_actions(tmp_path / "again.jsonl")) == (0, load_actions(part / "part.actions.jsonl"))
        files = ["--spread", str(part / "part.toml"), "--actions", str(tmp_path / "again.jsonl")]
        run("third", "trip", "import", str(part / "part.nmea"), *files, "--utc-offset", "UTC-04:00")
        assert run("third", "debrief", "last", "--json")[1] == first
        code, season, _ = run("here", "season", "--json")
        assert code == 0
        assert json.loads(season)["rod_hours"] == pytest.approx(json.loads(first)["rod_hours"])
        assert json.loads(season)["hits_in_hours"] == json.loads(first)["hits_in_hours"]
        assert run("here", "logbook", "verify")[0] == 0
        code, out, _ = run("here", "logbook", "backup", str(tmp_path / "copy.sqlite"))
        assert code == 0
        assert run("here", "logbook", "verify", str(tmp_path / "copy.sqlite"))[0] == 0
        assert run("here", "logbook", "backup", str(tmp_path / "copy.sqlite"))[0] == 1

    def test_beside_a_running_console_a_trip_can_be_read_and_nothing_is_written(
        self, run: Callable[..., tuple[int, str, str]], part: Path
    ) -> None:
        files = ["--spread", str(part / "part.toml"), "--actions", str(part / "part.actions.jsonl")]
        run("here", "trip", "import", str(part / "part.nmea"), *files)
        with Logbook(_data("here")):  # as a console holds it
            code, out, _ = run("here", "debrief", "last", "--json")
            assert code == 0
            assert json.loads(out)["rod_hours"] > 0.05
            code, _, said = run("here", "trip", "end")
            assert code == 1
            assert said.endswith("so ending the trip must wait: close it first\n")
        assert json.loads(run("here", "season", "--json")[1])["trips_not_debriefed"] != []

    def test_what_cannot_be_is_a_sentence(self, run: Callable[..., tuple[int, str, str]], part: Path) -> None:
        assert run("none", "debrief", "last") == (
            1, "", f"sternwatch: there is no logbook yet; your first trip on the water makes one ({_data('none')})\n",
        )  # fmt: skip
        feed = str(part / "part.nmea")
        assert "a recording needs --spread" in run("here", "trip", "import", feed)[2]
        run("here", "trip", "import", feed, "--spread", str(part / "part.toml"))
        assert "no trip 'nope' in the logbook; accepted: last, or the beginning" in run("here", "debrief", "nope")[2]
        assert "a GPX file holds nothing but places" in run("here", "trip", "export", "last", "--what", "gpx")[2]
        assert run("here", "trip", "end")[2] == "sternwatch: no trip is open\n"
        with pytest.raises(SystemExit, match="2"):
            run("here", "season", "--within", "3 km")  # km is no unit here
        code, _, said = run("here", "season", "--within", "3000 m")
        assert code == 1
        assert said.endswith("sternwatch: --within needs --near: the distance is from that place\n")

    def test_a_file_that_is_no_logbook_is_a_sentence(
        self, run: Callable[..., tuple[int, str, str]], tmp_path: Path
    ) -> None:
        (tmp_path / "odd").mkdir()
        (tmp_path / "odd" / "logbook.sqlite").write_bytes(b"not a database, but long enough to look at" * 100)
        for command in (["debrief", "last"], ["season"], ["trip", "list"], ["logbook", "verify"]):
            code, _, said = run("odd", *command)
            assert (code, said.count("\n")) == (1, 1), said
            assert "damaged or not a logbook" in said

    def test_a_damaged_entry_is_found(self, run: Callable[..., tuple[int, str, str]], part: Path) -> None:
        files = ["--spread", str(part / "part.toml"), "--actions", str(part / "part.actions.jsonl")]
        run("here", "trip", "import", str(part / "part.nmea"), *files)
        with sqlite3.connect(_data("here")) as connection:
            connection.execute("DROP TRIGGER action_keeps_update")
            connection.execute("UPDATE action SET body = replace(body, 'coho', 'tuna') WHERE body LIKE '%coho%'")
        connection.close()
        code, out, _ = run("here", "logbook", "verify")
        assert code == 1
        assert "its text is not what was stored (checksum)" in out


def _data(where: str) -> Path:
    import os

    return Path(os.environ["STERNWATCH_DATA_DIR"]).with_name(where) / "logbook.sqlite"


class TestExports:
    def test_places_are_left_out_unless_asked(self, trip: TripData, digest: Digest) -> None:
        made = report(trip, digest, SYSTEMS["us"])
        texts = {
            "page": page(made), "json": as_json(made), "hits": exports.hits_csv(trip, digest),
            "exposure": exports.exposure_csv(trip, digest), "return": exports.return_csv([(trip, digest)]),
            "geojson": exports.geojson(digest, trip.id, positions=False),
            "actions": exports.actions_jsonl(trip.actions),
        }  # fmt: skip
        drawn = re.sub(r' (?:d|x|y|transform|style)="[^"]*"', "", texts["page"])  # where lines lie on the paper
        for name, text in (texts | {"page": drawn}).items():
            assert not PLACE.search(text), name
        assert PLACE.search(exports.hits_csv(trip, digest, positions=True))
        told = report(trip, digest, SYSTEMS["us"], positions=True)
        assert PLACE.search(as_json(told))
        assert "It begins at" in page(told)
        assert "Track over ground" in page(made)

    def test_hits_as_csv(self, trip: TripData, digest: Digest) -> None:
        text = exports.hits_csv(trip, digest)
        assert "\r\n" in text
        rows = list(csv.DictReader(io.StringIO(text, newline="")))
        assert len(rows) == len(digest.hits)
        first = next(row for row in rows if row["counts"] == "yes")
        assert first["lure"] == "fly"
        assert float(first["depth_low_m"]) < float(first["depth_m"]) < float(first["depth_high_m"])
        assert first["time"].endswith("Z")

    def test_a_note_is_no_formula(self, trip: TripData, digest: Digest) -> None:
        hit = replace(digest.hits[0], note='=HYPERLINK("x"), "quoted"')
        text = exports.hits_csv(trip, replace(digest, hits=(hit,)))
        (row,) = csv.DictReader(io.StringIO(text, newline=""))
        assert row["note"] == '\'=HYPERLINK("x"), "quoted"'

    def test_every_hour_of_exposure_is_a_row(self, trip: TripData, digest: Digest) -> None:
        rows = list(csv.DictReader(io.StringIO(exports.exposure_csv(trip, digest), newline="")))
        assert sum(int(row["seconds"]) for row in rows) == 10 * sum(len(s.rods) for s in digest.samples)

    def test_the_charters_return(self, trip: TripData, digest: Digest) -> None:
        facts = replace(digest.crew.facts, people=3)
        told = replace(digest, crew=replace(digest.crew, facts=facts))
        rows = list(csv.DictReader(io.StringIO(exports.return_csv([(trip, told)]), newline="")))
        assert [(row["date"], row["anglers"], row["species"], row["kept"], row["freed"]) for row in rows] == [
            ("2026-07-18", "3", "coho", "1", "0"),
        ]
        lines_in = sum(bool(sample.rods) for sample in digest.samples) / 360
        assert float(rows[0]["hours"]) == pytest.approx(lines_in, abs=0.051)

    def test_gpx_by_the_published_schema(self, trip: TripData, digest: Digest) -> None:
        # GPX 1.1 schema as published by TopoGrafix, http://www.topografix.com/GPX/1/1/gpx.xsd
        schema = xmlschema.XMLSchema(Path(__file__).parents[1] / "data" / "gpx11.xsd")
        text = exports.gpx(digest, trip.id, SYSTEMS["us"])
        schema.validate(text)
        found = schema.to_dict(text)
        assert found["@version"] == "1.1"  # type: ignore[index, call-overload]
        assert len(found["wpt"]) == sum(hit.counts for hit in digest.hits)  # type: ignore[index, call-overload, arg-type]
        with pytest.raises(xmlschema.XMLSchemaValidationError):
            schema.validate(text.replace("<wpt lat=", "<wpt north=", 1))

    def test_geojson_by_its_rules(self, trip: TripData, digest: Digest) -> None:
        """RFC 7946: longitude first, a member geometry in every feature even if null, no crs."""
        made = json.loads(exports.geojson(digest, trip.id, positions=True))
        assert made["type"] == "FeatureCollection"
        assert "crs" not in made
        for feature in made["features"]:
            assert feature["type"] == "Feature"
            assert {"geometry", "properties"} <= feature.keys()
        point = next(f["geometry"] for f in made["features"] if f["geometry"]["type"] == "Point")
        assert point["coordinates"][0] == pytest.approx(-89.55, abs=0.1)
        line = next(f["geometry"] for f in made["features"] if f["geometry"]["type"] == "MultiLineString")
        assert all(len(part) >= 2 for part in line["coordinates"])
        hidden = json.loads(exports.geojson(digest, trip.id, positions=False))
        assert {f["geometry"] for f in hidden["features"]} == {None}


class TestPage:
    def test_what_a_crew_writes_is_text_and_never_markup(self, trip: TripData, digest: Digest) -> None:
        hit = replace(digest.hits[0], note="<script>alert(1)</script>", species="<b>coho</b>")
        text = page(report(trip, replace(digest, hits=(hit,)), SYSTEMS["us"]))
        assert "<script>" not in text
        assert "&lt;script&gt;alert(1)&lt;/script&gt;" in text

    def test_it_needs_nothing_from_elsewhere(self, trip: TripData, digest: Digest) -> None:
        text = page(report(trip, digest, SYSTEMS["us"]))
        outside = re.findall(r'(?:src|href)="(?!#)([^"]*)"', text)
        assert outside == []
        assert "Depths are computed, not measured. Not for navigation." in text
        assert text.count("<svg") == 6  # boat, two rods, rates, and the chart in two widths

    def test_without_its_libraries_it_says_what_to_install(
        self, trip: TripData, digest: Digest, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setitem(sys.modules, "jinja2", None)
        with pytest.raises(PageError, match=r"a page needs the packages .* pip install jinja2 matplotlib$"):
            page(report(trip, digest, SYSTEMS["us"]))

    def test_what_only_a_page_needs_is_loaded_for_a_page_alone(self) -> None:
        code = (
            "import sys, sternwatch.cli.trips.debrief, sternwatch.debrief.report.text, "
            "sternwatch.debrief.report.asjson, sternwatch.debrief.trip.exports, sternwatch.debrief.report.page\n"
            "print([name for name in ('matplotlib', 'jinja2', 'gpxpy', 'textual') if name in sys.modules])"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stdout == "[]\n"

    def test_the_same_trip_run_again_with_another_spread(self, trip: TripData, digest: Digest) -> None:
        from sternwatch.debrief.trip.digest import make_digest
        from sternwatch.feed.recording.reader import open_recording
        from sternwatch.gear.spread_file.load import parse_spread

        thick = parse_spread(trip.spread_text.replace('diameter = "0.38 mm"', 'diameter = "0.6 mm"'))
        assert trip.feed is not None
        with open_recording(trip.feed) as recording:
            other = make_digest(recording, trip.setup(thick), trip.actions)
        beside = report(trip, digest, SYSTEMS["us"], other=other, other_name="thick.toml").beside
        assert beside is not None
        changed = [float(row[4]) for row in beside.rows if row[1] in "36"]
        assert changed
        assert all(change < -0.5 for change in changed)  # thicker wire drags more and runs shallower

    def test_beside_it_with_another_calibration(
        self, part: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        import numpy as np

        from sternwatch.answers.belief import calibration_file
        from sternwatch.answers.belief.calibration import Calibration
        from sternwatch.gear.spread_file.load import load_spread
        from sternwatch.gear.spread_file.uncertain import prints, uncertain

        for folder in ("data", "config"):
            monkeypatch.setenv(f"STERNWATCH_{folder.upper()}_DIR", str(tmp_path / folder))
        spread = load_spread(part / "part.toml")
        name = "line wire strumming"
        hums = Calibration(
            "hums", (name,), np.array([1.5]), np.diag([0.1]), (uncertain(spread)[name].subject,), prints(spread)
        )  # fmt: skip
        path = calibration_file.save(hums, tmp_path / "hums.json")
        files = ["--spread", str(part / "part.toml"), "--actions", str(part / "part.actions.jsonl")]
        assert main(["trip", "import", str(part / "part.nmea"), *files]) == 0
        capsys.readouterr()
        assert main(["debrief", "last", "--calibration", str(path), "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        changed = [float(row["change ft"]) for row in told["beside"] if row["rod"] in "36"]
        assert changed
        assert all(change < -0.5 for change in changed)  # a wire that hums is lifted
        assert f"depth with {path} ft" not in told["beside"][0]
        assert f"with {path} ft" in told["beside"][0]
        assert main(["debrief", "last", "--calibration", str(tmp_path / "none.json")]) == 1
        assert "none.json: there is no such file" in capsys.readouterr().err
