"""What the forecasts of a session raised, in the debrief of the trip, here and wherever the trip is taken."""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from sternwatch.cli.main import main
from sternwatch.debrief.report.asjson import as_json
from sternwatch.debrief.report.prepared import report
from sternwatch.debrief.report.text import text_of
from sternwatch.debrief.trip.digest import Digest
from sternwatch.debrief.trip.packing import event_lines, pack, unpack
from sternwatch.debrief.trip.sources import TripData, TripError, digest_of, from_logbook
from sternwatch.debrief.trip.trip_events import AlertRow, Separation, answered
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import RodDefaults
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Event, Trip, open_read_only
from sternwatch.watch.outlook.alerts import ForecastAlerts

DEMO = Path(__file__).parents[3] / "demo_logs"
BEGUN = datetime(2026, 7, 18, 23, 2, tzinfo=UTC)
CROSS, TOUCH = "4 P DOWN and 5 S DOWN cross (80 %)", "3 P LOW comes to the bottom"


def event(alert: str, t_s: float, state: str, kind: str = "crossing", keys: tuple[str, ...] = ("4", "5")) -> Event:
    text = {"crossing": CROSS, "bottom touch": TOUCH}.get(kind, kind)
    return Event(alert, t_s, kind, "warning", state, keys, text, "Hold the course.")


EVENTS = (
    event("40.1", 40.0, "active", "slack", ("3",)),  # a picture's: what is played again tells it
    event("ahead 100.1", 100.25, "active"),
    event("ahead 104.2", 104.0, "active", "bottom touch", ("3",)),
    event("ahead 100.1", 110.0, "acknowledged"),
    event("ahead 100.1", 130.25, "gone"),
    event("ahead 100.1", 150.0, "active"),
    event("ahead 999.9", 160.0, "gone"),  # of one that nobody saw come
)
SLACK = AlertRow("slack", "caution", ("3",), "3 P LOW: diver slack", "", 102.0, 108.0)


@pytest.fixture
def kept(tmp_path: Path) -> TripData:
    """A trip of the logbook whose recording is gone, its alerts stored as a live session stores them."""
    spread_text = (DEMO / "evening.toml").read_text(encoding="utf-8")
    act = parse({
        "id": "a", "time": (BEGUN + timedelta(seconds=112)).isoformat(), "elapsed_s": 112.0, "kind": "in", "rod": "4",
    })  # fmt: skip
    with Logbook(tmp_path / "logbook.sqlite") as book:
        book.begin_trip(Trip("20260718T230200Z-00000000", BEGUN, start="fishing", spread_text=spread_text))
        book.submit("20260718T230200Z-00000000", act)
        for one in EVENTS:
            book.record("20260718T230200Z-00000000", one)
        book.end_trip("20260718T230200Z-00000000", BEGUN + timedelta(hours=1))
    connection = open_read_only(tmp_path / "logbook.sqlite")
    try:
        return from_logbook(connection, "last", tmp_path)
    finally:
        connection.close()


def told(data: TripData, digest: Digest) -> list[tuple[str, ...]]:
    return list(report(data, digest, SYSTEMS["us"]).alerts.rows)


def everything(data: TripData) -> tuple[str, str]:
    made = report(data, digest_of(data), SYSTEMS["us"])
    return text_of(made), as_json(made)


def test_they_stand_among_the_pictures_alerts_in_order_of_time(kept: TripData) -> None:
    digest = replace(digest_of(kept), alerts=(SLACK,))
    assert told(kept, digest) == [
        ("1:40", "warning", CROSS, "30 s", "4 in after 12 s"),
        ("1:42", "caution", "3 P LOW: diver slack", "6 s", "nothing"),
        ("1:44", "warning", TOUCH, "to the end", "nothing"),
        ("2:30", "warning", CROSS, "to the end", "nothing"),
    ]
    made = report(kept, digest, SYSTEMS["us"])
    assert [alert["begun_s"] for alert in json.loads(as_json(made))["alerts"]] == [100.25, 102.0, 104.0, 150.0]
    assert [alert.text for alert in made.digest.alerts] == [row[2] for row in made.alerts.rows]


@pytest.mark.parametrize(("keys", "ended_s", "rows"), [(("3",), 200.0, 3), (("6",), 200.0, 4), (("3",), 104.0, 4)])
def test_what_a_picture_tells_of_the_same_rods_is_said_once(
    kept: TripData, keys: tuple[str, ...], ended_s: float, rows: int
) -> None:
    own = AlertRow("bottom touch", "warning", keys, "at the bottom", "", 90.0, ended_s)
    assert len(told(kept, replace(digest_of(kept), alerts=(own,)))) == rows


