"""How near chains come to one another and how they meet while they are towed, in blocks of time.

Every chain in the water counts, from the rail on. The required distance gets smaller toward the rod tips. A line on
its way out or in needs the same distance there as a whole line, not the distance for a line fished that short.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from sternwatch.answers.chains.arrays import Rig
from sternwatch.hydro.chain.leaders import leaders
from sternwatch.hydro.chain.model import Body
from sternwatch.hydro.motion.rod_lines import POINTS, lay_all
from sternwatch.hydro.separation.distance import Closest, Required, Strands, closest
from sternwatch.hydro.separation.verdicts import Verdict, verdict_of
from sternwatch.watch.boat.axes import Towing, to_earth
from sternwatch.watch.chains.rod_chain import Floats, RodChain

BLOCK_S: Final = 10.0
# Blocks are shorter while a line runs: lengths within a block must not differ by much.
RUNNING_S: Final = 2.0
# Ratios above this are not computed: no score or message uses them.
RESOLVE: Final = 3.0
# A pair that crosses again within this time never came apart: it is the same crossing.
SAME_CROSSING_S: Final = 10.0


@dataclass(frozen=True, slots=True)
class Sample:
    """All chains in the water at one instant, in the water frame."""

    t_s: float
    nodes_m: dict[str, Floats]  # (nodes, 3)
    rod_tips_m: dict[str, Floats]  # (3,) of those with a rod line

    @classmethod
    def of(cls, t_s: float, chains: Mapping[str, RodChain], boat: Towing) -> Sample:
        """A sample of the chains whose place is known."""
        nodes, tips = {}, {}
        for key, chain in chains.items():
            if chain.place is None or chain.state is None or chain.rows is None or chain.why:
                continue
            nodes[key] = chain.state.position_m[0, : int(chain.rows.n_nodes[0])].copy()
            if chain.rows.rod_node[0] >= 0:
                tips[key] = to_earth(chain.rows.rod_tip_m[:1], boat)[0]
        return cls(t_s, nodes, tips)


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two chains that touched or worse, and did not before. Their motion after it is only indicative."""

    t_s: float
    keys: tuple[str, str]
    separation_m: float | None
    wrapped: bool  # as it was at the end of the session


@dataclass(frozen=True, slots=True)
class Least:
    """The closest approach of two chains, relative to the distance required there."""

    ratio: float
    distance_m: float
    required_m: float
    t_s: float
    keys: tuple[str, str]


