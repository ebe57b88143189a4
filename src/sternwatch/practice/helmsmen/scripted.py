"""Scripted helmsmen. Both do a drill's tasks in order; they differ in turning, slowing down and minding their lines.

A task is a generator that yields the orders of each second until it is done. A helmsman knows what the console shows
and what a crew feels on the boat, but not the truth.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from typing import Final

from sternwatch.practice.drills.model import Drill, Task
from sternwatch.practice.helmsmen.seeking import back_along_his_track, by_the_sounder
from sternwatch.practice.sessions.headless import Order, View, order
from sternwatch.practice.world.boat import HULL
from sternwatch.watch.picture.model import HitPicture, RodPicture, RodState

Steps = Iterator[list[Order]]

# How long a crew needs for these. Every number: memory.
HIT_AFTER_S: Final = 3.0  # from the strike to the key press
BACK_AFTER_S: Final = 12.0  # from the net to the rod going out again
TRY_AGAIN_S: Final = 5.0  # to the next try, where the rod may not go out yet or is going out
REELED_M: Final = 4.0  # with this little line out a rod counts as in
ABREAST_DEG: Final = 100.0  # another boat further aft than this has passed
PAST_M_S: Final = 0.5  # another boat that draws away faster than this has passed
# A hand on the throttle, by our choice: it looks at intervals and moves the lever by a share of the missing speed.
LEVER_EVERY_S: Final = 4
LEVER_GAIN_S_M: Final = 0.12  # share of the lever's travel for each missing m/s
SPEED_OFF_M_S: Final = 0.04  # a difference not worth a move
FEELS_M: Final = 1.5  # line let out at a time towards the bottom
FEELS_S: Final = 12.0  # how long he then waits for a tick
TAKES_IN_M: Final = 15.0  # line taken in after a tick
CLEARS_S: Final = 50.0  # wait until it hangs clear again
LEVER_LEAST: Final = 0.004  # the smallest move, as a share of the lever's travel


class Scripted(ABC):
    """The base of both helmsmen, who do the tasks of a drill."""

    def __init__(self, drill: Drill) -> None:
        self.drill = drill
        self.view: View | None = None
        self.speed_m_s = drill.start.speed_m_s
        self._tasks = self._all()
        self._keyed: set[tuple[str, float]] = set()
        self._back: dict[str, float] = {}

    NOTES_AFTER_S = 2.0  # rods on which a tick of the bottom was felt
    _feeling = False  # rods let out to the bottom on purpose

    def acts(self, view: View) -> Sequence[Order]:
        """The orders of this second."""
        self.view = view
        return [*self._fish(view), *self._lines(view), *self._throttle(view), *next(self._tasks, [])]

    @property
    def now(self) -> View:
        """What he sees now."""
        assert self.view is not None
        return self.view

    def _all(self) -> Steps:
        """The tasks in order. A task marked ``meanwhile`` runs beside those after it."""
        beside: list[Steps] = []
        for task in self._in_order(self.drill.task):
            steps = self._do(task)
            if task.meanwhile:
                beside.append(steps)
                continue
            for orders in steps:
                yield [*orders, *(one for other in beside for one in next(other, []))]
        while True:
            yield [one for other in beside for one in next(other, [])]

    def _do(self, task: Task) -> Steps:
        match task.do:
            case "turn":
                assert task.turn is not None
                yield from self.turn(task.turn)
            case "steer":
                assert task.heading_rad is not None
                yield from self.turn(self._off(math.degrees(task.heading_rad)))
            case "speed":
                assert task.speed_m_s is not None
                self.speed_m_s = task.speed_m_s
            case "wait":
                yield from self._wait(task.for_s)
            case "out":
                yield from self.out(task.rods)
            case "in":
                yield from self.take_in(task.rods)
            case "length":
                assert task.to_m is not None
                yield from self.length(task.rods, task.to_m)
            case "depth":
                assert task.between_m is not None
                yield from self.depth(task.rods, task.between_m)
            case "marks":
                yield from self.marks()
            case "land":
                yield from self.land()
            case "give way":
                yield from self.give_way()
            case "touch":
                yield from self.touch(task.rods)
            case "again":
                yield from self.again()
            case "pass":
                yield from self.whole_pass()

    # -- what each does in his own way -------------------------------------------------------------------------

    def _in_order(self, tasks: tuple[Task, ...]) -> tuple[Task, ...]:
        return tasks

    @abstractmethod
    def turn(self, degrees: float) -> Steps:
        """Turn by an angle, positive to starboard."""

    @abstractmethod
    def out(self, rods: Sequence[str]) -> Steps:
        """Let the rods out."""

    @abstractmethod
    def take_in(self, rods: Sequence[str]) -> Steps:
        """Bring the rods in."""

    @abstractmethod
    def length(self, rods: Sequence[str], to_m: float) -> Steps:
        """Change line out."""

    @abstractmethod
    def depth(self, rods: Sequence[str], between_m: tuple[float, float]) -> Steps:
        """Hold lures between two depths for the rest of the drill."""

    @abstractmethod
    def land(self) -> Steps:
        """Bring the fish that are on to the net."""

    def give_way(self) -> Steps:
        """Hold the course until the other boat has passed."""
        while (vessel := self.now.shown.vessel) is not None and abs(vessel.bearing_deg) < ABREAST_DEG:
            if vessel.closing_m_s < -PAST_M_S:
                break
            yield []

    def touch(self, rods: Sequence[str]) -> Steps:
        """Let a rod out until it ticks, enter that, take in a little."""
        self._feeling = True
        for key in rods:
            begun_s = self.now.t_s
            while not any(e.kind == "tick" and e.key == key and e.t_s >= begun_s for e in self.now.shown.events):
                rod = self.rod(key)
                if rod is not None and rod.line_out_m is not None and rod.moving_to_m is None:
                    yield [order("length", key, line_out_m=rod.line_out_m + FEELS_M)]
                yield from self._wait(FEELS_S)
            rod = self.rod(key)
            yield from self._wait(self.NOTES_AFTER_S)
            yield [order("observed", key, what="touched bottom")]
            if rod is not None and rod.line_out_m is not None:
                yield [order("length", key, line_out_m=max(rod.line_out_m - TAKES_IN_M, 1.0))]
            yield from self._wait(CLEARS_S)
        self._feeling = False

    @abstractmethod
    def again(self) -> Steps:
        """Bring the struck lure back through its place."""

    def whole_pass(self) -> Steps:
        """Keep lures where they are wanted until the drill ends, by following an edge with the sounder."""
        yield from by_the_sounder(self)

    @abstractmethod
    def steer_to(self, heading_deg: float) -> list[Order]:
        """Steer toward a mark."""

    def _lines(self, view: View) -> list[Order]:  # noqa: ARG002
        return []

    def _may_go_out(self, view: View) -> bool:  # noqa: ARG002
        """Whether a rod may go back out now."""
        return True

    # -- common ------------------------------------------------------------------------------------------------

    def _wait(self, seconds: float) -> Steps:
        until = self.now.t_s + seconds
        while self.now.t_s < until:
            yield []

    @property
    def heading_deg(self) -> float:
        """The compass heading; the last known one while the compass is silent."""
        own = self.now.picture.own
        if own.heading_deg is not None:
            self._heading = own.heading_deg
        return self._heading

    _heading = 0.0

    def _off(self, heading_deg: float) -> float:
        return (heading_deg - self.heading_deg + 180.0) % 360.0 - 180.0

    def marks(self) -> Steps:
        """Steer for each mark in turn. The receiver gives the boat's place."""
        goal = self.drill.goal
        if goal is None:
            return
        while (passed := self.now.shown.marks_passed) < len(goal.marks):
            mark = goal.marks[passed]
            place = self.now.place_m
            if place is None:
                yield []
                continue
            bearing = math.degrees(math.atan2(mark.east_m - place[1], mark.north_m - place[0]))
            yield self.steer_to(bearing % 360.0)

    def _throttle(self, view: View) -> list[Order]:
        """Work the lever toward the wanted speed through the water."""
        own = view.picture.own
        if own.speed_mean_m_s is None or own.speed_m_s is None or round(view.t_s) % LEVER_EVERY_S:
            return []
        off = self.speed_m_s - own.speed_m_s
        if abs(off) < SPEED_OFF_M_S:
            return []
        lever = min(max(view.shown.lever + LEVER_GAIN_S_M * off, 0.0), 1.0)
        if abs(lever - view.shown.lever) < LEVER_LEAST:
            return []
        return [order("throttle", engine=view.shown.engine, lever=round(lever, 3))]

    def rod(self, key: str) -> RodPicture | None:
        """A rod in the picture."""
        return next((rod for rod in self.now.picture.rods if rod.key == key), None)

    def _fish(self, view: View) -> list[Order]:
        """Enter what happens to the rods, and put back those that had a fish."""
        done: list[Order] = []
        for event in view.shown.events:
            name = (event.kind + event.key, event.t_s)
            if name in self._keyed or event.kind == "tick":
                continue
            if event.kind == "strike":
                if view.t_s - event.t_s >= HIT_AFTER_S:
                    self._keyed.add(name)
                    done.append(order("hit", event.key))
                continue
            hit = self._open_hit(event.key)
            if hit is None:
                continue
            self._keyed.add(name)
            outcome = {"nothing": "no fish", "net": "boxed", "off": "dropped"}[event.kind]
            done.append(order("outcome", of=hit.id, outcome=outcome))
            if event.kind in ("net", "off"):
                self._back[event.key] = view.t_s + BACK_AFTER_S
        for key, at in list(self._back.items()):
            rod = self.rod(key)
            if rod is None or view.t_s < at:
                continue
            if rod.state is RodState.IN and self._may_go_out(view):
                done.append(order("going out", key))
                self._back[key] = view.t_s + TRY_AGAIN_S
            elif rod.state is RodState.FISHING and rod.line_out_m is None:
                done.append(order("set", key))  # at the length that it had before the fight
                self._back[key] = view.t_s + TRY_AGAIN_S
            elif rod.state is RodState.FISHING and rod.moving_to_m is None:
                del self._back[key]
        return done

    def _open_hit(self, key: str) -> HitPicture | None:
        mine = [hit for hit in self.now.picture.hits if hit.rod == key and hit.state == "open"]
        return mine[-1] if mine else None

    @property
    def fighting(self) -> bool:
        """Whether a fish is on."""
        return any(rod.state is RodState.FIGHTING for rod in self.now.picture.rods)


