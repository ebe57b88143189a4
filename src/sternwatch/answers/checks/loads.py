"""The loads on a spread's parts: the steady pull, a strike on top of it; and releases that may open."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sternwatch.answers.chains.arrays import Rig, tip_m
from sternwatch.answers.checks.findings import Found, Setting, finding
from sternwatch.answers.checks.strike import Spring, strike_peak_N
from sternwatch.gear.spread_file.lines import LineSpec, resolve_line
from sternwatch.gear.spread_file.models import LineItem, Rod, TackleItem
from sternwatch.gear.spread_file.tackle import Ball, Board, Diver, Snubber
from sternwatch.gear.values import defaults
from sternwatch.gear.values.materials import find_material
from sternwatch.hydro.chain.model import Body, Line
from sternwatch.hydro.steady.solver import Steady

# A steady pull above this share of the breaking load is a finding: a knot keeps 60-80 % of it, wear takes more, and
# waves add jerks (memory).
MOST_SHARE = 1.0 / 3.0
# A pull above this share of a release's setting is a finding: it is set by hand and slips with wear (memory).
NEAR_RELEASE = 0.7


@dataclass(frozen=True, slots=True)
class Part:
    """One item of a chain under load. None: unknown."""

    what: str
    line: bool
    pull_N: float | None  # the greatest along it
    strength_N: float | None
    struck: bool  # the load of a strike on the lure passes through it

    @property
    def margin(self) -> float | None:
        """Breaking load over steady pull."""
        if self.pull_N is None or self.strength_N is None or self.pull_N <= 0.0:
            return None
        return self.strength_N / self.pull_N


@dataclass(frozen=True, slots=True)
class Loads:
    """Loads on a rod's parts, from the tip outward. ``strike_*`` come on top. None: unknown."""

    key: str
    name: str
    parts: tuple[Part, ...]
    strike_peak_N: float | None
    strike_without_snubber_N: float | None
    strike_with_usual_snubber_N: float | None
    metal: bool  # wire, cable or copper among its lines

    @property
    def weakest(self) -> Part | None:
        """The part with the least margin among those of known strength."""
        known = [part for part in self.parts if part.margin is not None]
        return min(known, key=lambda part: part.margin or math.inf, default=None)


def _snubber(tackle: Snubber) -> Spring | None:
    length = defaults.SNUBBER_LENGTH_M if tackle.length_m is None else tackle.length_m
    most = defaults.SNUBBER_MAX_LENGTH_M if tackle.max_length_m is None else tackle.max_length_m
    pull = defaults.SNUBBER_MAX_PULL_N if tackle.max_pull_N is None else tackle.max_pull_N
    return Spring(pull / (most - length), pull) if most > length else None


USUAL_SNUBBER = Spring(
    defaults.SNUBBER_MAX_PULL_N / (defaults.SNUBBER_MAX_LENGTH_M - defaults.SNUBBER_LENGTH_M),
    defaults.SNUBBER_MAX_PULL_N,
)


def metal(spec: LineSpec) -> bool:
    """Whether a kind of line is metal: by its material, else by being denser than any fibre."""
    material = find_material(spec.material) if spec.material else None
    return material.metal if material is not None else (spec.density_kg_m3 or 0.0) > 3000.0


def loads_of(at: Setting, rod: Rod, rig: Rig, state: Steady, fish_kg: float, fish_m_s: float) -> Loads:
    """A rod's loads in its steady state and under a strike.

    The load of a strike goes inward to the rod tip. On a downrigger the release opens, and the load goes up the rod's
    own line.
    """
    items = list(rig.chain.items)
    parts: list[Part] = []
    compliance = 0.0
    springs: list[Spring] = []
    struck = "ball" not in rig.kinds
    position, body_number, arc = 0, 0, 0.0
    for item in rod.deployed:
        if isinstance(item, TackleItem):
            if isinstance(items[position], Line):  # the snap between two pieces of tackle
                position += 1
            tackle = at.spread.tackle[item.tackle]
            pull = _known(state.body_pull_N[body_number])
            parts.append(Part(item.tackle, False, pull, tackle.strength_N, struck and not isinstance(tackle, Ball)))
            if isinstance(tackle, Ball):
                struck = True
            if isinstance(tackle, Snubber):
                spring = _snubber(tackle)
                springs += [spring] if spring is not None else []
            body_number += 1
        else:
            spec = at.spread.line[item.line]
            line = items[position]
            assert isinstance(line, Line)
            inboard = items[position - 1] if position else None
            if isinstance(inboard, Body):
                pull = _known(state.body_tail_N[body_number - 1])
            else:
                pull = _known(np.interp(arc, state.arc_m, state.tension_N)) if state.ok else None
            parts.append(Part(item.line, True, pull, spec.strength_N, struck))
            arc += line.length_m
            if struck:
                compliance += line.length_m / line.stiffness_N
        position += 1
    if rod.rod_line is not None and state.ok:
        spec = at.spread.line[rod.rod_line.line]
        own = defaults.ROD_LINE_PULL.value if rod.rod_line.pull_N is None else rod.rod_line.pull_N
        ball = state.body_m[rig.kinds.index("ball")]
        straight = math.dist(ball, tip_m(rod.rod_line.tip, rod.sign))
        compliance += straight / resolve_line(spec).stiffness_N
        parts.append(Part(rod.rod_line.line, True, own, spec.strength_N, True))
    peak = strike_peak_N(fish_kg, fish_m_s, compliance, springs)
    bare = strike_peak_N(fish_kg, fish_m_s, compliance)
    return Loads(
        key=rod.key,
        name=rod.name,
        parts=tuple(parts),
        strike_peak_N=_known(peak),
        strike_without_snubber_N=_known(bare),
        strike_with_usual_snubber_N=_known(strike_peak_N(fish_kg, fish_m_s, compliance, [USUAL_SNUBBER])),
        metal=any(metal(at.spread.line[item.line]) for item in rod.deployed if isinstance(item, LineItem)),
    )


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def pulls(at: Setting, rod: Rod, state: Steady, loads: Loads) -> Found:
    """Parts near their breaking load, and releases that the steady pull may open."""
    found = Found()
    for part in loads.parts:
        if part.pull_N is not None and part.strength_N is not None and part.pull_N > MOST_SHARE * part.strength_N:
            found.findings.append(
                finding(
                    "strength", rod,
                    f"{part.what} bears {at.force(part.pull_N)}, and breaks at {at.force(part.strength_N)}",
                    "a knot, a nick or a snatch in a sea takes the rest",
                    f"stronger {part.what}, slower, or tackle that pulls less",
                    pull_N=part.pull_N, strength_N=part.strength_N,
                )
            )  # fmt: skip
    without = [part.what for part in loads.parts if part.line and part.strength_N is None]
    if without:
        found.unchecked.append(f"{rod.key} {rod.name}: no strength is given for {', '.join(dict.fromkeys(without))}")
    if state.ok:
        _releases(at, rod, state, found)
    return found


