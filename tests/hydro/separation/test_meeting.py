"""The parts of a pass: the volume of two edges, its cubic over a step, and where edges in one plane meet."""

from __future__ import annotations

import numpy as np
import pytest

from hydro.uncompiled import plain, use_plain
from sternwatch.hydro.separation import meeting as me


@pytest.fixture(autouse=True)
def _as_python(monkeypatch: pytest.MonkeyPatch) -> None:
    """What these parts call is not compiled for its own sake either."""
    use_plain(monkeypatch, me, "_volume", "_cubic", "_at", "_turns", "_where")


def lines(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Two lines of three nodes at two samples."""
    rng = np.random.default_rng(seed)
    return rng.normal(0.0, 2.0, (2, 3, 3)), rng.normal(0.0, 2.0, (2, 3, 3))


def edges(x: np.ndarray, y: np.ndarray, tau: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Edge 0-1 of the one, edge 1-2 of the other, and from the first's begin to the second's, within the step."""
    a, b = (1.0 - tau) * x[0] + tau * x[1], (1.0 - tau) * y[0] + tau * y[1]
    return a[1] - a[0], b[2] - b[1], b[1] - a[0]


@pytest.mark.parametrize("seed", range(6))
def test_the_volume_is_a_determinant_and_a_cubic_of_the_time(seed: int) -> None:
    x, y = lines(seed)
    for k in (0, 1):
        a, b, w = edges(x, y, float(k))
        assert plain(me._volume)(x, y, k, 0, 1, 1, 2) == pytest.approx(float(np.linalg.det([w, a, b])))
    c = np.full(4, np.nan)
    size = plain(me._cubic)(x, y, 0, 0, 1, 1, 2, c)
    for tau in (0.0, 0.3, 0.8, 1.0):
        a, b, w = edges(x, y, tau)
        volume = float(np.linalg.det([w, a, b]))
        assert plain(me._at)(c, tau) == pytest.approx(volume, abs=1e-9)
        assert abs(volume) <= size


@pytest.mark.parametrize("seed", range(6))
def test_where_edges_of_one_plane_meet(seed: int) -> None:
    """Made to cross at given shares, half way through the step."""
    x, y = lines(seed)
    rng = np.random.default_rng(seed)
    s, u = rng.uniform(0.1, 0.9, 2)
    a, b, w = edges(x, y, 0.5)
    y += (s * a) - (w + u * b)
    found = plain(me._where)(x, y, 0, 0, 1, 1, 2, 0.5)
    assert found == (pytest.approx(s), pytest.approx(u), True)
    y[:, 2] = y[:, 1] + (x[:, 1] - x[:, 0])
    assert plain(me._where)(x, y, 0, 0, 1, 1, 2, 0.5) == (0.0, 0.0, False), "parallel"


@pytest.mark.parametrize(
    "c",
    [
        (0.1, -1.0, 0.5, 1.3), (0.0, 1.0, -3.0, 2.0), (1.0, -2.0, 1.5, 0.0), (1.0, 2.0, 0.0, 0.0),
        (0.3, 0.5, -2.0, 1.9),
        (0.0, 1.0, 0.0, 1.0), (0.2, -0.9, 2.0, -1.2), (1.0, 0.0, 0.0, 0.0),
    ],
)  # fmt: skip
def test_a_cubics_turning_points_are_those_that_numpy_finds(c: tuple[float, ...]) -> None:
    cuts = np.full(4, np.nan)
    count = plain(me._turns)(np.array(c), cuts)
    roots = np.polynomial.Polynomial(c).deriv().roots() if any(c[2:]) else np.empty(0)
    inner = sorted(float(root.real) for root in roots if abs(root.imag) < 1e-12 and 0.0 < root.real < 1.0)
    assert cuts[:count] == pytest.approx([0.0, *inner, 1.0])


@pytest.mark.parametrize("seed", range(8))
def test_passes_of_two_edges_are_where_their_volume_is_none_within_both(seed: int) -> None:
    """Against a scan of ten thousand moments; signs are those of the linking integral."""
    x, y = lines(seed)
    y[0], y[1] = y[0] * 0.2, x[0] * 0.2 + y[1] * 0.2  # near enough to meet
    c, cuts, out = np.empty(4), np.empty(4), np.full((3, 4), np.nan)
    count = plain(me._passes)(x, y, 0, 0, 1, 1, 2, c, cuts, out)
    times = np.linspace(0.0, 1.0, 10_001)
    volume = np.polynomial.Polynomial(c)(times)
    met = []
    for k in np.flatnonzero((volume[:-1] >= 0.0) != (volume[1:] >= 0.0)):
        tau = times[k] - volume[k] * (times[k + 1] - times[k]) / (volume[k + 1] - volume[k])
        a, b, w = edges(x, y, float(tau))
        (s, u), *_ = np.linalg.lstsq(np.stack([a, -b], axis=1), w, rcond=None)
        if 0.0 <= s < 1.0 and 0.0 <= u < 1.0:
            met.append((tau, s, u, -1.0 if volume[k + 1] >= 0.0 else 1.0))
    assert count == len(met)
    assert out[:count] == pytest.approx(np.array(met).reshape(-1, 4), abs=1e-5)


@pytest.mark.parametrize(("long_m", "short_m"), [(1000.0, 0.001), (0.001, 1000.0), (3.0, 2.0)])
def test_edges_at_a_small_angle_meet_whatever_their_lengths(long_m: float, short_m: float) -> None:
    """A third of a degree apart, crossing at a half of the one and a quarter of the other; and exact parallels."""
    angle = np.radians(1.0 / 3.0)
    a, b = long_m * np.array([1.0, 0.0, 0.0]), short_m * np.array([np.cos(angle), np.sin(angle), 0.0])
    x = np.stack([np.zeros(3), a, a])[None].repeat(2, axis=0)
    begin = 0.5 * a - 0.25 * b
    y = np.stack([begin, begin, begin + b])[None].repeat(2, axis=0)
    assert plain(me._where)(x, y, 0, 0, 1, 1, 2, 0.5) == (
        pytest.approx(0.5, abs=1e-5), pytest.approx(0.25, abs=1e-5), True,
    )  # fmt: skip
    y[:, 2] = begin + short_m * np.array([1.0, 0.0, 0.0])
    assert plain(me._where)(x, y, 0, 0, 1, 1, 2, 0.5)[2] is False


@pytest.mark.parametrize(
    ("roots", "inside"),
    [((0.25, 0.75), [0.25, 0.75]), ((0.5, 1.5), [0.5]), ((-0.5, 0.5), [0.5]), ((1.2, 1.7), []), ((-2.0, -1.0), [])],
)
def test_a_cubic_is_cut_at_its_turning_points_between_the_ends(roots, inside):
    low, high = roots
    slope = (low * high, -(low + high), 1.0)  # (t - low) (t - high)
    turns, cuts = plain(me._turns), np.full(4, np.nan)
    n = turns(np.array([7.0, slope[0], slope[1] / 2.0, slope[2] / 3.0]), cuts)
    assert cuts[:n] == pytest.approx([0.0, *inside, 1.0])
