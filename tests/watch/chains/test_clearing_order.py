"""A fish on: which lines it meets on the way in, what stays down; and the order in which all lines are pulled."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sternwatch.gear.spread_file.load import load_spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.chains.clearing_order import in_the_way, pull_place, pull_s
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, RodPicture, RodState

DEMO = Path(__file__).parents[3] / "demo_logs"


def _line(tip: tuple[float, float], end: tuple[float, float, float]) -> Any:
    """A straight chain from a rod tip (astern, abeam), 1.5 m above the water, to its end."""
    share = np.linspace(0.0, 1.0, 21)[:, None]
    return (1.0 - share) * np.array([*tip, -1.5]) + share * np.array(end)


# P HIGH, P LOW, a ball to port and one to starboard, a long line down the middle.
SHAPES = {
    "2": _line((0.0, -2.3), (50.0, -22.0, 20.0)),
    "3": _line((0.0, -2.1), (45.0, -11.0, 27.0)),
    "4": _line((0.5, -1.0), (18.0, -1.2, 22.0)),
    "5": _line((0.5, 1.0), (18.0, 1.2, 22.0)),
    "6": _line((0.0, 0.0), (110.0, 0.0, 12.0)),
}


def _without(key: str) -> dict[str, Any]:
    return {other: shape for other, shape in SHAPES.items() if other != key}


def test_a_fish_far_out_meets_what_stands_inside_it_from_the_outside_inward() -> None:
    met = in_the_way((50.0, -22.0), _without("2"))
    assert met[:2] == ("3", "4")
    assert "5" not in met


def test_a_fish_inside_does_not_meet_what_stands_outside() -> None:
    met = in_the_way((45.0, -11.0), _without("3"))
    assert "2" not in met
    assert "4" in met


def test_a_fish_astern_of_everything_meets_only_what_runs_in_the_middle() -> None:
    met = in_the_way((110.0, 0.0), _without("6"))
    assert set(met) == {"4", "5"}


def test_port_and_starboard_are_alike() -> None:
    mirrored = {key: shape * np.array([1.0, -1.0, 1.0]) for key, shape in _without("2").items()}
    assert in_the_way((50.0, 22.0), mirrored) == in_the_way((50.0, -22.0), _without("2"))


class Sea:
    """The demo's spread on a straight course, and its crew."""

    def __init__(self, feed: Any) -> None:
        self.feed, self._count = feed, 0

    def act(self, kind: str, **fields: Any) -> str:
        self._count += 1
        time = datetime.fromtimestamp(1_784_000_000.0 + self.feed.t_s, UTC)
        given = {"id": f"a{self._count}", "time": time, "elapsed_s": self.feed.t_s, "kind": kind}
        self.feed.watch.act(parse(given | fields))
        return f"a{self._count}"

    @property
    def picture(self) -> Picture:
        picture: Picture = self.feed.watch.picture()
        return picture

    def rod(self, key: str) -> RodPicture:
        return next(rod for rod in self.picture.rods if rod.key == key)


@pytest.fixture
def sea(hand_feed: Callable[[Watch], Any]) -> Sea:
    watch = new_watch(Setup(load_spread(DEMO / "evening.toml"), start="fishing", members=0))
    made = Sea(hand_feed(watch))
    made.feed.run(60, bottom=60.0)
    return made


def test_a_fish_on_a_diver_names_the_lines_between(sea: Sea) -> None:
    assert sea.picture.fights == ()
    was = sea.rod("2")
    sea.act("hit", rod="2")
    sea.feed.run(3, bottom=60.0)
    fight = sea.picture.fights[0]
    assert fight.key == "2"
    assert fight.astern_m == pytest.approx(was.astern_m, abs=0.5)
    assert fight.clear is not None
    assert fight.clear[0] == "3"
    assert not {"1", "7", "8"} & set(fight.clear)
    assert sea.rod("2").shape_m is None
    assert not fight.ball_down


def test_a_downrigger_with_a_fish_on_leaves_its_ball_down(sea: Sea) -> None:
    ball = sea.rod("4").points[0]
    hit = sea.act("hit", rod="4")
    sea.feed.run(30, bottom=60.0)
    rod = sea.rod("4")
    assert rod.state is RodState.FIGHTING
    assert rod.depth_m is None
    assert [point.what for point in rod.points] == ["ball"]
    # Without the line's pull and the lure's drag it hangs a little lower and less far aft.
    assert 0.0 < rod.points[0].depth_m - ball.depth_m < 3.0
    assert rod.points[0].astern_m < ball.astern_m
    assert rod.bottom is not None
    assert rod.bottom.what == "ball"
    assert sea.picture.fights[0].ball_down
    sea.act("outcome", of=hit, outcome="boxed")
    sea.feed.run(2, bottom=60.0)
    assert sea.rod("4").points == ()
    assert sea.picture.fights == ()


