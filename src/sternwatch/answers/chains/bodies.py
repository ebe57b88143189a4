"""Tackle as bodies. The file's values are used as given; the others have sources in ``gear.values.defaults``."""

from __future__ import annotations

import math

from sternwatch.gear.spread_file.tackle import Attractor, Ball, Board, Diver, Lure, Snubber, Tackle, Weight
from sternwatch.gear.values import defaults
from sternwatch.gear.values.units import STANDARD_GRAVITY_M_S2 as G
from sternwatch.hydro.chain.coefficients import plate_cn
from sternwatch.hydro.chain.model import Body, BodyKind

# A plate at a smaller angle has almost no normal force. A lift given without drag means this angle.
_LEAST_TRIM_RAD = 1e-3


def body_of(tackle: Tackle, density_kg_m3: float, *, pulls: float, setting: str | None, tripped: bool) -> Body:
    """One tackle item as a body in water of the given density.

    ``pulls`` is +1 to starboard, -1 to port (0: straight astern); used for divers and boards.
    """
    match tackle:
        case Diver():
            return _diver(tackle, density_kg_m3, pulls, setting, tripped)
        case Ball() | Weight():
            return _heavy(tackle, density_kg_m3)
        case Board():
            return _board(tackle, density_kg_m3, pulls)
        case Attractor():
            ratio = (tackle.length_m / defaults.ATTRACTOR_LENGTH_M) ** 2
            return _bluff(
                tackle,
                density_kg_m3,
                drag_area_m2=defaults.ATTRACTOR_DRAG_AREA.value * ratio,
                mass_kg=defaults.ATTRACTOR_MASS.value * ratio,
                wet_weight_N=defaults.ATTRACTOR_WET_WEIGHT.value * ratio,
            )
        case Lure():
            return _lure(tackle, density_kg_m3)
        case Snubber():
            return _bluff(
                tackle, density_kg_m3, drag_area_m2=defaults.SNUBBER_DRAG_AREA.value, mass_kg=0.03, wet_weight_N=0.02
            )


def plate_of(diver: Diver) -> tuple[float, float, float]:
    """A diver's disc: area [m2], trim [rad] and factor on its normal force.

    The force on an inclined plate is normal to it. So a given lift and drag area determine the angle,
    tan(trim) = drag / lift, and the factor. If only one is given, the angle stays as it is.
    """
    trim = diver.trim_rad if diver.trim_rad is not None else defaults.DIVER_TRIM.value
    area = disc_area_m2(diver)
    lift, drag = diver.lift_area_m2, diver.drag_area_m2
    if lift is None and drag is None:
        assert area is not None  # a diver has a diameter or a lift area
        return area, trim, defaults.DIVER_PLATE.value
    if lift is None:
        normal_area = (drag or 0.0) / math.sin(trim)
    elif drag is None:
        normal_area = lift / math.cos(trim)
    else:
        trim = max(_LEAST_TRIM_RAD, math.atan2(drag, lift)) if lift or drag else trim
        normal_area = math.hypot(lift, drag)
    coefficient = float(plate_cn(trim))
    if area is None:
        return normal_area / coefficient, trim, 1.0
    return area, trim, normal_area / (area * coefficient)


def disc_area_m2(diver: Diver) -> float | None:
    """The disc's area with its ring. None without a diameter."""
    if diver.diameter_m is None:
        return None
    ring = defaults.DIVER_RING_AREA.value if diver.ring else 1.0
    return math.pi / 4 * diver.diameter_m**2 * ring


def _diver(diver: Diver, density_kg_m3: float, pulls: float, setting: str | None, tripped: bool) -> Body:
    area, trim, factor = plate_of(diver)
    mass, wet = _bulk(diver, density_kg_m3, defaults.DIVER_AREAL_MASS.value * area, defaults.DIVER_WET_WEIGHT.value)
    # A disc carries 8/3 rho r^3 of water broadside and almost none edgewise (Lamb, Hydrodynamics). The mean over the
    # directions is a third of that.
    added = 8.0 / 9.0 * density_kg_m3 * math.sqrt(area / math.pi) ** 3
    if tripped:
        drag_area = defaults.DIVER_TRIPPED_DRAG_AREA.value * area / defaults.DIVER_USUAL_AREA_M2
        return Body(BodyKind.BLUFF, mass, wet, added, drag_area_m2=drag_area)
    roll = diver.settings[setting] if setting is not None else 0.0
    return Body(
        BodyKind.DIVER,
        mass,
        wet,
        added,
        plate_area_m2=area,
        trim_rad=trim,
        plate_factor=factor,
        roll_rad=pulls * roll,
    )


