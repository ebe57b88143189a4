"""What the page costs: the time that its own thread takes with eight phones, and the bytes to each."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

from console import fake_picture
from deck.served import Listener, serving, shown

PHONES, SECONDS = 8, 2.5


def deck_cpu_s(process: int | str = "self") -> float:
    """Processor time of the page's thread so far."""
    (thread,) = (
        one for one in Path(f"/proc/{process}/task").iterdir() if (one / "comm").read_text().strip() == "deck"
    )
    return int((thread / "schedstat").read_text().split()[0]) / 1e9


@pytest.mark.skipif(sys.platform != "linux", reason="a thread's time is read from /proc")
def test_eight_phones_take_under_a_hundredth_of_a_core(capsys):
    with serving(shown(fake_picture.many(12))) as server:
        phones = [Listener(server) for _ in range(PHONES)]
        for phone in phones:
            phone.events(2, 20.0)
        begun_s, before_s = time.monotonic(), deck_cpu_s()
        time.sleep(SECONDS)
        share = (deck_cpu_s() - before_s) / (time.monotonic() - begun_s)
        told = [len(phone.phone.recv(1 << 20)) for phone in phones]
        for phone in phones:
            phone.close()
    each = sum(told) / PHONES / SECONDS
    with capsys.disabled():
        print(
            f"\n{PHONES} phones, twelve rods: {100 * share:.2f} % of a core, {each:.0f} bytes per second to each",
            end="",
        )
    assert share < 0.01
    assert 200 < each < 1200
