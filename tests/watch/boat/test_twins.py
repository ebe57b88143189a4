"""Two sounders that contradict each other: the shallower counts until they agree again."""

from __future__ import annotations

import pytest

from sternwatch.feed.readings import Quantity
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session


def _bottom_m(watch: Watch) -> object:
    return watch.picture().sensors[Quantity.BOTTOM].value


@pytest.mark.parametrize(("one", "two"), [(20.0, 50.0), (50.0, 20.0)])
def test_the_shallower_counts_while_they_contradict_each_other(
    two_rods: Spread, hand_feed, one: float, two: float
) -> None:
    feed = hand_feed(new_watch(Setup(two_rods, Session.LIVE, start="in", members=0)))

    def run(first: float, second: float, seconds: int) -> None:
        for _ in range(seconds):
            feed.say(Quantity.BOTTOM, first, "ONE")
            feed.say(Quantity.BOTTOM, second, "TWO")
            feed.run(1)

    run(20.0, 20.5, 30)
    assert _bottom_m(feed.watch) == 20.0
    run(one, two, 20)
    assert _bottom_m(feed.watch) == 20.0
    twin = feed.watch.copy()
    assert _bottom_m(twin) == 20.0
    run(30.0, 30.5, 40)
    assert _bottom_m(feed.watch) == 30.0
    assert not [alert for alert in feed.watch.picture().alerts if alert.kind == "sensors differ"]


@pytest.mark.parametrize("deepens_m_s", [0.06, 0.12, 0.3])
def test_a_sounder_that_froze_is_told_while_the_bottom_falls_away_from_it_slowly(
    two_rods: Spread, hand_feed, deepens_m_s: float
) -> None:
    """Three metres and 12 % apart are more than two sounders differ by; half a minute went by on a slight slope."""
    feed = hand_feed(new_watch(Setup(two_rods, Session.LIVE, start="in", members=0)))
    twin = feed.watch.twins.by_quantity[Quantity.BOTTOM]
    contradict_s = (3.0 + 0.12 * 20.0) / deepens_m_s
    while not twin.stands and feed.t_s < 120.0:
        feed.say(Quantity.BOTTOM, 20.0, "ONE")
        feed.say(Quantity.BOTTOM, 20.0 + deepens_m_s * feed.t_s, "TWO")
        feed.run(1)
    assert contradict_s < feed.t_s <= contradict_s + 20.0
