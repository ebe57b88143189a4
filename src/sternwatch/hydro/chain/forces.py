"""The force of water on a metre of line and on a body, with full derivatives. Both solvers use it.

Axes: z down, surface at z = 0. ``r`` and ``u`` are velocities of the water relative to the thing [m/s]. All
functions are compiled and work on scalars. Keys in square brackets are those of ``sources.REFERENCES``.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.chain.coefficients import DISC_CD, cn, cn_and_slope, plate_cn
from sternwatch.hydro.chain.model import Body, BodyKind, Line

GRAVITY_M_S2: Final = 9.80665

# Columns of a line's numbers, for one metre of line; they include the water's density and viscosity.
LINE_FIELDS: Final = 8
L_NORMAL: Final = 0  # 0.5 rho d x drag factor; times Cn |u_n| u_n [N/m]
L_CN: Final = 1  # Cn as given, or negative: from the Reynolds number
L_RE: Final = 2  # d / nu: Reynolds number per cross-flow speed [s/m]
L_TANGENT: Final = 3  # 0.5 rho pi d Ct; times |u_t| u_t [N/m]
L_WET: Final = 4  # submerged weight [N/m]
L_DRY: Final = 5  # weight in air [N/m]
L_MASS: Final = 6  # mass plus added mass, which is that of the water it displaces [kg/m]
L_STIFF: Final = 7  # axial stiffness EA [N]

# Columns of a body's numbers.
BODY_FIELDS: Final = 12
B_KIND: Final = 0
B_WET: Final = 1  # submerged weight [N]
B_DRY: Final = 2  # weight in air [N]
B_MASS: Final = 3  # with added mass [kg]
B_DRAG: Final = 4  # 0.5 rho Cd A; times |r| r
B_FLAT: Final = 5  # what a lifting body's drag gains in vertical flow, like B_DRAG
B_LIFT: Final = 6  # 0.5 rho C_L A
B_COS: Final = 7  # of the roll
B_SIN: Final = 8
B_SIDE: Final = 9
B_BUOYANCY: Final = 10  # board, wholly under [N]
B_HEIGHT: Final = 11  # height over which it enters the water [m]

# s = sqrt(r.r + this) makes every force differentiable at rest [m2/s2].
_REST: Final = 1e-6


def line_numbers(line: Line, density_kg_m3: float, viscosity_m2_s: float) -> NDArray[np.float64]:
    """A line as the kernels read it, shape (LINE_FIELDS,)."""
    d = line.diameter_m
    out = np.empty(LINE_FIELDS)
    out[L_NORMAL] = 0.5 * density_kg_m3 * d * line.drag_factor
    out[L_CN] = -1.0 if line.normal_drag is None else line.normal_drag
    out[L_RE] = d / viscosity_m2_s
    out[L_TANGENT] = 0.5 * density_kg_m3 * math.pi * d * line.tangential_drag
    out[L_WET] = line.wet_weight_N_m
    out[L_DRY] = line.mass_kg_m * GRAVITY_M_S2
    out[L_MASS] = line.mass_kg_m + density_kg_m3 * 0.25 * math.pi * d * d
    out[L_STIFF] = line.stiffness_N
    return out


def body_numbers(body: Body, density_kg_m3: float) -> NDArray[np.float64]:
    """A body as the kernels read it, shape (BODY_FIELDS,).

    A diver's C_L = C_N cos(trim) and C_D = C_N sin(trim): the force on an inclined plate is normal to it
    [Ortiz 2015].
    """
    q = 0.5 * density_kg_m3
    out = np.zeros(BODY_FIELDS)
    out[B_KIND] = float(body.kind)
    out[B_WET] = body.wet_weight_N
    out[B_DRY] = max(body.mass_kg * GRAVITY_M_S2, body.wet_weight_N)
    out[B_MASS] = body.mass_kg + body.added_mass_kg
    out[B_DRAG] = q * body.drag_area_m2
    out[B_COS] = 1.0
    out[B_HEIGHT] = max(body.height_m, 1e-3)
    if body.kind == BodyKind.DIVER:
        normal = body.plate_factor * float(plate_cn(body.trim_rad))
        drag = normal * math.sin(body.trim_rad)
        out[B_LIFT] = q * body.plate_area_m2 * normal * math.cos(body.trim_rad)
        out[B_DRAG] = q * body.plate_area_m2 * drag
        out[B_FLAT] = q * body.plate_area_m2 * (DISC_CD - drag)
        out[B_COS] = math.cos(body.roll_rad)
        out[B_SIN] = math.sin(body.roll_rad)
    elif body.kind == BodyKind.LIPPED:
        out[B_LIFT] = q * body.lift_area_m2
    elif body.kind == BodyKind.BOARD:
        out[B_LIFT] = q * body.lift_area_m2
        out[B_SIDE] = body.side
        out[B_BUOYANCY] = body.buoyancy_N
    return out


@njit(cache=True, error_model="numpy", inline="always")
def current_at(
    depths: NDArray[np.float64], current: NDArray[np.float64], z: float
) -> tuple[float, float, float, float]:
    """Water velocity (north, east) at depth z and its slope; constant beyond the profile's ends."""
    k = depths.shape[0]
    if k == 0:
        return 0.0, 0.0, 0.0, 0.0
    if z <= depths[0]:
        return current[0, 0], current[0, 1], 0.0, 0.0
    if z >= depths[k - 1]:
        return current[k - 1, 0], current[k - 1, 1], 0.0, 0.0
    i = 0
    while z > depths[i + 1]:
        i += 1
    step = depths[i + 1] - depths[i]
    sx = (current[i + 1, 0] - current[i, 0]) / step
    sy = (current[i + 1, 1] - current[i, 1]) / step
    return current[i, 0] + sx * (z - depths[i]), current[i, 1] + sy * (z - depths[i]), sx, sy


