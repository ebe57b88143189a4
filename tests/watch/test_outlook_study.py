"""The outlook, made 30 s before a turn, against a fine transient solution of the same turn.

The fine solution is the nominal spread on 40 segments at a quarter of a second, separation taken exactly. Wherever it
comes under 0.7 of what is required the outlook must have said over 50 %; wherever it keeps twice that, and the order
across the stern, under 20 %. What lies between is only reported.
"""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest

from sternwatch.answers.arrays import AS_FILED, water_of
from sternwatch.answers.priors import Draws
from sternwatch.gear.spread import Spread
from sternwatch.hydro.rows import STILL
from sternwatch.hydro.separation import closest
from sternwatch.watch.ensemble import Fleet, cast_of, required_of, run, settled
from sternwatch.watch.outlook import Forecast
from sternwatch.watch.outlook_make import forecast
from sternwatch.watch.outlook_path import Manoeuvre, path_of
from sternwatch.watch.strands import polylines

SPEED_M_S = 2.3 * 0.44704
HEADING_RAD = 0.6
RADII_M = (120.0, 60.0, 40.0, 25.0, 15.0)
ORDINARY_M = (60.0, 25.0)

Found = dict[tuple[str, str], tuple[float, bool]]


def half_circle(side: str, radius_m: float) -> Manoeuvre:
    turn = math.pi if side == "starboard" else -math.pi
    return Manoeuvre("study", turn, radius_m=radius_m, wait_s=30.0)


def drawn(spread: Spread, seed: int) -> Fleet:
    rods = {rod.key: AS_FILED for rod in spread.rods}
    cast = cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=Draws(seed))
    return settled(cast, heading_rad=HEADING_RAD, speed_m_s=SPEED_M_S)


@pytest.fixture(scope="module")
def members(spread: Spread) -> Fleet:
    return drawn(spread, 0)


@pytest.fixture(scope="module")
def fine(spread: Spread) -> Fleet:
    rods = {rod.key: AS_FILED for rod in spread.rods}
    cast = cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=None, segments=dict.fromkeys(rods, 40))
    return settled(cast, heading_rad=HEADING_RAD, speed_m_s=SPEED_M_S)


def finely(spread: Spread, fine: Fleet, manoeuvre: Manoeuvre) -> Found:
    """Least ratio of distance to required distance, and whether the order was reversed, by pair of rods."""
    path = path_of(manoeuvre, heading_rad=HEADING_RAD, speed_m_s=SPEED_M_S, longest_s=0.25)
    done = run(fine, path)
    assert done.known.all()
    found = closest(polylines(done), path.time_s, done.cast.strands, required_of(spread), track=done.track)
    rods, lines = done.cast.rods, done.cast.rod_line_of
    out: Found = dict.fromkeys(combinations(done.cast.keys, 2), (math.inf, False))
    for p, pair in enumerate(found.pairs):
        i, j = sorted(int(row) if row < rods else lines[row - rods] for row in pair)
        keys = done.cast.keys[i], done.cast.keys[j]
        least, turned = out[keys]
        out[keys] = min(least, float(found.ratio[0, p])), turned or bool(np.isfinite(found.reversed_s[0, p]))
    return out


def table(made: Forecast, sure: Found, title: str) -> list[str]:
    """Lines of the report: every pair that is near in either, and the verdict."""
    lines = [title]
    for pair in made.pairs:
        least, turned = sure[pair.keys]
        share = pair.probability or 0.0
        if least < 2.0 or turned or share > 0.0:
            order = " order reversed" if turned else ""
            lines.append(f"  {'-'.join(pair.keys)}: fine {least:.2f} of required{order}, outlook {100 * share:.0f} %")
    return lines


def study(spread: Spread, members: Fleet, fine: Fleet, side: str, radius_m: float) -> tuple[list[str], list[str]]:
    """The report, and the pairs of which the outlook said too much or too little, as keys."""
    manoeuvre = half_circle(side, radius_m)
    made = forecast(members, manoeuvre, speed_m_s=SPEED_M_S, required=required_of(spread))
    sure = finely(spread, fine, manoeuvre)
    missed = []
    for pair in made.pairs:
        least, turned = sure[pair.keys]
        assert pair.probability is not None, pair
        if (least < 0.7 and pair.probability <= 0.5) or (least >= 2.0 and not turned and pair.probability >= 0.2):
            missed.append("-".join(pair.keys))
    return table(made, sure, f"{side} {radius_m:.0f} m"), missed


@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("radius_m", ORDINARY_M)
def test_two_radii(spread: Spread, members: Fleet, fine: Fleet, side: str, radius_m: float) -> None:
    lines, missed = study(spread, members, fine, side, radius_m)
    assert not missed
    # Both divers of one side cross in the tight turn, nobody does in the wide one.
    crossed = [line for line in lines if "2-3" in line and "100 %" in line]
    assert bool(crossed) == (radius_m == 25.0)


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("radius_m", RADII_M)
def test_all_radii(spread: Spread, fine: Fleet, side: str, radius_m: float, seed: int) -> None:
    lines, missed = study(spread, drawn(spread, seed), fine, side, radius_m)
    print("\n".join(lines), "missed:", *missed)
    if radius_m > 15.0:
        assert not missed
    else:
        # On 15 m the boat goes round its inside board and divers hang slack for a minute: a member's outcome is its
        # own, and the one fine solution is one of them. Of 28 pairs at most four may then be told otherwise.
        assert len(missed) <= 4
