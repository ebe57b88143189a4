"""What the page costs: the time that its own thread takes with eight phones, and the bytes to each."""

from __future__ import annotations

import sys
import time
from pathlib import Path

import pytest

from console import fake_picture
from deck.served import Listener, serving, shown

PHONES, SECONDS = 8, 4.0


def thread_cpu_s(thread: int) -> float:
    """Processor time of a thread of this process so far."""
    fields = Path(f"/proc/self/task/{thread}/schedstat").read_text().split()
    return int(fields[0]) / 1e9


@pytest.mark.skipif(sys.platform != "linux", reason="a thread's time is read from /proc")
def test_eight_phones_take_under_a_hundredth_of_a_core(capsys):
    with serving(shown(fake_picture.many(12))) as server:
        thread = server._thread.native_id
        phones = [Listener(server) for _ in range(PHONES)]
        for phone in phones:
            phone.events(2, 20.0)
        begun_s, before_s = time.monotonic(), thread_cpu_s(thread)
        time.sleep(SECONDS)
        share = (thread_cpu_s(thread) - before_s) / (time.monotonic() - begun_s)
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
