"""How a rod's chain goes out over the rod tip: the lure first, then leader, weighted line and backing.

The counter counts the line that is at the tip when all is out. All beyond that line goes out before it. Until then
the reading is negative: so much must still go out before the counted line begins.
"""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.gear.spread_file.counter import offset_m, per_read
from sternwatch.gear.spread_file.models import LineItem, Rod, Spread, TackleItem

# A rod starts going out with line to the water and this much to spare.
WET_START_M = 1.5
# The first length of a line that follows another line over the tip.
JOINT_M = 1.5


@dataclass(frozen=True, slots=True)
class GoingOut:
    """The lines of a rod in order from the tip with all of them out. The counter counts line 0."""

    per_read: float
    offset_m: float  # counted line past the tip when the counter reads zero
    beyond_m: tuple[float, ...]  # length beyond each line
    least_m: tuple[float, ...]  # length of each line past the tip before it counts as the line at the tip
    start_m: float  # total past the tip when the rod starts going out

    def past_tip_m(self, reading_m: float) -> float:
        """The total length past the tip [m], leader included, at a reading of the counter."""
        return reading_m * self.per_read + self.offset_m + self.beyond_m[0]

    def reading_m(self, past_tip_m: float) -> float:
        """The counter's reading for a total past the tip; negative until the counted line begins."""
        return (past_tip_m - self.beyond_m[0] - self.offset_m) / self.per_read

    def on_reel(self, past_tip_m: float) -> int:
        """How many of the lines, from the counted one on, are still on the reel."""
        for number, (beyond, least) in enumerate(zip(self.beyond_m, self.least_m, strict=True)):
            if past_tip_m - beyond >= least - 1e-9:
                return number
        return len(self.beyond_m) - 1

    def first_line_m(self, past_tip_m: float, on_reel: int) -> float:
        """The length of the line at the tip that is past the tip."""
        return past_tip_m - self.beyond_m[on_reel]


def going_out(spread: Spread, rod: Rod, lead_m: float | None = None) -> GoingOut | None:
    """How a rod goes out. None for a rod whose line does not run over its own tip.

    ``lead_m`` replaces the length with ``adjust``.
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
        # The crew hold tackle at the rail until there is enough line for it to reach the water.
        least.append(wet if isinstance(after, TackleItem) else JOINT_M)
    least[-1] = 0.0
    beyond = tuple(sum(lengths[number + 1 :]) for number in range(len(lengths)))
    return GoingOut(per_read(spread, rod), offset_m(spread, rod, lead_m), beyond, tuple(least), wet)
