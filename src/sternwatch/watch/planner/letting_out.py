"""Finds an order to let lines out in which none crosses, by simulating every line as it goes out.

Chains do not pull at one another. So every rod is let out once, alone, on a straight course, from the rail to its
length and until it is at rest. From these tracks follows how two pass each other, whichever goes first.
Steps are short and segments many: on its way out a line bends more than when it fishes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np

from sternwatch.answers.chains.arrays import Rig, RodNow, rig_of, water_of
from sternwatch.gear.spread_file.going_out import going_out
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.quantities import LET_OUT_M_S
from sternwatch.hydro.chain.cutting import TAUT, advised_segments
from sternwatch.hydro.chain.leaders import leaders
from sternwatch.hydro.chain.model import Body, Chain, Line
from sternwatch.hydro.chain.rows import Flow, Ints, Rows, pack
from sternwatch.hydro.motion import fleet as motion
from sternwatch.hydro.motion.regrid import regrid, with_first_line
from sternwatch.hydro.motion.rod_lines import POINTS, lay_all
from sternwatch.hydro.separation.distance import Strands, closest
from sternwatch.hydro.separation.verdicts import Verdict, verdict_of
from sternwatch.hydro.steady.solver import solve
from sternwatch.watch.boat.axes import arc_of
from sternwatch.watch.chains.clearing_order import HANDLE_S
from sternwatch.watch.chains.ensemble import Flags, Floats, required_of
from sternwatch.watch.chains.members import at_length
from sternwatch.watch.planner.orders import fewest
from sternwatch.watch.planner.trial import flow_of
from sternwatch.water.properties import Water

STEP_S = 0.5
SAMPLE_S = 1.0
FINER = 2  # at least this many times the usual segments of a taut chain
SETTLES_S = 150.0  # how long a line is followed after it has stopped
BLOCK_S = 4.0  # of a running line; each block uses the lengths at its end, because the required distance grows
RESOLVE = 3.0
CROSSES = 1000.0
NEAR_PASS = 10.0  # equals this many departures from practice; all near passes together weigh less than a crossing
ORDERS_TRIED = 6


@dataclass(frozen=True)
class Going:
    """One rod let out alone: samples a second apart from the rail on, in the boat's axes."""

    key: str
    rig: Rig
    runs_s: float  # how long the line runs
    shape_m: Floats  # (S, N, 3) forward, starboard, down
    rest_m: Floats  # (S, N - 1) unstretched lengths
    rod_line_m: Floats | None  # (S, POINTS, 3)
    body: Flags  # (N,) which nodes carry tackle
    leader: Flags  # (N - 1,) which segments count as tackle
    failed: bool  # a step did not converge: its results are unknown

    @property
    def boxes_m(self) -> tuple[Floats, Floats]:
        """Least and greatest coordinates at every sample, with its line to a release; (S, 3) each."""
        parts = [self.shape_m] if self.rod_line_m is None else [self.shape_m, self.rod_line_m]
        return (
            np.min([part.min(axis=1) for part in parts], axis=0),
            np.max([part.max(axis=1) for part in parts], axis=0),
        )

    def at(self, t_s: float) -> int:
        """The sample at a time since its start; the last one when it is at rest."""
        return min(max(round(t_s / SAMPLE_S), 0), len(self.shape_m) - 1)


@dataclass(frozen=True, slots=True)
class Passing:
    """Two lines while one of them goes out."""

    going: str
    out: str  # the line that is already out
    ratio: float  # least distance over the required distance; inf: nowhere near
    verdict: Verdict

    @property
    def crosses(self) -> bool:
        """Touch or worse."""
        return self.verdict >= Verdict.TOUCH


@dataclass(frozen=True)
class LetOut:
    """An order, its passings, and its time for one person."""

    keys: tuple[str, ...]
    passings: tuple[Passing, ...]  # the worst of every pair that comes near; crossings first
    time_s: float
    unknown: tuple[str, ...] = ()  # rods that could not be simulated on their way out

    @property
    def crossings(self) -> tuple[Passing, ...]:
        return tuple(one for one in self.passings if one.crosses)


