"""The console's words for fish seen."""

from __future__ import annotations

from sternwatch.console.words.rods import whole
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.model import FISH_WITHIN_M, FishPicture


def fish_words(fish: FishPicture, units: DisplaySystem) -> str:
    """Which rods pass the fish seen, and what would bring the others there."""
    near = units.show(FISH_WITHIN_M, Dimension.LENGTH, 0 if units.length == "ft" else 1)
    depth = units.show(fish.depth_m, Dimension.LENGTH, 0 if units.length == "ft" else 1)
    who = f"{' '.join(fish.passing)} within {near}" if fish.passing else f"no rod within {near}"
    lines = [f"{line.key} {whole(line.line_out_m, units)}" for line in fish.others if line.line_out_m is not None]
    none = [line.key for line in fish.others if line.line_out_m is None]
    text = f"Fish at {depth}: {who}."
    if lines and fish.speed_m_s is not None:
        unit, speed = units.label(Dimension.LENGTH), units.show(fish.speed_m_s, Dimension.SPEED, 1)
        text += f" Line out for it at {speed}: {', '.join(lines)} {unit}."
    if none:
        text += f" Out of reach by line alone: {' '.join(none)}."
    return text
