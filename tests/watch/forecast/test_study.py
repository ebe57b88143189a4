"""The outlook, made 30 s before a turn, against a fine transient solution of the same turn.

The fine solution is the nominal spread on many segments at a quarter of a second, separation taken exactly; that it
is fine enough is tested against a finer one. Wherever lines touch or worse in it the outlook must have warned;
wherever it keeps twice what is required, said under 20 %. The rest is only reported.
"""

from __future__ import annotations

import math
from itertools import combinations

import pytest

from sternwatch.answers.belief.priors import MEMBERS, Draws
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.chain.rows import STILL
from sternwatch.hydro.separation.distance import closest
from sternwatch.watch.boat.manoeuvres import path_of
from sternwatch.watch.chains.ensemble import Fleet, cast_of, required_of, run, settled
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.forecast.make import forecast
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import Forecast

# As agreed: a change of one is to be noticed.
RISK = 0.1

SPEED_M_S = 2.3 * 0.44704
HEADING_RAD = 0.6
RADII_M = (120.0, 60.0, 40.0, 25.0, 15.0)
ORDINARY_M = (60.0, 25.0)
# Of the fine solution: on 40 segments the lead-core behind an inside board is not yet where it belongs on 15 m (0.25
# of what is required from a diver's line; 0.74 on 160 and on 320).
SEGMENTS = {"ordinary": 80, "campaign": 160, "finest": 320}
FINE_S = 0.25
# By how much of the required distance two refinements may differ wherever they come under twice that.
AGREE = 0.05

Found = dict[tuple[str, str], tuple[float, bool]]


def half_circle(side: str, radius_m: float) -> Manoeuvre:
    turn = math.pi if side == "starboard" else -math.pi
    return Manoeuvre("study", turn, radius_m=radius_m, wait_s=30.0)


def drawn(spread: Spread, seed: int | None, members: int = MEMBERS) -> Fleet:
    rods = {rod.key: AS_FILED for rod in spread.rods}
    cast = cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=Draws(seed, members))
    return settled(cast, heading_rad=HEADING_RAD, speed_m_s=SPEED_M_S)


def nominal(spread: Spread, segments: int) -> Fleet:
    rods = {rod.key: AS_FILED for rod in spread.rods}
    cut = dict.fromkeys(rods, segments)
    cast = cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=None, segments=cut)
    return settled(cast, heading_rad=HEADING_RAD, speed_m_s=SPEED_M_S)


@pytest.fixture(scope="module")
def members(spread: Spread) -> Fleet:
    """Those that every outlook of a session has."""
    return drawn(spread, None, MEMBERS)


@pytest.fixture(scope="module")
def fine(spread: Spread) -> Fleet:
    return nominal(spread, SEGMENTS["ordinary"])


@pytest.fixture(scope="module")
def finer(spread: Spread) -> Fleet:
    return nominal(spread, SEGMENTS["campaign"])


@pytest.fixture(scope="module")
def finest(spread: Spread) -> Fleet:
    return nominal(spread, SEGMENTS["finest"])


def finely(spread: Spread, fine: Fleet, manoeuvre: Manoeuvre, step_s: float = FINE_S) -> Found:
    """Least ratio of distance to required distance, and whether they touch or worse, by pair of rods."""
    path = path_of(manoeuvre, heading_rad=HEADING_RAD, speed_m_s=SPEED_M_S, longest_s=step_s)
    done = run(fine, path)
    assert done.known.all()
    found = closest(polylines(done), path.time_s, done.cast.strands, required_of(spread))
    rods, lines = done.cast.rods, done.cast.rod_line_of
    out: Found = dict.fromkeys(combinations(done.cast.keys, 2), (math.inf, False))
    for p, pair in enumerate(found.pairs):
        i, j = sorted(int(row) if row < rods else lines[row - rods] for row in pair)
        keys = done.cast.keys[i], done.cast.keys[j]
        least, turned = out[keys]
        out[keys] = min(least, float(found.ratio[0, p])), turned or bool(found.crosses[0, p])
    return out


