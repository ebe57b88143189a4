"""One implicit step of one chain: Newton's method on its block tridiagonal system.

The unknowns are the positions of the nodes and the tensions of the segments. A segment's strain is

    e(T) = T / EA - ETA / T

so a taut segment is elastic, and a slack one carries almost nothing and never compression, with a smooth change.
Tensions are eliminated segment by segment, which leaves 3 x 3 blocks. They are separate unknowns so that the
rotation of a stiff line causes no huge false tensions between iterations [Magisano 2017].
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from numba import njit

from sternwatch.hydro.chain.forces import (
    B_MASS,
    L_CN,
    L_DRY,
    L_MASS,
    L_NORMAL,
    L_RE,
    L_STIFF,
    L_TANGENT,
    L_WET,
    body_jacobian,
    current_at,
    normal_law,
)
from sternwatch.hydro.chain.rod_line import rod_curve, rod_flow
from sternwatch.hydro.chain.rows import R_PULL, Floats, Ints

ETA_N: Final = 1e-5  # strain -1e-5 at 1 N, -1e-3 at 0.01 N: negligible
SOFT_N: Final = 1.0  # below it a tension must also match the present strain
LEVEL_M: Final = 0.02  # a segment in the surface counts as this steep
MAX_MOVE_M: Final = 3.0  # per iteration
FAILED: Final = -1


class OneRow(NamedTuple):
    """One chain's numbers, as in ``Rows``; ``rest`` is the state's."""

    rest: Floats
    line: Floats
    body: Floats
    node_body: Ints
    segments: int
    rod_node: int
    rod: Floats


class Water(NamedTuple):
    """The current at one chain: depths (k,), [north, east] velocities (k, 2)."""

    depths: Floats
    current: Floats


class Effort(NamedTuple):
    """When to stop: the most iterations, and the largest move of a node that needs no further one [m]."""

    iterations: int
    tolerance_m: float


class Work(NamedTuple):
    """Scratch memory of the compiled loops."""

    x: Floats  # (N, 3) guess and solution
    bv: Floats  # (N, 3)
    ba: Floats  # (N, 3)
    tension: Floats  # (N,)
    tip: Floats  # (3,)
    rod_tip: Floats  # (3,)
    factor: Floats  # (N, 12) M^-1 U by rows, and M^-1 r
    seg: Floats  # (N, 7) tangent, stiffness, gap, tension, and tension before the last move
    move: Floats  # (N, 3)
    jac: Floats  # (15,)


@njit(cache=True, error_model="numpy", fastmath={"contract"})
def newton(a0: float, one: OneRow, water: Water, effort: Effort, work: Work) -> int:
    """Solve one step. Returns the iterations used, or FAILED.

    ``work.x`` and ``work.tension`` hold the guess on entry (node 0 at the tip) and the solution on return.
    Velocity is a0 x + bv, acceleration a0 velocity + ba.
    """
    x, tension, bv, ba, rod_tip = work.x, work.tension, work.bv, work.ba, work.rod_tip
    rest, line, body, node_body, n = one.rest, one.line, one.body, one.node_body, one.segments
    rod_node, rod = one.rod_node, one.rod
    depths, current = water.depths, water.current
    factor, seg, move, jac = work.factor, work.seg, work.move, work.jac
    merit_before = math.inf
    size_before = math.inf
    backed = 0
    for iteration in range(effort.iterations):
        merit = 0.0
        # The node at the segment's near end: its own block, the elimination's part so far, its force.
        mxx = mxy = mxz = myx = myy = myz = mzx = mzy = mzz = 0.0
        rx = ry = rz = 0.0
        # The same with the elimination of the nodes before.
        exx = exy = exz = eyx = eyy = eyz = ezx = ezy = ezz = 0.0
        qx = qy = qz = 0.0
        for k in range(n):
            b = k + 1
            dx, dy, dz = x[b, 0] - x[k, 0], x[b, 1] - x[k, 1], x[b, 2] - x[k, 2]
            length = math.sqrt(dx * dx + dy * dy + dz * dz + 1e-12)
            inv = 1.0 / length
            tx, ty, tz = dx * inv, dy * inv, dz * inv
            l0 = rest[k]
            now = tension[k]
            soft = ETA_N / now
            compliance = 1.0 / line[k, L_STIFF]
            stiff = 1.0 / (l0 * (compliance + soft / now))
            gap = length - l0 * (1.0 + now * compliance - soft)
            pull = now + stiff * gap
            seg[k, 0], seg[k, 1], seg[k, 2] = tx, ty, tz
            seg[k, 3], seg[k, 4], seg[k, 5] = stiff, gap, now
            merit += 100.0 * gap * gap
            # stiff t t^T + T/l (1 - t t^T)
            geo = now * inv
            axial = stiff - geo
            kxx, kyy, kzz = geo + axial * tx * tx, geo + axial * ty * ty, geo + axial * tz * tz
            kxy, kxz, kyz = axial * tx * ty, axial * tx * tz, axial * ty * tz

            half_mass = 0.5 * l0 * line[k, L_MASS]
            inertia = half_mass * a0 * a0
            mid = 0.5 * (x[k, 2] + x[b, 2])
            span = max(abs(dz), LEVEL_M)
            dry = l0 * line[k, L_DRY]
            vax, vay, vaz = a0 * x[k, 0] + bv[k, 0], a0 * x[k, 1] + bv[k, 1], a0 * x[k, 2] + bv[k, 2]
            vbx, vby, vbz = a0 * x[b, 0] + bv[b, 0], a0 * x[b, 1] + bv[b, 1], a0 * x[b, 2] + bv[b, 2]
            if mid <= -0.5 * span:
                fax = fay = fbx = fby = 0.0
                faz = fbz = 0.5 * dry
                aaxx, aaxy, aaxz, aayy, aayz, aazz = kxx, kxy, kxz, kyy, kyz, kzz
                aayx, aazx, aazy = kxy, kxz, kyz
                bbxx, bbxy, bbxz, bbyx, bbyy, bbyz, bbzx, bbzy, bbzz = kxx, kxy, kxz, kxy, kyy, kyz, kxz, kyz, kzz
                abxx, abxy, abxz, abyx, abyy, abyz, abzx, abzy, abzz = kxx, kxy, kxz, kxy, kyy, kyz, kxz, kyz, kzz
                baxx, baxy, baxz, bayx, bayy, bayz, bazx, bazy, bazz = kxx, kxy, kxz, kxy, kyy, kyz, kxz, kyz, kzz
            else:
                wx, wy, sx, sy = current_at(depths, current, mid)
                ux, uy, uz = wx - 0.5 * (vax + vbx), wy - 0.5 * (vay + vby), -0.5 * (vaz + vbz)
                p = ux * tx + uy * ty + uz * tz
                nx, ny, nz = ux - p * tx, uy - p * ty, uz - p * tz
                q = math.sqrt(nx * nx + ny * ny + nz * nz + 1e-12)
                c1, c2 = normal_law(line[k, L_NORMAL], line[k, L_CN], line[k, L_RE], q)
                kt = l0 * line[k, L_TANGENT] * abs(p)
                c1, c2 = l0 * c1, l0 * c2
                fx, fy, fz = c1 * nx + kt * p * tx, c1 * ny + kt * p * ty, c1 * nz + kt * p * tz
                # d force / d u = c1 1 + c2 n n^T + (2 kt - c1) t t^T; times -d u / d x = a0/2 for either end.
                g = 0.5 * a0
                e = 2.0 * kt - c1
                ge, gc = g * e, g * c2
                uxx = g * c1 + gc * nx * nx + ge * tx * tx
                uyy = g * c1 + gc * ny * ny + ge * ty * ty
                uzz = g * c1 + gc * nz * nz + ge * tz * tz
                uxy = gc * nx * ny + ge * tx * ty
                uxz = gc * nx * nz + ge * tx * tz
                uyz = gc * ny * nz + ge * ty * tz
                # d force / d (x_b - x_a) by the tangent = (e t n^T + (kt - c1) p (1 - t t^T) - p c2 n n^T) / l
                e *= inv
                f1 = (kt - c1) * p * inv
                f2 = -p * c2 * inv
                ex, ey, ez = e * tx, e * ty, e * tz
                hx, hy, hz = f2 * nx, f2 * ny, f2 * nz
                ox, oy, oz = f1 * tx, f1 * ty, f1 * tz
                dxx = ex * nx + hx * nx - ox * tx + f1
                dxy = ex * ny + hx * ny - ox * ty
                dxz = ex * nz + hx * nz - ox * tz
                dyx = ey * nx + hy * nx - oy * tx
                dyy = ey * ny + hy * ny - oy * ty + f1
                dyz = ey * nz + hy * nz - oy * tz
                dzx = ez * nx + hz * nx - oz * tx
                dzy = ez * ny + hz * ny - oz * ty
                dzz = ez * nz + hz * nz - oz * tz + f1
                # Of minus the force, by the near end (a) and the far end (b).
                oxx, oxy, oxz = uxx + dxx, uxy + dxy, uxz + dxz
                oyx, oyy, oyz = uxy + dyx, uyy + dyy, uyz + dyz
                ozx, ozy, ozz = uxz + dzx, uyz + dzy, uzz + dzz
                ixx, ixy, ixz = uxx - dxx, uxy - dxy, uxz - dxz
                iyx, iyy, iyz = uxy - dyx, uyy - dyy, uyz - dyz
                izx, izy, izz = uxz - dzx, uyz - dzy, uzz - dzz
                if sx != 0.0 or sy != 0.0:
                    # The water's velocity changes with the depth of either end.
                    cx = (uxx * sx + uxy * sy) / a0
                    cy = (uxy * sx + uyy * sy) / a0
                    cz = (uxz * sx + uyz * sy) / a0
                    oxz, oyz, ozz = oxz - cx, oyz - cy, ozz - cz
                    ixz, iyz, izz = ixz - cx, iyz - cy, izz - cz
                fz += l0 * line[k, L_WET]
                if mid >= 0.5 * span:
                    sa = sb = 0.5
                    fax, fay, faz = 0.5 * fx, 0.5 * fy, 0.5 * fz
                    fbx, fby, fbz = fax, fay, faz
                    za = zb = da = db = 0.0
                else:
                    # Crossing the surface: the wetted part acts at its own centroid, so the ends' shares differ.
                    wet = 0.5 + mid / span
                    lean = min(max(dz / LEVEL_M, -1.0), 1.0)
                    bend = 0.5 * lean * wet * (1.0 - wet)
                    sa, sb = 0.5 * wet - bend, 0.5 * wet + bend
                    fax, fay, faz = sa * fx, sa * fy, sa * fz + (0.5 * (1.0 - wet) + bend) * dry
                    fbx, fby, fbz = sb * fx, sb * fy, sb * fz + (0.5 * (1.0 - wet) - bend) * dry
                    if abs(dz) > LEVEL_M:
                        za, zb = x[b, 2] / (dz * abs(dz)), -x[k, 2] / (dz * abs(dz))
                    else:
                        za = zb = 0.5 / LEVEL_M
                    db = 0.5 + 0.5 * lean * (1.0 - 2.0 * wet)
                    da = 1.0 - db
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
                if za != 0.0 or zb != 0.0:
                    gz = fz - dry
                    aaxz, aayz, aazz = aaxz - da * fx * za, aayz - da * fy * za, aazz - da * gz * za
                    abxz, abyz, abzz = abxz + da * fx * zb, abyz + da * fy * zb, abzz + da * gz * zb
                    baxz, bayz, bazz = baxz + db * fx * za, bayz + db * fy * za, bazz + db * gz * za
                    bbxz, bbyz, bbzz = bbxz - db * fx * zb, bbyz - db * fy * zb, bbzz - db * gz * zb

            # (ab and ba are minus the off-diagonal blocks.)
            if k > 0:
                # The near end is complete.
                fax += pull * tx + rx - half_mass * (a0 * vax + ba[k, 0])
                fay += pull * ty + ry - half_mass * (a0 * vay + ba[k, 1])
                faz += pull * tz + rz - half_mass * (a0 * vaz + ba[k, 2])
                merit += fax * fax + fay * fay + faz * faz
                fax, fay, faz = fax + qx, fay + qy, faz + qz
                aaxx, aaxy, aaxz = aaxx + mxx + exx + inertia, aaxy + mxy + exy, aaxz + mxz + exz
                aayx, aayy, aayz = aayx + myx + eyx, aayy + myy + eyy + inertia, aayz + myz + eyz
                aazx, aazy, aazz = aazx + mzx + ezx, aazy + mzy + ezy, aazz + mzz + ezz + inertia
                # Its inverse by cofactors.
                cxx, cxy, cxz = aayy * aazz - aayz * aazy, aaxz * aazy - aaxy * aazz, aaxy * aayz - aaxz * aayy
                cyx, cyy, cyz = aayz * aazx - aayx * aazz, aaxx * aazz - aaxz * aazx, aaxz * aayx - aaxx * aayz
                czx, czy, czz = aayx * aazy - aayy * aazx, aaxy * aazx - aaxx * aazy, aaxx * aayy - aaxy * aayx
                det = 1.0 / (aaxx * cxx + aaxy * cyx + aaxz * czx)
                cxx, cxy, cxz, cyx, cyy, cyz, czx, czy, czz = (
                    cxx * det, cxy * det, cxz * det, cyx * det, cyy * det, cyz * det, czx * det, czy * det, czz * det,
                )  # fmt: skip
                gxx = cxx * abxx + cxy * abyx + cxz * abzx
                gxy = cxx * abxy + cxy * abyy + cxz * abzy
                gxz = cxx * abxz + cxy * abyz + cxz * abzz
                gyx = cyx * abxx + cyy * abyx + cyz * abzx
                gyy = cyx * abxy + cyy * abyy + cyz * abzy
                gyz = cyx * abxz + cyy * abyz + cyz * abzz
                gzx = czx * abxx + czy * abyx + czz * abzx
                gzy = czx * abxy + czy * abyy + czz * abzy
                gzz = czx * abxz + czy * abyz + czz * abzz
                hx = cxx * fax + cxy * fay + cxz * faz
                hy = cyx * fax + cyy * fay + cyz * faz
                hz = czx * fax + czy * fay + czz * faz
                factor[k, 0], factor[k, 1], factor[k, 2] = gxx, gxy, gxz
                factor[k, 3], factor[k, 4], factor[k, 5] = gyx, gyy, gyz
                factor[k, 6], factor[k, 7], factor[k, 8] = gzx, gzy, gzz
                factor[k, 9], factor[k, 10], factor[k, 11] = hx, hy, hz
                exx = -(baxx * gxx + baxy * gyx + baxz * gzx)
                exy = -(baxx * gxy + baxy * gyy + baxz * gzy)
                exz = -(baxx * gxz + baxy * gyz + baxz * gzz)
                eyx = -(bayx * gxx + bayy * gyx + bayz * gzx)
                eyy = -(bayx * gxy + bayy * gyy + bayz * gzy)
                eyz = -(bayx * gxz + bayy * gyz + bayz * gzz)
                ezx = -(bazx * gxx + bazy * gyx + bazz * gzx)
                ezy = -(bazx * gxy + bazy * gyy + bazz * gzy)
                ezz = -(bazx * gxz + bazy * gyz + bazz * gzz)
                qx = baxx * hx + baxy * hy + baxz * hz
                qy = bayx * hx + bayy * hy + bayz * hz
                qz = bazx * hx + bazy * hy + bazz * hz

            mxx, mxy, mxz = bbxx + inertia, bbxy, bbxz
            myx, myy, myz = bbyx, bbyy + inertia, bbyz
            mzx, mzy, mzz = bbzx, bbzy, bbzz + inertia
            rx = fbx - pull * tx - half_mass * (a0 * vbx + ba[b, 0])
            ry = fby - pull * ty - half_mass * (a0 * vby + ba[b, 1])
            rz = fbz - pull * tz - half_mass * (a0 * vbz + ba[b, 2])
            item = node_body[b]
            if item >= 0:
                wx, wy, sx, sy = current_at(depths, current, x[b, 2])
                body_jacobian(body[item], wx - vbx, wy - vby, -vbz, x[b, 2], jac)
                mass = body[item, B_MASS]
                rx += jac[0] - mass * (a0 * vbx + ba[b, 0])
                ry += jac[1] - mass * (a0 * vby + ba[b, 1])
                rz += jac[2] - mass * (a0 * vbz + ba[b, 2])
                mass *= a0 * a0
                mxx, mxy, mxz = mxx + a0 * jac[3] + mass, mxy + a0 * jac[4], mxz + a0 * jac[5] - jac[12]
                myx, myy, myz = myx + a0 * jac[6], myy + a0 * jac[7] + mass, myz + a0 * jac[8] - jac[13]
                mzx, mzy, mzz = mzx + a0 * jac[9], mzy + a0 * jac[10], mzz + a0 * jac[11] - jac[14] + mass
                if sx != 0.0 or sy != 0.0:
                    mxz -= jac[3] * sx + jac[4] * sy
                    myz -= jac[6] * sx + jac[7] * sy
                    mzz -= jac[9] * sx + jac[10] * sy
            if b == rod_node:
                vx, vy, vz = a0 * x[0, 0] + bv[0, 0], a0 * x[0, 1] + bv[0, 1], a0 * x[0, 2] + bv[0, 2]
                ux, uy, uz = rod_flow(depths, current, x[b, 2], vbx, vby, vbz, vx, vy, vz)
                rod_curve(rod, x[b], rod_tip, ux, uy, uz, jac)
                force = rod[R_PULL]
                rx, ry, rz = rx + force * jac[0], ry + force * jac[1], rz + force * jac[2]
                # Its derivative as if the line were straight; the iterations do the rest.
                fx, fy, fz = rod_tip[0] - x[b, 0], rod_tip[1] - x[b, 1], rod_tip[2] - x[b, 2]
                force /= math.sqrt(fx * fx + fy * fy + fz * fz) + 1e-3
                fx, fy, fz = jac[0], jac[1], jac[2]
                mxx, mxy, mxz = mxx + force * (1.0 - fx * fx), mxy - force * fx * fy, mxz - force * fx * fz
                myx, myy, myz = myx - force * fy * fx, myy + force * (1.0 - fy * fy), myz - force * fy * fz
                mzx, mzy, mzz = mzx - force * fz * fx, mzy - force * fz * fy, mzz + force * (1.0 - fz * fz)

        merit += rx * rx + ry * ry + rz * rz
        if not merit < 1e30:
            return FAILED
        if iteration > 0 and merit > 4.0 * merit_before and merit > 1e-6 and backed < 4:
            # The step went too far: go half way back.
            backed += 1
            for k in range(n):
                b = k + 1
                for i in range(3):
                    move[b, i] *= 0.5
                    x[b, i] -= move[b, i]
                tension[k] = 0.5 * (tension[k] + seg[k, 6])
            continue
        merit_before = merit
        backed = 0

        # The free end, then inward.
        mxx, mxy, mxz = mxx + exx, mxy + exy, mxz + exz
        myx, myy, myz = myx + eyx, myy + eyy, myz + eyz
        mzx, mzy, mzz = mzx + ezx, mzy + ezy, mzz + ezz
        rx, ry, rz = rx + qx, ry + qy, rz + qz
        cxx, cxy, cxz = myy * mzz - myz * mzy, mxz * mzy - mxy * mzz, mxy * myz - mxz * myy
        cyx, cyy, cyz = myz * mzx - myx * mzz, mxx * mzz - mxz * mzx, mxz * myx - mxx * myz
        czx, czy, czz = myx * mzy - myy * mzx, mxy * mzx - mxx * mzy, mxx * myy - mxy * myx
        det = 1.0 / (mxx * cxx + mxy * cyx + mxz * czx)
        dx = det * (cxx * rx + cxy * ry + cxz * rz)
        dy = det * (cyx * rx + cyy * ry + cyz * rz)
        dz = det * (czx * rx + czy * ry + czz * rz)
        move[n, 0], move[n, 1], move[n, 2] = dx, dy, dz
        size = max(abs(dx), abs(dy), abs(dz))
        for k in range(n - 1, 0, -1):
            ex = factor[k, 9] + factor[k, 0] * dx + factor[k, 1] * dy + factor[k, 2] * dz
            ey = factor[k, 10] + factor[k, 3] * dx + factor[k, 4] * dy + factor[k, 5] * dz
            ez = factor[k, 11] + factor[k, 6] * dx + factor[k, 7] * dy + factor[k, 8] * dz
            dx, dy, dz = ex, ey, ez
            move[k, 0], move[k, 1], move[k, 2] = dx, dy, dz
            size = max(size, abs(dx), abs(dy), abs(dz))
        if not size < 1e6:
            return FAILED
        scale = MAX_MOVE_M / size if size > MAX_MOVE_M else 1.0
        bent = scale < 1.0
        dx = dy = dz = 0.0
        for k in range(n):
            b = k + 1
            ex, ey, ez = scale * move[b, 0], scale * move[b, 1], scale * move[b, 2]
            move[b, 0], move[b, 1], move[b, 2] = ex, ey, ez
            x[b, 0] += ex
            x[b, 1] += ey
            x[b, 2] += ez
            now = seg[k, 5]
            seg[k, 6] = now
            grown = seg[k, 0] * (ex - dx) + seg[k, 1] * (ey - dy) + seg[k, 2] * (ez - dz)
            new = now + seg[k, 3] * (grown + scale * seg[k, 4])
            if new < SOFT_N:
                fx, fy, fz = x[b, 0] - x[k, 0], x[b, 1] - x[k, 1], x[b, 2] - x[k, 2]
                strain = math.sqrt(fx * fx + fy * fy + fz * fz) / rest[k] - 1.0
                ea = line[k, L_STIFF]
                # The root of e(T) = strain, in a form without cancellation for either sign.
                root = math.sqrt(strain * strain + 4.0 * ETA_N / ea)
                law = 0.5 * ea * (strain + root) if strain > 0.0 else 2.0 * ETA_N / (root - strain)
                law = min(law, SOFT_N)
                if new < law:
                    if law - new > 0.02:
                        bent = True
                    new = law
            tension[k] = new
            dx, dy, dz = ex, ey, ez
        contraction = size / size_before if size < size_before else 1.0
        size_before = size
        if not bent and (size < effort.tolerance_m or (iteration > 0 and size * contraction < effort.tolerance_m)):
            return iteration + 1
    return FAILED
