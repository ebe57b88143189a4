"""Letting out and reeling in: mass and shape kept, the rest as it lies."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline

from hydro.uncompiled import plain
from sternwatch.hydro.chain.forces import L_MASS
from sternwatch.hydro.chain.rows import Rows
from sternwatch.hydro.motion.fleet import State, change_length, run, settle, start, step, with_lengths
from sternwatch.hydro.motion.length import SHORTEST_M, _wanted, moved, relay, scale_first_line


def length(rows: Rows, state: State, row: int = 0) -> float:
    return float(state.rest_m[row, : rows.first_segments[row]].sum())


def tow(rows: Rows, state: State, rate: float, seconds: int, speed: float = 1.1, begin: float = 0.0) -> None:
    for k in range(seconds):
        tips = rows.tip_m + np.array([begin + speed * (k + 1), 0.0, 0.0])
        rods = rows.rod_tip_m + np.array([begin + speed * (k + 1), 0.0, 0.0])
        status = step(rows, state, tips, 1.0, rod_line_tips_m=rods, length_rate_m_s=np.full(len(rows), rate))
        assert not status.any()


@pytest.mark.parametrize("rate", [0.5, -0.5])
@pytest.mark.parametrize("rig", ["diver", "downrigger", "lead_core", "reference"])
def test_ends_where_a_chain_of_that_length_lies(rig: str, rate: float, rigs: SimpleNamespace) -> None:
    """20 m out (or in) at 0.5 m/s, then five minutes: as one packed and settled at the new length, to 3 cm."""
    make = getattr(rigs, rig)
    chain = make() if rig == "reference" else make(1.0)
    first = chain.items[0]
    other = type(chain)(
        chain.tip_m, (type(first)(first.length_m + 20.0 * np.sign(rate), *_rest(first)), *chain.items[1:])
    )
    rows, wanted = rigs.packed(chain), rigs.packed(other)
    state = settle(rows, 0.0, 1.1)
    tow(rows, state, rate, 40)
    assert length(rows, state) == pytest.approx(first.length_m + 20.0 * np.sign(rate), rel=1e-9)
    tow(rows, state, 0.0, 300, begin=44.0)
    end = state.position_m[0, -1] - [1.1 * 340, 0.0, 0.0]
    assert end == pytest.approx(settle(wanted, 0.0, 1.1).position_m[0, -1], abs=0.03)


def _rest(line: object) -> list[float]:
    return [getattr(line, name) for name in line.__slots__ if name != "length_m"]  # type: ignore[attr-defined]


def test_mass_is_kept_and_grows_by_what_is_let_out(rigs: SimpleNamespace) -> None:
    rows = rigs.packed(rigs.lead_core(1.0))
    state = settle(rows, 0.0, 1.1)

    def mass() -> float:
        return float((state.rest_m * rows.line[..., L_MASS]).sum())

    before = mass()
    tow(rows, state, 0.7, 30)
    assert mass() - before == pytest.approx(21.0 * rows.line[0, 0, L_MASS], rel=1e-12)
    beyond = int(rows.first_segments[0])
    assert np.array_equal(state.rest_m[0, beyond:], rows.rest_m[0, beyond:])


def test_laying_nodes_anew_follows_the_curve(rigs: SimpleNamespace) -> None:
    """A diver's curve in a turn: the new nodes are within 2 cm of the old polygon's curve, the rest does not move."""
    rows, fine = rigs.packed(rigs.diver(1.0)), rigs.packed(rigs.diver(1.0), segments=96)
    state, true = settle(rows, 0.0, 1.1), settle(fine, 0.0, 1.1)
    m = int(rows.first_segments[0])
    old, kept = state.position_m[0].copy(), state.rest_m[0].copy()
    lengths = np.full(m, kept[:m].sum() / (m + 1))
    lengths[0] *= 2.0
    relay(m, state.rest_m[0], state.tension_N[0], state.curves(0), lengths)
    assert state.rest_m[0].sum() == pytest.approx(kept.sum(), rel=1e-12)
    assert np.array_equal(state.position_m[0, m:], old[m:])
    assert np.array_equal(state.position_m[0, 0], old[0])
    dense = true.position_m[0]
    for node in state.position_m[0, 1:m]:
        k = int(np.argmin(np.linalg.norm(dense - node, axis=1)))
        along = dense[k + 1] - dense[k - 1]
        off = node - dense[k - 1] - (node - dense[k - 1]) @ along / (along @ along) * along
        assert np.linalg.norm(off) < 0.02


def test_cubics_are_exact_on_parabolas_and_at_nodes() -> None:
    old = np.array([0.0, 1.0, 2.5, 3.0, 5.0])
    new = np.array([1.7, 2.5, 2.9])
    made = moved(old, new, np.stack([old, old**2, 3.0 - old**2], axis=1))
    assert made == pytest.approx(np.stack([new, new**2, 3.0 - new**2], axis=1), abs=1e-12)
    any_curve = np.array([[1.0, 2.0, 0.5], [4.0, -1.0, 2.0], [3.0, 0.0, 9.0], [1.0, 1.0, 1.0], [0.0, 7.0, 2.0]])
    assert moved(old, old, any_curve) == pytest.approx(any_curve, abs=1e-12)


def test_cubics_are_those_of_scipy_with_the_slopes_of_numpy() -> None:
    """Hermite's between nodes; slopes of second order within, the straight ones at the ends."""
    random = np.random.default_rng(7)
    for nodes in (2, 3, 8):
        old, curve = np.cumsum(random.uniform(0.3, 2.0, nodes)), random.normal(size=(nodes, 3))
        new = np.sort(np.append(random.uniform(old[0], old[-1], 20), old))
        theirs = CubicHermiteSpline(old, curve, np.gradient(curve, old, axis=0))
        assert moved(old, new, curve) == pytest.approx(theirs(new), abs=1e-12)
        outside = np.array([old[0] - 1.0, old[-1] + 1.0])
        assert moved(old, outside, curve) == pytest.approx(curve[[0, -1]], abs=1e-12)


