"""Seasons whose truth is not the model's: another exponent of drag, an attractor's law, counters, water below.

Three rods (a diver with an attractor, a downrigger, copper). On every trip each is touched once, at a speed and a
length of its own, with an ordinary error; one touch in twenty is a gross mistake. The season is carried on as on the
water. Depths are asked on the day of a trip, at speeds and lengths observed or not.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.fit import Fit
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
SPEEDS = (0.85, 1.1, 1.35)  # at which depths are asked
SHARES = (0.75, 1.0, 1.2)  # of the filed line out
STAGES = (1, 5, 20, 40)
GROSS, GROSS_M = 0.05, 8.0
TOLD = 0.3
FIRST = datetime(2026, 5, 1, 20, 0, tzinfo=UTC)
Kind = Callable[[Chain, float], Chain]


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
    """A season's truth: ``kind`` of law; ``counters`` 10 % off and 0.2 m/s below every day, where asked."""

    kind: Kind
    seed: int
    counters: bool = False


@dataclass(frozen=True)
class Score:
    """Of one rod at one speed on one day; depths asked at all lengths."""

    rod: str
    speed_m_s: float
    trip: int
    inside: tuple[bool, ...]
    error_m: tuple[float, ...]
    half_m: tuple[float, ...]
    crps_m: tuple[float, ...]


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
    for name, one in uncertain(spread, fitted=True).items():
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


def touches(spread: Spread, world: World, trip: int) -> list[Observation]:
    """One of every rod."""
    rng = np.random.default_rng([world.seed, trip])
    values = truth_of(spread, world, trip)
    out = []
    for key, at in ENDS.items():
        rod = spread.rod_by_key(key)
        assert rod is not None
        assert rod.line_out_m is not None
        one = Observation(
            f"{trip} {key}", key, What.DEPTH, 0.0, TOUCHED_M, float(rng.uniform(0.9, 1.3)), "touched bottom", at=at,
            now=RodNow(rod.line_out_m * float(rng.uniform(0.75, 1.2))), heading_rad=float(rng.uniform(0.0, 6.283)),
            told=TOLD,
        )  # fmt: skip
        depth = true_depth(spread, one, values | _told(values), world.kind) + rng.normal() * TOUCHED_M / Z90
        if rng.random() < GROSS:
            depth += float(rng.uniform(-GROSS_M, GROSS_M))
        out.append(replace(one, value=max(depth, 0.5)))
    return out


def _told(values: Mapping[str, float]) -> dict[str, float]:
    return {"speed": values.get("speed", 1.0)}


def asked(
    spread: Spread, world: World, trip: int, learned: Calibration | None, crps: Callable[[float, Floats], float]
) -> list[Score]:
    """Every rod at every speed on the day of a trip, at a heading of its own."""
    values = truth_of(spread, world, trip)
    heading = float(np.random.default_rng([world.seed, trip, 7]).uniform(0.0, 6.283))
    out = []
    for key in ENDS:
        rod = spread.rod_by_key(key)
        assert rod is not None
        assert rod.line_out_m is not None
        for speed in SPEEDS:
            rows = []
            for share in SHARES:
                now = RodNow(rod.line_out_m * share)
                one = Observation(
                    "", key, What.DEPTH, 0.0, 1.0, speed, "", at="lure", now=now, heading_rad=heading, told=0.0
                )
                true = true_depth(spread, one, values, world.kind)
                law = depth_quantiles(spread, rod, speed, now=now, heading_rad=heading, learned=learned)
                assert law is not None
                score = crps(true, np.array(law))
                rows.append((law[0] <= true <= law[4], law[2] - true, 0.5 * (law[4] - law[0]), score))
            inside, error, half, scores = zip(*rows, strict=True)
            out.append(Score(key, speed, trip, inside, error, half, scores))
    return out


def sail(
    world: World, crps: Callable[[float, Floats], float], *, discrepancy: bool = True, trips: int = 40
) -> dict[int, list[Score]]:
    """Scores by how many trips had taught; 0: none."""
    truth, spread = spread_of(), spread_of(discrepancy=discrepancy)
    season: Calibration | None = None
    found: Fit
    out = {0: asked(truth, world, 1, None, crps)}
    for trip in range(1, trips + 1):
        found, season = carried_on(
            season, spread, touches(truth, world, trip), name=f"{trip}", made=FIRST + timedelta(days=trip)
        )
        if trip in STAGES:
            scores = []
            for one in asked(spread, world, trip, found.calibration, crps):
                scores.append(one)
            out[trip] = scores
    return out


def pooled(
    scores: list[Score], rod: str | None = None, speed: float | None = None
) -> tuple[float, float, float, float]:
    """Share inside, rms error [m], mean half width [m], mean CRPS [m]."""
    own = [one for one in scores if rod in (None, one.rod) and speed in (None, one.speed_m_s)]
    inside = [hit for one in own for hit in one.inside]
    error = [off for one in own for off in one.error_m]
    half = [wide for one in own for wide in one.half_m]
    crps = [score for one in own for score in one.crps_m]
    return float(np.mean(inside)), math.sqrt(np.mean(np.square(error))), float(np.mean(half)), float(np.mean(crps))