def _cost(met: Passing) -> float:
    """Cost of a passing. A crossing outweighs all near passes and departures from practice; nearer costs more."""
    if met.crosses:
        return CROSSES * (2.0 - min(met.ratio, 1.0))
    return NEAR_PASS * (1.0 - met.ratio) if met.verdict == Verdict.NEAR_PASS else 0.0


class LettingOut:
    """Lets every rod of a spread out once, and finds orders."""

    def __init__(
        self,
        spread: Spread,
        rods: Mapping[str, RodNow],
        speed_m_s: float,
        *,
        heading_rad: float | None = None,
        pay_out_m_s: float = LET_OUT_M_S,
    ) -> None:
        """``rods``: as they will be fished. A rod on another's cable goes down with that cable and is left out."""
        self.required = required_of(spread)
        clipped = {rod.key for rod in spread.rods if rod.clipped_to is not None}
        keys = [rod.key for rod in spread.rods if rod.key in rods and rod.key not in clipped]
        self.goings = _let_out(
            spread, {key: rods[key] for key in keys}, speed_m_s, pay_out_m_s, flow_of(spread, heading_rad)
        )
        self._boxes = {key: going.boxes_m for key, going in self.goings.items()}
        self._met: dict[tuple[str, str], Passing] = {}

    def passing(self, going: str, out: str) -> Passing:
        """One rod goes out past another that is at rest."""
        if (going, out) not in self._met:
            mine, other = self.goings[going], self.goings[out]
            still = np.full(len(mine.shape_m), len(other.shape_m) - 1, dtype=np.int64)
            self._met[going, out] = self._worst(mine, other, still)
        return self._met[going, out]

    def best(self, practice: Sequence[str]) -> LetOut:
        """The order with the fewest crossings; of equals the one nearest to ``practice``."""
        keys = [key for key in practice if key in self.goings]
        cost = {(going, out): _cost(self.passing(going, out)) for going in keys for out in keys if going != out}
        best: LetOut | None = None
        for _ in range(ORDERS_TRIED):
            found = self.ordered(fewest(keys, cost))
            if best is None or len(found.crossings) < len(best.crossings):
                best = found
            if not found.crossings or best is not found:
                break
            # In the full order, a line that is out may not be at rest when the next one passes it.
            for one in found.crossings:
                cost[one.going, one.out] = max(cost[one.going, one.out], _cost(one))
        assert best is not None
        return best

    def ordered(self, keys: Sequence[str]) -> LetOut:
        """Simulate an order: each line starts when the line before has run out and been attended to."""
        begins, t = {}, 0.0
        for key in keys:
            begins[key] = t
            t += self.goings[key].runs_s + HANDLE_S
        found = []
        for first, second in combinations(keys, 2):
            out, going = self.goings[first], self.goings[second]
            since = begins[second] - begins[first]
            at = np.array([out.at(n * SAMPLE_S + since) for n in range(len(going.shape_m))], dtype=np.int64)
            passing = self._worst(going, out, at)
            if passing.crosses or passing.ratio < RESOLVE:
                found.append(passing)
        found.sort(key=lambda one: (not one.crosses, one.ratio, one.going, one.out))
        unknown = tuple(key for key in keys if self.goings[key].failed)
        return LetOut(tuple(keys), tuple(found), t, unknown)

    def _worst(self, going: Going, out: Going, out_at: Ints) -> Passing:
        """The closest approach of two lines, block by block: within a block lengths hardly differ."""
        ratio, contact, on_tackle = math.inf, False, False
        linked: dict[tuple[int, int], int] = {}
        near = self._near(going, out, out_at)
        running = math.ceil(going.runs_s / SAMPLE_S)
        times: Floats = SAMPLE_S * np.arange(len(going.shape_m), dtype=np.float64)
        edges = [*range(0, running, round(BLOCK_S / SAMPLE_S)), running, len(times) - 1]
        for first, last in pairwise(edges):
            mine = np.arange(first, last + 1)
            if not near[mine].any():
                continue
            strands, lines = _strands((going, out), (mine, out_at[mine]))
            found = closest(lines, times[mine], strands, self.required, resolve=RESOLVE)
            ratio = min(ratio, float(found.ratio.min(initial=math.inf)))
            contact = contact or bool(found.crosses.any())
            on_tackle = on_tackle or bool(np.any(found.passes[..., 5] > 0.0))
            for (a, b), sign in zip(found.pairs.tolist(), found.linked[0].tolist(), strict=True):
                linked[a, b] = linked.get((a, b), 0) + sign
        return Passing(going.key, out.key, ratio, verdict_of(ratio, contact, any(linked.values()), on_tackle))

    def _near(self, going: Going, out: Going, out_at: Ints) -> Flags:
        """The samples at which two lines may be near, by the boxes around them."""
        low, high = self._boxes[going.key]
        other_low, other_high = (box[out_at] for box in self._boxes[out.key])
        gap = np.maximum(np.maximum(low - other_high, other_low - high), 0.0)
        near: Flags = np.linalg.norm(gap, axis=1) <= RESOLVE * max(self.required.tackle_m, self.required.line_m)
        return near


