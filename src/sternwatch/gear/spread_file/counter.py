"""Converts between a reel counter's reading and the line really past the rod tip.

``true = reading × scale + the line already past the tip when the counter read zero``. That offset is nothing where
the counter was zeroed with the end of the line (the device) at the tip, and the tip's height where the device was at
the water. With the lure at the water it is the tip's height less the length below the line's end (negative: that much
of the leader was still inside).
"""

from __future__ import annotations

from sternwatch.gear.spread_file.models import CounterZero, LineItem, Rod, Spread, TackleItem

# The shortest line that counts as out: an eye and a knot.
SHORTEST_M = 0.05


def zero_of(spread: Spread, rod: Rod) -> CounterZero:
    """Where the counter was zeroed. Where the file does not say: at the water for a downrigger, else at the tip."""
    if rod.counter.zero is not None:
        return rod.counter.zero
    first = next((item for item in rod.deployed if isinstance(item, TackleItem)), None)
    ball = first is not None and spread.tackle[first.tackle].kind == "ball"
    return "water" if ball else "tip"


def offset_m(spread: Spread, rod: Rod, lead_m: float | None = None) -> float:
    """Line past the tip when the counter read zero [m]. ``lead_m`` replaces the length with ``adjust``."""
    zero = zero_of(spread, rod)
    off = spread.values.get(f"rod {rod.key} zero", 0.0)
    if rod.tip is None or zero == "tip":
        return off
    if zero == "water":
        return rod.tip.height_m + off
    return rod.tip.height_m - hanging_m(rod, lead_m) + off


def hanging_m(rod: Rod, lead_m: float | None = None) -> float:
    """Length from the end of the counted line to the lure [m]."""
    total = 0.0
    for item in rod.deployed[1:]:
        if isinstance(item, LineItem):
            total += lead_m if item.adjust and lead_m is not None else item.length_m or 0.0
    return total


def per_read(spread: Spread, rod: Rod) -> float:
    """True length per length read: the file's scale times the believed factor of the counter."""
    return rod.counter.scale * spread.values.get(f"rod {rod.key} counter", 1.0)


def true_line_m(spread: Spread, rod: Rod, reading_m: float, lead_m: float | None = None) -> float:
    """Line past the tip [m] when the counter reads ``reading_m``; never under :data:`SHORTEST_M`."""
    return max(SHORTEST_M, reading_m * per_read(spread, rod) + offset_m(spread, rod, lead_m))


def reading_m(spread: Spread, rod: Rod, true_m: float, lead_m: float | None = None) -> float:
    """What the counter reads with ``true_m`` of line past the tip; the reverse of :func:`true_line_m`."""
    return (true_m - offset_m(spread, rod, lead_m)) / per_read(spread, rod)
