"""Moves many chains in one call: those of all rods, and of all their members, that have as many nodes.

What a call costs besides the motion itself is as much as the motion of a short chain. So the chains' states lie side
by side in blocks, of which each rod's own state is a part. A chain's numbers are the same to the last bit whatever
lies beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.chain.rows import Flow, Rows, stacked
from sternwatch.hydro.motion import fleet as motion
from sternwatch.watch.boat.axes import Towing, turn_of
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.watch.chains.members import Part
from sternwatch.water.properties import Water

if TYPE_CHECKING:
    from sternwatch.watch.chains.rod_chain import RodChain

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@njit(cache=True, nogil=True, error_model="numpy")
def _laid(
    points_m: Floats, apart_m: Floats, member: Ints, north_m: float, east_m: float, turn: tuple[float, float]
) -> Floats:  # fmt: skip
    """``axes.laid`` for chains (n, 3) whose boats lie apart from the boat by their member's own ``apart_m``."""
    c, s = turn
    out = np.empty(points_m.shape)
    for row in range(len(out)):
        ahead, abeam, by = points_m[row, 0], points_m[row, 1], member[row]
        out[row, 0] = north_m + ahead * c - abeam * s + apart_m[by, 0]
        out[row, 1] = east_m + ahead * s + abeam * c + apart_m[by, 1]
        out[row, 2] = points_m[row, 2] + apart_m[by, 2]
    return out


@dataclass(slots=True)
class _Block:
    """Parts with as many nodes."""

    parts: list[Part]
    at: list[slice]
    rows: Rows
    state: motion.State
    member: Ints  # (rows,) 0: the rod's own chain; else the number of the member, from one
    flows: tuple[Flow, Flow] | None = None  # as given, and of every row

    @classmethod
    def of(cls, parts: list[Part]) -> _Block:
        ends = np.cumsum([len(part.rows) for part in parts]).tolist()
        at = [slice(begin, end) for begin, end in zip([0, *ends], ends, strict=False)]
        member = [np.arange(len(part.rows)) + 1 if part.members else np.zeros(1, np.int64) for part in parts]
        state = motion.joined([part.state for part in parts])
        return cls(parts, at, stacked([part.rows for part in parts]), state, np.concatenate(member))

    def take(self, parts: list[Part]) -> bool:
        """Take this step's parts. Whether they are the same chains."""
        before, self.parts = self.parts, parts
        if len(before) != len(parts):
            return False
        same_rows = True
        for own, other in zip(before, parts, strict=True):
            if own.state is not other.state:
                return False
            same_rows = same_rows and own.rows is other.rows
        if not same_rows:  # with other coefficients
            self.rows = stacked([part.rows for part in parts])
        return True

    def step(self, dt_s: float, boat: Towing, apart_m: Floats, flow: Flow) -> None:
        """Advance all chains. A row that fails is marked in its state.

        ``apart_m`` (1 + M, 3): how far members' boats are from the boat herself, who comes first; so ``flow``.
        """
        rows, at_m = self.rows, (apart_m, self.member, boat.north_m, boat.east_m, turn_of(boat))
        tips = _laid(rows.tip_m, *at_m)
        rods = _laid(rows.rod_tip_m, *at_m) if rows.has_rod_lines else None
        rates = None
        for part, at in zip(self.parts, self.at, strict=True):
            if part.tips_m is not None:
                tips[at] = part.tips_m
            if not (isinstance(part.rate_m_s, float) and part.rate_m_s == 0.0):
                rates = np.zeros(len(rows)) if rates is None else rates
                rates[at] = part.rate_m_s
        motion.step(rows, self.state, tips, dt_s, self._flow(flow), rods, length_rate_m_s=rates)

    def _flow(self, given: Flow) -> Flow:
        """The water of every row."""
        if given.velocity_m_s.ndim == 2:
            return given
        if self.flows is None or self.flows[0] is not given:
            self.flows = given, Flow(given.depths_m, given.velocity_m_s[self.member])
        return self.flows[1]


@dataclass(slots=True)
class SideBySide:
    """Moves chains from step to step. Nothing but speed depends on what it keeps: a copy begins with none of it."""

    _blocks: dict[tuple[bool, int], _Block] = field(default_factory=dict)  # clipped or not, nodes
    _flows: tuple[Flow, Flow, Flow] | None = None

    def __reduce__(self) -> tuple[type[SideBySide], tuple[()]]:
        return SideBySide, ()  # copied states are no parts of copied blocks

    def tow(
        self,
        chains: Mapping[str, RodChain],
        t_s: float,
        boat: Towing,
        waters: Waters,
        water: Water,
        follows: bool,
        beliefs: Beliefs | None,
    ) -> None:
        """Tow every chain to ``t_s``, the boat being where she is then; those clipped to a cable after it."""
        flow, apart_m = self._flow(waters, beliefs), np.zeros((1, 3))
        if beliefs is not None:
            apart_m = np.concatenate([apart_m, beliefs.apart(boat)])
        before, self._blocks = self._blocks, {}
        for clipped in (False, True):
            moving: list[RodChain] = []
            sorts: dict[int, list[Part]] = {}
            for chain in chains.values():
                if (chain.attached_to is not None) != clipped:
                    continue
                parent = chains[chain.attached_to] if chain.attached_to is not None else None
                parts = chain.begin_step(t_s, boat, waters, water, follows, parent, beliefs)
                if parts:
                    moving.append(chain)
                for part in parts:
                    sorts.setdefault(part.rows.nodes, []).append(part)
            for nodes, own in sorts.items():
                block = before.get((clipped, nodes))
                if block is None or not block.take(own):
                    block = _Block.of(own)
                self._blocks[clipped, nodes] = block
                block.step(moving[0].dt_s, boat, apart_m, flow)
            for chain in moving:
                chain.end_step(boat, waters, beliefs)

    def _flow(self, waters: Waters, beliefs: Beliefs | None) -> Flow:
        """The water of the rods' own chains, then that of every member, at the same depths."""
        if beliefs is None:
            return waters.flow
        if self._flows is None or self._flows[0] is not waters.flow or self._flows[1] is not beliefs.flow:
            depths = beliefs.flow.depths_m
            own = waters.flow.at(depths)[None, :, :2]
            both = Flow(depths, np.concatenate([own, beliefs.flow.velocity_m_s]))
            self._flows = waters.flow, beliefs.flow, both
        return self._flows[2]
