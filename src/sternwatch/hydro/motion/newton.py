"""One implicit step of a batch of chains: Newton's method on their block tridiagonal systems.

The unknowns are the positions of the nodes and the tensions of the segments. A segment's strain is

    e(T) = T / EA - ETA / T

so a taut segment is elastic, and a slack one carries almost nothing and never compression, with a smooth change.
Tensions are eliminated segment by segment, which leaves 3 x 3 blocks. They are separate unknowns so that the
rotation of a stiff line causes no huge false tensions between iterations [Magisano 2017].

Where a move was small, the matrix has hardly changed: the next iteration computes the forces alone and takes the
factors as they are. Two iterations are the rule, and the second costs half as much so. It is factored again where
a segment hangs slack, where moves do not shrink quickly, and with a rod line, whose own derivative is a rough one.

The chains of a batch have one shape: nodes, bodies and rod line at the same places. Each has a lane, and every number
below stands for all lanes (``hydro.chain.lanes``). Where lanes go different ways a mask selects, so a chain's numbers
are the same to the last bit whatever the others do.
"""

from __future__ import annotations

import math
from typing import Any, Final, NamedTuple

from numba import njit

from sternwatch.hydro.chain.forces import (
    B_KIND,
    B_LIFT,
    B_MASS,
    B_WET,
    BODY_FIELDS,
    L_CN,
    L_DRY,
    L_MASS,
    L_NORMAL,
    L_RE,
    L_STIFF,
    L_TANGENT,
    L_WET,
    body_jacobian,
    normal_law,
)
from sternwatch.hydro.chain.lanes import (
    WIDTH,
    any_of,
    lanes,
    larger,
    load,
    load_three,
    root,
    select,
    size_of,
    smaller,
    store,
    store_three,
)
from sternwatch.hydro.chain.rows import Floats
from sternwatch.hydro.motion.batch import (
    BA,
    BV,
    FACTOR,
    LINE,
    MOVE,
    PULL,
    REST,
    SEG,
    STRIDE,
    Shape,
    X,
    current,
)
from sternwatch.hydro.motion.blocks import inverse, kept, loaded, water_blocks
from sternwatch.hydro.motion.rod_pull import rod_pull

ETA_N: Final = 1e-5  # strain -1e-5 at 1 N, -1e-3 at 0.01 N: negligible
SOFT_N: Final = 1.0  # below it a tension must also match the present strain
LEVEL_M: Final = 0.02  # a segment in the surface counts as this steep
MAX_MOVE_M: Final = 3.0  # per iteration
SMALL: Final = 30.0  # after a move of less than so many tolerances the factors are as good as new ones
SHRINKS: Final = 0.1  # with old factors a move must be less than this share of the last
FAILED: Final = -1


