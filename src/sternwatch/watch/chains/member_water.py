"""How each member of the ensemble sees the boat move through the water."""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.priors import Z90, Draws, member_spreads, named
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import AXES
from sternwatch.hydro.chain.rows import Flow
from sternwatch.watch.boat.axes import Towing
from sternwatch.watch.boat.current import CurrentFilter, Prior
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.chains.ensemble import LEAST_START_M_S, sheared
from sternwatch.watch.picture.model import SpeedSource

Floats = NDArray[np.float64]

LEAST_SHARE = 0.2  # a member keeps this share of the speed over ground, however far the log is from it


@dataclass(slots=True, eq=False)
class Beliefs:
    """What M members believe of the water; one value for all rods of a watch.

    A member's current and paddle-wheel scale are a fixed number of standard deviations from the present estimate
    (``CurrentFilter``). So the members draw together as the boat's legs reveal both.
    """

    draws: Draws
    current_z: Floats  # (M, 2) north, east: current of the surface water
    scale_z: Floats  # (M,) factor on the paddle wheel's reading
    noise_m_s: Floats  # (M,) noise of speed over ground that averaging leaves
    flow: Flow  # (M, k, 2) below the surface, relative to it
    place_m: Floats  # (M, 2) the transom's centre in each member's own drifting frame
    velocity_m_s: Floats  # (M, 2)
    _believed: tuple[Spread, tuple[Spread, ...]] | None = None

    @classmethod
    def of(cls, spread: Spread, draws: Draws, waters: Waters) -> Beliefs:
        prior = Prior.of(spread, waters.surface_current_m_s)
        current = [
            named(spread, draws, f"current {axis}") / sd
            for axis, sd in zip(AXES, prior.current_sd_m_s, strict=True)
        ]  # fmt: skip
        return cls(
            draws,
            np.stack(current, axis=1),
            (named(spread, draws, "speed") - 1.0) / prior.scale_sd,
            named(spread, draws, "speed over ground noise"),
            sheared(waters.flow, spread, draws, 1),
            np.zeros((draws.members, 2)),
            np.zeros((draws.members, 2)),
        )

    def copy(self) -> Beliefs:
        twin = copy.copy(self)
        twin.place_m, twin.velocity_m_s = self.place_m.copy(), self.velocity_m_s.copy()
        return twin

    def first(self, count: int) -> Beliefs:
        """A copy of the first members alone."""
        twin = self.copy()
        if count < len(self.place_m):
            twin.draws, twin._believed = replace(self.draws, members=count), None
            twin.flow = Flow(self.flow.depths_m, self.flow.velocity_m_s[:count])
            for name in ("current_z", "scale_z", "noise_m_s", "place_m", "velocity_m_s"):
                setattr(twin, name, getattr(self, name)[:count].copy())
        return twin

    def spreads(self, spread: Spread) -> tuple[Spread, ...]:
        """The spread as each member believes it. The last one asked for is kept: rods go out one after another."""
        kept = self._believed
        if kept is None or kept[0] is not spread:
            kept = self._believed = (spread, member_spreads(spread, self.draws))
        return kept[1]

    def apart(self, boat: Towing) -> Floats:
        """The distance of every member's boat from the nominal one, (M, 3)."""
        out = np.zeros((len(self.place_m), 3))
        out[:, :2] = self.place_m - np.array([boat.north_m, boat.east_m])
        return out

    def step(
        self,
        dt_s: float,
        velocity_m_s: tuple[float, float],
        source: SpeedSource,
        follows: bool,
        found: CurrentFilter,
        apart_m_s: float = 0.0,
    ) -> None:
        """Move every member's boat as the boat itself has moved. ``found``: the filter of the current.

        ``apart_m_s``: the difference of log and speed over ground while the two contradict each other. The log then
        drives nothing, and the deviations of its scale widen the intervals to include its reading.
        """
        belief, nominal = found.belief, np.array(velocity_m_s)
        if source is SpeedSource.OVER_GROUND:
            noisy = 1.0 + self.noise_m_s / max(math.hypot(*velocity_m_s), LEAST_START_M_S)
            current = np.array(belief.current_m_s) + self.current_z @ np.array(belief.spread).T
            speed = math.hypot(*velocity_m_s)
            if apart_m_s > 0.0 and speed > 0.0:
                noisy = noisy + np.maximum(apart_m_s / Z90 * self.scale_z / speed, LEAST_SHARE - 1.0)
            now = noisy[:, None] * nominal + np.array(found.driving_m_s) - current
        else:
            factor = (belief.scale + belief.scale_sd * self.scale_z) / found.driving_scale
            now = factor[:, None] * nominal
        if follows:
            self.place_m = self.place_m + 0.5 * dt_s * (self.velocity_m_s + now)
        self.velocity_m_s = now
