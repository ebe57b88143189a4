"""Blind trials: six kinds of rig whose truth is drawn as the practice lake draws it, seen only through observations.

The truth is what practice makes of a seed (``Draws(crc32("SEED truth"), 1)``: coefficients, counters, shear, the
paddle wheel's error), from the priors or from ones wider by a factor. The boat reads her paddle wheel. Intervals are
those of the watch: its members through the same motion kernel, straight and in a turn, and the law they stand for.
"""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.fit import Fit, fit
from sternwatch.answers.belief.observations import Observation, What, concerns, predicted
from sternwatch.answers.belief.predictive import OF_SPEED, places_of
from sternwatch.answers.belief.priors import CARRIED, Draws, dealt
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.answers.depths.law import Places, quantiles_of
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.hydro.chain.rows import STILL
from sternwatch.watch.boat.manoeuvres import path_of, turn
from sternwatch.watch.chains.ensemble import Cast, Run, cast_of, run, settled, sheared

Floats = NDArray[np.float64]
Side = Literal["port", "starboard"]

SPREAD = """
[boat]
name = "six kinds of rig (invented)"
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
[line.leader]
material = "fluorocarbon"
diameter = "0.5 mm"
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
[tackle.fly]
kind = "lure"
[tackle.spoon]
kind = "lure"
form = "spoon"
[[rod]]
key = "1"
name = "BOARD"
side = "port"
tip = { astern = "0 ft", abeam = "5 ft", height = "7 ft" }
chain = [ { line = "backing", out = "90 ft" }, { tackle = "board" }, { line = "backing", length = "10 ft" },
  { line = "leadcore", length = "4 colours" }, { line = "leader", length = "20 ft" }, { tackle = "spoon" } ]
[[rod]]
key = "2"
name = "DIVER"
side = "port"
tip = { astern = "1 ft", abeam = "8 ft", height = "4 ft" }
chain = [ { line = "wire", out = "180 ft" }, { tackle = "disc", setting = "low" },
  { line = "leader", length = "7 ft" }, { tackle = "paddle" }, { line = "leader", length = "22 in" },
  { tackle = "fly" } ]
[[rod]]
key = "3"
name = "DOWN"
side = "port"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
rod_line = { line = "mono", tip = { astern = "0 ft", abeam = "3.5 ft", height = "6 ft" } }
chain = [ { line = "cable", out = "90 ft" }, { tackle = "ball" }, { line = "mono", length = "20 ft", adjust = true },
  { tackle = "spoon" } ]
[[rod]]
key = "4"
name = "LEAD"
side = "centre"
tip = { astern = "0 ft", height = "7 ft" }
chain = [ { line = "backing", out = "100 ft" }, { line = "leadcore", length = "8 colours" },
  { line = "leader", length = "30 ft" }, { tackle = "spoon" } ]
[[rod]]
key = "5"
name = "WEIGHT"
side = "starboard"
tip = { astern = "0 ft", abeam = "4 ft", height = "5 ft" }
chain = [ { line = "mono", out = "120 ft" }, { tackle = "weight" }, { line = "leader", length = "15 ft" },
  { tackle = "spoon" } ]
[[rod]]
key = "6"
name = "COPPER"
side = "starboard"
tip = { astern = "0 ft", abeam = "8 ft", height = "6 ft" }
chain = [ { line = "copper", out = "250 ft" }, { line = "leader", length = "15 ft" }, { tackle = "spoon" } ]
"""

# Six mixed observations a trip: rod, what, of which piece, how far off nine times in ten.
OBSERVED = (
    ("2", What.DEPTH, "device", 1.0),  # touched bottom
    ("3", What.DEPTH, "ball", 1.2),  # seen on the sounder
    ("4", What.DEPTH, "lure", 1.0),  # touched bottom
    ("6", What.DEPTH, "lure", 0.4),  # a logger
    ("2", What.PULL, None, 0.15),  # of itself
    ("1", What.ENTRY_ANGLE, None, math.radians(5.0)),
)
DIRECT = {"2": 1.0, "3": 1.2, "4": 1.0, "6": 0.4}  # rods whose depth was observed, and the error [m]
SLOWEST_M_S, FASTEST_M_S = 0.9, 1.3
RADII_M = (40.0, 80.0)
EVERY_S = 10.0
TAUT_N = 0.05  # a line with less pull anywhere is slack
STATES = ("straight", "turning", "slack")


