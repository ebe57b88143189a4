"""Truths that the law does not hold: ordinary at sea, and drawn otherwise than what is believed.

Every draw takes what nothing is said of from the priors and one thing from elsewhere. The truth is the fine steady
solution, or the moving chain where the boat surges; the interval is what the helm would show.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.answers.belief.priors import SHEAR_DEPTH_M, Draws, varied_rigs
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.answers.depths.along_lines import Quantiles
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.gear.values import defaults
from sternwatch.hydro.chain.model import Body, Chain, Line
from sternwatch.hydro.chain.rows import STILL
from sternwatch.hydro.steady.solver import Steady, solve
from sternwatch.watch.boat.manoeuvres import Path
from sternwatch.watch.chains.ensemble import cast_of, run, settled

Floats = NDArray[np.float64]
Values = dict[str, float]
Current = tuple[Floats, Floats]

SPEED_M_S = 1.03
SPREAD = """
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.cable]
material = "stainless steel"
diameter = "0.9 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[line.backing]
material = "UHMWPE braid"
diameter = "0.32 mm"
[line.leadcore]
material = "lead-core 27 lb"
[line.copper]
material = "copper 45 lb"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { low = "20 deg", high = "45 deg" }
[tackle.ball]
kind = "ball"
mass = "12 lb"
[tackle.board]
kind = "board"
[tackle.weight]
kind = "weight"
mass = "12 oz"
[tackle.paddle]
kind = "attractor"
length = "8 in"
[tackle.fly]
kind = "lure"
[tackle.spoon]
kind = "lure"
form = "spoon"
[[rod]]
key = "1"
name = "BOARD"
side = "port"
tip = { abeam = "1.5 m", height = "2 m" }
chain = [{ line = "backing", out = "90 ft" }, { tackle = "board" }, { line = "backing", length = "10 ft" },
  { line = "leadcore", length = "4 colours" }, { line = "mono", length = "20 ft" }, { tackle = "spoon" }]
[[rod]]
key = "2"
name = "HIGH"
side = "port"
tip = { abeam = "2.7 m", height = "1.2 m" }
chain = [{ line = "wire", out = "165 ft" }, { tackle = "disc", setting = "high" }, { line = "mono", length = "7 ft" },
  { tackle = "paddle" }, { line = "mono", length = "22 in" }, { tackle = "fly" }]
[[rod]]
key = "3"
name = "LOW"
side = "port"
tip = { abeam = "2.3 m", height = "0.9 m" }
chain = [{ line = "wire", out = "185 ft" }, { tackle = "disc", setting = "low" }, { line = "mono", length = "7 ft" },
  { tackle = "paddle" }, { line = "mono", length = "22 in" }, { tackle = "fly" }]
[[rod]]
key = "4"
name = "DOWN"
side = "port"
tip = { abeam = "0.9 m", height = "0.9 m" }
chain = [{ line = "cable", out = "75 ft" }, { tackle = "ball" }, { line = "mono", length = "25 ft" },
  { tackle = "spoon" }]
[[rod]]
key = "5"
name = "LEAD"
side = "centre"
tip = { height = "2 m" }
chain = [{ line = "backing", out = "100 ft" }, { line = "leadcore", length = "8 colours" },
  { line = "mono", length = "30 ft" }, { tackle = "spoon" }]
[[rod]]
key = "6"
name = "COPPER"
side = "starboard"
tip = { abeam = "1.8 m", height = "1.5 m" }
chain = [{ line = "copper", out = "200 ft" }, { line = "mono", length = "20 ft" }, { tackle = "spoon" }]
[[rod]]
key = "7"
name = "WEIGHT"
side = "starboard"
tip = { abeam = "2 m", height = "1 m" }
chain = [{ line = "mono", out = "150 ft" }, { tackle = "weight" }, { line = "mono", length = "15 ft" },
  { tackle = "spoon" }]
"""
KEYS = "1234567"


@lru_cache(maxsize=1)
def seven() -> Spread:
    return parse_spread(SPREAD)


def rod_of(key: str) -> Rod:
    found = seven().rod_by_key(key)
    assert found is not None
    return found


def name_of(key: str) -> str:
    return rod_of(key).name


@dataclass(frozen=True)
class Truth:
    """One draw's world: what every quantity is, the water below, the speed through it, another drag law."""

    values: Values
    current: Current
    speed_m_s: float
    law: Callable[[Floats], Floats] | None = None


