"""The results of a check: findings with their cures, and what it could not check."""

from __future__ import annotations

from dataclasses import dataclass, field

from sternwatch.answers.depths.depth import Current
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.water.properties import Water


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. ``kind`` is stable for scripts; sentences are in the crew's units, ``values`` in SI."""

    kind: str
    keys: tuple[str, ...]  # the rods concerned; empty: the whole spread
    where: str
    what: str
    why: str
    cure: str
    values: dict[str, float | None]


@dataclass(slots=True)
class Found:
    """The result of one part of a check."""

    findings: list[Finding] = field(default_factory=list)
    unchecked: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Setting:
    """The steady straight course of a check, and the units of its sentences."""

    spread: Spread
    speed_m_s: float
    water: Water
    current: Current | None
    units: DisplaySystem

    def force(self, value_N: float) -> str:
        return self.units.show(value_N, Dimension.FORCE, 1)

    def length(self, value_m: float) -> str:
        return self.units.show(value_m, Dimension.LENGTH, 1)

    def mass(self, value_kg: float) -> str:
        return self.units.show(value_kg, Dimension.MASS, 0)

    def speed(self, value_m_s: float) -> str:
        return self.units.show(value_m_s, Dimension.SPEED, 1)


def rod_words(rod: Rod) -> str:
    """A rod's name in a finding."""
    return f"rod {rod.key} ({rod.name})"


def finding(kind: str, rod: Rod, what: str, why: str, cure: str, **values: float | None) -> Finding:
    """A finding about one rod."""
    return Finding(kind, (rod.key,), rod_words(rod), what, why, cure, values)
