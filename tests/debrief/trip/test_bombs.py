"""Packed trips and recordings made to fill memory and disk are refused in a sentence, and nothing of them stays."""

from __future__ import annotations

import gzip
import io
import json
import os
import sqlite3
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest

from sternwatch.cli.main import main
from sternwatch.debrief.trip.packing import pack, unpack
from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.feed.recording.unpacking import MOST_TIMES, TooMuchError, blocks
from sternwatch.feed.sentences.framing import checksum
from sternwatch.places import shipped

SPREAD = shipped("demo_logs") / "evening.toml"
TRIP = {
    "format": 1, "id": "20260701T120000Z-aaaaaaaa", "begun": "2026-07-01T12:00:00.000Z", "ended": None,
    "session": "live", "start": "in", "calibration": "", "about": {}, "feed": False,
}  # fmt: skip
LINE = b"$GPRMC,120000,A,4700.000,N,08700.000,W,0.0,0.0,010126,,,A*7C\r\n"
NOTE = {"id": "a", "time": "2026-07-01T12:00:00Z", "kind": "note", "text": "invented"}
Run = Callable[..., tuple[int, str, set[str]]]


def packed(
    path: Path, actions: Iterable[bytes] = (), feed: Iterable[bytes] | None = None,
    method: int = zipfile.ZIP_DEFLATED, events: str = "", spread: str | None = None, **fields: Any,
) -> Path:  # fmt: skip
    """A trip packed by somebody else."""
    with zipfile.ZipFile(path, "w", method) as archive:
        archive.writestr("trip.json", json.dumps(TRIP | {"feed": feed is not None} | fields))
        archive.writestr("spread.toml", SPREAD.read_text(encoding="utf-8") if spread is None else spread)
        archive.writestr("events.jsonl", events)
        for name, data in (("actions.jsonl", actions), ("feed.nmea", feed)):
            if data is not None:
                with archive.open(name, "w", force_zip64=True) as part:
                    for block in data:
                        part.write(block)
    return path


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command; returns its code, what it said, and what lies in the recordings and the logbook after it."""
    for name in ("DATA", "CONFIG", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path / name))

    def call(*args: str) -> tuple[int, str, set[str]]:
        code = main(list(args))
        said = capsys.readouterr().err
        left = {path.name for path in (tmp_path / "DATA" / "recordings").glob("*")}
        book = sqlite3.connect(tmp_path / "DATA" / "logbook.sqlite")
        left |= {f"{table} {n}" for table in ("trip", "action", "event", "result")
                 if (n := book.execute(f"SELECT count(*) FROM {table}").fetchone()[0])}  # fmt: skip
        book.close()
        return code, said, left

    return call


class TestBounds:
    def test_small_things_are_let_be(self) -> None:
        given = io.BytesIO(b"\0" * (20 << 20))
        assert sum(map(len, blocks(given.read, 10))) == 20 << 20

    def test_more_than_fifty_times_is_refused(self) -> None:
        with pytest.raises(TooMuchError, match=f"more than {MOST_TIMES} times its 1.0 MB"):
            list(blocks(io.BytesIO(b"\0" * (51 << 20)).read, 1 << 20))

    def test_more_than_the_most_is_refused(self) -> None:
        with pytest.raises(TooMuchError, match=r"more than 1.0 MB; nothing of a trip is that large"):
            list(blocks(io.BytesIO(b"\0" * (2 << 20)).read, 1 << 20, 1 << 20))

    def test_what_takes_too_long_is_refused(self) -> None:
        def slow(_: int) -> bytes:
            time.sleep(0.02)
            return b"a"

        with pytest.raises(TooMuchError, match=r"for more than 0\.05 s"):
            list(blocks(slow, 1, most_s=0.05))

    def test_the_quietest_receiver_is_far_within(self) -> None:
        """A boat at her mooring: only the time changes. A day on the water packs to a tenth."""
        clocks = (s // 3600 * 10000 + s // 60 % 60 * 100 + s % 60 for s in range(40_000))
        bodies = [f"GPRMC,{at:06d},A,4700.000,N,08700.000,W,0.0,0.0,010126,,,A".encode() for at in clocks]
        depth = b"$SDDBT,033.1,f,010.1,M,005.5,F*34\r\n"
        said = b"".join(b"$%s*%02X\r\n%s" % (body, checksum(body), depth) for body in bodies)
        assert len(said) / len(gzip.compress(said)) < MOST_TIMES / 1.5


class TestNothingStays:
    @pytest.mark.parametrize(
        ("fields", "said"),
        [
            ({"id": 5}, "id = 5 is not accepted"),
            ({"id": None}, "id = null is not accepted"),
            ({"id": ""}, 'id = "" is not accepted'),
            ({"id": "../a"}, 'id = "../a" is not accepted'),
            ({"id": "a\n"}, r'id = "a\n" is not accepted'),
            ({"id": "é" * 20}, "is not accepted"),
            ({"start": "asleep"}, 'start = "asleep" is not accepted'),
            ({"session": "dream"}, 'session = "dream" is not accepted'),
            ({"begun": "2026-02-30T12:00:00Z"}, 'begun = "2026-02-30T12:00:00Z" is not accepted'),
            ({"begun": "2026-07-01T12:00:00"}, "begun = "),
            ({"begun": 1780000000}, "begun = 1780000000 is not accepted"),
            ({"begun": "0001-01-01T00:00:00Z"}, "begun = "),
            ({"ended": "x"}, 'ended = "x" is not accepted'),
            ({"ended": "2026-06-01T12:00:00Z"}, "ended: lies before begun"),
            ({"about": {"pay_out_m_s": "quick"}}, "pay_out_m_s"),
            ({"about": {"utc_offset_min": 1e9}}, "utc_offset_min"),
            ({"about": {"rods": [1]}}, "rods.0"),
            ({"practised": {}}, "drill is missing"),
            ({"calibration": "{"}, "calibration: not a calibration"),
            ({"spread": "a = "}, "spread.toml: not valid TOML"),
            ({"spread": ""}, "spread.toml"),
            ({"events": "[]\n"}, "events.jsonl, line 1"),
            ({"actions": [json.dumps(NOTE | {"time": "2026-02-30T00:00Z"}).encode()]}, "actions.jsonl line 1: time"),
            ({"actions": [b"[" * 100_000]}, "nested more than 64 deep"),
            ({"feed": [LINE], "method": zipfile.ZIP_LZMA}, "packed in a way"),
        ],
    )  # fmt: skip
    def test_of_a_trip_that_is_refused(self, run: Run, tmp_path: Path, fields: dict[str, Any], said: str) -> None:
        code, told, left = run("trip", "unpack", str(packed(tmp_path / "t.trip", **({"feed": [LINE]} | fields))))
        assert (code, left) == (1, set())
        assert said in told
        assert told.count("\n") == 1

    def test_of_a_trip_of_which_the_logbook_has_another_entry(self, run: Run, tmp_path: Path) -> None:
        first, second = (json.dumps(NOTE | {"text": text}).encode() + b"\n" for text in ("one", "two"))
        assert run("trip", "unpack", str(packed(tmp_path / "a.trip", [first])))[0] == 0
        more = json.dumps(NOTE | {"id": "b"}).encode() + b"\n"
        code, told, left = run("trip", "unpack", str(packed(tmp_path / "b.trip", [more, second], [LINE])))
        assert (code, left) == (1, {"trip 1", "action 1"})
        assert "already has another entry with the id 'a'" in told

    def test_of_a_trip_with_a_recording_of_another(self, run: Run, tmp_path: Path) -> None:
        assert run("trip", "unpack", str(packed(tmp_path / "a.trip", feed=[LINE])))[0] == 0
        code, told, left = run("trip", "unpack", str(packed(tmp_path / "b.trip", feed=[LINE, LINE])))
        assert (code, left) == (1, {"trip 1", TRIP["id"] + ".nmea"})
        assert "another recording of the same name lies there already" in told
        assert (tmp_path / "DATA" / "recordings" / f"{TRIP['id']}.nmea").read_bytes() == LINE

    def test_with_a_password(self, tmp_path: Path) -> None:
        path = packed(tmp_path / "t.trip")
        data = bytearray(path.read_bytes())
        for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
            data[data.find(mark) + at] |= 1
        path.write_bytes(data)
        with pytest.raises(TripError, match="with a password"):
            unpack(path, tmp_path / "there")


def test_a_trip_that_is_in_order_goes_in(run: Run, tmp_path: Path) -> None:
    note = json.dumps(NOTE).encode() + b"\n"
    path = packed(tmp_path / "t.trip", [note], [LINE] * 5, ended="2026-07-01T13:00:00Z", about={"rods": ["1"]})
    assert run("trip", "unpack", str(path)) == (0, "", {"trip 1", "action 1", f"{TRIP['id']}.nmea"})
    data = unpack(path, tmp_path / "there")
    assert isinstance(data, TripData)
    pack(data, tmp_path / "again.trip")
    assert unpack(tmp_path / "again.trip", tmp_path / "there").actions == data.actions


def _bombs(folder: Path) -> dict[str, list[str]]:
    """Commands, each with something small that unpacks to a gigabyte or more."""
    lines = LINE * 10_000
    notes = (
        b"".join(json.dumps(NOTE | {"id": f"n{i}", "text": "a" * 60}).encode() + b"\n" for i in range(k, k + 10_000))
        for k in range(0, 2_000_000, 10_000)
    )
    packed(folder / "notes.trip", notes)
    packed(folder / "spaces.trip", (b" " * (1 << 20) + b"\n" for _ in range(250)))
    packed(folder / "feed.trip", feed=(lines for _ in range(5000)))
    for name, block, count in (("zeros", b"\0" * (1 << 20), 2000), ("lines", lines, 3300)):
        with gzip.open(folder / f"{name}.nmea.gz", "wb") as file:
            for _ in range(count):
                file.write(block)
    taken = {path.name: ["trip", "unpack", str(path)] for path in sorted(folder.glob("*.trip"))}
    return taken | {
        path.name: ["trip", "import", str(path), "--spread", str(SPREAD)] for path in sorted(folder.glob("*.gz"))
    }


# Not ``ru_maxrss``: that of a process just begun is at least its parent's, here the tests' own.
_PEAK = """
import sys
from pathlib import Path
from sternwatch.cli.main import main
code = main(sys.argv[1:])
status = Path("/proc/self/status").read_text()
print(int(status.split("VmHWM:")[1].split()[0]) >> 10)
sys.exit(code)
"""


@pytest.mark.campaign
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the peak of memory is read from /proc")
def test_no_bomb_takes_memory_or_disk(tmp_path: Path) -> None:
    (tmp_path / "bombs").mkdir()
    for name, command in _bombs(tmp_path / "bombs").items():
        home = {f"STERNWATCH_{kind}_DIR": str(tmp_path / name / kind) for kind in ("DATA", "CONFIG", "LOG")}
        began = time.monotonic()
        done = subprocess.run(
            [sys.executable, "-c", _PEAK, *command], env=os.environ | home, capture_output=True, text=True,
            timeout=300, check=False,
        )  # fmt: skip
        took = time.monotonic() - began
        print(f"{name}: {took:.1f} s, {done.stdout.strip()} MB: {done.stderr.strip()}")
        assert done.returncode == 1
        assert done.stderr.count("\n") == 1
        assert int(done.stdout) < 400
        assert took < 60
        assert not list((tmp_path / name / "DATA" / "recordings").glob("*"))
