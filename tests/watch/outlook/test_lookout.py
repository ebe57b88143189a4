"""The lookout beside a session: it holds nothing up, its faults are said, and pictures know nothing of it."""

from __future__ import annotations

import sys
import threading
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
from sternwatch.watch.boat.manoeuvres import turn
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.player import Checkpoint, Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.snapshot import Snapshot
from sternwatch.watch.outlook import lookout as module
from sternwatch.watch.outlook.lookout import Lookout, look_from
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.outlook.rows import OutlookRows
from sternwatch.watch.picture.alert import AlertState
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import Limits, Outlook, SideLimit, SpeedLimit

OUT_S = 180.0  # rods 1, 2, 7 and 8 are fishing by then


class FakeMaker:
    """Says that rods 1 and 8 cross, when it is let; remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[float, Manoeuvre | None]] = []
        self.risks: list[float] = []
        self.threads: set[int] = set()
        self.may = threading.Event()
        self.may.set()
        self.fault: Exception | None = None

    def renew(self, now: Snapshot, wishes: Wishes | None = None) -> Outlook:
        self.may.wait(5.0)
        self.threads.add(threading.get_ident())
        if self.fault is not None:
            raise self.fault
        self.risks.append(wishes.set_risk if wishes is not None else 0.0)
        self.asked.append((now.t_s, wishes.plan if wishes is not None else None))
        return replace(made_outlooks.outlook(now.t_s, 0.9), forecasts=(
            made_outlooks.forecast("hold", made_outlooks.pair(("1", "8"), 0.9, 30.0)),
        ))  # fmt: skip


class Wall:
    """A clock for the lookout."""

    def __init__(self) -> None:
        self.s = 100.0

    def __call__(self) -> float:
        return self.s


@pytest.fixture
def maker() -> FakeMaker:
    return FakeMaker()


@pytest.fixture
def wall() -> Wall:
    return Wall()


@pytest.fixture
def lookout(spread: Spread, maker: FakeMaker, wall: Wall) -> Iterator[Lookout]:
    one = Lookout(spread, make=lambda: maker, clock=wall)
    yield one
    maker.may.set()
    one.stop()


@pytest.fixture(scope="module")
def wound(make_player: Callable[[], Player]) -> Checkpoint:
    player = make_player()
    player.to(OUT_S)
    return player.checkpoint()


@pytest.fixture
def out(player: Player, wound: Checkpoint) -> Player:
    """The demo with rods out."""
    player.restore(wound)
    assert look_from(player.watch) is not None
    return player


def until(condition: Callable[[], bool]) -> None:
    for _ in range(500):
        if condition():
            return
        time.sleep(0.01)
    raise AssertionError("it did not come")


def looked(lookout: Lookout, player: Player) -> Outlook:
    """Offer until the outlook under way is there."""
    before = lookout.outlook

    def fresh() -> bool:
        lookout.offer(player.watch)
        return lookout.outlook is not None and lookout.outlook is not before

    until(fresh)
    assert lookout.outlook is not None
    return lookout.outlook


def answered_late(lookout: Lookout, maker: FakeMaker, player: Player) -> None:
    """Let the maker's second answer come, which was held up, and offer once more."""
    maker.may.set()
    until(lambda: len(maker.asked) == 2)
    time.sleep(0.05)
    lookout.offer(player.watch)


def test_it_looks_from_the_moment_offered_on_a_thread_of_its_own(
    lookout: Lookout, maker: FakeMaker, out: Player
) -> None:
    assert lookout.outlook is None
    assert looked(lookout, out).t_s == out.watch.t_s
    assert threading.get_ident() not in maker.threads


def test_a_slow_look_holds_nothing_up_and_is_not_piled_up(
    lookout: Lookout, maker: FakeMaker, wall: Wall, out: Player
) -> None:
    maker.may.clear()
    began = time.perf_counter()
    for _ in range(200):
        wall.s += 1.0
        assert not lookout.offer(out.watch)
    assert time.perf_counter() - began < 1.0  # a look lasts for as long as it is held here; an offer does not
    assert lookout.trouble == "No new forecast for 3:19: this computer has too much to do."
    maker.may.set()
    until(lambda: bool(maker.asked))
    assert len(maker.asked) == 1
    until(lambda: not lookout.trouble)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_thread_that_died_is_begun_again(lookout: Lookout, maker: FakeMaker, wall: Wall, out: Player) -> None:
    class Killed(BaseException):
        pass

    maker.fault = Killed()  # type: ignore[assignment]
    lookout.offer(out.watch)
    until(lambda: lookout._beside.lost)
    maker.fault = None
    wall.s += 1.0
    assert looked(lookout, out).t_s == out.watch.t_s