def test_dropped_it_fishes_again_with_its_whole_chain(sea: Sea) -> None:
    hit = sea.act("hit", rod="4")
    sea.feed.run(5, bottom=60.0)
    sea.act("outcome", of=hit, outcome="dropped")
    sea.feed.run(5, bottom=60.0)
    rod = sea.rod("4")
    assert rod.state is RodState.FISHING
    assert [point.what for point in rod.points] == ["ball", "spoon"]


def test_all_lines_are_pulled_boards_first_and_balls_last(sea: Sea) -> None:
    pulling = sea.picture.pulling
    assert pulling is not None
    assert set(pulling.keys[:2]) == {"1", "8"}
    assert set(pulling.keys[2:4]) == {"2", "7"}  # high divers, outermost
    assert set(pulling.keys[4:6]) == {"3", "6"}
    assert set(pulling.keys[6:]) == {"4", "5"}
    assert pulling.hands == 2  # three aboard, one steers
    whole = sum(pull_s(rod) for rod in sea.picture.rods)
    bare, board, ball = (pull_s(replace(sea.picture.rods[0], rig=rig)) for rig in ("", "board", "ball"))
    assert (board - bare, ball - bare) == pytest.approx((20.0, 30.0)), "as agreed"
    assert pulling.time_s is not None
    assert whole / 2 <= pulling.time_s <= whole / 2 + max(pull_s(rod) for rod in sea.picture.rods)
    for key in "12345678":
        sea.act("in", rod=key)
    sea.feed.run(2, bottom=60.0)
    assert sea.picture.pulling is None


def test_the_place_of_a_rig_in_the_order_to_pull() -> None:
    """Boards and long lines, the longest first; divers and weights, the outermost first; balls last."""
    assert pull_place("board", -30.0, 60.0) == (1, -60.0)
    assert pull_place("", 0.0, 45.0) == (1, -45.0)
    assert pull_place("diver", -22.0, 60.0) == (2, -22.0)
    assert pull_place("weight", 3.0, 60.0) == (2, -3.0)
    assert pull_place("ball", 1.0, 20.0) == (3, -20.0)


def test_a_fish_meets_a_line_that_is_near_its_way_or_crosses_it_under_water() -> None:
    """From 60 m astern straight in; lines as long as their way, so that 3 m count from 30 m of line on."""
    fish = (60.0, 0.0)

    def met(*shape: tuple[float, float, float]) -> bool:
        return in_the_way(fish, {"1": np.array(shape)}) == ("1",)

    assert met((0.0, 5.0, 0.0), (40.0, 2.9, 5.0))
    assert not met((0.0, 5.0, 0.0), (40.0, 3.1, 5.0))
    assert not met((0.0, 5.0, 0.0), (10.0, 2.9, 5.0)), "near the rods less counts"
    assert met((0.0, 5.0, 0.0), (10.0, 0.9, 5.0))
    assert met((0.0, 5.0, 0.0), (40.0, -9.0, 5.0)), "it crosses"
    assert not met((0.0, 5.0, -2.0), (40.0, -9.0, -1.0)), "over the water"
    assert not met((0.0, 5.0, 0.0), (70.0, 5.0, 5.0), (80.0, -5.0, 5.0)), "behind the fish"
    assert not met((-1.0, 5.0, 0.0), (-2.0, -5.0, 5.0)), "ahead of the stern"
    assert met((0.0, 5.0, -2.0), (40.0, -9.0, 0.5)), "its outer end is under water"
    assert met((10.0, 5.0, 5.0), (-9.0, -5.0, 5.0)), "half a metre before the stern"
    assert not met((10.0, 5.0, 5.0), (-11.0, -5.0, 5.0)), "and half a metre ahead of it"
    assert met((59.0, 5.0, 5.0), (60.5, -5.0, 5.0)), "just inside the fish"
    assert not met((59.5, 5.0, 5.0), (61.0, -5.0, 5.0)), "just outside it"
    assert met((0.0, 5.0, 0.0), (59.5, 2.0, 5.0)), "its end is near the way, half a metre before the fish"
    assert not met((0.0, 5.0, 0.0), (60.5, 2.0, 5.0)), "half a metre behind it"
    assert not met((0.0, 0.9, 0.0), (3.0, 0.8, 5.0)), "beside the way, and not across it"
    assert in_the_way((0.0, 0.0), {"1": np.array([(0.0, 5.0, 0.0), (40.0, -9.0, 5.0)])}) == ()
    clipped = np.array([(20.0, 6.0, 3.0), (50.0, 9.0, 6.0)])  # its line begins at the cable, under water
    assert in_the_way(fish, {"1": np.array([(0.0, -5.0, 0.0), (40.0, -9.0, 5.0)]), "2": clipped}) == ()
    two = {"3": np.array([(0.0, 5.0, 0.0), (40.0, 2.0, 5.0)]), "2": np.array([(0.0, 5.0, 0.0), (40.0, -1.0, 5.0)])}
    assert in_the_way(fish, two) == ("2", "3"), "the nearest first"


