"""What may become of a file, from a seed; and an end for what hangs over it."""

from __future__ import annotations

import os
import random
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

HANGS_S = 120.0  # of the clock: whatever else the machine does
_DEEP = (b"[" * 5000, b"a = " + b"[" * 5000, b'{"a":' * 5000, b"a." * 50_000 + b"b = 1", b"[" + b"a." * 5000 + b"b]")


def damage(path: Path, good: bytes, rng: random.Random) -> str:
    """Makes something of the file; returns what."""
    kinds = (
        "bytes",
        "bytes",
        "bytes",
        "cut",
        "cut",
        "twice",
        "noise",
        "zeros",
        "empty",
        "deep",
        "huge",
        "latin",
        "token",
    )
    elsewhere = ("pipe", "loop", "no permission", "dangling") if os.name == "posix" else ()
    how = rng.choice((*kinds, "folder", *elsewhere))
    data = bytearray(good)
    match how:
        case "bytes":
            for _ in range(rng.choice((1, 1, 2, 10, 200))):
                data[rng.randrange(len(data))] = rng.choice((rng.randrange(256), 0, 10, 34, 91, 123))
        case "cut":
            del data[rng.randrange(len(data)) :]
        case "twice":
            at = rng.randrange(len(data))
            data[at:at] = data[at // 2 :]
        case "noise":
            data = bytearray(rng.randbytes(rng.randrange(1, 5000)))
        case "zeros":
            at = rng.randrange(len(data))
            data[at:] = bytes(len(data) - at)
        case "empty":
            data.clear()
        case "deep":
            data = bytearray(rng.choice(_DEEP)) if rng.random() < 0.5 else data + b"\n" + rng.choice(_DEEP)
        case "huge":
            data = data + rng.choice((b" ", b"a", b"\n", b'"', b"1")) * 1_500_000
        case "latin":
            data += b"\n# \xe9\xff\n"
        case "token":  # a value of another kind, or out of any measure
            at = rng.randrange(len(data))
            data[at : at + rng.randrange(8)] = rng.choice(
                (b"1e999", b"-1", b"null", b"NaN", b"9" * 400, b"{}", b"0001-01-01")
            )
    match how:
        case "folder":
            path.mkdir()
        case "pipe":
            os.mkfifo(path)
        case "loop":
            path.symlink_to(path.name)
        case "dangling":
            path.symlink_to("nothing")
        case _:
            path.write_bytes(bytes(data))
            if how == "no permission":
                path.chmod(0)
    return how


class HungError(BaseException):
    """Nothing that is asked catches it."""


@contextmanager
def at_once() -> Iterator[None]:
    """Ends what hangs, where the system can."""
    if not hasattr(signal, "SIGALRM"):
        yield
        return

    def hung(*_: object) -> None:
        raise HungError(f"took longer than {HANGS_S:g} s")

    before = signal.signal(signal.SIGALRM, hung)
    signal.setitimer(signal.ITIMER_REAL, HANGS_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
