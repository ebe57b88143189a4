"""The whole simulated world on the session's clock: takes orders and the crew's actions, gives NMEA lines and truth.

Nothing here knows wall time. The world steps on a fixed grid of a tenth of a second, and an action of the crew counts
from the first step at or after its moment. So the same drill, seed and actions always give the same world.
"""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from sternwatch.feed.readings import Line
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action, Fault, Helm, Throttle
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import Crew
from sternwatch.practice.drills.faults import SensorFault, fault_of
from sternwatch.practice.drills.model import Drill
from sternwatch.practice.world import boat as boats
from sternwatch.practice.world.boat import Boat, Orders, Pose
from sternwatch.practice.world.fish import Fish
from sternwatch.practice.world.instruments import LEAST_DELAY_S, Instruments, Truth
from sternwatch.practice.world.scene import faults_of, lake_of, sea_of
from sternwatch.practice.world.tally import Standing, Tally
from sternwatch.practice.world.truth import STEP_MS, Below
from sternwatch.watch.chains.encounters import Encounters
from sternwatch.watch.chains.ensemble import required_of
from sternwatch.watch.chains.spread_in_force import Rigging

TICK_MS: Final = 100
# The boat keeps her first speed for this long, until the lines' pull is known.
UNDER_WAY_S: Final = 5.0


class World:
    """One session's world, from feed time 0 at ``begin_unix_s`` (a whole second)."""

    def __init__(
        self,
        drill: Drill,
        spread: Spread,
        seed: int,
        begin_unix_s: int,
        faults: Iterable[SensorFault] = (),
    ) -> None:
        self.drill, self.spread, self.seed = drill, spread, seed
        self.begin_unix_s = begin_unix_s
        self.lake, self.sea = lake_of(drill, seed), sea_of(drill, seed)
        self.crew: Crew = fold((), Rigging.of(spread), drill.start.rods)
        self.below = Below.of(spread, self.lake, self.crew, seed, drill.lake.surface_c)
        self.encounters = Encounters(required_of(spread))
        self.fish = Fish(drill.fish, drill.strike, seed)
        self.tally = Tally(drill)
        transducer = spread.boat.transducer_depth_m or 0.0
        self._instruments = Instruments(
            seed, begin_unix_s, transducer, self.below.log_factor, (*faults_of(drill), *faults)
        )
        heading = math.degrees(drill.start.heading_rad) % 360.0
        self.orders = Orders(heading_deg=heading, engine=drill.start.engine)
        self.boat: Boat = boats.under_way(heading, drill.start.speed_m_s, self.orders, self.sea.wind(0.0))
        self.drift_m = (0.0, 0.0)  # the place of the water frame's origin over ground
        self.t_ms = -TICK_MS
        self._due: list[tuple[float, int, Action]] = []
        self._serial = 0
        self._turned_at_start: float | None = None
        self._throttled = False  # the crew have moved the lever
        self._tick()

    @property
    def t_s(self) -> float:
        """The time that the world has reached."""
        return self.t_ms / 1000.0

    @property
    def drill_s(self) -> float:
        """Time since the drill began, negative before."""
        return self.t_s - self.drill.start.lead_in_s

    @property
    def turned_deg(self) -> float:
        """The boat's turn since the drill began, positive to starboard."""
        return self.boat.turned_deg - (self._turned_at_start or 0.0) if self._turned_at_start is not None else 0.0

    @property
    def place_m(self) -> tuple[float, float]:
        """(north, east) of the transom over ground, from the start."""
        return self.boat.north_m + self.drift_m[0], self.boat.east_m + self.drift_m[1]

    def act(self, action: Action) -> None:
        """Take a stored action. UTC places an action without feed time."""
        at = action.elapsed_s
        if at is None:
            at = action.time.timestamp() - self.begin_unix_s
        self._serial += 1
        insort(self._due, (at, self._serial, action), key=lambda due: due[:2])

    def to(self, t_s: float) -> list[Line]:
        """The lines due up to ``t_s``. The world goes only as far as these lines need."""
        until = math.floor((t_s - LEAST_DELAY_S) * 1000.0 / TICK_MS + 1e-6) * TICK_MS
        while self.t_ms < until:
            self._tick()
        return list(self._instruments.lines(round(t_s * 1000.0)))

    # -- one step ----------------------------------------------------------------------------------------------

    def _tick(self) -> None:
        self.t_ms += TICK_MS
        t = self.t_s
        self._take_due(t)
        if self.t_ms > 0:
            dt = TICK_MS / 1000.0
            self.boat = boats.step(self.boat, self.orders, self.sea.wind(t), self.below.pull_N, dt)
            if t <= UNDER_WAY_S and not self._throttled:
                self._keep_way()
            current = self.lake.surface_current_at(t)
            self.drift_m = (self.drift_m[0] + current[0] * dt, self.drift_m[1] + current[1] * dt)
        if self._turned_at_start is None and self.drill_s >= 0.0:
            self._turned_at_start = self.boat.turned_deg
        pose = Pose.of(self.boat, self.sea, t)
        if self.t_ms % STEP_MS == 0:
            self._move_lines(t, pose)
        self._sense(pose)

    def _keep_way(self) -> None:
        """Set the lever to keep the speed against the lines' pull, because she was under way before."""
        start = self.drill.start
        lever = round(boats.lever_for(start.speed_m_s, self.below.pull_N, start.engine), 2)
        self.orders = replace(self.orders, lever=lever)
        thrust = boats.ENGINES[start.engine].thrust_N(lever, start.speed_m_s)
        self.boat = replace(self.boat, surge_m_s=start.speed_m_s, thrust_N=thrust)

    def _take_due(self, t_s: float) -> None:
        while self._due and self._due[0][0] <= t_s + 1e-9:
            action = self._due.pop(0)[2]
            if isinstance(action, Helm):
                rudder = action.rudder_deg or 0.0
                self.orders = replace(self.orders, rudder_deg=rudder, heading_deg=action.heading_deg)
            elif isinstance(action, Throttle):
                self.orders = replace(self.orders, engine=action.engine, lever=action.lever)
                self._throttled = True
            elif isinstance(action, Fault):
                self._instruments.fail(fault_of(action, t_s), t_s)
            before = self.crew
            self.crew = apply(self.crew, action)
            self.below.follow(before, self.crew)

    def _move_lines(self, t_s: float, pose: Pose) -> None:
        self.below.step(t_s, pose, self.drift_m)
        sample = self.below.sample
        if sample is not None and self.drill_s >= 0.0 and not self.tally.over:
            self.encounters.take(sample, self.below.chains)
        self.fish.step(
            t_s, STEP_MS / 1000.0, self.drill_s, self.turned_deg, self.boat.surge_m_s, self.below.places, self.crew
        )
        self.tally.take(
            Standing(self.drill_s, self.place_m, self.turned_deg, self.boat, self.below, self.crew, self.fish)
        )

    def _sense(self, pose: Pose) -> None:
        antenna = self.spread.boat.antenna_m
        a = math.radians(pose.heading_deg)
        north = pose.north_m + self.drift_m[0]
        east = pose.east_m + self.drift_m[1]
        current = self.lake.surface_current_at(self.t_s)
        self._instruments.sense(
            self.t_ms,
            Truth(
                pose,
                north + antenna * math.cos(a),
                east + antenna * math.sin(a),
                (pose.velocity_m_s[0] + current[0], pose.velocity_m_s[1] + current[1]),
                self.lake.temperature_c(north, east, 0.3, self.t_s),
                self.lake.bottom_m(north, east),
            ),
        )
