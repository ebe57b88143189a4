"""What a console would have warned of, worked out from a recording: only feed time decides."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import made_outlooks

from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import Hit
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.snapshot import Snapshot
from sternwatch.watch.outlook.afterwards import Afterwards
from sternwatch.watch.outlook.renewal import Wishes
from sternwatch.watch.picture.outlook import Outlook

SPEED = 1.03
UNITS = SYSTEMS["us"]


class Maker:
    """Finds lines that cross between two moments, and else nothing."""

    def __init__(self, *between_s: float) -> None:
        self.between_s, self.times = between_s, []  # type: ignore[var-annotated]
        self.wishes: list[Wishes | None] = []

    def renew(self, now: Snapshot, wishes: Wishes | None = None) -> Outlook:
        self.times.append(now.t_s)
        self.wishes.append(wishes)
        if self.between_s and self.between_s[0] <= now.t_s < self.between_s[1]:
            return made_outlooks.outlook(now.t_s, 0.9)
        return Outlook(now.t_s, 0.1, (made_outlooks.hold_alone(0.0),))


@pytest.fixture
def feed(two_rods: Spread, hand_feed: type[Any]) -> Any:
    made = hand_feed(new_watch(Setup(two_rods, start="fishing", members=2)))
    made.run(90, stw=SPEED, sog=SPEED)
    return made


def sailed(feed: Any, maker: Maker, seconds: int, **how: float) -> list[tuple[str, float]]:
    looking, events = Afterwards(feed.watch.spread, UNITS, maker), []
    for _ in range(seconds):
        feed.run(1, stw=SPEED, sog=SPEED, **how)
        events += looking.look(feed.watch)
    assert looking.looks == len(maker.times)
    return [(event.state, event.elapsed_s - maker.times[0]) for event in events]


def test_a_quiet_course_is_looked_at_every_sixteen_seconds(feed: Any) -> None:
    maker = Maker()
    assert sailed(feed, maker, 50) == []
    assert [t - maker.times[0] for t in maker.times] == [0.0, 16.0, 32.0, 48.0]
    assert maker.wishes[0] is not None
    assert maker.wishes[0].limits_share_s == 0.0
    assert maker.wishes[0].alerts_only


def test_with_a_fish_on_nobody_asks_what_slowing_would_do(feed: Any) -> None:
    at_s, maker = feed.watch.now_s, Maker()
    feed.watch.act(Hit(id="fish", time=datetime(2026, 7, 18, tzinfo=UTC), elapsed_s=at_s, rod="1"))
    sailed(feed, maker, 2)
    assert feed.watch.crew.rods["1"].state == "fighting"
    assert maker.wishes
    assert not any(wishes.fish_on for wishes in maker.wishes if wishes is not None)


def test_in_a_turn_every_two(feed: Any) -> None:
    sailed(feed, Maker(), 12, turn_deg_s=2.0)  # until the rate is known
    maker = Maker()
    sailed(feed, maker, 10, turn_deg_s=2.0)
    assert [t - maker.times[0] for t in maker.times] == [0.0, 2.0, 4.0, 6.0, 8.0]


def test_a_warning_is_raised_by_the_third_look_and_goes_when_the_danger_is_over(feed: Any) -> None:
    begin_s = feed.watch.now_s
    maker = Maker(begin_s, begin_s + 30.0)
    assert sailed(feed, maker, 70) == [("active", 4.0), ("gone", 48.0)]  # 20 s after the last bad look


def test_without_anything_to_look_from_what_stood_is_gone(feed: Any) -> None:
    begin_s = feed.watch.now_s
    maker, looking = Maker(begin_s, begin_s + 900.0), Afterwards(feed.watch.spread, UNITS)
    looking._maker = maker
    events = []
    for _ in range(8):
        feed.run(1, stw=SPEED, sog=SPEED)
        events += looking.look(feed.watch)
    assert [event.state for event in events] == ["active"]
    feed.run(200, stw=None, sog=None)  # the sources are silent
    events += looking.look(feed.watch)
    assert [event.state for event in events] == ["active", "gone"]
    assert replace(events[0], state="gone", elapsed_s=events[1].elapsed_s) == events[1]
