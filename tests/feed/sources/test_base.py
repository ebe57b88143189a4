"""The loop of every live source: what waited in a port while the computer slept."""

from __future__ import annotations

from typing import Any
from unittest.mock import patch

import pytest

from sternwatch.feed.sources import base
from sternwatch.feed.sources.base import Backoff, LiveSource, SleptError

DEPTH = b"$SDDPT,30.0,0.3,*77\r\n"


class Asleep:
    """A port in which one sentence waits while the computer sleeps."""

    address, baud = "a port", None

    def __init__(self, sleeps_s: float) -> None:
        self.t_s, self.steady_s, self.sleeps_s = 10.0, 5.0, sleeps_s

    def now(self) -> tuple[float, int]:
        return self.t_s, 1_780_000_000_000

    def monotonic(self) -> float:
        return self.steady_s

    def read(self) -> bytes:
        self.steady_s += 0.1
        self.t_s += 0.1 + self.sleeps_s
        return DEPTH

    def close(self) -> None:
        pass


class Ported(LiveSource):
    def _open(self) -> Any:
        raise AssertionError("opened by hand here")

    def _where(self) -> str:
        return "a port"


class Outliving(Ported):
    OUTLIVES_SLEEP = True


def listen(source: LiveSource, port: Asleep, times: list[float]) -> list[float]:
    """Adds the feed times of the lines that come from one read."""

    def put(line: Any) -> None:
        times.append(line.t_s)
        source._stopping.set()

    source._clock, source._put = port, put  # type: ignore[assignment]
    with patch.object(base, "time", port), patch.object(base, "awake_s", port.monotonic):
        source._read_all(port, Backoff(), 10.0)
    return times


def test_what_waited_over_a_sleep_is_not_stamped_as_of_now() -> None:
    """Simulated day 1002: a position of before the sleep was fresh after it, 30 s old."""
    times: list[float] = []
    with pytest.raises(SleptError, match="slept for 30 s; opened anew"):
        listen(Ported("boat"), Asleep(30.0), times)
    assert times == []


def test_a_short_stall_and_a_source_that_outlives_sleep_keep_what_they_read() -> None:
    assert listen(Ported("boat"), Asleep(LiveSource.SLEPT_S - 0.1), []) == [12.0]
    assert listen(Outliving("boat"), Asleep(30.0), []) == [40.1]
