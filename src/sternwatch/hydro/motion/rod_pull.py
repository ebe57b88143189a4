"""The pull of a downrigger rod's line on its ball, while chains move."""

from __future__ import annotations

from typing import Any

from numba import njit

from sternwatch.hydro.chain.lanes import WIDTH, load, load_three, root
from sternwatch.hydro.chain.rod_line import curved
from sternwatch.hydro.chain.rows import R_PULL, ROD_FIELDS, Floats
from sternwatch.hydro.motion.batch import BV, Shape, X, current


@njit(cache=True, error_model="numpy", inline="always")
def _rod_flow(shape: Shape, w: Floats, depth: Any, bx: Any, by: Any, bz: Any, a0: Any) -> Any:
    """The mean relative flow of a rod line, from the velocities of its ball and of the tip."""
    near_x, near_y, _nx, _ny = current(shape, w, depth)
    half_x, half_y, _hx, _hy = current(shape, w, 0.5 * depth)
    x, y, z = load_three(w, shape.nodes_at + X)
    tx, ty, tz = load_three(w, shape.nodes_at + BV)
    tx, ty, tz = a0 * x + tx, a0 * y + ty, a0 * z + tz
    third = 1.0 / 3.0
    return (
        third * (near_x + 2.0 * half_x - 2.0 * bx - tx),
        third * (near_y + 2.0 * half_y - 2.0 * by - ty),
        third * (-2.0 * bz - tz),
    )


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def rod_pull(shape: Shape, w: Floats, x: Any, y: Any, z: Any, vx: Any, vy: Any, vz: Any, a0: Any) -> Any:
    """The force on a ball at a place with a velocity, and minus its derivative by the place: x, y, z, xx, xy, xz, yy,
    yz, zz. The derivative is as if the line were straight; the iterations do the rest."""
    tip_x, tip_y, tip_z = load_three(w, shape.rod_at + ROD_FIELDS * WIDTH)
    rod = (
        load(w, shape.rod_at), load(w, shape.rod_at + WIDTH),
        load(w, shape.rod_at + 2 * WIDTH), load(w, shape.rod_at + 3 * WIDTH),
    )  # fmt: skip
    made = curved(rod, (x, y, z), (tip_x, tip_y, tip_z), _rod_flow(shape, w, z, vx, vy, vz, a0))
    pull = rod[R_PULL]
    fx, fy, fz = made[0], made[1], made[2]
    dx, dy, dz = tip_x - x, tip_y - y, tip_z - z
    stiff = pull / (root(dx * dx + dy * dy + dz * dz) + 1e-3)
    return (
        pull * fx, pull * fy, pull * fz,
        stiff * (1.0 - fx * fx), -stiff * fx * fy, -stiff * fx * fz,
        stiff * (1.0 - fy * fy), -stiff * fy * fz, stiff * (1.0 - fz * fz),
    )  # fmt: skip