def believed_values(draws: int, seed: int) -> list[Values]:
    """Every quantity from its prior: one of every part of the law, in an order of its own."""
    made = Draws(seed, draws)
    by_name = {name: made.value(one) for name, one in uncertain(seven()).items()}
    return [{name: float(v[i]) for name, v in by_name.items()} for i in range(draws)]


def ramp(values: Values) -> Current:
    """The water below as it is believed: growing evenly down to its depth."""
    below = [values["shear north"], values["shear east"]]
    return np.array([0.0, SHEAR_DEPTH_M]), np.array([[0.0, 0.0], below])


def plain(values: Values) -> Truth:
    """As believed: the speed by a paddle wheel of some scale."""
    return Truth(values, ramp(values), SPEED_M_S * values["speed"])


def each(values: Values, start: str, end: str, made: Callable[[], float]) -> Values:
    """The same with every quantity whose name begins and ends so made otherwise."""
    return {n: made() if n.startswith(start) and n.endswith(end) else v for n, v in values.items()}


def sign(rng: np.random.Generator) -> float:
    return float(rng.choice([-1.0, 1.0]))


def counters_ten_off(values: Values, rng: np.random.Generator) -> Truth:
    """Each either way."""
    return plain(each(values, "rod ", " counter", lambda: 1.0 + 0.1 * sign(rng)))


def counters_of_five(values: Values, rng: np.random.Generator) -> Truth:
    """Each by a normal number of its own."""
    return plain(each(values, "rod ", " counter", lambda: 1.0 + 0.05 * rng.standard_normal()))


def undercurrent(values: Values, rng: np.random.Generator) -> Truth:
    """0.25 m/s below 10 m in any direction, none above: a thermocline of two metres between."""
    way = rng.uniform(0.0, 2.0 * math.pi)
    below = 0.25 * np.array([math.cos(way), math.sin(way)])
    current = np.array([0.0, 9.0, 11.0]), np.array([[0.0, 0.0], [0.0, 0.0], below])
    return replace(plain(values), current=current)


def surface_current(values: Values, rng: np.random.Generator) -> Truth:
    """0.25 to 0.4 m/s in any direction, and nothing but the speed over ground to go by."""
    way, size = rng.uniform(0.0, 2.0 * math.pi), rng.uniform(0.25, 0.4)
    along = SPEED_M_S + values["speed over ground noise"] - size * math.cos(way)
    return replace(plain(values), speed_m_s=math.hypot(along, size * math.sin(way)))


def attractors(values: Values, rng: np.random.Generator) -> Truth:
    """Log-spread about 0.008 m², 1.6 times what was once the default."""
    middle = 0.008 / defaults.ATTRACTOR_DRAG_AREA.value
    return plain(each(values, "tackle paddle", " drag", lambda: middle * math.exp(0.3 * rng.standard_normal())))


def diameters(values: Values, rng: np.random.Generator) -> Truth:
    """Every line 10 % thicker or thinner than its label or grade says."""
    return plain(each(values, "line ", " diameter", lambda: 1.0 + 0.1 * sign(rng)))


def short_fit(values: Values, rng: np.random.Generator) -> Truth:  # noqa: ARG001
    """1 + 10 Re^(-2/3), the short fit in White: steeper below Re 100 and 9 to 17 % higher above Re 700."""
    return replace(plain(values), law=lambda re: 1.0 + 10.0 * re ** (-2.0 / 3.0))


def constant(values: Values, rng: np.random.Generator) -> Truth:  # noqa: ARG001
    """1.2 whatever the Reynolds number, in place of the law and of its error (the oracles of Pode and Zajac)."""
    return replace(plain(each(values, "line ", " drag", lambda: 1.0)), law=lambda re: np.full_like(re, 1.2))


STEADY = {
    "believed": lambda values, rng: plain(values),  # noqa: ARG005
    "counters 10 % off": counters_ten_off,
    "counters of 5 %": counters_of_five,
    "undercurrent": undercurrent,
    "surface current": surface_current,
    "attractors": attractors,
    "diameters": diameters,
    "short fit": short_fit,
    "constant drag": constant,
}
SAMPLES = [name for name in STEADY if name not in ("believed", "short fit", "constant drag")]
PIECES = 10


