"""A current that the legs taught later goes back over them: hits before it get what is believed now."""

from __future__ import annotations

import math

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.memory.current_carried_back import SAYS
from watch.boat.test_through_water import CURRENT_M_S, THROUGH_M_S, Legs


@pytest.mark.parametrize("log", [None, 1.0])
def test_hits_before_the_turn_get_the_speed_and_depth_now_believed(two_rods: Spread, log: float | None) -> None:
    legs = Legs(new_watch(Setup(two_rods, start="fishing", members=8)), log=log)
    legs.go(200)
    hit = legs.act("hit", rod="2")
    legs.go(2)
    legs.act("outcome", of=hit, outcome="no fish")
    legs.go(1)
    then, was = legs.watch.memory.hits.rows[0], legs.watch.memory.fishing.since()[-1]
    legs.go(240, math.pi)
    now = legs.watch.memory.hits.rows[0]
    assert then.boat is not None
    assert now.boat is not None
    assert then.rod_row is not None
    assert now.rod_row is not None
    if log is not None:
        assert now == then, "a paddle wheel needs no current"
        return
    assert then.speed_by == ""
    assert then.boat.speed_m_s == pytest.approx(THROUGH_M_S + CURRENT_M_S, abs=0.06)
    assert now.speed_by == SAYS
    assert now.boat.speed_m_s == pytest.approx(THROUGH_M_S, abs=0.06)
    # She went slower than was thought, so the ball's lure ran deeper: as deep as it runs on the leg back.
    picture = legs.watch.picture()
    back_m = picture.rods[1].depth_m
    assert back_m is not None
    assert now.rod_row.depth_m == pytest.approx(back_m, abs=0.35 * abs(back_m - (then.rod_row.depth_m or 0.0)) + 0.05)
    assert now.rod_row.depth_m > then.rod_row.depth_m
    assert picture.hits[0].depth_m == now.rod_row.depth_m
    assert picture.hits[0].note == SAYS
    # The hours are counted at the same depths as the hits.
    same = next(s for s in legs.watch.memory.fishing.since() if s.boat.at_s == was.boat.at_s)
    assert same.boat.speed_m_s == pytest.approx(THROUGH_M_S, abs=0.06)
    assert (same.rods[1].depth_m or 0.0) > (was.rods[1].depth_m or 0.0)
