"""What a score is worth, by a name of our own, and which drill of the first day's course comes next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from sternwatch.practice.drills.files import DrillFile

# From these scores on; the highest is the drill's own par. Chosen by judgement: a helmsman who asks for no advice
# scores 32 to 92 in the shipped drills, one who takes all of it scores par.
LEVELS: Final = ((60.0, "deckhand"), (80.0, "mate"))
HIGHEST: Final = "skipper"


def level(score: float | None, par: float | None) -> str:
    """The name of the level that a score reaches; empty below the lowest, and where there is no par."""
    if score is None or par is None:
        return ""
    if score >= par:
        return HIGHEST
    return next((name for least, name in reversed(LEVELS) if score >= least), "")


def course(drills: Iterable[DrillFile]) -> list[DrillFile]:
    """The first day's drills, in their order."""
    return sorted((one for one in drills if one.drill.course is not None), key=lambda one: one.drill.course or 0)


def next_of_course(drills: Iterable[DrillFile], best: Mapping[str, float]) -> DrillFile | None:
    """The first whose lowest level is not reached yet; None: the course is done."""
    return next((one for one in course(drills) if not level(best.get(one.id), one.drill.par)), None)
