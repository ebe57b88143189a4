"""A practice session's result for a debrief: the score, and computed against true depths of every rod."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sternwatch.gear.values.units import Dimension, DisplaySystem


def outcome(result: Mapping[str, Any]) -> str:
    """ "Reverse course to port, seed 7: 88 of 100, par 99, passed"."""
    said = f"{result['name']}, seed {result['seed']}"
    if result["score"] is None:
        return f"{said}: nothing scored"
    par = "" if result["par"] is None else f", par {result['par']:.0f}"
    end = "passed" if result["passed"] else "not passed" if result["done"] else "the goal was not reached"
    return f"{said}: {result['score']:.0f} of 100{par}, {end}"


def believed_and_true(
    result: Mapping[str, Any], units: DisplaySystem
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Headings and rows: means over the session, and how often the interval held the truth."""
    length = units.label(Dimension.LENGTH)
    headings = (
        "rod", f"believed {length}", f"true {length}", f"believed less true {length}", f"worst {length}", "in 90 %",
    )  # fmt: skip
    fields = ("depth_believed_mean_m", "depth_true_mean_m", "depth_error_mean_m", "depth_error_worst_m")
    rows = []
    for rod in result["rods"]:
        shown = (_length(rod.get(name), units) for name in fields)
        held = rod["interval_holds_share"]
        rows.append((f"{rod['key']} {rod['name']}", *shown, "–" if held is None else f"{100 * held:.0f} %"))
    return headings, tuple(rows)


def _length(value: float | None, units: DisplaySystem) -> str:
    return "–" if value is None else units.show(value, Dimension.LENGTH, 1, label=False)
