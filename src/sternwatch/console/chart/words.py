"""The words around the chart, longest form first. Never a latitude or longitude: crews keep their spots secret."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sternwatch.cautions import NOT_FOR_NAVIGATION
from sternwatch.console.chart.looking import Looking
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.model import Picture

if TYPE_CHECKING:
    from sternwatch.watch.chart.bed import Bed, Spot

Forms = tuple[str, ...]


def north(up_deg: float, *, plain: bool) -> str:
    """The direction of north on the screen."""
    eighth = round((-up_deg % 360.0) / 45.0) % 8
    return f"N{('^/>' + chr(92) + 'v/<' + chr(92))[eighth] if plain else '↑↗→↘↓↙←↖'[eighth]}"


def head(picture: Picture, looking: Looking, bed: Bed | None, trouble: str, units: DisplaySystem) -> Forms:
    """The words for the view."""
    if picture.ground is None:
        return ("No fix yet: the chart begins with the boat's first place.", "no fix yet")
    if trouble:
        return (f"The bottom could not be drawn: {trouble}", "the bottom could not be drawn")
    if looking.centre_m is not None:
        found = bed.at(*looking.centre_m) if bed is not None else None
        where = chosen(picture, looking, units)
        deep = f"{where} · bottom {units.show(found.depth_m, Dimension.LENGTH)}" if found is not None else where
        return (chosen(picture, looking, units, bed), deep, where)
    up = "north up" if looking.north_up else "course up"
    lost = picture.ground.boat_m is None
    follows = "where the boat is, is not known" if lost else "follows the boat"
    return (f"{up} · {follows}", follows)


def chosen(picture: Picture | None, looking: Looking, units: DisplaySystem, bed: Bed | None = None) -> str:
    """The chosen place's bearing and distance from the boat, and the depth there."""
    at = looking.centre_m
    ground = picture.ground if picture is not None else None
    if at is None:
        return ""
    said = "the place chosen"
    if ground is not None and ground.boat_m is not None:
        off_north, off_east = at[0] - ground.boat_m[0], at[1] - ground.boat_m[1]
        far = units.show(math.hypot(off_north, off_east), Dimension.LENGTH)
        bearing = round(math.degrees(math.atan2(off_east, off_north))) % 360
        said = f"chosen: {far}, {bearing:03d}° from her"
    found = bed.at(*at) if bed is not None else None
    if found is not None:
        said += f" · bottom {spot(found, units)}"
    elif bed is not None:
        said += " · bottom not known"
    return said


def spot(found: Spot, units: DisplaySystem) -> str:
    """A depth and its source."""
    deep = units.show(found.depth_m, Dimension.LENGTH)
    if found.age_s is None:
        return f"{deep} ({found.label})"
    return f"{deep}, sounded {age(found.age_s)}"


def age(seconds: float) -> str:
    """A time since, in the largest useful unit."""
    if seconds >= 2 * 86_400.0:
        return f"{seconds / 86_400.0:.0f} d ago"
    if seconds >= 5400.0:
        return f"{seconds / 3600.0:.0f} h ago"
    return f"{seconds / 60.0:.0f} min ago" if seconds >= 60.0 else "now"


def bottom(bed: Bed | None, units: DisplaySystem, *, placed: bool = True) -> Forms:
    """The meaning of the drawn bottom. ``placed``: the boat has had a fix, without which there is no chart."""
    warn = NOT_FOR_NAVIGATION
    if not placed:
        return (warn,)
    if bed is None:
        return (f"{warn} Drawing the bottom.", warn)
    unit = units.label(Dimension.LENGTH)
    own = f"Contours in {unit}: own soundings" if bed.own.any() else f"Contours in {unit}"
    grids = f"; dotted: {', '.join(bed.labels)}" if bed.labels else ""
    if not bed.own.any() and not bed.labels:
        return (f"{warn} No bottom is known here.", warn)
    short = f"; dotted: {', '.join(label.split(',')[0] for label in bed.labels)}" if bed.labels else ""
    return (f"{warn} {own}{grids}.", f"{warn} {own}{short}.", f"{warn}{short.removeprefix(';')}", warn)
