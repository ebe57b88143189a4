"""Places where a recording is pieced together: its clock steps back, or so far on that nobody was aboard between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sternwatch.local_time import h_mm_ss

# Feed time between two pieces. How long it really was is unknown, so nothing heard before counts after it, and all
# lines start afresh. For that it is longer than the shortest silence that the watch counts as a hole.
GAP_S = 90.0


@dataclass(frozen=True, slots=True)
class Splice:
    """Where a piece begins, and how far the recording's clock steps there."""

    at_s: float  # feed time of the piece's first moment
    by_s: float  # step of the recording's clock; negative: back
    again: bool  # the new time is within an earlier piece

    @property
    def words(self) -> str:
        """The step in a few words."""
        step = f"the clock goes {'back' if self.by_s < 0 else 'on'} by {_long(abs(self.by_s))}"
        return f"{step} to a time that was there before" if self.again else step


def sentence(splices: Sequence[Splice]) -> str:
    """A sentence about a recording that is pieced together; empty for a whole one."""
    if not splices:
        return ""
    first, more, again = splices[0], len(splices) - 1, sum(one.again for one in splices)
    places = f", and in {more} more {'place' if more == 1 else 'places'}" if more else ""
    repeats = "" if len(splices) == 1 or not again else f" ({again} of them repeat a time)"
    return (
        f"it is in {len(splices) + 1} pieces{repeats}: at {h_mm_ss(first.at_s)} {first.words}{places}; "
        "each piece keeps its own time, and everything begins anew with it"
    )


def _long(seconds: float) -> str:
    for size, name in ((86400.0 * 365.25, "years"), (86400.0, "days"), (3600.0, "h"), (60.0, "min")):
        if seconds >= 2 * size or (name == "min" and seconds >= size):
            return f"{seconds / size:.0f} {name}"
    return f"{seconds:.0f} s"
