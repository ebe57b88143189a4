"""The fit against the truth it was made from, against a fine grid, and against one observation that is wrong."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sternwatch.answers.belief.fit import Fit, Problem, fit, loss
from sternwatch.answers.belief.fit_report import _observations, answer_at, report, usual_speed
from sternwatch.answers.belief.observations import Observation, What, known_of, predicted, usual_error
from sternwatch.answers.belief.priors import Z90, Draws, dealt, value_at
from sternwatch.answers.belief.slicing import sample
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.depth import RodAnswer
from sternwatch.gear.spread_file.load import parse_spread, read_toml, spread_from
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.places import shipped

TEXT = (shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8")
SPEED = 1.03
EIGHT = (
    ("2", What.DEPTH, "device"), ("3", What.DEPTH, "device"), ("4", What.DEPTH, "ball"), ("1", What.DEPTH, "lure"),
    ("6", What.DEPTH, "device"), ("8", What.DEPTH, "lure"), ("7", What.PULL, None), ("5", What.CABLE_ANGLE, None),
)  # fmt: skip


@pytest.fixture(scope="module")
def spread() -> Spread:
    return parse_spread(TEXT)


@pytest.fixture(scope="module")
def truth(spread: Spread) -> dict[str, float]:
    """Drawn from the priors, but for a wire that hums and a disc that stands steeper."""
    drawn = {name: float(v[0]) for name, v in dealt(spread, Draws(77, 1)).items()}
    return drawn | {"line wire strumming": 1.2, "tackle disc trim": 1.15}


def seen(spread: Spread, truth: dict[str, float], seed: int = 1) -> list[Observation]:
    """Eight observations of one truth, each with an error of its own."""
    rng = np.random.default_rng(seed)
    made = []
    for number, (key, what, at) in enumerate(EIGHT):
        one = Observation(f"{number}", key, what, 0.0, 1.0, SPEED, what.value, at=at)
        true = predicted(spread, one, truth)
        error = 1.0 if what is What.DEPTH else usual_error(what, true)
        made.append(replace(one, value=true + rng.normal() * error / Z90, error=error))
    return made


@pytest.fixture(scope="module")
def eight(spread: Spread, truth: dict[str, float]) -> list[Observation]:
    return seen(spread, truth)


@pytest.fixture(scope="module")
def made(spread: Spread, eight: list[Observation]) -> Fit:
    return fit(spread, eight, name="eight")


@pytest.fixture(scope="module")
def after(spread: Spread, made: Fit) -> tuple[RodAnswer, ...]:
    """Every rod's depth by the fit."""
    return answer_at(spread, SPEED, made.calibration).rods


def test_it_comes_nearer_to_the_truth_where_it_was_observed(
    spread: Spread, truth: dict[str, float], after: tuple[RodAnswer, ...]
) -> None:
    """On the very day: what they tell of the gear and of the water below, they tell together."""
    before = answer_at(spread, SPEED, None).rods
    off_after, half_before = [], []
    for number, key in enumerate(("2", "3", "6")):
        one = Observation("", key, What.DEPTH, 0.0, 1.0, SPEED, "", at="lure", told=0.0)
        true = predicted(spread, one, truth)
        row = next(i for i, rod in enumerate(before) if rod.key == key)
        off_after.append((after[row].depth_m or math.nan) - true)
        low, high = after[row].depth_interval_m or (math.nan, math.nan)
        was_low, was_high = before[row].depth_interval_m or (math.nan, math.nan)
        half_before.append(0.5 * (was_high - was_low))
        assert high - low < 0.7 * (was_high - was_low), number
    # Half of what was to be expected of the prior, whose middle may lie near the truth by luck.
    expected = np.sqrt(np.mean(np.square(half_before))) / Z90
    assert np.sqrt(np.mean(np.square(off_after))) < 0.5 * expected


