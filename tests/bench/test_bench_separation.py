"""What an outlook costs, and separation's share of it: ratios within one run, processor time of this process.

``pytest tests/bench/test_bench_separation.py -m bench -n 0 -p benchmark -s`` prints the figures.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "watch"))

from twelve_rods import twelve_rods

from sternwatch.answers.belief.priors import Draws
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.hydro.chain.rows import STILL
from sternwatch.hydro.separation.distance import closest
from sternwatch.watch.boat.manoeuvres import as_it_goes, hold, path_of, turn
from sternwatch.watch.chains.ensemble import Fleet, cast_of, required_of, run, settled
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.forecast.make import forecast, risk
from sternwatch.watch.forecast.turn_limit import RADII_M, SPEED_SHARES
from sternwatch.watch.outlook.advice import advise

pytestmark = pytest.mark.bench

SPEED = 1.03
PLAN = turn("port", 180, radius_m=60)


def spend(work: Callable[[], Any], times: int = 3) -> float:
    """Least processor time [s] of a piece of work, warm."""
    work()
    spent = []
    for _ in range(times):
        began = time.process_time()
        work()
        spent.append(time.process_time() - began)
    return min(spent)


@pytest.fixture(scope="module")
def twelve() -> Spread:
    return parse_spread(twelve_rods())


def afloat(spread: Spread, count: int, members: int = 16) -> Fleet:
    rods = {rod.key: AS_FILED for rod in spread.rods[:count]}
    cast = cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=Draws(0, members))
    return settled(cast, heading_rad=0.3, speed_m_s=SPEED)


def test_pruned_against_every_element_pair(twelve: Spread) -> None:
    """The peer is the same kernel given one step at a time, where nothing can be skipped over time."""
    fleet = afloat(twelve, 12, 2)
    done = run(fleet, path_of(PLAN, heading_rad=0.3, speed_m_s=SPEED))
    lines, times, required = polylines(done), done.path.time_s, required_of(twelve)
    strands = done.cast.strands
    pruned = spend(lambda: closest(lines, times, strands, required, resolve=1.5))
    exact = spend(lambda: closest(lines, times, strands, required))

    def piecewise() -> None:
        for k in range(len(times) - 1):
            closest(lines[k : k + 2], times[k : k + 2], strands, required)

    brute = spend(piecewise, 1)
    print(
        f"\nby the step {brute:.3f} s, whole run exact {brute / exact:.1f}x, to 1.5 of required {brute / pruned:.1f}x"
    )
    assert pruned < exact < brute


def test_separations_share_and_its_growth(twelve: Spread) -> None:
    """Chains cost by the segment, whoever else is there; pairs grow as the square of the rods."""
    path = path_of(PLAN, heading_rad=0.3, speed_m_s=SPEED)
    rows = []
    for count in (4, 6, 8, 12):
        fleet = afloat(twelve, count)
        motion = spend(lambda fleet=fleet: run(fleet, path))  # type: ignore[misc]
        done = run(fleet, path)
        lines = polylines(done)
        apart = spend(
            lambda lines=lines, done=done: closest(  # type: ignore[misc]
                lines, path.time_s, done.cast.strands, required_of(twelve), resolve=1.5
            )
        )
        segments = int((fleet.cast.rows.n_nodes[:count] - 1).sum())
        rows.append((count, segments, motion, apart))
        chain_s = count * 16 * path.time_s[-1] / motion
        print(f"\n{count} rods, {segments} segments: motion {motion * 1e3:.0f} ms ({chain_s:,.0f} chain-seconds per "
              f"core-second), separation {apart * 1e3:.0f} ms ({100 * apart / (apart + motion):.0f} %)")  # fmt: skip
    counts, segments_of, motions, parts = (np.log([row[i] for row in rows]) for i in range(4))
    growth = (
        np.polyfit(segments_of, motions, 1)[0], np.polyfit(counts, motions, 1)[0], np.polyfit(counts, parts, 1)[0]
    )  # fmt: skip
    print("exponents: motion {:.2f} in segments, {:.2f} in rods; separation {:.2f} in rods".format(*growth))
    assert growth[0] < 1.25
    assert growth[2] < 2.6


def test_members_cost_in_proportion(twelve: Spread) -> None:
    path = path_of(PLAN, heading_rad=0.3, speed_m_s=SPEED)
    few, many = afloat(twelve, 8, 4), afloat(twelve, 8, 16)
    spent = spend(lambda: run(few, path)), spend(lambda: run(many, path))
    print(f"\n4 members {spent[0] * 1e3:.0f} ms, 16 members {spent[1] * 1e3:.0f} ms: {spent[1] / spent[0]:.2f}x")
    assert spent[1] / spent[0] < 6.0


def test_twelve_rods_every_two_seconds(twelve: Spread) -> None:
    """Hold, as it goes (1 deg/s), a plan of 180 degrees on 60 m; all limits every 30 s; advice every 6 s."""
    fleet, required = afloat(twelve, 12), required_of(twelve)
    going = as_it_goes(math.radians(1.0), 0.0, SPEED)
    each = {
        m.name: spend(lambda m=m: forecast(fleet, m, speed_m_s=SPEED, required=required))  # type: ignore[misc]
        for m in (hold(), going, PLAN)
    }
    # As many runs as a search can take: every radius to both sides and every speed.
    runs = 2 * len(RADII_M) + 1 + len(SPEED_SHARES)
    tried = [turn("port", 180, radius_m=radius) for radius in (100, 40, 15)]
    limits = runs * np.mean([spend(lambda m=m: risk(fleet, m, speed_m_s=SPEED, required=required)) for m in tried])
    tight = forecast(fleet, turn("port", 180, radius_m=25), speed_m_s=SPEED, required=required)
    names = {rod.key: rod.name for rod in twelve.rods}
    advice = spend(
        lambda: advise(fleet, tight, speed_m_s=SPEED, required=required, units=SYSTEMS["us"], names=names), 1
    )
    renewal = sum(each.values())
    share = renewal / 2.0 + limits / 30.0
    print("\n" + ", ".join(f"{name} {1e3 * s:.0f} ms" for name, s in each.items()))
    print(f"limits, all {runs} runs: {limits:.2f} s; advice {advice:.2f} s")
    print(f"of one core: {100 * share:.0f} %, with advice every 6 s {100 * (share + advice / 6.0):.0f} %")
    assert share + advice / 6.0 < 0.8