def _releases(at: Setting, rod: Rod, state: Steady, found: Found) -> None:
    """Add findings on each release under the steady pull."""
    items = [item for item in rod.deployed if isinstance(item, TackleItem)]
    for number, item in enumerate(items):
        tackle = at.spread.tackle[item.tackle]
        if not isinstance(tackle, Diver | Ball | Board) or item.tripped:
            continue
        pull, at_what = _pull_on(tackle, rod, float(state.body_pull_N[number]), float(state.body_tail_N[number]))
        if tackle.release_pull_N is None:
            found.unchecked.append(
                f"{rod.key} {rod.name}: the pull that opens the {at_what} is not given (release_pull)"
            )
        elif pull > NEAR_RELEASE * tackle.release_pull_N:
            likely = "release likely" if pull >= tackle.release_pull_N else "release near"
            found.findings.append(
                finding(
                    "release", rod,
                    f"{likely}: {at.force(pull)} on the {at_what}, set to {at.force(tackle.release_pull_N)}",
                    "it opens without a fish, and nobody sees that the rod has stopped fishing",
                    "set it tighter, go slower, or pull less behind it",
                    pull_N=pull, release_pull_N=tackle.release_pull_N,
                )
            )  # fmt: skip


def _pull_on(tackle: Diver | Ball | Board, rod: Rod, inboard_N: float, outboard_N: float) -> tuple[float, str]:
    """The pull on a release [N], and where the release is."""
    if isinstance(tackle, Board):
        return inboard_N, "board's clip"
    if not isinstance(tackle, Ball):
        return outboard_N, "diver's release"
    own = 0.0
    if rod.rod_line is not None:
        own = defaults.ROD_LINE_PULL.value if rod.rod_line.pull_N is None else rod.rod_line.pull_N
    return outboard_N + own, "release at the ball"


def strikes(at: Setting, rod: Rod, loads: Loads, fish_kg: float, fish_m_s: float) -> Found:
    """Parts that a strike may break, and what a snubber would change."""
    found = Found()
    peak = loads.strike_peak_N
    if peak is None:
        found.unchecked.append(f"{rod.key} {rod.name}: the peak of a strike; nothing is known to stretch")
        return found
    breaking = [
        (part.strength_N / (part.pull_N + peak), part)
        for part in loads.parts
        if part.struck and part.pull_N is not None and part.strength_N is not None
    ]
    if not breaking:
        return found
    margin, part = min(breaking, key=lambda pair: pair[0])
    if margin >= 1.0:
        return found
    assert part.pull_N is not None
    usual = loads.strike_with_usual_snubber_N
    softer = "a reel that slips sooner"
    if peak == loads.strike_without_snubber_N and usual is not None:
        softer = f"a snubber (it makes the peak {at.force(usual)} instead of {at.force(peak)}), or {softer}"
    found.findings.append(
        finding(
            "strike", rod,
            f"a fish of {at.mass(fish_kg)} running at {at.speed(fish_m_s)} brings {part.what} to"
            f" {at.force(part.pull_N + peak)}; it breaks at {at.force(part.strength_N or 0.0)}",
            "fish, lure and leader are lost. This is an upper bound: it takes rod and reel as stiff",
            softer,
            load_N=part.pull_N + peak, strength_N=part.strength_N, strike_peak_N=peak,
            strike_without_snubber_N=loads.strike_without_snubber_N,
        )
    )  # fmt: skip
    return found
