"""The world as a whole: the same however it is driven, its truth apart from what is believed, its crew's time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.chains.arrays import AS_FILED, rig_of
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.world.truth import Below, TrueChain
from sternwatch.practice.world.world import World

BEGIN = 1_752_922_800
Make = Callable[..., DrillFile]


def act(elapsed_s: float, kind: str, **fields: Any) -> Action:
    moment = datetime.fromtimestamp(BEGIN + elapsed_s, UTC)
    return parse({"id": f"{kind} {elapsed_s}", "time": moment, "elapsed_s": elapsed_s, "kind": kind} | fields)


def world(file: DrillFile, spread: Spread, seed: int = 3) -> World:
    return World(file.drill, spread, seed, BEGIN)


def test_it_is_the_same_however_it_is_driven(make_drill: Make, spread: Spread) -> None:
    acts = [act(12.34, "helm", rudder_deg=-20), act(20.0, "throttle", engine="kicker", lever=0.5),
            act(25.5, "length", rod="1", line_out_m=20.0)]  # fmt: skip
    one, other = world(make_drill(), spread), world(make_drill(), spread)
    for action in acts:
        one.act(action)
    whole = one.to(40.0)
    parts = []
    for number, t in enumerate(np.arange(0.0, 40.0 + 1e-9, 0.05)):
        if number == 200:  # handed over late, but before their moment
            for action in acts:
                other.act(action)
        parts += other.to(float(t))
    assert parts == whole
    assert other.boat == one.boat
    assert other.below.places == one.below.places
    assert other.encounters.crossings == one.encounters.crossings


def test_another_seed_is_another_world(make_drill: Make, spread: Spread) -> None:
    one, other = world(make_drill(), spread, 1), world(make_drill(), spread, 2)
    assert [line.data for line in one.to(20.0)] != [line.data for line in other.to(20.0)]
    assert one.below.places["2"].depth_m != pytest.approx(other.below.places["2"].depth_m, abs=0.05)


def test_an_action_counts_from_the_first_step_at_its_moment(make_drill: Make, spread: Spread) -> None:
    made = world(make_drill(), spread)
    made.act(act(12.34, "helm", rudder_deg=30))
    made.to(12.35 + 0.2)
    assert made.t_s == pytest.approx(12.3)
    assert made.orders.rudder_deg == 0.0
    made.to(12.35 + 0.3)
    assert made.t_s == pytest.approx(12.4)
    assert made.orders.rudder_deg == 30.0


def test_the_boat_begins_at_the_speed_of_the_drill(make_drill: Make, spread: Spread) -> None:
    made = world(make_drill(('heading = "60 deg"', 'heading = "60 deg"\nspeed = "1.0 m/s"')), spread)
    made.to(60.0)
    assert made.boat.surge_m_s == pytest.approx(1.0, abs=0.05)
    assert made.boat.heading_deg == pytest.approx(60.0, abs=2.0)


def test_what_is_drawn_makes_the_truth_differ_from_the_spread_file(make_drill: Make, spread: Spread) -> None:
    made, plain = world(make_drill(), spread), world(make_drill(), spread)
    for chain in plain.below.chains.values():
        assert isinstance(chain, TrueChain)
        chain.spread = spread
        chain.drop()  # it starts again, as the spread file has it
    made.to(15.0)
    plain.to(15.0)
    for key in ("1", "2", "5"):
        nominal = rig_of(spread, spread.rod_by_key(key), AS_FILED, plain.below.water)  # type: ignore[arg-type]
        assert plain.below.chains[key].rig == nominal
        assert made.below.chains[key].rig != nominal
        assert made.below.places[key].depth_m != pytest.approx(plain.below.places[key].depth_m, abs=1e-3)


def test_a_rod_said_to_be_in_is_reeled_in_first(make_drill: Make, spread: Spread) -> None:
    made = world(make_drill(), spread)
    made.to(12.0)
    before = made.below.places["1"].depth_m
    made.act(act(12.0, "in", rod="1"))
    made.to(22.0)
    assert made.below.chains["1"].out
    assert made.below.places["1"].depth_m < before
    made.to(75.0)
    assert not made.below.chains["1"].out
    assert "1" not in made.below.places


def test_in_shallow_water_lines_touch_once_each_while_they_drag(make_drill: Make, spread: Spread) -> None:
    made = world(make_drill(more='[lake]\ndepth = "9 m"\nrelief = "0 m"\n'), spread)
    made.to(40.0)
    keys = [touch.key for touch in made.below.touches]
    assert "5" in keys  # the ball hangs at 15 m
    assert len(keys) == len(set(keys))
    deep = world(make_drill(more='[lake]\ndepth = "80 m"\nrelief = "0 m"\n'), spread)
    deep.to(40.0)
    assert deep.below.touches == []


def test_lines_hold_the_boat_back(make_drill: Make, spread: Spread) -> None:
    made = world(make_drill(), spread)
    made.to(15.0)
    assert isinstance(made.below, Below)
    pull = made.below.pull_N
    assert 20.0 < pull < 200.0
    for key in ("1", "2"):
        made.act(act(15.0, "hit", rod=key))  # a fighting diver has no chain: its fish is elsewhere
    made.to(18.0)
    assert "1" not in made.below.places
    assert 0.0 < made.below.pull_N < 0.7 * pull


def test_the_current_carries_all_of_it_over_ground(make_drill: Make, spread: Spread) -> None:
    flow = '[[current]]\ndepth = "0 m"\nspeed = "0.3 m/s"\ntowards = "90 deg"\n'
    still, moved = world(make_drill(), spread), world(make_drill(more=flow), spread)
    still.to(60.0)
    moved.to(60.0)
    assert moved.place_m[1] - still.place_m[1] == pytest.approx(0.3 * moved.t_s, abs=0.5)
    assert moved.boat.east_m == pytest.approx(still.boat.east_m, abs=0.5)


def test_a_hand_on_the_lever_counts_from_the_first_second(make_drill: Make, spread: Spread) -> None:
    made = world(make_drill(), spread)
    made.act(act(2.0, "throttle", engine="kicker", lever=0.9))
    made.to(12.0)
    assert made.orders.lever == 0.9


def test_a_rig_changed_on_the_water_is_truly_another_one(make_drill: Make, spread: Spread) -> None:
    made, other = world(make_drill(), spread), world(make_drill(), spread)
    heavy = {"heavy": {"kind": "lure", "mass": "500 g", "wet_weight": "4 N"}}
    key = next(rod.key for rod in spread.rods if made.crew.rods[rod.key].state == "fishing")
    made.act(act(5.0, "change", rod=key, what="lure", name="heavy", tackle=heavy))
    made.to(40.0)
    other.to(40.0)
    chain = made.below.chains[key]
    assert chain.rig is not None
    assert chain.rig.what[-1] == "heavy"
    assert made.below.places[key].depth_m > other.below.places[key].depth_m + 0.2
    rest = [k for k in made.below.places if k != key and made.below.chains[k].attached_to is None]
    assert rest
    # The boat feels another pull, so the other lines differ by a little.
    assert all(abs(made.below.places[k].depth_m - other.below.places[k].depth_m) < 0.5 for k in rest)


def test_a_rod_that_has_its_full_length_is_out_though_nobody_said_that_it_is_set(
    make_drill: Make, spread: Spread
) -> None:
    drill = make_drill(('time = "40 s"', 'time = "200 s"'), ('turned = "port 60 deg"', 'rods = "out"'))
    made = world(drill, spread)
    made.act(act(1.0, "in", rod="2"))
    made.act(act(40.0, "going out", rod="2"))
    made.to(60.0)
    assert made.tally.done_s is None
    made.to(150.0)
    assert made.crew.rods["2"].state == "letting out"
    assert made.tally.done_s is not None
