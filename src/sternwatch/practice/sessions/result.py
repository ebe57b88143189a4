"""The result of a practice session as one JSON object: measures, score, events, computed against true depths."""

from __future__ import annotations

import math
from typing import Any

from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.sessions.kept import Kept
from sternwatch.practice.sessions.mistakes import bent, mistakes
from sternwatch.practice.world.believed import Believed, RodError
from sternwatch.practice.world.fish import keyed, right
from sternwatch.practice.world.measures import Score, measures, score
from sternwatch.practice.world.truth import kinds_of
from sternwatch.practice.world.world import World


def number(value: float | None, digits: int = 4) -> float | None:
    """A number rounded for output; None where it is unknown or not finite."""
    return None if value is None or not math.isfinite(value) else round(float(value), digits)


def result_of(file: DrillFile, world: World, believed: Believed, kept: Kept) -> dict[str, Any]:
    """The whole result of a session. Times are the drill's, negative before its beginning."""
    drill, lead_in = world.drill, world.drill.start.lead_in_s
    found = measures(world)
    marks = score(drill, found, world.tally.done_s is not None)
    names = {rod.key: rod.name for rod in world.spread.rods}
    errors = believed.errors(names, kinds_of(world.spread))
    return {
        "drill": file.id,
        "name": drill.name,
        "seed": world.seed,
        "done": world.tally.done_s is not None,
        "passed": marks.passed if drill.goal is not None else None,
        "score": marks.points if drill.score else None,
        "par": drill.par,
        "time_s": number(found["time"], 1),
        "measures": {_field(name): number(value) for name, value in found.items()},
        "parts": _parts(marks),
        "limits_broken": list(marks.broken),
        "crossings": [
            {
                "t_s": number(one.t_s - lead_in, 1), "keys": list(one.keys),
                "separation_m": number(one.separation_m, 3), "wrapped": one.wrapped,
            }
            for one in world.encounters.crossings
        ],
        "touches": [
            {"t_s": number(one.t_s - lead_in, 1), "key": one.key} for one in world.below.touches if one.t_s >= lead_in
        ],
        "strikes": [
            {
                "t_s": number(one.t_s - lead_in, 1), "key": one.key, "kind": one.kind,
                "keyed": keyed(one, world.crew) is not None, "right": right(one, world.crew),
                "off": one.off_s is not None and one.kind == "fish",
            }
            for one in world.fish.strikes
        ],
        "mistakes": mistakes(world, kept),
        "bent": bent(drill),
        "rods": [_error(one) for one in errors],
    }  # fmt: skip


_UNITS = {"time": "time_s", "least clearance": "least_clearance_m", "vessel distance": "vessel_distance_m"}


def _field(name: str) -> str:
    return _UNITS.get(name, name.replace(" ", "_"))


def _parts(marks: Score) -> list[dict[str, Any]]:
    return [
        {"measure": name, "value": number(value), "share": round(share, 4), "weight": weight}
        for name, value, share, weight in marks.parts
    ]


def _error(one: RodError) -> dict[str, Any]:
    return {
        "key": one.key,
        "name": one.name,
        "rig": one.kind,
        "pairs": one.pairs,
        "depth_believed_mean_m": number(one.believed_m, 3),
        "depth_true_mean_m": number(one.true_m, 3),
        "depth_error_mean_m": number(one.mean_m, 3),
        "depth_error_rms_m": number(one.rms_m, 3),
        "depth_error_worst_m": number(one.worst_m, 3),
        "interval_holds_share": number(one.covered, 3),
    }
