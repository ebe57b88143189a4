"""Which moments count as fishing time: one every ten seconds, released once it is known that no run began.

A sample stands for the ten seconds that end with it. Where nothing was heard from the boat in them there is none:
a hole in the feed stays a hole in the hours.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sternwatch.watch.moments import Moment
from sternwatch.watch.running import AFTER_S

if TYPE_CHECKING:
    from sternwatch.watch.engine import Watch

SAMPLE_S = 10
# A run shows itself after this long; a moment younger than that is not judged yet.
_JUDGED_AFTER = round(AFTER_S)


def released(watch: Watch) -> Moment | None:
    """The sample that the step just taken releases, if any."""
    moment = watch.memory.back(_JUDGED_AFTER)
    if moment is None or moment.clock_s % SAMPLE_S or moment.silent_s is None or moment.silent_s > SAMPLE_S:
        return None
    if watch.running.covers(moment.t_s, watch.crew) or not any(rod.in_water for rod in moment.rods.values()):
        return None
    return moment
