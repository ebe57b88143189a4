"""A rod clipped to a downrigger's cable, towed by the watch: where it begins, and that it goes with its carrier.

The steady solver, which knows nothing of the watch, says where both lie after a long straight course.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.depths.depth import depth_answer
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.motion.rod_lines import POINTS
from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.boat.axes import to_earth
from sternwatch.watch.chains.encounters import Encounters, Sample
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from watch.conftest import STACKED, HandFeed

ABOVE_M = 15 * 0.3048


LINE = 'rod_line = { line = "mono", tip = { astern = "0 ft", abeam = "3 ft", height = "6 ft" }, pull = "12 N" }'


@pytest.fixture(scope="module")
def lined() -> Spread:
    """The stacked rods, the downrigger with a line from a rod to its ball."""
    return parse_spread(STACKED.replace('[[rod]]\nkey = "5"', f'{LINE}\n[[rod]]\nkey = "5"'))


@pytest.fixture(scope="module")
def towed(lined: Spread) -> Watch:
    """Two minutes to the north-east at 1 m/s, with three members."""
    feed = HandFeed(new_watch(Setup(lined, start="fishing", members=3)))
    feed.heading_deg = 45.0
    feed.run(120, sog=1.0, stw=1.0)
    return feed.watch


@pytest.fixture
def pair(towed: Watch) -> tuple[RodChain, RodChain]:
    chains = towed.copy().chains.by_key
    return chains["4"], chains["5"]


def test_both_lie_where_the_steady_solver_has_them(towed: Watch, lined: Spread) -> None:
    steady = {rod.key: rod for rod in depth_answer(lined, 1.0).rods}
    for key, chain in towed.chains.items():
        assert chain.place is not None
        assert (chain.why, chain.failed) == ("", 0)
        assert chain.settled
        assert chain.place.depth_m / chain.place.stretched == pytest.approx(steady[key].depth_m, abs=0.1)
        assert chain.place.astern_m == pytest.approx(steady[key].astern_m, abs=0.3)


def test_it_begins_fifteen_feet_of_cable_above_the_ball(towed: Watch, pair: tuple[RodChain, RodChain]) -> None:
    carrier, clipped = pair
    assert carrier.rows is not None
    assert carrier.state is not None
    assert clipped.state is not None
    ball = int(carrier.rows.body_node[0, 0])
    cable, rest = carrier.state.position_m[0, : ball + 1], carrier.state.rest_m[0, :ball]
    left = ABOVE_M  # walk up the cable, a segment at a time
    for k in range(ball, 0, -1):
        if left <= rest[k - 1]:
            point = cable[k] + left / rest[k - 1] * (cable[k - 1] - cable[k])
            break
        left -= rest[k - 1]
    found = carrier.cable_point(ABOVE_M)
    assert found is not None
    assert found == pytest.approx(point, abs=1e-9)
    assert clipped.state.position_m[0, 0] == pytest.approx(point, abs=1e-9)
    own = carrier.cable_point_boat(ABOVE_M)
    assert own is not None
    assert to_earth(np.array([own]), towed.boat)[0] == pytest.approx(point, abs=1e-6)
    top = carrier.cable_point(1e9)
    assert top is not None
    assert top == pytest.approx(cable[0]), "no higher than the tip"


def test_every_members_begins_on_its_own_cable(pair: tuple[RodChain, RodChain]) -> None:
    carrier, clipped = pair
    assert carrier.members is not None
    assert clipped.members is not None
    clips = carrier.members.clips(ABOVE_M)
    assert clips is not None
    assert clipped.members.state.position_m[:, 0] == pytest.approx(clips, abs=1e-9)
    assert np.ptp(clips[:, 2]) > 0.01, "cables differ"
    assert clipped.place is not None
    assert clipped.place.depth_interval_m is not None


@pytest.mark.parametrize("missing", ["rows", "state", "rig"])
def test_of_a_carrier_of_which_nothing_is_known_no_point_is(pair: tuple[RodChain, RodChain], missing: str) -> None:
    carrier, clipped = pair
    setattr(carrier, missing, None)
    assert carrier.cable_point(1.0) is None
    assert carrier.cable_point_boat(1.0) is None
    assert clipped.cable_point(1.0) is None, "it has no ball"
    assert clipped.cable_point_boat(1.0) is None
    if clipped.members is not None:
        assert clipped.members.clips(1.0) is None


def test_a_carrier_that_is_not_shown_has_no_place_to_begin_at(pair: tuple[RodChain, RodChain]) -> None:
    carrier, _ = pair
    carrier.place = None
    assert carrier.cable_point_boat(1.0) is None
    assert carrier.cable_point(1.0) is not None


def test_while_the_ball_is_up_nothing_hangs_on_its_cable(stacked: Spread, hand_feed: Callable[[Watch], Any]) -> None:
    """Both fishing, then the carrier is taken in: the clipped rod says why it has no depth."""
    from datetime import UTC, datetime

    from sternwatch.logbook.actions.kinds import parse

    feed = hand_feed(new_watch(Setup(stacked, start="fishing", members=0)))
    feed.run(20)
    assert feed.watch.chains["5"].place is not None
    time = datetime.fromtimestamp(1_784_000_000.0 + feed.t_s, UTC)
    feed.watch.act(parse({"id": "a", "time": time, "elapsed_s": feed.t_s, "kind": "in", "rod": "4"}))
    feed.run(3)
    clipped = feed.watch.chains["5"]
    assert clipped.place is None
    assert clipped.why == "rod 4 is not down"


# -- a line to a release ---------------------------------------------------------------------------------------------


def test_a_rods_line_to_its_release_is_a_chain_of_its_own(towed: Watch) -> None:
    """From the rod's tip to the ball, with as much line as lies straight between them."""
    chains = {key: chain for key, chain in towed.chains.items() if chain.rows is not None}
    made = Encounters(Required())
    for k in range(3):
        made.take(Sample.of(0.5 * k, chains, towed.boat), chains)
    with_line = [key for key, chain in chains.items() if chain.rows is not None and chain.rows.rod_node[0] >= 0]
    assert with_line == ["4"]
    strands, positions, names = made._strands(["4", "5"])
    assert names == ["4", "5", "4"]
    assert strands.owner.tolist() == [0, 0, 0], "what hangs on a cable is its carrier's"
    line, sample = positions[:, 2], made._samples[0]
    node = int(chains["4"].rows.rod_node[0])  # type: ignore[union-attr]
    tip, ball = sample.rod_tips_m["4"], sample.nodes_m["4"][node]
    assert line[0, 0] == pytest.approx(tip)
    assert line[0, POINTS - 1] == pytest.approx(ball)
    assert (line[:, POINTS:] == line[:, POINTS - 1 : POINTS]).all()
    straight = math.dist(tip, ball)
    assert strands.arc_m[2, :POINTS] == pytest.approx(np.linspace(0.0, straight, POINTS))
    assert (strands.arc_m[2, POINTS:] == straight).all()
    assert strands.n_nodes[2] == POINTS
    assert not strands.body_node[2].any()
    assert not strands.leader[2].any()
    assert strands.leader.shape[1] == strands.arc_m.shape[1] - 1
