"""Line passes against the Gauss linking integral of the pair, in code of its own, and on braids made by hand.

The integral of two polylines is the sum over their edges of signed solid angles [Klenin & Langowski 2000, Computation
of writhe in modeling of supercoiled DNA, Biopolymers 54, method 1a]. For open lines it is no whole number, but it
changes smoothly while they move and jumps by one where one passes through the other.
"""

from itertools import pairwise

import numpy as np
import pytest

from sternwatch.hydro.separation.distance import Required, Strands, closest
from sternwatch.hydro.separation.verdicts import Verdict

NO_TAPER = Required(taper_m=0.0)


def linking(a, b):
    """The Gauss linking integral of two polylines (n, 3) and (m, 3)."""
    r1, r2 = a[:-1, None], a[1:, None]
    r3, r4 = b[None, :-1], b[None, 1:]
    r12, r34, r13, r14, r23, r24 = r2 - r1, r4 - r3, r3 - r1, r4 - r1, r3 - r2, r4 - r2

    def unit(v):
        size = np.linalg.norm(v, axis=-1, keepdims=True)
        return np.divide(v, size, out=np.zeros_like(v), where=size > 0)

    n = [unit(np.cross(p, q)) for p, q in ((r13, r14), (r14, r24), (r24, r23), (r23, r13))]
    area = sum(np.arcsin(np.clip(np.sum(n[i] * n[(i + 1) % 4], axis=-1), -1, 1)) for i in range(4))
    side = np.sign(np.sum(np.cross(r34, r12) * r13, axis=-1))
    return float(np.sum(area * side)) / (4 * np.pi)


def strands_of(a, leader_at=(), body_at=()):
    """Two lines of as many nodes, arcs by the nodes' number in metres."""
    nodes = len(a)
    arc = np.tile(np.arange(nodes, dtype=float), (2, 1))
    body, leader = np.zeros((2, nodes), bool), np.zeros((2, nodes - 1), bool)
    for row, i in body_at:
        body[row, i] = True
    for row, i in leader_at:
        leader[row, i] = True
    return Strands(np.full(2, nodes), arc, body, leader, np.arange(2))


def through(a, b, times=None, **more):
    """Two lines (samples, nodes, 3) followed: what closest finds of them."""
    x = np.stack([a, b], axis=1)
    times = np.arange(len(x), dtype=float) if times is None else times
    return closest(x, times, strands_of(a[0], **more), NO_TAPER)


def test_the_integral_itself_on_linked_rings():
    """Two rings through one another have linking number one, exactly (Gauss 1833)."""
    t = np.linspace(0, 2 * np.pi, 40)
    ring = np.stack([np.cos(t), np.sin(t), 0 * t], axis=1)
    other = np.stack([1 + np.cos(t), 0 * t, np.sin(t)], axis=1)
    assert abs(linking(ring, other)) == pytest.approx(1, abs=1e-9)
    assert linking(ring, other + np.array([5.0, 0, 0])) == pytest.approx(0, abs=1e-9)


def waves(rng, samples=12, nodes=9):
    """Two lines that swing through one another, node by node at random, in long steps."""
    arc = np.linspace(0, 20, nodes)
    lines = []
    for side in (-1, 1):
        x = np.zeros((samples, nodes, 3))
        x[..., 0] = -0.8 * arc
        x[..., 2] = 0.5 + 0.5 * arc
        swing = np.cumsum(rng.normal(0, 1.2, (samples, 3)), axis=0)
        for power in range(3):
            x[..., 1] += swing[:, power, None] * (arc / 20) ** (power + 1)
        x[..., 1] += side
        x += rng.normal(0, 0.5, x.shape)
        lines.append(x)
    return lines


def jumps(integral, low, high):
    """Where a function jumps between two moments, and by how much: halved until what is left is no slope."""
    change = integral(high) - integral(low)
    if abs(change) < 0.05:
        return []
    if high - low < 1e-7:
        return [(low, change)]
    middle = 0.5 * (low + high)
    return jumps(integral, low, middle) + jumps(integral, middle, high)


SEEDS = (0, 2, 4, 5, 7, 11, 12, 13, 20)  # few that pass, and one that does not; the campaign takes two hundred