class Effort(NamedTuple):
    """When to stop: the most iterations, and the largest move of a node that needs no further one [m]."""

    iterations: int
    tolerance_m: float


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def newton(a0: Any, going: Any, shape: Shape, effort: Effort, w: Floats) -> Any:
    """Solve one step of the lanes in the mask ``going``. Returns the iterations of each, or FAILED.

    X and PULL hold the guess on entry (node 0 at the tip) and the solution on return; the other lanes' stay.
    """
    n, start = shape.segments, shape.nodes_at
    merit_before = lanes(math.inf)
    size_before = lanes(math.inf)
    backed = lanes(0.0)
    used = lanes(FAILED)
    per_a0 = 1.0 / a0
    fresh = going
    for iteration in range(effort.iterations):
        factors, all_fresh = any_of(fresh), not any_of(going & ~fresh)
        merit = lanes(0.0)
        # The node at the segment's near end: its own block, the elimination's part so far, its force.
        mxx = mxy = mxz = myx = myy = myz = mzx = mzy = mzz = lanes(0.0)
        rx = ry = rz = lanes(0.0)
        # The same with the elimination of the nodes before.
        exx = exy = exz = eyx = eyy = eyz = ezx = ezy = ezz = lanes(0.0)
        qx = qy = qz = lanes(0.0)
        xb, yb, zb = load_three(w, start + X)
        vx, vy, vz = load_three(w, start + BV)
        vbx, vby, vbz = a0 * xb + vx, a0 * yb + vy, a0 * zb + vz
        for k in range(n):
            b = k + 1
            at = start + k * STRIDE
            far = at + STRIDE
            xa, ya, za = xb, yb, zb
            vax, vay, vaz = vbx, vby, vbz
            xb, yb, zb = load_three(w, far + X)
            vx, vy, vz = load_three(w, far + BV)
            vbx, vby, vbz = a0 * xb + vx, a0 * yb + vy, a0 * zb + vz
            dx, dy, dz = xb - xa, yb - ya, zb - za
            length = root(dx * dx + dy * dy + dz * dz + 1e-12)
            inv = 1.0 / length
            tx, ty, tz = dx * inv, dy * inv, dz * inv
            l0 = load(w, at + REST)
            now = load(w, at + PULL)
            soft = ETA_N / now
            compliance = 1.0 / load(w, at + LINE + L_STIFF * WIDTH)
            stiff = 1.0 / (l0 * (compliance + soft / now))
            gap = length - l0 * (1.0 + now * compliance - soft)
            # The pull as it will be if nothing moves; how it grows is known as factored.
            hx, hy, hz = load_three(w, at + SEG)
            hx, hy, hz = select(fresh, tx, hx), select(fresh, ty, hy), select(fresh, tz, hz)
            hard = select(fresh, stiff, load(w, at + SEG + 3 * WIDTH))
            store_three(w, at + SEG, hx, hy, hz)
            store(w, at + SEG + 3 * WIDTH, hard)
            store(w, at + SEG + 4 * WIDTH, gap)
            more = hard * gap
            px, py, pz = now * tx + more * hx, now * ty + more * hy, now * tz + more * hz
            merit = merit + 100.0 * gap * gap
            half_mass = 0.5 * l0 * load(w, at + LINE + L_MASS * WIDTH)
            inertia = half_mass * a0 * a0
            mid = 0.5 * (za + zb)
            steep = size_of(dz)
            span = larger(steep, LEVEL_M)
            dry = l0 * load(w, at + LINE + L_DRY * WIDTH)
            wx, wy, sx, sy = current(shape, w, mid)
            ux, uy, uz = wx - 0.5 * (vax + vbx), wy - 0.5 * (vay + vby), -0.5 * (vaz + vbz)
            p = ux * tx + uy * ty + uz * tz
            nx, ny, nz = ux - p * tx, uy - p * ty, uz - p * tz
            q = root(nx * nx + ny * ny + nz * nz + 1e-12)
            normal, given = load(w, at + LINE + L_NORMAL * WIDTH), load(w, at + LINE + L_CN * WIDTH)
            c1, c2 = normal_law(normal, given, load(w, at + LINE + L_RE * WIDTH), q)
            kt = l0 * load(w, at + LINE + L_TANGENT * WIDTH) * size_of(p)
            c1, c2 = l0 * c1, l0 * c2
            fx, fy, fz = c1 * nx + kt * p * tx, c1 * ny + kt * p * ty, c1 * nz + kt * p * tz
            fz = fz + l0 * load(w, at + LINE + L_WET * WIDTH)
            # The water acts on both ends alike, the air on none. A segment that crosses the surface is wetted in
            # part, and that part acts at its own centroid, so the ends' shares differ.
            deep, high = mid >= 0.5 * span, mid <= -0.5 * span
            sa = select(high, 0.0, lanes(0.5))
            sb = sa
            ha = select(high, 0.5, lanes(0.0))  # of the weight in air
            hb = ha
            crossing = ~(deep | high)
            crosses = any_of(crossing)
            if crosses:
                wet = 0.5 + mid / span
                lean = smaller(larger(dz / LEVEL_M, -1.0), 1.0)
                bend = 0.5 * lean * wet * (1.0 - wet)
                sa, sb = select(crossing, 0.5 * wet - bend, sa), select(crossing, 0.5 * wet + bend, sb)
                ha = select(crossing, 0.5 * (1.0 - wet) + bend, ha)
                hb = select(crossing, 0.5 * (1.0 - wet) - bend, hb)
            fax, fay, faz = sa * fx, sa * fy, sa * fz + ha * dry
            fbx, fby, fbz = sb * fx, sb * fy, sb * fz + hb * dry
            # The blocks; ab and ba are minus the off-diagonal ones.
            baxx = baxy = baxz = bayx = bayy = bayz = bazx = bazy = bazz = lanes(0.0)
            bbxx = bbxy = bbxz = bbyx = bbyy = bbyz = bbzx = bbzy = bbzz = lanes(0.0)
            cxx = cxy = cxz = cyx = cyy = cyz = czx = czy = czz = lanes(0.0)
            to = at + FACTOR
            if factors:
                # stiff t t^T + T/l (1 - t t^T)
                geo = now * inv
                axial = stiff - geo
                kxx, kyy, kzz = geo + axial * tx * tx, geo + axial * ty * ty, geo + axial * tz * tz
                kxy, kxz, kyz = axial * tx * ty, axial * tx * tz, axial * ty * tz
                # (-d u / d x = a0/2 for either end.)
                uxx, uxy, uxz, uyy, uyz, uzz, dxx, dxy, dxz, dyx, dyy, dyz, dzx, dzy, dzz = water_blocks(
                    0.5 * a0, c1, c2, kt, p, inv, tx, ty, tz, nx, ny, nz
                )
                # Of minus the force, by the near end (a) and the far end (b).
                oxx, oxy, oxz = uxx + dxx, uxy + dxy, uxz + dxz
                oyx, oyy, oyz = uxy + dyx, uyy + dyy, uyz + dyz
                ozx, ozy, ozz = uxz + dzx, uyz + dzy, uzz + dzz
                ixx, ixy, ixz = uxx - dxx, uxy - dxy, uxz - dxz
                iyx, iyy, iyz = uxy - dyx, uyy - dyy, uyz - dyz
                izx, izy, izz = uxz - dzx, uyz - dzy, uzz - dzz
                if shape.depths.shape[0] > 1:
                    # The water's velocity changes with the depth of either end.
                    gx = (uxx * sx + uxy * sy) * per_a0
                    gy = (uxy * sx + uyy * sy) * per_a0
                    gz = (uxz * sx + uyz * sy) * per_a0
                    oxz, oyz, ozz = oxz - gx, oyz - gy, ozz - gz
                    ixz, iyz, izz = ixz - gx, iyz - gy, izz - gz
                aaxx, aaxy, aaxz = kxx + sa * oxx, kxy + sa * oxy, kxz + sa * oxz
                aayx, aayy, aayz = kxy + sa * oyx, kyy + sa * oyy, kyz + sa * oyz
                aazx, aazy, aazz = kxz + sa * ozx, kyz + sa * ozy, kzz + sa * ozz
                abxx, abxy, abxz = kxx - sa * ixx, kxy - sa * ixy, kxz - sa * ixz
                abyx, abyy, abyz = kxy - sa * iyx, kyy - sa * iyy, kyz - sa * iyz
                abzx, abzy, abzz = kxz - sa * izx, kyz - sa * izy, kzz - sa * izz
                baxx, baxy, baxz = kxx - sb * oxx, kxy - sb * oxy, kxz - sb * oxz
                bayx, bayy, bayz = kxy - sb * oyx, kyy - sb * oyy, kyz - sb * oyz
                bazx, bazy, bazz = kxz - sb * ozx, kyz - sb * ozy, kzz - sb * ozz
                bbxx, bbxy, bbxz = kxx + sb * ixx, kxy + sb * ixy, kxz + sb * ixz
                bbyx, bbyy, bbyz = kxy + sb * iyx, kyy + sb * iyy, kyz + sb * iyz
                bbzx, bbzy, bbzz = kxz + sb * izx, kyz + sb * izy, kzz + sb * izz
                if crosses:
                    wet = 0.5 + mid / span
                    lean = smaller(larger(dz / LEVEL_M, -1.0), 1.0)
                    inclined = steep > LEVEL_M
                    ca = select(crossing, select(inclined, zb / (dz * steep), 0.5 / LEVEL_M), 0.0)
                    cb = select(crossing, select(inclined, -za / (dz * steep), 0.5 / LEVEL_M), 0.0)
                    db = 0.5 + 0.5 * lean * (1.0 - 2.0 * wet)
                    da = 1.0 - db
                    gz = fz - dry
                    aaxz, aayz, aazz = aaxz - da * fx * ca, aayz - da * fy * ca, aazz - da * gz * ca
                    abxz, abyz, abzz = abxz + da * fx * cb, abyz + da * fy * cb, abzz + da * gz * cb
                    baxz, bayz, bazz = baxz + db * fx * ca, bayz + db * fy * ca, bazz + db * gz * ca
                    bbxz, bbyz, bbzz = bbxz - db * fx * cb, bbyz - db * fy * cb, bbzz - db * gz * cb

                if k > 0:
                    aaxx, aaxy, aaxz = aaxx + mxx + exx + inertia, aaxy + mxy + exy, aaxz + mxz + exz
                    aayx, aayy, aayz = aayx + myx + eyx, aayy + myy + eyy + inertia, aayz + myz + eyz
                    aazx, aazy, aazz = aazx + mzx + ezx, aazy + mzy + ezy, aazz + mzz + ezz + inertia
                    cxx, cxy, cxz, cyx, cyy, cyz, czx, czy, czz = inverse(
                        aaxx, aaxy, aaxz, aayx, aayy, aayz, aazx, aazy, aazz
                    )
                    gxx = cxx * abxx + cxy * abyx + cxz * abzx
                    gxy = cxx * abxy + cxy * abyy + cxz * abzy
                    gxz = cxx * abxz + cxy * abyz + cxz * abzz
                    gyx = cyx * abxx + cyy * abyx + cyz * abzx
                    gyy = cyx * abxy + cyy * abyy + cyz * abzy
                    gyz = cyx * abxz + cyy * abyz + cyz * abzz
                    gzx = czx * abxx + czy * abyx + czz * abzx
                    gzy = czx * abxy + czy * abyy + czz * abzy
                    gzz = czx * abxz + czy * abyz + czz * abzz
                    gxx, gxy, gxz, gyx, gyy, gyz, gzx, gzy, gzz = kept(
                        w, to, fresh, all_fresh, (gxx, gxy, gxz, gyx, gyy, gyz, gzx, gzy, gzz)
                    )
                    cxx, cxy, cxz, cyx, cyy, cyz, czx, czy, czz = kept(
                        w, to + 9 * WIDTH, fresh, all_fresh, (cxx, cxy, cxz, cyx, cyy, cyz, czx, czy, czz)
                    )
                    baxx, baxy, baxz, bayx, bayy, bayz, bazx, bazy, bazz = kept(
                        w, to + 18 * WIDTH, fresh, all_fresh, (baxx, baxy, baxz, bayx, bayy, bayz, bazx, bazy, bazz)
                    )
                    exx = -(baxx * gxx + baxy * gyx + baxz * gzx)
                    exy = -(baxx * gxy + baxy * gyy + baxz * gzy)
                    exz = -(baxx * gxz + baxy * gyz + baxz * gzz)
                    eyx = -(bayx * gxx + bayy * gyx + bayz * gzx)
                    eyy = -(bayx * gxy + bayy * gyy + bayz * gzy)
                    eyz = -(bayx * gxz + bayy * gyz + bayz * gzz)
                    ezx = -(bazx * gxx + bazy * gyx + bazz * gzx)
                    ezy = -(bazx * gxy + bazy * gyy + bazz * gzy)
                    ezz = -(bazx * gxz + bazy * gyz + bazz * gzz)
            elif k > 0:
                cxx, cxy, cxz, cyx, cyy, cyz, czx, czy, czz = loaded(w, to + 9 * WIDTH)
                baxx, baxy, baxz, bayx, bayy, bayz, bazx, bazy, bazz = loaded(w, to + 18 * WIDTH)

            if k > 0:
                # The near end is complete.
                fax = fax + px + rx - half_mass * (a0 * vax + load(w, at + BA))
                fay = fay + py + ry - half_mass * (a0 * vay + load(w, at + BA + WIDTH))
                faz = faz + pz + rz - half_mass * (a0 * vaz + load(w, at + BA + 2 * WIDTH))
                merit = merit + fax * fax + fay * fay + faz * faz
                fax, fay, faz = fax + qx, fay + qy, faz + qz
                hx = cxx * fax + cxy * fay + cxz * faz
                hy = cyx * fax + cyy * fay + cyz * faz
                hz = czx * fax + czy * fay + czz * faz
                store_three(w, to + 27 * WIDTH, hx, hy, hz)
                qx = baxx * hx + baxy * hy + baxz * hz
                qy = bayx * hx + bayy * hy + bayz * hz
                qz = bazx * hx + bazy * hy + bazz * hz

            mxx, mxy, mxz = bbxx + inertia, bbxy, bbxz
            myx, myy, myz = bbyx, bbyy + inertia, bbyz
            mzx, mzy, mzz = bbzx, bbzy, bbzz + inertia
            bax, bay, baz = load_three(w, far + BA)
            bax, bay, baz = a0 * vbx + bax, a0 * vby + bay, a0 * vbz + baz
            rx = fbx - px - half_mass * bax
            ry = fby - py - half_mass * bay
            rz = fbz - pz - half_mass * baz
            item = shape.node_body[b]
            if item >= 0:
                wx, wy, sx, sy = current(shape, w, zb)
                to = shape.bodies_at + item * BODY_FIELDS * WIDTH + WIDTH
                numbers = (
                    load(w, to), load(w, to + WIDTH), load(w, to + 2 * WIDTH), load(w, to + 3 * WIDTH),
                    load(w, to + 4 * WIDTH), load(w, to + 5 * WIDTH), load(w, to + 6 * WIDTH),
                    load(w, to + 7 * WIDTH), load(w, to + 8 * WIDTH), load(w, to + 9 * WIDTH),
                    load(w, to + 10 * WIDTH),
                )  # fmt: skip
                jx, jy, jz, jxx, jxy, jxz, jyx, jyy, jyz, jzx, jzy, jzz, zx, zy, zz = body_jacobian(
                    int(shape.body[item, B_KIND]),
                    shape.body[item, B_LIFT] != 0.0,
                    numbers,
                    wx - vbx,
                    wy - vby,
                    -vbz,
                    zb,
                )
                mass = numbers[B_MASS - B_WET]
                rx, ry, rz = rx + jx - mass * bax, ry + jy - mass * bay, rz + jz - mass * baz
                mass = mass * a0 * a0
                mxx, mxy, mxz = mxx + a0 * jxx + mass, mxy + a0 * jxy, mxz + a0 * jxz - zx
                myx, myy, myz = myx + a0 * jyx, myy + a0 * jyy + mass, myz + a0 * jyz - zy
                mzx, mzy, mzz = mzx + a0 * jzx, mzy + a0 * jzy, mzz + a0 * jzz - zz + mass
                if shape.depths.shape[0] > 1:
                    mxz = mxz - jxx * sx - jxy * sy
                    myz = myz - jyx * sx - jyy * sy
                    mzz = mzz - jzx * sx - jzy * sy
            if b == shape.rod_node:
                fx, fy, fz, dxx, dxy, dxz, dyy, dyz, dzz = rod_pull(shape, w, xb, yb, zb, vbx, vby, vbz, a0)
                rx, ry, rz = rx + fx, ry + fy, rz + fz
                mxx, mxy, mxz = mxx + dxx, mxy + dxy, mxz + dxz
                myx, myy, myz = myx + dxy, myy + dyy, myz + dyz
                mzx, mzy, mzz = mzx + dxz, mzy + dyz, mzz + dzz

        merit = merit + rx * rx + ry * ry + rz * rz
        going = going & (merit < 1e30)
        back = going & (merit > 4.0 * merit_before) & (merit > 1e-6) & (backed < 4.0)
        if any_of(back):
            # These lanes' step went too far: go half way back.
            backed = select(back, backed + 1.0, backed)
            for k in range(n):
                at = start + k * STRIDE
                far = at + STRIDE
                x, y, z = load_three(w, far + X)
                dx, dy, dz = load_three(w, far + MOVE)
                dx, dy, dz = select(back, 0.5 * dx, dx), select(back, 0.5 * dy, dy), select(back, 0.5 * dz, dz)
                store_three(w, far + MOVE, dx, dy, dz)
                store_three(w, far + X, select(back, x - dx, x), select(back, y - dy, y), select(back, z - dz, z))
                now = load(w, at + PULL)
                store(w, at + PULL, select(back, 0.5 * (now + load(w, at + SEG + 5 * WIDTH)), now))
        on = going & ~back
        fresh = fresh | back
        if not any_of(on):
            if not any_of(going):
                return used
            continue
        merit_before = select(on, merit, merit_before)
        backed = select(on, 0.0, backed)

        # The free end, then inward.
        mxx, mxy, mxz = mxx + exx, mxy + exy, mxz + exz
        myx, myy, myz = myx + eyx, myy + eyy, myz + eyz
        mzx, mzy, mzz = mzx + ezx, mzy + ezy, mzz + ezz
        rx, ry, rz = rx + qx, ry + qy, rz + qz
        to = start + n * STRIDE + FACTOR + 9 * WIDTH
        if factors:
            cxx, cxy, cxz, cyx, cyy, cyz, czx, czy, czz = kept(
                w, to, fresh, all_fresh, inverse(mxx, mxy, mxz, myx, myy, myz, mzx, mzy, mzz)
            )
        else:
            cxx, cxy, cxz, cyx, cyy, cyz, czx, czy, czz = loaded(w, to)
        dx = cxx * rx + cxy * ry + cxz * rz
        dy = cyx * rx + cyy * ry + cyz * rz
        dz = czx * rx + czy * ry + czz * rz
        size = larger(larger(size_of(dx), size_of(dy)), size_of(dz))
        at = start + n * STRIDE
        x, y, z = load_three(w, at + MOVE)
        store_three(w, at + MOVE, select(on, dx, x), select(on, dy, y), select(on, dz, z))
        for k in range(n - 1, 0, -1):
            at = start + k * STRIDE
            to = at + FACTOR
            gx, gy, gz = load_three(w, to)
            hx, hy, hz = load_three(w, to + 3 * WIDTH)
            ix, iy, iz = load_three(w, to + 6 * WIDTH)
            ex, ey, ez = load_three(w, to + 27 * WIDTH)
            ex = ex + gx * dx + gy * dy + gz * dz
            ey = ey + hx * dx + hy * dy + hz * dz
            ez = ez + ix * dx + iy * dy + iz * dz
            dx, dy, dz = ex, ey, ez
            size = larger(larger(size_of(dx), size_of(dy)), larger(size_of(dz), size))
            x, y, z = load_three(w, at + MOVE)
            store_three(w, at + MOVE, select(on, dx, x), select(on, dy, y), select(on, dz, z))
        on = on & (size < 1e6)
        going = going & (on | back)
        bent = loose = size > MAX_MOVE_M
        scale = MAX_MOVE_M / larger(size, MAX_MOVE_M)
        dx = dy = dz = lanes(0.0)
        xa, ya, za = load_three(w, start + X)
        for k in range(n):
            at = start + k * STRIDE
            far = at + STRIDE
            mx, my, mz = load_three(w, far + MOVE)
            ex, ey, ez = scale * mx, scale * my, scale * mz
            store_three(w, far + MOVE, select(on, ex, mx), select(on, ey, my), select(on, ez, mz))
            x, y, z = load_three(w, far + X)
            x, y, z = select(on, x + ex, x), select(on, y + ey, y), select(on, z + ez, z)
            store_three(w, far + X, x, y, z)
            now = load(w, at + PULL)
            store(w, at + SEG + 5 * WIDTH, select(on, now, load(w, at + SEG + 5 * WIDTH)))
            tx, ty, tz = load_three(w, at + SEG)
            grown = tx * (ex - dx) + ty * (ey - dy) + tz * (ez - dz)
            new = now + load(w, at + SEG + 3 * WIDTH) * (grown + scale * load(w, at + SEG + 4 * WIDTH))
            slack = new < SOFT_N
            if any_of(slack):
                fx, fy, fz = x - xa, y - ya, z - za
                strain = root(fx * fx + fy * fy + fz * fz) / load(w, at + REST) - 1.0
                ea = load(w, at + LINE + L_STIFF * WIDTH)
                # The root of e(T) = strain, in a form without cancellation for either sign.
                far_off = root(strain * strain + 4.0 * ETA_N / ea)
                law = select(
                    strain > 0.0, 0.5 * ea * (strain + far_off), 2.0 * ETA_N / (far_off - smaller(strain, 0.0))
                )
                law = smaller(law, SOFT_N)
                held = slack & (new < law)
                bent = bent | (held & (law - new > 0.02))
                loose = loose | (slack & (strain < 0.0))
                new = select(held, law, new)
            store(w, at + PULL, select(on, new, now))
            dx, dy, dz = ex, ey, ez
            xa, ya, za = x, y, z
        contraction = select(size < size_before, size / size_before, 1.0)
        size_before = select(on, size, size_before)
        # The next move would be about the square of the last; with old factors the last itself counts as the error.
        left = select(fresh & (iteration > 0), size * contraction, size)
        worn = ~fresh & (contraction > SHRINKS)
        done = on & (left < effort.tolerance_m) & ~(bent | worn)
        used = select(done, iteration + 1.0, used)
        worn = worn | loose | (size > SMALL * effort.tolerance_m) | (shape.rod_node >= 0)
        fresh = (fresh & ~on) | (on & worn)
        going = going & ~done
        if not any_of(going):
            return used
    return used
