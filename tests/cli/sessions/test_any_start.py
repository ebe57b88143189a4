"""Whatever became of a file: ``sternwatch watch`` and ``replay`` come up with a screen, say it, and take entries."""

from __future__ import annotations

import json
import random
import re
import shutil
import sqlite3
import time
from collections import Counter
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.app import App
from textual.pilot import Pilot

from cli.sessions.damage import at_once, damage
from sternwatch import __version__, files, places
from sternwatch.answers.belief import calibration_file
from sternwatch.cli import main as command
from sternwatch.cli.common.boat import boat_on_the_water
from sternwatch.console import state
from sternwatch.console.app import SternwatchApp
from sternwatch.console.ashore.start import StartApp
from sternwatch.console.editor.drafts import Draft
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import new_trip
from sternwatch.watch.picture.model import Session
from watch.conftest import TWO_RODS

SIZE = (120, 36)
COMES_UP_S = 60.0
DEMO = places.shipped("demo_logs")
PREFERENCES = 'units = "metric"\n[feed.gps]\nsource = "tcp:127.0.0.1:9"\n'
SHELF = '[line.wire]\nmaterial = "nylon"\ndiameter = "0.5 mm"\n'
CALIBRATION = {
    "format": calibration_file.FORMAT, "name": "a", "made": None, "spread": "a", "names": ["a"], "subjects": ["a"],
    "prints": {}, "mean": [0.0], "covariance": [[1.0]],
}  # fmt: skip
JOURNAL = "logbook.sqlite.aside.jsonl"
KINDS = (
    "boat.toml", "boat.toml", "logbook.sqlite", "logbook.sqlite", "logbook.sqlite-wal", JOURNAL, "the recording",
    "a recording", "config.toml", "state.json", "shelf.toml", "calibrations/a.json", "the draft", "themes/a.toml",
)  # fmt: skip


