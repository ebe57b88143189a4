"""Whole sessions of slowing for a fish: what the live watch and its outlooks raise together.

The bottom is level. Lures sink while she is slow; were she to stop, they would touch. A warning of the bottom is
false unless a lure comes as near as counts for touching.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest

from sternwatch.feed.readings import Quantity, Reading
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.outlook.alerts import ForecastAlerts
from sternwatch.watch.outlook.lookout import look_from, renewed
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.picture.alert import Alert, Priority

# As agreed: a change of one is to be noticed.
NEAR_M = 0.5

MPH = 0.44704
TROLLED, SLOWED = 2.3 * MPH, 1.0 * MPH
SLOWS_S, SLOW_S = 30, 120  # how long a helm takes to slow, and stays slow
COAST_M_S = 0.25  # how far a speed may run on without a reading: three seconds of a throttle that is moved

SINKING = """
[boat]
name = "boat that slows (invented)"
[line.copper]
material = "copper 45 lb"
[line.wire]
material = "stainless steel"
diameter = "0.9 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.ball]
kind = "ball"
mass = "12 lb"
[tackle.fly]
kind = "lure"
[[rod]]
key = "1"
name = "COPPER"
side = "port"
tip = { astern = "1 ft", abeam = "2 ft", height = "5 ft" }
chain = [ { line = "copper", out = "200 ft" }, { line = "mono", length = "10 ft" }, { tackle = "fly" } ]
[[rod]]
key = "2"
name = "DOWN"
side = "starboard"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
chain = [
  { line = "wire", out = "60 ft" }, { tackle = "ball" }, { line = "mono", length = "20 ft" }, { tackle = "fly" } ]
