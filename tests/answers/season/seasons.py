"""Seasons whose truth is not the model's: another exponent of drag, an attractor's law, counters, water below.

Three rods (a diver with an attractor, a downrigger, copper). On every trip each is touched once, at a speed and a
length of its own, with an ordinary error; one touch in twenty is a gross mistake. The season is carried on as on the
water. Depths are asked on the day of a trip, at speeds and lengths observed or not.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.observations import TOUCHED_M, Observation, What, depth_at, flow_past
from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.answers.belief.priors import Z90, value_at, varied_rigs
from sternwatch.answers.chains.arrays import RodNow, water_of
from sternwatch.answers.season.carrying import carried_on
from sternwatch.gear.spread_file.load import read_toml, spread_from
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.hydro.chain.model import Body, Chain, Line
from sternwatch.hydro.steady.solver import solve

Floats = NDArray[np.float64]

SPREAD = """
[boat]
name = "a season (invented)"
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.cable]
material = "stainless steel"
diameter = "0.9 mm"
[line.copper]
material = "copper 45 lb"
[line.leader]
material = "fluorocarbon"
diameter = "0.5 mm"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { low = "20 deg" }
[tackle.ball]
kind = "ball"
mass = "12 lb"
[tackle.paddle]
kind = "attractor"
[tackle.spoon]
kind = "lure"
form = "spoon"
[[rod]]
key = "1"
name = "DIVER"
side = "port"
tip = { astern = "1 ft", abeam = "8 ft", height = "4 ft" }
chain = [ { line = "wire", out = "180 ft" }, { tackle = "disc", setting = "low" },
  { line = "leader", length = "7 ft" },
  { tackle = "paddle" }, { line = "leader", length = "22 in" }, { tackle = "spoon" } ]
[[rod]]
key = "2"
name = "DOWN"
side = "port"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
chain = [ { line = "cable", out = "90 ft" }, { tackle = "ball" }, { line = "leader", length = "20 ft" },
  { tackle = "spoon" } ]
[[rod]]
key = "3"
name = "COPPER"
side = "starboard"
tip = { astern = "0 ft", abeam = "8 ft", height = "6 ft" }
chain = [ { line = "copper", out = "250 ft" }, { line = "leader", length = "15 ft" }, { tackle = "spoon" } ]
"""
ENDS = {"1": "device", "2": "ball", "3": "lure"}
TOUCHED = "touched"
BANDS = {"slow": (0.8, 0.98), "middle": (0.98, 1.17), "fast": (1.17, 1.35)}  # m/s, at which depths are asked
LENGTHS = (0.75, 1.2)  # of the filed line out
# After how many trips, and the days on which depths are asked then.
STAGES = {0: (1, 2, 3), 1: (1,), 5: (4, 5, 6), 20: (18, 19, 20, 21, 22), 40: (36, 37, 38, 39, 40)}
GROSS, GROSS_M = 0.05, 8.0
TOLD = 0.3
FIRST = datetime(2026, 5, 1, 20, 0, tzinfo=UTC)
Kind = Callable[[Chain, float], Chain]
Depth = Callable[[Observation, Mapping[str, float]], float]
Crps = Callable[[float, Floats], float]


def _parts(chain: Chain, line: float, bluff: float) -> Chain:
    items: list[Line | Body] = []
    for item in chain.items:
        if isinstance(item, Line):
            items.append(replace(item, drag_factor=item.drag_factor * line))
        else:
            items.append(replace(item, drag_area_m2=item.drag_area_m2 * bluff))
    return replace(chain, items=tuple(items))


def own_law(chain: Chain, speed_m_s: float) -> Chain:
    """The model's own."""
    del speed_m_s
    return chain


def other_exponent(chain: Chain, speed_m_s: float) -> Chain:
    """Lines drag as speed to the power of 2.2."""
    return _parts(chain, speed_m_s**0.2, 1.0)


def attractor_law(chain: Chain, speed_m_s: float) -> Chain:
    """What hangs on the line drags 15 % more slow and 15 % less fast than it should."""
    return _parts(chain, 1.0, (1.1 / speed_m_s) ** 0.6)


def short_counters(values: dict[str, float]) -> dict[str, float]:
    """Every counter 10 % short."""
    return values | {f"rod {key} counter": 0.9 for key in ENDS}


@dataclass(frozen=True)
class World:
    """A season's truth: ``kind`` of law or depths from elsewhere; ``counters``: 10 % short, 0.2 m/s below daily."""

    kind: Kind
    seed: int
    counters: bool = False
    elsewhere: Callable[[Spread, Mapping[str, float]], Depth] | None = None
    rods: tuple[str, ...] = tuple(ENDS)

    @cached_property
    def depth(self) -> Depth:
        """Where a piece of tackle really is."""
        spread = spread_of()
        if self.elsewhere is not None:
            return self.elsewhere(spread, truth_of(spread, self, 1))
        return lambda one, values: true_depth(spread, one, values, self.kind)


@dataclass(frozen=True)
class Score:
    """Of one depth that was asked on the day of a trip."""

    rod: str
    band: str
    inside: bool
    error_m: float
    half_m: float
    crps_m: float


def spread_of(*, discrepancy: bool = True) -> Spread:
    """The three rods; without a discrepancy its names are certain."""
    made = spread_from(read_toml(SPREAD, "season.toml"))
    if discrepancy:
        return made
    certain: dict[str, dict[str, float]] = {}
    for name in uncertain(made, fitted=True):
        if "discrepancy" in name:
            at = 1.0 if name.endswith("discrepancy") else 0.0
            certain[name] = {"low": at, "high": at}
    return spread_from(read_toml(SPREAD, "season.toml") | {"prior": certain})