def test_what_was_taken_back_did_not_follow() -> None:
    """A hit on the wrong rod, taken back at once, stood as what the crew did about the bottom."""
    made = [
        {"id": "a", "kind": "hit", "rod": "3", "elapsed_s": 110.0},
        {"id": "b", "kind": "undo", "of": "a", "elapsed_s": 112.0},
        {"id": "c", "kind": "in", "rod": "3", "elapsed_s": 120.0},
    ]
    actions = [parse({"time": BEGUN.isoformat(), **one}) for one in made]
    rods = [RodDefaults("3", "P LOW", 30.0, None, None)]
    assert answered(SLACK, fold(actions[::2], rods, "fishing"), (), None).answered == ((8.0, "3 hit"), (18.0, "3 in"))
    assert answered(SLACK, fold(actions, rods, "fishing"), (), None).answered == ((18.0, "3 in"),)


def test_without_a_forecasts_alerts_nothing_changes(kept: TripData) -> None:
    digest = replace(digest_of(kept), alerts=(SLACK,))
    for events in ((), EVENTS[:1]):
        made = report(replace(kept, events=events), digest, SYSTEMS["us"])
        assert made.digest == digest


def test_the_ids_are_those_that_the_lookout_gives() -> None:
    assert ForecastAlerts({})._book.prefix == EVENTS[1].id.split("1")[0]


def test_a_packed_trip_takes_them_along(kept: TripData, tmp_path: Path) -> None:
    pack(kept, tmp_path / "a.trip")
    there = unpack(tmp_path / "a.trip", tmp_path / "there")
    assert tuple(there.events) == EVENTS
    assert everything(there) == everything(kept)
    assert CROSS in everything(there)[0]
    pack(there, tmp_path / "b.trip")
    assert (tmp_path / "a.trip").read_bytes() == (tmp_path / "b.trip").read_bytes()


