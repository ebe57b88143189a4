"""The outlook of a session: told turn from yaw, quiet when nothing is wrong, early when something is."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from sternwatch.feed.readings import Quantity
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.boat.manoeuvres import turn
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.snapshot import Snapshot, snapshot
from sternwatch.watch.outlook import renewal
from sternwatch.watch.outlook.renewal import Helm, OutlookMaker, Wishes
from sternwatch.watch.picture.outlook import Outlook

SPEED = 1.03
SETTLE_S = 240
BOARDS = ("1", "8")
Steer = Callable[[float], float]
# Alerts come of forecasts alone: no time is spent on limits.
ALONE = Wishes(limits_share_s=0.0)


def settled_feed(spread: Spread, hand_feed: type[Any]) -> Any:
    feed = hand_feed(new_watch(Setup(spread, start="fishing", members=6)))
    feed.run(SETTLE_S, stw=SPEED, sog=SPEED)
    return feed


def voyage(feed: Any, seconds: int, rate: Steer, speed: Steer, every_s: int = 2) -> Iterator[Snapshot]:
    """Sail on, rate in deg/s and speed in m/s by the seconds sailed; a snapshot every so often."""
    for k in range(seconds):
        feed.run(1, stw=speed(k), sog=speed(k), turn_deg_s=rate(k))
        if (k + 1) % every_s == 0:
            now = snapshot(feed.watch)
            assert now is not None
            yield now


def crossing_alert(outlooks: Iterator[Outlook], but: tuple[str, ...] = ()) -> float | None:
    """When some pair's probability has been over 50 % in three renewals running, in any forecast; None if never."""
    running: dict[tuple[str, tuple[str, str]], int] = {}
    for outlook in outlooks:
        for made in outlook.forecasts:
            for pair in made.pairs:
                if any(key in but for key in pair.keys):
                    continue
                name = made.manoeuvre.name, pair.keys
                running[name] = running.get(name, 0) + 1 if (pair.probability or 0.0) > 0.5 else 0
                if running[name] == 3:
                    return outlook.t_s
    return None


def steady(_: float) -> float:
    return SPEED


def s_turns(k: float) -> float:
    """40 degrees to either side of the course at 1 deg/s."""
    return 1.0 if (k + 40) % 160 < 80 else -1.0


def yaw(k: float) -> float:
    """Ten degrees either way every eight seconds: the rate that gives that, from one second to the next."""
    return 10.0 * (math.sin(2 * math.pi * (k + 1) / 8) - math.sin(2 * math.pi * k / 8))


def surge(k: float) -> float:
    return SPEED + 0.2 * math.sin(2 * math.pi * k / 8 + 1.0)


def bare(t_s: float, heading_rad: float, speed: float = SPEED) -> Snapshot:
    """A snapshot that only says how the boat goes."""
    fields = dict.fromkeys(Snapshot.__dataclass_fields__)
    moving = {"t_s": t_s, "heading_rad": heading_rad, "speed_m_s": speed, "rate_rad_s": 0.0, "acceleration_m_s2": 0.0}
    return Snapshot(**{**fields, **moving})  # type: ignore[arg-type]


def test_a_yaw_is_no_turn() -> None:
    helm = Helm()
    for k in range(0, 120, 2):
        now = bare(k, math.radians(10) * math.sin(2 * math.pi * k / 8 + 0.3), surge(k))
        helm.take(now)
        going = helm.going(now)
        assert going.turn_rad == 0.0
        assert going.to_speed_m_s is None


def test_what_has_been_turned_is_taken_off_the_half_circle() -> None:
    helm = Helm()
    for k in range(0, 100, 2):
        heading = math.radians(350.0 + max(0.0, k - 40.0)) % (2 * math.pi)  # through north, at 1 deg/s from 40 s on
        helm.take(bare(k, heading))
    going = helm.going(bare(98, heading))
    assert going.rate_rad_s == pytest.approx(math.radians(1.0), rel=1e-6)
    assert math.degrees(going.turn_rad) == pytest.approx(180 - 58, abs=6)


def test_a_hole_in_time_forgets_the_turn() -> None:
    helm = Helm()
    for k in range(0, 60, 2):
        helm.take(bare(k, math.radians(2.0 * k)))
    assert helm.going(bare(58, math.radians(116))).turn_rad > 0
    later = bare(400, math.radians(200))
    helm.take(later)
    assert helm.going(later).turn_rad == 0.0


