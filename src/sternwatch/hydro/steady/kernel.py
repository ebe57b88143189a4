"""Compiled core of the steady solver: integrates a chain from its free end inward to the rod tip.

The force on the free end is known for any place of it. So the pull P on the part outboard of arc s (measured from the
free end, unstretched) follows from dP/ds = -(drag + weight), dx/ds = (1 + T/EA) P/T with T = |P| [Zajac 1957].
The place of the free end is unknown. `roots` finds the one for which the inner end meets the rod tip.

Boat axes. The boat moves at ``speed`` through the surface water and turns at ``omega`` about the vertical [rad/s,
positive to starboard]. The chain is at rest in the boat's rotating frame. ``env`` = [speed, omega, share of a
rod's own line that pulls (0 or 1), thickness of the surface film, whether the point is wet where there is no film].
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.chain.forces import B_KIND, B_MASS, L_DRY, L_MASS, L_WET, body_force, line_force, smooth_step
from sternwatch.hydro.chain.rod_line import rod_curve
from sternwatch.hydro.chain.rows import R_PULL, ROD_FIELDS

Array = NDArray[np.float64]

# A line is wet below the surface and dry above it. A floating line needs a film of some thickness, in which it is
# partly wet. These are tried in order, and the thinnest that gives a shape is used; 0: no film [m].
SURFACE_FILMS_M: Final = (0.0, 2e-2, 1e-1)
# Below this pull a direction is meaningless [N].
NO_PULL_N: Final = 1e-20
MAX_STEPS: Final = 2000


class Rig(NamedTuple):
    """One chain of n lines and the current around it. Lines and bodies are in order from the free end inward."""

    lines: Array  # (n, LINE_FIELDS)
    geometry: Array  # (n, 2): unstretched length [m], axial stiffness [N]
    bodies: Array  # (n, BODY_FIELDS): body k is at the outboard end of line k; kind -1 where there is none
    link_at: int  # index of the body at which a rod's own line pulls, or -1
    link: Array  # (LINK_FIELDS,) that line: the numbers of ``rows.ROD_FIELDS``, then its tip
    depths: Array  # (k,) of the current profile, ascending; k may be 0
    currents: Array  # (k, 2) forward, to starboard, relative to the surface water; linear between, constant outside


# Status of a solution.
SOLVED: Final = 0
TOO_MANY_STEPS: Final = 1
NOT_CONVERGED: Final = 2


@njit(cache=True, error_model="numpy")
def flow_at(rig: Rig, env: Array, x: float, y: float, z: float) -> tuple[float, float]:
    """Horizontal velocity of the water past a point that moves with the boat's turning frame [m/s]."""
    depths, currents = rig.depths, rig.currents
    u = -env[0] + env[1] * y
    v = -env[1] * x
    n = depths.shape[0]
    if n > 0:
        if z <= depths[0]:
            return u + currents[0, 0], v + currents[0, 1]
        if z >= depths[n - 1]:
            return u + currents[n - 1, 0], v + currents[n - 1, 1]
        k = 1
        while depths[k] < z:
            k += 1
        share = (z - depths[k - 1]) / (depths[k] - depths[k - 1])
        u += currents[k - 1, 0] + share * (currents[k, 0] - currents[k - 1, 0])
        v += currents[k - 1, 1] + share * (currents[k, 1] - currents[k - 1, 1])
    return u, v


