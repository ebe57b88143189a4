"""Runs every chain of every member of the ensemble together, along one track of the boat.

Rows are member by member: row = member * rods + rod. All data is numbers and frozen values, so that a thread of its
own can run it. The kernels release the interpreter.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.priors import DECIDING, SHEAR_DEPTH_M, Draws, member_rigs, named
from sternwatch.answers.chains.arrays import Rig, RodNow
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import AXES
from sternwatch.hydro.chain.cutting import advised_segments
from sternwatch.hydro.chain.model import Chain
from sternwatch.hydro.chain.rows import Flow, Rows, pack
from sternwatch.hydro.motion import fleet as motion
from sternwatch.hydro.separation.distance import Required, Strands
from sternwatch.hydro.steady.solver import solve
from sternwatch.watch.boat.manoeuvres import Path, carried_off
from sternwatch.watch.chains.strands import carried, strands_of_rows, turned
from sternwatch.water.properties import Water

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# A chain whose step fails is interpolated over this many samples; after a longer gap it is unknown.
BRIDGED = 3
# The lowest speed of a steady start: below it a hanging line swings for minutes anyway.
LEAST_START_M_S = 0.15
SHORTEST_LINE_M = 3.0  # shortest first line that is still fished


@dataclass(frozen=True)
class Cast:
    """The chains of all members, ready to run; n rods, M members."""

    keys: tuple[str, ...]
    rigs: tuple[Rig, ...]  # of the first member; names and kinds are the same in all members
    chains: tuple[Chain, ...]  # (M * n)
    rows: Rows
    parent: tuple[int, ...]  # the rod to whose cable a rod is clipped, or -1
    above_ball_m: tuple[float, ...]
    strands: Strands  # n rods, then the rod lines
    rod_line_of: tuple[int, ...]  # the rods that have one
    speed_factor: Floats  # (M,)
    flow: Flow  # (M * n, k, 2), or one for all
    water: Water

    @property
    def members(self) -> int:
        return len(self.speed_factor)

    @property
    def rods(self) -> int:
        return len(self.keys)


@dataclass(frozen=True)
class Fleet:
    """A cast in its present place, in the frame that drifts with the surface water."""

    cast: Cast
    state: motion.State
    boat_m: Floats  # (M, 2) north, east of the transom's centre, as each member believes
    heading_rad: float
    # (M, 2) through the surface water now, as each member believes; None: speed factor times the path's first speed
    velocity_m_s: Floats | None = None
    reserve: Reserve | None = None  # further members, if there are any


@dataclass(frozen=True)
class Reserve:
    """Further members of the same beliefs. They are made only of rods about which the first cannot decide."""

    make: Callable[[tuple[str, ...]], Fleet]  # those of some rods, in the fleet's present place
    lines_m: tuple[tuple[str, float], ...] = ()  # line let out or taken in since, by rod

    def of(self, keys: Sequence[str]) -> Fleet | None:
        """Those of some rods. None where a change of line leaves one of them no line."""
        fleet: Fleet | None = self.make(tuple(keys))
        for key, by_m in self.lines_m:
            if fleet is not None and key in fleet.cast.keys:
                fleet = with_line(fleet, key, by_m)
        return fleet


@dataclass(frozen=True)
class Run:
    """A fleet along a track; S samples, the first of them now. Unknown values are nan."""

    cast: Cast
    path: Path
    positions_m: Floats  # (S, M, n, N, 3), a view of ``lines_m``; places past a chain's last node mean nothing
    tensions_N: Floats  # (S - 1, M, n, N - 1)
    known: Flags  # (M, n): every sample of the chain is known
    track: Floats  # (S, M, 3) north, east, heading
    end: motion.State
    # (S, M, n + rod lines, nodes of the strands, 3): room for ``polylines``, so that nothing so large is copied. A
    # view of samples that lie line by line, as the kernels write and read them.
    lines_m: Floats


def cast_of(
    spread: Spread,
    rods: Mapping[str, RodNow],
    *,
    water: Water,
    flow: Flow,
    draws: Draws | None,
    segments: Mapping[str, int] | None = None,
    speed_m_s: float | None = None,
) -> Cast:
    """All members' chains of the named rods; without draws the nominal member alone. ``flow``: as in the file.

    ``speed_m_s``: speed through the water at which the model's discrepancy is applied; None: the boat's usual speed.
    A rod clipped to a cable that is not down is left out. ``segments``: number of segments of each rod's chain, in
    all members cut as in the first, so that their tackle is at the same nodes.
    """
    carried_by = {rod.key: rod.clipped_to.rod for rod in spread.rods if rod.clipped_to is not None}
    afloat = {key: now for key, now in rods.items() if carried_by.get(key, key) in rods}
    members = member_rigs(spread, afloat, water, draws, spread.boat.usual_m_s if speed_m_s is None else speed_m_s)
    keys, rigs, n, count = tuple(members[0]), tuple(members[0].values()), len(members[0]), len(members)
    chains = tuple(rig.chain for own in members for rig in own.values())
    density = water.density_kg_m3
    cut = [segments[key] if segments else advised_segments(rig.chain, density) for key, rig in members[0].items()]
    rows = pack(
        chains, segments=cut * count, density_kg_m3=density, viscosity_m2_s=water.viscosity_m2_s,
        cut_as=[*range(n)] * count,
    )  # fmt: skip
    parent = tuple(keys.index(rig.attach[0]) if rig.attach and rig.attach[0] in keys else -1 for rig in rigs)
    above = tuple(rig.attach[1] if rig.attach else 0.0 for rig in rigs)
    with_line = tuple(int(i) for i in np.flatnonzero(rows.rod_node[:n] >= 0))
    return Cast(
        keys=keys,
        rigs=rigs,
        chains=chains,
        rows=rows,
        parent=parent,
        above_ball_m=above,
        strands=strands_of_rows(rows, [rig.chain for rig in rigs], parent, with_line),
        rod_line_of=with_line,
        speed_factor=np.ones(1) if draws is None else named(spread, draws, "speed"),
        flow=sheared(flow, spread, draws, n) if count > 1 else flow,
        water=water,
    )


def required_of(spread: Spread) -> Required:
    """The distances that the spread file asks for."""
    given = spread.boat.required
    return Required(line_m=given.line_m, tackle_m=given.tackle_m, taper_m=given.taper_m)


def sheared(flow: Flow, spread: Spread, draws: Draws | None, n: int) -> Flow:
    """Each member's own water: the file's current plus an unmeasured part that grows down to ``SHEAR_DEPTH_M``."""
    if draws is None:
        return flow
    shear = np.stack([named(spread, draws, f"shear {axis}") for axis in AXES], axis=1)
    depths = np.union1d(flow.depths_m, [0.0, SHEAR_DEPTH_M])
    base = np.zeros((len(depths), 2))
    if len(flow.depths_m):
        base = flow.at(depths)[:, :2]
    share = np.clip(depths / SHEAR_DEPTH_M, 0.0, 1.0)
    by_member = base[None] + share[None, :, None] * shear[:, None, :]
    return Flow(depths, np.repeat(by_member, n, axis=0))


def settled(cast: Cast, *, heading_rad: float, speed_m_s: float) -> Fleet:
    """Every member's steady place after a long straight course at this speed through the surface water.

    Without a reserve: ``settled_members`` gives one.
    """
    n, m = cast.rods, cast.members
    rows = cast.rows
    shapes = np.full((m * n, rows.nodes, 3), np.nan)
    speeds = np.maximum(speed_m_s * cast.speed_factor, LEAST_START_M_S)
    order = sorted(range(n), key=lambda i: cast.parent[i] >= 0)
    for member in range(m):
        for rod in order:
            row = member * n + rod
            chain = cast.chains[row]
            if cast.parent[rod] >= 0:
                place = _on_cable(cast, shapes[None, member * n + cast.parent[rod]], row, rod)[0]
                if not np.isfinite(place).all():
                    continue
                chain = replace(chain, tip_m=(float(place[0]), float(place[1]), float(place[2])))
            arcs = rows.arc_m[row, : rows.n_nodes[row]]
            current = _in_boat_axes(cast.flow, row, heading_rad)
            steady = solve(
                chain, float(speeds[member]), water=cast.water, current=current, arc_m=arcs, tolerance=1e-5
            )
            if steady.ok:
                shapes[row, : len(arcs)] = steady.shape_m
                shapes[row, len(arcs) :] = steady.shape_m[-1]
    return _afloat(cast, shapes, heading_rad, speeds)


def settled_members(
    spread: Spread, rods: Mapping[str, RodNow], draws: Draws, *, water: Water, flow: Flow, heading_rad: float,
    speed_m_s: float,
) -> Fleet:  # fmt: skip
    """The members of a session's outlooks settled on a course, with the others that depths have as their reserve.

    Members drawn from a seed depend on their number, so they have no reserve.
    """

    def cast(chosen: Mapping[str, RodNow], own: Draws) -> Cast:
        return cast_of(spread, chosen, water=water, flow=flow, draws=own, speed_m_s=speed_m_s)

    def further(keys: tuple[str, ...]) -> Fleet:
        carriers = {rod.clipped_to.rod for rod in spread.rods if rod.key in keys and rod.clipped_to is not None}
        chosen = {key: now for key, now in rods.items() if key in keys or key in carriers}
        every = settled(cast(chosen, replace(draws, members=DECIDING)), heading_rad=heading_rad, speed_m_s=speed_m_s)
        return members_of(every, range(draws.members, DECIDING))

    fleet = settled(cast(rods, draws), heading_rad=heading_rad, speed_m_s=speed_m_s)
    return fleet if draws.seed is not None or draws.members >= DECIDING else replace(fleet, reserve=Reserve(further))


def _afloat(cast: Cast, shapes: Floats, heading_rad: float, speeds: Floats) -> Fleet:
    """A fleet from shapes in boat axes. Unknown shapes are laid out astern and marked as failed."""
    lost = ~np.isfinite(shapes).all(axis=(1, 2))
    arc = cast.rows.arc_m[lost]
    down = np.sqrt(0.5)
    shapes[lost] = cast.rows.tip_m[lost][:, None, :] + arc[..., None] * np.array([-down, 0.0, down])
    velocity = np.repeat(speeds, cast.rods)[:, None] * np.array([np.cos(heading_rad), np.sin(heading_rad), 0.0])
    state = motion.start(cast.rows, turned(shapes, heading_rad), velocity)
    state.failed[lost] = True
    return Fleet(cast, state, np.zeros((cast.members, 2)), heading_rad)


def _in_boat_axes(flow: Flow, row: int, heading_rad: float) -> tuple[Floats, Floats] | None:
    if not len(flow.depths_m):
        return None
    table = flow.velocity_m_s
    own = table[row] if table.ndim == 3 else table
    c, s = np.cos(heading_rad), np.sin(heading_rad)
    return flow.depths_m, np.stack([c * own[:, 0] + s * own[:, 1], c * own[:, 1] - s * own[:, 0]], axis=1)


def _on_cable(cast: Cast, shapes_m: Floats, row: int, rod: int) -> Floats:
    """The place of rod ``rod``'s clip on its carrier's chain: shapes (samples, N, 3) -> (samples, 3)."""
    carrier = row - rod + cast.parent[rod]
    kinds = cast.rigs[cast.parent[rod]].kinds
    ball = int(cast.rows.body_node[carrier, kinds.index("ball")]) if "ball" in kinds else -1
    if ball < 0:
        return np.full((len(shapes_m), 3), np.nan)
    arc = cast.rows.arc_m[carrier]
    at = max(arc[ball] - cast.above_ball_m[rod], 0.0)
    i = min(int(np.searchsorted(arc[: ball + 1], at, side="right")) - 1, ball - 1)
    share = (at - arc[i]) / (arc[i + 1] - arc[i])
    out: Floats = shapes_m[:, i] + share * (shapes_m[:, i + 1] - shapes_m[:, i])
    return out


def run(fleet: Fleet, path: Path, aside_m: Floats | None = None) -> Run:
    """Run the fleet along a track that starts at its place. The fleet itself does not change.

    ``aside_m`` (S, M, 2): how far each member's track is from the path, where that is known (a boat steered over
    ground). Without it, each member keeps its own belief of her motion through the water.
    """
    cast, state = fleet.cast, fleet.state
    n, m, rows = cast.rods, cast.members, cast.rows
    samples = len(path.time_s)
    track = np.empty((samples, m, 3))
    way = np.stack([path.north_m, path.east_m], axis=1)
    track[..., :2] = fleet.boat_m + (cast.speed_factor[:, None] if aside_m is None else 1.0) * way[:, None]
    track[..., 2] = path.heading_rad[:, None]
    if aside_m is not None:
        track[..., :2] += aside_m
    elif fleet.velocity_m_s is not None:
        track[..., :2] += _set_aside(fleet, fleet.velocity_m_s, path)
    tips = carried(rows.tip_m, track, n)
    rod_tips = carried(rows.rod_tip_m, track, n) if rows.has_rod_lines else np.zeros_like(tips)
    room = np.empty((m, n + len(cast.rod_line_of), samples, cast.strands.arc_m.shape[1], 3))
    lines = room.transpose(2, 0, 1, 3, 4)
    own = lines[:, :, :n, : rows.nodes]
    own[0] = state.position_m.reshape(m, n, rows.nodes, 3)
    tensions, status, end = _moved(fleet, path, tips, rod_tips, room)
    known = _bridge(own, status, state.failed)
    return Run(
        cast, path, own, tensions.reshape(samples - 1, m, n, -1), known.reshape(m, n), track, end, lines
    )  # fmt: skip


def _moved(
    fleet: Fleet, path: Path, tips: Floats, rod_tips: Floats, room: Floats
) -> tuple[Floats, NDArray[np.int64], motion.State]:
    """Tensions, status and the end of a run; the places go into ``room`` (M, lines, S, nodes, 3) after the first.

    Rods that begin on the cables of others are run after these.
    """
    cast, state, rows = fleet.cast, fleet.state, fleet.cast.rows
    begins = np.arange(room.shape[0] * room.shape[1]).reshape(room.shape[:2])[:, : cast.rods].ravel()
    begins = begins * room[0, 0].size + room[0, 0, 0].size  # (with the sample after the first)
    if all(parent < 0 for parent in cast.parent):
        done = motion.run_into(room, begins, rows, state, tips[1:], path.step_s, cast.flow, rod_tips[1:])
        return done.tensions_N, done.status, done.state
    total = tips.shape[1]
    tensions = np.empty((len(tips) - 1, total, rows.nodes - 1))
    status = np.empty((len(tips) - 1, total), dtype=np.int64)
    end = state.copy()
    rod = np.tile(np.arange(cast.rods), cast.members)
    clipped = np.array([parent >= 0 for parent in cast.parent])
    for later in (False, True):
        chosen = np.flatnonzero(clipped[rod] == later)
        if later:
            for row in chosen:
                cable = room[row // cast.rods, cast.parent[rod[row]], :, : rows.nodes]
                tips[:, row] = _on_cable(cast, cable, int(row), int(rod[row]))
        done = motion.run_into(
            room, begins[chosen], rows.take(chosen), state.take(chosen), np.ascontiguousarray(tips[1:, chosen]),
            path.step_s, _flow_of(cast.flow, chosen), np.ascontiguousarray(rod_tips[1:, chosen]),
        )  # fmt: skip
        tensions[:, chosen], status[:, chosen] = done.tensions_N, done.status
        for at, row in enumerate(chosen):
            end.put(int(row), done.state, at)
    return tensions, status, end


def _set_aside(fleet: Fleet, velocity_m_s: Floats, path: Path) -> Floats:
    """(S, M, 2) how far members leave the path because their velocity now differs from the path's.

    The cause is a current where only speed over ground is known, or a boat that crabs: her motion through the water
    differs. The difference turns with her and vanishes when she stops.
    """
    heading = path.heading_rad[0]
    along = path.speed_m_s[0] * np.array([np.cos(heading), np.sin(heading)])
    own = velocity_m_s - fleet.cast.speed_factor[:, None] * along
    north, east = carried_off(path).T[..., None]
    return np.stack([north * own[:, 0] - east * own[:, 1], east * own[:, 0] + north * own[:, 1]], axis=-1)


def _flow_of(flow: Flow, chosen: NDArray[np.int64]) -> Flow:
    return Flow(flow.depths_m, flow.velocity_m_s[chosen]) if flow.velocity_m_s.ndim == 3 else flow


def _bridge(positions: Floats, status: NDArray[np.int64], failed_before: Flags) -> Flags:
    """Bridge short failures of chains by interpolation. Returns which rows (total,) are then wholly known.

    positions (S, M, n, N, 3); a row is member * n + rod.
    """
    bad = np.concatenate([failed_before[None], status != motion.OK])
    known = np.ones(bad.shape[1], dtype=np.bool_)
    for row in np.flatnonzero(bad.any(axis=0)):
        own = positions[:, row // positions.shape[2], row % positions.shape[2]]
        good = np.flatnonzero(~bad[:, row])
        if bad[0, row] or bad[-1, row] or np.diff(good).max(initial=0) > BRIDGED + 1:
            own[:] = np.nan
            known[row] = False
            continue
        for k in np.flatnonzero(bad[:, row]):
            before, after = good[good < k][-1], good[good > k][0]
            share = (k - before) / (after - before)
            own[k] = (1 - share) * own[before] + share * own[after]
    return known


def with_line(fleet: Fleet, key: str, by_m: float) -> Fleet | None:
    """The fleet with ``by_m`` more (or less) line out on one rod, at once. None where that leaves no line.

    Also None for a rod to which another is clipped: its clip would jump.
    """
    cast = fleet.cast
    rod = cast.keys.index(key)
    if rod in cast.parent:
        return None
    rows, state = cast.rows, fleet.state
    for member in range(cast.members):
        row = member * cast.rods + rod
        length = float(state.rest_m[row, : rows.first_segments[row]].sum()) + by_m
        if length < SHORTEST_LINE_M:
            return None
        rows, state = motion.change_length(rows, state, row, length)
    arc = cast.strands.arc_m.copy()
    arc[rod, : rows.nodes] = rows.arc_m[rod]
    arc[rod, rows.nodes :] = rows.arc_m[rod, -1]
    reserve = fleet.reserve
    if reserve is not None:
        reserve = replace(reserve, lines_m=(*reserve.lines_m, (key, by_m)))
    changed = replace(cast, rows=rows, strands=replace(cast.strands, arc_m=arc))
    return replace(fleet, cast=changed, state=state, reserve=reserve)


def one_of(fleet: Fleet, member: int) -> Fleet:
    """One member by itself."""
    return members_of(fleet, [member])


def members_of(fleet: Fleet, members: Sequence[int]) -> Fleet:
    """Some members by themselves, in the order given, without a reserve."""
    chosen = np.array(members, dtype=np.int64)
    velocity = fleet.velocity_m_s
    return Fleet(
        members_of_cast(fleet.cast, members), fleet.state.take(_rows_of(fleet.cast, chosen)), fleet.boat_m[chosen],
        fleet.heading_rad, None if velocity is None else velocity[chosen],
    )  # fmt: skip


def members_of_cast(cast: Cast, members: Sequence[int]) -> Cast:
    """The chains of some members, in the order given."""
    chosen = np.array(members, dtype=np.int64)
    own = _rows_of(cast, chosen)
    return replace(
        cast,
        chains=tuple(cast.chains[row] for row in own),
        rows=cast.rows.take(own),
        speed_factor=cast.speed_factor[chosen],
        flow=_flow_of(cast.flow, own),
    )


def _rows_of(cast: Cast, members: NDArray[np.int64]) -> NDArray[np.int64]:
    return (members[:, None] * cast.rods + np.arange(cast.rods)).ravel()


def rods_of(fleet: Fleet, keys: Sequence[str]) -> Fleet:
    """Some rods alone, in the order of the fleet, with the cables to which they are clipped."""
    cast = fleet.cast
    wanted = {cast.keys.index(key) for key in keys}
    wanted |= {cast.parent[rod] for rod in wanted if cast.parent[rod] >= 0}
    rods = sorted(wanted)
    if len(rods) == cast.rods:
        return fleet
    at = {rod: i for i, rod in enumerate(rods)}
    own = np.concatenate([np.array(rods) + member * cast.rods for member in range(cast.members)])
    lined = [j for j, rod in enumerate(cast.rod_line_of) if rod in at]
    all_of, rows = cast.strands, np.array([*rods, *(cast.rods + j for j in lined)])
    part = replace(
        cast,
        keys=tuple(cast.keys[rod] for rod in rods),
        rigs=tuple(cast.rigs[rod] for rod in rods),
        chains=tuple(cast.chains[row] for row in own),
        rows=cast.rows.take(own),
        parent=tuple(at.get(cast.parent[rod], -1) for rod in rods),
        above_ball_m=tuple(cast.above_ball_m[rod] for rod in rods),
        strands=Strands(
            all_of.n_nodes[rows], all_of.arc_m[rows], all_of.body_node[rows], all_of.leader[rows],
            np.searchsorted(rows, all_of.owner[rows]), None if all_of.whole_m is None else all_of.whole_m[rows],
        ),
        rod_line_of=tuple(at[cast.rod_line_of[j]] for j in lined),
        flow=_flow_of(cast.flow, own),
    )  # fmt: skip
    return replace(fleet, cast=part, state=fleet.state.take(own))
