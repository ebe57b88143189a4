"""One rod's chain through time: put in, let out, towed along, taken in.

A chain starts from its steady shape at the speed and course of that moment. It is *unsettled* until it has been
towed so far that its start no longer matters. After the start, each step advances it from its own place.
"""

from __future__ import annotations

import copy
import math
from collections import deque
from dataclasses import dataclass, field, replace
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import Rig, RodNow, down_to_ball, rig_of
from sternwatch.gear.spread_file.models import Rod, Spread, TackleItem
from sternwatch.hydro.chain.cutting import advised_segments
from sternwatch.hydro.chain.model import Chain, Line
from sternwatch.hydro.chain.rows import Rows, pack
from sternwatch.hydro.motion import fleet as motion
from sternwatch.hydro.motion import report as motion_report
from sternwatch.hydro.motion.regrid import regrid, with_first_line
from sternwatch.hydro.steady.solver import solve
from sternwatch.logbook.crew.state import CrewRod
from sternwatch.watch.boat.axes import Towing, point_on, to_boat, to_earth
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.chains.bridging import Moved
from sternwatch.watch.chains.ensemble import LEAST_START_M_S
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.watch.chains.members import Members, Part, at_length, first_length_m
from sternwatch.watch.chains.place import Place, is_rough, place_of
from sternwatch.watch.chains.reel import Reel
from sternwatch.watch.picture.model import SolverState
from sternwatch.water.properties import Water

# After towing over this many of its own lengths, a chain's start no longer matters.
FORGETS_LENGTHS = 1.5
LEAST_SETTLING_S = 20.0
# A board below its own height for this long is reported as pulled under.
UNDER_AFTER_S = 3.0
# After this many steps in a row that do not converge, the chain restarts.
GIVE_UP_STEPS = 5
# A chain is cut into segments again when the wanted length differs from its cut length by this ratio.
RECUT_RATIO = 1.5
TREND_S = 10.0

Floats = NDArray[np.float64]


