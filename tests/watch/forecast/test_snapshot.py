"""The outlook's fleet lies exactly where the live members lie, and is towed on from there."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.priors import DECIDING, MEMBERS
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.boat.manoeuvres import hold, path_of
from sternwatch.watch.chains.ensemble import run
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.snapshot import Casting, snapshot


def test_the_fleet_is_the_live_members_and_goes_on_as_they_do(player: Player) -> None:
    player.to(480.0)
    now = snapshot(player.watch)
    assert now is not None
    fleet = Casting().fleet(now)
    cast = fleet.cast
    assert set(cast.keys) == {key for key, chain in player.watch.chains.items() if chain.members is not None}
    for rod, key in enumerate(cast.keys):
        members = player.watch.chains[key].members
        assert members is not None
        nodes = int(members.rows.n_nodes[0])
        for member in range(cast.members):
            row = member * cast.rods + rod
            assert int(cast.rows.n_nodes[row]) == nodes
            assert np.array_equal(fleet.state.position_m[row, :nodes], members.state.position_m[member, :nodes])
            assert np.array_equal(fleet.state.velocity_m_s[row, :nodes], members.state.velocity_m_s[member, :nodes])
    done = run(fleet, path_of(hold(), heading_rad=now.heading_rad, speed_m_s=now.speed_m_s))
    assert done.known.all()
    # Straight on, half a minute later, the lures lie about as deep as they do live then.
    player.to(510.0)
    at = int(np.searchsorted(done.path.time_s, 30.0))
    for rod, key in enumerate(cast.keys):
        place = player.watch.chains[key].place
        if place is None:
            continue
        last = int(cast.rows.n_nodes[rod]) - 1
        forecast = float(np.median(done.positions_m[at, :, rod, last, 2]))
        live = float(np.median(player.watch.chains[key].members.state.position_m[:, last, 2]))  # type: ignore[union-attr]
        assert abs(forecast - live) < 1.0, key


def test_with_speed_over_ground_alone_every_member_goes_on_with_its_own_current(
    two_rods: Spread, hand_feed: type[Any]
) -> None:
    """Where a member believes the surface drifts otherwise, its boat and its lines go on as they do live."""
    feed = hand_feed(new_watch(Setup(two_rods, start="fishing")))
    feed.run(240, stw=None, sog=1.03)
    now = snapshot(feed.watch)
    assert now is not None
    fleet = Casting().fleet(now)
    done = run(fleet, path_of(hold(), heading_rad=now.heading_rad, speed_m_s=now.speed_m_s))
    beside = done.track[-1, :, 1] - done.track[0, :, 1]
    assert np.ptp(beside) > 0.1 * done.path.time_s[-1]  # what they believe differs by more than 0.1 m/s abeam
    feed.run(60, stw=None, sog=1.03)
    at = int(np.searchsorted(done.path.time_s, 60.0))
    assert done.path.time_s[at] == pytest.approx(60.0)
    beliefs = feed.watch.chains.beliefs
    assert done.track[at, :, :2] == pytest.approx(beliefs.place_m[:MEMBERS], abs=0.2)
    for rod, key in enumerate(fleet.cast.keys):
        members = feed.watch.chains[key].members
        last = int(fleet.cast.rows.n_nodes[rod]) - 1
        ahead = done.positions_m[at, :, rod, last] - done.track[at] * [1.0, 1.0, 0.0]
        live = members.state.position_m[:MEMBERS, last] - np.pad(beliefs.place_m[:MEMBERS], ((0, 0), (0, 1)))
        assert ahead == pytest.approx(live, abs=0.3), key


def test_without_speed_there_is_nothing_to_look_ahead_from(player: Player) -> None:
    player.to(1.0)
    assert snapshot(player.watch) is None


def test_of_the_members_behind_a_depth_the_first_forty_eight_decide(two_rods: Spread, hand_feed: type[Any]) -> None:
    feed = hand_feed(new_watch(Setup(two_rods, start="fishing", members=DECIDING + 2)))
    feed.run(3, stw=1.03, sog=1.03)
    now = snapshot(feed.watch)
    assert now is not None
    assert {len(state) for state in now.states.values()} == {DECIDING}
    fleet = Casting().fleet(now)
    assert fleet.cast.members == MEMBERS
    assert fleet.reserve is not None
    further = fleet.reserve.of(fleet.cast.keys[:1])
    assert further is not None
    assert further.cast.members == DECIDING - MEMBERS
    assert np.array_equal(further.boat_m, feed.watch.chains.beliefs.place_m[MEMBERS:DECIDING])
