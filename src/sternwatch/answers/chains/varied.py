"""Lines and bodies changed by the factors and shifts of their uncertain quantities (``Spread.values``)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np

from sternwatch.gear.spread_file.lines import LineNumbers, LineSpec, resolve_line
from sternwatch.gear.spread_file.models import Rod, Spread, TackleItem
from sternwatch.hydro.chain.coefficients import cn
from sternwatch.hydro.chain.model import Body, BodyKind
from sternwatch.water.properties import HIGHEST_C, LOWEST_C, fresh_water

# Cross-flow for comparing the drag of a line at two temperatures: half of a usual towing speed.
_CROSS_FLOW_M_S = 0.55
_SURFACE_C = 10.0


def varied_line(name: str, spec: LineSpec, values: Mapping[str, float]) -> LineNumbers:
    """A kind of line with its factors applied."""
    subject = f"line {name}"
    return _numbers(
        spec,
        values.get(f"{subject} diameter", 1.0),
        values.get(f"{subject} drag", 1.0),
        values.get(f"{subject} strumming", 1.0),
        values.get(f"{subject} tangential", 1.0),
        values.get(f"{subject} weight"),
        values.get("water temperature", 0.0),
    )


@lru_cache(maxsize=1024)
def _numbers(
    spec: LineSpec, wider: float, drag: float, strumming: float, tangential: float, heavier: float | None,
    cooler_K: float,
) -> LineNumbers:  # fmt: skip
    """Cached, because a fit varies one quantity at a time and a member has the same line on many rods."""
    numbers = resolve_line(spec)
    diameter = numbers.diameter_m * wider
    drag = numbers.drag_factor * drag * strumming
    if numbers.normal_drag is None and cooler_K != 0.0:
        drag *= _cooler(diameter, cooler_K)
    changed = {
        "diameter_m": diameter,
        "drag_factor": drag,
        "tangential_drag": numbers.tangential_drag * tangential,
    }
    if heavier is not None:
        changed["mass_kg_m"] = numbers.mass_kg_m * heavier
    return resolve_line(spec.model_copy(update=changed))


def _cooler(diameter_m: float, by_K: float) -> float:
    """Factor on a smooth line's drag in water that is warmer (negative: colder) than where it was measured."""
    there = fresh_water(min(max(_SURFACE_C + by_K, LOWEST_C), HIGHEST_C)).viscosity_m2_s
    past = _CROSS_FLOW_M_S * diameter_m
    return float(cn(past / there) / cn(past / fresh_water(_SURFACE_C).viscosity_m2_s))


def varied_body(
    spread: Spread, rod: Rod, item: TackleItem, setting: str | None, body: Body, values: Mapping[str, float]
) -> Body:
    """A body with the factors and shifts of its tackle, its setting and its rod applied."""

    def factor(what: str) -> float:
        return values.get(f"tackle {item.tackle} {what}", 1.0)

    wet = body.wet_weight_N * factor("weight")
    rod_line = body.rod_line
    if rod_line is not None:
        rod_line = replace(rod_line, pull_N=rod_line.pull_N * values.get(f"rod {rod.key} pull", 1.0))
    if body.kind is BodyKind.DIVER:
        # The label's error is common to the kind, and each disc adds a little of its own. Both increase the pull to
        # its side.
        side = float(np.sign(body.roll_rad))
        own_side = -1.0 if rod.side == "port" else 1.0
        roll = body.roll_rad + side * values.get(f"tackle {item.tackle} roll {setting}", 0.0)
        return replace(
            body,
            wet_weight_N=wet,
            trim_rad=body.trim_rad * factor("trim") * factor("knock"),
            plate_factor=body.plate_factor * factor("plate"),
            plate_area_m2=body.plate_area_m2 * factor("ring"),
            roll_rad=float(roll + own_side * values.get(f"rod {rod.key} roll", 0.0)),
        )
    tripped = spread.tackle[item.tackle].kind == "diver"
    return replace(
        body,
        wet_weight_N=wet,
        drag_area_m2=body.drag_area_m2 * factor("tripped" if tripped else "drag"),
        lift_area_m2=body.lift_area_m2 * factor("lift"),
        buoyancy_N=body.buoyancy_N * factor("buoyancy"),
        rod_line=rod_line,
    )
