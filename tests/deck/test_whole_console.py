"""A whole console with a page for the deck: killed, begun again, and what its listeners cost. Figures to report."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import threading
import time

import pytest

from console.frame.test_in_a_terminal import SPREAD, Terminal
from deck import thrower
from deck.browser import PHONE, Browser, chromium
from deck.served import Listener
from deck.test_cost import deck_cpu_s
from sternwatch import __version__
from sternwatch.console import state
from sternwatch.places import data_dir

pytestmark = pytest.mark.campaign
REQUESTS = 100_000
PORT = 8493


@pytest.fixture
def console_with_deck(monkeypatch):
    monkeypatch.delenv("STERNWATCH_CACHE_DIR")  # kernels that are compiled already
    state.save(state.State(theme="day", cautions_read=__version__))
    opened = []

    def open_one(*command):
        """A console that shows its rods."""
        opened.append(Terminal(*command, "--deck", f"here@{PORT}"))
        opened[-1].wait_for("P LOW", 90.0)
        return opened[-1]

    yield open_one
    for one in opened:
        one.close()


def read_from_now_on(terminal):
    """Its output is taken, else it would wait for that."""

    def drain():
        with contextlib.suppress(OSError, ValueError):
            while True:
                terminal.watch(0.5)

    threading.Thread(target=drain, daemon=True).start()
    return terminal


class At:
    """The server of the console, as the listeners know one."""

    port = PORT

    @property
    def _token(self):
        return json.loads((data_dir() / "deck.json").read_text())["token"]


def rods_come():
    """Wait until the helm shows rods: a recording is computed up to where it begins first."""
    phone, until_s = Listener(At()), time.monotonic() + 150.0
    while b'"boat":' not in phone.got:
        assert time.monotonic() < until_s
        phone.got = phone.phone.recv(1 << 16)
    phone.close()


def url():
    return f"http://127.0.0.1:{PORT}/{At()._token}/"


FRESH = "row!==null&&!document.body.classList.contains('stale')"
DEPTHS = "row!==null&&!!row.rods&&[...document.querySelectorAll('.deep')].some(e=>+e.textContent>0)"


def test_killed_it_greys_and_begun_again_it_is_back(console_with_deck, tmp_path, capsys):
    chromium()
    first = read_from_now_on(console_with_deck("demo"))
    rods_come()
    browser = Browser(tmp_path / "profile")
    tab = browser.tab(PHONE)
    begun_s = time.monotonic()
    tab.open(url())
    tab.wait(DEPTHS, 3.0)
    first_depth_s = time.monotonic() - begun_s
    greys, backs = [], []
    for _ in range(3):
        tab.wait(FRESH, 10.0)
        os.kill(first.pid, 9)
        begun_s = time.monotonic()
        tab.wait("document.body.classList.contains('stale')", 4.0)
        greys.append(time.monotonic() - begun_s)
        first = read_from_now_on(console_with_deck("demo"))  # its helm shows
        begun_s = time.monotonic()
        tab.wait(FRESH, 10.0)
        backs.append(time.monotonic() - begun_s)
        tab.wait(DEPTHS, 60.0)
    browser.close()
    with capsys.disabled():
        print(
            f"\nfirst depth {first_depth_s:.2f} s; grey {' '.join(f'{one:.2f}' for one in greys)} s after the kill; "
            f"back {' '.join(f'{one:.2f}' for one in backs)} s after the helm shows"
        )
    assert first_depth_s < 3.0
    assert max(greys) < 3.1
    assert max(backs) < 3.0


def evening_at_a_quarter(console_with_deck):
    """The invented evening as a recording, 15 min on: its rods are set, its number keys enter nothing."""
    actions = SPREAD.with_name("evening.actions.jsonl")
    feed = SPREAD.with_name("evening.nmea")
    one = console_with_deck("replay", str(feed), "--spread", str(SPREAD), "--actions", str(actions))
    rods_come()
    one.press(b"\r")
    one.watch(0.5)
    one.press(b"+15\r")
    one.watch(15.0)
    return one


def test_eight_phones_cost_the_console_little(console_with_deck, capsys):
    first = evening_at_a_quarter(console_with_deck)
    first.press(b" ")  # it stands still, since its own load moves by more than what is measured
    read_from_now_on(first)
    time.sleep(15.0)

    def shares(seconds=10.0):
        """Of a core: all of the console, and the page's thread."""
        whole, thread, wall = first.cpu_s(), deck_cpu_s(first.pid), time.monotonic()
        time.sleep(seconds)
        past_s = time.monotonic() - wall
        return (first.cpu_s() - whole) / past_s, (deck_cpu_s(first.pid) - thread) / past_s

    alones, differences, threads = [], [], []
    for _ in range(5):
        alone, idle = shares()
        phones = [Listener(At()) for _ in range(8)]
        with_eight, thread = shares()
        alones.append(alone)
        differences.append(with_eight - alone)
        threads.append(thread - idle)
        told = [phone.phone.recv(1 << 20) for phone in phones]
        for phone in phones:
            phone.close()
        time.sleep(1.0)
    own, more, mine = (" ".join(f"{100 * one:.2f}" for one in found) for found in (alones, differences, threads))
    with capsys.disabled():
        print(f"\neight phones take their thread {mine} % of a core; the console, which has {own} %, takes ", end="")
        print(f"{more} % more; ", end="")
        print(f"{sum(map(len, told)) / 80.0:.0f} bytes a second to each")
    assert all(b'"paused":1' in one and b'"f",' in one for one in told)  # it stands, with rods that fish
    # What the console takes otherwise moves by more than this from one ten seconds to the next.
    assert max(threads) < 0.01


def test_a_key_shows_nearly_as_soon_under_malformed_requests(console_with_deck, capsys):
    one = evening_at_a_quarter(console_with_deck)

    def latencies(keys):
        took = []
        for number in range(keys):
            one.press(str(number % 8 + 1).encode())
            took.append(one.wait_for("chosen", 5.0))
            one.watch(0.2)
        return sorted(took)

    latencies(10)
    quiet = latencies(100)
    throwing = subprocess.Popen(
        [sys.executable, thrower.__file__, str(PORT), At()._token, str(REQUESTS), "20260820"], stdout=subprocess.PIPE
    )
    loud = []
    while throwing.poll() is None:
        loud += latencies(10)
    statuses = json.loads(throwing.communicate()[0])
    loud.sort()
    ratio = loud[len(loud) // 2] / quiet[len(quiet) // 2]
    with capsys.disabled():
        print(
            f"\n{statuses}; a key shows after (median, 95 %) "
            f"{1e3 * quiet[50]:.0f}, {1e3 * quiet[95]:.0f} ms in quiet; "
            f"{1e3 * loud[len(loud) // 2]:.0f}, {1e3 * loud[len(loud) * 95 // 100]:.0f} ms then, {len(loud)} keys: "
            f"{ratio:.2f} times as long"
        )
    assert sum(statuses.values()) == REQUESTS
    assert ratio < 3.0
