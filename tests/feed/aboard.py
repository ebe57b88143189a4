"""What a session does with a feed, without a watch: a hub, a decoder and a sensor board that listen."""

from __future__ import annotations

import time
from collections.abc import Callable

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Quantity, Reading, SensorState
from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.specs import parse_specs

BACK_S = 3.0  # within which a feed must be heard again once it is there again


class SleepingClock(FeedClock):
    """A feed clock beside which the computer sleeps, or time flies, as a test says."""

    added_s = 0.0

    def now(self) -> tuple[float, int]:
        t_s, unix_ms = super().now()
        return round(t_s + self.added_s, 3), unix_ms + round(self.added_s * 1000)


class Aboard:
    """Listens to the sources of ``--feed`` options, on threads of theirs."""

    def __init__(self, *specs: str, sources=None) -> None:
        setup = parse_specs(specs)
        self.clock = SleepingClock()
        self.hub = Hub(sources or setup.sources(), clock=self.clock)
        self.decoder, self.board = Decoder(speech=setup.speech), SensorBoard()
        self.readings: list[Reading] = []
        self.hub.start()

    def hear(self, seconds: float = 0.0) -> None:
        """Take in what comes for so long."""
        until = time.monotonic() + seconds
        while True:
            for line in self.hub.get(0.02):
                for reading in self.decoder.decode(line):
                    self.readings.append(reading)
                    self.board.take(reading)
            if time.monotonic() >= until:
                return

    def hear_until(self, what: Callable[[], bool], speak: Callable[[], object], seconds: float = 8.0) -> float:
        """``speak`` ten times a second until ``what``; how long that took."""
        begun = time.monotonic()
        while not what():
            assert time.monotonic() - begun < seconds, (self.hub.statuses(), self.readings[-3:])
            speak()
            self.hear(0.1)
        return time.monotonic() - begun

    def state(self, quantity: Quantity = Quantity.STW) -> SensorState:
        """Of a quantity, now."""
        return self.board.table(self.clock.now()[0])[quantity].state

    def is_fresh(self) -> bool:
        """Whether speed through water is."""
        return self.state() is SensorState.FRESH

    @property
    def status(self):
        """Of the first source."""
        return self.hub.statuses()[0]

    def stop(self) -> None:
        self.hub.stop()