@pytest.mark.parametrize(
    "seed", [*SEEDS, *(pytest.param(n, marks=pytest.mark.campaign) for n in range(200) if n not in SEEDS)]
)
def test_the_integral_jumps_by_one_at_each_pass_and_nowhere_else(seed):
    a, b = waves(np.random.default_rng(seed))

    def integral(moment):
        k = min(int(moment), len(a) - 2)
        w = moment - k
        return linking((1 - w) * a[k] + w * a[k + 1], (1 - w) * b[k] + w * b[k + 1])

    found = through(a, b)
    told = found.passes[0, 0, : min(found.passed[0, 0], found.passes.shape[2])]
    told = told[np.argsort(told[:, 0])]
    # Cut between passes as well: two within one piece that undo one another would not be seen.
    at = np.union1d(np.linspace(0, len(a) - 1, 100 * (len(a) - 1) + 1), 0.5 * (told[1:, 0] + told[:-1, 0]))
    seen = [jump for low, high in pairwise(at) for jump in jumps(integral, low, high)]
    assert found.passed[0, 0] == len(seen)
    assert found.linked[0, 0] == sum(round(change) for _, change in seen)
    assert [change for _, change in seen] == pytest.approx([round(change) for _, change in seen], abs=0.01)
    if len(told) == len(seen):  # all are listed
        assert told[:, 0] == pytest.approx([moment for moment, _ in seen], abs=1e-6)
        assert told[:, 4].tolist() == [round(change) for _, change in seen]


def test_some_of_them_pass_at_all():
    """What the invariant is tested on has passes of both signs, and some that undo one another."""
    found = [through(*waves(np.random.default_rng(seed))) for seed in SEEDS]
    assert sum(int(f.passed[0, 0]) for f in found) > 16
    assert any(f.passed[0, 0] > 0 and f.linked[0, 0] == 0 for f in found)
    assert {np.sign(f.linked[0, 0]) for f in found} == {-1, 0, 1}


@pytest.mark.parametrize("turns", [-3, -2, -1, 1, 2, 3])
def test_a_made_braid_pulled_through_itself(turns):
    """A line wound so many times round a straight one, drawn off sideways, passes it once for every turn."""
    nodes = 97
    t = np.linspace(-0.5, 0.5, nodes)
    axis = np.stack([0 * t, 0 * t, 25 + 40 * t], axis=1)
    angle = 2 * np.pi * turns * t + 0.1
    wound = np.stack([np.cos(angle), np.sin(angle), 25 + 40 * t], axis=1)
    aside = wound + np.linspace(0, 3, 7)[:, None, None] * np.array([1.0, 0.03, 0.01])
    still = np.repeat(axis[None], 7, axis=0)
    found = through(still, aside)
    assert found.passed[0, 0] == abs(turns)
    before, after = linking(axis, wound), linking(axis, aside[-1])
    assert found.linked[0, 0] == -np.sign(turns) * abs(turns) * np.sign(turns * before)
    # Smooth parts are small here: the lines are long and the turns few.
    assert after - before == pytest.approx(found.linked[0, 0], abs=0.3)
    assert found.verdict[0, 0] == Verdict.WRAPPED


def swept(ys, nodes=5):
    """A line that hangs, and a level one swept through it from side to side, at ys along the way."""
    t = np.linspace(0, 1, nodes)
    hangs = np.stack([0 * t, 0 * t, 10 + 20 * t], axis=1)
    level = np.stack([-10 + 20 * t + 0.3, 0 * t, 0 * t + 21.0], axis=1)
    a = np.repeat(hangs[None], len(ys), axis=0)
    b = np.stack([level + np.array([0.0, y, 0.0]) for y in ys])
    return a, b


def test_there_and_back_is_a_touch():
    found = through(*swept([-3, 3, -3]))
    assert found.passed[0, 0] == 2
    assert found.linked[0, 0] == 0
    assert found.verdict[0, 0] == Verdict.TOUCH
    assert found.crosses[0, 0]
    assert found.contact_s[0, 0] == pytest.approx(0.5, abs=1e-3 + TOUCHED_S)
    assert found.apart_again_s[0, 0] == 2.0
    assert found.contact_m[0, 0] == pytest.approx([0, 0, 21], abs=0.11)
    assert found.passes[0, 0, 0, 3] == pytest.approx(21.0)


TOUCHED_S = 0.1 / 6  # a touch begins 10 cm before the pass, at 6 m a step


def test_through_and_not_back_is_wrapped():
    found = through(*swept([-3, 3, 5]))
    assert abs(found.linked[0, 0]) == 1
    assert found.verdict[0, 0] == Verdict.WRAPPED