def repacked(source: Path, target: Path, alerts: str | None) -> Path:
    """The packed trip with other alerts; None: without the part."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            if name != "events.jsonl":
                new.writestr(name, old.read(name))
        if alerts is not None:
            new.writestr("events.jsonl", alerts)
    return target


def test_an_older_pack_without_them_is_accepted(kept: TripData, tmp_path: Path) -> None:
    pack(kept, tmp_path / "a.trip")
    there = unpack(repacked(tmp_path / "a.trip", tmp_path / "old.trip", None), tmp_path / "there")
    assert there.events == []
    assert everything(there) == everything(replace(kept, events=()))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('"elapsed_s": 104.0', '"elapsed_s": NaN'), "elapsed_s is not a number of seconds"),
        (('"elapsed_s": 104.0', '"at": 104.0'), "'elapsed_s' is missing"),
        (('"keys": ["3"], "text": "3 P', '"keys": 3, "text": "3 P'), "keys are no list of rods' keys"),
        (('"kind": "bottom touch"', '"kind": 7'), "kind is not text"),
    ],
)
def test_a_line_that_is_no_alert_is_named(kept: TripData, tmp_path: Path, change: tuple[str, str], said: str) -> None:
    pack(kept, tmp_path / "a.trip")
    bad = repacked(tmp_path / "a.trip", tmp_path / "bad.trip", event_lines(EVENTS).replace(*change))
    with pytest.raises(TripError, match=rf"bad\.trip: events\.jsonl, line 3: is no alert \({said}\)"):
        unpack(bad, tmp_path / "there")


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    """Twenty seconds of the demo evening with one low diver, and alerts beside them."""
    lines = (DEMO / "evening.nmea").read_bytes().splitlines(keepends=True)
    short = [line for line in lines if (found := re.search(rb",r:(\d+)", line)) and int(found[1]) <= 20_000]
    head, *rods = (DEMO / "evening.toml").read_text(encoding="utf-8").split("[[rod]]")
    spread = "[[rod]]".join([head, *(rod for rod in rods if 'key = "3"' in rod)])
    raised = [replace(one, elapsed_s=one.elapsed_s / 10.0) for one in EVENTS]
    (tmp_path / "feed.nmea").write_bytes(b"".join(short))
    for name, text in {"toml": spread, "alerts": event_lines(raised)}.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return {"feed": str(tmp_path / "feed.nmea"), "spread": str(tmp_path / "toml"), "alerts": str(tmp_path / "alerts")}


@pytest.fixture
def run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    def call(where: str, *args: str) -> tuple[int, str, str]:
        for name in ("data", "config"):
            monkeypatch.setenv(f"STERNWATCH_{name.upper()}_DIR", str(tmp_path / where / name))
        code = main(list(args))
        return code, *capsys.readouterr()

    return call


def test_taken_anywhere_the_trip_has_the_same_debrief(
    run: Callable[..., tuple[int, str, str]], files: dict[str, str], tmp_path: Path
) -> None:
    taken = ["trip", "import", files["feed"], "--spread", files["spread"], "--utc-offset", "UTC-04:00"]
    assert run("here", *taken, "--alerts", files["alerts"])[0] == 0
    code, first, _ = run("here", "debrief", "last", "--json")
    assert code == 0
    shown = [alert["text"] for alert in json.loads(first)["alerts"]]
    assert [text for text in shown if text in (CROSS, TOUCH)] == [CROSS, TOUCH, CROSS]
    assert run("here", "debrief", "--json")[1] == first  # the last, and the digest kept
    assert run("here", "trip", "pack", "last", str(tmp_path / "t.trip"))[0] == 0
    assert run("there", "trip", "unpack", str(tmp_path / "t.trip"))[0] == 0
    assert run("there", "trip", "unpack", str(tmp_path / "t.trip"))[0] == 0  # what is there is passed over
    assert run("there", "debrief", "last", "--json")[1] == first
    code, alerts, _ = run("there", "trip", "export", "last", "--what", "alerts")
    assert (code, alerts) == (0, Path(files["alerts"]).read_text(encoding="utf-8"))
    (tmp_path / "again").write_text(alerts, encoding="utf-8")
    assert run("third", *taken, "--alerts", str(tmp_path / "again"))[0] == 0
    assert run("third", "debrief", "last", "--json")[1] == first


def test_where_forecasts_are_not_kept_nobody_says_that_nothing_was_foreseen(kept: TripData) -> None:
    """A recording that was taken in without its alerts: whether a pair was warned of is unknown."""
    digest = replace(digest_of(kept), separations=(Separation(("2", "3"), 0.0, 90.0, 1.5, "wrapped"),))
    watched, taken_in = kept, replace(kept, about={"foretold": False}, events=())
    assert [row[-1] for row in report(watched, digest, SYSTEMS["us"]).separations.rows] == ["none"]
    assert "is not known here" not in text_of(report(watched, digest, SYSTEMS["us"]))
    made = report(taken_in, digest, SYSTEMS["us"])
    assert [row[-1] for row in made.separations.rows] == ["not known"]
    assert "what was forecast on this trip is not known here" in " ".join(text_of(made).split())


def test_the_list_of_trips_has_the_clock_of_the_debrief(
    run: Callable[..., tuple[int, str, str]], files: dict[str, str], tmp_path: Path
) -> None:
    """The crew said UTC-4; the computer that took the trip in lies elsewhere."""
    crew = '{"id": "c", "time": "2026-07-18T23:02:00.000Z", "elapsed_s": 0, "kind": "trip", "utc_offset_min": -240}\n'
    (tmp_path / "crew").write_text(crew, encoding="utf-8")
    taken = ["trip", "import", files["feed"], "--spread", files["spread"], "--utc-offset", "UTC+02:00"]
    assert run("told", *taken, "--actions", str(tmp_path / "crew"))[0] == 0
    assert "2026-07-18 19:02" in run("told", "trip", "list")[1]
    assert json.loads(run("told", "trip", "list", "--json")[1])["utc_offset_min"] == -240
    assert run("untold", *taken)[0] == 0
    assert "2026-07-19 01:02" in run("untold", "trip", "list")[1]


def test_a_recording_taken_in_without_alerts_says_that_forecasts_are_not_known(
    run: Callable[..., tuple[int, str, str]], files: dict[str, str], tmp_path: Path
) -> None:
    taken = ["trip", "import", files["feed"], "--spread", files["spread"]]
    for home, more, known in (("bare", [], False), ("told", ["--alerts", files["alerts"]], True)):
        assert run(home, *taken, *more)[0] == 0
        assert run(home, "trip", "pack", "last", str(tmp_path / f"{home}.trip"))[0] == 0
        assert unpack(tmp_path / f"{home}.trip", tmp_path / f"of {home}").foretold is known


def test_what_cannot_be_is_a_sentence(
    run: Callable[..., tuple[int, str, str]], files: dict[str, str], tmp_path: Path
) -> None:
    taken = ["trip", "import", files["feed"], "--spread", files["spread"], "--alerts"]
    (tmp_path / "odd").write_text("{}\n", encoding="utf-8")
    (tmp_path / "bytes").write_bytes(b"\xff\xfe")
    assert "odd, line 1: is no alert ('id' is missing)" in run("x", *taken, str(tmp_path / "odd"))[2]
    assert "bytes: line 1 is not UTF-8 text" in run("x", *taken, str(tmp_path / "bytes"))[2]
    assert "none: there is no such file" in run("x", *taken, str(tmp_path / "none"))[2]
    notebook = ["trip", "import", files["feed"], "--notebook", "--alerts", files["alerts"]]
    assert "--notebook takes no --spread, --actions or --alerts" in run("x", *notebook)[2]
