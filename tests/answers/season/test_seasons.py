"""Seasons whose truth is not the model's, and whether the sampler's points are the posterior's (campaigns)."""

from __future__ import annotations

from collections.abc import Callable, Sequence

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
)
from answers.season.towed_truth import Towed
from sternwatch.answers.belief.fit import WRONG_SHARE, loss
from sternwatch.answers.belief.slicing import sample

Floats = NDArray[np.float64]
LEVELS = np.array([0.05, 0.25, 0.5, 0.75, 0.95])
TRUTHS: dict[str, Callable[[int], World]] = {
    "own law": lambda seed: World(own_law, seed),
    "drag as speed to 2.2": lambda seed: World(other_exponent, seed),
    "attractor 15 % off": lambda seed: World(attractor_law, seed),
    "counters 10 % short and 0.2 m/s below": lambda seed: World(own_law, seed, counters=True),
    "moordyn": lambda seed: World(own_law, seed, elsewhere=Towed, rods=("2", "3")),
}
SEEDS = (1, 2)


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
    for seed in SEEDS if discrepancy else SEEDS[:1]:
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
