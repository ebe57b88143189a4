"""Makes the lake, the sea and the faults of a drill with a seed."""

from __future__ import annotations

import math

from sternwatch.logbook.actions.practice_acts import OWN
from sternwatch.practice.drills.faults import SensorFault
from sternwatch.practice.drills.model import Drill
from sternwatch.practice.world.lake import Lake, Layer, Mound, Shelf, Thermocline, relief, swing
from sternwatch.practice.world.sea import Sea, Squall

INTERNAL_WAVE_M = 0.6


def lake_of(drill: Drill, seed: int) -> Lake:
    """The drill's lake, with the seed's small relief and internal wave."""
    spec = drill.lake
    shelf = None
    if spec.shelf is not None:
        s = spec.shelf
        shelf = Shelf(s.north_m, s.east_m, math.degrees(s.towards_rad), s.depth_m, s.width_m, s.winding_m, s.wave_m)
    layers = sorted(drill.current, key=lambda layer: layer.depth_m)
    return Lake(
        depth_m=spec.depth_m,
        fall=spec.fall,
        fall_towards_deg=math.degrees(spec.fall_towards_rad),
        mounds=tuple(Mound(m.north_m, m.east_m, m.height_m, m.radius_m) for m in spec.mounds),
        shelf=shelf,
        thermocline=Thermocline(
            spec.surface_c, spec.deep_c, spec.thermocline_m, spec.thickness_m, spec.tilt,
            math.degrees(spec.tilt_towards_rad), swing(seed, INTERNAL_WAVE_M),
        ),
        current=tuple(
            Layer(one.depth_m, one.speed_m_s * math.cos(one.towards_rad), one.speed_m_s * math.sin(one.towards_rad))
            for one in layers
        ),
        relief=relief(seed, spec.relief_m) if spec.relief_m > 0.0 else (),
        current_turns_rad_s=spec.current_turns_rad / 3600.0,
    )  # fmt: skip


def sea_of(drill: Drill, seed: int) -> Sea:
    """The drill's wind and waves. A squall's time counts from the drill's beginning."""
    weather = drill.weather
    squall = None
    if weather.squall is not None:
        at_s = drill.start.lead_in_s + weather.squall.at_s
        squall = Squall(at_s, weather.squall.over_s, weather.squall.speed_m_s)
    return Sea.made(
        seed, weather.wind_m_s, math.degrees(weather.from_rad), weather.wave_height_m,
        max(weather.wave_period_s, 1.0), squall,
    )  # fmt: skip


def faults_of(drill: Drill) -> tuple[SensorFault, ...]:
    """The drill's faults, in session time."""
    return tuple(
        SensorFault(one.kind, one.sensor or OWN.get(one.kind, "all"), drill.start.lead_in_s + one.from_s, one.for_s)
        for one in drill.fault
    )