def searched(maker: OutlookMaker, first: Snapshot, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a steady course limits are searched every 150 s; at another speed as soon as they may be."""
    begun: list[float] = []
    edges: list[bool] = []

    def noted(fleet: Any, t_s: float, **asked: Any) -> Any:
        del fleet
        edges.append(asked["before"] is not None)
        begun.append(t_s - first.t_s)
        yield
        return found

    found = maker.renew(first).limits
    monkeypatch.setattr(renewal, "search_limits", noted)
    for t_s in (21.0, 149.0, 150.0, 171.0):
        maker.renew(replace(first, t_s=first.t_s + t_s))
    assert begun == [150.0]
    faster = replace(first, t_s=first.t_s + 172.0, speed_m_s=1.1 * first.speed_m_s, mean_m_s=1.1)
    maker.renew(faster)
    assert begun == [150.0, 172.0]
    maker.renew(replace(faster, t_s=faster.t_s + 20.0))
    assert begun == [150.0, 172.0]
    # Two minutes old, they count while nothing that they depend on has changed, and not for ever.
    assert maker.renew(replace(faster, t_s=faster.t_s + 150.0)).limits == found
    assert maker.renew(replace(first, t_s=faster.t_s + 151.0)).limits is None
    assert maker.renew(replace(faster, t_s=faster.t_s + 152.0)).limits == found
    assert maker.renew(replace(faster, t_s=faster.t_s + 630.0)).limits is None
    # The edges of the last alone; all at a new speed, and after ten minutes.
    assert edges == [True, False, True, False]
    # At the same speed, but her lines hang otherwise: all is searched.
    sunk = {key: state.copy() for key, state in faster.states.items()}
    sunk["4"].position_m[:, -1, 2] += 2.0
    deeper = replace(faster, t_s=faster.t_s + 651.0, states=sunk)
    maker.renew(deeper)
    assert edges == [True, False, True, False, False]


def test_renewals_of_a_session(spread: Spread, hand_feed: type[Any], monkeypatch: pytest.MonkeyPatch) -> None:
    feed, maker = settled_feed(spread, hand_feed), OutlookMaker()
    first = next(voyage(feed, 2, lambda _: 0.0, steady))
    outlook = maker.renew(first)
    assert outlook.t_s == first.t_s
    assert [made.manoeuvre.name for made in outlook.forecasts] == ["hold", "as it goes"]
    assert all(made.any_crossing == 0.0 for made in outlook.forecasts)
    assert outlook.advice == ()
    assert outlook.forecasts[0].pairs is outlook.forecasts[1].pairs  # a held course is run once
    # A plan that crosses comes with advice, and says so at once.
    planned = maker.renew(first, Wishes(plan=turn("port", 180, radius_m=20)))
    assert planned.forecasts[2].any_crossing > 0.75  # counters a tenth apart keep some clear
    assert planned.advice_for == "plan"
    assert planned.advice
    # One of six members is 17 %: where nothing cures, what at least halves it is said.
    assert all(one.probability_after <= 0.2 for one in planned.advice)
    # The limits are searched little by little, and say from when they are.
    for _ in range(60):
        if planned.limits is not None:
            break
        planned = maker.renew(first)
    assert planned.limits is not None
    assert planned.limits.t_s == first.t_s
    assert planned.limits.port.radius_m is not None
    assert 25.0 <= planned.limits.port.radius_m <= 80.0
    assert maker.renew(first).advice == ()  # the plan is gone
    searched(maker, first, monkeypatch)
    # A replay that goes back forgets what it knew.
    back = maker.renew(replace(first, t_s=first.t_s - 100.0))
    assert back.t_s == first.t_s - 100.0


def test_a_u_turn_at_three_degrees_a_second_is_told_before_half_of_it(spread: Spread, hand_feed: type[Any]) -> None:
    feed, maker = settled_feed(spread, hand_feed), OutlookMaker()
    # Told on the straight course before, too, so that the helm's past is known as it is live.
    before = [maker.renew(now, ALONE) for now in voyage(feed, 24, lambda _: 0.0, steady)]
    assert crossing_alert(iter(before)) is None
    begun = feed.t_s
    raised = crossing_alert(maker.renew(now, ALONE) for now in voyage(feed, 60, lambda _: 3.0, steady))
    assert raised is not None
    assert raised - begun < 30.0


def test_yaw_is_quiet_for_a_minute(spread: Spread, hand_feed: type[Any]) -> None:
    feed, maker = settled_feed(spread, hand_feed), OutlookMaker()
    sailed = voyage(feed, 72, yaw, surge, every_s=6)
    assert crossing_alert((maker.renew(now, ALONE) for now in sailed), BOARDS) is None


@pytest.mark.campaign
@pytest.mark.parametrize("case", ["s-turns", "yaw and surge", "u-turn at 1 deg/s"])
def test_fifteen_minutes_raise_no_crossing_alert(spread: Spread, hand_feed: type[Any], case: str) -> None:
    rate, speed = {
        "s-turns": (s_turns, steady),
        "yaw and surge": (yaw, surge),
        "u-turn at 1 deg/s": (lambda k: 1.0 if 60 <= k < 240 else 0.0, steady),
    }[case]
    feed, maker = settled_feed(spread, hand_feed), OutlookMaker()
    most: dict[tuple[str, str], float] = {}

    def told() -> Iterator[Outlook]:
        for now in voyage(feed, 900, rate, speed):
            outlook = maker.renew(now, ALONE)
            for made in outlook.forecasts:
                for pair in made.pairs:
                    most[pair.keys] = max(most.get(pair.keys, 0.0), pair.probability or 0.0)
            yield outlook

    raised = crossing_alert(told(), BOARDS)
    print(case, {"-".join(keys): share for keys, share in most.items() if share > 0.0})
    assert raised is None


@pytest.mark.campaign
def test_what_turn_the_boards_want(spread: Spread, hand_feed: type[Any]) -> None:
    """Report: the widest of these turns in which some pair with a board in it crosses in over half the members."""
    feed, maker = settled_feed(spread, hand_feed), OutlookMaker()
    now = next(voyage(feed, 2, lambda _: 0.0, steady))
    crossed = []
    for side in ("port", "starboard"):
        for radius in (80.0, 60.0, 50.0, 40.0, 32.0, 25.0, 20.0, 15.0, 12.0):
            made = maker.renew(now, Wishes(plan=turn(side, 180, radius_m=radius))).forecasts[2]  # type: ignore[arg-type]
            boards = [p for p in made.pairs if any(key in BOARDS for key in p.keys)]
            worst = max(boards, key=lambda pair: pair.probability or 0.0)
            print(side, radius, "boards", worst.keys, worst.probability, "any", made.any_crossing)
            if (worst.probability or 0.0) > 0.5:
                crossed.append(radius)
    assert crossed
    assert max(crossed) < 80.0
    assert feed.watch.board.table(feed.t_s)[Quantity.STW].value == pytest.approx(SPEED)
