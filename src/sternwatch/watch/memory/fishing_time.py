"""Which moments count as fishing time: one every ten seconds, released once it is known that no run began.

A sample stands for the ten seconds that end with it. Where nothing was heard from the boat in them there is none:
a hole in the feed stays a hole in the hours.
"""

from __future__ import annotations

from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.store.samples import Sample
from sternwatch.watch.boat.runs import AFTER_S, Running
from sternwatch.watch.memory.moments import Moments
from sternwatch.watch.memory.sample_rows import sample_of

SAMPLE_S = 10
# A run shows itself after this long; a moment younger than that is not judged yet.
_JUDGED_AFTER = round(AFTER_S)


def released(moments: Moments, crew: Crew, running: Running, steps_back: int = _JUDGED_AFTER) -> Sample | None:
    """The sample that the step just taken releases, if any: the boat, and the rods where it is fishing time."""
    moment = moments.back(steps_back)
    if moment is None or moment.clock_s % SAMPLE_S or moment.silent_s is None or moment.silent_s > SAMPLE_S:
        return None
    over = crew.facts.over_at(moment.t_s)
    return sample_of(moment, fishing=not (over or running.covers(moment.t_s, crew)))


def rest(moments: Moments, crew: Crew, running: Running) -> list[Sample]:
    """What the end of a session releases: nothing comes after it that could change a verdict."""
    found = (released(moments, crew, running, steps) for steps in range(_JUDGED_AFTER - 1, -1, -1))
    return [sample for sample in found if sample is not None]
