"""How a lure's depth changes with a little line, a little speed, another setting."""

from __future__ import annotations

import math
from collections.abc import Container, Mapping
from dataclasses import dataclass, replace

from sternwatch.answers.chains.arrays import AS_FILED, RodNow, rig_of, water_of
from sternwatch.answers.depths.depth import current_in_boat_axes, steady_rigs
from sternwatch.gear.spread_file.models import Rod, Spread

# Half the change used for a slope: some feet of line, a tenth of a mile an hour.
_LINE_M = 1.5
_SPEED_M_S = 0.045


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """Slopes of a lure's depth around its present place. None: unknown, or there is nothing to change."""

    key: str
    name: str
    depth_m: float | None
    per_line_out: float | None  # depth per line out as the counter reads [m/m]
    per_speed_s: float | None  # depth per speed through water [m per m/s]
    by_setting_m: tuple[tuple[str, float | None], ...]  # depth at each setting, all else equal


def sensitivities(
    spread: Spread,
    speed_m_s: float,
    *,
    keys: Container[str] | None = None,
    heading_rad: float | None = None,
    now: Mapping[str, RodNow] | None = None,
) -> tuple[Sensitivity, ...]:
    """Sensitivities of the rods with these keys (None: all), in file order, at a steady speed through surface water.

    Slopes are central differences. A rod clipped to another's cable has no own line to let out; its
    ``per_line_out`` is that of the carrier's line.
    """
    held = dict(now or {})
    return tuple(
        _of_rod(spread, rod, speed_m_s, heading_rad or 0.0, held)
        for rod in spread.rods
        if keys is None or rod.key in keys
    )


def _of_rod(spread: Spread, rod: Rod, speed_m_s: float, heading_rad: float, held: dict[str, RodNow]) -> Sensitivity:
    own = held.get(rod.key, AS_FILED)
    carrier = rod if rod.clipped_to is None else spread.rod_by_key(rod.clipped_to.rod)

    def depth(speed: float, **changed: RodNow) -> float | None:
        return _depth(spread, rod, carrier, speed, heading_rad, {**held, **changed})

    line = None
    if carrier is not None and carrier.line_out_m is not None:
        before = held.get(carrier.key, AS_FILED)
        reading = carrier.line_out_m if before.line_out_as_counter_m is None else before.line_out_as_counter_m
        half = min(_LINE_M, 0.5 * reading)
        less, more = (
            depth(speed_m_s, **{carrier.key: replace(before, line_out_as_counter_m=reading + change)})
            for change in (-half, half)
        )
        line = _slope(less, more, 2.0 * half)
    slower = max(0.0, speed_m_s - _SPEED_M_S)
    faster = speed_m_s + _SPEED_M_S
    return Sensitivity(
        key=rod.key,
        name=rod.name,
        depth_m=depth(speed_m_s),
        per_line_out=line,
        per_speed_s=_slope(depth(slower), depth(faster), faster - slower),
        by_setting_m=tuple(
            (label, depth(speed_m_s, **{rod.key: replace(own, setting=label)})) for label in spread.settings(rod)
        ),
    )


def _slope(low: float | None, high: float | None, change: float) -> float | None:
    return None if low is None or high is None or change <= 0.0 else (high - low) / change


def _depth(
    spread: Spread, rod: Rod, carrier: Rod | None, speed_m_s: float, heading_rad: float, now: dict[str, RodNow]
) -> float | None:
    water = water_of(spread)
    wanted = [rod] if carrier is None or carrier is rod else [carrier, rod]
    rigs = {r.key: rig_of(spread, r, now.get(r.key, AS_FILED), water) for r in wanted}
    current = current_in_boat_axes(spread.water, heading_rad)
    found = steady_rigs(rigs, speed_m_s, water=water, current=current)[rod.key].depth_m
    return found if math.isfinite(found) else None