class Novice(Scripted):
    """Uses full rudder and full throttle, ignores the outlook, and handles lines in any order."""

    # How a beginner works. Every number: memory.
    NOTES_AFTER_S = 35.0  # he looks for a pencil first
    HARD_DEG = HULL.rudder_max_deg
    CHECKS_DEG = 18.0  # he lets go of the wheel this much before the new course
    CLOSE_M = 170.0  # he turns away from another boat at this distance, no sooner
    NEXT_ROD_S = 25.0  # from one rod let out to the next
    NEXT_IN_S = 40.0  # from one rod reeled in to the next
    OFF_DEG = 8.0  # he does not correct a smaller angle off the bearing of a mark
    CRAWL_M_S = 0.15  # his speed while a fish is on
    AGAIN = 0.7  # his lever when the fish is in

    def _in_order(self, tasks: tuple[Task, ...]) -> tuple[Task, ...]:
        # He turns home first and sees to the lines later.
        return tuple(sorted(tasks, key=lambda task: {"in": 1, "wait": 2}.get(task.do, 0) if self._hurries else 0))

    @property
    def _hurries(self) -> bool:
        return any(task.do == "in" for task in self.drill.task)

    def turn(self, degrees: float) -> Steps:
        if self.drill.vessel is not None:
            while (vessel := self.now.shown.vessel) is not None and vessel.distance_m > self.CLOSE_M:
                if abs(vessel.bearing_deg) > ABREAST_DEG:
                    break
                yield []
        target = self.heading_deg + degrees
        side = math.copysign(1.0, degrees)
        begun = self.now.shown.turned_deg
        yield [order("helm", rudder_deg=side * self.HARD_DEG)]
        while (self.now.shown.turned_deg - begun) * side < abs(degrees) - self.CHECKS_DEG:
            yield []
        yield [order("helm", heading_deg=round(target % 360.0, 1))]

    def steer_to(self, heading_deg: float) -> list[Order]:
        off = self._off(heading_deg)
        rudder = 0.0 if abs(off) < self.OFF_DEG else math.copysign(self.HARD_DEG, off)
        now = self.now.shown
        if now.heading_held_deg is None and abs(now.rudder_deg - rudder) < 1.0:
            return []
        return [order("helm", rudder_deg=rudder)]

    def out(self, rods: Sequence[str]) -> Steps:
        # The nearest rods first, each as soon as the last one runs. The next task does not wait for them.
        for key in reversed(rods):
            yield [order("going out", key)]
            yield from self._wait(self.NEXT_ROD_S)

    def take_in(self, rods: Sequence[str]) -> Steps:
        for key in sorted(rods):
            yield [order("in", key)]
            yield from self._wait(self.NEXT_IN_S)

    def again(self) -> Steps:
        yield from back_along_his_track(self)

    def length(self, rods: Sequence[str], to_m: float) -> Steps:  # noqa: ARG002
        yield []

    def depth(self, rods: Sequence[str], between_m: tuple[float, float]) -> Steps:  # noqa: ARG002
        yield []

    def land(self) -> Steps:
        usual = self.speed_m_s
        yield [order("throttle", engine=self.now.shown.engine, lever=0.0)]
        self.speed_m_s = self.CRAWL_M_S
        while self.fighting:
            yield []
        self.speed_m_s = usual
        yield [order("throttle", engine=self.now.shown.engine, lever=self.AGAIN)]
