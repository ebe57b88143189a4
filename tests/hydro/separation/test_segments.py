"""Two straight segments, at rest and while their ends move: against plain scans, in code of its own."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from hydro.uncompiled import plain, use_plain
from sternwatch.hydro.separation import segments as se

closest_segments, closest_wet, wet_part = plain(se.closest_segments), plain(se.closest_wet), plain(se.wet_part)
closest_at, required = plain(se.closest_at), plain(se.required)
SHARES = np.linspace(0.0, 1.0, 401)


@pytest.fixture(autouse=True)
def _as_python(monkeypatch: pytest.MonkeyPatch) -> None:
    """What these call is not compiled for its own sake either."""
    use_plain(monkeypatch, se, "_clamp", "closest_segments", "closest_at", "wet_part", "_shift", "_dip")


def scanned(p: np.ndarray, q: np.ndarray, r: np.ndarray, s: np.ndarray, *, wet: bool = False) -> float:
    """Least distance of points 1/400 of the way apart; ``wet``: of those that are not above water."""
    one = p + SHARES[:, None] * (q - p)
    other = r + SHARES[:, None] * (s - r)
    if wet:
        one, other = one[one[:, 2] >= 0.0], other[other[:, 2] >= 0.0]
    if not len(one) or not len(other):
        return math.inf
    return float(np.linalg.norm(one[:, None] - other[None], axis=-1).min())


def made(seed: int, *, depth_m: float = 5.0) -> list[np.ndarray]:
    rng = np.random.default_rng(seed)
    return [rng.normal((0.0, 0.0, depth_m), 2.0) for _ in range(4)]


@pytest.mark.parametrize("seed", range(12))
def test_the_nearest_places_of_two_segments(seed: int) -> None:
    p, q, r, s = made(seed)
    d2, a, b = closest_segments(*p, *q, *r, *s)
    assert min(a, b) >= 0.0
    assert max(a, b) <= 1.0
    assert math.sqrt(d2) == pytest.approx(float(np.linalg.norm(p + a * (q - p) - r - b * (s - r))), abs=1e-12)
    near = scanned(p, q, r, s)
    assert near - 0.02 <= math.sqrt(d2) <= near + 1e-12


def test_wherever_two_segments_lie_no_other_places_are_nearer() -> None:
    """Two hundred pairs, many of which are nearest at their ends: a step along either goes away."""
    rng = np.random.default_rng(9)
    ends = 0
    for _ in range(200):
        p, q, r, s = rng.normal(0.0, 2.0, (4, 3)) * rng.choice([0.3, 1.0, 3.0], (4, 1))
        _d2, a, b = closest_segments(*p, *q, *r, *s)
        ends += a in (0.0, 1.0) or b in (0.0, 1.0)
        apart = (p + a * (q - p)) - (r + b * (s - r))
        along_a, along_b = float(apart @ (q - p)), -float(apart @ (s - r))
        for share, slope in ((a, along_a), (b, along_b)):
            # The distance is convex: its slope is none within, and leads out at an end.
            assert (abs(slope) < 1e-9) if 0.0 < share < 1.0 else (slope >= -1e-9 if share == 0.0 else slope <= 1e-9)
    assert ends > 100


@pytest.mark.parametrize(
    ("points", "distance"),
    [
        (((0, 0, 1), (4, 0, 1), (0, 3, 1), (4, 3, 1)), 3.0),  # parallel
        (((0, 0, 1), (4, 0, 1), (6, 0, 1), (9, 0, 1)), 2.0),  # one behind the other
        (((2, 0, 1), (2, 0, 1), (0, 3, 1), (4, 3, 1)), 3.0),  # a point
        (((0, 0, 1), (4, 0, 1), (1, 2, 1), (1, 2, 1)), 2.0),
        (((0, 0, 1), (0, 0, 1), (3, 4, 1), (3, 4, 1)), 5.0),
    ],
)
def test_parallels_and_points(points: Any, distance: float) -> None:
    p, q, r, s = (np.array(one, dtype=float) for one in points)
    assert math.sqrt(closest_segments(*p, *q, *r, *s)[0]) == pytest.approx(distance)


def test_the_part_under_water() -> None:
    assert wet_part(0.0, 3.0) == (0.0, 1.0)
    assert wet_part(0.5, 0.0) == (0.0, 1.0)
    assert wet_part(-1.0, 3.0) == (0.25, 1.0)
    assert wet_part(3.0, -1.0) == (0.0, 0.75)
    assert wet_part(-1.0, -0.1) == (1.0, 0.0)


@pytest.mark.parametrize("seed", range(12))
def test_only_what_is_under_water_counts(seed: int) -> None:
    p, q, r, s = made(seed, depth_m=0.3)
    d2, a, b = closest_wet(*p, *q, *r, *s)
    near = scanned(p, q, r, s, wet=True)
    if math.isinf(near):
        assert (d2, a, b) == (math.inf, 0.0, 0.0)
        return
    one, other = p + a * (q - p), r + b * (s - r)
    assert min(one[2], other[2]) > -1e-9
    assert math.sqrt(d2) == pytest.approx(float(np.linalg.norm(one - other)), abs=1e-9)
    assert near - 0.05 <= math.sqrt(d2) <= near + 0.05


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("point", [False, True])
def test_elements_on_their_way_and_how_fast_they_near(seed: int, point: bool) -> None:
    """The slope against differences; an element may be a point."""
    rng = np.random.default_rng(seed)
    xa, xb = rng.normal(0.0, 2.0, (2, 3, 3)), rng.normal(0.0, 2.0, (2, 3, 3))
    i0, i1 = (1, 1) if point else (0, 1)
    for tau in (0.0, 0.3, 1.0):
        d2, s, u, slope = closest_at(xa, xb, 0, i0, i1, 1, 2, tau)
        a, b = (1.0 - tau) * xa[0] + tau * xa[1], (1.0 - tau) * xb[0] + tau * xb[1]
        assert d2 == pytest.approx(closest_segments(*a[i0], *a[i1], *b[1], *b[2])[0])
        on_a, on_b = a[i0] + s * (a[i1] - a[i0]), b[1] + u * (b[2] - b[1])
        assert d2 == pytest.approx(float((on_a - on_b) @ (on_a - on_b)))
        h = 1e-6
        ahead, behind = (closest_at(xa, xb, 0, i0, i1, 1, 2, tau + way)[0] for way in (h, -h))
        assert slope == pytest.approx((ahead - behind) / (2.0 * h), abs=1e-3 * max(1.0, abs(slope)))


def test_between_parallels_the_nearest_place_jumps() -> None:
    xa = np.array([[(0.0, 0.0, 1.0), (4.0, 0.0, 1.0)]] * 2)
    xb = xa + np.array([0.0, 2.0, 0.0])
    assert math.isnan(closest_at(xa, xb, 0, 0, 1, 0, 1, 0.5)[3])
    assert closest_at(xa, xb, 0, 0, 0, 0, 1, 0.5)[3] == 0.0, "a point and a segment are not parallel"


def test_the_required_distance_grows_from_the_tips() -> None:
    assert required(0.1, 1.5, 0.0, 20.0) == pytest.approx(0.1)
    assert required(0.1, 1.5, 5.0, 20.0) == pytest.approx(0.45)
    assert required(0.1, 1.5, 20.0, 20.0) == 1.5
    assert required(0.1, 1.5, 99.0, 20.0) == 1.5
    assert required(0.1, 1.5, 0.0, 0.0) == 1.5


@pytest.mark.parametrize("seed", range(8))
def test_the_least_distance_within_a_step(seed: int) -> None:
    """Each end moves straight on: against 400 moments."""
    rng = np.random.default_rng(100 + seed)
    xa = rng.normal(0.0, 1.0, (2, 2, 3))
    xb = xa + rng.normal(0.0, 1.5, (2, 2, 3))
    shift = float(plain(se.relative_shift)(xa, xb, 0, 0, 1, 0, 1))
    moved = [np.linalg.norm((xa[1, i] - xa[0, i]) - (xb[1, j] - xb[0, j])) for i in range(2) for j in range(2)]
    assert shift == pytest.approx(max(moved))
    end = plain(se.closest_at)(xa, xb, 0, 0, 1, 0, 1, 1.0)
    d2, tau, s, u = plain(se.closest_in_step)(xa, xb, 0, 0, 1, 0, 1, end, shift, math.inf)
    least = min(closest_at(xa, xb, 0, 0, 1, 0, 1, t)[0] for t in SHARES)
    assert d2 <= least + 1e-9
    assert math.sqrt(d2) >= math.sqrt(least) - shift / 400.0
    a, b = (1.0 - tau) * xa[0] + tau * xa[1], (1.0 - tau) * xb[0] + tau * xb[1]
    on_a, on_b = a[0] + s * (a[1] - a[0]), b[0] + u * (b[1] - b[0])
    assert d2 == pytest.approx(float((on_a - on_b) @ (on_a - on_b)), abs=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_two_elements_are_never_nearer_than_the_spheres_about_them(seed: int) -> None:
    rng = np.random.default_rng(seed)
    for far in (0.3, 2.0, 40.0):
        one, other = (rng.normal((0.0, 0.0, 0.0), 1.0, (2, 3)), rng.normal((far, 0.0, 0.0), 1.0, (2, 3)))
        least = plain(se.apart)(one, 0, 1, other, 0, 1)
        assert least <= scanned(*one, *other) + 1e-9
        middles = np.linalg.norm(one.mean(axis=0) - other.mean(axis=0))
        halves = 0.5 * (np.linalg.norm(one[1] - one[0]) + np.linalg.norm(other[1] - other[0]))
        assert least == pytest.approx(middles - halves)


def test_a_point_is_nearest_at_its_beginning() -> None:
    """A segment of no length has no other place."""
    point, (p, q) = (3.0, 2.0, 1.0), ((0.0, 0.0, 1.0), (10.0, 0.0, 1.0))
    assert closest_segments(*p, *q, *point, *point) == pytest.approx((4.0, 0.3, 0.0))
    assert closest_segments(*point, *point, *p, *q) == pytest.approx((4.0, 0.0, 0.3))
