"""What else is made of a moment: the way back to a place, and the bottom of the chart, to the last bit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

import numpy as np

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.asking import asked_now, of_hit, of_place
from sternwatch.watch.again.plan import Asked, Cannot, Proposal, Target, propose
from sternwatch.watch.chart.bed import Bed, bed
from sternwatch.watch.chart.gridded import Window
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.forecast.snapshot import Casting, snapshot
from sternwatch.watch.picture.model import Picture

DEPTH_M = 8.0
HALF_M, STEP_M = 80.0, 10.0  # of the chart


@dataclass(frozen=True)
class Beside:
    """Of one moment. ``ways``: through the place of the newest hit, and the boat's own; ``rows``: all soundings."""

    ways: tuple[tuple[Proposal, ...] | Cannot, ...]
    rows: np.ndarray | None
    bed: Bed | None

    @classmethod
    def of(cls, watch: Watch, picture: Picture) -> Beside:
        """``watch``: at the step of the picture."""
        found = (one if isinstance(one, Cannot) else propose(one) for one in _asked(watch))
        ground = picture.ground
        if ground is None:
            return cls(tuple(found), None, None)
        rows = np.concatenate([ground.sounded.rows(), ground.sounded.earlier_rows()])
        north_m, east_m = ground.boat_m or (0.0, 0.0)
        window = Window.about(north_m, east_m, (HALF_M, HALF_M), STEP_M)
        made = bed(rows, window, picture.t_s, units=SYSTEMS["us"], origin_deg=ground.origin_deg)
        return cls(tuple(found), rows, made)

    def proposals(self) -> int:
        return sum(len(found) for found in self.ways if not isinstance(found, Cannot))


def _asked(watch: Watch) -> list[Asked | Cannot]:
    now, bottom, boat = snapshot(watch), watch.bottom, watch.boat
    targets: list[Target | Cannot] = []
    for context in list(watch.memory.hits.by_id.values())[-1:]:
        rod = None if context.rod is None else watch.crew.rods.get(context.rod)
        targets.append(of_hit(context, bottom.origin_deg, None if rod is None else rod.line_out_m))
    place_m = bottom.over.at(0.0, 0.0)
    if now is not None and place_m is not None:
        targets.append(of_place(next(iter(now.rods)), place_m, DEPTH_M, boat))
    casting = Casting()
    return [one if isinstance(one, Cannot) else asked_now(one, now, bottom, boat, casting=casting) for one in targets]


def equal(one: Any, other: Any) -> bool:
    """Whether two things are equal to the last bit, with all that they hold."""
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return one.dtype == other.dtype and np.array_equal(one, other, equal_nan=one.dtype.kind == "f")
    if is_dataclass(one):
        return all(equal(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    if isinstance(one, Mapping):
        return one.keys() == other.keys() and all(equal(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(map(equal, one, other))
    return bool(one == other or (one != one and other != other))
