"""How a rod's chain passes the rod tip: the lure first, then leader, weighted line and backing, in order.

The counter counts one of its lines, the one at the tip when all is out; what hangs beyond has gone out before, and
until it has, the reading is negative: so much is still to go before the counted line begins.
"""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.gear.spread_file.counter import offset_m, per_read
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread, TackleItem

# The least line past the tip when a rod starts going out: it reaches the water with this much to spare.
WET_START_M = 1.5
# Of a line that begins to go out behind another line.
JOINT_M = 1.5


@dataclass(frozen=True, slots=True)
class GoingOut:
    """The lines of a rod in order from the tip, when all is out; line 0 is the one that the counter counts."""

    per_read: float
    offset_m: float  # of the counted line past the tip when the counter reads zero
    beyond_m: tuple[float, ...]  # what hangs beyond each line
    least_m: tuple[float, ...]  # of each line out before it is reckoned as the one at the tip
    start_m: float  # of all past the tip when the rod starts going out

    def past_tip_m(self, reading_m: float) -> float:
        """All that is past the tip [m], leader and all, when the counter reads so."""
        return reading_m * self.per_read + self.offset_m + self.beyond_m[0]

    def reading_m(self, past_tip_m: float) -> float:
        """What the counter reads then; negative while what it does not count still goes out."""
        return (past_tip_m - self.beyond_m[0] - self.offset_m) / self.per_read

    def on_reel(self, past_tip_m: float) -> int:
        """How many of the lines, from the counted one on, are still on the reel."""
        for number, (beyond, least) in enumerate(zip(self.beyond_m, self.least_m, strict=True)):
            if past_tip_m - beyond >= least - 1e-9:
                return number
        return len(self.beyond_m) - 1

    def first_line_m(self, past_tip_m: float, on_reel: int) -> float:
        """Of the line at the tip past it."""
        return past_tip_m - self.beyond_m[on_reel]


def going_out(spread: Spread, rod: Rod, lead_m: float | None = None) -> GoingOut | None:
    """How a rod goes out; None for one whose line does not run over a tip of its own.

    ``lead_m`` stands for the length with ``adjust``.
    """
    if rod.tip is None or rod.line_out_m is None:
        return None
    wet = rod.tip.height_m + WET_START_M
    lengths: list[float] = []
    least: list[float] = []
    for number, item in enumerate(rod.deployed):
        if not isinstance(item, LineItem):
            continue
        after = rod.deployed[number + 1] if number + 1 < len(rod.deployed) else None
        lengths.append(lead_m if item.adjust and lead_m is not None else item.length_m or 0.0)
        # Tackle is held at the rail until there is line enough for it to reach the water.
        least.append(wet if isinstance(after, TackleItem) else JOINT_M)
    least[-1] = 0.0
    beyond = tuple(sum(lengths[number + 1 :]) for number in range(len(lengths)))
    return GoingOut(per_read(spread, rod), offset_m(spread, rod, lead_m), beyond, tuple(least), wet)