def _heavy(tackle: Ball | Weight, density_kg_m3: float) -> Body:
    solid = tackle.density_kg_m3 if tackle.density_kg_m3 is not None else defaults.LEAD_DENSITY.value
    if tackle.mass_kg is not None:
        mass = tackle.mass_kg
    elif tackle.volume_m3 is not None and tackle.density_kg_m3 is not None:
        mass = tackle.volume_m3 * tackle.density_kg_m3
    else:
        assert tackle.wet_weight_N is not None  # a ball or weight has one of the three
        mass = max(0.0, tackle.wet_weight_N) / G / max(0.1, 1.0 - density_kg_m3 / solid)
    volume = tackle.volume_m3 if tackle.volume_m3 is not None else mass / solid
    wet = tackle.wet_weight_N if tackle.wet_weight_N is not None else (mass - density_kg_m3 * volume) * G
    diameter = tackle.diameter_m if tackle.diameter_m is not None else (6.0 * volume / math.pi) ** (1.0 / 3.0)
    drag_area = tackle.drag_area_m2
    if drag_area is None:
        drag_area = defaults.SPHERE_DRAG.value * math.pi / 4 * diameter**2
    return Body(BodyKind.BLUFF, mass, wet, 0.5 * density_kg_m3 * volume, drag_area)


def _board(board: Board, density_kg_m3: float, pulls: float) -> Body:
    area = defaults.BOARD_AREA.value
    mass, wet = _bulk(board, density_kg_m3, defaults.BOARD_MASS.value, 0.0)
    return Body(
        BodyKind.BOARD,
        mass,
        wet,
        added_mass_kg=mass,
        drag_area_m2=defaults.BOARD_DRAG.value * area if board.drag_area_m2 is None else board.drag_area_m2,
        lift_area_m2=defaults.BOARD_LIFT.value * area if board.lift_area_m2 is None else board.lift_area_m2,
        side=pulls,
        buoyancy_N=defaults.BOARD_BUOYANCY.value if board.buoyancy_N is None else board.buoyancy_N,
        height_m=defaults.BOARD_HEIGHT.value if board.height_m is None else board.height_m,
    )


def _lure(lure: Lure, density_kg_m3: float) -> Body:
    form = defaults.LURES[lure.form or defaults.DEFAULT_LURE_FORM]
    ratio = 1.0 if lure.length_m is None else (lure.length_m / form.length_m) ** 2
    return _bluff(
        lure,
        density_kg_m3,
        drag_area_m2=form.drag_area.value * ratio,
        mass_kg=form.mass_kg * ratio,
        wet_weight_N=form.wet_weight_N * ratio,
        lift_area_m2=form.lift_area_m2 * ratio if lure.lift_area_m2 is None else lure.lift_area_m2,
    )


def _bluff(
    tackle: Attractor | Lure | Snubber,
    density_kg_m3: float,
    *,
    drag_area_m2: float,
    mass_kg: float,
    wet_weight_N: float,
    lift_area_m2: float = 0.0,
) -> Body:
    mass, wet = _bulk(tackle, density_kg_m3, mass_kg, wet_weight_N)
    return Body(
        BodyKind.LIPPED if lift_area_m2 else BodyKind.BLUFF,
        mass,
        wet,
        # About the water that it displaces: it moves with the stream and hardly counts.
        added_mass_kg=mass,
        drag_area_m2=drag_area_m2 if tackle.drag_area_m2 is None else tackle.drag_area_m2,
        lift_area_m2=lift_area_m2,
    )


def _bulk(
    tackle: Diver | Board | Attractor | Lure | Snubber, density_kg_m3: float, mass_kg: float, wet_weight_N: float
) -> tuple[float, float]:
    """Mass [kg] and submerged weight [N]: as given, from mass and volume, or the given defaults."""
    mass, volume, solid = tackle.mass_kg, tackle.volume_m3, tackle.density_kg_m3
    if mass is None and volume is not None and solid is not None:
        mass = volume * solid
    if volume is None and mass is not None and solid is not None:
        volume = mass / solid
    if tackle.wet_weight_N is not None:
        wet = tackle.wet_weight_N
    elif mass is not None and volume is not None:
        wet = (mass - density_kg_m3 * volume) * G
    else:
        wet = wet_weight_N
    return (mass_kg if mass is None else mass), wet
