"""The start screen in a real terminal: a command is run, and the screen is come back to. Figures to report."""

from __future__ import annotations

import os
import time

import pytest

from console.frame.test_in_a_terminal import Terminal

pytestmark = pytest.mark.campaign


def test_commands_come_and_go_and_the_start_screen_comes_back(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("STERNWATCH_CACHE_DIR")
    one = Terminal(size=(100, 30))
    try:
        one.wait_for("connect a feed", 30.0)
        one.press(b"7")
        one.wait_for("What is the boat called", 30.0)
        one.press(b"\x1b")
        one.wait_for("connect a feed", 30.0)
        one.press(b"8")
        one.wait_for("No rod yet", 30.0)
        one.press(b"a")
        one.wait_for("which rig", 10.0)
        one.press(b"1")
        one.wait_for("which side", 10.0)
        one.press(b"1")
        one.wait_for("P DIVER", 10.0)
        one.press(b"s")
        one.wait_for("saved:", 10.0)
        one.press(b"\x1b")
        one.wait_for("connect a feed", 30.0)
        one.press(b"1")
        one.wait_for("of 0:44:00", 180.0)  # the demo
        one.watch(2.0)
        one.press(b"\x11\x11")
        one.wait_for("connect a feed", 30.0)
        one.press(b"\x1b")
        until_s = time.monotonic() + 10.0
        while time.monotonic() < until_s:
            pid, status = os.waitpid(one.pid, os.WNOHANG)
            if pid:
                break
            time.sleep(0.05)
        assert (pid, status) == (one.pid, 0)
    finally:
        os.close(one.handle)