def spread_of_six() -> Spread:
    """The six rigs."""
    return parse_spread(SPREAD)


@dataclass
class Tally:
    """Whether the truth lay in the 90 % interval: counts by state, rod and coordinate."""

    inside: dict[tuple[str, str, str], int] = field(default_factory=dict)
    asked: dict[tuple[str, str, str], int] = field(default_factory=dict)

    def count(self, state: str, rod: str, axis: str, hit: bool) -> None:
        key = (state, rod, axis)
        self.asked[key] = self.asked.get(key, 0) + 1
        self.inside[key] = self.inside.get(key, 0) + hit

    def share(self, state: str, axis: str = "depth", rod: str | None = None) -> float:
        """Of one rod, or pooled over all; nan where nothing was asked."""
        keys = [k for k in self.asked if k[0] == state and k[2] == axis and rod in (None, k[1])]
        asked = sum(self.asked[k] for k in keys)
        return sum(self.inside[k] for k in keys) / asked if asked else math.nan

    def add(self, other: Tally) -> None:
        for key, number in other.asked.items():
            self.asked[key] = self.asked.get(key, 0) + number
            self.inside[key] = self.inside.get(key, 0) + other.inside[key]


@dataclass(frozen=True)
class Trial:
    """One trip: the intervals before and after the fit, and every rod's error of depth [m] on a straight course."""

    before: Tally
    after: Tally
    error_before_m: dict[str, float]
    error_after_m: dict[str, float]
    half_before_m: dict[str, float]
    half_after_m: dict[str, float]
    made: Fit


@dataclass(frozen=True)
class Day:
    """The truth of one seed, and what the helm reads."""

    spread: Spread
    seed: int
    width: float

    @property
    def truth(self) -> Draws:
        return Draws(zlib.crc32(f"{self.seed} truth".encode()), 1, None, self.width)

    def rng(self, what: str) -> np.random.Generator:
        return np.random.default_rng([self.seed, zlib.crc32(what.encode())])


def observe(day: Day, which: tuple[tuple[str, What, str | None, float], ...] = OBSERVED) -> list[Observation]:
    """What a crew would have noted, each with an error of its own."""
    values = {name: float(v[0]) for name, v in dealt(day.spread, day.truth).items()}
    rng = day.rng("observing")
    made = []
    for number, (rod, what, at, error) in enumerate(which):
        speed, heading = rng.uniform(SLOWEST_M_S, FASTEST_M_S), rng.uniform(0.0, 2.0 * math.pi)
        one = Observation(f"{number}", rod, what, 1.0, 1.0, speed, what.value, at=at, heading_rad=heading)
        true = predicted(day.spread, one, values)
        own = error * true if what is What.PULL else error
        made.append(replace(one, value=true + rng.normal() * own / 1.6448536, error=own))
    return made


def _cast(spread: Spread, draws: Draws) -> Cast:
    rods = {rod.key: AS_FILED for rod in spread.rods}
    flow = sheared(STILL, spread, draws, len(rods)) if draws.members == 1 else STILL
    return cast_of(spread, rods, water=water_of(spread), flow=flow, draws=draws)


def _sail(cast: Cast, side: Side, radius_m: float, heading_rad: float, speed_m_s: float) -> Run:
    path = path_of(turn(side, 150.0, radius_m=radius_m), heading_rad=heading_rad, speed_m_s=speed_m_s)
    return run(settled(cast, heading_rad=heading_rad, speed_m_s=speed_m_s), path)


def _ends(made: Run) -> Floats:
    """Every lure from its own boat: (samples, members, rods, 3) astern, to starboard, down; nan: not known."""
    rows = made.cast.rows
    n, m = made.cast.rods, made.cast.members
    last = (rows.n_nodes - 1).reshape(m, n)
    member, rod = np.meshgrid(np.arange(m), np.arange(n), indexing="ij")
    end = made.positions_m[:, member, rod, last]
    off = end[..., :2] - made.track[:, :, None, :2]
    c, s = np.cos(made.track[:, :, None, 2]), np.sin(made.track[:, :, None, 2])
    out = np.stack([-(off[..., 0] * c + off[..., 1] * s), off[..., 1] * c - off[..., 0] * s, end[..., 2]], axis=-1)
    out[:, ~made.known] = np.nan
    return out