@dataclass
class Came:
    """What came up: ``screens`` in order, every word that stood on them, and the entry that was made."""

    screens: list[str] = field(default_factory=list)
    words: str = ""
    entry: str = ""
    kept: str = ""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where everything of the crew's lies."""
    for name in ("CONFIG", "DATA", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    return tmp_path / "home"


@pytest.fixture
def came(monkeypatch: pytest.MonkeyPatch) -> Came:
    """Applications run without a terminal; a crew looks at what comes up, hits on rod 1 and leaves."""
    seen = Came()
    run = App.run

    def without_terminal(app: App[Any], **_: Any) -> Any:
        crew = _on_the_water if isinstance(app, SternwatchApp) else _ashore
        return run(app, headless=True, size=SIZE, auto_pilot=_crew(crew, seen))

    monkeypatch.setattr(App, "run", without_terminal)
    monkeypatch.setattr("sternwatch.cli.common.terminal.there", lambda: True)
    return seen


def _crew(crew: Callable[[Any, Came], Awaitable[None]], seen: Came) -> Callable[[Pilot[Any]], Any]:
    async def at_the_keys(pilot: Pilot[Any]) -> None:
        await crew(pilot, seen)

    return at_the_keys


def _look(pilot: Pilot[Any], seen: Came) -> None:
    lines = pilot.app.screen._compositor.render_strips()
    seen.words += " ".join(" ".join("".join(segment.text for segment in line).split()) for line in lines) + "\n"


async def _ashore(pilot: Pilot[StartApp], seen: Came) -> None:
    seen.screens.append("start" if isinstance(pilot.app, StartApp) else "editor")
    await pilot.pause(0.05)
    _look(pilot, seen)
    pilot.app.exit(None)


async def _on_the_water(pilot: Pilot[SternwatchApp], seen: Came) -> None:
    app = pilot.app
    seen.screens.append("console")
    saved: dict[str, str] = {}
    app.controls.saved = lambda one, _: saved.update({one.id: one.kept})  # type: ignore[method-assign]
    end_s = time.monotonic() + COMES_UP_S
    while (app.controls.picture is None or app.runner.busy) and time.monotonic() < end_s:
        await pilot.pause(0.02)
    assert app.controls.picture is not None, app.runner.busy
    steps = app.runner.session is Session.LIVE  # a recording of nothing never begins
    while steps and app.controls.picture.t_s < 1.0 and time.monotonic() < end_s:  # alerts come with the first step
        await pilot.pause(0.02)
    app._tick()
    await pilot.pause(0.02)
    _look(pilot, seen)
    seen.words += " ".join(alert.text for alert in app.controls.picture.alerts)
    seen.entry = app.runner.submit("note", text="here")
    while seen.entry not in saved and time.monotonic() < end_s:
        await pilot.pause(0.02)
    seen.kept = saved.get(seen.entry, "")
    app.exit()


def _home(home: Path) -> dict[str, Path]:
    """A crew's files, all good: name in ``KINDS`` to path."""
    (home / "boat.toml").write_text(TWO_RODS)
    (home / "config.toml").write_text(PREFERENCES)
    (home / "shelf.toml").write_text(SHELF)
    for folder in ("calibrations", "themes", "recordings", "drafts"):
        (home / folder).mkdir()
    (home / "calibrations" / "a.json").write_text(json.dumps(CALIBRATION))
    shutil.copyfile(next(places.shipped("themes").glob("*.toml")), home / "themes" / "a.toml")
    state.save(state.State(theme="dusk", cautions_read=__version__), home / "state.json")
    trip = new_trip(datetime.now(UTC) - timedelta(hours=1), spread_text=TWO_RODS)
    with Logbook(home / "logbook.sqlite") as book:
        book.begin_trip(trip)
    connection = sqlite3.connect(home / "logbook.sqlite")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    recording = (DEMO / "evening.nmea").read_bytes()[:30_000]
    (home / "recordings" / f"{trip.id}.nmea").write_bytes(recording)
    (home / "a.nmea").write_bytes(recording)
    draft = Draft(home / "boat.toml").path
    draft.write_text(TWO_RODS + "# not saved")
    paths = {name: home / name for name in KINDS}
    return paths | {
        "the recording": home / "recordings" / f"{trip.id}.nmea", "a recording": home / "a.nmea", "the draft": draft,
    }  # fmt: skip


def _start(home: Path, kind: str) -> int:
    if kind == "the draft":
        return command.main(["edit"])
    if kind == "a recording":
        return command.main(["replay", str(home / "a.nmea"), "--spread", str(DEMO / "evening.toml")])
    return command.main(["watch"])


def test_a_damaged_boat_is_said_and_her_last_trip_stands_in(came: Came, home: Path) -> None:
    _home(home)
    (home / "boat.toml").write_text("[boat")
    assert _start(home, "boat.toml") == 0
    assert came.screens == ["console"]
    assert re.search(
        r"The boat of your trip of \d.* stands in for a file that cannot be used: .*boat\.toml: not valid TOML",
        came.words,
    )
    assert came.kept == "logbook"
    assert (home / "boat.toml").read_text() == "[boat"


def test_an_earlier_version_of_a_boat_comes_before_a_trip(home: Path) -> None:
    _home(home)
    files.write_whole(home / "boat.toml", TWO_RODS + "# changed\n", keep=True)
    (home / "boat.toml").write_bytes(b"")
    boat = boat_on_the_water(home / "boat.toml")
    assert boat.text.replace("\r\n", "\n") == TWO_RODS
    assert re.match(r'The earlier version "boat .*\.toml" stands in for a file that cannot be used: .*', boat.instead)


def test_with_no_boat_to_be_had_the_start_screen_says_why(came: Came, home: Path) -> None:
    (home / "config.toml").write_text(PREFERENCES)
    (home / "boat.toml").write_text("[boat")
    assert _start(home, "boat.toml") == 0
    assert came.screens == ["start"]
    assert "boat.toml: not valid TOML" in came.words


def _campaign(home: Path, came: Came, caught: Callable[[], str], cases: range, seed: int) -> list[str]:
    outcomes: dict[str, Counter[str]] = {kind: Counter() for kind in KINDS}
    slowest_s = 0.0
    for n in cases:
        shutil.rmtree(home)
        home.mkdir()
        kind, rng = KINDS[n % len(KINDS)], random.Random(f"start {seed} {n}")
        path = _home(home)[kind]
        good = path.read_bytes() if path.exists() else rng.randbytes(5000)
        path.unlink(missing_ok=True)
        how = damage(path, good, rng)
        before = path.read_bytes() if path.is_file() and how != "huge" else b""
        came.__init__()  # type: ignore[misc]
        began = time.process_time()
        with at_once():
            code = _start(home, kind)
        slowest_s = max(slowest_s, time.process_time() - began)
        said = caught()
        case = (kind, how, n, seed, said[-300:])
        assert code == 0, case
        assert came.screens, case
        assert "Traceback" not in came.words + said, case
        assert "unexpected" not in came.words + said, case
        if "console" in came.screens:
            assert came.kept in ("logbook", "aside"), case
        elif "editor" in came.screens:
            assert "boat.toml" in came.words, case
        else:
            assert said.strip(), case
        if path.is_file() and before and kind in ("boat.toml", "config.toml", "shelf.toml", "the draft"):
            assert path.read_bytes() == before, case  # nobody's file is touched for being damaged
        outcomes[kind][f"{came.screens[-1]}, {came.kept or 'nothing to keep'}"] += 1
    assert sum(sum(counted.values()) for counted in outcomes.values()) == len(cases)
    told = [f"{kind} {dict(counted)}" for kind, counted in outcomes.items() if counted]
    return [*told, f"slowest {slowest_s:.2f} s of the processor"]


@pytest.mark.campaign
@pytest.mark.parametrize("part", range(28))
def test_starts_over_damaged_files(came: Came, home: Path, capsys: pytest.CaptureFixture[str], part: int) -> None:
    """The real commands and screens, damage by damage; what readers alone meet stands in `test_any_state`."""
    seed, turn = divmod(part, 7)
    cases = range(turn * len(KINDS), (turn + 1) * len(KINDS))
    told = _campaign(home, came, lambda: "".join(capsys.readouterr()), cases, seed)
    with capsys.disabled():
        print(f"\n{part}: {'; '.join(told)}", flush=True)