@pytest.mark.parametrize(
    ("rig", "line_m", "seconds"),
    [("", 60.0, 150.0), ("board", 60.0, 170.0), ("ball", 20.0, 100.0), ("diver", None, 30.0)],
)
def test_a_rod_takes_half_a_minute_and_two_seconds_for_every_metre(
    rig: str, line_m: float | None, seconds: float
) -> None:
    """A board takes 20 s more, a ball 30."""
    from types import SimpleNamespace

    rod: Any = SimpleNamespace(rig=rig, past_tip_m=line_m, line_out_m=None, lead_m=None)
    assert pull_s(rod) == pytest.approx(seconds)


@pytest.mark.parametrize(("people", "hands"), [(None, 1), (0, 1), (1, 1), (2, 1), (3, 2), (5, 4)])
def test_one_steers_and_the_others_pull_and_a_fish_is_brought_in_first(people: int | None, hands: int) -> None:
    from types import SimpleNamespace

    from sternwatch.watch.chains.clearing_order import pulling

    def rod(key: str, rig: str, out_m: float, state: RodState = RodState.FISHING) -> Any:
        return SimpleNamespace(
            key=key,
            rig=rig,
            state=state,
            abeam_m=None,
            tip_abeam_m=2.0,
            past_tip_m=out_m,
            lead_m=None,
            line_out_m=None,
        )

    rods = [
        rod("1", "ball", 20.0), rod("2", "board", 60.0), rod("3", "ball", 10.0, RodState.FIGHTING),
        rod("4", "", 5.0, RodState.IN),
    ]  # fmt: skip
    made = pulling(rods, people)
    assert made.keys == ("3", "2", "1")
    assert made.hands == hands
    times = [pull_s(rods[k]) for k in (2, 1, 0)]
    if hands == 1:
        assert made.time_s == pytest.approx(sum(times))
    elif hands == 2:
        assert made.time_s == pytest.approx(max(times[1], times[0] + times[2]))
    else:
        assert made.time_s == pytest.approx(max(times))
    rods[0].past_tip_m = None
    rods[0].lead_m = None
    assert pulling(rods, people).time_s is None, "of one nobody knows how much is out"
    short = [rod("5", "", 0.5), rod("4", "", 0.0)]
    short[1].past_tip_m = None
    assert pulling(short, people).keys == ("5", "4"), "what is known to be out comes first"


def test_the_longest_fight_comes_first_and_one_without_its_time_last() -> None:
    from types import SimpleNamespace

    from sternwatch.watch.chains.clearing_order import fights

    def rod(key: str, since: Any, state: str = "fighting") -> Any:
        when = None if since is None else SimpleNamespace(elapsed_s=None if since == "unknown" else since)
        return SimpleNamespace(key=key, state=state, state_since=when, fights=(f"hit {key}",))

    rods = [
        rod("1", 50.0),
        rod("2", None),
        rod("3", 20.0),
        rod("4", "unknown"),
        rod("5", 1.0, "fishing"),
        rod("6", 20.0),
    ]
    crew: Any = SimpleNamespace(rods={one.key: one for one in rods})
    place = SimpleNamespace(shape_m=np.array([(0.0, -5.0, 0.0), (40.0, 9.0, 5.0)]))
    chains: Any = {one.key: SimpleNamespace(ball_only=one.key == "3", place=None) for one in rods}
    chains["5"].place = place
    made = fights(crew, chains, lambda hits: None if hits == ("hit 2",) else (60.0, 0.0))
    assert [one.key for one in made] == ["3", "6", "1", "2", "4"]
    assert [one.ball_down for one in made] == [True, False, False, False, False]
    assert [one.clear for one in made] == [("5",), ("5",), ("5",), None, ("5",)]
    assert (made[0].astern_m, made[0].abeam_m, made[3].astern_m) == (60.0, 0.0, None)
