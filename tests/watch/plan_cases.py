"""Generated cases for the planner: boats of 4, 8 and 12 rods, no two alike, and what one would do without it."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.inverse import line_out_for_depth
from sternwatch.answers.depths.reach import Wanted, levels_m
from sternwatch.gear.spread_file.load import spread_from
from sternwatch.gear.spread_file.models import Spread

FOOT = 0.3048
MPH = 0.44704
KEYS = "1234567890-="

LINES: dict[str, Any] = {
    "wire": {"material": "stainless steel", "diameter": "0.38 mm"},
    "cable": {"material": "stainless steel", "diameter": "0.9 mm"},
    "mono": {"material": "nylon", "diameter": "0.45 mm"},
    "braid": {"material": "UHMWPE braid", "diameter": "0.32 mm"},
    "leadcore": {"material": "lead-core 27 lb"},
    "copper": {"material": "copper", "diameter": "0.94 mm", "mass_per_length": "4.8 g/m"},
    "leader": {"material": "fluorocarbon", "diameter": "0.50 mm"},
}
SETTINGS = {"straight": "0 deg", "low": "20 deg", "high": "45 deg"}
TACKLE: dict[str, Any] = {
    "disc": {"kind": "diver", "diameter": "120 mm", "settings": SETTINGS},
    "ball": {"kind": "ball", "mass": "12 lb"},
    "weight": {"kind": "weight", "mass": "1 lb"},
    "board": {"kind": "board"},
    "paddle": {"kind": "attractor"},
    "fly": {"kind": "lure", "form": "fly"},
    "spoon": {"kind": "lure", "form": "spoon"},
}
# From the gunwale inward, by the number of rods of a side.
SIDES = {
    2: ("diver", "ball"),
    4: ("board", "diver", "diver", "ball"),
    6: ("board", "board", "diver", "diver", "weight", "ball"),
}


@dataclass(frozen=True)
class Case:
    name: str
    spread: Spread
    wanted: Wanted
    u_turn_s: float


def _line(name: str, length_ft: float, **more: Any) -> dict[str, Any]:
    return {"line": name, "length": f"{length_ft} ft", **more}


def _chain(rng: random.Random, kind: str, setting: str) -> list[dict[str, Any]]:
    out = f"{rng.randrange(90, 200)} ft"
    spoon = [_line("leader", 20), {"tackle": "spoon"}]
    match kind:
        case "diver":
            disc = {"tackle": "disc", "setting": setting}
            fly = [{"tackle": "paddle"}, _line("leader", 2), {"tackle": "fly"}]
            return [{"line": "wire", "out": out}, disc, _line("leader", rng.randrange(5, 9)), *fly]
        case "ball":
            lead = _line("mono", rng.randrange(10, 40), adjust=True)
            return [{"line": "cable", "out": "60 ft"}, {"tackle": "ball"}, lead, {"tackle": "spoon"}]
        case "board":
            core = _line("leadcore", 30 * rng.randrange(3, 9))
            return [{"line": "braid", "out": out}, {"tackle": "board"}, core, *spoon]
        case "copper":
            return [{"line": "braid", "out": "60 ft"}, _line("copper", 10 * rng.randrange(20, 40)), *spoon]
    return [{"line": "braid", "out": out}, {"tackle": "weight"}, _line("leader", 8), {"tackle": "spoon"}]


def case(rods: int, number: int) -> Case:
    """The ``number``-th case of so many rods (4, 8 or 12)."""
    rng = random.Random(f"{rods} {number}")
    half = rods // 2
    kinds = list(SIDES[half])
    if rods == 12 and rng.random() < 0.5:
        kinds[0] = "copper"
    beam = rng.uniform(2.4, 3.2)
    made: list[dict[str, Any]] = []
    for side in ("port", "starboard"):
        order = list(enumerate(kinds))
        for place, kind in order if side == "port" else order[::-1]:
            out = beam / 2 * (1.0 - 0.5 * place / half) + (1.4 if kind == "diver" else 0.0) * rng.uniform(0.7, 1.0)
            if kind == "ball":
                out = rng.uniform(0.9, 1.2)  # so far apart that a ball keeps the distance from the other's cable
            tip = {"astern": rng.uniform(-1.5, 0.8), "abeam": out, "height": rng.uniform(0.8, 2.4)}
            made.append(
                {
                    "key": KEYS[len(made)],
                    "name": kind[:6].upper(),
                    "side": side,
                    "tip": {name: f"{value:.2f} m" for name, value in tip.items()},
                    "chain": _chain(rng, kind, rng.choice(("low", "high"))),
                }
            )
    spread = spread_from({"line": LINES, "tackle": TACKLE, "rod": made}, f"case {rods} {number}")
    top = rng.randrange(25, 50)
    bottom, speed_mph = top + rng.randrange(25, 50), rng.uniform(2.0, 2.7)
    keys = tuple(rod.key for rod in spread.rods)
    wanted = Wanted(top * FOOT, bottom * FOOT, speed_mph * MPH, keys)
    return Case(f"{rods} rods, {number}", spread, wanted, rng.choice((90.0, 120.0, 150.0)))


def even_by_inverse(case: Case) -> tuple[dict[str, RodNow], dict[str, float]]:
    """Depths even over the band in file order, each rod's line out by the inverse alone, settings as they are.

    Rods that no length brings into the band stay as they are filed. Returns every rod, and the depths of those that
    are brought into the band.
    """
    spread, wanted = case.spread, case.wanted
    depths = (wanted.from_m, 0.5 * (wanted.from_m + wanted.to_m), wanted.to_m)

    def line_for(rod: Any, depth_m: float) -> float | None:
        return line_out_for_depth(spread, rod, depth_m, wanted.speed_m_s).line_out_as_counter_m

    able = [rod for rod in spread.rods if any(line_for(rod, depth) is not None for depth in depths)]
    rods = {rod.key: RodNow() for rod in spread.rods}
    reached: dict[str, float] = {}
    for rod, level in zip(able, levels_m(wanted, len(able)) if able else [], strict=True):
        line = line_for(rod, float(level))
        if line is not None:
            rods[rod.key] = RodNow(line)
            reached[rod.key] = float(level)
    return rods, reached
