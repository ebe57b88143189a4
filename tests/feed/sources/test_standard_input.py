"""A feed on standard input beside a screen: the keys come from the terminal, the feed from the pipe."""

import os
import sys
import time

import pytest

pty = pytest.importorskip("pty", reason="needs a terminal of POSIX")

CHILD = """
import os, sys, threading, time
from sternwatch.feed.sources import streams
from sternwatch.feed.sources.hub import Hub
streams.set_apart()
hub = Hub([streams.StdinSource("n")])
hub.start()
heard, until = [], time.monotonic() + 8
while not heard and time.monotonic() < until:
    heard = hub.get(0.1)
print("heard", heard[0].data.decode(), "typed", os.read(0, 100).decode().strip(), flush=True)
hub.stop()
"""


def test_keys_and_feed_do_not_mix():
    reading, writing = os.pipe()
    child, terminal = pty.fork()
    if child == 0:
        os.dup2(reading, 0)
        os.execv(sys.executable, [sys.executable, "-c", CHILD])
    try:
        os.write(writing, b"$IIMTW,9.5,C\r\n")
        os.write(terminal, b"v\n")
        said, until = b"", time.monotonic() + 20
        while b"typed v" not in said and time.monotonic() < until:
            said += os.read(terminal, 1000)
        assert b"heard $IIMTW,9.5,C typed v" in said
    finally:
        os.close(writing)
        os.close(reading)
        os.waitpid(child, 0)
        os.close(terminal)
