"""The demo's tour: one line at a time that says what to look at, by the recording's time. Any key ends it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stop:
    """What to look at from a moment of feed time [s] on, until the next."""

    from_s: float
    text: str


# The evening's tight turn to port begins at 1560 s; a bite comes at 1661 s, its rod's key at 1664 s.
EVENING_FROM_S = 1540.0
# By then all lines have been towed long enough; playing from the start takes seven times as long.
EVENING_RUN_UP_S = 240.0
EVENING = (
    Stop(0.0, "We go on to just before a tight turn; the depths are computed on the way."),
    Stop(EVENING_FROM_S, "The rods as they stand across the stern, each with the depth of its lure now."),
    Stop(1550.0, "Soon she turns hard to port. Watch 1, 2 and 3, on the inside: they slow down and sink."),
    Stop(1570.0, "Arrows beside the depths: sinking or rising. Above the rods: how fast she turns."),
    Stop(1590.0, "Dotted: where the lines are heading. A cross: where two may meet, and how likely it is."),
    Stop(1608.0, "A warning says which lines meet, when, and after its arrow what would avoid it."),
    Stop(1634.0, "She goes straight again, yet 2 and 3 are deep: slack line takes time to tighten."),
    Stop(1658.0, "A bite: one key keeps the moment. Then the rod's key, here 6, says which rod it was."),
    Stop(1672.0, "Now you: a rod's key is a hit on it, u takes your own back, p plans a turn."),
    Stop(1682.0, "The crew has read five depths off a logger: fit, in the palette, says what they teach."),
    Stop(1692.0, "Space pauses, ] goes to the next hit or turn, up and down change the speed, ? helps."),
    Stop(1704.0, ""),
)


def line(tour: tuple[Stop, ...], t_s: float) -> str:
    """The line at feed time ``t_s`` [s]; empty where there is none."""
    said = [stop.text for stop in tour if stop.from_s <= t_s]
    return said[-1] if said else ""
