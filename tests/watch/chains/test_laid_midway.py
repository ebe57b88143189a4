"""A clipped rod laid while the members are under way, each with a boat of its own."""

from __future__ import annotations

import numpy as np
import pytest

from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from watch.conftest import STACKED, HandFeed

ABOVE_M = 15 * 0.3048


@pytest.mark.parametrize("heading_deg", [0.0, 120.0])
def test_every_members_line_begins_where_its_own_cable_is_from_the_first_moment(heading_deg: float) -> None:
    """Members' boats are apart by then, and their cables trail at angles of their own."""
    feed = HandFeed(new_watch(Setup(parse_spread(STACKED), start="fishing", members=4)))
    feed.heading_deg = heading_deg
    feed.run(90, sog=1.1, stw=1.0)
    chains, beliefs = feed.watch.chains.by_key, feed.watch.chains.beliefs
    assert beliefs is not None
    assert np.ptp(beliefs.apart(feed.watch.boat), axis=0).max() > 0.5
    chains["5"].drop()
    feed.run(1, sog=1.1, stw=1.0)
    carrier, clipped = chains["4"].members, chains["5"].members
    assert carrier is not None
    assert clipped is not None
    clips = carrier.clips(ABOVE_M)
    assert clips is not None
    assert np.ptp(clips, axis=0).max() > 0.5
    assert clipped.state.position_m[:, 0] == pytest.approx(clips, abs=1e-3)
