"""Chains as rows of arrays: several lots of them as one."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line
from sternwatch.hydro.chain.rows import _SHARED, Rows, pack, stacked

WIRE = Line(30.0, 0.5e-3, 1.6e-3, 0.0137, 4e4)
SPOON = Body(BodyKind.BLUFF, 0.02, 0.1, 0.0, 4e-4)
BALL = Body(BodyKind.BLUFF, 4.5, 40.0, 0.2, 3.1e-3)


def lot(*chains: Chain) -> Rows:
    return pack(list(chains), segments=6, density_kg_m3=1000.0, viscosity_m2_s=1.3e-6)


def test_lots_of_one_body_and_of_two_lie_in_one_and_what_is_missing_is_no_body() -> None:
    one, two = lot(Chain((0.0, 1.0, -1.0), (WIRE, SPOON))), lot(Chain((0.0, 2.0, -1.0), (WIRE, BALL, WIRE, SPOON)))
    both = stacked([one, two, one])
    assert len(both) == 3
    assert both.body_node.tolist() == [[*one.body_node[0], -1], two.body_node[0].tolist(), [*one.body_node[0], -1]]
    assert np.array_equal(both.body[1], two.body[0])
    assert np.array_equal(both.body[2, 0], one.body[0, 0])
    assert not both.body[0, 1].any()
    for field in fields(Rows):
        if field.name not in (*_SHARED, "body", "body_node"):
            own = [getattr(rows, field.name)[0].tolist() for rows in (one, two, one)]
            assert getattr(both, field.name).tolist() == own, field.name
    assert both.first_bodies.tolist() == one.body_node[0].tolist()