def test_tensions_go_with_the_middles_of_their_segments() -> None:
    """Straight between the old middles, even beyond the first and last; segments beyond the Line keep theirs."""
    random = np.random.default_rng(8)
    for segments in (1, 2, 7):
        rest, new = random.uniform(0.5, 2.0, segments + 2), random.uniform(0.5, 2.0, segments)
        new *= rest[:segments].sum() / new.sum()
        tension = random.normal(size=segments + 2)
        ends = [np.concatenate([[0.0], np.cumsum(way)]) for way in (rest[:segments], new)]
        old_middles, middles = (0.5 * (way[1:] + way[:-1]) for way in ends)
        wanted = np.append(np.interp(middles, old_middles, tension[:segments]), tension[segments:])
        curves = tuple(random.normal(size=(segments + 3, 3)) for _ in range(4))
        own = [np.vstack([moved(*ends, c[: segments + 1])[:segments], c[segments:]]) for c in curves]
        kept = rest[segments:].copy()
        relay(segments, rest, tension, curves, new)
        assert tension == pytest.approx(wanted, abs=1e-12)
        assert rest == pytest.approx(np.append(new, kept), abs=0.0)
        for made, should in zip(curves, own, strict=True):
            assert made == pytest.approx(should, abs=1e-12)


@pytest.mark.parametrize(
    ("rest_m", "change_m", "change", "first", "each"),
    [
        # a first segment from half to twice the others' length: its nodes stay
        ((3.9, 2.0, 2.0, 2.0), 0.1, 0.1, 0.0, 0.0),
        ((3.9, 2.0, 2.0, 2.0), 0.3, 0.3, 2.25, 2.55),
        ((1.1, 2.0, 2.0, 2.0), -0.1, -0.1, 0.0, 0.0),
        ((1.1, 2.0, 2.0, 2.0), -0.2, -0.2, 1.925, 1.725),
        # if it would have to begin at less than half of the others: all even now, and once more after it
        ((4.0, 1.0, 1.0, 1.0), 1.0, 1.0, 1.0, 2.0),
        ((4.0, 1.0, 1.0, 1.0), 1.04, 1.04, 1.75, 1.75),
        # a single segment has no nodes to lay
        ((4.0,), 9.0, 9.0, 0.0, 0.0),
        # no Line becomes shorter than it may
        ((0.5, 0.5), -0.9, SHORTEST_M - 1.0, SHORTEST_M / 2.0 + 1.0 - SHORTEST_M, SHORTEST_M / 2.0),
        ((SHORTEST_M / 4.0, SHORTEST_M / 4.0), -0.1, 0.0, 0.0, 0.0),
    ],
)
def test_when_nodes_are_laid_anew(
    rest_m: tuple[float, ...], change_m: float, change: float, first: float, each: float
) -> None:
    wanted = plain(_wanted)  # compiled for no test alone
    assert wanted(len(rest_m), np.array(rest_m), change_m) == pytest.approx((change, first, each))


def test_depth_has_no_jump_when_nodes_are_laid_anew(rigs: SimpleNamespace) -> None:
    """Letting out 40 m at 1 m/s second by second: the disc's depth and the pull change smoothly throughout."""
    rows = rigs.packed(rigs.diver(1.0))
    state = settle(rows, 0.0, 1.1)
    disc = int(rows.body_node[0, 0])
    depths, pulls = [], []
    for k in range(40):
        step(rows, state, rows.tip_m + np.array([1.1 * (k + 1), 0.0, 0.0]), 1.0, length_rate_m_s=np.array([1.0]))
        depths.append(float(state.position_m[0, disc, 2]))
        pulls.append(float(state.tension_N[0, 0]))
    assert np.abs(np.diff(depths, 2))[3:].max() < 0.03
    assert np.ptp(pulls[5:]) < 0.25 * np.mean(pulls[5:])


