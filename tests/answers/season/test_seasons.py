"""Seasons whose truth is not the model's, and whether the sampler's points are the posterior's (campaigns)."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import chisquare

from answers.season.seasons import (
    BANDS,
    TOUCHED,
    Score,
    World,
    attractor_law,
    other_exponent,
    own_law,
    pooled,
    sail,
    spread_of,
)
from answers.season.towed_truth import Towed
from sternwatch.answers.belief.fit import FLAT_DENSITY, WRONG_SHARE, fit, loss
from sternwatch.answers.belief.observations import TOUCHED_M, Observation, What, concerns, predicted
from sternwatch.answers.belief.priors import value_at
from sternwatch.answers.belief.slicing import sample
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.uncertain import uncertain

Floats = NDArray[np.float64]
LEVELS = np.array([0.05, 0.25, 0.5, 0.75, 0.95])
TRUTHS: dict[str, Callable[[int], World]] = {
    "own law": lambda seed: World(own_law, seed),
    "drag as speed to 2.2": lambda seed: World(other_exponent, seed),
    "attractor 15 % off": lambda seed: World(attractor_law, seed),
    "counters 10 % short and 0.2 m/s below": lambda seed: World(own_law, seed, counters=True),
    "moordyn": lambda seed: World(own_law, seed, elsewhere=Towed, rods=("2", "3")),
}
SEEDS = {"counters 10 % short and 0.2 m/s below": (1, 2)}  # else one


def crps(true: float, quantiles: Floats) -> float:
    """By the quantiles, after scoringrules (its ``crps_quantile``)."""
    import scoringrules

    return float(scoringrules.crps_quantile(true, quantiles, LEVELS))


def _said(scores: Sequence[Score]) -> str:
    rods, bands = sorted({one.rod for one in scores}), (TOUCHED, *BANDS)
    rows = [("all", pooled(scores))]
    rows += [(f"rod {key}", pooled(scores, rod=key)) for key in rods]
    rows += [(band, pooled(scores, band=band)) for band in bands]
    return "  ".join(f"{what} " + "/".join(f"{value:.2f}" for value in row) for what, row in rows)


@pytest.mark.campaign
@pytest.mark.parametrize("discrepancy", [True, False])
@pytest.mark.parametrize("name", list(TRUTHS))
def test_a_season_of_forty_trips(name: str, discrepancy: bool, capsys: pytest.CaptureFixture[str]) -> None:
    """Inside / error rms / half width / CRPS [m] on the day of a trip, where rods were touched and elsewhere."""
    found: dict[int, list[Score]] = {}
    for seed in SEEDS.get(name, (1,)) if discrepancy else (1,):
        for trip, scores in sail(TRUTHS[name](seed), crps, discrepancy=discrepancy).items():
            found.setdefault(trip, []).extend(scores)
    with capsys.disabled():
        print(f"\n{name}, {'with' if discrepancy else 'without'} discrepancy")
        for trip, scores in found.items():
            print(f"  trip {trip:2} ({len(scores)}): {_said(scores)}")
    if discrepancy:
        late = [score for trip, scores in found.items() if trip >= 5 for score in scores]
        assert pooled(late)[0] >= 0.86
        assert pooled(late, band=TOUCHED)[2] <= 1.0
        assert pooled(found[40])[3] <= 0.5 * pooled(found[0])[3]


def ranks(simulations: int, kept: int = 63) -> list[int]:
    """Of the truth among points drawn, its data made from it [Talts et al. 2018, from memory]."""
    rng = np.random.default_rng(16)
    slopes = np.array([[2.0, 1.0, 0.5], [0.0, -1.5, 1.0]])
    out = []
    for _ in range(simulations):
        true = rng.standard_normal(3)

        def predicted(z: Floats) -> Floats:
            made: Floats = z @ slopes.T + 0.4 * (z @ slopes.T) ** 2 / (1.0 + np.abs(z @ slopes.T))
            return made

        wrong = rng.random(2) < WRONG_SHARE
        seen = predicted(true) + np.where(wrong, rng.uniform(-16.0, 16.0, 2), rng.standard_normal(2))

        def log_likelihood(z: Floats, seen: Floats = seen) -> Floats:
            made: Floats = -0.5 * loss((predicted(z) - seen) ** 2)[0].sum(axis=1)
            return made

        points = sample(log_likelihood, rng.standard_normal((kept, 3)), seed=int(rng.integers(1 << 30)))[-kept:]
        out.append(int((points[:, 0] < true[0]).sum()))
    return out


def test_the_truths_rank_among_the_points_is_uniform() -> None:
    """Few simulations, four bins: one that is off by a deviation shows."""
    counts, _ = np.histogram(ranks(32, 31), bins=4, range=(0, 32))
    assert chisquare(counts).pvalue > 0.005


@pytest.mark.campaign
def test_the_truths_rank_among_the_points_is_uniform_in_sixteen_bins() -> None:
    counts, _ = np.histogram(ranks(1600), bins=16, range=(0, 64))
    assert chisquare(counts).pvalue > 0.005


def whole_ranks(simulations: int, kept: int = 31) -> dict[str, list[int]]:
    """Of truths drawn from the prior, two touches of a ball made from each: its counter, and a depth not observed."""
    spread, rng = spread_of(), np.random.default_rng(17)
    rod = spread.rod_by_key("2")
    assert rod is not None
    quantities = uncertain(spread, fitted=True)
    names = concerns(spread, rod, quantities)
    out: dict[str, list[int]] = {"counter": [], "depth": []}

    def moment(number: int) -> Observation:
        return Observation(
            f"{number}", "2", What.DEPTH, 0.0, TOUCHED_M, float(rng.uniform(0.8, 1.35)), "touched bottom", at="ball",
            now=RodNow(float(rng.uniform(20.0, 33.0))), heading_rad=float(rng.uniform(0.0, 6.283)),
        )  # fmt: skip

    def values(z: Mapping[str, float]) -> dict[str, float]:
        return {name: float(value_at(np.array(z[name]), quantities[name])) for name in names}

    for _ in range(simulations):
        true = {name: float(rng.standard_normal()) for name in names}
        seen = []
        for number in range(2):
            one = moment(number)
            off = rng.uniform(-0.5, 0.5) / FLAT_DENSITY if rng.random() < WRONG_SHARE else rng.standard_normal()
            seen.append(replace(one, value=predicted(spread, one, values(true)) + float(off) * one.sd))
        made, asked_at = fit(spread, seen).calibration, moment(9)
        assert made.points is not None
        points = made.points[:kept]
        out["counter"].append(int((points[:, made.index["rod 2 counter"]] < true["rod 2 counter"]).sum()))
        depths = []
        for point in points:
            z = {name: float(rng.standard_normal()) for name in names} | dict(zip(made.names, point, strict=True))
            depths.append(predicted(spread, asked_at, values(z)))
        out["depth"].append(int((np.array(depths) < predicted(spread, asked_at, values(true))).sum()))
    return out


@pytest.mark.campaign
def test_the_truths_rank_among_the_points_of_whole_fits_is_uniform(capsys: pytest.CaptureFixture[str]) -> None:
    """Simulation-based calibration [Talts et al. 2018, from memory] of all that a fit does."""
    for what, found in whole_ranks(128).items():
        counts, _ = np.histogram(found, bins=8, range=(0, 32))
        with capsys.disabled():
            print(f"\n{what}: {counts.tolist()}, p {chisquare(counts).pvalue:.3f}")
        assert chisquare(counts).pvalue > 0.005
