"""Moves chains: lumped nodes, an implicit second-order method, every chain of every scenario in one call.

Positions are in earth axes (north, east, down) in a frame that drifts with the surface water. Line inertia is
included. The added mass of cross-flow (that of the water displaced) counts in every direction, which is exact
across the line and negligible along it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.chain.rows import STILL, Floats, Flow, Ints, Rows
from sternwatch.hydro.motion import length as motion_length
from sternwatch.hydro.motion.batch import Models, States
from sternwatch.hydro.motion.kernel import Samples, run_rows
from sternwatch.hydro.motion.newton import Effort

Bools = NDArray[np.bool_]

OK: Final = 0
FAILED: Final = 1

# A node's last move counts as its error, although Newton's next move would be about the square of it. This keeps
# positions within a millimetre of the converged ones.
EFFORT: Final = Effort(iterations=25, tolerance_m=3e-4)


@dataclass
class State:
    """Where chains are, and what the next step needs; n rows, N nodes, S segments. ``copy`` is a checkpoint.

    A copy steps to the same numbers, to the last bit. Padding nodes are at the last real one.
    """

    position_m: Floats  # (n, N, 3)
    before_m: Floats  # (n, N, 3) one step before
    velocity_m_s: Floats  # (n, N, 3)
    velocity_before_m_s: Floats  # (n, N, 3)
    tension_N: Floats  # (n, S)
    rest_m: Floats  # (n, S) unstretched lengths now; letting out changes the first Line's
    step_s: Floats  # (n,) length of the last step
    owed_s: Floats  # (n,) time that failed steps did not cover; the next step includes it
    failed: Bools  # (n,) the last step did not converge: the position is old and must not be shown

    def __len__(self) -> int:
        return int(self.position_m.shape[0])

    def copy(self) -> State:
        return State(*(getattr(self, f.name).copy() for f in fields(self)))

    def curves(self, row: int) -> tuple[Floats, Floats, Floats, Floats]:
        """The row's positions and velocities, now and one step before, each (N, 3): views."""
        return self.position_m[row], self.before_m[row], self.velocity_m_s[row], self.velocity_before_m_s[row]

    def take(self, indices: Sequence[int] | Ints) -> State:
        """A copy of the given rows in that order; an index may repeat."""
        at = np.asarray(indices, dtype=np.int64)
        return State(*(getattr(self, f.name)[at].copy() for f in fields(self)))

    def put(self, row: int, other: State, other_row: int = 0) -> None:
        """Set row ``row`` to a row of ``other``: a chain with as many nodes (padding may differ)."""
        for f in fields(self):
            mine, its = getattr(self, f.name)[row], getattr(other, f.name)[other_row]
            if mine.ndim == 0:
                getattr(self, f.name)[row] = its
                continue
            count = min(len(mine), len(its))
            mine[:count] = its[:count]
            if f.name == "position_m":
                mine[count:] = its[-1]

    def put_all(self, rows: slice, other: State) -> None:
        """Set some rows to all of ``other``'s, in order: chains with as many nodes (padding may differ)."""
        for f in fields(self):
            mine, its = getattr(self, f.name)[rows], getattr(other, f.name)
            if mine.ndim == 1:
                mine[:] = its
                continue
            count = min(mine.shape[1], its.shape[1])
            mine[:, :count] = its[:, :count]
            if f.name == "position_m":
                mine[:, count:] = its[:, -1:]


def joined(states: Sequence[State]) -> State:
    """One state of all their rows, with as many nodes. From here on each of ``states`` is a part of it."""
    whole = State(*(np.concatenate([getattr(state, f.name) for state in states]) for f in fields(State)))
    begin = 0
    for state in states:
        end = begin + len(state)
        for f in fields(State):
            setattr(state, f.name, getattr(whole, f.name)[begin:end])
        begin = end
    return whole


