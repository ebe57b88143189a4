"""A watch that hears speed over ground alone, on legs in a current: what drives its chains, and how wide they are."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.priors import CARRIED
from sternwatch.feed.readings import Quantity, Reading
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.words import describe
from sternwatch.watch.boat.through_water import TURN, TURN_FOR_LOG
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, SpeedSource, WaterSpeed
from sternwatch.watch.picture.rows import picture_row

THROUGH_M_S, CURRENT_M_S = 1.05, 0.15  # the current goes north
BEGIN_UNIX_S = 1_784_000_000.0


class Legs:
    """A boat on north and south legs, turning in 30 s; a fix a second, and her paddle wheel where she has one."""

    def __init__(self, watch: Watch, log: float | None = None) -> None:
        self.watch, self.log, self.t_s, self.way = watch, log, 0.0, 0.0
        self.rng = np.random.default_rng(1)
        self.target = 0.0

    def say(self, quantity: Quantity, value: float, sentence: str) -> None:
        self.watch.observe(Reading(self.t_s, "hand", quantity, value, sentence))

    def go(self, seconds: int, towards: float | None = None) -> Picture:
        self.target = self.target if towards is None else towards
        for _ in range(seconds):
            self.t_s += 1.0
            self.way += min(max(self.target - self.way, -math.pi / 30.0), math.pi / 30.0)
            north = THROUGH_M_S * math.cos(self.way) + CURRENT_M_S + 0.03 * self.rng.normal()
            east = THROUGH_M_S * math.sin(self.way) + 0.03 * self.rng.normal()
            self.say(Quantity.CLOCK, BEGIN_UNIX_S + self.t_s, "RMC")
            self.say(Quantity.COG, math.degrees(math.atan2(east, north)) % 360.0, "RMC")
            self.say(Quantity.SOG, math.hypot(north, east), "RMC")
            if self.log is not None:
                self.say(Quantity.STW, self.log * THROUGH_M_S + 0.02 * self.rng.normal(), "VHW")
            self.watch.advance(self.t_s)
        return self.watch.picture()

    def act(self, kind: str, **fields: Any) -> str:
        given = {"id": f"{kind} {self.t_s}", "time": datetime.fromtimestamp(BEGIN_UNIX_S + self.t_s, UTC)}
        self.watch.act(parse(given | {"elapsed_s": self.t_s, "kind": kind} | fields))
        return str(given["id"])


@pytest.fixture(scope="module")
def watch_of(two_rods: Spread) -> Callable[..., Watch]:
    def make(members: int = 0) -> Watch:
        return new_watch(Setup(two_rods, start="fishing", members=members))

    return make


def water(picture: Picture) -> WaterSpeed:
    assert picture.own.water is not None
    return picture.own.water


def taped(spread: Spread) -> Spread:
    """With its counters checked against a tape, so that the speed is much of what is not known."""
    rods = (one.model_copy(update={"counter": one.counter.model_copy(update={"taped": True})}) for one in spread.rods)
    return spread.model_copy(update={"rod": tuple(rods)})


def test_a_reversal_tells_the_current_and_the_intervals_shrink(two_rods: Spread) -> None:
    legs = Legs(new_watch(Setup(taped(two_rods), start="fishing", members=CARRIED)))
    before = legs.go(240)
    assert before.own.speed_source is SpeedSource.OVER_GROUND
    assert water(before).current_m_s is None
    assert water(before).missing == TURN
    assert before.own.speed_m_s == pytest.approx(THROUGH_M_S + CURRENT_M_S, abs=0.06)
    assert water(before).off_m_s == pytest.approx(0.35, abs=0.015)  # the prior's
    assert legs.watch.memory.moments[-1].current is None
    after = legs.go(240, math.pi)
    assert water(after).missing == ""
    assert water(after).told == "legs"
    assert legs.watch.memory.moments[-1].current == "against"
    assert water(after).current_m_s == pytest.approx((CURRENT_M_S, 0.0), abs=0.04)
    assert after.own.speed_mean_m_s == pytest.approx(THROUGH_M_S, abs=0.03)
    assert water(after).off_m_s < 0.6 * water(before).off_m_s
    wide = [rod.depth_interval_m for rod in before.rods]
    tight = [rod.depth_interval_m for rod in after.rods]
    assert wide[1] is not None
    assert tight[1] is not None
    assert tight[1][1] - tight[1][0] < 0.95 * (wide[1][1] - wide[1][0])  # the ball: speed moves it, its drag too
    row = picture_row(after)
    assert row["current_north_m_s"] == pytest.approx(CURRENT_M_S, abs=0.04)
    assert row["stw_m_s"] is None
    assert row["log_scale"] is None
    assert row["speed_through_water_m_s"] == pytest.approx(THROUGH_M_S, abs=0.1)


def test_a_copy_in_mid_leg_goes_on_to_the_same_pictures(
    watch_of: Callable[..., Watch], exactly: Callable[[Picture], str]
) -> None:
    legs = Legs(watch_of(16))
    legs.go(100)
    twin = Legs(legs.watch.copy())
    twin.t_s, twin.way = legs.t_s, legs.way
    twin.rng.bit_generator.state = legs.rng.bit_generator.state
    for one in (legs, twin):
        one.go(130, math.pi)
    assert exactly(legs.watch.picture()) == exactly(twin.watch.picture())
    assert legs.watch.boat.current.windows > 10


def test_a_paddle_wheel_that_reads_low_is_put_right(watch_of: Callable[..., Watch]) -> None:
    legs = Legs(watch_of(), log=0.95)
    before = legs.go(240)
    assert before.own.speed_source is SpeedSource.THROUGH_WATER
    assert before.own.speed_mean_m_s == pytest.approx(0.95 * THROUGH_M_S, abs=0.02)
    assert water(before).scale is None
    assert water(before).missing == TURN_FOR_LOG
    after = legs.go(300, math.pi)
    assert water(after).scale == pytest.approx(1.0 / 0.95, abs=0.02)
    assert after.own.speed_mean_m_s == pytest.approx(THROUGH_M_S, abs=0.025)
    assert after.own.stw_m_s == pytest.approx(0.95 * THROUGH_M_S, abs=0.08)  # the sensor's word stays as it is
    assert water(after).missing == ""


def test_the_helm_says_the_current_and_takes_it_back(watch_of: Callable[..., Watch]) -> None:
    legs = Legs(watch_of())
    legs.go(60)
    said = legs.act("current", speed_m_s=0.15, towards_deg=0.0)
    told = legs.go(90)
    assert water(told).told == "helm"
    assert water(told).current_m_s == pytest.approx((0.15, 0.0), abs=0.01)
    assert told.own.speed_mean_m_s == pytest.approx(THROUGH_M_S, abs=0.04)
    assert told.crew is not None
    assert "current 0.3 mph to 000°" in describe(told.crew.entries[said], told.crew)
    legs.act("undo", of=said)
    back = legs.go(120)
    assert water(back).current_m_s is None
    assert back.own.speed_mean_m_s == pytest.approx(THROUGH_M_S + CURRENT_M_S, abs=0.04)


def test_a_gauges_speed_at_a_depth_tells_of_the_current(watch_of: Callable[..., Watch]) -> None:
    legs = Legs(watch_of())
    wide = water(legs.go(60)).off_m_s
    legs.act("gauge", depth_m=10.0, speed_m_s=THROUGH_M_S)
    assert water(legs.go(60)).off_m_s < 0.75 * wide


def test_members_bracket_what_is_believed(watch_of: Callable[..., Watch]) -> None:
    legs = Legs(watch_of(16))
    legs.go(30)
    beliefs, found = legs.watch.chains.beliefs, legs.watch.boat.current
    assert beliefs is not None
    ahead = beliefs.velocity_m_s[:, 0]
    assert ahead.mean() == pytest.approx(legs.watch.boat.velocity_m_s[0], abs=0.02)
    assert ahead.std(ddof=1) == pytest.approx(math.hypot(found.belief.along_sd_m_s(0.0), 0.03 / 1.645), rel=0.15)
