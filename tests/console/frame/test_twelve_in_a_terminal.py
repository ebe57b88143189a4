"""What looking ahead costs with the console running in a real terminal: twelve rods, a plan, a boat that turns.

``pytest tests/console/frame/test_twelve_in_a_terminal.py -m campaign -n 0`` on a machine that does nothing else.
"""

from __future__ import annotations

import json
import math
import os
import struct
import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[2] / "watch"))

from twelve_rods import twelve_rods

from console.frame.test_in_a_terminal import Terminal
from sternwatch import __version__
from sternwatch.console import state

fcntl = pytest.importorskip("fcntl", reason="needs a terminal of POSIX")
pty = pytest.importorskip("pty", reason="needs a terminal of POSIX")
termios = pytest.importorskip("termios", reason="needs a terminal of POSIX")

pytestmark = pytest.mark.campaign

SPEED_M_S = 1.03
KNOT = 1852.0 / 3600.0
WARM_S = 45.0
MEASURED_S = 120.0

# The command itself, with a note of every outlook that it shows; without the pass that looks ahead along a whole
# recording (half a core more while it lasts), which there is not on the water.
NOTED = """
import json, sys
from sternwatch.watch.outlook.lookout import Lookout
from sternwatch.watch.sessions.foretelling import Foretelling
Foretelling.look = lambda *_, **__: None
take = Lookout._take
def noted(self):
    changed = take(self)
    if changed:
        new = self._outlook
        with open(sys.argv[1], "a") as out:
            note = {"took_s": new.took_s, "made": len(new.forecasts), "advice": len(new.advice)}
            note["horizon_s"] = sum(one.horizon_s for one in new.forecasts)
            note["limits_s"] = new.limits and new.limits.t_s
            print(json.dumps(note), file=out)
    return changed
Lookout._take = noted
from sternwatch.cli.main import main
sys.exit(main(sys.argv[2:]))
"""


class Noting(Terminal):
    """A terminal in which the command runs and notes its outlooks in a file."""

    def __init__(self, notes: Path, *arguments: str, size: tuple[int, int] = (120, 48)) -> None:
        self.begun_s = time.monotonic()
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            os.environ.update(TERM="xterm-256color", COLORTERM="truecolor")
            os.execv(sys.executable, [sys.executable, "-c", NOTED, str(notes), *arguments])
        fcntl.ioctl(self.handle, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))


def sentence(body: str) -> str:
    check = 0
    for letter in body:
        check ^= ord(letter)
    return f"${body}*{check:02X}\r\n"


def turning(seconds: int) -> str:
    """A boat that sails straight for half a minute, then half circles of 1 deg/s to either side and back, as NMEA."""
    said, heading, north, east = [], 60.0, 0.0, 0.0
    for k in range(seconds):
        phase = (k - 30) % 420 if k >= 30 else 400
        heading += 1.0 if phase < 180 else -1.0 if 210 <= phase < 390 else 0.0
        north += SPEED_M_S * math.cos(math.radians(heading))
        east += SPEED_M_S * math.sin(math.radians(heading))
        latitude = 47.0 * 60.0 + north / 1852.0
        longitude = 89.5 * 60.0 - east / (1852.0 * math.cos(math.radians(47.0)))
        where = f"{latitude // 60:02.0f}{latitude % 60:07.4f},N,{longitude // 60:03.0f}{longitude % 60:07.4f},W"
        clock = f"12{k // 60 % 60:02d}{k % 60:02d}.00"
        knots, course = f"{SPEED_M_S / KNOT:.2f}", f"{heading % 360:.1f}"
        said += [
            sentence(f"GPRMC,{clock},A,{where},{knots},{course},180726,,,A"),
            sentence(f"HEHDT,{course},T"),
            sentence(f"VWVHW,{course},T,,,{knots},N,,"),
            sentence("SDDPT,60.0,0.5"),
        ]
    return "".join(said)


@pytest.fixture
def noting(monkeypatch, tmp_path):
    monkeypatch.delenv("STERNWATCH_CACHE_DIR")
    state.save(state.State(theme="dusk", cautions_read=__version__))
    spread, feed, notes = tmp_path / "twelve.toml", tmp_path / "turning.nmea", tmp_path / "outlooks.jsonl"
    spread.write_text(twelve_rods(), encoding="utf-8")
    feed.write_text(turning(900), encoding="ascii")
    one = Noting(notes, "replay", str(feed), "--spread", str(spread), "--rate", "1")
    yield one, notes
    one.close()


def test_twelve_rods_with_a_plan_take_less_than_a_core_and_leave_the_keys_quick(noting, capsys):
    one, notes = noting
    one.wait_for("STARBOARD", 240.0)
    one.watch(3.0)
    # Half a circle to starboard in three minutes: on 60 m at this speed.
    one.press(b"p")
    for key in [b"\x1b[C"] * 8 + [b"\x1b[A"] * 22 + [b"\x1b[B"] * 15 + [b"\r"]:
        one.press(key)
        one.watch(0.12)
    one.watch(WARM_S)
    before, begun_s, cpu_s = len(notes.read_text().splitlines()), time.monotonic(), one.cpu_s()
    times = []
    while time.monotonic() - begun_s < MEASURED_S:
        one.press(str(len(times) % 8 + 1).encode())
        times.append(one.wait_for("chosen", 5.0))
        one.watch(0.7)
    seconds = time.monotonic() - begun_s
    share = (one.cpu_s() - cpu_s) / seconds
    made = [json.loads(line) for line in notes.read_text().splitlines()[before:]]
    times.sort()
    ahead_s, worst_s = made[-1]["horizon_s"], max(each["took_s"] for each in made)
    advised, searched = sum(each["advice"] > 0 for each in made), len({each["limits_s"] for each in made})
    middle_ms, most_ms = 1e3 * times[len(times) // 2], 1e3 * times[int(0.95 * len(times))]
    with capsys.disabled():
        print(f"\n{100 * share:.0f} % of one core: {len(made)} outlooks in {seconds:.0f} s, {ahead_s:.0f} s ahead,")
        print(f"in {worst_s:.2f} s at worst; {advised} with advice, limits {searched} times. A key shows after")
        print(f"{middle_ms:.0f} ms (median), {most_ms:.0f} ms (95 %), {1e3 * times[-1]:.0f} ms (worst)")
    # An outlook every two seconds, of three manoeuvres, with limits and advice among them: that is what is paid for.
    assert len(made) >= seconds / 2.3
    assert {each["made"] for each in made} == {3}
    assert len({each["limits_s"] for each in made} - {None}) >= seconds / 30.0
    assert any(each["advice"] for each in made)
    assert share < 0.80
    assert most_ms < 100.0
