"""A whole console with a page for the deck: killed, begun again, and what its listeners cost. Figures to report."""

from __future__ import annotations

import json
import os
import time

import pytest

from console.frame.test_in_a_terminal import Terminal
from deck.browser import PHONE, Browser, chromium
from sternwatch import __version__
from sternwatch.console import state
from sternwatch.places import data_dir

pytestmark = pytest.mark.campaign
PORT = 8493


@pytest.fixture
def console_with_deck(monkeypatch, tmp_path):
    for name in ("CONFIG", "DATA", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path / name.lower()))
    state.save(state.State(theme="day", cautions_read=__version__))
    opened = []

    def open_one():
        opened.append(Terminal("demo", "--deck", f"here@{PORT}"))
        return opened[-1]

    yield open_one
    for one in opened:
        try:
            one.close()
        except (OSError, ProcessLookupError):
            continue


def url():
    token = json.loads((data_dir() / "deck.json").read_text())["token"]
    return f"http://127.0.0.1:{PORT}/{token}/"


def test_killed_greyed_and_back_and_eight_phones_cost_little(console_with_deck, tmp_path, capsys):
    chromium()
    first = console_with_deck()
    first.wait_for("P LOW", 90.0)
    first.watch(20.0)
    browser = Browser(tmp_path / "profile")
    tab = browser.tab(PHONE)
    begun_s = time.monotonic()
    tab.open(url())
    tab.wait("row!==null&&row.rods&&[...document.querySelectorAll('.deep')].some(e=>+e.textContent>0)", 3.0)
    first_depth_s = time.monotonic() - begun_s
    tab.ask("source.close();clearInterval(0)")
    tab.open("about:blank")
    first.watch(3.0)

    def share(seconds=15.0):
        cpu, wall = first.cpu_s(), time.monotonic()
        first.watch(seconds)
        return (first.cpu_s() - cpu) / (time.monotonic() - wall)

    # Off and on in turn, since the console's own load moves.
    from deck.served import Listener

    class At:
        port, _token = PORT, url().rstrip("/").rpartition("/")[2]

    differences = []
    for _ in range(3):
        alone = share()
        phones = [Listener(At) for _ in range(8)]
        with_eight = share()
        told = [phone.phone.recv(1 << 20) for phone in phones]
        for phone in phones:
            phone.close()
        first.watch(2.0)
        differences.append(with_eight - alone)
    bytes_per_s = sum(map(len, told)) / len(told) / 15.0

    tab.open(url())
    tab.wait("row!==null&&!document.body.classList.contains('stale')", 5.0)
    os.kill(first.pid, 9)
    begun_s = time.monotonic()
    tab.wait("document.body.classList.contains('stale')", 4.0)
    grey_s = time.monotonic() - begun_s
    again = console_with_deck()
    again.wait_for("P LOW", 90.0)
    up_s = time.monotonic()
    while tab.ask("document.body.classList.contains('stale')"):
        again.watch(0.05)
        assert time.monotonic() - up_s < 5.0
    back_s = time.monotonic() - up_s
    browser.close()
    with capsys.disabled():
        print(
            f"\nfirst depth {first_depth_s:.2f} s; grey {grey_s:.2f} s after the kill; "
            f"back {back_s:.2f} s after the helm; "
            f"eight phones {[f'{100 * one:.2f} %' for one in differences]} of a core; {bytes_per_s:.0f} B/s each"
        )
    assert first_depth_s < 3.0
    assert grey_s < 3.2
    assert back_s < 3.5
    assert sorted(differences)[1] < 0.01