def test_through_a_leader_and_back_is_wrapped():
    found = through(*swept([-3, 3, -3]), leader_at=[(0, 2)])
    assert found.linked[0, 0] == 0
    assert found.passes[0, 0, 0, 5] == 1.0
    assert found.verdict[0, 0] == Verdict.WRAPPED


def test_beside_a_body_and_back_is_wrapped():
    """The pass is at arc 2.2 of the hanging line; a body at arc 2 is too far, one by the line's own length nearer."""
    a, b = swept([-3, 3, -3])
    assert through(a, b, body_at=[(0, 2)]).verdict[0, 0] == Verdict.TOUCH
    b[..., 2] -= 0.8
    assert through(a, b, body_at=[(0, 2)]).verdict[0, 0] == Verdict.WRAPPED


def test_near_and_apart_again_is_a_near_pass():
    found = through(*swept([-3, -0.2, -3]))
    assert found.distance_m[0, 0] == pytest.approx(0.2)
    assert found.verdict[0, 0] == Verdict.NEAR_PASS
    assert (found.touching_s[0, 0], found.slides_m[0, 0]) == (0.0, 0.0)
    assert not found.crosses[0, 0]
    assert np.isnan(found.contact_s[0, 0])
    assert found.apart_again_s[0, 0] == 2.0
    stays = through(*swept([-3, -0.2, -0.25]))
    assert stays.verdict[0, 0] == Verdict.NEAR_PASS
    assert np.isnan(stays.apart_again_s[0, 0])


def test_under_ten_centimetres_is_a_touch():
    found = through(*swept([-3, -0.09, -3]))
    assert found.passed[0, 0] == 0
    assert found.verdict[0, 0] == Verdict.TOUCH
    assert found.touching_s[0, 0] == 2.0


def test_never_near_is_clear_of_each_other():
    found = through(*swept([-3, -0.4, -3]))
    assert found.verdict[0, 0] == Verdict.CLEAR_OF_EACH_OTHER
    assert found.passed[0, 0] == 0


@pytest.mark.parametrize("metres", [3.0, 6.0, -6.0, -8.0])
@pytest.mark.parametrize("hangs", [0, 1])
def test_how_far_one_slides_along_the_other(metres, hangs):
    """The level line sinks, or rises, while it lies against the hanging one; within a segment and past nodes."""
    a, b = swept([-3, -0.05, -0.05, -0.05, -3])
    b[2, :, 2] += metres / 2
    b[3:, :, 2] += metres
    found = through(*((a, b) if hangs == 0 else (b, a)))
    assert found.verdict[0, 0] == Verdict.TOUCH
    # Arcs here are node numbers: five metres of depth to a node.
    assert found.slides_m[0, 0] == pytest.approx(abs(metres) / 5.0, abs=0.02)
    quick = through(*((a, b) if hangs == 0 else (b, a)), times=0.1 * np.arange(5.0))
    assert quick.touching_s[0, 0] == pytest.approx(0.1 * found.touching_s[0, 0])
    assert quick.slides_m[0, 0] == pytest.approx(found.slides_m[0, 0])


def test_they_are_apart_again_by_the_tapered_distance_of_their_tips():
    """Tips 0.2 m apart and 12 m out: 0.1 + 0.2 * 12 / 30 = 0.18 m are required. They run on at 2 m a step."""
    arc = np.arange(101.0)
    x = np.zeros((5, 2, 101, 3))
    x[..., 0] = 2.0 * np.arange(5.0)[:, None, None] - arc
    x[..., 2] = 1.0
    x[:, 1, :, 1] = 0.2 + 0.05 * arc
    x[1:, 1, 12, 1] = 0.15, 0.17, 0.19, 0.21
    strands = strands_of(x[0, 0])
    found = closest(x, np.arange(5.0), strands, Required())
    assert found.verdict[0, 0] == Verdict.NEAR_PASS
    assert found.apart_again_s[0, 0] == 3.0


def test_passing_over_in_plan_is_nothing():
    """From port to starboard below another with 3 m to spare, as in every turn: order is no verdict."""
    t = np.linspace(0, 1, 5)[:, None]
    a = np.array([0, -1.0, 0]) + t * np.array([-30.0, -3, 30])
    b0 = np.array([0, 1.0, 0]) + t * np.array([-30.0, 3, 30])
    b1 = np.array([0, 1.0, 0]) + t * np.array([-33.0, -13, 30])
    found = through(np.stack([a, a]), np.stack([b0, b1]))
    assert found.verdict[0, 0] == Verdict.CLEAR_OF_EACH_OTHER
    assert np.min(b1[:, 1] - a[:, 1]) <= -8.0


