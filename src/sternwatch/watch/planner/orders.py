"""Orders to let lines out: the common practice, and the order of least cost."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from sternwatch.answers.chains.arrays import RodNow, rig_of
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.chains.clearing_order import pull_place
from sternwatch.watch.chains.rod_state import device_of


def practice_order(spread: Spread, rods: Mapping[str, RodNow], places_m: Mapping[str, float]) -> list[str]:
    """The reverse of the order to pull lines in: balls first, then lines near the boat, the longest last.

    ``places_m``: how far abeam each lure runs.
    """

    def place(key: str) -> tuple[float, ...]:
        rod = spread.rod_by_key(key)
        assert rod is not None
        far = places_m.get(key, rod.tip_abeam_m)
        return pull_place(device_of(spread, rod), far, rig_of(spread, rod, rods[key]).length_m)

    return sorted(rods, key=lambda key: (*(-part for part in place(key)), key))


def fewest(keys: Sequence[str], costs: Mapping[tuple[str, str], float]) -> list[str]:
    """The order of least cost. ``costs``: of (the line that goes out, a line that is already out).

    Of equals the one nearest to the order of ``keys``.
    """
    n = len(keys)
    cost = np.array([[costs.get((going, out), 0.0) for out in keys] for going in keys]).reshape(n, n)
    # The cost of going out with these already out, and how many are missing that practice has before it.
    pay = np.zeros((n, 1 << n))
    for out_set in range(1, 1 << n):
        one = (out_set & -out_set).bit_length() - 1
        pay[:, out_set] = pay[:, out_set & (out_set - 1)] + cost[:, one]
    least, before = [math.inf] * (1 << n), [-1] * (1 << n)
    least[0] = 0.0
    for out_set in range(1 << n):
        for going in range(n):
            if out_set >> going & 1:
                continue
            skipped = (~out_set & ((1 << going) - 1)).bit_count()
            total = least[out_set] + float(pay[going, out_set]) + skipped
            if total < least[out_set | 1 << going]:
                least[out_set | 1 << going], before[out_set | 1 << going] = total, going
    order: list[str] = []
    left = (1 << n) - 1
    while left:
        order.append(keys[before[left]])
        left &= ~(1 << before[left])
    return order[::-1]
