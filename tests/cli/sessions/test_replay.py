"""``replay --headless --json``: the contract, on the demo and on every real recording there is."""

from __future__ import annotations

import json
import math
from datetime import datetime
from itertools import islice, pairwise
from pathlib import Path
from typing import Any

import pytest

from recordings import BUSES, CORPUS
from sternwatch.answers.belief.priors import MEMBERS
from sternwatch.cli.common.exits import Exit
from sternwatch.cli.main import main
from sternwatch.feed.recording.reader import Recording, open_recording
from sternwatch.feed.recording.speech_detection import spelled
from sternwatch.feed.sources.specs import recorded
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.watch.core.player import Player, rows_of
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session
from sternwatch.watch.picture.rows import picture_row

pytestmark = pytest.mark.usefixtures("few_members")

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "demo_logs"
FILES = sorted(CORPUS.rglob("*.log")) + sorted(CORPUS.rglob("*.nmea")) + sorted(CORPUS.rglob("*.raw"))
NAMES = [
    f"recording {number}" for number in range(1, len(FILES) + 1)
]  # files are called after devices; tests are not
BOATS = [path for path in FILES if path.parent.name != BUSES]  # buses are asked about in watch/sessions

ROW = {
    "time", "elapsed_s", "sog_m_s", "stw_m_s", "course_deg", "heading_deg", "water_temperature_c", "bottom_m", "rods",
    "alerts",
}  # fmt: skip
ROD = {
    "key", "state", "depth_m", "astern_m", "abeam_m", "depth_interval_m", "lure_speed_m_s", "vertical_speed_m_s",
    "temperature_c", "clearance_m",
}  # fmt: skip
STATES = {"in", "letting out", "fishing", "reeling", "fighting"}


def first_minutes(source: Path, target: Path, lines: int) -> Path:
    with source.open("rb") as file:
        target.write_bytes(b"".join(islice(file, lines)))
    return target


def opened(path: Path) -> Recording:
    """The recording as the start screen offers it."""
    told, speech = recorded(spelled(path))
    return open_recording(told, speech=speech)


def finite(value: Any) -> bool:
    if isinstance(value, dict):
        return all(map(finite, value.values()))
    if isinstance(value, list):
        return all(map(finite, value))
    return not isinstance(value, float) or math.isfinite(value)


def test_rows_are_as_contracted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    feed = first_minutes(DEMO / "evening.nmea", tmp_path / "cut.nmea", 1700)
    code = main(
        ["replay", str(feed), "--spread", str(DEMO / "evening.toml"), "--actions",
         str(DEMO / "evening.actions.jsonl"), "--headless", "--json"]
    )  # fmt: skip
    out = capsys.readouterr().out
    rows = [json.loads(line) for line in out.splitlines()]
    assert code == 0
    assert len(rows) > 180
    times = [datetime.fromisoformat(row["time"]) for row in rows]
    assert all((after - before).total_seconds() == 1.0 for before, after in pairwise(times))
    for row in rows:
        assert row.keys() >= ROW
        assert [rod["key"] for rod in row["rods"]] == list("12345678")
        for rod in row["rods"]:
            assert rod.keys() >= ROD
            assert rod["state"] in STATES
            if rod["state"] == "in":
                assert all(rod[name] is None for name in ROD - {"key", "state"})
            elif rod["depth_m"] is not None and rod["depth_interval_m"] is not None:
                low, high = rod["depth_interval_m"]
                assert low < high
    out_at_last = [rod for rod in rows[-1]["rods"] if rod["depth_m"] is not None]
    assert len(out_at_last) >= 4


