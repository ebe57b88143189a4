"""A spread worked out at the speed that it is planned for: every rod's depth with its interval, and the check."""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.answers.belief.priors import Draws, member_rigs
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.answers.checks.check import Check, check_spread
from sternwatch.answers.depths.depth import DepthAnswer, depth_answer
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
    members = member_rigs(spread, {rod.key: AS_FILED for rod in spread.rods}, water_of(spread), Draws())
    return Worked(
        spread, speed, depth_answer(spread, speed, members=members), check_spread(spread, speed, units=units)
    )
