"""Names the level that a score reaches, and finds the next drill of the first day's course."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from sternwatch.practice.drills.files import DrillFile

# The levels begin at these shares of a drill's own par, so that every level can be reached in every drill. The
# highest begins at par. Judgement: a helmsman who asks for no advice scores 32 to 95 in the shipped drills; one who
# takes all advice scores about par.
LEVELS: Final = ((0.6, "deckhand"), (0.8, "mate"))
HIGHEST: Final = "skipper"


def level(score: float | None, par: float | None) -> str:
    """The level that a score reaches; empty below the lowest level, and where there is no par."""
    if score is None or par is None:
        return ""
    if score >= par:
        return HIGHEST
    return next((name for least, name in reversed(LEVELS) if score >= least * par), "")


def course(drills: Iterable[DrillFile]) -> list[DrillFile]:
    """The first day's drills, in their order."""
    return sorted((one for one in drills if one.drill.course is not None), key=lambda one: one.drill.course or 0)


def next_of_course(drills: Iterable[DrillFile], best: Mapping[str, float]) -> DrillFile | None:
    """The first drill whose lowest level is not reached; None where the course is done."""
    return next((one for one in course(drills) if not level(best.get(one.id), one.drill.par)), None)
