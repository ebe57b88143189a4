"""Separation over a run: hand-built straight lines with known answers, and a brute-force reference."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize, minimize_scalar

from sternwatch.hydro.separation.distance import Required, Strands, closest, nearest
from sternwatch.hydro.separation.verdicts import Verdict

EXACT = 1e-6


def straight(start, end, nodes=5):
    return np.linspace(np.asarray(start, float), np.asarray(end, float), nodes)


def strands(rows, body_at=(), leader_at=(), owner=None):
    """Polylines (rows, nodes, 3); bodies and leader segments as (row, index)."""
    rows = np.asarray(rows)
    n, nodes = rows.shape[:2]
    arc = np.concatenate([np.zeros((n, 1)), np.cumsum(np.linalg.norm(np.diff(rows, axis=1), axis=2), axis=1)], axis=1)
    body = np.zeros((n, nodes), bool)
    leader = np.zeros((n, nodes - 1), bool)
    for row, i in body_at:
        body[row, i] = True
    for row, i in leader_at:
        leader[row, i] = True
    return Strands(np.full(n, nodes), arc, body, leader, np.arange(n) if owner is None else np.asarray(owner))


def still(rows, steps=2):
    return np.stack([np.asarray(rows)] * steps), np.arange(steps, dtype=float)


NO_TAPER = Required(taper_m=0.0)


def test_lines_crossing_in_plan_but_apart_in_depth_are_silent():
    a = straight((0, -3, 0), (-60, 6, 10), 7)
    b = straight((0, 3, 0), (-60, -6, 40), 7)
    x, t = still([a, b])
    found = closest(x, t, strands([a, b]), Required())
    # Each is in plan where the other is at x = -20; depths there 10/3 and 40/3.
    assert found.distance_m[0, 0] > 3
    assert not found.crosses[0, 0]
    assert np.isnan(found.undercut_s[0, 0])


def test_moving_crossing_between_samples_is_caught():
    # Two vertical lines 20 m long; one passes the other at 0.1 m during a single step of 1 s.
    a = straight((0, 0, 0), (0, 0, 20))
    b0 = straight((0.1, -3, 0), (0.1, -3, 20))
    b1 = straight((0.1, 5, 0), (0.1, 5, 20))
    x = np.stack([np.stack([a, b0]), np.stack([a, b1])])
    found = closest(x, np.array([10.0, 11.0]), strands([a, b0]), NO_TAPER)
    assert found.distance_m[0, 0] == pytest.approx(0.1, abs=EXACT)
    assert found.ratio[0, 0] == pytest.approx(0.1 / 0.3, abs=EXACT)
    assert found.time_s[0, 0] == pytest.approx(10 + 3 / 8, abs=EXACT)
    assert found.undercut_s[0, 0] == pytest.approx(10 + 3 / 8, abs=EXACT)
    assert found.verdict[0, 0] == Verdict.NEAR_PASS


def test_skew_lines_sinking_past_one_another():
    # Along x and along y; the upper sinks through the lower, half a step late, 2 m a step.
    a = straight((-20, 1, 10), (20, 1, 10))
    b0 = straight((2, -20, 9), (2, 20, 9))
    x = np.stack([np.stack([a, b0 + np.array([0, 0, 2 * k])]) for k in range(3)])
    found = closest(x, np.arange(3.0), strands([a, b0]), NO_TAPER)
    assert found.distance_m[0, 0] == pytest.approx(0, abs=EXACT)
    assert found.time_s[0, 0] == pytest.approx(0.5, abs=EXACT)
    assert found.where_m[0, 0] == pytest.approx([2, 1, 10], abs=1e-5)
    assert found.other_where_m[0, 0] == pytest.approx([2, 1, 10], abs=1e-5)


def test_tackle_wants_its_own_distance_from_anything():
    a = straight((0, 0, 5), (-40, 0, 5))
    b = straight((0, 1.0, 5), (-40, 1.0, 5))
    x, t = still([a, b])
    bare = closest(x, t, strands([a, b]), NO_TAPER)
    assert bare.ratio[0, 0] == pytest.approx(1.0 / 0.3, abs=EXACT)
    assert bare.verdict[0, 0] == Verdict.CLEAR_OF_EACH_OTHER
    body = closest(x, t, strands([a, b], body_at=[(1, 4)]), NO_TAPER)
    assert body.required_m[0, 0] == 1.5
    assert body.ratio[0, 0] == pytest.approx(1 / 1.5, abs=EXACT)
    assert body.verdict[0, 0] == Verdict.NEAR_PASS
    assert body.other_where_m[0, 0] == pytest.approx([-40, 1, 5])
    leader = closest(x, t, strands([a, b], leader_at=[(0, 2)]), NO_TAPER)
    assert leader.required_m[0, 0] == 1.5
    assert leader.verdict[0, 0] == Verdict.NEAR_PASS


def test_taper_from_half_the_tip_gap_to_the_full_distance():
    # Tips 0.4 m apart: half is 0.2 m at the tips, 0.3 m from 30 m on. Lines of 80 m, so half the shorter is no limit.
    a = straight((0, 0, 1), (-80, 0, 1), 9)
    b = straight((0, 0.4, 1), (-80, 0.4, 1), 9)
    x, t = still([a, b])
    found = closest(x, t, strands([a, b]), Required())
    assert found.ratio[0, 0] == pytest.approx(0.4 / 0.3, abs=EXACT)


def test_tips_far_apart_leave_nothing_to_taper():
    # Half the gap, 2 m, is more than the full distance, which is then required from the tips on.
    a = straight((0, 0, 1), (-80, 0, 1), 9)
    b = straight((0, 4, 1), (-4, 0.2, 1), 9)
    x, t = still([a, b])
    found = closest(x, t, strands([a, b]), Required())
    assert found.arc_m[0, 0].max() < 6
    assert found.required_m[0, 0] == 0.3


def test_taper_value_between():
    # A pair whose tips are 0.2 m apart and which touches at known arcs: b runs beside a at 0.2 m, but for a spike at
    # arc 12 that brings it to 0.05 m. Full distance at 30 m: required at 12 m = 0.1 + 0.2 * 12 / 30 = 0.18.
    a = straight((0, 0, 1), (-100, 0, 1), 101)
    b = straight((0, 0.2, 1), (-100, 0.2, 1), 101)
    b[12, 1] = 0.05
    arc = np.arange(101.0)
    row = strands([a, b])
    row = Strands(row.n_nodes, np.stack([arc, arc]), row.body_node, row.leader, row.owner)
    x, t = still([a, b])
    found = closest(x, t, row, Required())
    assert found.required_m[0, 0] == pytest.approx(0.18, abs=EXACT)
    assert found.ratio[0, 0] == pytest.approx(0.05 / 0.18, abs=EXACT)
    assert found.arc_m[0, 0] == pytest.approx([12, 12], abs=1e-5)


def test_taper_ends_at_half_the_shorter_chain():
    a = straight((0, 0, 1), (-100, 0, 1), 101)
    b = straight((0, 0.2, 1), (-20, 0.2, 1), 101)
    x, t = still([a, b])
    found = closest(x, t, strands([a, b]), Required())
    # Half of 20 m is 10 m: full from there, so 0.2 / 0.3; with a reach of 30 m it would be 0.2 / 0.2333 at the end.
    assert found.ratio[0, 0] == pytest.approx(0.2 / 0.3, abs=EXACT)


def test_a_line_on_its_way_out_tapers_like_the_whole_one():
    a = straight((0, 0, 1), (-100, 0, 1), 101)
    b = straight((0, 0.2, 1), (-20, 0.2, 1), 101)
    row = replace(strands([a, b]), whole_m=np.array([100.0, 80.0]))
    x, t = still([a, b])
    # Half of 80 m is over 30 m: from 0.1 m at the tips, 0.1 + 0.2 * 20 / 30 at the short one's end.
    assert closest(x, t, row, Required()).ratio[0, 0] == pytest.approx(0.2 / (0.1 + 0.2 * 20 / 30), abs=EXACT)
    # What is out is never less than what is there.
    row = replace(row, whole_m=np.zeros(2))
    assert closest(x, t, row, Required()).ratio[0, 0] == pytest.approx(0.2 / 0.3, abs=EXACT)


def test_in_the_air_and_same_owner():
    """The part in air counts as any other: 0.1 m apart, where half the tip gap is required at the tips."""
    a = straight((0, 0, -3), (-1, 0, -0.5))
    b = straight((0, 0.1, -3), (-1, 0.1, -0.5))
    x, t = still([a, b])
    found = closest(x, t, strands([a, b]), Required())
    assert found.distance_m[0, 0] == pytest.approx(0.1, abs=EXACT)
    assert found.required_m[0, 0] == pytest.approx(0.3, abs=EXACT)
    assert found.verdict[0, 0] == Verdict.NEAR_PASS
    assert closest(x, t, strands([a, b], owner=[7, 7]), Required()).ratio.shape == (1, 0)


def test_a_row_that_is_not_finite_is_left_out():
    a = straight((0, 0, 1), (-10, 0, 5))
    b = straight((0, 0.1, 1), (-10, 0.1, 5))
    x, t = still([a, b])
    x[1, 1, 3] = np.nan
    assert np.isinf(closest(x, t, strands([a, b]), Required()).ratio[0, 0])


def test_shapes_that_do_not_fit_are_refused():
    a = straight((0, 0, 1), (-10, 0, 5))
    x, _ = still([a, a])
    with pytest.raises(ValueError, match="times"):
        closest(x, np.arange(3.0), strands([a, a]), Required())


def at_moment(pair, k, tau, s, u, i, j):
    """Points of elements i and j of two polylines (samples, nodes, 3) at a moment of step k."""
    out = []
    for line, e, w in ((pair[0], i, s), (pair[1], j, u)):
        now = (1 - tau) * line[k] + tau * line[k + 1]
        out.append(now[e] + w * (now[e + 1] - now[e]))
    return out


def brute(xa, xb):
    """Least distance by polishing many starts over (tau, s, u) of every two segments in every step."""
    best = np.inf
    grid = np.stack(np.meshgrid(*[np.linspace(0, 1, 5)] * 3), axis=-1).reshape(-1, 3)
    for k in range(len(xa) - 1):
        for i in range(xa.shape[1] - 1):
            for j in range(xb.shape[1] - 1):

                def squared(w, k=k, i=i, j=j):
                    p, q = at_moment((xa, xb), k, w[0], w[1], w[2], i, j)
                    return float(np.sum((p - q) ** 2))

                values = [squared(w) for w in grid]
                for w in grid[np.argsort(values)[:3]]:
                    best = min(best, minimize(squared, w, bounds=[(0, 1)] * 3, options={"ftol": 1e-16}).fun)
    return np.sqrt(best)


coordinate = st.integers(-80, 80).map(lambda v: v / 8)
depth = st.integers(0, 160).map(lambda v: v / 8)
node = st.tuples(coordinate, coordinate, depth)


@settings(max_examples=40, deadline=None, phases=(Phase.explicit, Phase.reuse, Phase.generate))
@given(st.lists(node, min_size=12, max_size=12))
def test_any_motion_against_brute_force(nodes):
    xa = np.array(nodes[:6]).reshape(2, 3, 3)
    xb = np.array(nodes[6:]).reshape(2, 3, 3)
    x = np.stack([xa, xb], axis=1)
    arc = np.tile(np.array([0.0, 5.0, 10.0]), (2, 1))
    row = strands(x[0])
    row = Strands(row.n_nodes, arc, row.body_node, row.leader, row.owner)
    found = closest(x, np.arange(2.0), row, NO_TAPER)
    # What is found is there at the moment it says, and no search from many starts finds less.
    tau = found.time_s[0, 0]
    then = nearest((1 - tau) * x[0] + tau * x[1], np.array([3, 3]))
    assert found.distance_m[0, 0] == pytest.approx(then.distance_m[0], abs=1e-9)
    assert found.distance_m[0, 0] <= brute(xa, xb) + 1e-7


def drifting_chains(rng, rows=5, nodes=9, samples=40):
    """Chains that lie astern, swing and sink by smooth waves while the boat runs a bend: all wet."""
    arc = np.linspace(0, 60, nodes)
    t = np.arange(samples, dtype=float)
    heading = 0.02 * t
    track = np.stack([50 * np.sin(heading), 50 * (1 - np.cos(heading)), heading], axis=1)
    x = np.empty((samples, rows, nodes, 3))
    for r in range(rows):
        swing, sink, beat = rng.normal(0, 0.1), rng.uniform(0.15, 0.6), rng.uniform(0.02, 0.1)
        for k in range(samples):
            lateral = 1.2 * (r - rows / 2) + arc * (swing + 0.15 * np.sin(beat * k + r))
            astern = arc * 0.8
            c, s = np.cos(heading[k]), np.sin(heading[k])
            x[k, r, :, 0] = track[k, 0] - c * astern - s * lateral
            x[k, r, :, 1] = track[k, 1] - s * astern + c * lateral
            x[k, r, :, 2] = 0.2 + arc * sink * (1 + 0.2 * np.sin(0.07 * k + 2 * r))
    return x, t, np.tile(arc, (rows, 1))


def least_ratio_by_sampling(x, strand, required, a, b, parts=30):
    """Ratio at dense moments and places by a plain scan, polished in time: slow, and its own code."""
    full = np.where(strand.leader[a][:, None] | strand.leader[b][None, :], required.tackle_m, required.line_m)
    arc = strand.arc_m
    reach = min(required.taper_m, 0.5 * min(arc[a, -1], arc[b, -1]))
    half = 0.5 * np.linalg.norm(x[0, a, 0] - x[0, b, 0])
    w = np.linspace(0, 1, parts + 1)

    def ratio_at(moment):
        k = min(int(moment), len(x) - 2)
        tau = moment - k
        now = (1 - tau) * x[k] + tau * x[k + 1]
        pa = now[a, :-1, None] + w[None, :, None] * (now[a, 1:] - now[a, :-1])[:, None]
        pb = now[b, :-1, None] + w[None, :, None] * (now[b, 1:] - now[b, :-1])[:, None]
        sa = arc[a, :-1, None] + w * np.diff(arc[a])[:, None]
        sb = arc[b, :-1, None] + w * np.diff(arc[b])[:, None]
        d = np.linalg.norm(pa[:, :, None, None] - pb[None, None], axis=-1)
        s = np.maximum(sa[:, :, None, None], sb[None, None])
        f = full[:, None, :, None]
        start = np.minimum(f, half)
        need = np.where(s >= reach, f, start + (f - start) * s / reach)
        return float((d / need).min())

    moments = np.linspace(0, len(x) - 1, 4 * (len(x) - 1) + 1)
    values = [ratio_at(m) for m in moments]
    m = moments[int(np.argmin(values))]
    span = (max(m - 0.25, 0), min(m + 0.25, len(x) - 1 - 1e-9))
    return min(min(values), minimize_scalar(ratio_at, bounds=span, method="bounded").fun)


@pytest.mark.parametrize("seed", [1])
def test_swinging_chains_against_a_plain_scan(seed):
    rng = np.random.default_rng(seed)
    x, t, arc = drifting_chains(rng, rows=4)
    row = strands(x[0], leader_at=[(0, 7), (2, 6), (2, 7)])
    row = Strands(row.n_nodes, arc, row.body_node, row.leader, row.owner)
    found = closest(x, t, row, Required())
    for p, (a, b) in enumerate(found.pairs):
        reference = least_ratio_by_sampling(x, row, Required(), a, b)
        # The scan sees points every 25 cm along the lines, so that it can only be too high, by some cm.
        assert found.ratio[0, p] <= reference + 1e-6
        assert found.ratio[0, p] >= reference - 0.25


def test_a_mark_behind_a_chains_end_says_nothing_of_its_lure():
    a = np.vstack([straight((0, 0, 10), (-20, 0, 10), 3), [(-20, 0, 10)]])  # three nodes; the fourth is not in use
    b = straight((0, 1, 10), (-30, 1, 10), 4)
    x, t = still([a, b])
    for marked in ([], [(0, 2)]):
        row = strands([a, b], body_at=[(0, 2)], leader_at=marked)
        row = Strands(np.array([3, 4]), row.arc_m, row.body_node, row.leader, row.owner)
        found = closest(x, t, row, NO_TAPER)
        assert found.required_m[0, 0] == 1.5
        assert found.ratio[0, 0] == pytest.approx(1 / 1.5, abs=EXACT)
        assert found.where_m[0, 0] == pytest.approx([-20, 0, 10])


@pytest.mark.parametrize("seed", range(5))
def test_pruning_changes_nothing(seed):
    """A single step at a time has nothing to skip; the whole run must give the same least values."""
    rng = np.random.default_rng(seed)
    x, t, arc = drifting_chains(rng)
    row = strands(x[0], leader_at=[(0, 7), (3, 6), (3, 7)], body_at=[(1, 4)])
    row = Strands(row.n_nodes, arc, row.body_node, row.leader, row.owner)
    whole = closest(x, t, row, Required())
    pieces = [closest(x[k : k + 2], t[k : k + 2], row, Required()) for k in range(len(t) - 1)]
    least = np.min([p.ratio for p in pieces], axis=0)
    assert whole.ratio == pytest.approx(least, abs=1e-9)
    first = np.nanmin([np.where(np.isnan(p.undercut_s), np.inf, p.undercut_s) for p in pieces], axis=0)
    seen = np.where(np.isnan(whole.undercut_s), np.inf, whole.undercut_s)
    assert np.isfinite(first).tolist() == np.isfinite(seen).tolist()
    assert seen[np.isfinite(seen)] == pytest.approx(first[np.isfinite(first)], abs=1.0)
    assert whole.looks < 0.5 * sum(p.looks for p in pieces)


def test_looks_are_those_of_all_members():
    x, t, arc = drifting_chains(np.random.default_rng(2))
    row = strands(x[0])
    row = Strands(row.n_nodes, arc, row.body_node, row.leader, row.owner)
    one, two = closest(x, t, row, Required()), closest(np.stack([x, x], axis=1), t, row, Required())
    assert two.looks == 2 * one.looks > 0
    assert two.ratio.tolist() == [one.ratio[0].tolist()] * 2


@pytest.mark.parametrize("seed", range(5))
def test_what_is_under_the_ratio_to_resolve_is_exact(seed):
    rng = np.random.default_rng(seed)
    x, t, arc = drifting_chains(rng)
    row = strands(x[0], leader_at=[(0, 7), (3, 6), (3, 7)])
    row = Strands(row.n_nodes, arc, row.body_node, row.leader, row.owner)
    exact = closest(x, t, row, Required())
    quick = closest(x, t, row, Required(), resolve=1.5)
    under = exact.ratio < 1.5
    assert quick.ratio[under] == pytest.approx(exact.ratio[under], abs=1e-12)
    assert np.array_equal(quick.undercut_s, exact.undercut_s, equal_nan=True)
    assert (quick.ratio[~under] >= exact.ratio[~under]).all()
    assert quick.looks < exact.looks


def test_tackle_that_comes_a_little_nearer_within_a_step_is_found_there():
    """From 0.1 m astern of the other to 0.5 m ahead of it, 1.5 m away: least a sixth of the step in."""
    a, b = straight((0, 0, 0), (0, 0, 20), 2), straight((-0.1, 1.5, 0), (-0.1, 1.5, 20), 2)
    x = np.stack([np.stack([a, b]), np.stack([a, b + np.array([0.6, 0, 0])])])
    found = closest(x, np.array([0.0, 6.0]), strands([a, b], leader_at=[(0, 0)]), NO_TAPER)
    assert found.distance_m[0, 0] == pytest.approx(1.5, abs=1e-9)
    assert found.time_s[0, 0] == pytest.approx(1.0, abs=1e-4)


def test_lines_from_one_tip_are_asked_for_nothing_there_and_for_ever_more_from_there_on():
    """A hundredth of the arc is required, up to 0.3 m at 30 m; they are half of that apart."""
    out = np.array([0.0, 10.0, 20.0, 40.0])
    a, b = (np.stack([-out, side * 0.0025 * out, 0 * out + 5.0], axis=1) for side in (-1.0, 1.0))
    x, t = still([a, b])
    arc = np.tile(out, (2, 1))
    rows = replace(strands([a, b]), arc_m=arc, whole_m=np.full(2, 80.0))
    found = closest(x, t, rows, Required())
    assert found.ratio[0, 0] == pytest.approx(0.5, rel=1e-5)
    assert found.distance_m[0, 0] == pytest.approx(0.5 * found.required_m[0, 0], rel=1e-5)
    assert found.arc_m[0, 0].max() == pytest.approx(10.0)
    assert found.verdict[0, 0] == Verdict.TOUCH, "the nearest are 5 cm apart"
    assert found.passed[0, 0] == 0


def test_members_are_independent():
    rng = np.random.default_rng(5)
    x0, t, arc = drifting_chains(rng)
    x1, _, _ = drifting_chains(rng)
    row = strands(x0[0])
    row = Strands(row.n_nodes, arc, row.body_node, row.leader, row.owner)
    both = closest(np.stack([x0, x1], axis=1), t, row, Required())
    for m, x in enumerate((x0, x1)):
        alone = closest(x, t, row, Required())
        assert (both.ratio[m] == alone.ratio[0]).all()
        assert np.array_equal(both.where_m[m], alone.where_m[0])


@pytest.mark.parametrize("leaders", [[], [(0, 1)], [(1, 1)], [(0, 1), (1, 1)]])
def test_tackle_on_either_line_asks_for_its_distance(leaders):
    """Two lines that hang 1 m apart: nearer than tackle may come, farther than line may."""
    a, b = straight((0, 0, 0), (0, 0, 20)), straight((1, 0, 0), (1, 0, 20))
    x, t = still([a, b])
    found = closest(x, t, strands([a, b], leader_at=leaders), NO_TAPER)
    required = 1.5 if leaders else 0.3
    assert found.ratio[0, 0] == pytest.approx(1.0 / required)
    assert found.verdict[0, 0] == (Verdict.NEAR_PASS if leaders else Verdict.CLEAR_OF_EACH_OTHER)
    assert np.isnan(found.apart_again_s[0, 0]) or not np.isfinite(found.apart_again_s[0, 0])