def start(rows: Rows, shapes_m: Floats, velocity_m_s: Floats, *, step_s: float = 1.0) -> State:
    """Chains at rest in a frame that moves uniformly: shapes (n, N, 3), velocities (n, 3) or (3,).

    Raises ValueError where a shape has a number that is not finite or nodes that coincide.
    """
    n, nodes = rows.arc_m.shape
    position = np.array(shapes_m, dtype=np.float64)
    if position.shape != (n, nodes, 3):
        raise ValueError(f"shapes must be ({n}, {nodes}, 3), not {position.shape}")
    for row in range(n):
        position[row, rows.n_nodes[row] :] = position[row, rows.n_nodes[row] - 1]
    if not np.isfinite(position).all():
        raise ValueError("a shape has a coordinate that is not a finite number")
    one = np.broadcast_to(np.asarray(velocity_m_s, dtype=np.float64), (n, 3))
    velocity = np.repeat(one[:, None, :], nodes, axis=1)
    return State(
        position_m=position,
        before_m=position - step_s * velocity,
        velocity_m_s=velocity,
        velocity_before_m_s=velocity.copy(),
        tension_N=np.ones((n, nodes - 1)),
        rest_m=rows.rest_m.copy(),
        step_s=np.full(n, step_s),
        owed_s=np.zeros(n),
        failed=np.zeros(n, dtype=np.bool_),
    )


def _drive(
    rows: Rows, state: State, tips_m: Floats, dt_s: Floats, flow: Flow, rod_tips_m: Floats | None, rates: Floats,
    effort: Effort, every: int, out: Samples,
) -> None:  # fmt: skip
    """Check shapes and call the kernel. A single step may omit the axis of steps."""
    n = len(rows)
    shape = (len(dt_s), n, 3)
    if len(dt_s) == 1:
        tips_m = tips_m[None] if tips_m.ndim == 2 else tips_m
        rod_tips_m = rod_tips_m[None] if rod_tips_m is not None and rod_tips_m.ndim == 2 else rod_tips_m
    states = States(
        state.position_m, state.before_m, state.velocity_m_s, state.velocity_before_m_s,
        state.tension_N, state.rest_m, state.step_s, state.owed_s,
    )  # fmt: skip
    models = Models(rows.line, rows.body, rows.node_body, rows.n_nodes, rows.rod_node, rows.rod)
    tips = _checked("tips", tips_m, shape)
    rod_tips = _rod_tips(rows, rod_tips_m, shape)
    # (Exact types: the kernel would compile again for others.)
    work = effort if effort is EFFORT else Effort(int(effort.iterations), float(effort.tolerance_m))
    run_rows(states, models, tips, rod_tips, dt_s, rates, flow.depths_m, flow.by_row(n), work, int(every), out)


def _rod_tips(rows: Rows, given: Floats | None, shape: tuple[int, ...]) -> Floats:
    if given is None:
        if rows.has_rod_lines:
            raise ValueError("a chain has a rod line: its tips must be given")
        return np.zeros(shape)
    return _checked("rod line tips", given, shape)


def _checked(what: str, given: Floats, shape: tuple[int, ...]) -> Floats:
    # Writable too: numba compiles again for a read-only array.
    ready = given.dtype == np.float64 and given.flags.c_contiguous and given.flags.writeable
    array: Floats = given if ready else np.require(given, np.float64, ["C", "W"])
    if array.shape != shape:
        raise ValueError(f"{what} must be {shape}, not {array.shape}")
    return array


