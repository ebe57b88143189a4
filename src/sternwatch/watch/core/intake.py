"""From lines to steps: the one way in which any session feeds its watch.

A step must see every line stamped up to it and none after, what the decoder thinks of its sources included; so the
watch is stepped up to just before a line, then the line is taken.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import dataclass

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.picture.model import Picture

# Stamps are whole milliseconds.
JUST_BEFORE_S = 0.0005

Each = Callable[[Picture], None]


@dataclass(slots=True)
class Intake:
    """A watch and the decoder before it."""

    watch: Watch
    decoder: Decoder

    def take(self, line: Line, each: Each | None = None) -> None:
        """The next line; the watch is first stepped up to it, each step's picture handed to ``each``."""
        self.to(line.t_s - JUST_BEFORE_S, each)
        for reading in self.decoder.decode(line):
            self.watch.observe(reading)

    def to(self, t_s: float, each: Each | None = None) -> None:
        """Every step up to a moment up to which no more lines will come."""
        if t_s < self.watch.next_step_s:
            return
        self.watch.alerts.complaints = tuple(r.complaint for r in self.decoder.reports() if r.complaint)
        self.watch.advance(t_s, each)

    def copy(self) -> Intake:
        return Intake(self.watch.copy(), copy.deepcopy(self.decoder))