def test_one_gross_outlier_among_eight_moves_no_depth_by_a_third_of_its_interval(
    spread: Spread, eight: list[Observation], after: tuple[RodAnswer, ...]
) -> None:
    wrong = [replace(one, value=one.value + 15.0) if one.rod == "6" else one for one in eight]
    found = fit(spread, wrong)
    disagrees = [row.one.rod for row in _observations(found) if row.disagrees]  # of its report
    assert disagrees == ["6"]
    for rod, other in zip(after, answer_at(spread, SPEED, found.calibration).rods, strict=True):
        assert rod.depth_m is not None
        assert other.depth_m is not None
        assert rod.depth_interval_m is not None
        low, high = rod.depth_interval_m
        assert abs(other.depth_m - rod.depth_m) <= (high - low) / 3.0, rod.key


def certain_but(names: tuple[str, ...]) -> Spread:
    """The evening's spread with nothing uncertain but these."""
    quantities = uncertain(parse_spread(TEXT), fitted=True)
    prior = {}
    for name, one in quantities.items():
        if name not in names:
            nothing = {"m/s": "0 m/s", "K": "0 K", "rad": "0 rad", "m": "0 m"}
            at: float | str = 1.0 if one.law == "factor" else nothing.get(one.unit, 0.0)
            prior[name] = {"low": at, "high": at}
    for name, entry in prior.items():
        if entry["low"] == "0 rad":
            prior[name] = {"low": "0 deg", "high": "0 deg"}
    return spread_from(read_toml(TEXT, "evening.toml") | {"prior": prior})


@pytest.mark.parametrize(
    "names", [("line wire strumming", "tackle paddle drag"), ("tackle disc plate", "rod 3 counter")]
)  # the first bends, and has a prior with a kink in its middle; the second is nearly linear
def test_the_posterior_of_two_quantities_is_a_fine_grids(names: tuple[str, str]) -> None:
    two = certain_but(names)
    quantities = uncertain(two)
    assert set(quantities) == set(names)
    one = Observation("a", "3", What.DEPTH, 0.0, 1.0, SPEED, "depth", at="device")
    other = Observation("b", "3", What.PULL, 0.0, 1.8, SPEED, "pull")
    values = {name: float(value_at(np.array(0.7), quantities[name])) for name in names}
    observed = [replace(each, value=predicted(two, each, values)) for each in (one, other)]
    found = fit(two, observed).posterior
    assert set(found.names) == set(names)

    axis = np.linspace(-4.0, 4.0, 33)
    weight = np.empty((33, 33))
    problem = Problem(two, observed)
    order = [problem.names.index(name) for name in found.names]
    for i, first in enumerate(axis):
        for k, second in enumerate(axis):
            z = np.zeros(2)
            z[order[0]], z[order[1]] = first, second
            cost = loss(problem.residuals(z) ** 2)[0].sum() + (z**2).sum()
            weight[i, k] = math.exp(-0.5 * cost)
    weight /= weight.sum()
    grid = np.stack(np.meshgrid(axis, axis, indexing="ij"))
    mean = (grid * weight).sum(axis=(1, 2))
    sd = np.sqrt((grid**2 * weight).sum(axis=(1, 2)) - mean**2)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(sd, rel=0.05)
    assert (np.abs(found.mean - mean) < 0.05 * sd).all()


def test_the_sampler_against_a_normal_posterior_in_closed_form() -> None:
    """Prior N(0, I), two linear observations: (I + A'A)^-1 and its mean (any text on least squares)."""
    a = np.array([[2.0, 1.0, 0.0], [0.0, -1.0, 3.0]])
    seen_at = np.array([1.5, -2.0])
    covariance = np.linalg.inv(np.eye(3) + a.T @ a)
    points = sample(lambda z: -0.5 * ((z @ a.T - seen_at) ** 2).sum(axis=1), np.zeros((512, 3)))
    assert points.mean(axis=0) == pytest.approx(covariance @ a.T @ seen_at, abs=0.05)
    assert np.cov(points, rowvar=False) == pytest.approx(covariance, abs=0.05)


