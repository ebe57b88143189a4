"""Feeds lines to a watch and steps it; every session uses it.

A step must see every line stamped up to it and none after, and the decoder's opinion of its sources at that time. So
the watch steps up to just before a line, and then takes the line.
"""

from __future__ import annotations

import copy
import logging
from collections.abc import Callable
from dataclasses import dataclass

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Reading
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.picture.model import Picture

# Stamps are whole milliseconds.
JUST_BEFORE_S = 0.0005

_log = logging.getLogger(__name__)

Each = Callable[[Picture], None]


@dataclass(slots=True)
class Intake:
    """A watch and the decoder before it."""

    watch: Watch
    decoder: Decoder
    faulty: frozenset[str] = frozenset()  # sources with a line that the decoder did not survive

    def take(self, line: Line, each: Each | None = None) -> None:
        """Take the next line. The watch first steps up to it; ``each`` gets each step's picture."""
        self.to(line.t_s - JUST_BEFORE_S, each)
        for reading in self._read(line):
            self.watch.observe(reading)

    def _read(self, line: Line) -> list[Reading]:
        """A line's readings. A fault in a decoder, which is ours, costs that line and never the watch."""
        try:
            return self.decoder.decode(line)
        except Exception:  # noqa: BLE001 - whatever it is: on the water there is no second console
            if line.source not in self.faulty:  # the log needs one; the account of the source counts them all
                _log.exception("%s: a line was not decoded: %r", line.source, line.data[:120])
            self.faulty |= {line.source}
            self.decoder.reject(line)
            return []

    def to(self, t_s: float, each: Each | None = None) -> None:
        """Take every step up to a moment; no more lines may come before it."""
        if t_s < self.watch.next_step_s:
            return
        self.watch.alerts.complaints = self.decoder.complaints()
        self.watch.advance(t_s, each)

    def copy(self) -> Intake:
        return Intake(self.watch.copy(), copy.deepcopy(self.decoder), self.faulty)
