"""The same rods in many versions, towed live: they give the median and the ± of a depth.

Every member has its own coefficients (drawn once for each session from the priors, shared by all of one name), its
own error of speed, and its own water below the surface. Its chains follow the boat's real motion, so the interval is
as good in a turn as on a straight course.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.observations import concerns
from sternwatch.answers.belief.predictive import places_of
from sternwatch.answers.belief.priors import believed_of, named
from sternwatch.answers.chains.arrays import Rig, RodNow, rig_of
from sternwatch.answers.depths.along_lines import Quantiles
from sternwatch.answers.depths.law import Places, Surface, surface_of
from sternwatch.gear.spread_file.counter import SHORTEST_M, offset_m
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.hydro.chain.forces import B_DRAG, L_NORMAL
from sternwatch.hydro.chain.model import Chain, Line
from sternwatch.hydro.chain.rows import Rows, pack
from sternwatch.hydro.motion import fleet as motion
from sternwatch.hydro.motion.regrid import regrid, with_first_line
from sternwatch.hydro.steady.solver import solve
from sternwatch.watch.boat.axes import Towing, laid, point_on, turn_of
from sternwatch.watch.chains.ensemble import LEAST_START_M_S
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.water.properties import Water

Floats = NDArray[np.float64]

# What a depth depends on changes within seconds in a turn. After this many steps it is fitted again if it may have.
SURFACE_STEPS = 8
# The model's discrepancy follows the mean speed of this time, and is applied again after this change of log drag.
DRAGGED_S = 20.0
DRAGGED_STEP = 0.01


class Part(NamedTuple):
    """One rod's own chain, or those of its members."""

    rows: Rows
    state: motion.State
    members: bool
    rate_m_s: Floats | float = 0.0  # at which line goes out, for all or each
    tips_m: Floats | None = None  # where the chains begin at the step's end, earth axes; None: at their rod's tip


