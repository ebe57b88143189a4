"""A rod's reel: how much line is past the tip, and how it goes out and comes in."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sternwatch.gear.spread_file.counter import per_read
from sternwatch.gear.spread_file.going_out import GoingOut, going_out
from sternwatch.gear.spread_file.models import Rod, Spread

# With no more line than this past the tip, the tackle is at the rail.
AT_RAIL_M = 4.0


@dataclass(slots=True, eq=False)
class Reel:
    """What the counter reads now, and what is wanted."""

    spread: Spread
    rod: Rod
    pay_out_m_s: float
    lead_m: float | None = None  # the length that carries ``adjust``, as the crew set it
    target_m: float | None = None  # the reading wanted
    reading_m: float | None = None  # negative until the line that the counter measures goes out
    on_reel: int = 0  # how many of its lines, from that one on, are still wholly on the reel
    _found: tuple[Spread, Rod, float | None, GoingOut | None] | None = None

    @property
    def out(self) -> GoingOut | None:
        """How the rod goes out as it is rigged now. Read many times a step; computed when the rig changes."""
        kept = self._found
        if kept is None or kept[0] is not self.spread or kept[1] is not self.rod or kept[2] != self.lead_m:
            made = going_out(self.spread, self.rod, self.lead_m)
            kept = self._found = (self.spread, self.rod, self.lead_m, made)
        return kept[3]

    @property
    def first_reading_m(self) -> float | None:
        """The reading with the lure just in the water."""
        out = self.out
        if self.target_m is None or out is None:
            return self.target_m
        return min(out.reading_m(out.start_m), self.target_m)

    @property
    def moving(self) -> float:
        """How the line moves: +1 going out, -1 coming in, 0 neither."""
        if self.target_m is None or self.reading_m is None:
            return 0.0
        gap = self.target_m - self.reading_m
        return 0.0 if abs(gap) < 1e-6 else math.copysign(1.0, gap)

    @property
    def past_tip_m(self) -> float | None:
        """The whole length past the rod tip, with the leader. None where no counter gives it."""
        out = self.out
        return None if out is None or self.reading_m is None else out.past_tip_m(self.reading_m)

    @property
    def first_line_m(self) -> float | None:
        """Length of the line at the tip, if the counter does not measure that line; else None."""
        past_tip_m, out = self.past_tip_m, self.out
        if not self.on_reel or past_tip_m is None or out is None:
            return None
        return out.first_line_m(past_tip_m, self.on_reel)

    def whole_m(self, past_tip_m: float, *, running: bool) -> float:
        """Length of a chain with all its line out, when ``past_tip_m`` is past the tip now.

        ``running``: its line goes out or comes in. At the rail it is about to.
        """
        if self.reading_m is None or not (running or self.reading_m <= AT_RAIL_M):
            return past_tip_m
        whole = max((m for m in (self.target_m, self.rod.line_out_m) if m is not None), default=self.reading_m)
        return past_tip_m + max(whole - self.reading_m, 0.0) * per_read(self.spread, self.rod)

    def begin(self, *, whole: bool) -> None:
        """Find which line is at the tip from the reading. ``whole``: take the one that the counter measures."""
        past_tip_m, out = self.past_tip_m, self.out
        self.on_reel = 0 if whole or out is None or past_tip_m is None else out.on_reel(past_tip_m)

    def takes_up(self, past_tip_m: float) -> bool:
        """Whether another line is at the tip now, with ``past_tip_m`` past it."""
        out, before = self.out, self.on_reel
        if out is not None:
            self.on_reel = out.on_reel(past_tip_m)
        return self.on_reel != before

    def ran_for(self, seconds: float) -> None:
        """Let the line go out for a time that no step saw."""
        if self.reading_m is not None and self.target_m is not None:
            gone = max(seconds, 0.0) * self.pay_out_m_s / per_read(self.spread, self.rod)
            self.reading_m = min(self.reading_m + gone, self.target_m)

    def run(self, dt_s: float) -> float:
        """Move the counter toward the reading wanted. Returns the rate of true line out over this step."""
        if self.reading_m is None or self.target_m is None or self.reading_m == self.target_m or dt_s <= 0.0:
            return 0.0
        per = per_read(self.spread, self.rod)
        most = self.pay_out_m_s * dt_s / per
        by = min(max(self.target_m - self.reading_m, -most), most)
        self.reading_m += by
        return by * per / dt_s
