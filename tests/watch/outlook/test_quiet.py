"""What ends the calm of a quiet course, and what is not looked at again for nothing."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import made_outlooks

from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.snapshot import Snapshot
from sternwatch.watch.outlook.lookout import Lookout
from sternwatch.watch.outlook.quiet import Pace, Seen, is_calm
from sternwatch.watch.outlook.renewal import Wishes
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import Limits, Outlook, SideLimit, SpeedLimit, Touch

SPEED = 1.03
NO_SIDE = SideLimit("port", None, None, None, None, ())
LIMITS = Limits(0.0, NO_SIDE, replace(NO_SIDE, side="starboard"), SpeedLimit(1.0, "", (), ()))


def quiet_look(t_s: float = 0.0) -> Outlook:
    return Outlook(t_s, 0.1, (made_outlooks.hold_alone(0.0),), LIMITS)


@pytest.fixture
def feed(spread: Spread, hand_feed: type[Any]) -> Any:
    made = hand_feed(new_watch(Setup(spread, start="fishing", members=2)))
    made.run(90, stw=SPEED, sog=SPEED)
    return made


@pytest.fixture
def seen(spread: Spread) -> Seen:
    rods = {"1": (60.0, 10.0, 8.0, 12.0), "2": (90.0, 25.0, 21.0, 28.0)}
    return Seen(10.0, spread, SPEED, 30.0, frozenset(), False, rods)


def test_a_quiet_course_stays_as_it_was_seen(feed: Any) -> None:
    seen = Seen.of(feed.watch)
    assert set(seen.rods) == {rod.key for rod in feed.watch.spread.rods}
    assert seen.speed_m_s == pytest.approx(SPEED, abs=0.02)
    assert (seen.fighting, seen.moving) == (frozenset(), False)
    assert {len(row) for row in seen.rods.values()} == {4}, "length, depth, and the ends of its interval"
    feed.run(1, stw=SPEED, sog=SPEED)
    now = Seen.of(feed.watch)
    assert now.t_s is not None
    assert seen.t_s is not None
    assert now.t_s > seen.t_s
    assert now.is_still(seen)


@pytest.mark.parametrize(
    ("what", "no_more"),
    [
        ("speed_m_s", 1.029), ("speed_m_s", 0.971),
        ("room_m", 10.9), ("room_m", 9.1),
    ],
)  # fmt: skip
def test_small_changes_of_speed_and_room_count_as_none(seen: Seen, what: str, no_more: float) -> None:
    before = replace(seen, speed_m_s=1.0, room_m=10.0)
    assert replace(before, **{what: no_more}).is_still(before)
    middle = getattr(before, what)
    assert not replace(before, **{what: middle + 1.2 * (no_more - middle)}).is_still(before)


def test_a_shallow_bottom_counts_in_metres(seen: Seen) -> None:
    near = replace(seen, room_m=1.0)
    assert replace(near, room_m=0.75).is_still(near)
    assert not replace(near, room_m=0.65).is_still(near)
    assert not replace(near, room_m=None).is_still(near)


@pytest.mark.parametrize("at", range(4))
def test_every_rods_length_depth_and_interval_count(seen: Seen, at: int) -> None:
    before = replace(seen, rods={"1": (60.0, 10.0, 8.0, 12.0)})
    for share, still in ((1.018, True), (0.982, True), (1.05, False), (0.95, False)):
        values = list(before.rods["1"])
        values[at] *= share
        assert replace(before, rods={"1": tuple(values)}).is_still(before) is still
    assert not replace(before, rods={"2": before.rods["1"]}).is_still(before)
    assert not replace(before, rods={"1": (60.0, 10.0)}).is_still(before)


def test_lines_that_run_fish_and_other_gear_end_it(seen: Seen, spread: Spread) -> None:
    assert not replace(seen, moving=True).is_still(seen)
    assert not replace(seen, fighting=frozenset({"1"})).is_still(seen)
    assert not replace(seen, spread=spread.model_copy()).is_still(seen)


def test_calm_is_only_what_threatens_nothing() -> None:
    quiet = quiet_look()
    assert is_calm(quiet)
    assert not is_calm(replace(quiet, limits=None))
    threatened = replace(made_outlooks.hold_alone(0.0), touches=(Touch("1", 60.0, 1.0),))
    assert not is_calm(replace(quiet, forecasts=(threatened,)))
    assert is_calm(replace(quiet, forecasts=(made_outlooks.hold_alone(0.05),)))
    assert not is_calm(replace(quiet, forecasts=(made_outlooks.hold_alone(0.07),)))
    for going in (Manoeuvre("as it goes", 1.0, 0.02), Manoeuvre("as it goes", to_speed_m_s=0.8)):
        assert not is_calm(replace(quiet, forecasts=(replace(made_outlooks.hold_alone(0.0), manoeuvre=going),)))


@pytest.mark.parametrize(
    ("rate", "past_s", "still", "due"),
    [
        (0.99, 2.5, False, False), (1.0, 2.5, False, True), (-1.0, 1.9, False, False), (None, 3.9, False, False),
        (0.0, 4.0, True, False), (0.0, 4.0, False, True), (0.0, 15.9, True, False), (0.0, 16.0, True, True),
    ],
)  # fmt: skip
def test_how_long_one_look_stands(rate: float | None, past_s: float, still: bool, due: bool) -> None:
    pace = Pace(2.0, 4.0, 16.0)
    assert pace.is_due(past_s, rate, quiet_look(), lambda: still) is due
    assert pace.is_due(past_s, rate, None, lambda: still) is (past_s >= 2.0)


def test_the_room_is_that_below_the_deepest_lure_or_the_surface_where_none_is_out(spread: Spread) -> None:
    def seen(newest_m: float | None, *depths_m: float) -> Seen:
        chains = {
            str(k): SimpleNamespace(place=SimpleNamespace(depth_m=z), members=None, past_tip_m=60.0, moving=False)
            for k, z in enumerate(depths_m)
        }
        bottom = SimpleNamespace(soundings=SimpleNamespace(newest_m=newest_m))
        boat, crew = SimpleNamespace(mean_m_s=SPEED), SimpleNamespace(rods={})
        watch: Any = SimpleNamespace(t_s=1.0, spread=spread, chains=chains, bottom=bottom, boat=boat, crew=crew)
        return Seen.of(watch)

    assert seen(30.0).room_m == 30.0
    assert seen(30.0, 0.5, 0.75).room_m == 29.25
    assert seen(30.0, 12.0, 8.0).room_m == 18.0
    assert seen(None, 12.0).room_m is None


class Maker:
    """Finds nothing, and counts how often it was asked."""

    def __init__(self) -> None:
        self.asked = 0

    def renew(self, now: Snapshot, wishes: Wishes | None = None) -> Outlook:
        del wishes
        self.asked += 1
        return quiet_look(now.t_s)


@pytest.fixture
def looking(spread: Spread) -> Iterator[tuple[Lookout, Maker, list[float]]]:
    maker, wall = Maker(), [100.0]
    one = Lookout(spread, make=lambda: maker, clock=lambda: wall[0], calm_every_s=4.0)
    yield one, maker, wall
    one.stop()


def offered(one: Lookout, watch: Watch, until: Callable[[], bool]) -> bool:
    """Offer for a fifth of a second or until it has looked."""
    for _ in range(20):
        one.offer(watch)
        if until():
            return True
        time.sleep(0.01)
    return False


def test_a_still_course_is_looked_at_every_sixteen_seconds_and_at_four_when_anything_changes(
    feed: Any, looking: tuple[Lookout, Maker, list[float]]
) -> None:
    one, maker, wall = looking
    assert offered(one, feed.watch, lambda: one.outlook is not None)
    wall[0] += 15.9
    assert not offered(one, feed.watch, lambda: maker.asked > 1)
    wall[0] += 0.2
    assert offered(one, feed.watch, lambda: maker.asked == 2 and one._idle())
    wall[0] += 4.1
    feed.run(1, stw=SPEED, sog=SPEED)
    assert not offered(one, feed.watch, lambda: maker.asked > 2)
    feed.run(12, stw=0.8 * SPEED, sog=0.8 * SPEED)
    assert offered(one, feed.watch, lambda: maker.asked == 3 and one._idle())
    feed.run(8, stw=0.6 * SPEED, sog=0.6 * SPEED)
    wall[0] += 3.9
    assert not offered(one, feed.watch, lambda: maker.asked > 3)
    wall[0] += 0.2
    assert offered(one, feed.watch, lambda: maker.asked == 4)
