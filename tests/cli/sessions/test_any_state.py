"""Whatever became of a file of the user's or of ours: an answer or one sentence, at once, and nothing of it lost."""

from __future__ import annotations

import json
import os
import random
import shutil
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cli.sessions.damage import at_once, damage
from sternwatch import settings
from sternwatch.answers.belief import calibration_file
from sternwatch.cli.common.session import forgiving_preferences
from sternwatch.config import ConfigError
from sternwatch.console import state
from sternwatch.console.ashore import interview
from sternwatch.console.editor.drafts import Draft
from sternwatch.console.paint import themes
from sternwatch.debrief.trip.notebook import read_notebook
from sternwatch.debrief.trip.packing import pack, unpack
from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.deck import access
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import Line
from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.recording.speech_detection import spelled
from sternwatch.feed.sources.ports import RateMemory
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.shelf.pieces import load_shelf
from sternwatch.gear.values.faults import SpreadError
from sternwatch.logbook.actions.kinds import ActionError, load_actions
from sternwatch.logbook.store import writing
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import new_trip
from sternwatch.places import shipped
from sternwatch.practice.drills import files as drills

DEMO = shipped("demo_logs")
WHEN = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)
LONGEST_S = 10.0  # of the processor


@dataclass(frozen=True)
class Kind:
    """A file: its name, what a good one holds, and what a start or a command asks of it; the answer in a word."""

    name: str
    good: bytes
    ask: Callable[[Path], str]


def _refused(ask: Callable[[Path], object], *faults: type[Exception]) -> Callable[[Path], str]:
    """``ask`` as a question that may end in one of ``faults``, whose words are one line that is shown."""

    def asked(path: Path) -> str:
        try:
            ask(path)
        except faults as fault:
            return "said" if str(fault).strip() else "without a word"
        return "used"

    return asked


def _preferences(path: Path) -> str:
    _, said = forgiving_preferences()
    settings.given(path)
    try:
        settings.change_all({("bell",): False}, path)
    except ConfigError:
        return "said"
    return "said" if said else "used"


def _draft(path: Path) -> str:
    spread = path.parent / "boat.toml"
    shutil.copyfile(DEMO / "evening.toml", spread)
    os.utime(spread, (1, 1))
    draft = Draft(spread)
    draft.path.parent.mkdir(parents=True, exist_ok=True)
    path.rename(draft.path)
    before = draft.path.read_bytes() if draft.path.is_file() else None
    document = SpreadDocument.open(spread)
    said = draft.take_up(document)
    if before is not None:  # it is taken up, stands where it was, or was put aside
        left = [p.read_bytes() for p in draft.path.parent.iterdir() if p.is_file()]
        assert before in left or said.startswith("Taken up")
    draft.keep(document)
    return "said" if said else "used"


def _journal(path: Path) -> str:
    before = path.read_bytes() if path.is_file() else None
    with Logbook(path.with_name("logbook.sqlite"), busy_s=0.1) as book:
        trouble = book.trouble
        assert book.begin_trip(new_trip(WHEN)).kept in ("logbook", "aside")
        trips = len(book.trips()) if not trouble else 0
    kept = b"".join(p.read_bytes() for p in path.parent.glob("*.unread*") if p.is_file())
    if before is not None:
        kept += path.read_bytes() if path.is_file() else b""
        lines = [line for line in before.split(b"\n") if line.strip()]
        assert all(line in kept for line in lines) or trips > 1 or kept.count(b"\n") >= len(lines)
    return "said" if trouble or kept else "used"


def _resumed(path: Path) -> str:
    before = path.read_bytes() if path.is_file() else b""
    clock = FeedClock.resume(path)
    t_s, unix_ms = clock.now()
    assert 0 <= t_s < 2 * 366 * 86_400
    recorder = Recorder(path)
    recorder.record(Line(t_s, unix_ms, "gps", b"$IIMTW,7.0,C"))
    recorder.close()
    error = recorder.status.error
    if not error:
        data = path.read_bytes()
        assert data.startswith(before)
        assert data.endswith(b"$IIMTW,7.0,C\r\n")
    return "said" if error else "used"


def _played(path: Path) -> str:
    spelled(path)
    try:
        recording = open_recording(path)
    except FeedError as fault:
        return "said" if str(fault) else "without a word"
    with recording:
        decoder = Decoder(written=recording.written)
        last = 0.0
        for line in recording.lines():
            assert line.t_s >= last
            last = line.t_s
            decoder.decode(line)
    return "said" if recording.notes else "used"


def _token(path: Path) -> str:
    token = access.take_up(path.parent, "watch", 1e9)
    assert len(token) == 16
    access.forget(path.parent, token)
    return "used"


def _rates(path: Path) -> str:
    cache = RateMemory(path)
    found = cache.get("/dev/x")
    cache.put("/dev/x", 4800)
    return "used" if found else "forgotten"


def _packed(folder: Path) -> bytes:
    actions = load_actions(DEMO / "evening.actions.jsonl")[:20]
    feed = folder / "feed.nmea"
    feed.write_bytes((DEMO / "evening.nmea").read_bytes()[:20_000])
    text = (DEMO / "evening.toml").read_text(encoding="utf-8")
    pack(TripData("20260701T120000Z-aaaaaaaa", WHEN, text, actions, feed), folder / "a.trip")
    return (folder / "a.trip").read_bytes()