def test_the_loss_is_the_square_near_zero_and_stops_pulling_far_out() -> None:
    value, weight, bend = loss(np.array([0.0, 1.0, 4.0, 9.0, 400.0, 1e6]))
    assert value[:3] == pytest.approx([0.0, 1.0, 4.0], abs=0.02)
    assert weight[0] == pytest.approx(1.0, abs=2e-3)
    assert weight[-2:] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert value[-1] == pytest.approx(value[-2])
    # Its derivatives are derivatives.
    at, step = np.array([0.5, 6.0, 14.0]), 1e-5
    ahead, behind = loss(at + step), loss(at - step)
    here = loss(at)
    assert (ahead[0] - behind[0]) / (2 * step) == pytest.approx(here[1], rel=1e-5)
    assert (ahead[1] - behind[1]) / (2 * step) == pytest.approx(here[2], rel=1e-5)
    assert bend[0] <= 0.0


def test_without_observations_it_is_the_prior(spread: Spread) -> None:
    nothing = fit(spread, [])
    assert nothing.posterior.names == ()
    assert nothing.calibration.names == ()
    assert usual_speed(nothing) == spread.boat.usual_m_s
    page = report(nothing, SPEED)
    for rod in page.rods:
        assert rod.depth_after_m == rod.depth_before_m
        assert rod.interval_after_m == rod.interval_before_m
    assert page.learned == ()
    assert len(page.next) == 3


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"rod": "="}, "the spread has no rod ="),
        ({"speed_m_s": None}, "no speed was known"),
        ({"at": "ball"}, "rod 2 has no ball"),
        ({"what": What.CABLE_ANGLE, "at": None}, "rod 2 has no ball on a cable"),
        ({"now": RodNow(setting="sideways")}, "rod 2 has no setting sideways"),
        ({"gear": "another"}, "rod 2 was rigged otherwise then"),
        ({"speed_m_s": 0.2}, "the diver does not hold its line at that speed"),
        ({"value": math.nan}, "it has no value"),
    ],
)
def test_what_cannot_inform_is_kept_and_says_why(
    spread: Spread, eight: list[Observation], change: dict[str, object], why: str
) -> None:
    one = replace(eight[0], **change)  # type: ignore[arg-type]
    found = fit(spread, [one])
    assert [kept.why for kept in found.observations] == [why]
    assert found.used == ()
    assert found.calibration.observations[0].why == why


def test_what_the_crew_knows_is_read_from_the_file() -> None:
    entry = '\n[[known]]\nrod = "5"\ndepth = "60 ft"\nspeed = "2.3 mph"\nout = "60 ft"\nat = "ball"\nerror = "2 ft"\n'
    told = '[[known]]\nrod = "3"\nentry_angle = "25 deg"\nspeed = "2.3 mph"\nnote = "by the rail"\n'
    first, second = known_of(parse_spread(TEXT + entry + told))
    assert (first.rod, first.at, first.what) == ("5", "ball", What.DEPTH)
    assert first.value == pytest.approx(18.288)
    assert first.error == pytest.approx(0.6096)
    assert first.now.line_out_as_counter_m == pytest.approx(18.288)
    assert second.what is What.ENTRY_ANGLE
    assert math.degrees(second.error) == pytest.approx(5.0)
    assert second.said == "by the rail"


@pytest.mark.campaign
def test_the_observation_that_would_help_most_helps(spread: Spread, made: Fit) -> None:
    page = report(made, SPEED)
    best = page.next[0]
    one = Observation("next", best.rod, best.what, 0.0, usual_error(best.what, 10.0), SPEED, "next", at=best.at)
    if best.what is What.DEPTH:
        one = replace(one, error=0.4 if best.at == "lure" else 1.2 if best.at == "device" else 1.0)
    quantities = uncertain(spread)
    values = {
        name: float(value_at(made.posterior.mode[j], quantities[name])) for j, name in enumerate(made.posterior.names)
    }
    more = fit(spread, [*made.observations, replace(one, value=predicted(spread, one, values))])
    # On the very day: on another one the water below is open again, and stays the most of it.
    now, was = (
        next(rod for rod in answer_at(spread, SPEED, one.calibration).rods if rod.key == best.rod).depth_interval_m
        for one in (more, made)
    )
    assert now is not None
    assert was is not None
    assert best.own_after_m < 0.7 * best.own_before_m
    assert now[1] - now[0] < 0.8 * (was[1] - was[0])
