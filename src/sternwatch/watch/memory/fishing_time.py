"""Decides which moments count as fishing time: a sample every ten seconds, released once no run can have begun.

A sample covers the ten seconds that end with it. If the feed was silent in them there is no sample:
a hole in the feed stays a hole in the hours.
"""

from __future__ import annotations

from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.store.samples import Sample
from sternwatch.watch.boat.runs import AFTER_S, Running
from sternwatch.watch.memory.moments import Moments
from sternwatch.watch.memory.sample_rows import sample_of

SAMPLE_S = 10
# A run is recognised after this long, so a younger moment is not judged yet.
_JUDGED_AFTER = round(AFTER_S)


def released(moments: Moments, crew: Crew, running: Running, steps_back: int = _JUDGED_AFTER) -> Sample | None:
    """The sample that the last step releases, if any: the boat, and in fishing time the rods."""
    moment = moments.back(steps_back)
    if moment is None or moment.clock_s % SAMPLE_S or moment.silent_s is None or moment.silent_s > SAMPLE_S:
        return None
    over = crew.facts.over_at(moment.t_s)
    return sample_of(moment, fishing=not (over or running.covers(moment.t_s, crew)))


def rest(moments: Moments, crew: Crew, running: Running) -> list[Sample]:
    """The samples that the end of a session releases: nothing later can change their verdict."""
    found = (released(moments, crew, running, steps) for steps in range(_JUDGED_AFTER - 1, -1, -1))
    return [sample for sample in found if sample is not None]
