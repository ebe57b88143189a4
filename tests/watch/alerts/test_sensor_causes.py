"""Two sensors of one thing that contradict each other, and a bottom long lost, are cautions on the helm in time."""

from __future__ import annotations

import pytest

from sternwatch.feed.readings import Quantity
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.alert import Priority
from sternwatch.watch.picture.model import Session

FT = 0.3048


@pytest.fixture
def feed(two_rods: Spread, hand_feed):
    return hand_feed(new_watch(Setup(two_rods, Session.LIVE, start="in", members=0)))


def _run(feed, quantity, one, two, seconds):
    """Seconds from the first second reading until it is said; None where it is not."""
    begun_s = feed.t_s
    for _ in range(seconds):
        feed.say(quantity, one, "ONE")
        feed.say(quantity, two, "TWO")
        feed.run(1)
        if any(alert.kind == "sensors differ" for alert in feed.watch.picture().alerts):
            return feed.t_s - begun_s
    return None


@pytest.mark.parametrize(
    ("quantity", "one", "two"),
    [
        (Quantity.BOTTOM, 65 * FT, 165 * FT),
        (Quantity.BOTTOM, 165 * FT, 65 * FT),
        (Quantity.BOTTOM, 20 * FT, 120 * FT),
        (Quantity.WATER_TEMPERATURE, 8.0, 12.5),
    ],
)
def test_two_that_contradict_each_other_are_said_within_twenty_seconds(feed, quantity, one, two):
    after = _run(feed, quantity, one, two, 25)
    assert after is not None
    assert after <= 20
    (alert,) = [a for a in feed.watch.picture().alerts if a.kind == "sensors differ"]
    assert alert.priority is Priority.CAUTION
    assert "\n" not in alert.text
    assert "contradict each other" in alert.text
    assert all(name in alert.text for name in ("ONE", "TWO"))


@pytest.mark.parametrize(
    ("quantity", "one", "two"),
    [
        (Quantity.BOTTOM, 60.0, 65.0),  # two beams on a slope
        (Quantity.BOTTOM, 6.0, 8.0),  # below the keel, below the surface
        (Quantity.WATER_TEMPERATURE, 8.0, 10.0),
    ],
)
def test_two_that_differ_as_two_do_are_not(feed, quantity, one, two):
    assert _run(feed, quantity, one, two, 40) is None


def test_no_bottom_for_a_minute_is_said_with_rods_fishing_alone(two_rods: Spread, hand_feed):
    said = {}
    for start in ("in", "fishing"):
        feed = hand_feed(new_watch(Setup(two_rods, Session.LIVE, start=start, members=0)))
        feed.run(3, bottom=20.0)
        feed.run(55)
        assert not [a for a in feed.watch.picture().alerts if a.kind == "no bottom"]
        feed.run(8)
        said[start] = [a.priority for a in feed.watch.picture().alerts if a.kind == "no bottom"]
    assert said == {"in": [], "fishing": [Priority.CAUTION]}
