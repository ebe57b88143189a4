"""The water of a session: what the spread file says, and what the feed says since."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sternwatch.feed.readings import Quantity, Sensors
from sternwatch.gear.spread import Spread, WaterSpec
from sternwatch.hydro.rows import STILL, Flow
from sternwatch.watch.boat import usable
from sternwatch.water.profile import TemperatureProfile
from sternwatch.water.properties import HIGHEST_C, LOWEST_C, Water, fresh_water


@dataclass(frozen=True, slots=True)
class Waters:
    """Density and viscosity, current below the surface, temperature with depth."""

    spec: WaterSpec
    flow: Flow  # relative to the surface water, (north, east)
    surface_current_m_s: tuple[float, float]  # over ground, (north, east)
    profile: TemperatureProfile

    @classmethod
    def of(cls, spread: Spread) -> Waters:
        layers = sorted(spread.water.current, key=lambda layer: layer.depth_m)
        velocities = [
            (layer.speed_m_s * math.cos(layer.towards_rad), layer.speed_m_s * math.sin(layer.towards_rad))
            for layer in layers
        ]
        surface = velocities[0] if velocities else (0.0, 0.0)
        flow = STILL
        if layers:
            depths = np.array([layer.depth_m for layer in layers])
            flow = Flow(depths, np.array(velocities) - np.array(surface))
        profile = TemperatureProfile.from_pairs((p.depth_m, p.temperature_c) for p in spread.water.profile)
        return cls(spread.water, flow, surface, profile)

    def water(self, sensors: Sensors | None = None) -> Water:
        """Of the file, at the feed's temperature where it gives an undoubted one."""
        felt = usable(sensors.get(Quantity.WATER_TEMPERATURE)) if sensors is not None else None
        if felt is None or not LOWEST_C <= felt <= HIGHEST_C:
            felt = self.spec.temperature_c
        made = fresh_water(felt)
        return Water(self.spec.density_kg_m3 or made.density_kg_m3, self.spec.viscosity_m2_s or made.viscosity_m2_s)


def bottom_m(sensors: Sensors, transducer_depth_m: float | None) -> float | None:
    """Depth of the bottom below the surface; None while lost, silent or doubted.

    A sounding below the transducer is brought to the surface by the depth the spread file gives it; where that is
    not given the sounding stands as it is, which errs on the shallow side.
    """
    value = sensors.get(Quantity.BOTTOM)
    depth = usable(value)
    if depth is None or value is None:
        return None
    return depth + (transducer_depth_m or 0.0) if value.reference == "transducer" else depth
