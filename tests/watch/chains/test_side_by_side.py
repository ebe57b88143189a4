"""Chains moved side by side: the same to the last bit as each by itself, whatever lies beside it."""

from __future__ import annotations

import copy
from dataclasses import fields, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.chain.rows import Flow, Rows, pack
from sternwatch.hydro.motion import fleet as motion
from sternwatch.watch.boat.axes import to_earth
from sternwatch.watch.chains.members import Part
from sternwatch.watch.chains.side_by_side import SideBySide

WIRE = Line(30.0, 0.5e-3, 1.6e-3, 0.0137, 4e4)
LONG = Line(90.0, 0.5e-3, 1.6e-3, 0.0137, 4e4)
BALL = Body(BodyKind.BLUFF, 4.5, 40.0, 0.2, 3.1e-3, rod_line=RodLine((0.3, 1.0, -1.5)))
SPOON = Body(BodyKind.BLUFF, 0.02, 0.1, 0.0, 4e-4)
DEPTHS = np.array([0.0, 12.0])
WATERS: Any = SimpleNamespace(flow=Flow(DEPTHS, np.array([(0.0, 0.0), (0.1, -0.05)])))
BELIEFS: Any = SimpleNamespace(
    flow=Flow(DEPTHS, np.array([[(0.0, 0.0), (0.2, 0.0)], [(0.0, 0.0), (0.0, -0.2)]])),
    apart=lambda _boat: np.array([(0.5, 0.1, 0.0), (-0.4, 0.2, 0.0)]),
)


def at(t_s: float) -> Any:
    return SimpleNamespace(north_m=1.1 * t_s, east_m=0.02 * t_s * t_s, heading_deg=2.0 * t_s)


class Rod:
    """Stands for a ``RodChain``: a chain with two members, let out or not, or clipped."""

    def __init__(self, chain: Chain, segments: int, rate: float = 0.0, tip_m: Any = None) -> None:
        def rows(*lengths: float) -> Rows:
            chains = [replace(chain, items=(replace(chain.items[0], length_m=m), *chain.items[1:])) for m in lengths]  # type: ignore[arg-type]
            return pack(
                chains, segments=segments, density_kg_m3=1000.0, viscosity_m2_s=1.3e-6, cut_as=[0] * len(lengths)
            )

        length = chain.items[0].length_m  # type: ignore[union-attr]
        self.rows = (rows(length), rows(1.02 * length, 0.97 * length))
        self.states = tuple(motion.settle(one, 0.0, 1.1, seconds=60.0) for one in self.rows)
        self.rate, self.tip_m = rate, tip_m
        self.attached_to = None if tip_m is None else "1"
        self.dt_s, self.ended = 1.0, 0

    def begin_step(self, t_s: float, *_: object) -> list[Part]:
        tips = [None, None] if self.tip_m is None else [self.tip_m(t_s, 1), self.tip_m(t_s, 2)]
        rates = (self.rate, self.rate * np.array([1.0, 1.1]) if self.rate else 0.0)
        return [
            Part(rows, state, members, rate, tip)
            for rows, state, members, rate, tip in zip(
                self.rows, self.states, (False, True), rates, tips, strict=True
            )
        ]

    def end_step(self, *_: object) -> None:
        self.ended += 1


def alone(rod: Rod, t_s: float) -> None:
    """The same step, a call for the chain and another for its members."""
    for part, flow in zip(rod.begin_step(t_s), (WATERS.flow, BELIEFS.flow), strict=True):
        apart = BELIEFS.apart(None) if part.members else np.zeros((1, 3))
        tips = to_earth(part.rows.tip_m, at(t_s)) + apart if part.tips_m is None else part.tips_m
        rods = to_earth(part.rows.rod_tip_m, at(t_s)) + apart
        rates = np.broadcast_to(part.rate_m_s, len(part.rows)).copy() if rod.rate else None
        motion.step(part.rows, part.state, tips, 1.0, flow, rods, length_rate_m_s=rates)


