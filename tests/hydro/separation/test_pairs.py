"""A pair followed over a run against every element of the one with every of the other at every step, nothing skipped.

The parts (nearest places within a step, passes of two edges) have tests of their own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pytest

from hydro.uncompiled import plain, use_plain
from sternwatch.hydro.separation import meeting as me
from sternwatch.hydro.separation import pairs
from sternwatch.hydro.separation import segments as se
from sternwatch.hydro.separation.distance import Closest, Required, Strands, _elements, closest

TOUCH_M = 0.10  # as agreed
ASKED = Required(line_m=0.4, tackle_m=1.3, taper_m=9.0)


@pytest.fixture(scope="module")
def _compiled() -> None:
    """The kernels that are asked, compiled of their own parts while these are there."""
    x, times, strands = run_of(0, 0.3)
    closest(x, times, strands, ASKED)


@pytest.fixture(autouse=True)
def _as_python(monkeypatch: pytest.MonkeyPatch, _compiled: None) -> None:
    """What is asked here directly is not compiled for its own sake."""
    use_plain(monkeypatch, se, "_clamp", "closest_segments", "closest_at", "_shift", "_dip")
    use_plain(monkeypatch, me, "_volume", "_cubic", "_at", "_turns", "_where", "closest_at")


def run_of(seed: int, wide: float) -> tuple[np.ndarray, np.ndarray, Strands]:
    """Two lines of four and five nodes under water at six moments, their arcs, times and tackle at random."""
    rng = np.random.default_rng(seed)
    arc = np.cumsum(rng.uniform(1.0, 5.0, (2, 5)), axis=1) - 1.0
    x = np.empty((6, 2, 5, 3))
    x[..., 0], x[..., 2] = -0.7 * arc, 2.0 + 0.6 * arc
    x[..., 1] = wide * np.array([-1.0, 1.0])[:, None] + 0.04 * arc
    x += np.cumsum(rng.normal(0.0, 0.25, x.shape), axis=0) + rng.normal(0.0, 0.3, (6, 2, 1, 3))
    body, leader = rng.random((2, 5)) < 0.3, rng.random((2, 4)) < 0.25
    whole = arc[:, -1] + rng.uniform(0.0, 9.0, 2)
    times = 100.0 + np.cumsum(rng.uniform(0.4, 2.0, 6))
    return x, times, Strands(np.array([4, 5]), arc, body, leader, np.arange(2), whole)


@dataclass
class Told:
    """What is told of a pair."""

    ratio: float = math.inf
    at: tuple[Any, ...] = ()
    undercut_s: float = math.nan
    contact_s: float = math.inf
    contact_m: Any = (math.nan, math.nan, math.nan)
    near_s: list[float] = field(default_factory=list)  # ends of the steps in which they are too near
    touches: dict[int, tuple[float, float, float]] = field(default_factory=dict)  # by step: ratio, arcs
    near_at_end: bool = False
    passes: list[tuple[float, ...]] = field(default_factory=list)


def followed(x: np.ndarray, times: np.ndarray, strands: Strands, asked: Required) -> Told:
    """The same by going through all there is."""
    element, count, tackle = _elements(strands)
    a, b = (np.ascontiguousarray(x[:, row]) for row in (0, 1))
    arcs = strands.arc_m
    half_gap = 0.5 * float(np.linalg.norm(a[0, 0] - b[0, 0]))
    assert strands.whole_m is not None
    reach = min(asked.taper_m, 0.5 * float(strands.whole_m.min()))
    told, last = Told(), len(times) - 1
    pairs = [(e, f) for e in range(count[0]) for f in range(count[1])]

    def need(e: int, f: int, on_a: float, on_b: float) -> float:
        full = asked.tackle_m if tackle[0, e] or tackle[1, f] else asked.line_m
        start = min(full, half_gap)
        far = max(on_a, on_b)
        return full if far >= reach else start + (full - start) * far / reach

    def on(line: np.ndarray, k: int, tau: float, ends: Any, share: float) -> Any:
        moved = (1.0 - tau) * line[k] + tau * line[k + 1]
        return moved[ends[0]] + share * (moved[ends[1]] - moved[ends[0]])

    def beside_tackle(row: int, arc: float) -> bool:
        spans = [arcs[row, element[row, e]] for e in range(count[row]) if tackle[row, e]]
        return any(begin - TOUCH_M <= arc <= end + TOUCH_M for begin, end in spans)

    for k in range(-1, last):
        for e, f in pairs:
            (i0, i1), (j0, j1) = element[0, e], element[1, f]
            at = max(k, 0)
            shift = plain(se.relative_shift)(a, b, at, i0, i1, j0, j1)
            if k < 0:
                d2, s, u, _ = plain(se.closest_at)(a, b, 0, i0, i1, j0, j1, 0.0)
                tau = 0.0
            else:
                end = plain(se.closest_at)(a, b, k, i0, i1, j0, j1, 1.0)
                d2, tau, s, u = plain(se.closest_in_step)(a, b, k, i0, i1, j0, j1, end, shift, math.inf)
            on_a, on_b = (
                arc[n0] + share * (arc[n1] - arc[n0])
                for arc, n0, n1, share in ((arcs[0], i0, i1, s), (arcs[1], j0, j1, u))
            )
            asked_m, distance = need(e, f, on_a, on_b), math.sqrt(d2)
            moment = times[at] + tau * (times[at + 1] - times[at])
            if distance < asked_m and math.isnan(told.undercut_s):
                told.undercut_s = moment
            if distance / asked_m < told.ratio:
                told.ratio = distance / asked_m
                places = (*on(a, at, tau, (i0, i1), s), *on(b, at, tau, (j0, j1), u))
                told.at = (distance, asked_m, moment, *places, on_a, on_b)
            if k < 0:
                continue
            if distance < asked_m:
                told.near_s.append(float(times[k + 1]))
            touch = distance / min(asked_m, TOUCH_M)
            if touch < 1.0:
                if touch < told.touches.get(k, (1.0,))[0]:
                    told.touches[k] = touch, on_a, on_b
                if moment < told.contact_s:
                    told.contact_s, told.contact_m = moment, on(a, k, tau, (i0, i1), s)
            if k == last - 1:
                d2, s, u, _ = plain(se.closest_at)(a, b, k, i0, i1, j0, j1, 1.0)
                on_a = arcs[0, i0] + s * (arcs[0, i1] - arcs[0, i0])
                on_b = arcs[1, j0] + u * (arcs[1, j1] - arcs[1, j0])
                told.near_at_end |= math.sqrt(d2) < need(e, f, on_a, on_b)
            if i0 != i1 and j0 != j1:
                found = np.empty((3, 4))
                n = plain(me._passes)(a, b, k, i0, i1, j0, j1, np.empty(4), np.empty(4), found)
                for tau, s, u, sign in found[:n]:
                    on_a = arcs[0, i0] + s * (arcs[0, i1] - arcs[0, i0])
                    on_b = arcs[1, j0] + u * (arcs[1, j1] - arcs[1, j0])
                    moment, place = times[k] + tau * (times[k + 1] - times[k]), on(a, k, tau, (i0, i1), s)
                    heavy = beside_tackle(0, on_a) or beside_tackle(1, on_b)
                    told.passes.append((moment, on_a, on_b, place[2], sign, float(heavy)))
                    if moment < told.contact_s:
                        told.contact_s, told.contact_m = moment, place
    return told


def check(found: Closest, told: Told, times: np.ndarray) -> None:
    assert found.ratio[0, 0] == pytest.approx(told.ratio, abs=1e-9)
    at = (
        found.distance_m[0, 0], found.required_m[0, 0], found.time_s[0, 0], *found.where_m[0, 0],
        *found.other_where_m[0, 0], *found.arc_m[0, 0],
    )  # fmt: skip
    if told.ratio > 1e-3:  # where they pass, any of the places at which they meet is nearest
        assert at == pytest.approx(told.at, abs=1e-6)
    assert found.undercut_s[0, 0] == pytest.approx(told.undercut_s, abs=1e-6, nan_ok=True)
    if told.ratio >= 1.0:
        assert np.isnan(found.apart_again_s[0, 0])
        assert found.passed[0, 0] == 0
        return
    again = math.nan if told.near_at_end else max(told.near_s, default=math.nan)
    assert found.apart_again_s[0, 0] == pytest.approx(again, nan_ok=True)
    contact = told.contact_s if told.contact_s < math.inf else math.nan
    assert found.contact_s[0, 0] == pytest.approx(contact, abs=1e-6, nan_ok=True)
    assert found.contact_m[0, 0] == pytest.approx(np.array(told.contact_m), abs=1e-5, nan_ok=True)
    steps = np.diff(times)
    assert found.touching_s[0, 0] == pytest.approx(sum(steps[k] for k in told.touches))
    slid = [np.ptp([way[which] for way in told.touches.values()]) if told.touches else 0.0 for which in (1, 2)]
    assert found.slides_m[0, 0] == pytest.approx(max(slid), abs=1e-4)
    assert found.passed[0, 0] == len(told.passes)
    assert found.linked[0, 0] == sum(one[4] for one in told.passes)
    listed = found.passes[0, 0, : len(told.passes)]
    assert listed == pytest.approx(np.array(told.passes[: len(listed)]).reshape(-1, 6), abs=1e-6)
    assert np.isnan(found.passes[0, 0, len(told.passes) :]).all()


@pytest.mark.parametrize("wide", [0.05, 0.3, 0.8])
@pytest.mark.parametrize("seed", range(6))
def test_a_pair_is_told_as_if_everything_was_looked_at(seed: int, wide: float) -> None:
    x, times, strands = run_of(seed, wide)
    check(closest(x, times, strands, ASKED), followed(x, times, strands, ASKED), times)


def test_what_is_tried_has_all_kinds_of_meetings() -> None:
    told = [followed(*run_of(seed, wide), ASKED) for seed in range(6) for wide in (0.05, 0.3, 0.8)]
    assert any(one.passes for one in told)
    assert any(one.touches and not one.passes for one in told)
    assert any(one.ratio < 1.0 and not one.touches and not one.near_at_end for one in told)
    assert any(one.near_at_end for one in told)
    assert any(one.ratio > 1.0 for one in told)
    assert {way[5] for one in told for way in one.passes} == {0.0, 1.0}, "beside tackle and not"


@pytest.mark.parametrize("seed", range(4))
def test_the_greatest_shift_of_two_elements_is_that_of_a_pair_of_ends(seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = rng.normal(size=(3, 4, 3)), rng.normal(size=(3, 4, 3))
    ways = [np.linalg.norm((a[2, i] - a[1, i]) - (b[2, j] - b[1, j])) for i in (0, 1) for j in (2, 3)]
    assert plain(se.relative_shift)(a, b, 1, 0, 1, 2, 3) == pytest.approx(max(ways))
    spheres = np.linalg.norm(0.5 * (a[1, 0] + a[1, 1] - b[1, 2] - b[1, 3])) - 0.5 * (
        np.linalg.norm(a[1, 1] - a[1, 0]) + np.linalg.norm(b[1, 3] - b[1, 2])
    )
    assert plain(se.apart)(a[1], 0, 1, b[1], 2, 3) == pytest.approx(spheres)


@pytest.mark.parametrize("seed", range(6))
def test_the_slope_of_the_distance_is_known_but_for_parallels(seed: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = rng.normal(size=(2, 2, 3)), rng.normal(size=(2, 2, 3))
    at = plain(se.closest_at)
    d2, _, _, slope = at(a, b, 0, 0, 1, 0, 1, 0.4)
    assert slope == pytest.approx((at(a, b, 0, 0, 1, 0, 1, 0.4 + 1e-6)[0] - d2) / 1e-6, abs=1e-4)
    for way in (1.0, -0.7):
        b[:, 1] = b[:, 0] + way * (a[:, 1] - a[:, 0])
        assert math.isnan(at(a, b, 0, 0, 1, 0, 1, 0.4)[3])
        assert math.isfinite(at(a, b, 0, 0, 1, 1, 1, 0.4)[3]), "a point is parallel to nothing"
        assert math.isfinite(at(a, b, 0, 0, 0, 0, 1, 0.4)[3])


def test_the_place_of_a_contact_is_on_the_edge_as_it_is_then() -> None:
    rng = np.random.default_rng(3)
    x, met = rng.normal(size=(3, 4, 3)), np.full(me.MET, np.nan)
    plain(me._place)(x, 1, 3, 2, 0.3, 0.8, met)
    then = 0.7 * x[1] + 0.3 * x[2]
    assert met[1:4] == pytest.approx(0.2 * then[3] + 0.8 * then[2])


@pytest.mark.parametrize(
    ("tau", "s", "u", "wet"),
    [(0.75, 0.5, 0.5, True), (0.25, 0.5, 0.5, False), (0.5, 0.5, 0.5, True), (0.75, 0.5, 0.125, False)],
)
def test_whether_two_places_are_in_the_water_between_two_samples(tau: float, s: float, u: float, wet: bool) -> None:
    """One line sinks from a metre over the water to a metre under it; the other one's end hangs 4 m over it."""
    sinking, hanging = np.zeros((3, 2, 3)), np.zeros((3, 2, 3))
    sinking[:, :, 2] = [[-1.0], [1.0], [-9.0]]
    hanging[:, :, 2] = -4.0, 8.0
    assert plain(pairs._in_water)(sinking, hanging, 0, 0, 1, 0, 1, tau, s, u) == wet
    assert plain(pairs._in_water)(hanging, sinking, 0, 0, 1, 0, 1, tau, u, s) == wet
