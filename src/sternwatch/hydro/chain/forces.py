"""The force of water on a metre of line and on a body, with full derivatives. Both solvers use it.

Axes: z down, surface at z = 0. ``r`` and ``u`` are velocities of the water relative to the thing [m/s]. All
functions are compiled. Those that motion calls work on numbers and on lanes. Keys in square brackets are those of
``sources.REFERENCES``.
"""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sternwatch.hydro.chain.coefficients import DISC_CD, cn, cn_and_slope, plate_cn
from sternwatch.hydro.chain.lanes import any_of, floor, larger, pick, root, select, smaller
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
def smooth_step(x: Any) -> Any:
    """0 up to 0, 1 from 1 on, 3x^2 - 2x^3 between: C1. Numbers or lanes."""
    x = smaller(larger(x, 0.0), 1.0)
    return x * x * (3.0 - 2.0 * x)


@njit(cache=True, error_model="numpy", inline="always")
def smooth_step_slope(x: Any) -> Any:
    """Derivative of ``smooth_step``."""
    x = smaller(larger(x, 0.0), 1.0)
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
    """(k, 4): the cubics of Cn by the root of Re, each by its own step from 0 to 1, at roots 1, 1 + 1/4, ... 128."""
    roots = np.arange(1.0, 128.0 + 0.5 / _PER_ROOT, 1.0 / _PER_ROOT)
    plain = getattr(cn_and_slope, "py_func", cn_and_slope)  # with NUMBA_DISABLE_JIT there is nothing compiled
    both = np.array([plain(max(r * r, 1.0 + 1e-12)) for r in roots])  # at 1 the slope above it
    value, slope = both[:, 0], both[:, 1] * 2.0 * roots / _PER_ROOT
    rise = np.diff(value)
    bend = slope[:-1] + slope[1:] - 2.0 * rise
    return np.ascontiguousarray(np.stack([value[:-1], slope[:-1], rise - slope[:-1] - bend, bend], axis=1))


# The correlation's powers would take a third of the kernel's time. Cubics between these values are within 6e-4 of
# it (relative) up to Re 4, 3e-5 beyond: a thousandth of its own error.
_PER_ROOT: Final = 4.0
_CN_TABLE: Final = _cn_table()
_CN_HELD: Final = float(_CN_TABLE[0, 0])
_CN_LAST: Final = float(_CN_TABLE.shape[0])
_CN_POWER: Final = 6.8 * 128.0**-0.03


