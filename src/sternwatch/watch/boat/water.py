"""The water of a session: what the spread file says, updated by the feed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sternwatch.feed.readings import Quantity, Sensors
from sternwatch.gear.spread_file.models import Spread, WaterSpec
from sternwatch.hydro.chain.rows import STILL, Flow
from sternwatch.logbook.actions.kinds import Gauge
from sternwatch.watch.boat.axes import Towing, turn_of
from sternwatch.watch.boat.own_boat import usable
from sternwatch.water.profile import COLDEST_C, DEEPEST_M, WARMEST_C, TemperatureProfile
from sternwatch.water.properties import HIGHEST_C, LOWEST_C, Water, fresh_water

# Depths read off a counter are good to a foot or two: a reading this near an older one replaces it (memory).
SAME_DEPTH_M = 0.6


@dataclass(frozen=True, slots=True)
class Waters:
    """Density, viscosity, the current below the surface and temperature with depth, from the spread file."""

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

    def in_boat_axes(self, boat: Towing) -> tuple[list[float], list[tuple[float, float]]] | None:
        """The current below the surface in boat axes, for the steady solver."""
        if len(self.flow.depths_m) == 0:
            return None
        c, s = turn_of(boat)
        velocities = [(float(n * c + e * s), float(e * c - n * s)) for n, e in self.flow.velocity_m_s]
        return [float(d) for d in self.flow.depths_m], velocities

    def water(self, sensors: Sensors | None = None) -> Water:
        """The file's water, at the feed's temperature where that is not doubted."""
        felt = usable(sensors.get(Quantity.WATER_TEMPERATURE)) if sensors is not None else None
        if felt is None or not LOWEST_C <= felt <= HIGHEST_C:
            felt = self.spec.temperature_c
        made = fresh_water(felt)
        return Water(self.spec.density_kg_m3 or made.density_kg_m3, self.spec.viscosity_m2_s or made.viscosity_m2_s)

    def column(
        self, gauges: Iterable[Gauge], sensors: Sensors, transducer_depth_m: float | None
    ) -> TemperatureProfile:
        """Temperature with depth: the file's pairs, the crew's readings in order of time, a probe at its depth now.

        Once something deeper is known, the feed's surface temperature is the column's upper end, at the transducer.
        Alone it says nothing about the depths.
        """
        in_order = sorted(gauges, key=lambda gauge: gauge.time)
        read = tuple((g.depth_m, g.temperature_c) for g in in_order if g.temperature_c is not None)
        column = _with_readings(self.profile, read)
        probe_m = usable(sensors.get(Quantity.PROBE_DEPTH))
        probe_c = usable(sensors.get(Quantity.PROBE_TEMPERATURE))
        if probe_m is not None and probe_c is not None and _readable(probe_m, probe_c):
            column = _with_sensor(column, probe_m, probe_c)
        felt = usable(sensors.get(Quantity.WATER_TEMPERATURE))
        at = transducer_depth_m or 0.0
        if felt is not None and _readable(at, felt) and any(depth > at + SAME_DEPTH_M for depth in column.depths_m):
            column = _with_sensor(column, at, felt)
        return column


@lru_cache(maxsize=8)  # asked at every step and picture, while readings come a few times a day
def _with_readings(column: TemperatureProfile, read: tuple[tuple[float, float], ...]) -> TemperatureProfile:
    for depth_m, temperature_c in read:
        column = column.with_pair(depth_m, temperature_c, SAME_DEPTH_M)
    return column


@lru_cache(maxsize=8)  # a step and its picture ask for the same
def _with_sensor(column: TemperatureProfile, depth_m: float, temperature_c: float) -> TemperatureProfile:
    return column.with_pair(depth_m, temperature_c, SAME_DEPTH_M)


def _readable(depth_m: float, temperature_c: float) -> bool:
    """Whether a sensor's pair can be part of a profile. A sensor may send anything."""
    return 0.0 <= depth_m <= DEEPEST_M and COLDEST_C <= temperature_c <= WARMEST_C


def bottom_m(sensors: Sensors, transducer_depth_m: float | None) -> float | None:
    """Depth of the bottom below the surface. None while lost, silent or doubted.

    The transducer's depth from the spread file is added to a sounding below the transducer. Where the file does not
    give it, the sounding stands as it is, which errs on the shallow side.
    """
    value = sensors.get(Quantity.BOTTOM)
    depth = usable(value)
    if depth is None or value is None:
        return None
    return depth + (transducer_depth_m or 0.0) if value.reference == "transducer" else depth