def test_lines_in_one_plane_do_not_pass():
    """Two that never leave a plane are on no side of one another; that they meet is told by distance."""
    t = np.linspace(0, 1, 5)[:, None]
    a = np.array([0, 0, 0.0]) + t * np.array([-30.0, 0, 30])
    b = np.array([-5, 0, 0.0]) + t * np.array([-10.0, 0, 30])
    found = through(np.repeat(a[None], 3, 0), np.stack([b, b + np.array([1.0, 0, 0]), b]))
    assert found.passed[0, 0] == 0
    assert found.verdict[0, 0] == Verdict.TOUCH


def test_the_part_in_air_counts():
    t = np.linspace(0, 1, 5)[:, None]
    level = np.array([0, 0, -2.0]) + t * np.array([-4.0, 0, 0])
    across = np.array([-1.7, -2.1, -2.6]) + t * np.array([0, 4.0, 0])
    found = through(np.stack([level, level]), np.stack([across, across + np.array([0, 0, 1.0])]))
    assert found.passed[0, 0] == 1
    assert found.passes[0, 0, 0, 3] == pytest.approx(-2.0)


def test_more_passes_than_are_listed_still_count():
    found = through(*swept([-3, 3] * 6))
    assert found.passed[0, 0] == 11
    assert np.isfinite(found.passes[0, 0, :, 0]).all()
    assert abs(found.linked[0, 0]) == 1


def test_each_pass_is_told_with_its_moment_both_places_its_depth_and_its_sign():
    """Through after half of four seconds and back after half of six: 2.2 nodes down the one, 1.94 along the other."""
    found = through(*swept([-3, 3, -3]), times=np.array([0.0, 4.0, 10.0]))
    first, second = found.passes[0, 0, :2]
    assert first == pytest.approx([2.0, 2.2, 1.94, 21.0, first[4], 0.0])
    assert second == pytest.approx([7.0, 2.2, 1.94, 21.0, -first[4], 0.0])
    assert abs(first[4]) == 1.0
    assert np.isnan(found.passes[0, 0, 2:]).all()
    assert found.contact_s[0, 0] == pytest.approx(2.0, abs=0.1)
    assert (found.apart_again_s[0, 0], found.touching_s[0, 0]) == (10.0, 10.0)
    early = through(*swept([-3, 3, 5, 9]), times=np.array([0.0, 4.0, 10.0, 11.0]))
    assert (early.apart_again_s[0, 0], early.touching_s[0, 0]) == (4.0, 4.0)


@pytest.mark.parametrize("turned", [False, True])
def test_a_line_that_sinks_and_leans_while_it_is_passed_is_met_where_the_other_is(turned):
    """The hanging line sinks by 4 m, its foot by 6, and is drawn 2 m ahead; the level one stays at 21 m."""
    a, b = swept([-3, 3])
    share = np.linspace(0, 1, a.shape[1])
    a[1] += np.stack([0 * share + 2.0, 0 * share, 4.0 + 2.0 * share], axis=1)
    found = through(*((b, a) if turned else (a, b)))
    moment, on_a, on_b, depth = found.passes[0, 0, 0, :4][[0, 2, 1, 3] if turned else [0, 1, 2, 3]]
    assert (moment, depth) == (pytest.approx(0.5), pytest.approx(21.0))
    assert on_a == pytest.approx(4.0 * 9.0 / 21.0), "half way the line is 21 m long, from 12 m down"
    assert on_b == pytest.approx(4.0 * (10.0 - 0.3 + 1.0) / 20.0), "and a metre ahead"
    assert found.contact_s[0, 0] == pytest.approx(0.5)
    assert found.contact_m[0, 0] == pytest.approx([1.0, 0.0, 21.0], abs=1e-6)


def test_lines_of_a_single_segment_count_and_points_do_not():
    found = through(*swept([-3, 3, -3], nodes=2))
    assert found.passed[0, 0] == 2
    assert found.distance_m[0, 0] == pytest.approx(0.0, abs=1e-6)
    one, other = swept([-3, 3, -3], nodes=2)
    strands = strands_of(one[0])
    alone = Strands(np.array([1, 2]), strands.arc_m, strands.body_node, strands.leader, strands.owner)
    left = closest(np.stack([one, other], axis=1), np.arange(3.0), alone, NO_TAPER)
    assert np.isinf(left.ratio[0, 0])
    assert np.isnan(left.distance_m[0, 0])
