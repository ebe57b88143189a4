"""The thread beside the session: what an answer took is given back once it is made."""

from __future__ import annotations

import threading
from pathlib import Path

import numpy as np
import pytest

from sternwatch.watch import background
from sternwatch.watch.background import Beside, give_back

BLOCK_BYTES, BLOCKS = 100_000, 200


def _resident_mb() -> float:
    pages = Path("/proc/self/statm").read_text(encoding="ascii").split()[1]
    return int(pages) * 4096 / 2**20


@pytest.mark.skipif(background._trim is None, reason="the C library has no malloc_trim")
def test_memory_between_pieces_that_stay_is_given_back():
    blocks = [np.ones(BLOCK_BYTES, dtype=np.uint8) for _ in range(2 * BLOCKS)]
    del blocks[::2]
    before = _resident_mb()
    give_back()
    assert before - _resident_mb() > 0.5 * BLOCKS * BLOCK_BYTES / 2**20
    assert len(blocks) == BLOCKS


@pytest.mark.parametrize("fails", [False, True])
def test_it_is_given_back_after_every_answer(monkeypatch, fails):
    given = threading.Event()
    monkeypatch.setattr(background, "give_back", given.set)

    def work(question: int) -> int:
        assert not given.is_set()
        if fails:
            raise ValueError(question)
        return question + 1

    beside: Beside[int, int] = Beside(work, "test")
    beside.ask(1)
    assert given.wait(5.0)
    assert beside.made == (None if fails else 2)
    assert bool(beside.trouble) is fails
    beside.stop()
