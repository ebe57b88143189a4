"""Compares ways to fish the rods of a spread in a straight tow and in turns to both sides.

Chains do not pull at one another, so each way to fish a rod is towed through the manoeuvres once, all together. The
distance of two ways is computed only on request: hundreds of ways make tens of thousands of pairs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sternwatch.answers.belief.priors import Draws
from sternwatch.answers.chains.arrays import RodNow, water_of
from sternwatch.answers.depths.depth import current_in_boat_axes
from sternwatch.answers.depths.reach import Choice, Wanted
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.chain.rows import STILL, Flow
from sternwatch.hydro.separation.distance import Strands, closest
from sternwatch.hydro.separation.verdicts import Verdict as Met
from sternwatch.watch.boat.manoeuvres import hold, path_of, turn
from sternwatch.watch.chains.ensemble import Floats, Run, cast_of, required_of, run, settled, settled_members
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.forecast.make import forecast
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import Forecast

# Above this ratio of distance to required distance, being farther apart is no better.
RESOLVE = 2.5
CROSSES = 10.0  # least cost of a crossing


def manoeuvres(u_turn_s: float | None) -> tuple[Manoeuvre, ...]:
    """The manoeuvres of a trial: half a circle to each side in the given time, each out of a straight tow.

    Without a time, only a straight tow.
    """
    if u_turn_s is None:
        return (hold(),)
    return (turn("port", 180.0, seconds=u_turn_s), turn("starboard", 180.0, seconds=u_turn_s))


def flow_of(spread: Spread, heading_rad: float | None) -> Flow:
    """The file's current in the axes of a boat on a heading; north by default."""
    current = current_in_boat_axes(spread.water, heading_rad or 0.0)
    return STILL if current is None else Flow(*current)


@dataclass(frozen=True)
class _Tow:
    lines: Floats  # (S, polylines, nodes, 3)
    times: Floats


class Trial:
    """Every way to fish every rod, by its number, towed through the manoeuvres with the nominal member.

    ``clipped``: rods on others' cables, which follow every way of their carriers.
    """

    def __init__(
        self,
        spread: Spread,
        ways: Sequence[Choice],
        wanted: Wanted,
        u_turn_s: float | None,
        clipped: Mapping[str, RodNow],
    ) -> None:
        self.ways = tuple(ways)
        self._required = required_of(spread)
        whole, rods, self._own = _as_one_spread(spread, self.ways, clipped)
        speed_m_s = wanted.speed_m_s
        cast = cast_of(whole, rods, water=water_of(spread), flow=flow_of(spread, wanted.heading_rad), draws=None)
        fleet = settled(cast, heading_rad=0.0, speed_m_s=speed_m_s)
        paths = [path_of(m, heading_rad=0.0, speed_m_s=speed_m_s) for m in manoeuvres(u_turn_s)]
        runs = [run(fleet, path) for path in paths]
        self._tows = [_Tow(polylines(done)[:, 0], done.path.time_s) for done in runs]
        # Lines too near in a straight tow stay so all day, which counts as a crossing.
        first = self._tows[0]
        self._tows.append(_Tow(first.lines[:2], first.times[:2]))
        self._strands: Strands = cast.strands
        self._rows = self._rows_of(runs[0])
        self._known = [all(bool(done.known[0, row]) for done in runs) for row in range(cast.rods)]
        self._costs: dict[tuple[int, int], float] = {}

    def _rows_of(self, done: Run) -> list[list[int]]:
        """The polylines of every way: its chain, those clipped to it, and lines to a release."""
        cast = done.cast
        at = {key: row for row, key in enumerate(cast.keys)}
        lines = {rod: cast.rods + j for j, rod in enumerate(cast.rod_line_of)}
        made = []
        for keys in self._own:
            rows = [at[key] for key in keys if key in at]
            made.append([*rows, *(lines[row] for row in rows if row in lines)])
        return made

    def cost(self, a: int, b: int) -> float:
        """Cost of two ways beside each other: zero far apart, ``CROSSES`` or more where they cross."""
        key = (min(a, b), max(a, b))
        if key not in self._costs:
            self.look([key])
        return self._costs[key]

    def look(self, pairs: Iterable[tuple[int, int]]) -> None:
        """Compute pairs of ways together; known pairs cost nothing."""
        wanted = sorted({(min(p), max(p)) for p in pairs} - self._costs.keys())
        asked = [(w, i, j) for w, (a, b) in enumerate(wanted) for i in self._rows[a] for j in self._rows[b]]
        for a, b in wanted:
            self._costs[a, b] = 0.0
        if not asked:
            return
        rows = sorted({row for _, i, j in asked for row in (i, j)})
        to = {row: n for n, row in enumerate(rows)}
        strands = _some(self._strands, rows)
        listed = np.array([(to[i], to[j]) for _, i, j in asked], dtype=np.int64)
        worst = np.zeros((len(self._tows), len(wanted)))
        for n_tow, tow in enumerate(self._tows):
            found = closest(tow.lines[:, rows], tow.times, strands, self._required, pairs=listed, resolve=RESOLVE)
            straight = n_tow == len(self._tows) - 1
            for n, (w, _, _) in enumerate(asked):
                ratio, verdict = float(found.ratio[0, n]), Met(int(found.verdict[0, n]))
                if straight and verdict == Met.NEAR_PASS:
                    verdict = Met.TOUCH
                cost = _cost(ratio, verdict)
                worst[n_tow, w] = max(worst[n_tow, w], cost)

        for pair, cost in zip(wanted, worst.sum(axis=0).tolist(), strict=True):
            self._costs[pair] = cost

    def works(self, way: int) -> bool:
        """Whether the way's chain could be simulated through every manoeuvre."""
        return all(self._known[row] for row in self._rows[way] if row < len(self._known))

    def blame(self, a: int, b: int, cost: float) -> None:
        """Add cost to two ways that all members found worse than the nominal one."""
        key = (min(a, b), max(a, b))
        self._costs[key] = self.cost(*key) + cost