def step(
    rows: Rows,
    state: State,
    tips_m: Floats,
    dt_s: float,
    flow: Flow = STILL,
    rod_line_tips_m: Floats | None = None,
    *,
    length_rate_m_s: Floats | None = None,
    effort: Effort = EFFORT,
) -> Ints:
    """Advance all chains by ``dt_s`` in place, tips at ``tips_m`` (n, 3) at its end. Status (n,): OK or FAILED.

    A row fails when its step does not converge or its tip is not finite. It then keeps its last good place, is
    marked ``failed``, and covers the lost time with its next step. ``length_rate_m_s`` (n,): line let out (positive)
    or reeled in at the tip. The first Line gets new nodes when its first segment passes its limits.
    """
    n = len(rows)
    if not dt_s > 0.0:
        raise ValueError(f"a step must be longer than 0 s, not {dt_s}")
    rates = np.zeros(n) if length_rate_m_s is None else _checked("length rates", length_rate_m_s, (n,)).copy()
    if length_rate_m_s is not None:
        curves = (state.position_m, state.before_m, state.velocity_m_s, state.velocity_before_m_s)
        motion_length.prepare(rows.first_segments, state.rest_m, state.tension_N, curves, rates, dt_s + state.owed_s)
    # No sample: the state itself says where the chains are, and which of them owe time.
    _drive(rows, state, tips_m, np.array([float(dt_s)]), flow, rod_line_tips_m, rates, effort, 2, _no_samples(n))
    np.greater(state.owed_s, 0.0, out=state.failed)
    status: Ints = np.where(state.failed, FAILED, OK)
    return status


@lru_cache(maxsize=16)
def _no_samples(n: int) -> Samples:
    return _samples(np.empty(0), np.zeros(n, np.int64), 0, 0, 1)


def _samples(places: Floats, at: Ints, apart: int, samples: int, segments: int) -> Samples:
    n = len(at)
    return Samples(
        places, at, apart, np.zeros((samples, n, segments)), np.zeros((samples, n), np.int64), np.zeros(1, np.int64)
    )  # fmt: skip


@dataclass(frozen=True)
class Moved:
    """The result of ``run_into``, with a sample at the end of each ``out_every`` steps."""

    tensions_N: Floats  # (samples, n, S)
    status: Ints  # (samples, n) OK, or FAILED where a step since the last sample did not converge
    state: State  # at the end
    iterations: int  # number of Newton iterations in all


@dataclass(frozen=True)
class Track(Moved):
    """The result of ``run``."""

    positions_m: Floats  # (samples, n, N, 3); padding nodes are at the last real one


