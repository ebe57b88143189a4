"""The memory of one session of the watch: moments, their hits and observations, fishing time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.store.samples import HitRow, Sample
from sternwatch.watch.boat.runs import Running
from sternwatch.watch.memory.current_carried_back import Learning, carried_sample
from sternwatch.watch.memory.fishing_time import released, rest
from sternwatch.watch.memory.hits import HitContexts
from sternwatch.watch.memory.moments import Moments, moment_of
from sternwatch.watch.memory.observed import Observing
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.fishing import Fishing


@dataclass(slots=True)
class Memory:
    """One session's memory. Only the watch's step and ``resume`` change it."""

    moments: Moments = field(default_factory=Moments)
    hits: HitContexts = field(default_factory=HitContexts)
    observed: Observing = field(default_factory=Observing)
    fishing: Fishing = field(default_factory=Fishing)
    learning: Learning = field(default_factory=Learning)

    def copy(self) -> Memory:
        return Memory(
            self.moments.copy(), self.hits.copy(), self.observed.copy(), self.fishing.copy(), self.learning.copy()
        )

    def resume(self, samples: list[Sample], hits: Iterable[HitRow], crew: Crew) -> None:
        """Continue from what was stored of a resumed trip."""
        self.fishing = Fishing.of(samples)
        self.hits.earlier = {hit.id: hit for hit in hits}
        self.hits.step(crew, self.moments, None)

    def rest(self, crew: Crew, running: Running) -> list[Sample]:
        """The samples that the end of a session releases: nothing later can change their verdict."""
        return rest(self.moments, crew, running)

    def take_entries(self, step: Step, calibration: Calibration | None) -> None:
        """Look up the hits and observations that the crew entered since the last step."""
        self.hits.step(step.crew, self.moments, step.utc_offset_s)
        self.observed.step(step, calibration)

    def take_moment(self, step: Step, running: Running) -> None:
        """Add the step's moment, and the sample of fishing time that it releases."""
        self.moments.add(moment_of(step, self.moments))
        sample = released(self.moments, step.crew, running)
        if sample is not None:
            self.fishing.add(sample)
        one = self.learning.step(step)
        if one is not None:
            self.hits.learn(self.learning.all, step.crew)
            self.fishing.again(one.since_s, lambda sample: carried_sample(sample, one))
