"""Runs each large kernel once on one short chain, so that it is compiled and lies in the cache.

What numba compiles depends on types alone. So these calls go through the very functions that everybody uses.
"""

from __future__ import annotations

import numpy as np

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.chain.rows import Flow, Rows, pack
from sternwatch.hydro.motion import fleet
from sternwatch.hydro.motion.report import report
from sternwatch.hydro.motion.rod_lines import POINTS, lay_all
from sternwatch.hydro.separation.distance import Required, Strands, closest, nearest
from sternwatch.hydro.steady.solver import solve, solve_many
from sternwatch.water.properties import Water

_WATER = Water(1000.0, 1.3e-6)
_SPEED_M_S = 1.0
_LINE = Line(length_m=10.0, diameter_m=5e-4, mass_kg_m=1.5e-3, wet_weight_N_m=0.0127, stiffness_N=3.8e4)
_BALL = Body(BodyKind.BLUFF, 4.5, 40.0, 0.2, 3e-3, rod_line=RodLine((0.0, 1.0, -1.5)))
_CHAIN = Chain((0.0, 0.0, -1.0), (_LINE, _BALL))


def _rows() -> Rows:
    return pack([_CHAIN], density_kg_m3=_WATER.density_kg_m3, viscosity_m2_s=_WATER.viscosity_m2_s)


def _flow() -> Flow:
    return Flow(np.array([0.0, 20.0]), np.zeros((2, 2)))


def steady() -> None:
    """Shapes behind a boat that goes straight ahead."""
    solve(_CHAIN, _SPEED_M_S, water=_WATER)
    solve_many([_CHAIN], [_SPEED_M_S], water=_WATER)


def motion() -> None:
    """Moving chains: a second in which line goes out."""
    rows, flow = _rows(), _flow()
    state = fleet.settle(rows, np.zeros(1), np.full(1, _SPEED_M_S), flow, seconds=1.0)
    fleet.step(rows, state, rows.tip_m, 1.0, flow, rows.rod_tip_m, length_rate_m_s=np.full(1, 0.5))


def told() -> None:
    """What is told of moving chains, and a rod line's curve."""
    rows = _rows()
    report(rows, fleet.start(rows, np.zeros((1, rows.nodes, 3)) + rows.arc_m[..., None], np.zeros(3)), _flow())
    ball = np.zeros((2, 1, 3))
    lay_all(rows.rod, ball, ball - 1.0, np.ones(1), np.zeros((2, 1, 3)), np.empty((2, 1, POINTS, 3)))


def separation() -> None:
    """The distance of two chains: now, and over a step."""
    places = np.zeros((2, 2, 2, 3))
    places[:, 1, :, 1] = 1.0
    places[:, :, 1, 2] = 5.0
    marks = np.zeros((2, 2), dtype=np.bool_)
    nodes, owner = np.full(2, 2), np.arange(2)
    strands = Strands(nodes, np.array([[0.0, 5.0]] * 2), marks, marks[:, 1:], owner)
    nearest(places[0], nodes, owner)
    closest(places, np.arange(2.0), strands, Required())