def table(made: Forecast, sure: Found, title: str) -> list[str]:
    """Lines of the report: every pair that is near in either, and the verdict."""
    lines = [title]
    for pair in made.pairs:
        least, turned = sure[pair.keys]
        share = pair.probability or 0.0
        if least < 2.0 or turned or share > 0.0:
            order = " touch or worse" if turned else ""
            lines.append(f"  {'-'.join(pair.keys)}: fine {least:.2f} of required{order}, outlook {100 * share:.0f} %")
    return lines


def study(
    spread: Spread, members: Fleet, fine: Fleet, side: str, radius_m: float
) -> tuple[Forecast, Found, list[str]]:
    """The outlook, the fine solution, and the pairs of which the outlook said too much or too little, as keys."""
    manoeuvre = half_circle(side, radius_m)
    made = forecast(members, manoeuvre, speed_m_s=SPEED_M_S, required=required_of(spread))
    sure = finely(spread, fine, manoeuvre)
    missed = []
    for pair in made.pairs:
        least, turned = sure[pair.keys]
        assert pair.probability is not None, pair
        # Of sixteen with counters a tenth apart and water of their own, four may meet where the nominal does not.
        if (turned and pair.probability < RISK) or (least >= 2.0 and not turned and pair.probability > 0.25):
            missed.append("-".join(pair.keys))
    return made, sure, missed


@pytest.mark.parametrize(("radius_m", "side"), [(25.0, "port"), (60.0, "starboard")])
def test_two_radii(spread: Spread, members: Fleet, fine: Fleet, side: str, radius_m: float) -> None:
    made, sure, missed = study(spread, members, fine, side, radius_m)
    assert not missed, table(made, sure, "told otherwise")
    # Both divers of the port side cross in the tight turn, nobody does in the wide one.
    share = next(pair.probability for pair in made.pairs if pair.keys == ("2", "3"))
    assert share is not None
    assert (share > 0.5) == (radius_m == 25.0)


@pytest.mark.campaign
@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("radius_m", RADII_M)
def test_all_radii(spread: Spread, members: Fleet, finer: Fleet, side: str, radius_m: float) -> None:
    """The members of every session, and other draws of as many where the lines stay taut."""
    made, sure, missed = study(spread, members, finer, side, radius_m)
    print(*table(made, sure, f"{side} {radius_m:.0f} m"), sep="\n")
    assert not missed
    if radius_m > 15.0:
        for seed in range(1, 4):
            assert not study(spread, drawn(spread, seed), finer, side, radius_m)[2], seed


@pytest.mark.campaign
@pytest.mark.parametrize("side", ["port", "starboard"])
def test_the_tightest_with_many_members(spread: Spread, finer: Fleet, side: str) -> None:
    """On 15 m divers hang slack for a minute and members differ: the sixteen are right by no luck of their draw.

    Of 256 the share of each pair is known to some per cent; sixteen others scatter about it by more (printed).
    """
    made, sure, missed = study(spread, drawn(spread, 0, 256), finer, side, 15.0)
    print(*table(made, sure, f"{side} 15 m, 256 members"), sep="\n")
    assert not missed
    for seed in range(1, 4):
        print(side, "seed", seed, "told otherwise:", *study(spread, drawn(spread, seed), finer, side, 15.0)[2])


@pytest.mark.campaign
@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("radius_m", RADII_M)
def test_the_fine_solution_is_fine_enough(
    spread: Spread, fine: Fleet, finer: Fleet, finest: Fleet, side: str, radius_m: float
) -> None:
    """Twice the segments at half the step change nothing that the study asks for."""
    manoeuvre = half_circle(side, radius_m)
    sure = finely(spread, finest, manoeuvre, 0.5 * FINE_S)
    compared = [finely(spread, finer, manoeuvre)]
    if radius_m in ORDINARY_M:
        compared.append(finely(spread, fine, manoeuvre))
    for found in compared:
        for keys, (least, _) in found.items():
            if least < 2.0 or sure[keys][0] < 2.0:
                print(side, radius_m, "-".join(keys), f"{least:.3f} {sure[keys][0]:.3f}")
                assert least == pytest.approx(sure[keys][0], abs=AGREE), keys
                assert (least < 0.7) == (sure[keys][0] < 0.7), keys
