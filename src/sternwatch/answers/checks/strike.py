"""The peak load of a strike: a fish takes the lure and runs against a stretching line.

Energy method for a moving mass that loads a spring (Young & Budynas, Roark's Formulas for Stress and Strain,
chapter on dynamic and impact loading): the kinetic energy goes into the strain of everything that stretches in
series,

    1/2 m v^2 = 1/2 P^2 sum(L / EA) + E_snubber(P),   E_snubber = P^2 / (2 k) up to its full stretch, no more beyond

and P comes on top of the steady pull, which lasts through the tenth of a second of the strike. The method leaves
out the rod's bend, a slipping reel, the water that line and devices move, and a fish that gives way. All of them
would reduce the load, so it is an upper bound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

# A coho or small lake trout, and its speed against the boat, both from memory; options of the check.
FISH_MASS_KG = 5.0
FISH_SPEED_M_S = 2.0


@dataclass(frozen=True, slots=True)
class Spring:
    """An elastic link: pull over stretch, up to the pull at full stretch."""

    stiffness_N_m: float
    most_N: float


def strike_peak_N(mass_kg: float, speed_m_s: float, compliance_m_N: float, snubbers: Sequence[Spring] = ()) -> float:
    """Peak pull [N] on top of the steady one, from a fish of ``mass_kg`` that runs at ``speed_m_s`` against the line.

    ``compliance_m_N``: the sum of L/EA of the lines in series [m/N]. 0 without a snubber is a rigid line with an
    infinite peak. Piecewise exact: snubbers reach their full stretch one after another as the pull grows.
    """
    energy = 0.5 * mass_kg * speed_m_s**2
    if energy <= 0.0:
        return 0.0
    taken, soft = 0.0, sorted(snubbers, key=lambda spring: spring.most_N)
    while True:
        compliance = compliance_m_N + sum(1.0 / spring.stiffness_N_m for spring in soft)
        peak = math.sqrt(2.0 * (energy - taken) / compliance) if compliance > 0.0 else math.inf
        if not soft or peak <= soft[0].most_N:
            return peak
        full = soft.pop(0)
        taken += 0.5 * full.most_N**2 / full.stiffness_N_m