def rods() -> dict[str, Rod]:
    def clip(t_s: float, count: int) -> np.ndarray:
        return np.array([(1.1 * t_s - 3.0, 0.1 * k, 4.0) for k in range(count)])

    return {
        "1": Rod(Chain((0.0, 0.5, -1.0), (WIRE, BALL)), 6),
        "2": Rod(Chain((0.0, -1.5, -1.0), (WIRE, SPOON)), 6, rate=0.7),
        "3": Rod(Chain((0.0, 2.5, -1.0), (WIRE, SPOON, WIRE, SPOON)), 6),
        "4": Rod(Chain((0.0, 3.5, -1.0), (LONG, SPOON)), 14),
        "5": Rod(Chain((0.0, 0.0, 4.0), (WIRE, SPOON)), 6, tip_m=clip),
    }


def numbers(rods: dict[str, Rod]) -> list[np.ndarray]:
    return [getattr(s, f.name).copy() for rod in rods.values() for s in rod.states for f in fields(s)]


def test_to_the_last_bit_as_each_by_itself() -> None:
    together, apart, side_by_side = rods(), rods(), SideBySide()
    for t_s in (1.0, 2.0, 3.0, 4.0):
        if t_s == 3.0:  # one has another place for its numbers, one other coefficients, one has gone
            for own in (together, apart):
                own["2"].states = tuple(state.copy() for state in own["2"].states)
                heavier = own["3"].rows[1]
                own["3"].rows = (own["3"].rows[0], replace(heavier, body=1.01 * heavier.body))
                own.pop("4")
        side_by_side.tow(together, t_s, at(t_s), WATERS, None, True, BELIEFS)  # type: ignore[arg-type]
        for rod in apart.values():
            alone(rod, t_s)
        for a, b in zip(numbers(together), numbers(apart), strict=True):
            assert np.array_equal(a, b)
    assert [rod.ended for rod in together.values()] == [4] * 4


def test_a_copy_moves_its_own_chains_alone() -> None:
    own, side_by_side = rods(), SideBySide()
    side_by_side.tow(own, 1.0, at(1.0), WATERS, None, True, BELIEFS)  # type: ignore[arg-type]
    twin, beside = copy.deepcopy((own["1"].states, side_by_side))
    before = numbers(own)
    other = rods()
    other["1"].states = twin
    beside.tow({"1": other["1"]}, 2.0, at(2.0), WATERS, None, True, BELIEFS)  # type: ignore[arg-type, dict-item]
    assert all(np.array_equal(a, b) for a, b in zip(before, numbers(own), strict=True))
    side_by_side.tow({"1": own["1"]}, 2.0, at(2.0), WATERS, None, True, BELIEFS)  # type: ignore[arg-type, dict-item]
    for a, b in zip(numbers({"1": own["1"]}), numbers({"1": other["1"]}), strict=True):
        assert np.array_equal(a, b)


def test_without_members_the_rods_own_chains_are_moved() -> None:
    own = rods()
    for rod in own.values():
        rod.rows, rod.states = rod.rows[:1], rod.states[:1]
        rod.begin_step = lambda _t, *_, rod=rod: [Part(rod.rows[0], rod.states[0], False)]  # type: ignore[method-assign]
        rod.attached_to = None
    before = [rod.states[0].position_m[0, -1].copy() for rod in own.values()]
    SideBySide().tow(own, 1.0, at(1.0), WATERS, None, True, None)  # type: ignore[arg-type]
    moved = [float(rod.states[0].position_m[0, -1, 0] - at[0]) for rod, at in zip(own.values(), before, strict=True)]
    assert moved == pytest.approx([1.1] * 5, abs=0.3)


def test_the_water_is_what_it_is_in_this_step_and_made_once_while_it_stays() -> None:
    """Of the rods' own chains first, then of the members; each may change alone."""
    own, theirs = WATERS.flow, BELIEFS.flow
    other: Any = SimpleNamespace(flow=Flow(DEPTHS, np.array([(0.3, 0.0), (0.4, 0.1)])))
    others: Any = SimpleNamespace(flow=Flow(DEPTHS, -theirs.velocity_m_s), apart=BELIEFS.apart)
    side_by_side = SideBySide()
    for waters, beliefs in ((WATERS, BELIEFS), (other, BELIEFS), (other, others), (WATERS, others)):
        made = side_by_side._flow(waters, beliefs)
        assert np.array_equal(made.velocity_m_s[0], waters.flow.velocity_m_s)
        assert np.array_equal(made.velocity_m_s[1:], beliefs.flow.velocity_m_s)
        assert side_by_side._flow(waters, beliefs) is made
    assert side_by_side._flow(WATERS, None) is own  # type: ignore[arg-type]
