"""Works out a spread at its planned speed: every rod's depth with its interval, and the check."""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.answers.belief.answer import believed_answer
from sternwatch.answers.checks.check import Check, check_spread
from sternwatch.answers.depths.depth import DepthAnswer
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import DisplaySystem


@dataclass(frozen=True, slots=True)
class Worked:
    """The results for a spread on a straight course at its usual speed."""

    spread: Spread
    speed_m_s: float
    depths: DepthAnswer
    check: Check


def work_out(spread: Spread, units: DisplaySystem) -> Worked:
    """Compute depths, intervals, pulls and findings. Sentences are in ``units``."""
    speed = spread.boat.usual_m_s
    return Worked(spread, speed, believed_answer(spread, speed), check_spread(spread, speed, units=units))
