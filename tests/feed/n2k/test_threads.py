"""Two threads may read buses at the same time: a replay is played by one and read ahead by another."""

from __future__ import annotations

import sys
import threading

from sternwatch.feed.n2k.payloads import fields

COURSE_AND_SPEED = 129026
SPEEDS_CM_S = (120, 100)


def test_several_threads_decode_at_the_same_time() -> None:
    told: list[float | None] = []
    faults: list[BaseException] = []
    together = threading.Barrier(4)

    def read(speed_cm_s: int) -> None:
        payload = b"\x01\xfc\x10\x27" + speed_cm_s.to_bytes(2, "little") + b"\xff\xff"
        together.wait()
        try:
            for _ in range(500):
                found = fields(COURSE_AND_SPEED, payload, speed_cm_s)
                told.append(None if found is None else found.numbers["sog"])
        except RuntimeError as fault:
            faults.append(fault)

    usual = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        threads = [threading.Thread(target=read, args=(speed,)) for speed in SPEEDS_CM_S * 2]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        sys.setswitchinterval(usual)
    assert not faults
    assert sorted(told, key=str) == [1.0] * 1000 + [1.2] * 1000