def test_from_a_metre_to_sixty_and_back(rigs: SimpleNamespace) -> None:
    """All the way out from the boat's side and in again: no step fails, and the line stays 0.5 m long at least."""
    chain = rigs.diver(1.0, out=2.0)
    rows = rigs.packed(chain)
    state = settle(rows, 0.0, 1.1)
    tow(rows, state, 1.0, 58)
    assert length(rows, state) == pytest.approx(60.0)
    tow(rows, state, -1.5, 45, begin=1.1 * 58)
    assert length(rows, state) == pytest.approx(SHORTEST_M)
    assert np.isfinite(state.position_m).all()
    assert (state.rest_m[0, : rows.first_segments[0]] > 0.0).all()


@pytest.mark.parametrize("factor", [0.7, 1.4])
def test_a_length_set_at_once_keeps_the_chain_taut(factor: float, rigs: SimpleNamespace) -> None:
    rows = rigs.packed(rigs.diver(1.0), rigs.reference())
    state = settle(rows, 0.0, 1.1)
    kept = state.copy()
    wanted = 55.0 * factor
    longer, new = change_length(rows, state, 0, wanted)
    assert np.array_equal(state.position_m, kept.position_m)
    assert np.array_equal(new.position_m[1], state.position_m[1])
    assert length(rows, new) == pytest.approx(wanted)
    assert longer.arc_m[0, rows.first_segments[0]] == pytest.approx(wanted)
    m = int(rows.first_segments[0])
    # Every segment's strain is what it was, and what lies beyond has kept its shape.
    stretch = [
        np.linalg.norm(np.diff(s.position_m[0, : rows.n_nodes[0]], axis=0), axis=1) / s.rest_m[0]
        for s in (state, new)
    ]
    assert stretch[1] == pytest.approx(stretch[0], abs=1e-12)
    assert np.diff(new.position_m[0, m:], axis=0) == pytest.approx(np.diff(state.position_m[0, m:], axis=0), abs=1e-9)
    tips = longer.tip_m + np.arange(1, 401)[:, None, None] * np.array([1.1, 0.0, 0.0])
    track = run(longer, new, tips, np.ones(400))
    assert not track.status.any()
    end = track.positions_m[-1, 0, -1] - [440.0, 0.0, 0.0]
    alone = rigs.packed(rigs.diver(1.0, out=wanted))
    assert end == pytest.approx(settle(alone, 0.0, 1.1).position_m[0, -1], abs=0.02)


def test_lengths_after_letting_out_can_be_read(rigs: SimpleNamespace) -> None:
    rows = rigs.packed(rigs.reference())
    state = settle(rows, 0.0, 1.1)
    tow(rows, state, 0.5, 10)
    assert with_lengths(rows, state).arc_m[0, -1] == pytest.approx(65.0)
    with pytest.raises(ValueError, match="at least"):
        change_length(rows, state, 0, 0.0)
    with pytest.raises(ValueError, match="at least"):
        change_length(rows, state, 0, SHORTEST_M - 1e-9)
    assert length(*change_length(rows, state, 0, SHORTEST_M)) == pytest.approx(SHORTEST_M)


def test_arcs_are_the_lengths_added_up_from_the_tip(rigs: SimpleNamespace) -> None:
    rows = rigs.packed(rigs.reference())
    state = start(rows, np.zeros((1, rows.nodes, 3)), np.zeros(3))
    state.rest_m[:] = np.arange(1.0, rows.nodes)
    made = with_lengths(rows, state)
    assert made.arc_m.tolist() == [[k * (k + 1) / 2.0 for k in range(rows.nodes)]]
    state.rest_m[:] = 7.0
    assert made.rest_m.tolist() == [list(range(1, rows.nodes))], "what is read stays as it was"


def test_a_longer_first_line_moves_all_that_hangs_on_it() -> None:
    """Two segments of it, then two of what hangs on it; the last place stands for a node that is not there."""
    curve = np.array(
        [(1.0, 0.0, 0.0), (2.0, 0.0, 1.0), (3.0, 0.0, 4.0), (4.0, 1.0, 4.0), (5.0, 1.0, 9.0), (0.0,) * 3]
    )
    scale_first_line(2, 4, 1.5, (curve,))  # type: ignore[arg-type]
    assert curve.tolist() == [
        [1.0, 0.0, 0.0], [2.5, 0.0, 1.5], [4.0, 0.0, 6.0], [5.0, 1.0, 6.0], [6.0, 1.0, 11.0], [6.0, 1.0, 11.0],
    ]  # fmt: skip


def test_a_settled_chain_has_gone_straight_on_for_the_last_second(rigs: SimpleNamespace) -> None:
    """So that the caller's first step, of a second, sees what it would after a step of its own."""
    rows = rigs.packed(rigs.reference(), segments=6)
    state = settle(rows, 0.5, 1.2, seconds=100.0)
    assert state.step_s.tolist() == [1.0]
    moved = state.position_m[0, 0] - state.before_m[0, 0]
    assert moved == pytest.approx([1.2 * np.cos(0.5), 1.2 * np.sin(0.5), 0.0])
