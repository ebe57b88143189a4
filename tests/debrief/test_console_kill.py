"""The whole console under load, killed: what its screen called saved is in the logbook, once.

A replay at twenty times real time in a terminal of its own, hits typed by a script; the process is killed at a random
moment and started again on the same files, where it must know the hits of the lives before. What counts as
acknowledged is only what was painted.
"""

from __future__ import annotations

import contextlib
import os
import random
import re
import select
import signal
import struct
import sys
import time
from pathlib import Path

import pytest

from sternwatch.logbook.store.logbook import Logbook

pty = pytest.importorskip("pty", reason="needs a terminal of POSIX")
fcntl = pytest.importorskip("fcntl", reason="needs a terminal of POSIX")
termios = pytest.importorskip("termios", reason="needs a terminal of POSIX")

DEMO = Path(__file__).parents[2] / "demo_logs"
ESCAPES = re.compile(rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)|P[^\x1b]*\x1b\\|[@-Z\\-_])")
START_S = 60.0
ANSWER_S = 10.0
HIT = "●"


class Console:
    """A console in a terminal of 120×40."""

    def __init__(self, data: Path) -> None:
        feed, spread = str(DEMO / "evening.nmea"), str(DEMO / "evening.toml")
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            os.environ.update(
                STERNWATCH_DATA_DIR=str(data), STERNWATCH_CONFIG_DIR=str(data / "config"), TERM="xterm-256color",
                STERNWATCH_LOG_DIR=str(data / "log"), COLUMNS="120", LINES="40",
            )  # fmt: skip
            arguments = ["-m", "sternwatch", "replay", feed, "--spread", spread, "--rate", "20"]
            os.execv(sys.executable, [sys.executable, *arguments])
        fcntl.ioctl(self.terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
        self.painted = b""

    def read(self, wait_s: float) -> None:
        """Whatever it paints within so long."""
        if select.select([self.terminal], [], [], wait_s)[0]:
            with contextlib.suppress(OSError):  # it has ended
                self.painted += os.read(self.terminal, 1 << 16)

    def until(self, words: str, within_s: float, after: int = 0) -> bool:
        """Whether the words are painted, beginning at a place in what was painted."""
        wanted = words.encode()
        end = time.monotonic() + within_s
        while time.monotonic() < end:
            if wanted in ESCAPES.sub(b"", self.painted[after:]):
                return True
            self.read(0.05)
        return False

    def type(self, keys: str) -> None:
        os.write(self.terminal, keys.encode())

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.terminal)


def hit(console: Console, rod: str) -> bool:
    """Type a late hit; whether the screen called it saved."""
    at = len(console.painted)
    console.type("t")
    if not console.until("Late hit at this moment", ANSWER_S, at):
        return False
    at = len(console.painted)
    console.type(rod)
    return console.until("saved", ANSWER_S, at)


def run(data: Path, rng: random.Random, before: tuple[int, int]) -> tuple[int, int]:
    """One life of the console: (hits the screen called saved, hits typed); ``before``: of the lives before."""
    console = Console(data)
    saved = typed = 0
    try:
        assert console.until("REPLAY", START_S), ESCAPES.sub(b"", console.painted)[-2000:]
        assert console.until("mph", START_S)
        if before[0]:  # hits of earlier lives stand on the timeline, and nothing else looks like them
            assert console.until(HIT, ANSWER_S), ESCAPES.sub(b"", console.painted)[-2000:]
        elif not before[1]:
            assert HIT.encode() not in console.painted
        for _ in range(rng.randrange(1, 4)):
            typed += 1
            saved += hit(console, rng.choice("12345678"))
        console.type("t")  # and one whose end nobody sees
        console.until("Late hit at this moment", 2.0, len(console.painted) - 1)
        typed += 1
        console.type(rng.choice("12345678"))
        time.sleep(rng.uniform(0.0, 0.05))
    finally:
        console.kill()
    return saved, typed


def lives(data: Path, times: int, seed: int) -> int:
    rng = random.Random(seed)
    saved = typed = 0
    for _ in range(times):
        more = run(data, rng, (saved, typed))
        saved, typed = saved + more[0], typed + more[1]
        (file,) = (data / "replays").glob("*.sqlite")
        with Logbook(file) as book:
            hits = [a for a in book.actions(file.stem) if a.kind == "hit"]
            assert book.verify() == []
        assert len({a.id for a in hits}) == len(hits)
        assert saved <= len(hits) <= typed
    return saved


def test_nothing_called_saved_is_lost_in_three_kills(tmp_path: Path) -> None:
    assert lives(tmp_path, 3, seed=1) >= 3


@pytest.mark.campaign
def test_nothing_called_saved_is_lost_in_200_kills(tmp_path: Path) -> None:
    saved = lives(tmp_path, 200, seed=2)
    print(f"\n{saved} hits called saved over 200 kills, none lost, none doubled")
    assert saved >= 200
