"""A closer look at pairs of rods that touch in a few members only: all further members decide about them.

One member of sixteen is six per cent, two are twelve: near the limit of a warning such a share is a throw of dice.
The members that are behind every depth besides those that outlooks run are of the same beliefs, so they sharpen the
share without a new draw. Only the rods concerned are run, and only where a pair is near the limit; in an ordinary
turn that is seldom so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.separation.distance import Closest, Required, all_pairs, closest
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.chains.ensemble import Fleet, Run, run
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.forecast.meetings import Ints, Keys, both_known, columns_of, worst_of

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# A pair that touches in some member, but in a smaller share than this, is looked at again: of sixteen members one to
# three. The limit of a tenth lies well inside.
NEAR = 0.25


@dataclass(frozen=True)
class Closer:
    """What further members say about the pairs near the limit."""

    worst: dict[Keys, Ints]  # the worst verdict in every further member that knows both rods
    crosses: Flags  # (further members that know some of the rods,) some of these pairs touches or worse
    decides: bool  # no other pair crosses in more members, so that these decide about the spread

    @property
    def members(self) -> int:
        return len(self.crosses)


def looked_at(
    fleet: Fleet,
    done: Run,
    found: Closest,
    required: Required,
    *,
    for_all: bool = False,
    aside_m: Callable[[Fleet], Floats] | None = None,
) -> Closer | None:
    """Run the further members of the rods of pairs near the limit along the same track. None where there are none.

    ``for_all``: only the spread as a whole is asked about, which needs them only where they decide about it.
    ``aside_m``: how far the members of a fleet are from the path, as ``run`` takes it, where that is known.
    """
    if fleet.reserve is None:
        return None
    near, decides = [], True
    for keys, own in columns_of(done.cast, found.pairs).items():
        both = both_known(done, keys)
        share = float(np.mean(worst_of(found, own, both) >= Verdict.TOUCH)) if both.any() else 0.0
        if 0.0 < share < NEAR:
            near.append(keys)
        decides = decides and share < NEAR
    if for_all and not decides:
        return None
    further = fleet.reserve.of([key for key in done.cast.keys if any(key in keys for keys in near)]) if near else None
    if further is None:
        return None
    more = run(further, done.path, None if aside_m is None else aside_m(further))
    pairs = all_pairs(more.cast.strands.owner)
    asked = [column for keys, own in columns_of(more.cast, pairs).items() if keys in near for column in own]
    seen = closest(
        polylines(more), more.path.time_s, more.cast.strands, required, pairs=pairs[asked], resolve=1.0
    )  # fmt: skip
    worst = {
        keys: worst_of(seen, own, both_known(more, keys)) for keys, own in columns_of(more.cast, seen.pairs).items()
    }
    crosses: Flags = np.any(seen.crosses[np.any(more.known, axis=1)], axis=1)
    return Closer(worst, crosses, decides)