@njit(cache=True, error_model="numpy", inline="always")
def smooth_step(x: float) -> float:
    """0 up to 0, 1 from 1 on, 3x^2 - 2x^3 between: C1."""
    x = min(max(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


@njit(cache=True, error_model="numpy", inline="always")
def smooth_step_slope(x: float) -> float:
    """Derivative of ``smooth_step``."""
    x = min(max(x, 0.0), 1.0)
    return 6.0 * x * (1.0 - x)


@njit(cache=True, error_model="numpy")
def line_force(
    line: NDArray[np.float64], ux: float, uy: float, uz: float, tx: float, ty: float, tz: float
) -> tuple[float, float, float]:
    """Drag on a metre of line [N/m] along the unit tangent t in the relative flow u.

    Normal 0.5 rho Cn d |u_n| u_n, tangential 0.5 rho pi d Ct |u_t| u_t on the wetted area.
    """
    p = ux * tx + uy * ty + uz * tz
    nx, ny, nz = ux - p * tx, uy - p * ty, uz - p * tz
    q = math.sqrt(nx * nx + ny * ny + nz * nz + 1e-12)
    c = line[L_CN]
    if c < 0.0:
        c = cn(line[L_RE] * q)
    k = line[L_NORMAL] * c * q
    along = line[L_TANGENT] * abs(p) * p
    return k * nx + along * tx, k * ny + along * ty, k * nz + along * tz


def _cn_table() -> NDArray[np.float64]:
    """(k, 2): Cn and its slope by the root of Re, at roots 1, 1 + 1/4, ... 128."""
    root = np.arange(1.0, 128.0 + 0.5 / _PER_ROOT, 1.0 / _PER_ROOT)
    plain = getattr(cn_and_slope, "py_func", cn_and_slope)  # with NUMBA_DISABLE_JIT there is nothing compiled
    both = np.array([plain(max(r * r, 1.0 + 1e-12)) for r in root])  # at 1 the slope above it
    both[:, 1] *= 2.0 * root
    return both


# The correlation's powers would take a third of the kernel's time. Cubics between these values are within 6e-4 of
# it (relative) up to Re 4, 3e-5 beyond: a thousandth of its own error.
_PER_ROOT: Final = 4.0
_CN_TABLE: Final = _cn_table()
_CN_HELD: Final = float(_CN_TABLE[0, 0])


@njit(cache=True, error_model="numpy", inline="always")
def normal_law(normal: float, given: float, re: float, q: float) -> tuple[float, float]:
    """(c1, c2) at cross-flow speed q: the normal drag of a metre is c1 u_n, its derivative c1 1 + c2 u_n u_n^T.

    ``normal``, ``given`` and ``re`` are the line's numbers L_NORMAL, L_CN and L_RE.
    """
    c = given
    more = 0.0  # Re dCn/dRe
    if c < 0.0:
        root = math.sqrt(re * q)
        at = (root - 1.0) * _PER_ROOT
        if at <= 0.0:
            c = _CN_HELD
        elif at < 507.0:
            k = int(at)
            t = at - k
            low, high = _CN_TABLE[k, 0], _CN_TABLE[k + 1, 0]
            # c = low + t (m0 + t (b + t a)), by the ends' values and slopes.
            m0, m1 = _CN_TABLE[k, 1] / _PER_ROOT, _CN_TABLE[k + 1, 1] / _PER_ROOT
            a = m0 + m1 - 2.0 * (high - low)
            b = high - low - m0 - a
            c = low + t * (m0 + t * (b + t * a))
            more = 0.5 * root * _PER_ROOT * (m0 + t * (2.0 * b + 3.0 * t * a))
        else:
            c, more = cn_and_slope(re * q)
            more *= re * q
    return normal * c * q, normal * (c + more) / q


@njit(cache=True, error_model="numpy")
def body_force(body: NDArray[np.float64], rx: float, ry: float, rz: float, z: float) -> tuple[float, float, float]:
    """The force [N] on a body at depth z in the relative flow r, without inertia and the pull of lines.

    Ball, weight, attractor, lure: weight and 0.5 rho Cd A |r| r. Diver and lipped plug add the lift (from memory,
    made well posed: C1, none at rest, none in vertical flow), with s^2 = r.r + 1e-6, c = |r_h|/s and g(c) = 1 from
    c = 1/2 on, 4c(1 - c) below:

        F_L = 0.5 rho A C_L g [cos(roll) (s^2 z^ - r_z r) + sin(roll) s (r x z^)] / c
        F_D = 0.5 rho A [C_D + (1.12 - C_D)(1 - g)] s r

    Board: sideways lift and drag of the horizontal flow, and buoyancy that sets in smoothly over its height. A body
    above the surface has its weight in air and no flow; the change is smooth over its height.
    """
    kind = int(body[B_KIND])
    h = body[B_HEIGHT]
    board = kind == 2
    wetted = smooth_step((z + h) / h) if board else smooth_step((z + h) / (2.0 * h))
    s = math.sqrt(rx * rx + ry * ry + rz * rz + _REST)
    fx = fy = fz = 0.0
    if board:
        flat = math.sqrt(rx * rx + ry * ry + _REST)
        lift = body[B_LIFT] * body[B_SIDE] * flat
        drag = body[B_DRAG] * flat
        fx = lift * ry + drag * rx
        fy = -lift * rx + drag * ry
        # Damps a board that bobs; it is zero in steady towing, where r_z is 0.
        fz = body[B_DRAG] * s * rz
    else:
        drag = body[B_DRAG] * s
        lift = body[B_LIFT]
        if lift != 0.0:
            c = math.sqrt(rx * rx + ry * ry + 1e-12) / s
            if c < 0.5:
                g_c = 4.0 * (1.0 - c)
                drag += body[B_FLAT] * s * (1.0 - c * g_c)
            else:
                g_c = 1.0 / c
            down = lift * g_c * body[B_COS]
            side = lift * g_c * body[B_SIN] * s
            fx = -down * rz * rx + side * ry
            fy = -down * rz * ry - side * rx
            fz = down * (s * s - rz * rz)
        fx += drag * rx
        fy += drag * ry
        fz += drag * rz
    weight = body[B_WET] * wetted + body[B_DRY] * (1.0 - wetted)
    buoyancy = body[B_BUOYANCY] * smooth_step(z / h)
    return wetted * fx, wetted * fy, wetted * fz + weight - buoyancy


@njit(cache=True, error_model="numpy")
def body_jacobian(
    body: NDArray[np.float64], rx: float, ry: float, rz: float, z: float, out: NDArray[np.float64]
) -> None:
    """``body_force`` with its full derivative, into ``out`` (15,): force, d force/d r by rows (9), d force/d z."""
    kind = int(body[B_KIND])
    h = body[B_HEIGHT]
    board = kind == 2
    step_at = (z + h) / h if board else (z + h) / (2.0 * h)
    wetted = smooth_step(step_at)
    d_wetted = smooth_step_slope(step_at) / (h if board else 2.0 * h)
    s = math.sqrt(rx * rx + ry * ry + rz * rz + _REST)
    drag = body[B_DRAG]
    fx = fy = fz = 0.0
    if board:
        flat = math.sqrt(rx * rx + ry * ry + _REST)
        side = body[B_LIFT] * body[B_SIDE]
        px, py = side * ry + drag * rx, -side * rx + drag * ry
        fx, fy, fz = flat * px, flat * py, drag * s * rz
        out[3] = flat * drag + px * rx / flat
        out[4] = flat * side + px * ry / flat
        out[5] = 0.0
        out[6] = -flat * side + py * rx / flat
        out[7] = flat * drag + py * ry / flat
        out[8] = 0.0
        out[9] = drag * rz * rx / s
        out[10] = drag * rz * ry / s
        out[11] = drag * (s + rz * rz / s)
    else:
        lift = body[B_LIFT]
        gain = 0.0
        if lift != 0.0:
            across = math.sqrt(rx * rx + ry * ry + 1e-12)
            c = across / s
            if c < 0.5:
                g_c = 4.0 * (1.0 - c)
                d_gc = -4.0
                drag += body[B_FLAT] * (1.0 - c * g_c)
                gain = -body[B_FLAT] * (4.0 - 8.0 * c)
            else:
                g_c = 1.0 / c
                d_gc = -g_c * g_c
            # The gradient of c = |r_h| / s.
            cx = rx / (across * s) - c * rx / (s * s)
            cy = ry / (across * s) - c * ry / (s * s)
            cz = -c * rz / (s * s)
            down, side = lift * body[B_COS], lift * body[B_SIN]
            vx = -down * rz * rx + side * s * ry
            vy = -down * rz * ry - side * s * rx
            vz = down * (s * s - rz * rz)
            fx, fy, fz = g_c * vx, g_c * vy, g_c * vz
            ax, ay = side * ry / s, -side * rx / s
            gx = d_gc * vx + gain * s * rx
            gy = d_gc * vy + gain * s * ry
            gz = d_gc * vz + gain * s * rz
            out[3] = g_c * (-down * rz + ax * rx) + gx * cx
            out[4] = g_c * (ax * ry + side * s) + gx * cy
            out[5] = g_c * (-down * rx + ax * rz) + gx * cz
            out[6] = g_c * (ay * rx - side * s) + gy * cx
            out[7] = g_c * (-down * rz + ay * ry) + gy * cy
            out[8] = g_c * (-down * ry + ay * rz) + gy * cz
            out[9] = g_c * 2.0 * down * rx + gz * cx
            out[10] = g_c * 2.0 * down * ry + gz * cy
            out[11] = gz * cz
        else:
            for i in range(3, 12):
                out[i] = 0.0
        fx += drag * s * rx
        fy += drag * s * ry
        fz += drag * s * rz
        k = drag / s
        out[3] += drag * s + k * rx * rx
        out[4] += k * rx * ry
        out[5] += k * rx * rz
        out[6] += k * ry * rx
        out[7] += drag * s + k * ry * ry
        out[8] += k * ry * rz
        out[9] += k * rz * rx
        out[10] += k * rz * ry
        out[11] += drag * s + k * rz * rz
    if wetted < 1.0:
        for i in range(3, 12):
            out[i] *= wetted
    out[12] = d_wetted * fx
    out[13] = d_wetted * fy
    out[14] = d_wetted * (fz + body[B_WET] - body[B_DRY]) - body[B_BUOYANCY] * smooth_step_slope(z / h) / h
    out[0] = wetted * fx
    out[1] = wetted * fy
    weight = body[B_WET] * wetted + body[B_DRY] * (1.0 - wetted)
    out[2] = wetted * fz + weight - body[B_BUOYANCY] * smooth_step(z / h)
