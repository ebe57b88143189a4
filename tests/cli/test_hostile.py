"""A hostile session on the command line: every byte of all that commands print and write is read."""

from __future__ import annotations

import contextlib
import json
import logging
import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from hostile import FROM_OUTSIDE, NASTY, obeyed
from sternwatch.cli.common import unexpected
from sternwatch.cli.main import main
from sternwatch.places import shipped

DEMO = shipped("demo_logs")
READ = [0]  # bytes, for the campaign to tell


@pytest.fixture(scope="module")
def aboard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Files in which everything that may be named is named by an enemy."""
    if os.name == "nt":
        pytest.skip("Windows has no such names of files")
    folder = tmp_path_factory.mktemp("aboard")
    head, *rods = (DEMO / "evening.toml").read_text(encoding="utf-8").split("[[rod]]")
    quoted = json.dumps(FROM_OUTSIDE)
    head = head.replace('name = "demo boat (invented)"', f"name = {quoted}")
    text = "[[rod]]".join([head, *(rod for rod in rods if 'key = "3"' in rod)])
    text = text.replace("[tackle.fly]", f"[tackle.{quoted}]").replace('tackle = "fly"', f"tackle = {quoted}")
    (folder / f"boat{FROM_OUTSIDE}.toml").write_text(text, encoding="utf-8")
    lines = (DEMO / "evening.nmea").read_bytes().splitlines(keepends=True)
    short = [line for line in lines if (found := re.search(rb",r:(\d+)", line)) and int(found[1]) <= 30_000]
    enemy = b"\\s:demo,r:%d*00\\$II" + NASTY.encode() + b"VHW,,,,,2.0,N,,*00\r\n"
    (folder / f"feed{FROM_OUTSIDE}.nmea").write_bytes(b"".join(one + enemy % (k * 10) for k, one in enumerate(short)))
    note = {"id": "a", "time": "2026-07-18T23:02:10Z", "elapsed_s": 10.0, "kind": "note", "text": f"a\n{NASTY}"}
    hit = {"id": "b", "time": "2026-07-18T23:02:20Z", "elapsed_s": 20.0, "kind": "hit", "rod": "3"}
    fish = {"id": "c", "time": "2026-07-18T23:02:25Z", "kind": "catch", "of": "b", "species": "coho", "note": NASTY}
    (folder / "acts.jsonl").write_text("".join(json.dumps(one) + "\n" for one in (note, hit, fish)), encoding="utf-8")
    alert = {
        "id": NASTY, "elapsed_s": 12.0, "kind": "crossing", "priority": "warning", "state": "unack", "keys": ["3"],
        "text": f"crossing {NASTY}", "advice": NASTY, "time": "2026-07-18T23:02:12Z",
    }  # fmt: skip
    (folder / "alerts.jsonl").write_text(json.dumps(alert) + "\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


@pytest.fixture
def said(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., str]:  # fmt: skip
    """Runs a command; all that it printed, on either stream, in which nothing is obeyed."""
    for name in ("DATA", "CONFIG", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(home / name))

    def call(*args: str) -> str:
        with contextlib.suppress(SystemExit):  # a usage fault
            main(list(args))
        out = capsys.readouterr()
        assert obeyed(out.out + out.err) == [], args
        READ[0] += len((out.out + out.err).encode())
        assert "Traceback" not in out.err
        assert "unexpected error" not in out.err
        return out.out + out.err

    return call


def _names(aboard: Path) -> tuple[str, str]:
    return str(next(aboard.glob("boat*"))), str(next(aboard.glob("feed*")))


def _of_gear(said: Callable[..., str], aboard: Path, *commands: list[str]) -> None:
    boat, _ = _names(aboard)
    texts = [said(command[0], boat, *command[1:]) for command in commands]
    assert all(texts)
    assert any(r"\u001b[2J" in text for text in texts)


def test_of_gear(said: Callable[..., str], aboard: Path) -> None:
    _of_gear(said, aboard, ["depth"], ["tags", "--html", "-"], ["depth", "--calibration", FROM_OUTSIDE])


@pytest.mark.campaign
def test_of_all_gear(said: Callable[..., str], aboard: Path, tmp_path: Path) -> None:
    boat, _ = _names(aboard)
    _of_gear(
        said, aboard, ["depth", "--json"], ["depth", "--rod", FROM_OUTSIDE], ["check"], ["check", "--json"], ["tags"],
        ["tags", "--json"], ["table"], ["table", "--json"], ["table", "--csv", "-"], ["table", "--html", "-"],
        ["fit"], ["forecast"], ["plan", "--from", "30 ft", "--to", "60 ft"],
    )  # fmt: skip
    for kind in ("csv", "html"):
        said("table", boat, f"--{kind}", str(tmp_path / kind))
        assert obeyed((tmp_path / kind).read_bytes().decode()) == []


def _taken_in(said: Callable[..., str], aboard: Path) -> None:
    boat, feed = _names(aboard)
    taken = ["--spread", boat, "--actions", str(aboard / "acts.jsonl"), "--alerts", str(aboard / "alerts.jsonl")]
    assert "3 entries" in said("trip", "import", feed, *taken)


def test_of_a_trip(said: Callable[..., str], aboard: Path, tmp_path: Path) -> None:
    _taken_in(said, aboard)
    assert r"\u001b[2J" in said("debrief", "last")
    found = json.loads(said("debrief", "last", "--json"))
    assert found["notes"][0].endswith(NASTY)  # to another program it is what was entered
    for command in (["trip", "list"], ["trip", "export", "last", "--what", "hits"], ["logbook", "verify"]):
        said(*command)
    for what in ("gpx", "alerts"):
        target = tmp_path / what
        said("trip", "export", "last", "--what", what, "--positions", "--out", str(target))
        assert obeyed(target.read_bytes().decode()) == []


@pytest.mark.campaign
def test_of_all_of_a_trip(said: Callable[..., str], aboard: Path, tmp_path: Path) -> None:
    boat, feed = _names(aboard)
    named = tmp_path / f"out{FROM_OUTSIDE}"
    _taken_in(said, aboard)
    for command in (
        ["debrief", "last", "--positions"], ["season"], ["season", "--json"], ["season", "--update"],
        ["trip", "list", "--json"], ["logbook", "verify", "--json"],
        *(["trip", "export", "last", "--what", what, "--positions"] for what in
          ("hits", "exposure", "return", "gpx", "geojson", "actions", "alerts")),
        ["replay", feed, "--spread", boat, "--headless", "--json"],
        ["trip", "pack", "last", f"{named}.trip"], ["trip", "unpack", f"{named}.trip"], ["debrief", f"{named}.trip"],
        ["logbook", "backup", f"{named}.sqlite"], ["debrief", "last", "--html", f"{named}.html"],
    ):  # fmt: skip
        said(*command)
    for what in ("hits", "gpx", "geojson", "actions", "alerts"):
        target = tmp_path / what
        said("trip", "export", "last", "--what", what, "--positions", "--out", str(target))
        assert obeyed(target.read_bytes().decode()) == []
        READ[0] += target.stat().st_size
    page = Path(f"{named}.html").read_bytes().decode()
    assert "<svg" in page
    assert obeyed(page) == []
    print(f"bytes read: {READ[0] + len(page.encode())}")


def test_of_what_is_not_there_or_no_command(said: Callable[..., str]) -> None:
    name = FROM_OUTSIDE
    for command in (
        [name], ["depth", name], ["depth", "--speed", name], ["replay", name, "--spread", name], ["debrief", name],
        ["debrief", f"{name}.trip"], ["trip", "unpack", name], ["trip", "export", name, "--what", "hits"],
        ["practice", name, "--headless"], ["practice", "--list"], ["practice", "--script", name, "--headless"],
        ["shelf"], ["shelf", "--json"], ["paths"], ["paths", "--json"], ["manual", name], ["schema"],
        ["ports", "--json"],
        ["watch", "--feed", name], ["keys", "--help"], ["season", "--near", name], ["trip", "import", name],
        ["trip", "import", name, "--notebook"], ["forecast", name], ["plan", name, "--from", "1", "--to", "2"],
    ):  # fmt: skip
        assert said(*command)


def test_of_files_of_settings(said: Callable[..., str], home: Path) -> None:
    """What the user's own files hold, and what is wrong with it."""
    folder = home / "CONFIG"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    quoted = json.dumps(FROM_OUTSIDE)
    for file, text in {
        "config.toml": f"{quoted} = 1\n",
        "shelf.toml": f"[line.{quoted}]\nmaterial = {quoted}\n",
        "boat.toml": f"[boat]\nname = {quoted}\n[line.x]\nmaterial = {quoted}\n",
    }.items():
        (folder / file).write_text(text, encoding="utf-8")
    for command in (["depth"], ["shelf"], ["check"], ["season"], ["replay", str(folder), "--spread", "x"]):
        assert said(*command)


def test_of_the_log_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("STERNWATCH_LOG_DIR", str(tmp_path))
    try:
        raise ValueError(NASTY)
    except ValueError as fault:
        unexpected._report(ValueError, fault, fault.__traceback__)
    written = (tmp_path / "sternwatch.log").read_bytes().decode()
    assert r"\u001b[2J" in written
    assert obeyed(written + capsys.readouterr().err) == []
    assert logging.getLogger("sternwatch.unexpected").handlers == []
