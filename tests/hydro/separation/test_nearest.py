"""Nearest chains at one instant: hand-built lines, and an independent minimisation."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from sternwatch.hydro.separation.distance import nearest


def straight(start, end, nodes=5):
    return np.linspace(np.asarray(start, float), np.asarray(end, float), nodes)


def test_skew_lines_have_the_known_distance():
    # Along x at depth 10, along y at depth 13.5: 3.5 m apart, under the crossing in plan.
    a = straight((-20, 0, 10), (20, 0, 10))
    b = straight((3, -20, 13.5), (3, 20, 13.5), 5)
    found = nearest(np.stack([a, b]), np.array([5, 5]))
    assert found.distance_m == pytest.approx([3.5, 3.5], abs=1e-12)
    assert list(found.other) == [1, 0]
    assert found.where_m[0] == pytest.approx([3, 0, 10])
    assert found.other_where_m[0] == pytest.approx([3, 0, 13.5])
    assert found.node[0] == pytest.approx(2.3)


def test_parallel_lines():
    a = straight((0, 0, 1), (-30, 0, 16))
    b = straight((0, 2, 1), (-30, 2, 16))
    assert nearest(np.stack([a, b]), np.array([5, 5])).distance_m == pytest.approx([2, 2], abs=1e-12)


def test_parts_above_water_do_not_count():
    # Two lines that meet at the tips, 2 m above the water, and open at 45 degrees each: 4 m apart at the surface.
    a = straight((0, 0, -2), (0, -10, 8), 2)
    b = straight((0, 0, -2), (0, 10, 8), 2)
    assert nearest(np.stack([a, b]), np.array([2, 2])).distance_m == pytest.approx([4, 4], abs=1e-12)


def test_all_above_water_or_left_out_is_unknown():
    a = straight((0, 0, 1), (-30, 0, 16))
    dry = straight((0, 1, -3), (-5, 1, -0.1))
    out = straight((0, 0.5, 1), (-30, 0.5, 16))
    found = nearest(np.stack([a, dry, out]), np.array([5, 5, 0]))
    assert np.isnan(found.distance_m).all()
    assert list(found.other) == [-1, -1, -1]
    bad = np.stack([a, out])
    bad[1, 2, 0] = np.nan
    assert list(nearest(bad, np.array([5, 5])).other) == [-1, -1]


def test_pairs_far_apart_take_nothing_from_those_that_are_near():
    rows = np.stack([straight((north, east, 1), (north, east, 20)) for north, east in
                     ((0, 0), (0, 1), (100, 0), (100, 3))])  # fmt: skip
    for order in ((0, 1, 2, 3), (3, 1, 0, 2), (2, 0, 3, 1)):
        found = nearest(rows[list(order)], np.full(4, 5))
        assert [order[k] for k in found.other] == [[1, 0, 3, 2][k] for k in order]
        assert found.distance_m == pytest.approx([[1, 1, 3, 3][k] for k in order])


def test_rows_of_one_owner_are_not_tested_against_each_other():
    a = straight((0, 0, 1), (0, 0, 20))
    rod_line = straight((0, 0.4, 1), (0, 0, 20))
    b = straight((0, 3, 1), (0, 3, 20))
    found = nearest(np.stack([a, b, rod_line]), np.array([5, 5, 5]), np.array([0, 1, 0]))
    assert list(found.other) == [1, 2, 1]
    assert found.distance_m == pytest.approx([3, 2.6, 2.6])


def test_no_rows():
    assert nearest(np.empty((0, 4, 3)), np.empty(0, int)).distance_m.shape == (0,)


def test_wrong_shapes_are_refused():
    with pytest.raises(ValueError, match="n_nodes"):
        nearest(np.zeros((2, 4, 3)), np.array([4, 5]))


point = st.tuples(*[st.floats(-30, 30)] * 2, st.floats(0, 30))


@settings(max_examples=150, deadline=None)
@given(st.tuples(point, point, point, point))
def test_two_segments_against_bounded_minimisation(ends):
    p, q, r, s = (np.array(e) for e in ends)

    def squared(w):
        return float(np.sum((p + w[0] * (q - p) - r - w[1] * (s - r)) ** 2))

    fine = {"ftol": 1e-15, "gtol": 1e-12}
    reference = min(
        minimize(squared, start, bounds=[(0, 1), (0, 1)], method="L-BFGS-B", options=fine).fun
        for start in ((0.5, 0.5), (0.0, 1.0), (1.0, 0.0))
    )
    found = nearest(np.stack([np.stack([p, q]), np.stack([r, s])]), np.array([2, 2])).distance_m[0]
    # The search stops where the squared distance stops changing: 1e-4 m near contact, rounding elsewhere.
    assert found <= np.sqrt(reference) + 1e-9
    assert found == pytest.approx(np.sqrt(reference), abs=2e-4)


def test_where_two_rows_are_nearest_is_told_from_either_side():
    """A line askew that passes 2 m over one along north: both places, and how far along each they are."""
    low = straight((0.0, 0.0, 12.0), (40.0, 0.0, 12.0))
    high = straight((5.0, -8.0, 6.0), (21.0, 24.0, 14.0))
    found = nearest(np.array([high, low]), np.array([5, 5]))
    way, along = high[-1] - high[0], np.array([1.0, 0.0, 0.0])
    # The common perpendicular: (high + share way - low) has no part along either.
    a = np.array([[way @ way, -way @ along], [way @ along, -along @ along]])
    b = np.array([-(high[0] - low[0]) @ way, -(high[0] - low[0]) @ along])
    share, north = np.linalg.solve(a, b)
    over, under = high[0] + share * way, low[0] + north * along
    assert found.distance_m == pytest.approx(np.linalg.norm(over - under))
    assert found.where_m == pytest.approx(np.array([over, under]))
    assert found.other_where_m == pytest.approx(np.array([under, over]))
    assert found.node == pytest.approx([4.0 * share, 4.0 * north / 40.0])
    assert found.other.tolist() == [1, 0]


@pytest.mark.parametrize(
    ("positions", "counts", "owners"),
    [((2, 15), (2,), (2,)), ((2, 5, 2), (2,), (2,)), ((2, 5, 3), (3,), (2,)), ((2, 5, 3), (2,), (1,))],
)
def test_arrays_that_do_not_belong_together_are_refused(positions, counts, owners):
    with pytest.raises(ValueError, match="rows differ"):
        nearest(np.zeros(positions), np.full(counts, 5), np.arange(owners[0]))


@pytest.mark.parametrize("n_nodes", [(5, 6), (-1, 5)])
def test_more_nodes_than_there_are_are_refused(n_nodes):
    lines = np.stack([straight((0, 0, 1), (-30, 0, 16)), straight((0, 2, 1), (-30, 2, 16))])
    with pytest.raises(ValueError, match=r"^n_nodes outside 0\.\.5$"):
        nearest(lines, np.array(n_nodes))