@njit(cache=True, error_model="numpy", inline="always")
def normal_law(normal: Any, given: Any, re: Any, q: Any) -> Any:
    """(c1, c2) at cross-flow speed q: the normal drag of a metre is c1 u_n, its derivative c1 1 + c2 u_n u_n^T.

    ``normal``, ``given`` and ``re`` are the line's numbers L_NORMAL, L_CN and L_RE. Numbers or lanes.
    """
    c = given + 0.0
    more = 0.0 * q  # Re dCn/dRe
    tabled = given < 0.0
    if any_of(tabled):
        r = root(re * q)
        at = (r - 1.0) * _PER_ROOT
        inside = smaller(larger(at, 0.0), _CN_LAST)
        k = smaller(floor(inside), _CN_LAST - 1.0)
        t = inside - k
        m, b, a = pick(_CN_TABLE, k, 1), pick(_CN_TABLE, k, 2), pick(_CN_TABLE, k, 3)
        c = select(tabled, pick(_CN_TABLE, k, 0) + t * (m + t * (b + t * a)), c)
        slope = 0.5 * r * _PER_ROOT * (m + t * (2.0 * b + 3.0 * t * a))
        more = select(tabled & (at > 0.0), slope, more)
        beyond = tabled & (at >= _CN_LAST)
        if any_of(beyond):
            # The power's part is a thousandth of the whole there: as Re^(-7/8) it is within 1e-5.
            number = re * q
            power, half, square = _CN_POWER * root(root(r)) / number, 1.96 / r, 3.64e-7 * number * number
            last = 0.0004 * number / (1.0 + square)
            c = select(beyond, 1.18 + power + half - last, c)
            more = select(beyond, -0.875 * power - 0.5 * half - last * (1.0 - square) / (1.0 + square), more)
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
def body_jacobian(kind: int, lifts: bool, body: Any, rx: Any, ry: Any, rz: Any, z: Any) -> Any:
    """``body_force`` with its full derivative: force (3), d force/d r by rows (9), d force/d z (3).

    ``body`` are the body's numbers from B_WET on, numbers or lanes of one ``kind``, which lift or do not.
    """
    wet, dry, _mass, drag, flat, lift, cos, sin, side, buoyancy, h = body
    board = kind == 2
    over = h if board else 2.0 * h
    wetted = smooth_step((z + h) / over)
    d_wetted = smooth_step_slope((z + h) / over) / over
    s = root(rx * rx + ry * ry + rz * rz + _REST)
    if board:
        level = root(rx * rx + ry * ry + _REST)
        side = lift * side
        px, py = side * ry + drag * rx, drag * ry - side * rx
        fx, fy, fz = level * px, level * py, drag * s * rz
        xx, xy, xz = level * drag + px * rx / level, level * side + px * ry / level, 0.0 * s
        yx, yy, yz = py * rx / level - level * side, level * drag + py * ry / level, 0.0 * s
        zx, zy, zz = drag * rz * rx / s, drag * rz * ry / s, drag * (s + rz * rz / s)
    else:
        fx = fy = fz = xx = xy = xz = yx = yy = yz = zx = zy = zz = 0.0 * s
        if lifts:
            across = root(rx * rx + ry * ry + 1e-12)
            c = across / s
            steep = c < 0.5
            g_c = select(steep, 4.0 * (1.0 - c), 1.0 / c)
            d_gc = select(steep, -4.0, -g_c * g_c)
            drag = drag + select(steep, flat * (1.0 - c * g_c), 0.0)
            gain = select(steep, flat * (8.0 * c - 4.0), 0.0)
            # The gradient of c = |r_h| / s.
            cx = rx / (across * s) - c * rx / (s * s)
            cy = ry / (across * s) - c * ry / (s * s)
            cz = -c * rz / (s * s)
            down, side = lift * cos, lift * sin
            vx = side * s * ry - down * rz * rx
            vy = -down * rz * ry - side * s * rx
            vz = down * (s * s - rz * rz)
            fx, fy, fz = g_c * vx, g_c * vy, g_c * vz
            ax, ay = side * ry / s, -side * rx / s
            gx = d_gc * vx + gain * s * rx
            gy = d_gc * vy + gain * s * ry
            gz = d_gc * vz + gain * s * rz
            xx = g_c * (ax * rx - down * rz) + gx * cx
            xy = g_c * (ax * ry + side * s) + gx * cy
            xz = g_c * (ax * rz - down * rx) + gx * cz
            yx = g_c * (ay * rx - side * s) + gy * cx
            yy = g_c * (ay * ry - down * rz) + gy * cy
            yz = g_c * (ay * rz - down * ry) + gy * cz
            zx = g_c * 2.0 * down * rx + gz * cx
            zy = g_c * 2.0 * down * ry + gz * cy
            zz = gz * cz
        straight = drag * s
        fx, fy, fz = fx + straight * rx, fy + straight * ry, fz + straight * rz
        k = drag / s
        xx, xy, xz = xx + straight + k * rx * rx, xy + k * rx * ry, xz + k * rx * rz
        yx, yy, yz = yx + k * ry * rx, yy + straight + k * ry * ry, yz + k * ry * rz
        zx, zy, zz = zx + k * rz * rx, zy + k * rz * ry, zz + straight + k * rz * rz
    return (
        wetted * fx, wetted * fy,
        wetted * fz + wet * wetted + dry * (1.0 - wetted) - buoyancy * smooth_step(z / h),
        wetted * xx, wetted * xy, wetted * xz, wetted * yx, wetted * yy, wetted * yz,
        wetted * zx, wetted * zy, wetted * zz,
        d_wetted * fx, d_wetted * fy,
        d_wetted * (fz + wet - dry) - buoyancy * smooth_step_slope(z / h) / h,
    )  # fmt: skip
