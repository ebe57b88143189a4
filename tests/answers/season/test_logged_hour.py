"""What a logger on a line for one hour teaches of its rod, beside a season of touches (a campaign)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from answers.season.seasons import (
    FIRST,
    SPREAD,
    TOLD,
    TOUCHED,
    Kind,
    Score,
    World,
    asked,
    length_of,
    other_exponent,
    own_law,
    pooled,
    spread_of,
    touches,
    truth_of,
)
from answers.season.test_seasons import crps
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.observations import LOGGED_M, Observation, What
from sternwatch.answers.belief.priors import Z90
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.season.carrying import carried_on
from sternwatch.gear.spread_file.load import read_toml, spread_from
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain

OTHER_DAYS = range(50, 54)
SEEDS = (1,)
EVERY_S = 180.0  # thinned: an error of a straight course forgets itself in two minutes or so
SEASON = 20  # touches of one rod


def hour(spread: Spread, world: World, key: str) -> list[Observation]:
    """Four legs at right angles, five speeds on each, line let out twice; thinned as a logger's file is."""
    rng, values = np.random.default_rng([world.seed, 9]), truth_of(spread, world, 1)
    begin, whole = float(rng.uniform(0.0, 6.283)), length_of(spread, key)
    out = []
    for number in range(int(3600.0 / EVERY_S)):
        one = Observation(
            f"logger {number}", key, What.DEPTH, 0.0, LOGGED_M, (0.9, 1.1, 1.3, 1.0, 1.2)[number % 5], "logger",
            at="lure", now=RodNow(whole * (0.8, 1.0, 1.15)[number // 7]), heading_rad=begin + 1.571 * (number // 5),
            told=TOLD,
        )  # fmt: skip
        out.append(replace(one, value=world.depth(one, values) + float(rng.normal()) * LOGGED_M / Z90))
    return out


def another_day(truth: Spread, spread: Spread, world: World, learned: Calibration | None) -> list[Score]:
    """At speeds, lengths and headings of other days, on which nothing was observed."""
    return [
        score
        for trip in OTHER_DAYS
        for score in asked(truth, spread, world, trip, learned, crps)
        if score.band != TOUCHED
    ]


def known_days(spread: Spread) -> Spread:
    """The same on days of which all is known: what is left of the doubt is the gear's."""
    certain = {}
    for name, one in uncertain(spread, fitted=True).items():
        if one.daily:
            at = 1.0 if one.law == "factor" else 0.0
            certain[name] = {"low": at, "high": at}
    return spread_from(read_toml(SPREAD, "season.toml") | {"prior": certain})


def gear_half_m(truth: Spread, world: World, learned: Calibration | None) -> float:
    """Mean half width [m] at 90 % on days of which all is known."""
    return pooled(another_day(truth, known_days(truth), world, learned))[2]


def said(what: str, scores: Sequence[Score], gear_m: float) -> str:
    row = "/".join(f"{value:.2f}" for value in pooled(scores))
    return f"{what:12} another day {row}; of a day that is known half width {gear_m:.2f}"


@pytest.mark.campaign
@pytest.mark.parametrize("kind", [own_law, other_exponent])
@pytest.mark.parametrize("key", ["2", "3"])
def test_a_logged_hour_is_worth_a_season_of_touches(key: str, kind: Kind, capsys: pytest.CaptureFixture[str]) -> None:
    """Inside / error rms / half width / CRPS [m]: one hour on one day, or one touch on each of twenty."""
    truth = spread_of()
    found: dict[str, list[Score]] = {}
    gear: dict[str, list[float]] = {}

    def take(what: str, world: World, learned: Calibration | None) -> None:
        found.setdefault(what, []).extend(another_day(truth, truth, world, learned))
        gear.setdefault(what, []).append(gear_half_m(truth, world, learned))

    for seed in SEEDS:
        world = World(kind, seed, rods=(key,))
        take("nothing", world, None)
        _, logged = carried_on(None, truth, hour(truth, world, key), name="hour", made=FIRST)
        take("an hour", world, logged)
        season: Calibration | None = None
        for trip in range(1, SEASON + 1):
            _, season = carried_on(
                season, truth, touches(truth, world, trip), name=f"{trip}", made=FIRST + timedelta(days=trip)
            )
            if trip in (3, SEASON):
                take(f"{trip} touches", world, season)
    with capsys.disabled():
        print()
        for what, scores in found.items():
            print(f"rod {key}, {kind.__name__}: {said(what, scores, float(np.mean(gear[what])))}")
    whole, touched = pooled(found["an hour"]), pooled(found[f"{SEASON} touches"])
    assert np.mean(gear["an hour"]) <= np.mean(gear[f"{SEASON} touches"])
    assert whole[2] <= touched[2]
    assert whole[3] <= touched[3]
