"""The 3 x 3 blocks of which Newton's method on a chain is made. Numbers stand for all lanes; blocks lie by rows."""

from __future__ import annotations

from typing import Any

from numba import njit

from sternwatch.hydro.chain.lanes import WIDTH, load_three, select, store_three
from sternwatch.hydro.chain.rows import Floats


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def kept(w: Floats, at: int, fresh: Any, all_fresh: bool, rows: Any) -> Any:
    """Keep a block at ``at`` in the lanes where it is ``fresh``. Returns what is kept there now.

    ``all_fresh``: no lane needs what was kept there before.
    """
    xx, xy, xz, yx, yy, yz, zx, zy, zz = rows
    if not all_fresh:
        a, b, c = load_three(w, at)
        xx, xy, xz = select(fresh, xx, a), select(fresh, xy, b), select(fresh, xz, c)
        a, b, c = load_three(w, at + 3 * WIDTH)
        yx, yy, yz = select(fresh, yx, a), select(fresh, yy, b), select(fresh, yz, c)
        a, b, c = load_three(w, at + 6 * WIDTH)
        zx, zy, zz = select(fresh, zx, a), select(fresh, zy, b), select(fresh, zz, c)
    store_three(w, at, xx, xy, xz)
    store_three(w, at + 3 * WIDTH, yx, yy, yz)
    store_three(w, at + 6 * WIDTH, zx, zy, zz)
    return xx, xy, xz, yx, yy, yz, zx, zy, zz


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def loaded(w: Floats, at: int) -> Any:
    """The block that is kept at ``at``."""
    xx, xy, xz = load_three(w, at)
    yx, yy, yz = load_three(w, at + 3 * WIDTH)
    zx, zy, zz = load_three(w, at + 6 * WIDTH)
    return xx, xy, xz, yx, yy, yz, zx, zy, zz


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def inverse(xx: Any, xy: Any, xz: Any, yx: Any, yy: Any, yz: Any, zx: Any, zy: Any, zz: Any) -> Any:
    """The inverse by cofactors."""
    cxx, cxy, cxz = yy * zz - yz * zy, xz * zy - xy * zz, xy * yz - xz * yy
    cyx, cyy, cyz = yz * zx - yx * zz, xx * zz - xz * zx, xz * yx - xx * yz
    czx, czy, czz = yx * zy - yy * zx, xy * zx - xx * zy, xx * yy - xy * yx
    det = 1.0 / (xx * cxx + xy * cyx + xz * czx)
    return cxx * det, cxy * det, cxz * det, cyx * det, cyy * det, cyz * det, czx * det, czy * det, czz * det


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def water_blocks(
    g: Any, c1: Any, c2: Any, kt: Any, p: Any, inv: Any, tx: Any, ty: Any, tz: Any, nx: Any, ny: Any, nz: Any
) -> Any:
    """The derivative of minus the water's force on a segment: by the flow times ``g`` (6), by where it lies (9).

    The force is c1 u_n + kt p t. ``t`` is the tangent, ``p`` the flow along it, ``n`` across it, ``inv`` one over the
    length. The first is symmetric: xx, xy, xz, yy, yz, zz. The second is by the far end less the near end.
    """
    # d force / d u = c1 1 + c2 n n^T + (2 kt - c1) t t^T
    e = 2.0 * kt - c1
    ge, gc = g * e, g * c2
    uxx = g * c1 + gc * nx * nx + ge * tx * tx
    uyy = g * c1 + gc * ny * ny + ge * ty * ty
    uzz = g * c1 + gc * nz * nz + ge * tz * tz
    uxy = gc * nx * ny + ge * tx * ty
    uxz = gc * nx * nz + ge * tx * tz
    uyz = gc * ny * nz + ge * ty * tz
    # d force / d (x_b - x_a) by the tangent = (e t n^T + (kt - c1) p (1 - t t^T) - p c2 n n^T) / l
    e = e * inv
    f1 = (kt - c1) * p * inv
    f2 = -p * c2 * inv
    ex, ey, ez = e * tx, e * ty, e * tz
    hx, hy, hz = f2 * nx, f2 * ny, f2 * nz
    ox, oy, oz = f1 * tx, f1 * ty, f1 * tz
    return (
        uxx, uxy, uxz, uyy, uyz, uzz,
        ex * nx + hx * nx - ox * tx + f1, ex * ny + hx * ny - ox * ty, ex * nz + hx * nz - ox * tz,
        ey * nx + hy * nx - oy * tx, ey * ny + hy * ny - oy * ty + f1, ey * nz + hy * nz - oy * tz,
        ez * nx + hz * nx - oz * tx, ez * ny + hz * ny - oz * ty, ez * nz + hz * nz - oz * tz + f1,
    )  # fmt: skip
