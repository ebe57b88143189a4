"""Feeds lines to a watch and steps it; every session uses it.

A step must see every line stamped up to it and none after, and the decoder's opinion of its sources at that time. So
the watch steps up to just before a line, and then takes the line.
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
        """Take the next line. The watch first steps up to it; ``each`` gets each step's picture."""
        self.to(line.t_s - JUST_BEFORE_S, each)
        for reading in self.decoder.decode(line):
            self.watch.observe(reading)

    def to(self, t_s: float, each: Each | None = None) -> None:
        """Take every step up to a moment; no more lines may come before it."""
        if t_s < self.watch.next_step_s:
            return
        self.watch.alerts.complaints = tuple(r.complaint for r in self.decoder.reports() if r.complaint)
        self.watch.advance(t_s, each)

    def copy(self) -> Intake:
        return Intake(self.watch.copy(), copy.deepcopy(self.decoder))