def with_law(chain: Chain, truth: Truth, steady: Steady) -> Chain:
    """The chain with its smooth lines in pieces, each with the drag of ``truth.law`` at its own Reynolds number."""
    assert truth.law is not None
    nu = water_of(seven()).viscosity_m2_s
    items: list[Line | Body] = []
    start = 0.0
    for item in chain.items:
        if isinstance(item, Body):
            items.append(item)
            continue
        if item.normal_drag is not None:
            items.append(item)
        else:
            cuts = start + item.length_m * np.arange(PIECES + 1) / PIECES
            ends = np.stack([np.interp(cuts, steady.arc_m, steady.shape_m[:, axis]) for axis in range(3)], axis=1)
            way = np.diff(ends, axis=0)
            way /= np.linalg.norm(way, axis=1)[:, None]
            depth = 0.5 * (ends[1:, 2] + ends[:-1, 2])
            past = np.zeros((PIECES, 3))
            for axis in range(2):
                past[:, axis] = np.interp(depth, truth.current[0], truth.current[1][:, axis])
            past[:, 0] -= truth.speed_m_s
            across = past - (past * way).sum(axis=1)[:, None] * way
            re = np.maximum(np.linalg.norm(across, axis=1) * item.diameter_m / nu, 1.0)
            own = truth.law(re)
            items += [replace(item, length_m=item.length_m / PIECES, normal_drag=float(c)) for c in own]
        start += item.length_m
    return replace(chain, items=tuple(items))


def depth_of(key: str, truth: Truth) -> float:
    """Of the lure on a straight course; nan where there is no steady shape."""
    spread, rod = seven(), rod_of(key)
    water = water_of(spread)
    chain = varied_rigs(spread, [rod], {key: AS_FILED}, water, truth.values)[key].chain
    made = solve(chain, truth.speed_m_s, water=water, current=truth.current, tolerance=1e-6)
    if truth.law is not None and made.ok:
        for _ in range(3):
            pieces = with_law(chain, truth, made)
            made = solve(pieces, truth.speed_m_s, water=water, current=truth.current, tolerance=1e-6)
    return made.depth_m if made.ok else math.nan


@lru_cache(maxsize=64)
def shown(key: str, over_ground: bool) -> Quantiles:
    """What the helm shows before the first turn: the speed by paddle wheel, or over ground."""
    found = depth_quantiles(seven(), rod_of(key), SPEED_M_S, told=1.0, over_ground=over_ground)
    assert found is not None
    return found


def truths(name: str, key: str, draws: int, seed: int) -> Floats:
    """(draws,) true depths."""
    rng = np.random.default_rng([seed, 15])
    return np.array([depth_of(key, STEADY[name](values, rng)) for values in believed_values(draws, seed)])


def inside(depths: Floats, law: Quantiles) -> float:
    """The share of true depths in the interval, of those that have one."""
    known = depths[np.isfinite(depths)]
    assert known.size > 0.97 * depths.size
    return float(np.mean((known >= law[0]) & (known <= law[4])))


SURGE_M_S, SURGE_PERIOD_S = 0.3, 4.0
YAW_RAD, YAW_PERIOD_S = math.radians(10.0), 7.0
SWAYS_S, LOOK_S, STEP_S = 100.0, 28.0, 0.5  # a look holds whole periods of both


def swaying() -> Path:
    """A boat on a seaway: her speed and her heading go to and fro about a straight course."""
    time = np.arange(0.0, SWAYS_S + LOOK_S + 0.5 * STEP_S, STEP_S)
    fine = np.arange(0.0, time[-1] + 0.01, 0.02)
    speed = SPEED_M_S + SURGE_M_S * np.sin(2.0 * math.pi * fine / SURGE_PERIOD_S)
    heading = YAW_RAD * np.sin(2.0 * math.pi * fine / YAW_PERIOD_S)
    way = np.zeros((len(fine), 2))
    velocity = np.stack([speed * np.cos(heading), speed * np.sin(heading)], axis=1)
    way[1:] = np.cumsum(0.5 * (velocity[1:] + velocity[:-1]) * 0.02, axis=0)
    north, east, heading, speed = (np.interp(time, fine, own) for own in (way[:, 0], way[:, 1], heading, speed))
    return Path(time, north, east, heading, speed, 0.0, float(time[-1]))


def swayed(key: str, draws: int, seed: int) -> Floats:
    """(looks, draws) true depths at every step of the last periods."""
    spread, water = seven(), water_of(seven())
    dealt = Draws(seed, draws)
    cast = cast_of(spread, {key: AS_FILED}, water=water, flow=STILL, draws=dealt)
    done = run(settled(cast, heading_rad=0.0, speed_m_s=SPEED_M_S), swaying())
    looks = done.path.time_s >= SWAYS_S
    depths: Floats = done.positions_m[looks][:, np.arange(draws), 0, cast.rows.n_nodes - 1, 2].copy()
    depths[:, ~done.known[:, 0]] = np.nan
    return depths
