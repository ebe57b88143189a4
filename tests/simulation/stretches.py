"""A trip in one run of the program, begun or taken up again: what was shown then, and what a replay shows of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from simulation.beside import Beside, equal
from simulation.pictures import same
from sternwatch.feed.recording.reader import open_recording
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture


class BesideError(AssertionError):
    """What is made beside a picture is another in the replay."""


@dataclass(eq=False)
class Stretch:
    """``since_s``: feed time at its beginning, above 0 where an earlier run of the program had begun the trip."""

    setup: Setup
    since_s: float
    known: frozenset[str]  # entries that lay before it
    zone: str | None  # of the computer at its beginning
    pictures: dict[float, Picture] = field(default_factory=dict)
    beside: dict[float, Beside] = field(default_factory=dict)  # of some of the pictures
    resumed: tuple[list[Any], list[Any]] | None = None  # samples and hits that the logbook gave it
    ways: int = 0  # back to a place, compared in the replay
    charts: int = 0
    until_s: float = math.inf  # from then on its feed or entries were not kept as it saw them

    @property
    def trip(self) -> str:
        return self.setup.trip

    def spoiled_from(self, t_s: float) -> None:
        self.until_s = min(self.until_s, t_s)

    def replayed(self, recording: Path, actions: Sequence[Any]) -> tuple[int, list[float]]:
        """Play recording and entries as far as both are whole.

        Returns how many pictures were compared, and when those that differ were shown. Pictures within a second
        before an entry are left out, since it shows before its step.
        """
        shown = [t for t in self.pictures if t < self.until_s]
        if not shown or not recording.exists() or not recording.stat().st_size:
            return 0, []
        again: dict[float, Picture] = {}
        besides: dict[float, Beside] = {}
        with open_recording(recording) as feed:
            player = Player(feed, self.setup, actions)
            if self.since_s > 0.0:
                player.rewind(since_s=self.since_s)
            if self.resumed is not None:
                player.watch.resume(*self.resumed)

            def take(picture: Picture) -> None:
                again[picture.t_s] = picture
                if picture.t_s in self.beside:
                    besides[picture.t_s] = Beside.of(player.watch, picture)

            player.to(max(shown), take)
        entered = [action.elapsed_s or 0.0 for action in actions]
        common = [t for t in shown if t in again and not any(t < e <= round(t + 1.0, 3) for e in entered)]
        different = [t for t in common if not same(self.pictures[t], again[t])]
        compared = [t for t in common if t in besides]
        for t in compared:
            self.ways += self.beside[t].proposals()
            if not equal(self.beside[t], besides[t]):
                raise BesideError(f"{self.trip}: at {t} s another way back, or another bottom of the chart")
        self.charts += sum(1 for t in compared if besides[t].bed is not None)
        return len(common), different