# -- letting out ---------------------------------------------------------------------------------------------------


def _let_out(
    spread: Spread, rods: Mapping[str, RodNow], speed_m_s: float, pay_out_m_s: float, flow: Flow
) -> dict[str, Going]:
    """Let all rods out at once, each by itself."""
    if not rods:
        return {}
    line = _Lines(spread, rods, water_of(spread))
    shapes, lost = line.laid(speed_m_s, flow)
    return _follow(line, shapes, lost, speed_m_s, pay_out_m_s, flow)


class _Lines:
    """Rods on their way out: the line that each has at the tip, and the rows of what is past the tip."""

    def __init__(self, spread: Spread, rods: Mapping[str, RodNow], water: Water) -> None:
        self.rods = [(rod, rods[rod.key]) for rod in spread.rods if rod.key in rods]
        self.rigs = {rod.key: rig_of(spread, rod, now, water) for rod, now in self.rods}
        self.water, self._spread = water, spread
        # A rod without a line out in the file hangs as it is.
        self._out = [going_out(spread, rod, now.lead_m) for rod, now in self.rods]
        wholes = [rig.length_m for rig in self.rigs.values()]
        self.targets = np.array(wholes)
        self.past_m = np.array(
            [whole if out is None else min(out.start_m, whole) for whole, out in zip(wholes, self._out, strict=True)]
        )
        self.whole = self._pack([rig.chain for rig in self.rigs.values()])
        self._numbers = self._at_tip()
        self.rows = self._rows()

    def _at_tip(self) -> list[int]:
        pairs = zip(self._out, self.past_m.tolist(), strict=True)
        return [0 if out is None else out.on_reel(past) for out, past in pairs]

    def _pack(self, chains: Sequence[Chain]) -> Rows:
        density = self.water.density_kg_m3
        segments = [max(FINER * TAUT, advised_segments(chain, density)) for chain in chains]
        return pack(chains, segments=segments, density_kg_m3=density, viscosity_m2_s=self.water.viscosity_m2_s)

    def _rows(self) -> Rows:
        self.chains = [
            rig_of(self._spread, rod, replace(now, on_reel=number), self.water).chain
            for (rod, now), number in zip(self.rods, self._numbers, strict=True)
        ]
        first = [
            past - sum(item.length_m for item in chain.items[1:] if isinstance(item, Line))
            for chain, past in zip(self.chains, self.past_m.tolist(), strict=True)
        ]
        return with_first_line(self._pack(self.chains), np.array(first))

    def laid(self, speed_m_s: float, flow: Flow) -> tuple[Floats, Flags]:
        """Shapes with each lure just in the water; straight astern without a steady state."""
        rows = self.rows
        shapes = np.zeros((len(rows), rows.nodes, 3))
        lost = np.zeros(len(rows), dtype=np.bool_)
        current = (flow.depths_m, flow.velocity_m_s) if len(flow.depths_m) else None
        for row, chain in enumerate(self.chains):
            n, first = int(rows.n_nodes[row]), int(rows.first_segments[row])
            short = at_length(chain, float(rows.rest_m[row, :first].sum()))
            steady = solve(short, speed_m_s, water=self.water, current=current, arc_m=rows.arc_m[row, :n],
                           tolerance=1e-6)  # fmt: skip
            lost[row] = not steady.ok
            shapes[row, :n] = steady.shape_m if steady.ok else _astern(rows, row, n)
            shapes[row, n:] = shapes[row, n - 1]
        return shapes, lost

    def take_up(self, state: motion.State) -> motion.State:
        """Where a line is wholly out, put the next one on the reel at the tip."""
        numbers = self._at_tip()
        if numbers == self._numbers:
            return state
        before, self._numbers = self.rows, numbers
        self.rows = self._rows()
        return regrid(state, before, self.rows)

    def spread_out(self, state: motion.State, moved: Floats) -> tuple[Floats, Floats]:
        """Every row on the nodes of its whole chain, the part still on the reel at its tip: places and lengths."""
        whole = self.whole
        shape = np.zeros((len(whole), whole.nodes, 3))
        rest = np.zeros_like(whole.rest_m)
        for row in range(len(whole)):
            n, m = int(self.rows.n_nodes[row]), int(whole.n_nodes[row])
            arc = arc_of(state.rest_m[row, : n - 1])
            at = np.maximum(arc[-1] - (whole.arc_m[row, m - 1] - whole.arc_m[row, :m]), 0.0)
            for axis in range(3):
                shape[row, :m, axis] = np.interp(at, arc, state.position_m[row, :n, axis] - moved[axis])
            shape[row, m:] = shape[row, m - 1]
            rest[row, : m - 1] = np.diff(at)
        return shape, rest


