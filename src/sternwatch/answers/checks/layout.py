"""Checks the places of a spread's parts: too deep, too near, on the wrong side, out of the net's reach, too many."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import AS_FILED, Rig, RodNow
from sternwatch.answers.checks.findings import Finding, Found, Setting, finding, rod_words
from sternwatch.gear.spread_file.counter import SHORTEST_M, hanging_m, true_line_m, zero_of
from sternwatch.gear.spread_file.models import Rod, Spread, TackleItem
from sternwatch.gear.spread_file.tackle import Board, Diver, Snubber
from sternwatch.gear.values import defaults
from sternwatch.hydro.chain.leaders import leaders
from sternwatch.hydro.chain.model import Body, Line
from sternwatch.hydro.chain.rows import ROD_FIELDS
from sternwatch.hydro.motion.rod_lines import POINTS, lay
from sternwatch.hydro.separation.distance import Required, Strands, closest
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.hydro.steady.rows import pack
from sternwatch.hydro.steady.solver import Steady

Array = NDArray[np.float64]

# Rod holders are at least a hand's width apart (memory).
ONE_HOLDER_M = 0.1
# Tackle that stops at the rod tip. By then a ball's line is out of its release, and a board is taken off.
_STOPS_AT_TIP = ("diver", "weight", "attractor", "snubber")


def ways(at: Setting, rod: Rod, rig: Rig, state: Steady, bottom_m: float | None, stretched: float = 1.0) -> Found:
    """Whether the rig tows as it should: it has a shape, the board is up, the diver taut, the lure above the bottom.

    ``stretched``: the factor on its depths that makes it end at the median.
    """
    found = Found()
    if not state.ok:
        found.unchecked.append(f"{rod.key} {rod.name}: everything; {state.why}")
        return found
    if state.pulled_under:
        found.findings.append(
            finding(
                "pulled_under", rod, "the board is pulled under", "it no longer carries the line out, and it drags",
                "less line or weight behind it, or a bigger board",
            )
        )  # fmt: skip
    if state.slack:
        found.findings.append(
            finding(
                "slack", rod, f"the diver does not hold its line at {at.speed(at.speed_m_s)}",
                "it hangs anywhere, and its depth cannot be trusted", "go faster, or reel it in",
            )
        )  # fmt: skip
    if state.depth_m < 0.0:
        found.findings.append(
            finding(
                "in_air", rod, "the lure hangs in the air", "the line out is shorter than the tip is high",
                "let line out",
            )
        )  # fmt: skip
    found.findings += _crossing(at.spread, rod)
    if bottom_m is not None:
        found.findings += _bottom(at, rod, rig, state, bottom_m, stretched)
    return found


def _bottom(at: Setting, rod: Rod, rig: Rig, state: Steady, bottom_m: float, stretched: float) -> list[Finding]:
    places = [(float(state.body_m[i, 2]), what) for i, what in enumerate(rig.what)] or [(state.depth_m, "end")]
    deepest, what = max(places)
    deepest *= stretched
    if rod.bottom is not None:
        wanted = rod.clearance_m or 0.0
        if deepest + wanted <= bottom_m:
            return []
    elif deepest < bottom_m:
        return []
    return [
        finding(
            "bottom", rod, f"{what} at {at.length(deepest)}, the water is {at.length(bottom_m)} deep",
            "it drags on the bottom and snags", "less line, or faster",
            depth_m=deepest, bottom_m=bottom_m,
        )
    ]  # fmt: skip


def _crossing(spread: Spread, rod: Rod) -> list[Finding]:
    out = []
    for item in rod.deployed:
        if not isinstance(item, TackleItem):
            continue
        tackle = spread.tackle[item.tackle]
        if not isinstance(tackle, Diver | Board):
            continue
        pulls = item.side if item.side is not None else rod.side
        if rod.side != "centre" and pulls not in (rod.side, "centre"):
            out.append(
                finding(
                    "wrong_side", rod, f"{item.tackle} is set to pull to {pulls}, across the stern",
                    "it wraps its line around the others", f'side = "{rod.side}" unless it is meant',
                )
            )  # fmt: skip
    return out


def hanging_length_m(spread: Spread, rod: Rod) -> float | None:
    """Line and snubber between the tackle that stops at the rod tip and the lure [m]. None where nothing stops."""
    stop = None
    total = 0.0
    for item in rod.deployed:
        if isinstance(item, TackleItem):
            tackle = spread.tackle[item.tackle]
            if stop is None and tackle.kind in _STOPS_AT_TIP:
                stop = item.tackle
            if stop is not None and isinstance(tackle, Snubber):
                total += defaults.SNUBBER_LENGTH_M if tackle.length_m is None else tackle.length_m
        elif stop is not None:
            total += item.length_m or 0.0
    return total if stop is not None else None


def reaches(at: Setting, rod: Rod, rig: Rig) -> Found:
    """Whether a fish comes within reach of rod and net when the tackle is at the rod tip."""
    found = Found()
    hanging = hanging_length_m(at.spread, rod)
    if hanging is None or rig.lure is None:
        return found
    net = at.spread.boat.net_reach_m
    if rod.rod_length_m is None or net is None:
        lacks = "rod_length" if rod.rod_length_m is None else "the boat's net_reach"
        found.unchecked.append(f"{rod.key} {rod.name}: whether a fish comes within the net's reach; give {lacks}")
        return found
    most = rod.rod_length_m + net
    if hanging > most:
        found.findings.append(
            finding(
                "leader", rod, f"{at.length(hanging)} from the tip to the lure, and {at.length(most)} can be netted",
                "the net does not reach the fish when the tackle is at the rod tip",
                f"a leader shorter by {at.length(hanging - most)}, or a longer net",
                hanging_m=hanging, most_m=most,
            )
        )  # fmt: skip
    return found


def counts(at: Setting) -> Found:
    """Compares the number of rods with the rods per person."""
    found = Found()
    boat, rods = at.spread.boat, len(at.spread.rods)
    if boat.rods_per_person is None or boat.people is None:
        lacks = "rods_per_person" if boat.rods_per_person is None else "people"
        found.unchecked.append(f"the number of rods: the boat's {lacks} is not given")
    elif rods > boat.rods_per_person * boat.people:
        aboard = "1 person" if boat.people == 1 else f"{boat.people} people"
        found.findings.append(
            Finding(
                "rods", (), "the whole spread", f"{rods} rods; {aboard} at {boat.rods_per_person} each",
                "your own number for your local rules, as you typed it", "fewer rods or more people",
                {"rods": float(rods), "most": float(boat.rods_per_person * boat.people)},
            )
        )  # fmt: skip
    return found


def holders(at: Setting) -> Found:
    """Rods with tips in one place: one of them was never measured. One finding for each pair."""
    found = Found()
    rods = [rod for rod in at.spread.rods if rod.tip is not None]
    for one, other in combinations(rods, 2):
        apart_m = math.dist(_tip(one), _tip(other))
        if apart_m >= ONE_HOLDER_M:
            continue
        found.findings.append(
            Finding(
                "one_holder", (one.key, other.key), f"{rod_words(one)} and {rod_words(other)}",
                f"their tips stand {at.length(apart_m)} apart, as in one holder",
                "their lines are computed on top of one another", "measure where each tip stands",
                {"apart_m": apart_m},
            )
        )  # fmt: skip
    return found


def readings(at: Setting, now: Mapping[str, RodNow]) -> Found:
    """Counters that read less than what went out after they were zeroed: none of the counted line is past the tip."""
    found = Found()
    for rod in at.spread.rods:
        is_now = now.get(rod.key, AS_FILED)
        reading = rod.line_out_m if is_now.line_out_as_counter_m is None else is_now.line_out_as_counter_m
        if is_now.on_reel or reading is None or zero_of(at.spread, rod) != "lure at water":
            continue
        if true_line_m(at.spread, rod, reading, is_now.lead_m) > SHORTEST_M:
            continue
        behind = hanging_m(rod, is_now.lead_m)
        found.findings.append(
            finding(
                "counter", rod, f"its counter reads {at.length(reading)}, zeroed with the lure at the water",
                f"{at.length(behind)} went out after the lure, so none of the line before it would be out",
                'what the counter reads with all of it out, or zero = "tip"', reading_m=reading, behind_m=behind,
            )
        )  # fmt: skip
    return found


def _tip(rod: Rod) -> tuple[float, float, float]:
    assert rod.tip is not None  # a rod that is not clipped
    return (rod.tip.astern_m, rod.tip_abeam_m, rod.tip.height_m)


def neighbours(at: Setting, rigs: Mapping[str, Rig], states: Mapping[str, Steady]) -> Found:
    """Pairs nearer than their required distance on a straight course."""
    found = Found()
    keys = [key for key in rigs if states[key].ok]
    if len(keys) < 2:
        return found
    positions, strands, names = _strands(at, keys, rigs, states)
    needed = at.spread.boat.required
    required = Required(needed.line_m, needed.tackle_m, needed.taper_m)
    near = closest(np.stack([positions, positions]), np.array([0.0, 1.0]), strands, required)
    worst: dict[tuple[str, str], int] = {}
    for i in map(int, np.flatnonzero(near.verdict[0] != Verdict.CLEAR_OF_EACH_OTHER)):
        a, b = (names[row] for row in near.pairs[i])
        pair = (a, b)
        if pair not in worst or near.ratio[0, i] < near.ratio[0, worst[pair]]:
            worst[pair] = i
    for (a, b), i in worst.items():
        one, other = (at.spread.rod_by_key(key) for key in (a, b))
        assert one is not None
        assert other is not None
        distance, place = float(near.distance_m[0, i]), near.where_m[0, i]
        what = "they touch" if near.crosses[0, i] else "their lines come too close"
        if math.isfinite(distance):
            depth = float(place[2])  # near the tips two lines meet in the air
            where = f"at {at.length(depth)} down" if depth >= 0.0 else "above the water"
            what += f": {at.length(distance)} apart {where}"
            what += f", {at.length(-float(place[0]))} astern; wanted is {at.length(float(near.required_m[0, i]))}"
        found.findings.append(
            Finding(
                "neighbours", (a, b), f"{rod_words(one)} and {rod_words(other)}", what,
                "lines so near on a straight course have no room left in a turn",
                "another setting, length or place for one of them",
                {
                    "separation_m": distance if math.isfinite(distance) else None,
                    "required_m": float(near.required_m[0, i]) if math.isfinite(distance) else None,
                },
            )
        )  # fmt: skip
    return found


def _strands(
    at: Setting, keys: list[str], rigs: Mapping[str, Rig], states: Mapping[str, Steady]
) -> tuple[Array, Strands, list[str]]:
    """Steady shapes and downriggers' rod lines as polylines (rows, nodes, 3), with the rod key of every row."""
    shapes, arcs, bodies, tackle, owner, names = [], [], [], [], [], []
    for row, key in enumerate(keys):
        rig, state = rigs[key], states[key]
        shapes.append(state.shape_m)
        arcs.append(state.arc_m)
        bodies.append(np.isin(state.arc_m, _body_arcs(rig)))
        tackle.append(_leader_segments(rig, state.arc_m))
        owner.append(keys.index(rig.attach[0]) if rig.attach is not None and rig.attach[0] in keys else row)
        names.append(key)
    for row, key in enumerate(keys):
        packed = pack(rigs[key].chain, at.water, at.current)
        if packed.rig.link_at < 0:
            continue
        ball = states[key].body_m[rigs[key].kinds.index("ball")]
        rod, tip = packed.rig.link[:ROD_FIELDS], packed.rig.link[ROD_FIELDS:]
        u, v = -at.speed_m_s, 0.0
        if at.current is not None:
            u += 0.5 * float(np.interp(ball[2], at.current[0], at.current[1][:, 0]))
            v += 0.5 * float(np.interp(ball[2], at.current[0], at.current[1][:, 1]))
        curve = np.empty((POINTS, 3))
        lay(rod, ball, tip, u, v, 0.0, curve)
        steps = np.linalg.norm(np.diff(curve, axis=0), axis=1)
        shapes.append(curve)
        arcs.append(np.concatenate([[0.0], np.cumsum(steps)]))
        bodies.append(np.zeros(POINTS, dtype=np.bool_))
        tackle.append(np.zeros(POINTS - 1, dtype=np.bool_))
        owner.append(owner[row])
        names.append(key)
    most = max(len(shape) for shape in shapes)
    positions = np.stack([np.concatenate([s, np.repeat(s[-1:], most - len(s), axis=0)]) for s in shapes])
    return (
        positions,
        Strands(
            n_nodes=np.array([len(s) for s in shapes], dtype=np.int64),
            arc_m=np.stack([np.pad(a, (0, most - len(a)), mode="edge") for a in arcs]),
            body_node=np.stack([np.pad(b, (0, most - len(b))) for b in bodies]),
            leader=np.stack([np.pad(t, (0, most - 1 - len(t))) for t in tackle]),
            owner=np.array(owner, dtype=np.int64),
        ),
        names,
    )


def _leader_segments(rig: Rig, arcs: Array) -> NDArray[np.bool_]:
    """(n - 1,) whether the piece between two sampled arcs counts as tackle, by the line at its middle."""
    lengths = [item.length_m for item in rig.chain.items if isinstance(item, Line)]
    flags = np.array(leaders(rig.chain, [1] * len(lengths)), dtype=np.bool_)
    line = np.searchsorted(np.cumsum(lengths), 0.5 * (arcs[1:] + arcs[:-1]))
    found: NDArray[np.bool_] = flags[np.minimum(line, len(lengths) - 1)]
    return found


def _body_arcs(rig: Rig) -> list[float]:
    """Arc of each body from the rod tip, added up as in the solver."""
    total = sum(item.length_m for item in reversed(rig.chain.items) if isinstance(item, Line))
    outboard, arcs = 0.0, []
    for item in reversed(rig.chain.items):
        if isinstance(item, Body):
            arcs.append(total - outboard)
        else:
            outboard += item.length_m
    return arcs[::-1]
