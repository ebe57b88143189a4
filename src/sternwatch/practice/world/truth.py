"""The true chains: their coefficients are drawn from the priors, and the true boat tows them.

The same kernel moves them, in steps half as long; they know nothing of the console's values. The bottom does not hold
them: a chain that reaches it counts as touching and goes on through it.
"""

from __future__ import annotations

import math
import zlib
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Final

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.priors import SHEAR_DEPTH_M, Draws, dealt, named
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import AXES
from sternwatch.hydro.chain.rows import Flow
from sternwatch.logbook.crew.state import Crew, CrewRod
from sternwatch.practice.world.boat import Pose
from sternwatch.practice.world.lake import Lake
from sternwatch.watch.boat.axes import Towing
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.chains.encounters import Sample
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.watch.chains.members import Part
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.chains.side_by_side import SideBySide
from sternwatch.watch.chains.spread_in_force import spread_of
from sternwatch.water.profile import TemperatureProfile
from sternwatch.water.properties import Water, fresh_water

Floats = NDArray[np.float64]

STEP_MS: Final = 500
REMEMBERED: Final = 600  # steps
PAY_OUT_M_S: Final = 0.6  # a thumb on the spool (memory)
# A chain this close to the bottom touches it (nodes are metres apart, and a hook hangs lower than its eye).
TOUCH_M: Final = 0.05
# Another touch within this time belongs to the same touch.
SAME_TOUCH_S: Final = 20.0


@dataclass(slots=True)
class TrueChain(RodChain):
    """A rod whose true parts differ from those in the spread file.

    It needs time: a rod entered as in must first be reeled in, and until then its line is in the water.
    """

    LOSES_LENGTH: ClassVar[bool] = False  # the true line keeps its length here, whatever the crew know
    coming_in: bool = False

    @property
    def keeps_ball(self) -> bool:
        """False: a fought rod keeps no ball here, because only lures are scored."""
        return False

    def follow_crew(self, before: CrewRod, after: CrewRod) -> None:
        if after.state == "in" and self.out and self.state is not None and before.state != "fighting":
            self.crew, self.coming_in = after, True
            self.reel.target_m = self.reel.first_reading_m
            return
        self.coming_in = False
        RodChain.follow_crew(self, before, after)

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
        if self.coming_in and (self.state is None or not self.moving):
            self.drop()
            self.out = self.coming_in = False
        return RodChain.begin_step(self, t_s, boat, waters, water, follows, parent, beliefs)


@dataclass(frozen=True, slots=True)
class TruePlace:
    """A lure's true place at one instant."""

    t_s: float
    depth_m: float
    astern_m: float
    abeam_m: float
    temperature_c: float
    clearance_m: float  # bottom under the lure minus its depth
    lure_speed_m_s: float
    vertical_m_s: float  # positive sinking
    tension_N: float


@dataclass(frozen=True, slots=True)
class Touch:
    """A chain reached the bottom."""

    t_s: float
    key: str


