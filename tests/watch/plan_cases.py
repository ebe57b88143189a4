"""Generated cases for the planner: boats of 4, 8 and 12 rods, no two alike, and what one would do without it."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Any

from sternwatch.answers.arrays import RodNow
from sternwatch.answers.inverse import line_out_for_depth
from sternwatch.answers.reach import Wanted, levels_m
from sternwatch.gear.load import spread_from
from sternwatch.gear.spread import Spread

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
TACKLE: dict[str, Any] = {
    "disc": {"kind": "diver", "diameter": "120 mm", "settings": {"straight": "0 deg", "low": "20 deg", "high": "45 deg"}},
    "ball": {"kind": "ball", "mass": "12 lb"},
    "weight": {"kind": "weight", "mass": "1 lb"},
    "board": {"kind": "board"},
    "paddle": {"kind": "attractor"},
    "fly": {"kind": "lure", "form": "fly"},
    "spoon": {"kind": "lure", "form": "spoon"},
}  # fmt: skip


@dataclass(frozen=True)
class Case:
    name: str
    spread: Spread
    wanted: Wanted
    u_turn_s: float


def _chain(rng: random.Random, kind: str, setting: str) -> list[dict[str, Any]]:
    out = f"{rng.randrange(90, 200)} ft"
    fly = [{"line": "leader", "length": "22 in"}, {"tackle": "fly"}]
    match kind:
        case "diver":
            return [
                {"line": "wire", "out": out}, {"tackle": "disc", "setting": setting},
                {"line": "leader", "length": f"{rng.randrange(5, 9)} ft"}, {"tackle": "paddle"}, *fly,
            ]  # fmt: skip
        case "ball":
            lead = {"line": "mono", "length": f"{rng.randrange(10, 40)} ft", "adjust": True}
            return [{"line": "cable", "out": "60 ft"}, {"tackle": "ball"}, lead, {"tackle": "spoon"}]
        case "board":
            core = {"line": "leadcore", "length": f"{rng.randrange(3, 9)} colours"}
            return [
                {"line": "braid", "out": out}, {"tackle": "board"}, core, {"line": "leader", "length": "20 ft"},
                {"tackle": "spoon"},
            ]  # fmt: skip
        case "copper":
            metal = {"line": "copper", "length": f"{rng.randrange(20, 40) * 10} ft"}
            return [
                {"line": "braid", "out": "60 ft"},
                metal,
                {"line": "leader", "length": "20 ft"},
                {"tackle": "spoon"},
            ]
    return [
        {"line": "braid", "out": out}, {"tackle": "weight"}, {"line": "leader", "length": "8 ft"}, {"tackle": "spoon"},
    ]  # fmt: skip


# From the gunwale inward, of one side.
SIDES = {2: ("diver", "ball"), 4: ("board", "diver", "diver", "ball"), 6: ("board", "board", "diver", "diver", "weight", "ball")}  # fmt: skip


def case(rods: int, number: int) -> Case:
    """The ``number``-th case of so many rods (even)."""
    rng = random.Random(f"{rods} {number}")
    half = rods // 2
    kinds = list(SIDES[half])
    if rods == 12 and rng.random() < 0.5:
        kinds[0] = "copper"
    beam = rng.uniform(2.4, 3.2)
    made = []
    for side in ("port", "starboard"):
        order = list(enumerate(kinds))
        for place, kind in order if side == "port" else order[::-1]:
            out = beam / 2 * (1.0 - 0.5 * place / half) + (1.4 if kind == "diver" else 0.0) * rng.uniform(0.7, 1.0)
            if kind == "ball":
                out = rng.uniform(0.9, 1.2)  # so far apart that a ball keeps the distance from the other's cable
            tip = {"astern": f"{rng.uniform(-1.5, 0.8):.2f} m", "abeam": f"{out:.2f} m", "height": f"{rng.uniform(0.8, 2.4):.2f} m"}  # fmt: skip
            made.append(
                {
                    "key": KEYS[len(made)], "name": kind[:6].upper(), "side": side, "tip": tip,
                    "chain": _chain(rng, kind, rng.choice(("low", "high"))),
                }
            )  # fmt: skip
    spread = spread_from({"line": LINES, "tackle": TACKLE, "rod": made}, f"case {rods} {number}")
    top = rng.randrange(25, 50)
    wanted = Wanted(
        top * FOOT,
        (top + rng.randrange(25, 50)) * FOOT,
        rng.uniform(2.0, 2.7) * MPH,
        tuple(r.key for r in spread.rods),
    )
    return Case(f"{rods} rods, {number}", spread, wanted, rng.choice((90.0, 120.0, 150.0)))


def even_by_inverse(case: Case) -> tuple[dict[str, RodNow], dict[str, float]]:
    """Depths even over the band in file order, each rod's line out by the inverse alone, settings as they are.

    Rods that no length brings into the band stay as they are filed. Returns rods and the depths of those that are in it.
    """
    wanted = case.wanted
    middle = 0.5 * (wanted.from_m + wanted.to_m)
    able = [
        rod for rod in case.spread.rods
        if any(
            line_out_for_depth(case.spread, rod, depth, wanted.speed_m_s).line_out_as_counter_m is not None
            for depth in (wanted.from_m, middle, wanted.to_m)
        )
    ]  # fmt: skip
    rods = {rod.key: RodNow() for rod in case.spread.rods}
    depths: dict[str, float] = {}
    for rod, level in zip(able, levels_m(wanted, len(able)) if able else [], strict=True):
        found = line_out_for_depth(case.spread, rod, float(level), wanted.speed_m_s)
        if found.line_out_as_counter_m is not None:
            rods[rod.key] = RodNow(found.line_out_as_counter_m)
            depths[rod.key] = float(level)
    return rods, depths