@dataclass(slots=True)
class RodChain:
    """The physics of one rod. Only the spread and the rod are shared, and never change."""

    LOSES_LENGTH: ClassVar[bool] = True  # nobody knows how much line is out once some was wound in a fight
    spread: Spread
    rod: Rod
    reel: Reel
    crew: CrewRod
    attached_to: str | None
    out: bool = False
    ball_only: bool = False  # a fish is on: its line has left the ball, and the ball stays down until raised
    rig: Rig | None = None
    cut_for: RodNow | None = None  # the lengths for which its segments were chosen
    segments: int = 12
    rows: Rows | None = None
    state: motion.State | None = None
    place: Place | None = None
    members: Members | None = None
    started_s: float = math.nan
    towed_m: float = math.nan  # through the water, since the start
    why: str = ""
    failed: int = 0
    slack: bool = False
    rough: bool = False  # the depth is only about right
    under_since_s: float | None = None
    under: bool = False
    dark: bool = False
    trend: deque[tuple[float, float]] = field(default_factory=deque)
    t_s: float | None = None
    dt_s: float = 0.0  # of the last step

    @classmethod
    def of(cls, spread: Spread, rod: Rod, crew: CrewRod, pay_out_m_s: float) -> RodChain:
        attached = rod.clipped_to.rod if rod.clipped_to else None
        chain = cls(spread, rod, Reel(spread, rod, pay_out_m_s), crew, attached)
        chain.follow_crew(replace(crew, state="in"), crew)
        return chain

    def copy(self) -> RodChain:
        twin = copy.copy(self)
        twin.state = self.state.copy() if self.state is not None else None
        twin.members = self.members.copy() if self.members is not None else None
        twin.trend, twin.reel = deque(self.trend), copy.copy(self.reel)
        return twin

    # -- what the crew does -----------------------------------------------------------------------------------

    def follow_crew(self, before: CrewRod, after: CrewRod) -> None:
        """Update the chain's lengths and presence from what the crew did."""
        self.crew, self.reel.lead_m = after, after.lead_m
        nobody_knows = after.length_lost and self.LOSES_LENGTH
        ball_stays = self.keeps_ball and (after.state == "fighting" or nobody_knows)
        if (after.state not in ("letting out", "fishing") or nobody_knows) and not ball_stays:
            self.drop()
            self.out = self.ball_only = False
            return
        if ball_stays != self.ball_only:
            self.drop()
            self.ball_only = ball_stays
        self.reel.target_m = after.line_out_m
        if not self.out:
            self.reel.reading_m = self.reel.first_reading_m if after.state == "letting out" else self.reel.target_m
            self.reel.ran_for(after.let_out_s)  # a hit on the way stops it; the line stays out
        elif (before.setting, before.lead_m) != (after.setting, after.lead_m):
            self.drop()  # the crew had the rig in hand for that, so it restarts
        self.out = True

    def rig_as(self, spread: Spread) -> bool:
        """Take the rod from another spread. Returns whether its rig differs; a different rig restarts."""
        rod = next(rod for rod in spread.rods if rod.key == self.rod.key)
        other = rod != self.rod
        self.spread, self.rod = spread, rod
        self.reel.spread, self.reel.rod = spread, rod
        if other:
            self.attached_to = rod.clipped_to.rod if rod.clipped_to else None
            self.drop()
            self.out = self.ball_only = False
        return other

    @property
    def keeps_ball(self) -> bool:
        """Whether a ball stays down when a fish takes its line."""
        items = (item for item in self.rod.deployed if isinstance(item, TackleItem))
        return any(self.spread.tackle[item.tackle].kind == "ball" for item in items)

    @property
    def reading_m(self) -> float | None:
        """What the counter reads; negative until the line that it measures goes out."""
        return self.reel.reading_m

    @property
    def moving(self) -> float:
        """How the line moves now: +1 going out, -1 coming in, 0 neither."""
        return self.reel.moving if self.out else 0.0

    @property
    def whole_m(self) -> float:
        """Its length with all its line out; more than is out now while the line runs, and at the rail."""
        return self.reel.whole_m(self.past_tip_m, running=bool(self.moving))

    def drop(self) -> None:
        """Drop the chain: none is in the water, or nothing is known of it."""
        self.rig = self.rows = self.state = self.place = self.members = None
        self.trend.clear()
        self.slack = self.under = self.rough = False
        self.under_since_s = None
        self.failed = 0
        self.why = ""

    def go_dark(self, *, hidden: bool, gone: bool) -> None:
        """Mark the chain as old for want of a speed; ``hidden`` shows nothing of it any more, ``gone`` drops it."""
        self.dark = True
        if gone:
            self.drop()
        elif hidden:
            self.place, self.why = None, ""
            self.trend.clear()

    def carry(self, moved: Moved, members: Moved | None) -> None:
        """Move the chain with the boat across a hole in her track."""
        if self.state is not None:
            self.state = moved.state(self.state)
        if self.members is not None and members is not None:
            self.members.state = members.state(self.members.state)

    def begin_anew(self, t_s: float) -> None:
        """Count from here on what it is towed until it has settled: how it was towed before is not known."""
        self.started_s, self.towed_m = t_s, 0.0

    # -- motion -----------------------------------------------------------------------------------------------

    def begin_step(
        self,
        t_s: float,
        boat: Towing,
        waters: Waters,
        water: Water,
        follows: bool,
        parent: RodChain | None,
        beliefs: Beliefs | None = None,
    ) -> list[Part]:
        """Go on to ``t_s``, the boat being where she is then; with ``beliefs`` the members as well.

        Returns what is to be moved by the time since the step before. ``end_step`` must follow where anything is.
        """
        self.dt_s = 0.0 if self.t_s is None else t_s - self.t_s
        if self.t_s is None:
            self._catch_up(t_s)
        self.t_s = t_s
        self.dark = False
        if not self.out:
            return []
        if self.ball_only:
            beliefs = None  # the ± of a ball is never shown
        self._take_up_next(water, beliefs)
        rate = self.reel.run(self.dt_s)
        self._recut(water, beliefs)
        if self.state is None or not follows or self.failed >= GIVE_UP_STEPS:
            self._start(t_s, boat, waters, water, parent, beliefs)
            return []
        return self._parts(rate, parent, beliefs)

    def _recut(self, water: Water, beliefs: Beliefs | None) -> None:
        """Move the chain to other nodes when the wanted length is far from the one it was cut for."""
        target_m = self.reel.target_m
        if self.rows is None or self.state is None or self.cut_for is None or target_m is None or self.reel.on_reel:
            return
        cut_m = self.cut_for.line_out_as_counter_m or target_m
        ratio = max(target_m, 1.0) / max(cut_m, 1.0)
        if 1.0 / RECUT_RATIO <= ratio <= RECUT_RATIO:
            return
        self.cut_for = replace(self.cut_for, line_out_as_counter_m=target_m)
        self._relay(self._hanging(self.cut_for, water).chain, water, beliefs)

    def _take_up_next(self, water: Water, beliefs: Beliefs | None) -> None:
        """When the line at the tip is wholly out, begin the next one on the reel; and the reverse."""
        if self.state is None or self.cut_for is None or self.ball_only or not self.reel.takes_up(self.past_tip_m):
            return
        self.cut_for = replace(self.cut_for, line_out_as_counter_m=self.reel.target_m, on_reel=self.reel.on_reel)
        self.rig = self._hanging(replace(self.cut_for, line_out_as_counter_m=self.reading_m), water)
        whole = self._hanging(self.cut_for, water).chain
        self.segments = advised_segments(whole, water.density_kg_m3)
        self._relay(whole, water, beliefs)

    @property
    def past_tip_m(self) -> float:
        """Length of the chain past the rod tip."""
        assert self.rows is not None
        assert self.state is not None
        return float(np.add.reduce(self.state.rest_m[0, : int(self.rows.n_nodes[0]) - 1]))

    def _relay(self, chain: Chain, water: Water, beliefs: Beliefs | None) -> None:
        """Move the part past the tip to the nodes of ``chain``, cut for other lengths. Its shape stays."""
        assert self.rows is not None
        assert self.state is not None
        assert self.cut_for is not None
        beyond_m = sum(item.length_m for item in chain.items[1:] if isinstance(item, Line))
        made = pack(
            [chain],
            segments=self.segments,
            density_kg_m3=self.rows.density_kg_m3,
            viscosity_m2_s=self.rows.viscosity_m2_s,
        )
        made = with_first_line(made, self.past_tip_m - beyond_m)
        self.state, self.rows = regrid(self.state, self.rows, made), made
        if self.members is not None and beliefs is not None:
            self.members.recut(self.spread, self.rod, self.cut_for, water, beliefs, self.segments)

    def _catch_up(self, t_s: float) -> None:
        """Let out the line that ran out before the first step, for a rod restored while it was going out."""
        since = self.crew.state_since.elapsed_s if self.crew.state_since is not None else None
        if self.crew.state == "letting out" and since is not None:
            self.reel.ran_for(t_s - since)

    def _hanging(self, now: RodNow, water: Water) -> Rig:
        """The part of the rod in the water at these lengths and setting, with its believed coefficients."""
        rig = rig_of(self.spread, self.rod, now, water)
        return down_to_ball(rig) if self.ball_only else rig

    def _start(
        self,
        t_s: float,
        boat: Towing,
        waters: Waters,
        water: Water,
        parent: RodChain | None,
        beliefs: Beliefs | None,
    ) -> None:
        self.drop()
        self.reel.begin(whole=self.ball_only)
        now = RodNow(self.reading_m, self.crew.setting, self.crew.lead_m, on_reel=self.reel.on_reel)
        # Cut for the wanted length: else a rod that goes out would keep too few segments on its line.
        cut_for = replace(now, line_out_as_counter_m=self.reel.target_m)
        try:
            rig, whole = self._hanging(now, water), self._hanging(cut_for, water)
        except KeyError as missing:
            self.why = f"no setting {missing}"
            return
        first_m = self.reel.first_line_m
        chain = rig.chain if first_m is None else at_length(rig.chain, first_m)
        if self.attached_to is not None:
            tip = parent.cable_point_boat(rig.attach[1]) if parent is not None and rig.attach is not None else None
            if tip is None:
                self.why = f"rod {self.attached_to} is not down"
                return
            chain = replace(chain, tip_m=tip)
        try:
            self.segments = advised_segments(whole.chain, water.density_kg_m3)
            rows = pack(
                [replace(whole.chain, tip_m=chain.tip_m)],
                segments=self.segments,
                density_kg_m3=water.density_kg_m3,
                viscosity_m2_s=water.viscosity_m2_s,
            )
            rows = with_first_line(rows, first_length_m(chain))
        except ValueError as fault:
            self.why = str(fault)
            return
        speed = max(boat.speed_m_s, LEAST_START_M_S)
        arcs = rows.arc_m[0, : rows.n_nodes[0]]
        steady = solve(chain, speed, water=water, current=waters.in_boat_axes(boat), arc_m=arcs, tolerance=1e-7)
        if not steady.ok:
            self.why = steady.why
            return
        nodes = rows.nodes
        shape = np.empty((1, nodes, 3))
        shape[0, : len(arcs)] = to_earth(steady.shape_m, boat)
        shape[0, len(arcs) :] = shape[0, len(arcs) - 1]
        velocity = np.array([[*boat.velocity_m_s, 0.0]])
        self.rig, self.rows, self.cut_for = rig, rows, cut_for
        self.state = motion.start(rows, shape, velocity)
        self.started_s, self.towed_m = t_s, 0.0
        if beliefs is not None:
            clips = self._member_clips(parent)
            if clips is not None:
                clips = to_boat(clips - beliefs.apart(boat), boat)
                clips[:, 0] = -clips[:, 0]
            if clips is not None or self.attached_to is None:
                self.members = Members.start(
                    self.spread, self.rod, cut_for, first_length_m(chain), water, beliefs, boat,
                    steady.shape_m, clips, self.segments,
                )  # fmt: skip
        self._look(t_s, boat, waters, beliefs)

    def _member_clips(self, parent: RodChain | None) -> Floats | None:
        """Where a clipped rod begins on every member's cable, earth axes. None for a rod that is not clipped."""
        if parent is None or parent.members is None or self.rig is None or self.rig.attach is None:
            return None
        return parent.members.clips(self.rig.attach[1])

    def _parts(self, rate_m_s: float, parent: RodChain | None, beliefs: Beliefs | None) -> list[Part]:
        assert self.rows is not None
        assert self.state is not None
        tip = clips = None
        if self.attached_to is not None:
            tip = parent.cable_point(self.rig.attach[1]) if parent and self.rig and self.rig.attach else None
            if tip is None:
                self.drop()
                self.why = f"rod {self.attached_to} is not down"
                return []
            clips = self._member_clips(parent)
            if clips is None and beliefs is not None:
                self.members = None
        parts = [Part(self.rows, self.state, False, rate_m_s, tip)]
        if self.members is not None and beliefs is not None:
            counted = not self.reel.on_reel
            parts.append(self.members.part(self.dt_s, rate_m_s, beliefs, clips, counted=counted))
        return parts

    def end_step(self, boat: Towing, waters: Waters, beliefs: Beliefs | None) -> None:
        """See where the chain is now, after it has been moved."""
        assert self.state is not None
        assert self.t_s is not None
        if self.state.failed[0]:
            self.failed += 1
            self.why = "the step did not converge"
            return
        self.failed = 0
        self.why = ""
        self._look(self.t_s, boat, waters, None if self.ball_only else beliefs)
        self.towed_m += boat.speed_m_s * self.dt_s

    def _look(self, t_s: float, boat: Towing, waters: Waters, beliefs: Beliefs | None) -> None:
        """Read the chain's place off the solver's state."""
        assert self.rows is not None
        assert self.state is not None
        law = self.members.quantiles() if self.members is not None and beliefs is not None else None
        report = motion_report.report(self.rows, self.state, waters.flow)
        self.place = place_of(self.rows, self.state, report, boat, law)
        self.rough = is_rough(self.place.depth_m, self.place.depth_interval_m, self.rough)
        self.slack = report.slack
        if not report.board_under:
            self.under_since_s = None
        elif self.under_since_s is None:
            self.under_since_s = t_s
        self.under = self.under_since_s is not None and t_s - self.under_since_s >= UNDER_AFTER_S
        self.trend.append((t_s, self.place.depth_m))
        while self.trend[0][0] < t_s - TREND_S:
            self.trend.popleft()

    # -- what others ask --------------------------------------------------------------------------------------

    def cable_point(self, above_ball_m: float) -> Floats | None:
        """Where a line clipped ``above_ball_m`` above this chain's first body begins, earth axes (3,)."""
        if self.rows is None or self.state is None or self.rig is None or "ball" not in self.rig.kinds:
            return None
        node = int(self.rows.body_node[0, self.rig.kinds.index("ball")])
        return point_on(self.state.rest_m[0], self.state.position_m[0], node, above_ball_m)

    def cable_point_boat(self, above_ball_m: float) -> tuple[float, float, float] | None:
        """The same in boat axes: forward, to starboard, down."""
        if self.place is None or self.rows is None or self.state is None or self.rig is None:
            return None
        if "ball" not in self.rig.kinds:
            return None
        node = int(self.rows.body_node[0, self.rig.kinds.index("ball")])
        astern, abeam, depth = map(float, point_on(self.state.rest_m[0], self.place.shape_m, node, above_ball_m))
        return (-astern, abeam, depth / self.place.stretched)

    @property
    def solver(self) -> SolverState:
        """How good the computed place is now."""
        if not self.out or (self.place is None and not self.why):
            return SolverState.NONE
        if self.dark:
            return SolverState.OLD
        if self.why:
            return SolverState.FAILED
        if self.under:
            return SolverState.PULLED_UNDER
        if self.slack:
            return SolverState.SLACK
        return SolverState.SETTLED if self.settled else SolverState.UNSETTLED

    @property
    def settled(self) -> bool:
        """Whether the chain has been towed so far that its start no longer matters."""
        if self.place is None or self.rig is None or self.t_s is None:
            return False
        towed = self.towed_m >= FORGETS_LENGTHS * self.rig.length_m
        return towed and self.t_s - self.started_s >= LEAST_SETTLING_S

    @property
    def change_10s_m(self) -> float | None:
        """Depth now less depth ten seconds ago. None until that is known."""
        if len(self.trend) < 2 or self.trend[-1][0] - self.trend[0][0] < TREND_S - 1e-6:
            return None
        return self.trend[-1][1] - self.trend[0][1]