def _cost(ratio: float, verdict: Met) -> float:
    """Cost of a pair. A near pass in a turn costs little; a nearer one costs more."""
    if verdict == Met.WRAPPED:
        return 2.0 * CROSSES
    if verdict == Met.TOUCH:
        return CROSSES * (2.0 - min(ratio, 1.0))
    short = max(RESOLVE - ratio, 0.0) / (RESOLVE - 1.0)
    return short * short


def _some(strands: Strands, rows: Sequence[int]) -> Strands:
    at = np.array(rows)
    return replace(
        strands,
        n_nodes=strands.n_nodes[at],
        arc_m=strands.arc_m[at],
        body_node=strands.body_node[at],
        leader=strands.leader[at],
        owner=strands.owner[at],
    )


def _as_one_spread(
    spread: Spread, ways: Sequence[Choice], clipped: Mapping[str, RodNow]
) -> tuple[Spread, dict[str, RodNow], list[list[str]]]:
    """A spread with a rod for every way and copies of the rods clipped to it; its rods; and each way's keys."""
    made, now, own = [], {}, []
    for number, way in enumerate(ways):
        keys = []
        for rod in spread.rods:
            carried = rod.key in clipped and rod.clipped_to is not None and rod.clipped_to.rod == way.key
            if rod.key != way.key and not carried:
                continue
            key = f"{rod.key} {number}"
            clip = rod.clipped_to
            if carried and clip is not None:
                clip = clip.model_copy(update={"rod": f"{way.key} {number}"})
            made.append(rod.model_copy(update={"key": key, "clipped_to": clip}))
            now[key] = way.now if rod.key == way.key else clipped[rod.key]
            keys.append(key)
        own.append(keys)
    return spread.model_copy(update={"rod": tuple(made)}), now, own


# -- all members ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Verdict:
    """The result of all members for one way to fish the spread."""

    forecasts: tuple[Forecast, ...]  # for every manoeuvre

    @property
    def any_crossing(self) -> float:
        """The greatest share, over the manoeuvres, of members in which any pair touches or worse."""
        return max((one.known_crossing for one in self.forecasts), default=0.0)

    @property
    def pairs(self) -> dict[tuple[str, str], float]:
        """The greatest share of every pair, over the manoeuvres."""
        found: dict[tuple[str, str], float] = {}
        for made in self.forecasts:
            for pair in made.pairs:
                found[pair.keys] = max(found.get(pair.keys, 0.0), pair.known_probability)
        return found


def judge(
    spread: Spread, rods: Mapping[str, RodNow], wanted: Wanted, u_turn_s: float | None, draws: Draws | None
) -> Verdict:
    """Run rods as planned through every manoeuvre with all members; without draws only the nominal one."""
    flow, water, speed_m_s = flow_of(spread, wanted.heading_rad), water_of(spread), wanted.speed_m_s
    if draws is None:
        cast = cast_of(spread, rods, water=water, flow=flow, draws=None, speed_m_s=speed_m_s)
        fleet = settled(cast, heading_rad=0.0, speed_m_s=speed_m_s)
    else:
        fleet = settled_members(spread, rods, draws, water=water, flow=flow, heading_rad=0.0, speed_m_s=speed_m_s)
    required = required_of(spread)
    made = (forecast(fleet, m, speed_m_s=speed_m_s, required=required) for m in manoeuvres(u_turn_s))
    return Verdict(tuple(made))
