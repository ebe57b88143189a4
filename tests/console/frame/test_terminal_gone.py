"""A console ends with its terminal, the hang-up ignored."""

import os
import select
import signal
import sys
import threading
import time

import pytest

from sternwatch.console.frame.terminal_gone import GONE_CODE, TerminalGone

pty = pytest.importorskip("pty", reason="needs a terminal of POSIX")

APP = """
import signal
signal.signal(signal.SIGHUP, signal.SIG_IGN)
from textual.app import App
from textual.widgets import Static
from sternwatch.console.frame.terminal_gone import ends_with_terminal
class Small(App[None]):
    def compose(self):
        yield Static("here it is")
    def on_mount(self):
        self.set_interval(0.1, lambda: self.query_one(Static).update(str(self._n)))
    @property
    def _n(self):
        import time
        return time.monotonic()
app = Small()
with ends_with_terminal(app):
    app.run()
"""


OTHER_SCREEN = b"\x1b[?1049h"  # a full-screen application has begun

ASHORE = """
import signal
signal.signal(signal.SIGHUP, signal.SIG_IGN)
from sternwatch.cli.main import main
main(["{command}"])
"""


@pytest.mark.parametrize(
    ("program", "shown"),
    [
        (APP, b"here it is"),
        (ASHORE.format(command="manual"), OTHER_SCREEN),
        (ASHORE.format(command="start"), OTHER_SCREEN),
    ],
    ids=["session", "manual", "start"],
)
def test_it_ends_within_seconds_of_its_terminal(program, shown, tmp_path):
    pid, handle = pty.fork()
    if pid == 0:
        os.environ.update(
            TERM="xterm-256color", STERNWATCH_CONFIG_DIR=str(tmp_path), STERNWATCH_DATA_DIR=str(tmp_path)
        )
        os.execv(sys.executable, [sys.executable, "-c", program])
    try:
        got = b""
        until_s = time.monotonic() + 30.0
        while shown not in got and time.monotonic() < until_s:
            if select.select([handle], [], [], 0.1)[0]:
                got += os.read(handle, 65536)
        assert shown in got
        os.close(handle)
        until_s, ended = time.monotonic() + 10.0, 0
        while not ended and time.monotonic() < until_s:
            ended, _ = os.waitpid(pid, os.WNOHANG)
            time.sleep(0.05)
        assert ended == pid
    except BaseException:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        raise


@pytest.mark.parametrize("in_order", [True, False])
def test_an_end_in_order_is_asked_for_and_then_it_leaves(in_order):
    master, slave = pty.openpty()
    left, asked = [], threading.Event()
    done = threading.Event()

    def end():
        asked.set()
        if in_order:
            looks.stop()

    def leave(code):
        left.append(code)
        done.set()

    looks = TerminalGone(slave, end, leave, look_s=0.01, patience_s=0.1)
    looks.begin()
    assert not asked.wait(0.1)
    os.close(master)
    assert asked.wait(5.0)
    assert done.wait(0.5 if in_order else 5.0) is not in_order
    assert left == ([] if in_order else [GONE_CODE])
    os.close(slave)
