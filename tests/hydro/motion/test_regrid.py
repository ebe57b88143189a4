"""A chain laid on other nodes goes on as the chain that was cut that way from the start."""

from __future__ import annotations

import numpy as np
import pytest

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line
from sternwatch.hydro.chain.rows import pack
from sternwatch.hydro.motion import fleet as motion
from sternwatch.hydro.motion.regrid import regrid, with_first_line

WIRE = Line(60.0, 0.5e-3, 1.557e-3, 0.0133, 3.79e4, normal_drag=1.2)
MONO = Line(6.0, 0.5e-3, 2.2e-4, 0.0, 500.0)
BALL = Body(BodyKind.BLUFF, mass_kg=4.5, wet_weight_N=40.2, added_mass_kg=0.2, drag_area_m2=3.1e-3)
LURE = Body(BodyKind.BLUFF, mass_kg=0.01, wet_weight_N=0.02, drag_area_m2=5e-4)


def rows_of(length_m: float, segments: int = 12):  # type: ignore[no-untyped-def]
    line = Line(length_m, *(getattr(WIRE, name) for name in WIRE.__slots__[1:]))
    return pack(
        [Chain((0.0, 0.0, -1.0), (line, BALL, MONO, LURE))], segments=segments,
        density_kg_m3=1000.0, viscosity_m2_s=1.3e-6,
    )  # fmt: skip


def test_with_first_line_keeps_counts_and_what_lies_beyond() -> None:
    rows = rows_of(60.0)
    short = with_first_line(rows, 20.0)
    first = int(rows.first_segments[0])
    assert int(short.n_nodes[0]) == int(rows.n_nodes[0])
    assert short.rest_m[0, :first].sum() == pytest.approx(20.0)
    assert np.array_equal(short.rest_m[0, first:], rows.rest_m[0, first:])
    assert short.arc_m[0, -1] == pytest.approx(26.0)


def test_a_chain_laid_anew_keeps_its_shape_and_comes_to_the_same_place() -> None:
    # Cut for 10 m of line, now 40 m long: laid on the nodes of a chain cut for 40 m.
    old = with_first_line(rows_of(10.0), 40.0)
    new = rows_of(40.0)
    state = motion.settle(old, 0.0, 1.2, seconds=400.0)
    laid = regrid(state, old, new)
    last = int(old.n_nodes[0]) - 1
    assert laid.position_m[0, int(new.n_nodes[0]) - 1] == pytest.approx(state.position_m[0, last], abs=1e-9)
    reference = motion.settle(new, 0.0, 1.2, seconds=400.0)
    tip = laid.position_m[0, 0].copy()
    status = np.zeros(1)
    for _ in range(120):
        tip = tip + np.array([1.2, 0.0, 0.0])
        status += motion.step(new, laid, tip[None], 1.0)
    end = int(new.n_nodes[0]) - 1
    assert status[0] == 0
    mine = laid.position_m[0, end] - laid.position_m[0, 0]
    theirs = reference.position_m[0, end] - reference.position_m[0, 0]
    assert mine == pytest.approx(theirs, abs=0.01)


def test_a_tension_that_falls_evenly_along_a_chain_still_does_on_other_nodes() -> None:
    old, new = with_first_line(rows_of(10.0), 40.0), rows_of(40.0)
    state = motion.start(old, np.zeros((1, old.nodes, 3)), np.zeros((1, 3)))
    before, after = (_middles(rows) for rows in (old, new))
    state.tension_N[0, : len(before)] = 100.0 - 2.0 * before
    laid = regrid(state, old, new)
    # Beyond the middles of the first and last segment the nearest of them counts.
    expected = 100.0 - 2.0 * np.clip(after, before[0], before[-1])
    assert laid.tension_N[0, : len(after)] == pytest.approx(expected)


def _middles(rows):  # type: ignore[no-untyped-def]
    n = int(rows.n_nodes[0])
    return 0.5 * (rows.arc_m[0, 1:n] + rows.arc_m[0, : n - 1])