@dataclass(slots=True)
class Members:
    """One rod's chain in every member."""

    rigs: tuple[Rig, ...]
    rows: Rows
    state: motion.State
    reeled: Floats  # (M,) each member's line out per length of the nominal chain's line: their counters differ
    places: Places  # what each member believes, and the distribution they represent
    surface: Surface | None = None
    surface_age: int = 0
    speeds_m_s: Floats | None = None  # (M,) recent mean, for the model's discrepancy; None: there is none
    put_in: Floats | None = None  # (M,) logarithm of the drag factor applied now

    @classmethod
    def start(
        cls,
        spread: Spread,
        rod: Rod,
        cut_for: RodNow,
        length_m: float,
        water: Water,
        beliefs: Beliefs,
        boat: Towing,
        shape_m: Floats,
        clips_m: Floats | None,
        segments: int,
    ) -> Members:
        """Start from each member's own steady state, or without one from the nominal shape (nodes, 3) in boat axes.

        ``cut_for``: the lengths for which the chain is cut into segments; ``length_m``: the nominal chain's line
        out now. ``clips_m`` (M, 3) forward, starboard, down: where a clipped rod's line begins.
        """
        counter = f"rod {rod.key} counter"
        reeled = named(spread, beliefs.draws, counter) / spread.values.get(counter, 1.0)
        past_m = 0.0 if rod.line_out_m is None else offset_m(spread, rod, cut_for.lead_m)
        zeros = named(spread, beliefs.draws, f"rod {rod.key} zero") - spread.values.get(f"rod {rod.key} zero", 0.0)
        lengths = np.maximum(past_m + (length_m - past_m) * reeled + zeros, SHORTEST_M)
        if cut_for.on_reel:
            lengths = np.full(len(reeled), length_m)  # no counter measures this line
        rigs = _rigs(spread, rod, cut_for, water, beliefs)
        rows = _cut(rigs, water, lengths, segments)
        speeds = _speeds(beliefs)
        chains = [
            at_length(rig.towed(float(speed)).chain, float(length))
            for rig, length, speed in zip(rigs, lengths, speeds, strict=True)
        ]
        if clips_m is not None:
            chains = [
                replace(chain, tip_m=(float(tip[0]), float(tip[1]), float(tip[2])))
                for chain, tip in zip(chains, clips_m, strict=True)
            ]
        n = int(rows.n_nodes[0])
        shapes = np.empty((len(chains), rows.nodes, 3))
        c, s = turn_of(boat)
        for member, chain in enumerate(chains):
            speed = float(speeds[member])
            north, east = beliefs.flow.velocity_m_s[member].T
            below = (beliefs.flow.depths_m, np.stack([north * c + east * s, east * c - north * s], axis=1))
            steady = solve(chain, speed, water=water, current=below, arc_m=rows.arc_m[member, :n], tolerance=1e-5)
            own = steady.shape_m if steady.ok else shape_m
            north_m, east_m = map(float, beliefs.place_m[member])
            shapes[member, :n] = laid(own, north_m, east_m, (c, s))
            shapes[member, n:] = shapes[member, n - 1]
        velocity = np.concatenate([beliefs.velocity_m_s, np.zeros((len(chains), 1))], axis=1)
        names = concerns(spread, rod, believed_of(spread, beliefs.draws.calibration))
        dealt = np.stack([beliefs.draws.normal(name) for name in names], axis=1)
        places = places_of(spread, rod, names, beliefs.draws.calibration, dealt)
        made = cls(rigs, rows, motion.start(rows, shapes, velocity), reeled, places)
        made._begin_dragging(beliefs)
        return made

    def recut(
        self,
        spread: Spread,
        rod: Rod,
        cut_for: RodNow,
        water: Water,
        beliefs: Beliefs,
        segments: int,
    ) -> None:
        """Move every member to nodes chosen for other lengths, or for another of its lines at the tip.

        Each member keeps its own length past the tip.
        """
        whole = np.array([rest[: n - 1].sum() for rest, n in zip(self.state.rest_m, self.rows.n_nodes, strict=True)])
        rigs = _rigs(spread, rod, cut_for, water, beliefs)
        beyond = np.array([rig.length_m - first_length_m(rig.chain) for rig in rigs])
        lengths = np.maximum(whole - beyond, SHORTEST_M)
        self.rigs = rigs
        made = _cut(rigs, water, lengths, segments)
        self.state, self.rows = regrid(self.state, self.rows, made), made
        self._begin_dragging(beliefs)

    def _begin_dragging(self, beliefs: Beliefs) -> None:
        """Give rows without a discrepancy the one of the present speed."""
        self.speeds_m_s = self.put_in = None
        if not all(rig.beside.is_nothing for rig in self.rigs):
            self.speeds_m_s, self.put_in = _speeds(beliefs), np.zeros(len(self.rigs))
            self._put_in_drag()

    def _drag(self, dt_s: float, beliefs: Beliefs) -> None:
        """Apply the drag that the model's discrepancy gives each member at its recent mean speed."""
        if self.speeds_m_s is not None:
            self.speeds_m_s = self.speeds_m_s + min(dt_s / DRAGGED_S, 1.0) * (_speeds(beliefs) - self.speeds_m_s)
            self._put_in_drag()

    def _put_in_drag(self) -> None:
        assert self.speeds_m_s is not None
        assert self.put_in is not None
        wanted = np.array(
            [rig.beside.log_factor(float(v), rig.read_m) for rig, v in zip(self.rigs, self.speeds_m_s, strict=True)]
        )
        if np.abs(wanted - self.put_in).max() > DRAGGED_STEP:
            by = np.exp(wanted - self.put_in)[:, None]
            line, body = self.rows.line.copy(), self.rows.body.copy()
            line[:, :, L_NORMAL] *= by
            body[:, :, B_DRAG] *= by
            self.rows, self.put_in = replace(self.rows, line=line, body=body), wanted

    def copy(self) -> Members:
        surface = self.surface.copy() if self.surface is not None else None
        return replace(self, state=self.state.copy(), surface=surface)

    def part(self, dt_s: float, rate_m_s: float, beliefs: Beliefs, clips_m: Floats | None, *, counted: bool) -> Part:
        """What is to be moved in a step of ``dt_s``. A member that fails keeps its flag, and no interval counts it.

        ``counted``: the counter measures the line that goes out.
        """
        self._drag(dt_s, beliefs)
        rates = rate_m_s * (self.reeled if counted else np.ones_like(self.reeled)) if rate_m_s != 0.0 else 0.0
        return Part(self.rows, self.state, True, rates, clips_m)

    def depths(self) -> Floats:
        """(M,) depth of every member's lure; nan where unknown."""
        last: Floats = self.state.position_m[:, -1, 2].copy()  # (nodes beyond a chain's end lie at its end)
        last[self.state.failed] = np.nan
        return last

    def quantiles(self) -> Quantiles | None:
        """Quantiles of the lure's depth now. None where too few members are known. Called once a step."""
        depths = self.depths()
        known, before = np.isfinite(depths), self.surface
        all_known = len(depths) if np.logical_and.reduce(known) else None
        if (
            before is None
            or (len(before.kept) != all_known and not np.array_equal(before.kept, np.flatnonzero(known)))
            or (self.surface_age >= SURFACE_STEPS and not before.still_suits(depths))
        ):
            self.surface, self.surface_age = surface_of(self.places, depths, before), 0
        elif self.surface_age >= SURFACE_STEPS:
            self.surface_age = 0
        self.surface_age += 1
        return None if self.surface is None else self.surface.quantiles(depths)

    def clips(self, above_ball_m: float) -> Floats | None:
        """Where a line clipped above the ball begins on every member's cable, earth axes (M, 3)."""
        kinds = self.rigs[0].kinds
        if "ball" not in kinds:
            return None
        balls = self.rows.body_node[:, kinds.index("ball")]
        return np.stack(
            [
                point_on(rest, nodes, int(ball), above_ball_m)
                for rest, nodes, ball in zip(self.state.rest_m, self.state.position_m, balls, strict=True)
            ]
        )


def _speeds(beliefs: Beliefs) -> Floats:
    """(M,) through the surface water."""
    made: Floats = np.maximum(np.hypot(*beliefs.velocity_m_s.T), LEAST_START_M_S)
    return made


def first_length_m(chain: Chain) -> float:
    """Length of a chain's first line, the one at the rod tip."""
    first = chain.items[0]
    assert isinstance(first, Line)  # every chain begins with one
    return first.length_m


def at_length(chain: Chain, length_m: float) -> Chain:
    """A chain with another length of its first line."""
    first = chain.items[0]
    assert isinstance(first, Line)
    return replace(chain, items=(replace(first, length_m=length_m), *chain.items[1:]))


def _rigs(spread: Spread, rod: Rod, cut_for: RodNow, water: Water, beliefs: Beliefs) -> tuple[Rig, ...]:
    """Every member's rig."""
    return tuple(rig_of(own, rod, cut_for, water) for own in beliefs.spreads(spread))


def _cut(rigs: tuple[Rig, ...], water: Water, lengths_m: Floats, segments: int) -> Rows:
    """Rigs cut into segments as the first of them, with ``lengths_m`` (M,) of line out."""
    rows = pack(
        [rig.chain for rig in rigs],
        segments=segments,
        density_kg_m3=water.density_kg_m3,
        viscosity_m2_s=water.viscosity_m2_s,
        cut_as=[0] * len(rigs),
    )
    return with_first_line(rows, lengths_m)
