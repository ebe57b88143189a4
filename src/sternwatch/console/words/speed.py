"""Words for the speed behind the depths and for how well it is known. No layout."""

from __future__ import annotations

import math

from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.model import OwnBoat, SpeedSource, WaterSpeed

LESS = "less current"


def kind(own: OwnBoat) -> str:
    """The kind of speed: "through water", "over ground", or over ground minus a current."""
    if own.speed_source is SpeedSource.THROUGH_WATER:
        return "through water"
    return "over ground" if own.water is None or own.water.current_m_s is None else LESS


def drives(own: OwnBoat, units: DisplaySystem) -> words.Forms:
    """How the depths use it, longest form first, followed by its sentence."""
    water = own.water
    if own.speed_source is SpeedSource.THROUGH_WATER:
        if water is None or water.scale is None or water.scale_off is None:
            return ("depths use",)
        return (f"depths use ×{water.scale:.2f} ±{water.scale_off:.2f}", f"use ×{water.scale:.2f}")
    if water is None:
        return ("no STW: depths use",)
    if water.current_m_s is None:
        return ("current unknown: a turn tells it", "current unknown")
    said = f"{current(water, units)} ±{_off(water.current_off_m_s, units)}"
    return (f"depths use it less {said}", f"less {said}", current(water, units))


def current(water: WaterSpeed, units: DisplaySystem) -> str:
    """Speed and direction of the surface current: "0.3 to 090°"; the dash where unknown."""
    if water.current_m_s is None:
        return words.UNKNOWN
    north, east = water.current_m_s
    towards = round(math.degrees(math.atan2(east, north))) % 360
    return f"{words.speed(math.hypot(north, east), units)} to {towards:03d}°"


def _off(value_m_s: float, units: DisplaySystem) -> str:
    """The amount, never rounded down to 0."""
    shown = words.speed(value_m_s, units)
    return shown if float(shown) > 0.0 else "0.1"


TOLD = {"legs": "learned from her courses", "helm": "as the helm said", "file": "as the spread file has it"}


def sentences(own: OwnBoat, units: DisplaySystem) -> tuple[str, ...]:
    """What is known of the speed through the water, and what would reveal more, one sentence each."""
    water, label = own.water, units.label(Dimension.SPEED)
    if water is None:
        return ()
    made = []
    if own.speed_source is SpeedSource.THROUGH_WATER:
        if water.scale is not None and water.scale_off is not None:
            times = f"{water.scale:.2f} ±{water.scale_off:.2f}"
            made.append(f"The paddle wheel's reading is multiplied by {times}, learned from her courses.")
        else:
            made.append(f"The paddle wheel is taken as it reads, ±{100.0 * (water.scale_off or 0.0):.0f} %.")
    if water.current_m_s is not None:
        wheel = own.speed_source is SpeedSource.THROUGH_WATER
        taken = "" if wheel else " It is taken off the speed over ground."
        told = "worked out from both speeds" if wheel and water.told == "legs" else TOLD[water.told]
        made.append(
            f"Current {current(water, units).replace(' to', f' {label} to')}, {told}; "
            f"±{_off(water.current_off_m_s, units)} {label} along this course.{taken}"
        )
    elif own.speed_source is not SpeedSource.THROUGH_WATER:
        made.append(
            f"The current is unknown: ±{_off(water.current_off_m_s, units)} {label} along this course, "
            "and the ± of every depth includes that."
        )
    if water.missing:
        made.append(f"{water.missing[0].upper()}{water.missing[1:]}.")
    return tuple(made)
