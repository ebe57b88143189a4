"""Calibrating on purpose: a quarter of an hour, one rod, three touches of flat bottom at three speeds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sternwatch.answers.belief.answer import believed_line
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.models import Rod, Spread

LASTS_S = 900.0
TOUCHES = 3
PACES = (1.0, 0.85, 1.15)  # shares of her trolling speed: drag and counter errors respond differently to speed
LOOKED_M = 100.0  # length of the bottom just passed
FLAT_M, FLAT_SHARE = 1.0, 0.04  # most difference of its depths, or this share of the depth


@dataclass(frozen=True, slots=True)
class Touch:
    """A touch to make, at a speed through the water with about this line out. None: the rod does not reach."""

    speed_m_s: float
    line_out_m: float | None


@dataclass(frozen=True, slots=True)
class Guide:
    """What to do with one rod over bottom of one depth."""

    rod: str
    bottom_m: float
    touches: tuple[Touch, ...]

    @property
    def reaches(self) -> bool:
        """Whether the rod reaches the bottom at every speed."""
        return all(one.line_out_m is not None for one in self.touches)


def guide(
    spread: Spread, rod: Rod, bottom_m: float, speed_m_s: float, *, now: RodNow, learned: Calibration | None
) -> Guide:
    """The touches for a rod, by present belief."""
    touches = []
    for pace in PACES:
        found = believed_line(spread, rod, bottom_m, pace * speed_m_s, now=now, learned=learned)
        touches.append(Touch(pace * speed_m_s, found.line_out_as_counter_m))
    return Guide(rod.key, bottom_m, tuple(touches))


def fall_m(track: Sequence[tuple[float, float]]) -> float | None:
    """Difference of the least and greatest depth just passed. None where less than half of it is known.

    ``track``: (metres astern, depth) along the boat's track.
    """
    near = [(astern, depth) for astern, depth in track if 0.0 <= astern <= LOOKED_M]
    if len(near) < 3 or max(astern for astern, _ in near) < 0.5 * LOOKED_M:
        return None
    depths = [depth for _, depth in near]
    return max(depths) - min(depths)


def flat(bottom_m: float, fell_m: float | None) -> bool:
    """Whether a touch there is good for a depth."""
    return fell_m is not None and fell_m <= max(FLAT_M, FLAT_SHARE * bottom_m)