@njit(cache=True, error_model="numpy")
def load(
    line: Array, rig: Rig, env: Array,
    x: float, y: float, z: float, tx: float, ty: float, tz: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Drag, weight and centrifugal force on an unstretched metre of line [N/m]; all but its own tension.

    Drag per unstretched metre ignores stretch: a line that stretches gets thinner, and a wire hardly stretches.
    """
    wet = smooth_step((z + env[3]) / env[3]) if env[3] > 0.0 else env[4]
    turn = line[L_MASS] * env[1]
    fx = turn * env[1] * x
    fy = turn * (env[1] * y - env[0])
    fz = line[L_WET] * wet + line[L_DRY] * (1.0 - wet)
    if wet > 0.0:
        u, v = flow_at(rig, env, x, y, z)
        dx, dy, dz = line_force(line, u, v, 0.0, tx, ty, tz)
        fx += wet * dx
        fy += wet * dy
        fz += wet * dz
    return fx, fy, fz


@njit(cache=True, error_model="numpy")
def slopes(line: Array, stiffness: float, rig: Rig, env: Array, s: Array, out: Array) -> None:
    """d(x, P)/ds into ``out`` (6,) at state ``s`` = (x, y, z, Px, Py, Pz)."""
    pull = math.sqrt(s[3] * s[3] + s[4] * s[4] + s[5] * s[5]) + NO_PULL_N
    tx, ty, tz = s[3] / pull, s[4] / pull, s[5] / pull
    stretch = 1.0 + pull / stiffness
    fx, fy, fz = load(line, rig, env, s[0], s[1], s[2], tx, ty, tz)
    out[0], out[1], out[2] = tx * stretch, ty * stretch, tz * stretch
    out[3], out[4], out[5] = -fx, -fy, -fz


@njit(cache=True, error_model="numpy")
def link_force(rig: Rig, env: Array, u: float, v: float, s: Array) -> tuple[float, float, float]:
    """Pull [N] of a rod's own line on the body at ``s``, past which the water flows at (u, v)."""
    link = rig.link
    curve = np.empty(8)
    tip = link[ROD_FIELDS:]
    tip_u, tip_v = flow_at(rig, env, tip[0], tip[1], tip[2])
    rod_curve(link[:ROD_FIELDS], s[:3], tip, 0.5 * (u + tip_u), 0.5 * (v + tip_v), 0.0, curve)
    return link[R_PULL] * curve[0], link[R_PULL] * curve[1], link[R_PULL] * curve[2]


@njit(cache=True, error_model="numpy")
def free_direction(line: Array, rig: Rig, env: Array, s: Array) -> tuple[float, float, float]:
    """Inward direction of a line at an end without pull: along the sum of its own loads [Pode 1951].

    It is in the plane of the flow and the weight (with the centrifugal force). Bisection finds the angle at which the
    loads across the line balance. Without flow it is against the weight; without weight, against the flow.
    """
    u, v = flow_at(rig, env, s[0], s[1], s[2])
    speed = math.sqrt(u * u + v * v)
    # On a line along the flow only its weight acts across it.
    ax, ay = (-u / speed, -v / speed) if speed > 1e-9 else (0.0, 0.0)
    fx, fy, fz = load(line, rig, env, s[0], s[1], s[2], ax, ay, 0.0)
    p = fx * ax + fy * ay
    bx, by, bz = p * ax - fx, p * ay - fy, -fz
    size = math.sqrt(bx * bx + by * by + bz * bz)
    if size < 1e-12:
        return (ax, ay, 0.0) if speed > 1e-9 else (0.0, 0.0, -1.0)
    bx, by, bz = bx / size, by / size, bz / size
    if speed <= 1e-9:
        return bx, by, bz
    low, high = 0.0, math.pi
    for _ in range(60):
        angle = 0.5 * (low + high)
        c, d = math.cos(angle), math.sin(angle)
        fx, fy, fz = load(line, rig, env, s[0], s[1], s[2], c * ax + d * bx, c * ay + d * by, d * bz)
        if fx * (c * bx - d * ax) + fy * (c * by - d * ay) + fz * c * bz > 0.0:
            high = angle
        else:
            low = angle
    return c * ax + d * bx, c * ay + d * by, d * bz


@njit(cache=True, error_model="numpy")
def dormand_prince(
    line: Array, stiffness: float, rig: Rig, env: Array, s: Array, h: float, k: Array, new: Array, length_scale: float

) -> float:  # fmt: skip
    """One step of the embedded pair 5(4) [Dormand Prince 1980] from ``s`` into ``new``; k[0] holds the slope at s.

    Returns the error estimate: of the place relative to ``length_scale``, of the pull relative to the pull. On return
    k[6] is the slope at ``new``.
    """
    t = np.empty(6)
    for i in range(6):
        t[i] = s[i] + h * 0.2 * k[0, i]
    slopes(line, stiffness, rig, env, t, k[1])
    for i in range(6):
        t[i] = s[i] + h * (3.0 / 40.0 * k[0, i] + 9.0 / 40.0 * k[1, i])
    slopes(line, stiffness, rig, env, t, k[2])
    for i in range(6):
        t[i] = s[i] + h * (44.0 / 45.0 * k[0, i] - 56.0 / 15.0 * k[1, i] + 32.0 / 9.0 * k[2, i])
    slopes(line, stiffness, rig, env, t, k[3])
    for i in range(6):
        t[i] = s[i] + h * (
            19372.0 / 6561.0 * k[0, i] - 25360.0 / 2187.0 * k[1, i] + 64448.0 / 6561.0 * k[2, i]
            - 212.0 / 729.0 * k[3, i]
        )  # fmt: skip
    slopes(line, stiffness, rig, env, t, k[4])
    for i in range(6):
        t[i] = s[i] + h * (
            9017.0 / 3168.0 * k[0, i] - 355.0 / 33.0 * k[1, i] + 46732.0 / 5247.0 * k[2, i]
            + 49.0 / 176.0 * k[3, i] - 5103.0 / 18656.0 * k[4, i]
        )  # fmt: skip
    slopes(line, stiffness, rig, env, t, k[5])
    for i in range(6):
        new[i] = s[i] + h * (
            35.0 / 384.0 * k[0, i] + 500.0 / 1113.0 * k[2, i] + 125.0 / 192.0 * k[3, i]
            - 2187.0 / 6784.0 * k[4, i] + 11.0 / 84.0 * k[5, i]
        )  # fmt: skip
    slopes(line, stiffness, rig, env, new, k[6])
    place = 0.0
    force = 0.0
    for i in range(6):
        e = h * (
            71.0 / 57600.0 * k[0, i] - 71.0 / 16695.0 * k[2, i] + 71.0 / 1920.0 * k[3, i]
            - 17253.0 / 339200.0 * k[4, i] + 22.0 / 525.0 * k[5, i] - 1.0 / 40.0 * k[6, i]
        )  # fmt: skip
        if i < 3:
            place += e * e
        else:
            force += e * e
    pull = math.sqrt(new[3] * new[3] + new[4] * new[4] + new[5] * new[5]) + 1e-6
    return math.sqrt(max(place / (length_scale * length_scale), force / (pull * pull)))


@njit(cache=True, error_model="numpy", inline="always")
def longest_step(z: float, rise: float, film: float, wet: float) -> float:
    """A step that lands on the surface, or does not jump over its film; ``rise`` is -dz/ds."""
    if film == 0.0:
        toward = rise if wet > 0.0 else -rise
        return abs(z) / toward if toward > 0.0 and (z > 0.0) == (wet > 0.0) else 1e9
    fine = 0.25 * film
    if z > 0.0:
        return (z + fine) / rise if rise > 0.0 else 1e9
    if z < -film:
        return (fine - film - z) / -rise if rise < 0.0 else 1e9
    return 2.0 * fine / max(abs(rise), 0.02)


@njit(cache=True, error_model="numpy")
def between(s: Array, new: Array, k: Array, step: float, share: float, place: Array) -> float:
    """Interpolate by cubics at ``share`` of a step from ``s`` to ``new``: the place; returns the pull."""
    t, u = share, 1.0 - share
    a, b = (1.0 + 2.0 * t) * u * u, t * t * (3.0 - 2.0 * t)
    c, d = step * t * u * u, -step * t * t * u
    square = 0.0
    for i in range(6):
        value = a * s[i] + b * new[i] + c * k[0, i] + d * k[6, i]
        if i < 3:
            place[i] = value
        else:
            square += value * value
    return math.sqrt(square)


# (Loops instead of slices: numba spends seconds on the error messages of slices.)
@njit(cache=True, error_model="numpy", inline="always")
def _place(s: Array, out: Array) -> None:
    """The place of a state into ``out`` (3,)."""
    for i in range(3):
        out[i] = s[i]


@njit(cache=True, error_model="numpy", inline="always")
def _pull(s: Array, out: Array) -> None:
    """The pull of a state into ``out`` (3,)."""
    for i in range(3):
        out[i] = s[3 + i]


@njit(cache=True, error_model="numpy", nogil=True)
def integrate(
    rig: Rig, env: Array,
    s: Array, tolerance: float, samples: Array, out_x: Array, out_pull: Array, body_out: Array, entry: Array,
) -> int:  # fmt: skip
    """Carry the state ``s`` = (x, P), at the free end, inward to the rod tip, in place. Returns a status.

    ``P`` on entry is the pull from outboard of the free end (usually none). ``samples`` (m,): arcs from the free end,
    ascending, at which the place and pull are written to ``out_x`` (m, 3) and ``out_pull`` (m,). ``body_out`` (n, 6):
    place, flow speed, pull inboard and outboard of each body. ``entry`` (3,): the pull where the line, followed
    inward, last leaves the water; unchanged if it does not.
    """
    k = np.empty((7, 6))
    new = np.empty(6)
    total = 0.0
    for j in range(rig.lines.shape[0]):
        total += rig.geometry[j, 0]
    arc = 0.0
    next_sample = 0
    steps = 0
    h = 0.02 * total
    env[4] = 1.0 if s[2] > 0.0 else 0.0
    level = 1e-10 * (total + 1.0)
    for j in range(rig.lines.shape[0]):
        line = rig.lines[j]
        stiffness = rig.geometry[j, 1]
        if rig.bodies[j, B_KIND] >= 0.0:
            body_out[j, 5] = math.sqrt(s[3] * s[3] + s[4] * s[4] + s[5] * s[5])
            u, v = flow_at(rig, env, s[0], s[1], s[2])
            fx, fy, fz = body_force(rig.bodies[j], u, v, 0.0, s[2])
            turn = rig.bodies[j, B_MASS] * env[1]
            s[3] -= fx + turn * env[1] * s[0]
            s[4] -= fy + turn * (env[1] * s[1] - env[0])
            s[5] -= fz
            if j == rig.link_at:
                fx, fy, fz = link_force(rig, env, u, v, s)
                s[3] -= env[2] * fx
                s[4] -= env[2] * fy
                s[5] -= env[2] * fz
            _place(s, body_out[j])
            body_out[j, 3] = math.sqrt(u * u + v * v)
            body_out[j, 4] = math.sqrt(s[3] * s[3] + s[4] * s[4] + s[5] * s[5])
        if s[3] * s[3] + s[4] * s[4] + s[5] * s[5] < 1e-16:
            tx, ty, tz = free_direction(line, rig, env, s)
            s[3], s[4], s[5] = 1e-8 * tx, 1e-8 * ty, 1e-8 * tz
        if j == 0:
            while next_sample < samples.shape[0] and samples[next_sample] <= 0.0:
                _place(s, out_x[next_sample])
                out_pull[next_sample] = math.sqrt(s[3] * s[3] + s[4] * s[4] + s[5] * s[5])
                next_sample += 1
        end = arc + rig.geometry[j, 0]
        slopes(line, stiffness, rig, env, s, k[0])
        while arc < end:
            steps += 1
            if steps > MAX_STEPS:
                return TOO_MANY_STEPS
            step = min(h, longest_step(s[2], -k[0, 2], env[3], env[4]))
            landing = step >= end - arc
            if landing:
                step = end - arc
            error = dormand_prince(line, stiffness, rig, env, s, step, k, new, total) / tolerance
            if error > 1.0 and step > 1e-6:
                h = step * max(0.2, 0.9 * error**-0.2)
                continue
            side = new[2] if env[4] > 0.0 else -new[2]
            if env[3] == 0.0 and side < -level and step > 1e-9:
                h = step * abs(s[2]) / (abs(s[2]) - side)
                continue
            if env[3] > 0.0 and s[2] > 0.0 >= new[2]:
                _pull(new, entry)
            reached = end if landing else arc + step
            while next_sample < samples.shape[0] and samples[next_sample] <= reached:
                share = (samples[next_sample] - arc) / step
                out_pull[next_sample] = between(s, new, k, step, share, out_x[next_sample])
                next_sample += 1
            for i in range(6):
                s[i] = new[i]
                k[0, i] = k[6, i]
            arc = reached
            grown = step * min(5.0, 0.9 * max(error, 1e-9) ** -0.2)
            h = max(grown, h) if landing or step < h else grown
            if env[3] == 0.0 and side <= level and (k[0, 2] < 0.0) == (env[4] > 0.0):
                if env[4] > 0.0:
                    _pull(s, entry)
                env[4] = 1.0 - env[4]
                slopes(line, stiffness, rig, env, s, k[0])
    while next_sample < samples.shape[0]:  # the tip itself, apart from rounding
        _place(s, out_x[next_sample])
        out_pull[next_sample] = math.sqrt(s[3] * s[3] + s[4] * s[4] + s[5] * s[5])
        next_sample += 1
    return SOLVED
