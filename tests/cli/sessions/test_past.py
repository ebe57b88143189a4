"""A past trip on the screen: what it is made from, where entries go, and what is refused."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path

import pytest

from sternwatch.cli.main import main
from sternwatch.cli.sessions.past import past_screen
from sternwatch.config import Preferences
from sternwatch.debrief.trip.sources import TripData, from_logbook
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.watch.picture.model import Picture, Session

DEMO = Path(__file__).parents[3] / "demo_logs"
PART_S = 200.0


@pytest.fixture
def imported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> str:
    """The first minutes of the demo evening with one low diver, in a logbook of its own; its id."""
    for name in ("data", "config"):
        monkeypatch.setenv(f"STERNWATCH_{name.upper()}_DIR", str(tmp_path / name))
    lines = (DEMO / "evening.nmea").read_bytes().splitlines(keepends=True)
    kept = [line for line in lines if (found := re.search(rb",r:(\d+)", line)) and int(found[1]) <= PART_S * 1000]
    (tmp_path / "part.nmea").write_bytes(b"".join(kept))
    acts = [json.loads(line) for line in (DEMO / "evening.actions.jsonl").read_text(encoding="utf-8").splitlines()]
    mine = [act for act in acts if act.get("rod") == "3" and act["elapsed_s"] <= PART_S]
    (tmp_path / "part.jsonl").write_text("".join(json.dumps(act) + "\n" for act in mine), encoding="utf-8")
    head, *rods = (DEMO / "evening.toml").read_text(encoding="utf-8").split("[[rod]]")
    (tmp_path / "part.toml").write_text(
        "[[rod]]".join([head, *(r for r in rods if 'key = "3"' in r)]), encoding="utf-8"
    )
    files = ["--spread", str(tmp_path / "part.toml"), "--actions", str(tmp_path / "part.jsonl")]
    assert main(["trip", "import", str(tmp_path / "part.nmea"), *files]) == 0
    return capsys.readouterr().out.split(":")[0]


def test_it_is_worked_through_kept_and_entries_go_to_the_trip(imported: str, tmp_path: Path) -> None:
    from sternwatch.cli.common.books import opened

    with opened() as book:
        data = from_logbook(book.reader, imported, tmp_path / "data")
        screen = past_screen(data, book)
        assert screen.whole is not None
        shares: list[float] = []
        whole = screen.whole(shares.append)
        assert shares[-1] > 0.8
        assert whole.digest.span_s == pytest.approx(PART_S, abs=1.0)
        assert book.reader.execute("SELECT count(*) FROM digest").fetchone() == (1,)
        shares.clear()
        assert screen.whole(shares.append).digest.body() == whole.digest.body()
        assert shares == []  # the kept one
        runner = screen.make_runner(Preferences())
        assert runner.session is Session.REPLAY
        pictures: list[Picture] = []
        saved: list[str] = []
        runner.start(pictures.append, lambda one: saved.append(one.id))
        end = time.monotonic() + 60.0
        while not pictures:
            assert time.monotonic() < end, runner.busy
            time.sleep(0.02)
        note = runner.submit("note", None, text="afterwards")
        while note not in saved:
            assert time.monotonic() < end
            time.sleep(0.02)
        runner.stop()
    with Logbook(tmp_path / "data" / "logbook.sqlite") as again:
        assert again.actions(imported)[-1].id == note


def test_what_cannot_be_is_a_sentence(imported: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Logbook(tmp_path / "data" / "logbook.sqlite"):  # as a console holds it
        assert main(["debrief", imported, "--screen"]) == 1
    assert "so the screen of a past trip must wait: close it first" in capsys.readouterr().err
    assert main(["debrief", imported, "--screen", "--json"]) == 1
    assert "--screen takes no --json" in capsys.readouterr().err
    assert main(["debrief", "some.trip", "--screen"]) == 1
    assert "must be in the logbook for the screen" in capsys.readouterr().err
    for recording in (tmp_path / "data" / "recordings").iterdir():
        recording.unlink()
    assert main(["debrief", imported, "--screen"]) == 1
    assert "leave out --screen for what is known" in capsys.readouterr().err


def test_the_demo_is_a_demo() -> None:
    from sternwatch.cli.common.books import demo_trip

    data: TripData = demo_trip()
    runner = past_screen(data, None).make_runner(Preferences())
    assert runner.session is Session.DEMO
    runner.stop()
