"""A recording of before the count of weeks rolled over keeps its date, wherever its trip goes."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from datetime import UTC, datetime
from functools import reduce
from operator import xor
from pathlib import Path

import pytest

from sternwatch.cli.main import main
from sternwatch.feed.recording.reader import open_recording
from sternwatch.places import shipped

Run = Callable[..., tuple[str, str]]
SPREAD = shipped("demo_logs") / "evening.toml"


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    def call(where: str, *args: str) -> tuple[str, str]:
        for name in ("DATA", "CONFIG", "LOG"):
            monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path / where / name))
        assert main(list(args)) == 0
        return capsys.readouterr()

    return call


def _recorded(path: Path, begin: datetime, changed: float) -> Path:
    day = f"{begin:%d%m%y}"
    bodies = (f"GPRMC,12{s // 60:02d}{s % 60:02d},A,4700.0,N,09000.0,W,2.0,90.0,{day},,,A" for s in range(90))
    path.write_text("".join(f"${body}*{reduce(xor, body.encode()):02X}\r\n" for body in bodies))
    os.utime(path, (changed, changed))
    return path


@pytest.mark.parametrize("name", ["2008-07-01T12:00:00Z", "1993-12-15T12:00:00Z"])
def test_its_month_is_right_and_stays_so(run: Run, tmp_path: Path, name: str) -> None:
    begin = datetime.fromisoformat(name)
    path = _recorded(tmp_path / "a.nmea", begin, begin.timestamp() + 90)
    run("here", "trip", "import", str(path), "--spread", str(SPREAD), "--utc-offset", "UTC+00:00")
    (listed,) = map(json.loads, run("here", "trip", "list", "--json").out.splitlines())
    assert datetime.fromisoformat(listed["begun"]) == begin
    asked = (begin.month, begin.month % 12 + 1)
    shown = {month: "".join(run("here", "season", "--month", str(month))) for month in asked}
    assert ["1 trip has not been debriefed" in text for text in shown.values()] == [True, False]
    run("here", "trip", "pack", "last", str(tmp_path / "a.trip"))
    run("there", "trip", "unpack", str(tmp_path / "a.trip"))
    (feed,) = (tmp_path / "there" / "DATA" / "recordings").glob("*.nmea")
    assert open_recording(feed).start_utc == begin.timestamp()
    assert datetime.fromtimestamp(feed.stat().st_mtime, UTC).date() == begin.date()