def _follow(
    line: _Lines, shapes: Floats, lost: Flags, speed_m_s: float, pay_out_m_s: float, flow: Flow
) -> dict[str, Going]:
    velocity = np.array([speed_m_s, 0.0, 0.0])
    state = motion.start(line.rows, shapes, velocity, step_s=STEP_S)
    runs = (line.targets - line.past_m) / pay_out_m_s
    lasts = np.ceil((runs + SETTLES_S) / SAMPLE_S).astype(np.int64)  # every row's last sample
    samples = [line.spread_out(state, 0.0 * velocity)]
    failed = lost.copy()
    every = round(SAMPLE_S / STEP_S)
    for step in range(1, every * int(lasts.max()) + 1):
        moved = step * STEP_S * velocity
        state = line.take_up(state)
        rates = np.clip(line.targets - line.past_m, 0.0, pay_out_m_s * STEP_S) / STEP_S
        line.past_m = line.past_m + rates * STEP_S
        rows = line.rows
        status = motion.step(
            rows, state, rows.tip_m + moved, STEP_S, flow, rows.rod_tip_m + moved, length_rate_m_s=rates
        )
        failed |= status != motion.OK
        if step % every == 0:
            samples.append(line.spread_out(state, moved))
    shape, rest = (np.stack(part) for part in zip(*samples, strict=True))
    made = {}
    rows = line.whole
    for row, (key, rig) in enumerate(line.rigs.items()):
        nodes = int(rows.n_nodes[row])
        last = int(lasts[row]) + 1
        own = shape[:last, row, :nodes]
        rod_line = _rod_line(rows, row, own, speed_m_s) if rows.rod_node[row] >= 0 else None
        made[key] = Going(
            key, rig, float(runs[row]), own, rest[:last, row, : nodes - 1], rod_line,
            *_layout(rig.chain, rest[-1, row, : nodes - 1]), bool(failed[row]),
        )  # fmt: skip
    return made