def _taut(made: Run) -> NDArray[np.bool_]:
    """(samples, members, rods): every segment of the chain pulls."""
    rows = made.cast.rows
    real = np.arange(rows.nodes - 1)[None] < (rows.n_nodes - 1)[:, None]
    real = real.reshape(made.cast.members, made.cast.rods, -1)
    pulls = np.where(real[None], made.tensions_N, np.inf).min(axis=-1)
    return np.concatenate([pulls[:1] > TAUT_N, pulls > TAUT_N])


def _places(spread: Spread, key: str, draws: Draws) -> Places:
    """What a rod's members believe, the paddle wheel's error among it."""
    rod = spread.rod_by_key(key)
    assert rod is not None
    every = concerns(spread, rod, uncertain(spread))
    names = tuple(name for name in every if name == "speed" or name not in OF_SPEED)
    dealt_to = np.stack([draws.normal(name) for name in names], axis=1)
    return places_of(spread, rod, names, draws.calibration, dealt_to)


def _intervals(places: Places, ends: Floats) -> tuple[list[float], list[float]]:
    """The 5 and 95 % quantiles of members' (M, 3) places, axis by axis; nan where they are not known."""
    found = [quantiles_of(places, ends[:, axis]) for axis in range(3)]
    return [math.nan if q is None else q[0] for q in found], [math.nan if q is None else q[4] for q in found]


def _compare(
    day: Day, learned: Calibration | None, true: Run, seen: tuple[Side, float, float, float]
) -> tuple[Tally, dict[str, float], dict[str, float]]:
    """Coverage of the members' intervals; the nominal chain's error of depth; the intervals' half widths."""
    draws = Draws(None, CARRIED, learned)
    members = _sail(_cast(day.spread, draws), *seen)
    places = {key: _places(day.spread, key, draws) for key in members.cast.keys}
    ends, truth, taut = _ends(members), _ends(true)[:, 0], _taut(true)[:, 0]
    tally = Tally()
    due = 0.0
    half: dict[str, float] = {}
    for sample, t in enumerate(members.path.time_s):
        if sample and t < due:
            continue
        due = t + EVERY_S
        for rod, key in enumerate(members.cast.keys):
            low, high = _intervals(places[key], ends[sample, :, rod])
            place = truth[sample, rod]
            if not (np.isfinite(low).all() and np.isfinite(place).all()):
                continue
            state = "straight" if sample == 0 else "turning" if taut[sample, rod] else "slack"
            for axis, name in enumerate(("astern", "abeam", "depth")):
                tally.count(state, key, name, bool(low[axis] <= place[axis] <= high[axis]))
            if sample == 0:
                half[key] = float(0.5 * (high[2] - low[2]))
    depths = nominal_depths(day.spread, learned, seen[2], seen[3])
    errors = {key: depths[key] - float(truth[0, rod, 2]) for rod, key in enumerate(members.cast.keys)}
    return tally, errors, half


def sailing(day: Day) -> tuple[Side, float, float, float]:
    """The turn's side and radius [m], the heading and the speed of a trip."""
    rng = day.rng("sailing")
    sides: tuple[Side, Side] = ("port", "starboard")
    side, radius_m = sides[int(rng.integers(2))], float(rng.uniform(*RADII_M))
    return side, radius_m, float(rng.uniform(0.0, 2.0 * math.pi)), float(rng.uniform(SLOWEST_M_S, FASTEST_M_S))


def nominal_depths(
    spread: Spread, learned: Calibration | None, heading_rad: float, speed_m_s: float
) -> dict[str, float]:
    """Every rod's depth by the middle of what is believed, on a straight course."""
    nominal = settled(_cast(spread, Draws.nominal(learned)), heading_rad=heading_rad, speed_m_s=speed_m_s)
    rows = nominal.cast.rows
    depth = nominal.state.position_m[np.arange(len(rows)), rows.n_nodes - 1, 2]
    return dict(zip(nominal.cast.keys, map(float, depth), strict=True))


def sail(spread: Spread, seed: int, width: float) -> Trial:
    """One trip: straight, then a turn, at a speed that nothing was observed at; before and after the fit."""
    day = Day(spread, seed, width)
    seen = sailing(day)
    true = _sail(_cast(spread, day.truth), *seen)
    made = fit(spread, observe(day), name=f"trial {seed}")
    before, error_before, half_before = _compare(day, None, true, seen)
    after, error_after, half_after = _compare(day, made.calibration, true, seen)
    return Trial(before, after, error_before, error_after, half_before, half_after, made)