def test_not_before_two_seconds_are_over_but_a_plan_does_not_wait(
    lookout: Lookout, maker: FakeMaker, wall: Wall, out: Player
) -> None:
    looked(lookout, out)
    for _ in range(5):
        lookout.offer(out.watch)
    wall.s += 1.9
    lookout.offer(out.watch)
    time.sleep(0.05)
    assert len(maker.asked) == 1
    wall.s += 0.2
    looked(lookout, out)
    plan = turn("port", 90, seconds=60)
    lookout.plan(plan)
    looked(lookout, out)
    assert [asked for _, asked in maker.asked] == [None, None, plan]
    lookout.plan(None)
    looked(lookout, out)
    assert maker.asked[-1][1] is None


def test_a_calm_recording_is_looked_at_less_often_until_something_is_planned(
    spread: Spread, wall: Wall, out: Player
) -> None:
    class Calm(FakeMaker):
        def renew(self, now: Snapshot, wishes: Wishes | None = None) -> Outlook:
            super().renew(now, wishes)
            limits = Limits(now.t_s, *[SideLimit(s, None, None, None, None, ()) for s in ("port", "starboard")],
                            SpeedLimit(1.0, "", (), ()))  # fmt: skip
            return Outlook(now.t_s, 0.1, (made_outlooks.hold_alone(0.0),), limits)

    maker = Calm()
    one = Lookout(spread, make=lambda: maker, clock=wall, calm_every_s=6.0)
    try:
        looked(one, out)
        wall.s += 5.9
        one.offer(out.watch)
        time.sleep(0.05)
        assert len(maker.asked) == 1
        wall.s += 0.2
        looked(one, out)
        one.plan(turn("port", 90, seconds=60))
        looked(one, out)
        assert len(maker.asked) == 3
    finally:
        one.stop()


def test_the_risk_set_is_what_the_maker_is_asked_for(
    spread: Spread, maker: FakeMaker, wall: Wall, out: Player
) -> None:
    one = Lookout(spread, risk=0.25, make=lambda: maker, clock=wall)
    maker.may.set()
    looked(one, out)
    one.stop()
    assert maker.risks == [0.25]


def test_the_third_look_raises_the_alert_and_it_can_be_acknowledged(
    lookout: Lookout, wall: Wall, out: Player
) -> None:
    for k in range(3):
        outlook = looked(lookout, out)
        assert bool(outlook.alerts) == (k == 2)
        out.to(OUT_S + 2.0 * (k + 1))
        wall.s += 2.0
    lookout.acknowledge(outlook.alerts[0].id)
    assert lookout.outlook is not None
    assert lookout.outlook.alerts[0].state is AlertState.ACKNOWLEDGED


def test_a_fault_is_said_and_not_the_end(lookout: Lookout, maker: FakeMaker, wall: Wall, out: Player) -> None:
    maker.fault = RuntimeError("no convergence")
    lookout.offer(out.watch)
    until(lambda: bool(lookout.trouble))
    assert lookout.trouble == "No forecast: RuntimeError: no convergence"
    maker.fault = None
    wall.s += 5.0
    lookout.offer(out.watch)
    assert not maker.asked  # it rests for a while
    wall.s += module.FAULT_RESTS_S
    looked(lookout, out)
    assert lookout.trouble == ""


def test_what_belongs_to_another_moment_goes(
    lookout: Lookout, maker: FakeMaker, wall: Wall, out: Player, make_player: Callable[[], Player]
) -> None:
    looked(lookout, out)
    earlier = make_player()
    earlier.to(5.0)  # no rod out yet
    assert lookout.offer(earlier.watch)
    assert lookout.outlook is None
    # A look that was under way for the other moment is not shown either.
    wall.s += 10.0
    maker.may.clear()
    lookout.offer(out.watch)
    lookout.reset()
    answered_late(lookout, maker, earlier)
    assert lookout.outlook is None


def test_on_the_way_to_another_moment_what_was_seen_stands_for_a_minute(
    lookout: Lookout, maker: FakeMaker, wall: Wall, out: Player
) -> None:
    seen = looked(lookout, out)
    out.to(OUT_S + module.HOLE_S)
    lookout.pass_over(out.watch)
    assert lookout.outlook is seen
    wall.s += 10.0
    maker.may.clear()
    lookout.offer(out.watch)  # this look is under way while the replay races on
    out.to(OUT_S + module.HOLE_S + 2.0)
    lookout.pass_over(out.watch)
    assert lookout.outlook is None
    answered_late(lookout, maker, out)
    assert lookout.outlook is None