def truth_of(spread: Spread, world: World, trip: int) -> dict[str, float]:
    """Factors and shifts of a trip: what lasts is drawn once from the priors, a day's anew; no discrepancy."""
    out = {}
    for name, one in (uncertain(spread, fitted=True) | uncertain(spread)).items():
        if "discrepancy" in name:
            continue
        of = f"{world.seed} {name} {trip if one.daily else ''}"
        z = np.random.default_rng(zlib.crc32(of.encode())).standard_normal()
        out[name] = float(value_at(np.array(z), one))
    if world.counters:
        out = short_counters(out) | {"shear north": 0.2, "shear east": 0.0}
    return out


def true_depth(spread: Spread, one: Observation, values: Mapping[str, float], kind: Kind) -> float:
    """Where the piece of tackle really is."""
    rod = spread.rod_by_key(one.rod)
    assert rod is not None
    water = water_of(spread)
    rig = varied_rigs(spread, [rod], {rod.key: one.now}, water, values)[rod.key]
    speed, current = flow_past(spread, one, values)
    state = solve(kind(rig.chain, speed), speed, water=water, current=current, tolerance=1e-6)
    return depth_at(state.body_m[:, 2], rig.kinds, one.at, state.depth_m)


def length_of(spread: Spread, key: str) -> float:
    """Line out as filed [m]."""
    rod = spread.rod_by_key(key)
    assert rod is not None
    assert rod.line_out_m is not None
    return rod.line_out_m


def touches(spread: Spread, world: World, trip: int) -> list[Observation]:
    """One of every rod."""
    rng = np.random.default_rng([world.seed, trip])
    values = truth_of(spread, world, trip)
    out = []
    for key in world.rods:
        one = Observation(
            f"{trip} {key}", key, What.DEPTH, 0.0, TOUCHED_M, float(rng.uniform(0.9, 1.3)), "touched bottom",
            at=ENDS[key], now=RodNow(length_of(spread, key) * float(rng.uniform(*LENGTHS))),
            heading_rad=float(rng.uniform(0.0, 6.283)), told=TOLD,
        )  # fmt: skip
        depth = world.depth(one, values) + rng.normal() * TOUCHED_M / Z90
        if rng.random() < GROSS:
            depth += float(rng.uniform(-GROSS_M, GROSS_M))
        out.append(replace(one, value=max(depth, 0.5)))
    return out


def asked(
    truth: Spread, spread: Spread, world: World, trip: int, learned: Calibration | None, crps: Crps
) -> list[Score]:
    """Of every rod on the day of a trip: where it was touched, and in every band of speed elsewhere."""
    values = truth_of(truth, world, trip)
    rng = np.random.default_rng([world.seed, trip, 7])
    out = []
    for touch in touches(truth, world, trip):
        whole = length_of(truth, touch.rod)
        moments = [(TOUCHED, touch)]
        for band, (low, high) in BANDS.items():
            moments.append((band, replace(
                touch, speed_m_s=float(rng.uniform(low, high)), heading_rad=float(rng.uniform(0.0, 6.283)), told=0.0,
                now=RodNow(whole * float(rng.uniform(*LENGTHS))),
            )))  # fmt: skip
        for band, moment in moments:
            one = replace(moment, at="lure")
            true = world.depth(one, values)
            rod = spread.rod_by_key(one.rod)
            assert rod is not None
            assert one.speed_m_s is not None
            law = depth_quantiles(
                spread, rod, one.speed_m_s, now=one.now, heading_rad=one.heading_rad, told=one.told, learned=learned
            )
            assert law is not None
            score = crps(true, np.array(law))
            out.append(Score(one.rod, band, law[0] <= true <= law[4], law[2] - true, 0.5 * (law[4] - law[0]), score))
    return out


def sail(
    world: World, crps: Crps, *, discrepancy: bool = True, stages: Mapping[int, Sequence[int]] = STAGES
) -> dict[int, list[Score]]:
    """Scores at each of the ``stages``, of the days that belong to it; 0: nothing has been learned."""
    truth, spread = spread_of(), spread_of(discrepancy=discrepancy)
    season: Calibration | None = None
    out: dict[int, list[Score]] = {stage: [] for stage in stages}
    for trip in stages.get(0, ()):
        out[0] += asked(truth, truth, world, trip, None, crps)
    for trip in range(1, max(trip for days in stages.values() for trip in days) + 1):
        found, season = carried_on(
            season, spread, touches(truth, world, trip), name=f"{trip}", made=FIRST + timedelta(days=trip)
        )
        for stage, days in stages.items():
            if stage and trip in days:
                out[stage] += asked(truth, spread, world, trip, found.calibration, crps)
    return out


def pooled(scores: Sequence[Score], *, rod: str = "", band: str = "") -> tuple[float, float, float, float]:
    """Share inside, rms error [m], mean half width [m], mean CRPS [m]."""
    own = [one for one in scores if rod in ("", one.rod) and band in ("", one.band)]
    return (
        float(np.mean([one.inside for one in own])),
        math.sqrt(np.mean([one.error_m**2 for one in own])),
        float(np.mean([one.half_m for one in own])),
        float(np.mean([one.crps_m for one in own])),
    )