_THEME = next(shipped("themes").glob("*.toml"))
_CALIBRATION = {
    "format": calibration_file.FORMAT, "name": "a", "made": None, "spread": "a", "names": ["a"], "subjects": ["a"],
    "prints": {}, "mean": [0.0], "covariance": [[1.0]],
}  # fmt: skip


@pytest.fixture(scope="module")
def kinds(tmp_path_factory: pytest.TempPathFactory) -> list[Kind]:
    folder = tmp_path_factory.mktemp("good")
    spread, acts = (DEMO / "evening.toml").read_bytes(), (DEMO / "evening.actions.jsonl").read_bytes()
    feed = (DEMO / "evening.nmea").read_bytes()[:30_000]
    journal = "".join(json.dumps(writing.begin(new_trip(WHEN))) + "\n" for _ in range(5)).encode()
    plain = b"\r\n".join(line.rpartition(b"\\")[2] for line in feed.split(b"\r\n"))
    token = {"token": "a" * 16, "session": "watch", "pid": 1, "begun_s": 1e9, "taken_s": 1e9}
    hits = b"date,time,rod,outcome\n2026-07-01,12:00,1,boxed\n2026-07-02,13:00,2,\n"
    preferences = b'units = "metric"\nrisk = 0.2\nspecies = ["coho"]\n[feed.gps]\nsource = "gpsd:"\n'
    shelf = b'[line.wire]\nmaterial = "nylon"\ndiameter = "0.5 mm"\n'
    drill = next(drills.SHIPPED.glob("*.toml")).read_bytes()
    calibration = json.dumps(_CALIBRATION).encode()
    return [
        Kind("config.toml", preferences, _preferences),
        Kind("boat.toml", spread, _refused(SpreadDocument.open, SpreadError)),
        Kind("shelf.toml", shelf, _refused(load_shelf, SpreadError)),
        Kind("draft.toml", spread, _draft),
        Kind("a.json", calibration, _refused(calibration_file.load, calibration_file.CalibrationError)),
        Kind("logbook.sqlite.aside.jsonl", journal, _journal),
        Kind("open.nmea", feed, _resumed),
        Kind("stamped.nmea", feed, _played),
        Kind("plain.nmea", plain, _played),
        Kind("acts.jsonl", acts, _refused(load_actions, ActionError)),
        Kind("a.trip", _packed(folder), _refused(lambda p: unpack(p, p.parent / "there"), TripError, OSError)),
        Kind("hits.csv", hits, _refused(lambda p: read_notebook(p, 0), TripError)),
        Kind(access.NAME, json.dumps(token).encode(), _token),
        Kind("rates.json", b'{"/dev/x": 38400}', _rates),
        Kind("state.json", b'{"theme": "dusk"}', lambda p: "used" if state.load(p).theme else "forgotten"),
        Kind("said.json", b'{"boat": "x"}', lambda p: "used" if interview._read(p) else "forgotten"),
        Kind("theme.toml", _THEME.read_bytes(), _refused(themes.read, themes.ThemeError)),
        Kind("drill.toml", drill, _refused(drills.read_drill, drills.DrillError)),
    ]  # fmt: skip


def _campaign(kinds: list[Kind], folder: Path, monkeypatch: pytest.MonkeyPatch, count: int, seed: int) -> None:
    counted: dict[str, Counter[str]] = {kind.name: Counter() for kind in kinds}
    slowest: dict[str, float] = {}
    for n in range(count):
        kind = kinds[n % len(kinds)]
        rng = random.Random(f"{seed} {n}")
        home = folder / str(n)
        home.mkdir()
        for name in ("CONFIG", "DATA", "LOG"):
            monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(home))
        how = damage(home / kind.name, kind.good, rng)
        began = time.process_time()
        try:
            with at_once():
                counted[kind.name][kind.ask(home / kind.name)] += 1
        except FileNotFoundError:
            assert how == "dangling", (kind.name, n)
            counted[kind.name]["said"] += 1
        except BaseException as fault:
            raise AssertionError(f"{kind.name}, {how}, case {n} of {seed}: {fault!r}") from fault
        slowest[kind.name] = max(slowest.get(kind.name, 0.0), time.process_time() - began)
        shutil.rmtree(home, ignore_errors=True)
    for name, outcomes in counted.items():
        print(f"{name:28} {dict(sorted(outcomes.items()))}, slowest {slowest[name]:.2f} s")
        assert not outcomes["without a word"]
        assert slowest[name] < LONGEST_S
    assert sum(sum(outcomes.values()) for outcomes in counted.values()) == count


def test_a_good_one_of_each_is_used(kinds: list[Kind], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for kind in kinds:
        home = tmp_path / f"{kind.name} good"
        home.mkdir()
        for name in ("CONFIG", "DATA", "LOG"):
            monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(home))
        (home / kind.name).write_bytes(kind.good)
        assert kind.ask(home / kind.name) in ("used", "said" if kind.name == "draft.toml" else "used"), kind.name


def test_damaged_files_stop_nothing(kinds: list[Kind], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _campaign(kinds, tmp_path, monkeypatch, 270, 1)


@pytest.mark.campaign
@pytest.mark.parametrize("part", range(10))
def test_ten_thousand_damaged_files_stop_nothing(
    kinds: list[Kind], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, part: int
) -> None:
    _campaign(kinds, tmp_path, monkeypatch, 1000, 10 + part)
