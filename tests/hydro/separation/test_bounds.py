"""What is ruled out of two chains at once, against every element of the one with every of the other."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from hydro.uncompiled import plain, use_plain
from sternwatch.hydro.separation import bounds
from sternwatch.hydro.separation.bounds import BOX, MIDDLE, Strand, Wanted

SAMPLES, NODES = 5, 4
ELEMENT = np.array([(0, 1), (1, 1), (1, 2), (2, 3)])
WANT = Wanted(line_m=0.3, tackle_m=1.5, half_gap_m=0.8, reach_m=9.0)


@pytest.fixture(autouse=True)
def _as_python(monkeypatch: pytest.MonkeyPatch) -> None:
    use_plain(monkeypatch, bounds)


def strand(rng: Any, aside_m: float, frame: Any) -> Strand:
    """A line under water that wanders."""
    arc = np.cumsum(rng.uniform(1.0, 4.0, NODES))
    x = np.empty((SAMPLES, NODES, 3))
    x[..., 0], x[..., 1], x[..., 2] = -arc, aside_m, 4.0 + 0.5 * arc
    x += np.cumsum(rng.normal(0.0, 0.3, x.shape), axis=0)
    box = np.empty((BOX, 5))
    plain(bounds.boxes)(x, NODES, ELEMENT, 4, frame, np.empty((3, NODES)), np.empty((3, NODES)), box)
    tackle = np.array([False, True, False, bool(rng.random() < 0.5)])
    return Strand(x, ELEMENT, tackle, 4, arc, arc[ELEMENT[:, 1]], box, np.empty((SAMPLES, 5)))


def axes(rng: Any, turns: float) -> Any:
    return np.cumsum(np.column_stack([rng.normal(1.0, 0.3, (SAMPLES, 2)), rng.normal(0.0, turns, SAMPLES)]), axis=0)


def need(a: Strand, b: Strand, e: int, f: int, arc: float) -> float:
    full = WANT.tackle_m if a.tackle[e] or b.tackle[f] else WANT.line_m
    start = min(full, WANT.half_gap_m)
    return start + (full - start) * min(arc / WANT.reach_m, 1.0)


@pytest.mark.parametrize("turns", [0.0, 0.4])
@pytest.mark.parametrize("seed", range(4))
def test_a_box_holds_its_element_in_axes_that_move_and_turn(seed: int, turns: float) -> None:
    rng = np.random.default_rng(seed)
    frame = axes(rng, turns)
    a = strand(rng, 3.0, frame)
    seen: list[list[Any]] = [[] for _ in ELEMENT]
    for k in range(SAMPLES - 1):
        for tau in np.linspace(0.0, 1.0, 9):
            x = a.x[k] + tau * (a.x[k + 1] - a.x[k])
            north, east, angle = frame[k] + tau * (frame[k + 1] - frame[k])
            dx, dy = x[:, 0] - north, x[:, 1] - east
            c, s = math.cos(angle), math.sin(angle)
            at = np.column_stack([c * dx + s * dy, c * dy - s * dx, x[:, 2]])
            for e, (i, j) in enumerate(ELEMENT):
                seen[e] += [at[i] + share * (at[j] - at[i]) for share in (0.0, 0.3, 1.0)]
    low, high = np.array([np.min(of, axis=0) for of in seen]).T, np.array([np.max(of, axis=0) for of in seen]).T
    assert (a.box[:3, :4] <= low + 1e-12).all()
    assert (a.box[3:, :4] >= high - 1e-12).all()
    if turns == 0.0:
        assert a.box[:3, :4] == pytest.approx(low)
        assert a.box[3:, :4] == pytest.approx(high)
    assert a.box[:3, 4] == pytest.approx(a.box[:3, :4].min(axis=1))
    assert a.box[3:, 4] == pytest.approx(a.box[3:, :4].max(axis=1))


@pytest.mark.parametrize("level", [0.6, 1.0, 2.5, math.inf])
@pytest.mark.parametrize("seed", range(6))
def test_elements_are_left_whose_boxes_come_within_what_is_required(seed: int, level: float) -> None:
    rng = np.random.default_rng(seed)
    frame = axes(rng, 0.05)
    a, b = strand(rng, 0.0, frame), strand(rng, rng.uniform(0.5, 6.0), frame)
    near = np.zeros((4, 4), dtype=np.bool_)
    for e in range(4):
        for f in range(4):
            gap = [max(a.box[c, e] - b.box[3 + c, f], b.box[c, f] - a.box[3 + c, e], 0.0) for c in range(3)]
            near[e, f] = math.hypot(*gap) <= level * need(a, b, e, f, max(a.far[e], b.far[f]))
    due, rows = np.full((4, 5), np.nan), np.empty(4, dtype=np.int64)
    count = plain(bounds.within)(a, b, WANT, level, due, rows)
    assert rows[:count].tolist() == np.flatnonzero(near.any(axis=1)).tolist()
    assert due[rows[:count], :4].tolist() == np.where(near, -math.inf, math.inf)[rows[:count]].tolist()
    assert (due[rows[:count], 4] == -math.inf).all()


def test_what_the_paths_have_left() -> None:
    due, out = np.array([3.0, math.inf, 1.0, 9.9]), np.full(4, np.nan)
    assert plain(bounds.left)(due, 0.5, np.array([1.0, 2.0, 0.75, 99.0]), 3, out) == -0.25
    assert out[:3].tolist() == [1.5, math.inf, -0.25]
    assert np.isnan(out[3])


@pytest.mark.parametrize("k", [0, 1, 3])
@pytest.mark.parametrize("seed", range(6))
def test_a_ratio_of_a_moment_is_the_one_of_the_elements_that_seem_nearest(seed: int, k: int) -> None:
    rng = np.random.default_rng(seed)
    frame = axes(rng, 0.05)
    a, b = strand(rng, 0.0, frame), strand(rng, rng.uniform(0.5, 6.0), frame)
    scratch = np.empty((MIDDLE, 4)), np.empty((MIDDLE, 4)), np.empty(4)
    told = plain(bounds.at_sample)(a, b, k, WANT, *scratch)
    assert told == pytest.approx(seems_nearest(a, b, k, (0, 1, 2, 3)), rel=0.02)
    # Elements with an end in the air do not count.
    a.x[k, 0, 2] = -0.1
    again = plain(bounds.at_sample)(a, b, k, WANT, *scratch)
    assert again == pytest.approx(seems_nearest(a, b, k, (1, 2, 3)), rel=0.02)
    a.x[k, :, 2] = 0.1
    shallow = plain(bounds.at_sample)(a, b, k, WANT, *scratch)
    assert shallow == pytest.approx(seems_nearest(a, b, k, (0, 1, 2, 3)), rel=0.02)
    a.x[k, :, 2] = -0.1
    assert plain(bounds.at_sample)(a, b, k, WANT, *scratch) == math.inf


def seems_nearest(a: Strand, b: Strand, k: int, of_a: tuple[int, ...]) -> float:
    """The ratio, by sampling both, of the two elements whose middles are nearest over what is required there."""
    middle = [np.array([of.x[k, list(ends)].mean(axis=0) for ends in ELEMENT]) for of in (a, b)]
    e, f = min(
        ((e, f) for e in of_a for f in range(4)),
        key=lambda at: (
            math.dist(middle[0][at[0]], middle[1][at[1]]) / need(a, b, *at, max(a.far[at[0]], b.far[at[1]]))
        ),
    )
    share = np.linspace(0.0, 1.0, 201)
    (i0, i1), (j0, j1) = ELEMENT[e], ELEMENT[f]
    one = a.x[k, i0] + share[:, None] * (a.x[k, i1] - a.x[k, i0])
    other = b.x[k, j0] + share[:, None] * (b.x[k, j1] - b.x[k, j0])
    apart = np.linalg.norm(one[:, None] - other[None], axis=2)
    s, u = np.unravel_index(np.argmin(apart), apart.shape)
    arc = max(a.arc[i0] + share[s] * (a.arc[i1] - a.arc[i0]), b.arc[j0] + share[u] * (b.arc[j1] - b.arc[j0]))
    return float(apart[s, u]) / need(a, b, e, f, arc)