[[rod]]
key = "3"
name = "FISH"
side = "starboard"
tip = { astern = "1 ft", abeam = "6 ft", height = "5 ft" }
chain = [ { line = "mono", out = "60 ft" }, { tackle = "fly" } ]
"""


@pytest.fixture(scope="module")
def sinking() -> Spread:
    return parse_spread(SINKING)


@dataclass
class Sailed:
    """A session: her sensors say what she does, and what is raised is kept."""

    watch: Watch
    bottom_m: float
    every_s: int = 4
    t_s: float = 0.0
    north_m: float = 0.0
    read_m_s: float = 0.0  # the last speed that was read
    above_m_s: float = 0.0  # the most that the speed shown was above all that was read in the last minute
    least_m: dict[str, list[tuple[float, float]]] = field(default_factory=dict)  # room under a rod, by time
    raised: dict[str, tuple[float, Alert]] = field(default_factory=dict)
    _reads: list[tuple[float, float]] = field(default_factory=list)
    _maker: OutlookMaker = field(default_factory=OutlookMaker)
    _serial: int = 0

    def __post_init__(self) -> None:
        self._ahead = ForecastAlerts({rod.key: rod.name for rod in self.watch.spread.rods})

    def act(self, kind: str, **given: Any) -> str:
        self._serial += 1
        moment = f"2026-07-14T03:{int(self.t_s) // 60:02d}:{int(self.t_s) % 60:02d}Z"
        made = {"id": f"a{self._serial}", "time": moment, "elapsed_s": self.t_s, "kind": kind, **given}
        self.watch.act(parse(made, "test"))
        return f"a{self._serial}"

    def run(self, seconds: int, speed: Callable[[float], float], *, lost: bool = False, looks: bool = True) -> None:
        for k in range(seconds):
            self.t_s += 1.0
            now = speed(k + 1.0)
            self.north_m += now
            if not lost:
                self._say(now)
            self.watch.advance(self.t_s)
            picture = self.watch.picture()
            said = list(picture.alerts)
            if looks and self.t_s % self.every_s == 0:
                look = look_from(self.watch)
                if look is None:
                    self._ahead.forget()
                else:
                    outlook = renewed(self._maker, look, Wishes(limits_share_s=0.0))
                    self._ahead.step(outlook, look.moving)
            for alert in (*said, *self._ahead.standing()):
                self.raised.setdefault(alert.id, (self.t_s, alert))
            own = picture.own
            if own.speed_m_s is not None and own.speed_range_m_s is not None:
                read = max(
                    value for t, value in self._reads if t > self.t_s - 66.0
                )  # a reading is held for some seconds
                self.above_m_s = max(self.above_m_s, own.speed_m_s - read, own.speed_range_m_s[1] - read)
            for rod in picture.rods:
                if rod.bottom is not None:
                    self.least_m.setdefault(rod.key, []).append((self.t_s, rod.bottom.room_m))

    def _say(self, speed_m_s: float) -> None:
        north = 47.0 + math.degrees(self.north_m / 6_371_008.8)
        for quantity, value, sentence in (
            (Quantity.CLOCK, 1_784_000_000.0 + self.t_s, "RMC"), (Quantity.SOG, speed_m_s, "RMC"),
            (Quantity.COG, 0.0, "RMC"), (Quantity.POSITION, (north, -90.0), "RMC"),
            (Quantity.HEADING, 0.0, "HDT"), (Quantity.STW, speed_m_s, "VHW"), (Quantity.BOTTOM, self.bottom_m, "DPT"),
        ):  # fmt: skip
            self.watch.observe(Reading(self.t_s, "hand", quantity, value, sentence))
        self._reads.append((self.t_s, speed_m_s))

    def warnings(self, kind: str) -> list[tuple[float, Alert]]:
        return [
            (t, one) for t, one in self.raised.values() if one.kind == kind and one.priority is not Priority.CAUTION
        ]

    def false(self) -> list[tuple[float, Alert]]:
        """Warnings of the bottom after which the rod never came as near as counts for touching."""
        return [
            (t, one)
            for t, one in self.warnings("bottom touch")
            if min(room for at, room in self.least_m[one.keys[0]] if at >= t) > NEAR_M
        ]


def _slows(k: float) -> float:
    return TROLLED + (SLOWED - TROLLED) * min(k / SLOWS_S, 1.0)


def _gains(k: float) -> float:
    return SLOWED + (TROLLED - SLOWED) * min(k / SLOWS_S, 1.0)


def _steady(_: float) -> float:
    return TROLLED


def _fish(sailed: Sailed, *, lost_s: int = 0) -> None:
    """A hit, a slow-down six seconds later, and back; the feed is lost for a while as she slows."""
    hit = sailed.act("hit", rod="3")
    sailed.run(6, _steady)
    sailed.run(12, _slows)
    sailed.run(lost_s, lambda k: _slows(k + 12), lost=True)
    sailed.run(SLOW_S - 12 - lost_s, lambda k: _slows(k + 12 + lost_s))
    sailed.run(SLOWS_S, _gains)
    sailed.act("outcome", of=hit, outcome="boxed")
    sailed.run(40, _steady)


def _session(spread: Spread, bottom_m: float) -> Sailed:
    sailed = Sailed(new_watch(Setup(spread, start="fishing", members=3)), bottom_m)
    sailed.run(60, _steady, looks=False)
    return sailed


def test_slowing_for_fish_raises_no_warning_that_does_not_come_true(sinking: Spread) -> None:
    """Copper came to lie as at rest at the speed that came back, and slowing was carried on toward a stop."""
    sailed = _session(sinking, 33.0)  # at rest at the slow speed it hangs at 32 m
    _fish(sailed)
    _fish(sailed, lost_s=20)
    assert sailed.false() == []
    assert sailed.warnings("bottom touch") == []
    assert sailed.warnings("crossing") == []
    assert sailed.above_m_s <= COAST_M_S
    assert {alert.kind for _, alert in sailed.raised.values()} <= {"no feed", "bottom near"}


def test_a_bottom_that_a_slow_line_does_reach_is_still_told_ahead(sinking: Spread) -> None:
    sailed = _session(sinking, 24.0)
    _fish(sailed)
    told = [(t, alert) for t, alert in sailed.warnings("bottom touch") if alert.keys == ("1",)]
    assert told
    t_s, first = told[0]
    assert "now" not in first.text
    reached_s = next(at for at, room in sailed.least_m["1"] if at > t_s and room <= NEAR_M)
    assert first.time_left_s == pytest.approx(reached_s - t_s, abs=25.0)
    assert reached_s - t_s >= 20.0