def test_without_actions_every_rod_fishes_from_the_first_fix(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    feed = first_minutes(DEMO / "evening.nmea", tmp_path / "cut.nmea", 160)
    assert main(["replay", str(feed), "--spread", str(DEMO / "evening.toml"), "--headless", "--json"]) == 0
    row = json.loads(capsys.readouterr().out.splitlines()[-1])
    assert all(rod["state"] == "fishing" and rod["depth_m"] is not None for rod in row["rods"])


def test_without_a_spread_the_recording_is_played_with_the_own_boat(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    feed = first_minutes(DEMO / "evening.nmea", tmp_path / "cut.nmea", 20)
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    assert main(["replay", str(feed), "--headless", "--json"]) == Exit.WRONG_INPUT
    assert "you have set up no boat yet" in capsys.readouterr().err
    (tmp_path / "boat.toml").write_text((DEMO / "evening.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["replay", str(feed), "--headless", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out.splitlines()[-1])["rods"]) == 8


def test_nothing_is_said_inside_a_hole_of_more_than_a_minute(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def sentence(second: int) -> str:
        body = f"GPRMC,12{second // 60:02d}{second % 60:02d},A,4700.00,N,09000.00,W,2.0,090.0,010726,,,A"
        check = 0
        for letter in body:
            check ^= ord(letter)
        return f"${body}*{check:02X}\r\n"

    feed = tmp_path / "hole.nmea"
    feed.write_text("".join(sentence(s) for s in (*range(30), *range(200, 230))), encoding="ascii")
    assert main(["replay", str(feed), "--spread", str(DEMO / "evening.toml"), "--headless", "--json"]) == 0
    seconds = [row["time"][14:19] for row in map(json.loads, capsys.readouterr().out.splitlines())]
    assert "00:29" in seconds
    assert "03:20" in seconds
    assert not [s for s in seconds if "00:30" <= s < "03:20"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["{feed}", "--spread", "nowhere.toml", "--headless", "--json"], "nowhere.toml"),
        (["nowhere.nmea", "--spread", "{spread}", "--headless", "--json"], "nowhere.nmea does not exist"),
        (["{feed}", "--spread", "{spread}", "--actions", "none.jsonl", "--headless", "--json"], "none.jsonl"),
        (["{feed}", "--spread", "{spread}", "--headless"], "--json"),
        (["{feed}", "--spread", "{spread}", "--json"], "--headless"),
    ],
)
def test_wrong_input_is_one_sentence(arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    given = [a.format(feed=DEMO / "evening.nmea", spread=DEMO / "evening.toml") for a in arguments]
    assert main(["replay", *given]) == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    assert says in captured.err
    assert len(captured.err.strip().splitlines()) == 1


def test_an_unknown_kind_of_action_is_refused_by_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    actions = tmp_path / "a.jsonl"
    actions.write_text('{"id": "1", "time": "2026-07-18T23:10:00Z", "kind": "sing"}\n', encoding="utf-8")
    code = main(
        ["replay", str(DEMO / "evening.nmea"), "--spread", str(DEMO / "evening.toml"), "--actions", str(actions),
         "--headless", "--json"]
    )  # fmt: skip
    assert code == 1
    assert '"sing" is not a kind of action' in capsys.readouterr().err.replace("'", '"')


@pytest.mark.skipif(not FILES, reason="the corpus of real recordings is not beside this checkout")
@pytest.mark.parametrize("path", BOATS, ids=NAMES[: len(BOATS)])
def test_every_real_recording_runs_through(path: Path, tmp_path: Path) -> None:
    cut = first_minutes(path, tmp_path / path.name, 600)
    setup = Setup(load_spread(DEMO / "evening.toml"), Session.REPLAY, start="fishing", members=0)
    rows = list(islice(rows_of(Player(opened(cut), setup), picture_row), 150))
    assert finite(rows)
    for row in rows:
        assert len(row["rods"]) == 8
        json.dumps(row, allow_nan=False)


@pytest.mark.campaign
@pytest.mark.skipif(not FILES, reason="the corpus of real recordings is not beside this checkout")
@pytest.mark.parametrize("path", FILES, ids=NAMES)
def test_every_real_recording_runs_through_whole(path: Path) -> None:
    setup = Setup(load_spread(DEMO / "evening.toml"), Session.REPLAY, start="fishing", members=MEMBERS)
    for row in rows_of(Player(opened(path), setup), picture_row):
        assert finite(row)


def test_with_outlook_every_row_says_what_was_forecast_then_and_says_the_same_twice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    feed = first_minutes(DEMO / "evening.nmea", tmp_path / "cut.nmea", 60)
    ask = ["replay", str(feed), "--spread", str(DEMO / "evening.toml"), "--outlook", "--headless", "--json"]
    assert main(ask) == 0
    first = capsys.readouterr().out
    rows = [json.loads(line) for line in first.splitlines()]
    made = [row["outlook"] for row in rows if row["outlook"] is not None]
    assert len(made) > 3
    assert all(0.0 <= row["elapsed_s"] - row["outlook"]["elapsed_s"] < 2.0 for row in rows if row["outlook"])
    for outlook in made:
        assert finite(outlook)
        assert [one["manoeuvre"] for one in outlook["forecasts"]] == ["hold", "as it goes"]
        hold = outlook["forecasts"][0]
        assert len(hold["pairs"]) == 8 * 7 // 2
        assert [rod["key"] for rod in hold["rods"]] == list("12345678")
        assert hold["horizon_s"] >= 180.0
    assert main(ask) == 0
    assert capsys.readouterr().out == first


def test_outlook_is_for_rows(capsys: pytest.CaptureFixture[str]) -> None:
    feed, spread = str(DEMO / "evening.nmea"), str(DEMO / "evening.toml")
    assert main(["replay", feed, "--spread", spread, "--outlook"]) == 1
    assert "--headless --json" in capsys.readouterr().err


@pytest.mark.parametrize("written", [b"dear diary\n", b"<gpx></gpx>\n", b"\x00\x01\xff" * 500])
def test_a_file_in_which_nothing_speaks_is_no_recording(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, written: bytes
) -> None:
    """Else the screen would say for ever that it opens the recording."""
    (tmp_path / "notes.txt").write_bytes(written)
    assert main(["replay", str(tmp_path / "notes.txt"), "--spread", str(DEMO / "evening.toml")]) == Exit.WRONG_INPUT
    told = capsys.readouterr().err
    assert "notes.txt: no instrument speaks at its beginning; accepted is a recording of NMEA 0183" in told


def test_demo_is_the_invented_evening_with_its_crew(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "shipped"
    folder.mkdir()
    first_minutes(DEMO / "evening.nmea", folder / "evening.nmea", 900)
    for name in ("evening.toml", "evening.actions.jsonl"):
        (folder / name).write_bytes((DEMO / name).read_bytes())
    monkeypatch.setattr("sternwatch.cli.sessions.replay.shipped", lambda _: folder)
    assert main(["replay", "demo", "--headless", "--json"]) == Exit.DONE
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [rod["key"] for rod in rows[-1]["rods"]] == list("12345678")
    assert {rod["state"] for rod in rows[-1]["rods"]} > {"in"}, "as the crew said: some are out"
    other = folder / "other.toml"
    other.write_text((folder / "evening.toml").read_text(encoding="utf-8"), encoding="utf-8")
    assert main(["replay", "demo", "--spread", str(other), "--headless", "--json"]) == Exit.DONE
    last = json.loads(capsys.readouterr().out.splitlines()[-1])
    assert {rod["state"] for rod in last["rods"]} == {"fishing"}, "the demo's entries are of its own boat"
    Path("demo").write_bytes(b"")
    assert main(["replay", "demo", "--headless", "--json"]) == Exit.WRONG_INPUT, "a file of that name comes first"
