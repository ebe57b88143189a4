"""Which lines are between a fish and the boat, in the order to clear them; and the order in which to pull all.

Common practice, no source: the crew leads a fish straight to the stern, and clears the lines in its way from the one
next to it inward. To pull everything, the longest and outermost lines come first, while the boat still holds them
apart. The balls come last: they hang under the boat, out of the way.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterable, Mapping

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.logbook.crew.state import Crew
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.picture.model import FightPicture, Pulling, RodPicture, RodState

Floats = NDArray[np.float64]

# A fish does not swim quite straight: lines this near its way are in it; less at the rods, where all lines meet
# (both memory).
NEAR_M = 3.0
TAPER_M = 30.0
# Winding speed with a rig's drag on the line, and the extra time for each rod (memory).
WIND_M_S = 0.5
HANDLE_S = 30.0
# Boards are unclipped while winding, balls are raised after their lines (memory).
BOARD_S = 20.0
BALL_S = 30.0


def fights(
    crew: Crew, chains: Mapping[str, RodChain], struck_at: Callable[[Iterable[str]], tuple[float, float] | None]
) -> tuple[FightPicture, ...]:
    """Every rod with a fish on, the longest fight first.

    ``struck_at``: where the lure was at the first of the given hits, (astern, abeam); None where nobody knows.
    """
    fighting = [mine for mine in crew.rods.values() if mine.state == "fighting"]
    order = sorted(fighting, key=lambda mine: (_since(mine.state_since), mine.key))
    return tuple(_fight(mine.key, chains, struck_at(mine.fights)) for mine in order)


def _since(when: object) -> float:
    elapsed = getattr(when, "elapsed_s", None)
    return math.inf if elapsed is None else float(elapsed)


def _fight(key: str, chains: Mapping[str, RodChain], at_m: tuple[float, float] | None) -> FightPicture:
    ball = chains[key].ball_only
    if at_m is None:
        return FightPicture(key, None, None, None, ball)
    shapes = {other: c.place.shape_m for other, c in chains.items() if other != key and c.place is not None}
    return FightPicture(key, at_m[0], at_m[1], in_the_way(at_m, shapes), ball)


def in_the_way(fish_m: tuple[float, float], shapes_m: dict[str, Floats]) -> tuple[str, ...]:
    """Rods whose lines a fish meets on its way to the middle of the stern, the one nearest to it first.

    Parameters
    ----------
    fish_m
        Place of the fish: astern, abeam [m].
    shapes_m
        Every other chain by its rod's key, from the tip outward: (n, 3) astern, abeam, depth [m].
    """
    met = [key for key, shape in shapes_m.items() if _meets(shape, float(fish_m[0]), float(fish_m[1]))]
    return tuple(sorted(met, key=lambda key: (abs(float(shapes_m[key][-1, 1]) - fish_m[1]), key)))


@njit(cache=True, nogil=True, error_model="numpy")
def _meets(nodes_m: Floats, astern_m: float, abeam_m: float) -> bool:
    """Whether the fish's straight way to the stern crosses a chain or comes near it, seen from above."""
    reach = math.hypot(astern_m, abeam_m)
    if reach == 0.0:
        return False
    c, s = -astern_m / reach, -abeam_m / reach
    arc = along_before = aside_before = 0.0
    for k in range(len(nodes_m)):
        astern, abeam, in_water = nodes_m[k, 0] - astern_m, nodes_m[k, 1] - abeam_m, nodes_m[k, 2] > 0.0
        along, aside = c * astern + s * abeam, c * abeam - s * astern
        if k > 0:
            square = 0.0
            for j in range(3):
                square += (nodes_m[k, j] - nodes_m[k - 1, j]) ** 2
            arc += math.sqrt(square)
            if in_water and aside_before * aside < 0.0:
                cut = along_before + aside_before / (aside_before - aside) * (along - along_before)
                if 0.0 <= cut <= reach:
                    return True
        if in_water and abs(aside) < NEAR_M * min(arc / TAPER_M, 1.0) and 0.0 <= along <= reach:
            return True
        along_before, aside_before = along, aside
    return False


def pulling(rods: Iterable[RodPicture], people: int | None) -> Pulling:
    """All rods that are out, in the order to pull them, and the time it takes.

    One of ``people`` steers, the others pull at the same time. Alone, or with no number given, one person pulls.
    """
    out = [rod for rod in rods if rod.state is not RodState.IN]
    order = sorted(out, key=lambda rod: (*_place(rod), rod.key))
    hands = max((people or 2) - 1, 1)
    free = [0.0] * hands
    for rod in order:
        heapq.heappush(free, heapq.heappop(free) + pull_s(rod))
    known = all(_past_tip_m(rod) is not None for rod in order)
    return Pulling(tuple(rod.key for rod in order), max(free) if known else None, hands)


def _place(rod: RodPicture) -> tuple[int, float]:
    """Sort key: rods with fish first, then by rig."""
    abeam = rod.abeam_m if rod.abeam_m is not None else rod.tip_abeam_m
    rank, far = pull_place(rod.rig, abeam, _past_tip_m(rod) or 0.0)
    return (0 if rod.state is RodState.FIGHTING else rank), far


def _past_tip_m(rod: RodPicture) -> float | None:
    """All line that must come in: backing, weighted line and leader. For a rod on another's cable, its lead."""
    return rod.past_tip_m if rod.past_tip_m is not None else rod.lead_m if rod.line_out_m is None else rod.line_out_m


def pull_place(rig: str, abeam_m: float, line_out_m: float) -> tuple[int, float]:
    """The place of a rig in the order to pull: boards and long lines, divers from the outermost inward, balls.

    ``rig``: the device that carries it. Within a kind, the farthest out, or the one with most line out, comes first.
    """
    rank = 3 if rig == "ball" else 1 if rig in ("board", "") else 2
    return rank, -(abs(abeam_m) if rig in ("diver", "weight") else line_out_m)


def pull_s(rod: RodPicture) -> float:
    """Seconds to bring one rod in."""
    length = _past_tip_m(rod) or 0.0
    extra = {"board": BOARD_S, "ball": BALL_S}.get(rod.rig, 0.0)
    return length / WIND_M_S + HANDLE_S + extra