@dataclass(slots=True)
class Encounters:
    """Collects samples, and examines them whenever a block is full or the chains in the water change."""

    required: Required
    resolve: float = RESOLVE
    crossings: list[Crossing] = field(default_factory=list)
    least_of: dict[tuple[str, str], Least] = field(default_factory=dict)  # keys in order
    _samples: list[Sample] = field(default_factory=list)
    _chains: dict[str, tuple[Rig, tuple[int, int, float]]] = field(default_factory=dict)
    _linked: dict[tuple[str, bool, str, bool], int] = field(default_factory=dict)  # sum of the signs of passes
    _on_tackle: set[tuple[str, str]] = field(default_factory=set)
    _standing: dict[tuple[str, str], float] = field(default_factory=dict)  # end of the last block with a contact
    _rest: dict[str, Floats] = field(default_factory=dict)
    _whole: dict[str, float] = field(default_factory=dict)
    _rod: dict[str, tuple[int, Floats]] = field(default_factory=dict)
    _owner: dict[str, str] = field(default_factory=dict)

    def take(self, sample: Sample, chains: Mapping[str, RodChain]) -> None:
        """Add a sample; ``chains`` in their state at that moment."""
        # A chain that is cut again for another length has other nodes, so a new block begins.
        now = {
            key: (chains[key].rig, (id(chains[key].rig), len(nodes), chains[key].started_s))
            for key, nodes in sample.nodes_m.items()
        }
        if self._samples and {k: v[1] for k, v in now.items()} != {k: v[1] for k, v in self._chains.items()}:
            self._look()
            self._samples.clear()
        self._chains = {key: (rig, name) for key, (rig, name) in now.items() if rig is not None}
        for key in sample.nodes_m:
            chain = chains[key]
            assert chain.state is not None
            assert chain.rows is not None
            self._rest[key] = chain.state.rest_m[0].copy()
            self._whole[key] = chain.whole_m
            self._rod[key] = (int(chain.rows.rod_node[0]), chain.rows.rod[0])
            self._owner[key] = chain.attached_to or key
        self._samples.append(sample)
        block = RUNNING_S if any(chains[key].moving for key in sample.nodes_m) else BLOCK_S
        if sample.t_s - self._samples[0].t_s >= block - 1e-6:
            self._look()
            self._samples = [sample]

    def close(self) -> None:
        """Examine the samples since the last block."""
        self._look()
        self._samples = self._samples[-1:]

    @property
    def least(self) -> Least | None:
        """The closest approach of any two chains."""
        return min(self.least_of.values(), key=lambda one: one.ratio, default=None)

    def verdict(self, pair: tuple[str, str]) -> Verdict:
        """The verdict on a pair so far; keys in order."""
        least = self.least_of.get(pair)
        met = pair in self._standing
        return verdict_of(math.inf if least is None else least.ratio, met, met and self._wrapped(pair), False)

    # -- one block ---------------------------------------------------------------------------------------------

    def _look(self) -> None:
        keys = sorted(self._chains)
        if len(self._samples) < 2 or len(keys) < 2:
            return
        strands, positions, names = self._strands(keys)
        times = np.array([sample.t_s for sample in self._samples])
        self._judge(closest(positions, times, strands, self.required, resolve=self.resolve), names, len(keys))

    def _judge(self, found: Closest, names: list[str], chains: int) -> None:
        standing: dict[tuple[str, str], Crossing] = {}
        for i, (a, b) in enumerate(found.pairs):
            pair = (min(names[a], names[b]), max(names[a], names[b]))
            ratio, distance = float(found.ratio[0, i]), float(found.distance_m[0, i])
            known = self.least_of.get(pair)
            if math.isfinite(ratio) and math.isfinite(distance) and (known is None or ratio < known.ratio):
                self.least_of[pair] = Least(
                    ratio, distance, float(found.required_m[0, i]), float(found.time_s[0, i]), pair
                )
            if not found.crosses[0, i]:
                continue
            # Row numbers change with the rods that are out; the names of a chain and its rod's line do not.
            lines = (names[a], bool(a >= chains), names[b], bool(b >= chains))
            self._linked[lines] = self._linked.get(lines, 0) + int(found.linked[0, i])
            if np.any(found.passes[0, i, :, 5] > 0.0):
                self._on_tackle.add(pair)
            first = float(found.contact_s[0, i])
            near = distance if math.isfinite(distance) else None
            before = standing.get(pair)
            if before is None or first < before.t_s:
                standing[pair] = Crossing(first, pair, near, False)
        new = [
            crossing for pair, crossing in standing.items()
            if crossing.t_s - self._standing.get(pair, -math.inf) > SAME_CROSSING_S
        ]  # fmt: skip
        self.crossings += sorted(new, key=lambda crossing: (crossing.t_s, crossing.keys))
        self._standing |= dict.fromkeys(standing, self._samples[-1].t_s)
        if standing:
            self.crossings = [replace(one, wrapped=self._wrapped(one.keys)) for one in self.crossings]

    def _wrapped(self, pair: tuple[str, str]) -> bool:
        left = (sign for (a, _, b, _), sign in self._linked.items() if (min(a, b), max(a, b)) == pair)
        return pair in self._on_tackle or any(left)

    def _strands(self, keys: list[str]) -> tuple[Strands, Floats, list[str]]:
        with_line = [key for key in keys if self._rod[key][0] >= 0]
        names = [*keys, *with_line]
        counts = [len(self._samples[0].nodes_m[key]) for key in keys]
        wide = max(max(counts), POINTS)
        total, samples = len(names), len(self._samples)
        arc = np.zeros((total, wide))
        body = np.zeros((total, wide), dtype=np.bool_)
        leader = np.zeros((total, wide - 1), dtype=np.bool_)
        positions = np.empty((samples, total, wide, 3))
        for row, key in enumerate(keys):
            n = counts[row]
            arc[row, 1:n] = np.cumsum(self._rest[key][: n - 1])
            arc[row, n:] = arc[row, n - 1]
            rig = self._chains[key][0]
            nodes, segments = _layout(rig, arc[row, :n])
            body[row, nodes] = True
            leader[row, : n - 1] = leaders(rig.chain, segments)
            curves = np.stack([sample.nodes_m[key] for sample in self._samples])
            positions[:, row, :n] = curves
            positions[:, row, n:] = curves[:, -1:]
        for j, key in enumerate(with_line):
            row = len(keys) + j
            curve = self._rod_lines(key)
            positions[:, row, :POINTS] = curve
            positions[:, row, POINTS:] = curve[:, -1:]
            straight = float(np.linalg.norm(curve[0, -1] - curve[0, 0]))
            arc[row, :POINTS] = np.linspace(0.0, straight, POINTS)
            arc[row, POINTS:] = straight
        owners = sorted({self._owner[key] for key in keys})
        owner = np.array([owners.index(self._owner[name]) for name in names], dtype=np.int64)
        n_nodes = np.array([*counts, *[POINTS] * len(with_line)], dtype=np.int64)
        still = np.array([max(self._whole[key] - float(self._rest[key].sum()), 0.0) for key in names])
        whole = arc[:, -1] + still
        return Strands(n_nodes, arc, body, leader, owner, whole), positions, names

    def _rod_lines(self, key: str) -> Floats:
        """The rod's line from its tip to the release, at every sample (samples, POINTS, 3)."""
        node, rod = self._rod[key]
        ball = np.ascontiguousarray([[sample.nodes_m[key][node]] for sample in self._samples])
        tip = np.ascontiguousarray([[sample.rod_tips_m[key]] for sample in self._samples])
        dt = np.diff([sample.t_s for sample in self._samples])
        out = np.empty((len(self._samples), 1, POINTS, 3))
        lay_all(rod[None], ball, tip, dt, np.zeros_like(ball), out)
        return out[:, 0]


def _layout(rig: Rig, arc: Floats) -> tuple[list[int], list[int]]:
    """The nodes of a chain's bodies and how many segments each of its lines has, from the arcs of its nodes.

    Only the first line's length changes with time, so lengths are counted from the end.
    """
    lines = [item.length_m for item in rig.chain.items if not isinstance(item, Body)]
    ends = float(arc[-1]) - np.concatenate([np.cumsum(lines[:0:-1])[::-1], [0.0]])
    at = [int(np.argmin(np.abs(arc - end))) for end in ends]
    segments = [after - before for before, after in zip([0, *at[:-1]], at, strict=True)]
    nodes, line = [], -1
    for item in rig.chain.items:
        if isinstance(item, Body):
            nodes.append(at[line])
        else:
            line += 1
    return nodes, segments
