"""A spread worked out at the speed that it is planned for: every rod's depth with its interval, and the check."""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.answers.belief.answer import believed_answer
from sternwatch.answers.checks.check import Check, check_spread
from sternwatch.answers.depths.depth import DepthAnswer
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import DisplaySystem


@dataclass(frozen=True, slots=True)
class Worked:
    """What a spread comes to on a straight course at its own usual speed."""

    spread: Spread
    speed_m_s: float
    depths: DepthAnswer
    check: Check


def work_out(spread: Spread, units: DisplaySystem) -> Worked:
    """Depths, intervals, pulls and findings; sentences are in ``units``."""
    speed = spread.boat.usual_m_s
    return Worked(spread, speed, believed_answer(spread, speed), check_spread(spread, speed, units=units))