def _rod_line(rows: Rows, row: int, shape: Floats, speed_m_s: float) -> Floats:
    """The rod's line to its release at every sample, in boat axes, with the water flowing past."""
    samples = len(shape)
    ball = np.ascontiguousarray(shape[:, None, int(rows.rod_node[row])])
    tip = np.ascontiguousarray(np.broadcast_to(rows.rod_tip_m[row], (samples, 1, 3)))
    out = np.empty((samples, 1, POINTS, 3))
    water = np.broadcast_to(np.array([-speed_m_s, 0.0, 0.0]), ball.shape).copy()
    lay_all(rows.rod[row : row + 1], ball, tip, np.full(samples - 1, SAMPLE_S), water, out)
    return out[:, 0]


def _astern(rows: Rows, row: int, nodes: int) -> Floats:
    down = math.sqrt(0.5)
    astern: Floats = rows.tip_m[row] + rows.arc_m[row, :nodes, None] * np.array([-down, 0.0, down])
    return astern


# -- two of them for separation ------------------------------------------------------------------------------------


def _strands(goings: Sequence[Going], samples: Sequence[Ints]) -> tuple[Strands, Floats]:
    """Two rods and their lines to a release, at samples of each: their parts and places."""
    parts = [(going, at, going.shape_m[at]) for going, at in zip(goings, samples, strict=True)]
    wide = max([POINTS, *(shape.shape[1] for _, _, shape in parts)])
    arcs, counts, bodies, leading, owners, wholes, lines = [], [], [], [], [], [], []
    for owner, (going, at, shape) in enumerate(parts):
        nodes = shape.shape[1]
        arc = arc_of(going.rest_m[int(at[-1])])
        arcs.append(_padded(arc, wide))
        counts.append(nodes)
        bodies.append(np.pad(going.body, (0, wide - nodes)))
        leading.append(np.pad(going.leader, (0, wide - nodes)))
        owners.append(owner)
        wholes.append(float(going.rest_m[-1].sum()))
        lines.append(np.concatenate([shape, np.repeat(shape[:, -1:], wide - nodes, axis=1)], axis=1))
        if going.rod_line_m is not None:
            line = going.rod_line_m[at]
            straight = float(np.linalg.norm(line[-1, -1] - line[-1, 0]))
            arcs.append(_padded(np.linspace(0.0, straight, POINTS), wide))
            counts.append(POINTS)
            bodies.append(np.zeros(wide, dtype=np.bool_))
            leading.append(np.zeros(wide - 1, dtype=np.bool_))
            owners.append(owner)
            whole = going.rod_line_m[-1]
            wholes.append(float(np.linalg.norm(whole[-1] - whole[0])))
            lines.append(np.concatenate([line, np.repeat(line[:, -1:], wide - POINTS, axis=1)], axis=1))
    strands = Strands(
        np.array(counts, dtype=np.int64), np.stack(arcs), np.stack(bodies), np.stack(leading),
        np.array(owners, dtype=np.int64), np.array(wholes),
    )  # fmt: skip
    return strands, np.ascontiguousarray(np.stack(lines, axis=1))


def _padded(arc: Floats, wide: int) -> Floats:
    return np.concatenate([arc, np.full(wide - len(arc), arc[-1])])


def _layout(chain: Chain, rest_m: Floats) -> tuple[Flags, Flags]:
    """Which nodes carry bodies and which segments count as tackle, from the cutting of the whole chain."""
    arc = arc_of(rest_m)
    body = np.zeros(len(arc), dtype=np.bool_)
    counts, done, at = [], 0.0, 0
    for item in chain.items:
        if isinstance(item, Body):
            body[at] = True
            continue
        done += item.length_m
        end = int(np.argmin(np.abs(arc - done)))
        counts.append(end - at)
        at = end
    return body, np.array(leaders(chain, counts), dtype=np.bool_)
