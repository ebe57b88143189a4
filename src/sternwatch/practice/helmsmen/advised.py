"""The helmsman who follows the console's advice. He asks at decision points, and every ten seconds in a manoeuvre."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from sternwatch.gear.values.units import SYSTEMS
from sternwatch.hydro.separation.distance import Required
from sternwatch.practice.drills.model import Drill
from sternwatch.practice.helmsmen.scripted import REELED_M, Scripted, Steps
from sternwatch.practice.helmsmen.seeking import as_again_says, as_the_pass_says, by_the_sounder
from sternwatch.practice.sessions.headless import Order, View, order
from sternwatch.watch.boat.manoeuvres import turn
from sternwatch.watch.chains.ensemble import Fleet, required_of
from sternwatch.watch.forecast.make import forecast, risk
from sternwatch.watch.forecast.snapshot import Casting, snapshot
from sternwatch.watch.forecast.turn_limit import RADII_M, finish, side_limit, slowest
from sternwatch.watch.outlook.advice import advise
from sternwatch.watch.picture.manoeuvre import Side, side_of
from sternwatch.watch.picture.model import RodState
from sternwatch.watch.picture.outlook import RISK, Advice, Limits, SpeedLimit

# How a careful helmsman works. Every number of this list: memory.
MEMBERS: Final = 8
ASK_EVERY_S: Final = 10.0
STEP_DEG: Final = 5.0  # a press of the helm while a heading is held
WIDEST_M: Final = 160.0
MARKS_M: Final = 80.0  # his widest turn between marks; a wider one would miss them
UNLADEN_M: Final = 25.0  # speed of turning with nothing in the water
STEADY_S: Final = 60.0  # straight course before a line goes out, and after it, before a turn
COME_ROUND_S: Final = 120.0  # wait after a turn before a rod goes out beside lines that still swing
LANDING_M_S: Final = 0.75  # a speed at which a fish comes in well
# The room he wants between a rod's lowest tackle and the sounded bottom, and the room at which he restores length.
ROOM_M: Final = 3.0
RESTORE_M: Final = 6.0
SHARE_OFF: Final = 0.07  # a smaller change, as a share of the line, is not worth a turn of the reel
CREEP_M_S: Final = 0.4  # a slower boat counts as going this fast, so that a step ends
WIDEN: Final = 1.4  # how much wider he makes the rest of a turn when it has become risky
TRIES: Final = 3  # how often he widens it at one look
SETTLE_S: Final = 15.0  # after a change of speed
NEARLY: Final = 0.85  # out by this share of its length, a line no longer hinders the next
AT_ONCE: Final = 2  # how many rods are reeled in together
AIM_M: Final = 1.5  # he shortens to this much over the room he wants; he restores to a metre less
BACK_M: Final = 1.0
LEAST_SHARE: Final = 0.3  # this share of its line stays out, however near the bottom is
SHARES: Final = np.arange(0.6, 1.41, 0.05)  # shares of the line out, tried for a depth
OUTSIDE_M: Final = 1.0  # farther outside the wanted depths makes no more difference
WELL_INSIDE: Final = 0.1  # how much a metre further inside counts against one at the edge


class Advised(Scripted):
    """Turns no tighter and slows no further than the console says, and changes line where it advises that."""

    def __init__(self, drill: Drill, *, plans: bool = True) -> None:
        """``plans``: the console plans a whole pass for him; else he follows an edge by the sounder."""
        super().__init__(drill)
        self._plans = plans
        self._casting = Casting()
        self._asked_s = -math.inf
        self._radius_m = WIDEST_M
        self._wanted_m: dict[str, float] = {}  # line out before he shortened it for the bottom
        self._looked_s = -math.inf
        self._turning = False
        self._turned_s = -math.inf

    # -- asking the console ------------------------------------------------------------------------------------

    def _fleet(self) -> tuple[Fleet, float, Required] | None:
        """Every member at its present place, the speed, and the required distances."""
        now = snapshot(self.now.watch)
        return None if now is None else (self._casting.fleet(now), now.speed_m_s, required_of(now.spread))

    def ask_radius(self, side: Side, widest_m: float = WIDEST_M) -> float:
        """The tightest turn that the console allows to a side [m], searched up to ``widest_m``."""
        asked = self._fleet()
        if asked is None:
            any_out = any(rod.state is not RodState.IN for rod in self.now.picture.rods)
            return widest_m if any_out else UNLADEN_M
        fleet, speed, required = asked
        radii = tuple(radius for radius in RADII_M if radius <= widest_m)
        limit = finish(side_limit(fleet, side, speed_m_s=speed, required=required, radii_m=radii))
        return limit.radius_m or widest_m

    def ask_limits(self) -> Limits | None:
        """The tightest turns to both sides, as on the strip."""
        asked = self._fleet()
        if asked is None:
            return None
        fleet, speed, required = asked
        port, starboard = (
            finish(side_limit(fleet, side, speed_m_s=speed, required=required)) for side in ("port", "starboard")
        )
        return Limits(self.now.t_s, port, starboard, SpeedLimit(None, "", (), ()))

    def ask_risk(self, side: Side, degrees: float) -> float:
        """The share of members that cross in this turn at his intended radius."""
        asked = self._fleet()
        if asked is None:
            return 0.0
        fleet, speed, required = asked
        wanted = turn(side, degrees, radius_m=self._radius_m)
        return risk(fleet, wanted, speed_m_s=speed, required=required).any

    def ask_advice(self, side: Side, degrees: float, radius_m: float) -> tuple[Advice, ...]:
        """The console's advice for a risky turn."""
        asked = self._fleet()
        if asked is None:
            return ()
        fleet, speed, required = asked
        made = forecast(fleet, turn(side, degrees, radius_m=radius_m), speed_m_s=speed, required=required)
        names = {rod.key: rod.name for rod in self.now.watch.setup.spread.rods}
        return advise(fleet, made, speed_m_s=speed, required=required, units=SYSTEMS["us"], names=names)

    # -- turning -----------------------------------------------------------------------------------------------

    def turn(self, degrees: float) -> Steps:
        side = side_of(degrees)
        self._radius_m = self.ask_radius(side)
        if self.ask_risk(side, abs(degrees)) > RISK:
            yield from self._follow_advice(side, abs(degrees))
        self._turning = True
        held, turned = self.heading_deg, 0.0
        begun = self._asked_s = self.now.t_s
        while turned < abs(degrees) - 1e-6:
            now = self.now
            speed = max(now.picture.own.speed_m_s or self.speed_m_s, CREEP_M_S)
            each_s = math.radians(STEP_DEG) * self._radius_m / speed
            if now.t_s - begun >= each_s:
                begun = now.t_s
                step = min(STEP_DEG, abs(degrees) - turned)
                turned += step
                held += math.copysign(step, degrees)
                yield [order("helm", heading_deg=round(held % 360.0, 1))]
            else:
                yield []
            if self.now.t_s - self._asked_s >= ASK_EVERY_S and turned < abs(degrees) - STEP_DEG:
                self._asked_s = self.now.t_s
                self._ease(side, abs(degrees) - turned)
        self._turning, self._turned_s = False, self.now.t_s

    def _ease(self, side: Side, left_deg: float) -> None:
        """While turning: widen where the rest of the turn has become risky, never tighten."""
        asked = self._fleet()
        if asked is None:
            return
        fleet, speed, required = asked
        for _ in range(TRIES):
            found = risk(fleet, turn(side, left_deg, radius_m=self._radius_m), speed_m_s=speed, required=required)
            if found.any <= RISK or self._radius_m >= WIDEST_M:
                return
            self._radius_m = min(WIDEN * self._radius_m, WIDEST_M)

    def _follow_advice(self, side: Side, degrees: float) -> Steps:
        """Do the first advised action that he can do, and look again."""
        for advice in self.ask_advice(side, degrees, self._radius_m):
            change = advice.change
            if change["what"] == "turn" and "radius_m" in change:
                self._radius_m = float(change["radius_m"])
                return
            if change["what"] == "speed":
                self.speed_m_s = float(change["to_speed_m_s"])
                yield from self._wait(SETTLE_S)
                return
            if change["what"] == "line":
                yield from self._change_line(str(change["rod"]), float(change["by_m"]))
                self._radius_m = self.ask_radius(side)
                return

    def _change_line(self, key: str, by_m: float) -> Steps:
        rod = self.rod(key)
        if rod is None or rod.line_out_m is None:
            return
        yield from self.length([key], rod.line_out_m + by_m)

    def steer_to(self, heading_deg: float) -> list[Order]:
        """Steer toward a mark by steps of the held heading, each as soon as the limit allows."""
        now = self.now
        held = now.shown.heading_held_deg
        held = self.heading_deg if held is None else held
        off = (heading_deg - held + 180.0) % 360.0 - 180.0
        if abs(off) < STEP_DEG:
            return []
        if now.t_s - self._asked_s >= ASK_EVERY_S:
            self._asked_s = now.t_s
            side = side_of(off)
            self._radius_m = self.ask_radius(side, MARKS_M)
        speed = max(now.picture.own.speed_m_s or self.speed_m_s, CREEP_M_S)
        if now.t_s - self._stepped_s < math.radians(STEP_DEG) * self._radius_m / speed:
            return []
        self._stepped_s = now.t_s
        return [order("helm", heading_deg=round((held + math.copysign(STEP_DEG, off)) % 360.0, 1))]

    _stepped_s = -math.inf

    # -- places -----------------------------------------------------------------------------------------------

    def again(self) -> Steps:
        yield from as_again_says(self)

    def whole_pass(self) -> Steps:
        yield from as_the_pass_says(self) if self._plans else by_the_sounder(self)

    # -- lines -------------------------------------------------------------------------------------------------

    def out(self, rods: Sequence[str]) -> Steps:
        """Let rods out one after the other, each nearly out before the next goes over."""
        for key in rods:
            yield [order("going out", key)]
            yield []
            while not self._nearly_out(key):
                yield []
        while any((rod := self.rod(key)) is not None and rod.moving_to_m is not None for key in rods):
            yield []
        while self._back or self.fighting:  # a rod was struck meanwhile
            yield []
        yield from self._wait(STEADY_S)

    def _nearly_out(self, key: str) -> bool:
        rod = self.rod(key)
        if rod is None or rod.moving_to_m is None or rod.line_out_m is None:
            return True
        return rod.line_out_m > NEARLY * rod.moving_to_m

    def take_in(self, rods: Sequence[str]) -> Steps:
        """Take rods in, two at a time."""
        waiting, coming = list(rods), dict[str, None]()
        while waiting or coming:
            done: list[Order] = []
            while waiting and len(coming) < AT_ONCE:
                key = waiting.pop(0)
                coming[key] = None
                done.append(order("length", key, line_out_m=REELED_M / 2))
            for key in list(coming):
                rod = self.rod(key)
                if rod is None or rod.line_out_m is None or rod.line_out_m <= REELED_M:
                    del coming[key]
                    done.append(order("in", key))
            yield done

    def length(self, rods: Sequence[str], to_m: float) -> Steps:
        yield [order("length", key, line_out_m=round(to_m, 2)) for key in rods]
        yield []
        while any((rod := self.rod(key)) is not None and rod.moving_to_m is not None for key in rods):
            yield []
        yield from self._wait(STEADY_S)

    def depth(self, rods: Sequence[str], between_m: tuple[float, float]) -> Steps:
        """Set line out to bring most of each rod's members between the depths, one rod after the other."""
        while True:
            for key in rods:
                rod = self.rod(key)
                if rod is None or rod.state is not RodState.FISHING or rod.line_out_m is None:
                    continue
                if self._turning or rod.moving_to_m is not None:
                    continue
                share = self._share(key, between_m)
                if abs(share - 1.0) < SHARE_OFF:
                    continue
                yield [order("length", key, line_out_m=round(share * rod.line_out_m, 2))]
                yield from self._wait(ASK_EVERY_S)
            yield from self._wait(ASK_EVERY_S)

    def _share(self, key: str, between_m: tuple[float, float]) -> float:
        """The best share of a rod's line out: depth is nearly proportional to line. 1 where nothing is known."""
        now = snapshot(self.now.watch)
        if now is None or key not in now.states:
            return 1.0
        depths = now.states[key].position_m[:, -1, 2]
        low, high = between_m
        tried = SHARES[:, None] * depths[None]
        margin = np.minimum(tried - low, high - tried)
        # A member well inside counts little more than one just inside. Far outside, distance makes no difference.
        worth = (np.clip(margin, -OUTSIDE_M, OUTSIDE_M) + WELL_INSIDE * np.clip(margin, 0.0, None)).mean(axis=1)
        return float(SHARES[int(np.argmax(worth))])

    def land(self) -> Steps:
        """Slow down as far as the lines allow, and speed up again when the fish is in."""
        usual = self.speed_m_s
        if self.fighting:
            self.speed_m_s = max(LANDING_M_S, self._slowest())
        while self.fighting:
            yield []
        self.speed_m_s = usual
        while self._back:
            yield []
        yield from self._wait(STEADY_S)

    def _may_go_out(self, view: View) -> bool:
        """Whether a rod may go out: on a straight course only, and after the last turn is complete."""
        return not self._turning and view.t_s - self._turned_s > COME_ROUND_S

    def _slowest(self) -> float:
        asked = self._fleet()
        if asked is None:
            return LANDING_M_S
        fleet, speed, required = asked
        bottom = self.now.picture.bottom_m
        limit = finish(slowest(fleet, speed_m_s=speed, required=required, bottom_m=bottom))
        return limit.speed_m_s or LANDING_M_S

    def _lines(self, view: View) -> list[Order]:
        """Every ten seconds: shorten lines too near the sounded bottom, and restore them when it falls away."""
        bottom = view.picture.bottom_m
        if bottom is None or self._feeling or view.t_s - self._looked_s < ASK_EVERY_S:
            return []
        self._looked_s = view.t_s
        done = []
        for rod in view.picture.rods:
            if rod.state is not RodState.FISHING or rod.depth_m is None or rod.line_out_m is None:
                continue
            lowest = max([rod.depth_m, *(point.depth_m for point in rod.points)])
            room = min(bottom - lowest, rod.clearance_m if rod.clearance_m is not None else math.inf)
            if room < ROOM_M:
                self._wanted_m.setdefault(rod.key, rod.line_out_m)
                share = max((lowest - (ROOM_M + AIM_M - room)) / lowest, LEAST_SHARE)
                done.append(order("length", rod.key, line_out_m=round(share * rod.line_out_m, 2)))
            elif rod.key in self._wanted_m and room > RESTORE_M and rod.moving_to_m is None:
                whole = self._wanted_m[rod.key]
                more = min(whole, rod.line_out_m * (lowest + room - ROOM_M - BACK_M) / lowest)
                if more >= whole - 0.01:
                    del self._wanted_m[rod.key]
                done.append(order("length", rod.key, line_out_m=round(more, 2)))
        return done