def test_with_the_rods_in_an_outlook_stands_for_ten_seconds_more(
    lookout: Lookout, wall: Wall, out: Player, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert not lookout.offer(out.watch)
    until(lambda: lookout.offer(out.watch))
    assert lookout.outlook is not None
    seen_s = lookout.outlook.t_s
    monkeypatch.setattr(module, "look_from", lambda _: None)
    boat = SimpleNamespace(rate_of_turn_deg_s=5.0)
    told: list[tuple[bool, bool]] = []
    for more_s in (9.0, 10.0, 10.5, 11.0):
        wall.s += 20.0
        changed = lookout.offer(SimpleNamespace(now_s=seen_s + more_s, boat=boat))  # type: ignore[arg-type]
        told.append((changed, lookout.outlook is not None))
    assert told == [(False, True), (False, True), (True, False), (False, False)]


def test_stopped_it_begins_nothing(lookout: Lookout, maker: FakeMaker, wall: Wall, out: Player) -> None:
    lookout.stop()
    wall.s += 10.0
    lookout.offer(out.watch)
    time.sleep(0.05)
    assert not maker.asked


def test_pictures_are_the_same_to_the_last_digit_with_the_lookout_on(
    spread: Spread, make_player: Callable[[], Player], exactly: Callable[[Picture], str]
) -> None:
    def play(beside: Lookout | None) -> dict[float, str]:
        player, pictures = make_player(), dict[float, str]()
        player.to(OUT_S)
        for k in range(12):
            player.to(OUT_S + k, lambda p: pictures.__setitem__(p.t_s, exactly(p)))
            if beside is not None:
                beside.offer(player.watch)
        return pictures

    one = Lookout(spread, every_s=0.0)
    try:
        assert play(one) == play(None)
        until(lambda: one._beside.made is not None)  # it did look
    finally:
        one.stop()


def test_rows_carry_what_is_forecast_every_two_seconds(spread: Spread, out: Player, maker: FakeMaker) -> None:
    rows: list[dict[str, object]] = []
    ahead = OutlookRows(spread, out.watch.setup.units, maker)
    out.to(OUT_S + 8.0, lambda picture: rows.append(ahead.row(out.watch, picture)))
    assert [row["elapsed_s"] for row in rows] == [OUT_S + k for k in range(1, 9)]
    assert [t_s for t_s, _ in maker.asked] == [OUT_S + k for k in (1, 3, 5, 7)]
    of = [row["outlook"]["elapsed_s"] for row in rows]  # type: ignore[index]
    assert of == [OUT_S + k for k in (1, 1, 3, 3, 5, 5, 7, 7)]
    crossings = [[a["kind"] for a in row["alerts"]].count("crossing") for row in rows]  # type: ignore[attr-defined]
    assert crossings == [0, 0, 0, 0, 1, 1, 1, 1]
    forecast = rows[0]["outlook"]["forecasts"][0]  # type: ignore[index]
    assert forecast["manoeuvre"] == "hold"
    assert forecast["pairs"][0]["probability"] == 0.9


def test_rows_before_any_rod_is_out_say_null(spread: Spread, player: Player, maker: FakeMaker) -> None:
    rows: list[dict[str, object]] = []
    ahead = OutlookRows(spread, player.watch.setup.units, maker)
    player.to(2.5, lambda picture: rows.append(ahead.row(player.watch, picture)))
    assert rows
    assert all(row["outlook"] is None for row in rows)
    assert not maker.asked


def test_a_real_look_is_the_same_twice(spread: Spread, make_player: Callable[[], Player]) -> None:
    def row() -> dict[str, object]:
        player, rows = make_player(), list[dict[str, object]]()
        ahead = OutlookRows(spread, player.watch.setup.units, OutlookMaker())
        player.to(OUT_S)
        player.to(OUT_S + 1.0, lambda picture: rows.append(ahead.row(player.watch, picture)))
        return rows[-1]

    first = row()
    assert first["outlook"]["forecasts"][0]["any_crossing"] is not None  # type: ignore[index]
    assert first == row()


@pytest.mark.campaign
@pytest.mark.parametrize(("rate_deg_s", "told"), [(3.0, True), (1.0, False)])
def test_a_u_turn_in_rows(spread: Spread, hand_feed: type[Any], rate_deg_s: float, told: bool) -> None:
    """At 3 deg/s a crossing warning stands before half of it is done; at 1 deg/s none among what is no board."""
    feed = hand_feed(new_watch(Setup(spread, start="fishing")))
    ahead = OutlookRows(spread, feed.watch.setup.units)
    raised: list[tuple[float, tuple[str, ...]]] = []

    def look() -> None:
        row = ahead.row(feed.watch, feed.watch.picture())
        crossings = [tuple(a["keys"]) for a in row["alerts"] if a["kind"] == "crossing"]
        raised.extend((feed.t_s, keys) for keys in crossings if not {"1", "8"} & set(keys))

    feed.run(240, stw=1.03, sog=1.03)
    feed.run(24, stw=1.03, sog=1.03, each=look)
    assert raised == []
    begun = feed.t_s
    feed.run(round(180 / rate_deg_s), stw=1.03, sog=1.03, turn_deg_s=rate_deg_s, each=look)
    print(rate_deg_s, [(t - begun, keys) for t, keys in raised[:3]])
    if told:
        assert raised[0][0] - begun < 90 / rate_deg_s
    else:
        assert raised == []