def run(
    rows: Rows,
    state: State,
    tips_m: Floats,
    dt_s: Floats,
    flow: Flow = STILL,
    rod_line_tips_m: Floats | None = None,
    *,
    out_every: int = 1,
    effort: Effort = EFFORT,
) -> Track:
    """Run all chains through all steps: ``tips_m`` (steps, n, 3), ``dt_s`` (steps,). ``state`` does not change."""
    n, nodes = rows.arc_m.shape
    room = np.empty((n, len(dt_s) // out_every, nodes, 3))
    begins: Ints = np.arange(n, dtype=np.int64) * room[0].size
    moved = run_into(
        room, begins, rows, state, tips_m, dt_s, flow, rod_line_tips_m, out_every=out_every, effort=effort
    )  # fmt: skip
    for row in np.flatnonzero(rows.n_nodes < nodes):
        last = rows.n_nodes[row] - 1
        room[row, :, last + 1 :] = room[row, :, last : last + 1]
    return Track(moved.tensions_N, moved.status, moved.state, moved.iterations, room.swapaxes(0, 1))


def run_into(
    room: Floats,
    begins: Ints,
    rows: Rows,
    state: State,
    tips_m: Floats,
    dt_s: Floats,
    flow: Flow = STILL,
    rod_line_tips_m: Floats | None = None,
    *,
    out_every: int = 1,
    effort: Effort = EFFORT,
) -> Moved:
    """``run`` with the places written into ``room`` (..., samples, nodes, 3).

    ``begins`` (n,): with which of the numbers in ``room`` each chain's first sample begins; its others follow. Of a
    chain with fewer nodes the other places are left as they are.
    """
    nodes = room.shape[-2]
    if not room.flags.c_contiguous or nodes < rows.arc_m.shape[1] or len(begins) != len(rows):
        raise ValueError(f"no room for {len(rows)} chains of {rows.arc_m.shape[1]} nodes in {room.shape}")
    dt: Floats = np.require(dt_s, np.float64, ["C", "W"])
    if not (dt > 0.0).all():
        raise ValueError("every step must be longer than 0 s")
    end = state.copy()
    samples = len(dt) // out_every
    out = _samples(room.reshape(-1), begins, nodes * 3, samples, rows.arc_m.shape[1] - 1)
    _drive(rows, end, tips_m, dt, flow, rod_line_tips_m, np.zeros(len(rows)), effort, out_every, out)
    end.failed[:] = end.owed_s > 0.0
    return Moved(out.tensions, out.status, end, int(out.iterations[0]))


def change_length(rows: Rows, state: State, row: int, first_line_length_m: float) -> tuple[Rows, State]:
    """Copies in which chain ``row`` has its first Line at another unstretched length at once.

    The Line's curve grows or shrinks from the tip in proportion, so it stays as taut as it was. The rest of the chain
    moves with it and keeps its shape. Raises ValueError for a length below 0.5 m.
    """
    if not first_line_length_m >= motion_length.SHORTEST_M:
        raise ValueError(f"a first Line of at least {motion_length.SHORTEST_M} m, not {first_line_length_m}")
    segments = int(rows.first_segments[row])
    new = state.copy()
    factor = first_line_length_m / float(state.rest_m[row, :segments].sum())
    new.rest_m[row, :segments] *= factor
    motion_length.scale_first_line(segments, int(rows.n_nodes[row]) - 1, factor, new.curves(row))
    return with_lengths(rows, new), new


def with_lengths(rows: Rows, state: State) -> Rows:
    """``rows`` with the unstretched lengths and arcs of the state (after letting out)."""
    arc = np.concatenate([np.zeros((len(rows), 1)), np.cumsum(state.rest_m, axis=1)], axis=1)
    return replace(rows, rest_m=state.rest_m.copy(), arc_m=arc)


def settle(
    rows: Rows,
    heading_rad: Floats,
    speed_m_s: Floats,
    flow: Flow = STILL,
    *,
    tips_m: Floats | None = None,
    rod_line_tips_m: Floats | None = None,
    seconds: float = 900.0,
) -> State:
    """Chains after a long straight course, with tips at ``tips_m`` (default: those in boat axes, turned).

    They start straight, aft and down, and are towed for ``seconds`` in growing steps. Headings and speeds through
    the surface water are (n,) or scalars. Rows that do not converge are marked.
    """
    n = len(rows)
    heading = np.broadcast_to(np.asarray(heading_rad, dtype=np.float64), (n,))
    speed = np.broadcast_to(np.asarray(speed_m_s, dtype=np.float64), (n,))
    ahead = np.stack([np.cos(heading), np.sin(heading), np.zeros(n)], axis=1)
    tips = to_earth(rows.tip_m, heading) if tips_m is None else _checked("tips", tips_m, (n, 3))
    rod_tips = to_earth(rows.rod_tip_m, heading) if rod_line_tips_m is None else rod_line_tips_m
    down = np.sqrt(0.5)
    lie = -down * ahead + np.array([0.0, 0.0, down])
    state = start(rows, tips[:, None, :] + rows.arc_m[..., None] * lie[:, None, :], speed[:, None] * ahead)
    velocity = speed[:, None] * ahead
    dt, done = 0.5, 0.0
    steps: list[float] = []
    while done < seconds:
        steps.append(dt)
        done += dt
        dt = min(dt * 1.1, 20.0)
    # The last steps are as long as the caller's will be, for the second-order history.
    steps += [1.0, 1.0, 1.0]
    times = np.cumsum(steps)[:, None, None]
    track = run(
        rows, state, tips[None] + times * velocity[None], np.array(steps), flow,
        rod_tips[None] + times * velocity[None], out_every=len(steps),
    )  # fmt: skip
    end = track.state
    back = times[-1, 0, 0] * velocity[:, None, :]
    end.position_m -= back
    end.before_m -= back
    return end


def to_earth(boat_m: Floats, heading_rad: Floats) -> Floats:
    """Turn boat axes (n, 3) [forward, starboard, down] to (north, east, down) by headings (n,)."""
    cos, sin = np.cos(heading_rad), np.sin(heading_rad)
    x, y = boat_m[..., 0], boat_m[..., 1]
    return np.stack([cos * x - sin * y, sin * x + cos * y, boat_m[..., 2]], axis=-1)