@dataclass(slots=True)
class Below:
    """The true chains of a session."""

    spread: Spread  # with its true parts
    draws: Draws
    lake: Lake
    chains: dict[str, TrueChain]
    waters: Waters
    water: Water
    log_factor: float  # the paddle wheel's reading divided by the truth
    shallowest_m: float  # the lake's
    places: dict[str, TruePlace] = field(default_factory=dict)
    history: dict[str, deque[TruePlace]] = field(default_factory=dict)  # the last minutes
    touches: list[Touch] = field(default_factory=list)
    sample: Sample | None = None
    _touched_s: dict[str, float] = field(default_factory=dict)
    _side_by_side: SideBySide = field(default_factory=SideBySide, repr=False)

    @classmethod
    def of(cls, spread: Spread, lake: Lake, crew: Crew, seed: int, surface_c: float) -> Below:
        draws = Draws(zlib.crc32(f"{seed} truth".encode()), members=1)
        spread = true_spread(spread, draws)
        surface = lake.surface_current_m_s
        flow = _flow(spread, lake, draws)
        waters = Waters(spread.water, flow, surface, TemperatureProfile())
        chains = {}
        for rod in spread.rods:
            chain = TrueChain.of(spread, rod, crew.rods[rod.key], PAY_OUT_M_S)
            assert isinstance(chain, TrueChain)
            chains[rod.key] = chain
        made = fresh_water(surface_c)
        spec = spread.water
        water = Water(spec.density_kg_m3 or made.density_kg_m3, spec.viscosity_m2_s or made.viscosity_m2_s)
        return cls(
            spread, draws, lake, chains, waters, water, log_factor=1.0 / float(named(spread, draws, "speed")[0]),
            shallowest_m=lake.shallowest_m,
            history={rod.key: deque(maxlen=REMEMBERED) for rod in spread.rods},
        )  # fmt: skip

    def follow(self, before: Crew, after: Crew) -> None:
        """Apply the crew's actions to the lines."""
        if after.gear is not before.gear:
            self.spread = true_spread(spread_of(after, self.spread), self.draws)
            rigged = {key for key, chain in self.chains.items() if chain.rig_as(self.spread)}
            for key, chain in self.chains.items():
                chain.coming_in = chain.coming_in and key not in rigged
                if chain.attached_to in rigged:
                    chain.drop()
        for key, chain in self.chains.items():
            chain.follow_crew(before.rods[key], after.rods[key])

    def step(self, t_s: float, pose: Pose, drift_m: tuple[float, float]) -> None:
        """Advance every chain to ``t_s``. ``drift_m``: the place of the water frame's origin over ground."""
        self._side_by_side.tow(self.chains, t_s, pose, self.waters, self.water, True, None)
        self.places = {}
        self.sample = Sample.of(t_s, self.chains, pose)
        for key, chain in self.chains.items():
            if (curve := self.sample.nodes_m.get(key)) is None:
                continue
            self.places[key] = place = self._place(t_s, chain, curve, drift_m)
            self.history[key].append(place)
            self._feel(t_s, key, curve, drift_m)

    def _place(self, t_s: float, chain: TrueChain, curve: Floats, drift_m: tuple[float, float]) -> TruePlace:
        place = chain.place
        assert place is not None
        north, east = float(curve[-1, 0]) + drift_m[0], float(curve[-1, 1]) + drift_m[1]
        return TruePlace(
            t_s, place.depth_m, place.astern_m, place.abeam_m,
            self.lake.temperature_c(north, east, place.depth_m, t_s),
            self.lake.bottom_m(north, east) - place.depth_m,
            place.lure_speed_m_s, place.vertical_speed_m_s, place.tension_N,
        )  # fmt: skip

    def _feel(self, t_s: float, key: str, curve: Floats, drift_m: tuple[float, float]) -> None:
        """Check whether any part of the chain touches the bottom."""
        if float(curve[:, 2].max()) + TOUCH_M < self.shallowest_m:
            return
        for north, east, depth in curve:
            if depth > 1.0 and depth + TOUCH_M >= self.lake.bottom_m(north + drift_m[0], east + drift_m[1]):
                last = self._touched_s.get(key, -math.inf)
                if t_s - last > SAME_TOUCH_S:
                    self.touches.append(Touch(t_s, key))
                self._touched_s[key] = t_s
                return

    @property
    def pull_N(self) -> float:
        """The drag of all lines on the boat: the horizontal part of their pulls [N]."""
        pull = 0.0
        for chain in self.chains.values():
            if chain.place is not None and math.isfinite(chain.place.tension_N):
                pull += chain.place.tension_N * math.cos(math.radians(chain.place.entry_angle_deg))
        return pull

    def at(self, key: str, t_s: float) -> TruePlace | None:
        """The true place of a rod's lure at the step nearest to a moment; None where it was not in the water."""
        past = self.history[key]
        for place in reversed(past):
            if abs(place.t_s - t_s) <= 0.5 * STEP_MS / 1000.0 + 1e-6:
                return place
            if place.t_s < t_s - 1.0:
                break
        return None


def true_spread(spread: Spread, draws: Draws) -> Spread:
    """The spread with true parts, drawn from the priors."""
    return spread.with_values({name: float(value[0]) for name, value in dealt(spread, draws).items()})


def _flow(spread: Spread, lake: Lake, draws: Draws) -> Flow:
    """The current relative to the surface water: the lake's, plus an unknown part that grows down to 20 m."""
    shear = [float(named(spread, draws, f"shear {axis}")[0]) for axis in AXES]
    depths = np.union1d([layer.depth_m for layer in lake.current], [0.0, SHEAR_DEPTH_M])
    table = np.zeros((len(depths), 2))
    if lake.current:
        own = np.array([layer.depth_m for layer in lake.current])
        surface = lake.surface_current_m_s
        table[:, 0] = np.interp(depths, own, [layer.north_m_s for layer in lake.current]) - surface[0]
        table[:, 1] = np.interp(depths, own, [layer.east_m_s for layer in lake.current]) - surface[1]
    share = np.clip(depths / SHEAR_DEPTH_M, 0.0, 1.0)
    return Flow(depths, table + share[:, None] * np.array(shear)[None])


def kinds_of(spread: Spread) -> Mapping[str, str]:
    """The kind of rig of each rod, by the device that gives its depth: diver, ball, board, weight, heavy line."""
    found = {}
    for rod in spread.rods:
        tackle = [spread.tackle[item.tackle].kind for item in rod.deployed if hasattr(item, "tackle")]
        found[rod.key] = next((kind for kind in ("diver", "ball", "board", "weight") if kind in tackle), "line")
        if rod.clipped_to is not None:
            found[rod.key] = "clipped"
    return found
