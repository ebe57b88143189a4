"""Do intervals hold, and do observations draw them in: trips whose truth nobody but the lake knows."""

from __future__ import annotations

import math

import numpy as np
import pytest
from blind_bound import asked
from blind_trials import DIRECT, STATES, Day, Tally, Trial, sail, spread_of_six

KEYS = "123456"
SEEDS = 200
BOUND_SEEDS = 50


def rms(values: list[float]) -> float:
    return float(np.sqrt(np.nanmean(np.square(values))))


def pooled(trials: list[Trial]) -> tuple[Tally, Tally]:
    before, after = Tally(), Tally()
    for one in trials:
        before.add(one.before)
        after.add(one.after)
    return before, after


@pytest.fixture(scope="module")
def two() -> list[Trial]:
    """Water and speed are common to all rods: one trip in ten has most of them outside together; these are none."""
    spread = spread_of_six()
    return [sail(spread, seed, 1.0) for seed in (2, 4)]


def test_most_of_the_truth_lies_in_the_intervals_straight_and_turning(two: list[Trial]) -> None:
    before, after = pooled(two)
    for state in ("straight", "turning"):
        assert before.share(state) >= 0.75
        assert after.share(state) >= 0.75


def test_what_was_observed_is_known_better(two: list[Trial]) -> None:
    told = ("2", "4", "6")  # their prior spread is over three times the observation's error
    before, after = (rms([getattr(t, f"error_{w}_m")[key] for t in two for key in told]) for w in ("before", "after"))
    assert after < before / 2.0
    # A light ball's doubt is the day's water and speed more than its gear: one look tells the sum alone, and beside a
    # fit the water has a quarter more room, so that a season is never falsely sure.
    for key, left in (("2", 0.6), ("4", 0.95), ("6", 0.6)):
        assert np.mean([one.half_after_m[key] / one.half_before_m[key] for one in two]) < left, key
    # Nobody looked at the weight.
    assert np.mean([one.half_after_m["5"] / one.half_before_m["5"] for one in two]) == pytest.approx(1.0, abs=0.25)


@pytest.mark.campaign
@pytest.mark.parametrize("width", [1.0, 1.5])
def test_two_hundred_trips(width: float, capsys: pytest.CaptureFixture[str]) -> None:
    spread = spread_of_six()
    trials = [sail(spread, seed, width) for seed in range(SEEDS)]
    before, after = pooled(trials)
    with capsys.disabled():
        print(f"\n{SEEDS} trips, truth from priors × {width:g}")
        for name, tally in (("before", before), ("after", after)):
            for state in STATES:
                each = "  ".join(f"{key} {tally.share(state, 'depth', key):.3f}" for key in KEYS)
                three = "  ".join(f"{axis} {tally.share(state, axis):.3f}" for axis in ("depth", "astern", "abeam"))
                print(f"{name:6} {state:8} {three}   depth by rod: {each}")
        for key in KEYS:
            was, now = (rms([getattr(t, f"error_{w}_m")[key] for t in trials]) for w in ("before", "after"))
            half, left = (
                float(np.mean([getattr(t, f"half_{w}_m").get(key, math.nan) for t in trials]))
                for w in ("before", "after")
            )
            print(f"rod {key}: error {was:.2f} -> {now:.2f} m rms ({now / was:.2f}), ± {half:.2f} -> {left:.2f} m")
    if width != 1.0:
        return  # reported; nothing is promised where the priors are wrong
    for tally in (before, after):
        for state in ("straight", "turning"):
            assert 0.86 <= tally.share(state) <= 0.94, state
    for key in KEYS:
        assert 0.84 <= before.share("straight", "depth", key) <= 0.96, key
        assert 0.84 <= before.share("turning", "depth", key) <= 0.96, key
    for key, error in DIRECT.items():
        spread_m = float(np.nanmean([t.half_before_m.get(key, math.nan) for t in trials]))
        if spread_m > 3.0 * error:
            was, now = (rms([getattr(t, f"error_{w}_m")[key] for t in trials]) for w in ("before", "after"))
            # Not true of rods 4 and 6 at another speed and heading: the water below leaves them .6 and .5 whatever
            # the fit, as the next test measures. Where they were seen it is true of all three.
            assert now <= was / 3.0, key


@pytest.mark.campaign
def test_a_fit_errs_as_little_as_the_law_of_the_truth_allows(capsys: pytest.CaptureFixture[str]) -> None:
    """At another speed and heading, the water below hides what one look told. No fit can know it."""
    keys, spread = ("2", "4", "6"), spread_of_six()
    trials = [asked(Day(spread, seed, 1.0), keys) for seed in range(BOUND_SEEDS)]
    for key in keys:
        for number, where in enumerate(("elsewhere", "where it was seen")):
            all_of = [trial[key][number] for trial in trials]
            before, likeliest, fitted, sd_before, sd_after, known = (
                rms([getattr(one, name) for one in all_of])
                for name in ("before", "likeliest", "fitted", "sd_before", "sd_after", "water_known")
            )
            with capsys.disabled():
                print(
                    f"\nrod {key} {where}: error {before:.2f} m, {fitted:.2f} by the fit, {likeliest:.2f} by the law"
                )
                print(f"   sd {sd_before:.2f} -> {sd_after:.2f} m, {known:.2f} if the water below were known")
            assert fitted <= 1.2 * likeliest
            if number == 1:  # the touch itself errs by 0.61 m (standard deviation) where the lead-core spreads 1.9 m
                assert fitted <= 0.4 * before
