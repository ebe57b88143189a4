"""Fits what is believed to what was observed: nonlinear least squares on priors and observations.

In standard normal numbers z (see ``gear.spread_file.uncertain``) the prior of every quantity is N(0, 1), or the
result of a season. The mode minimises the distance from the prior's mean plus a loss on every observation's
residual over its standard deviation. The loss is that of a normal error contaminated by a flat one (Tukey 1960, "A
survey of sampling from contaminated distributions"). Near zero it is the square. An observation far from everything
else believed has no more effect.

Residuals are smooth in the factors or their logarithms (and in the shifts). In z they have a kink where a prior is
wider to one side. So the posterior is given as points drawn from it, with residuals quadratic in those smooth numbers
around the mode. Laplace's covariance is kept too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from sternwatch.answers.belief.calibration import Calibration, Used
from sternwatch.answers.belief.observations import Observation, unfit
from sternwatch.answers.belief.problem import OF_TRIP, Problem, Shape
from sternwatch.answers.belief.slicing import CHAINS, sample
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import prints

Floats = NDArray[np.float64]

# One observation in twenty is assumed wholly wrong (a snag, another rod, a slip of the key), anywhere within
# about fifty of their standard deviations: memory. So an observation is given up at some three and a half deviations
# from everything else believed.
WRONG_SHARE = 0.05
FLAT_DENSITY = 1.0 / 50.0
# Slopes are secants this wide to either side: priors have a kink at 0, and a posterior is about this wide.
REACH = 0.5
LEAST_TOLD = 0.02  # how many deviations a direction must move all observations together
STEP = 0.05  # reach of the slopes that lead to the mode
WIDEST = 6.0  # the search ends this far from a prior's mean
OUTLIERS = 3  # at most this many observations are tried as wrong
SUSPECT = 2.5  # an observation this many standard deviations from all others is tried as wrong
STRAINED = 3.0  # hardly ever is a number this far from its prior's mean: what pulls it there is tried too
POINTS = 128  # that a calibration carries along
# Up to this many observations the posterior is wide, and its points are checked with the solver itself. With more it
# is narrow, and residuals are quadratic there.
CHECKED = 12
IN_A_ROW = 16  # so many points borne out one after another are enough
LEAST_BORNE_OUT = 0.5  # share of the points; fewer could not represent the posterior
CONTRADICTED = 2.0  # in log likelihood: two standard deviations of one observation


@dataclass(frozen=True, slots=True)
class Posterior:
    """The result of a fit of k quantities to the n observations used."""

    names: tuple[str, ...]
    mode: Floats  # (k,) the mode
    mean: Floats  # (k,)
    covariance: Floats  # (k, k)
    laplace: Floats  # (k, k): the covariance around the mode, if all were linear in z
    points: Floats  # (POINTS, k) drawn from it
    residuals: Floats  # (n,) predicted less observed at the mode, over the observation's standard deviation
    weights: Floats  # (n,) 1: counts fully; 0: does not count
    slopes: Floats  # (n, k) slopes of the residuals
    sd: Floats  # (n,) standard deviations of the observations' errors, plus the effect of quantities too weak to fit


@dataclass(frozen=True)
class Fit:
    """Posterior and observations. ``observations``: in the given order; those not used have their reason."""

    spread: Spread
    observations: tuple[Observation, ...]
    posterior: Posterior
    calibration: Calibration  # without the quantities of past days
    season: Calibration | None = None  # the knowledge before the fit

    @property
    def used(self) -> tuple[Observation, ...]:
        """The observations of the posterior's rows."""
        return tuple(one for one in self.observations if one.used)


def loss(squares: Floats) -> Floats:
    """(3, …): the loss at squared residuals and its first two derivatives, for ``least_squares``."""
    flat = WRONG_SHARE * FLAT_DENSITY
    right = (1.0 - WRONG_SHARE) * np.exp(-0.5 * np.minimum(squares, 1400.0))
    weight = right / (right + flat)
    value = -2.0 * np.log((right + flat) / (1.0 - WRONG_SHARE + flat))
    return np.stack([value, weight, -0.5 * weight * (1.0 - weight)])


def posterior(problem: Problem) -> Posterior:
    """The mode of least cost, with no or some observations taken as wrong; and Laplace's covariance there."""
    n = len(problem.observations)
    slopes = problem.told(problem.slopes(problem.middle, REACH, both=True)) @ problem.lift
    at_zero = problem.residuals(problem.middle)
    best: tuple[float, Floats] | None = None
    right = np.ones(n, dtype=bool)
    for _ in range(min(OUTLIERS, n // 2) + 1):
        start = _linear(at_zero, slopes, right)
        w = _least(problem, start, right, robust=False)
        off = problem.residuals(problem.z_of(w))
        suspect = _suspect(off, slopes, right)
        if suspect is None:
            suspect = _strains(w, slopes, right)
        if suspect is not None or not right.all():
            w = _least(problem, w, np.ones(n, dtype=bool), robust=True)
            off = problem.residuals(problem.z_of(w))
        cost = float(loss(off**2)[0].sum() + (w**2).sum())
        if best is None or cost < best[0] - 1e-6:
            best = (cost, w)
        if suspect is None:
            break
        right[suspect] = False
    assert best is not None  # the loop runs at least once
    mode, z = best[1], problem.z_of(best[1])
    off = problem.residuals(z)
    weights = loss(off**2)[1]
    shape = problem.shape(z, off)
    own = shape.secant @ problem.lift
    laplace = np.linalg.inv(np.eye(len(mode)) + own.T @ (weights[:, None] * own))
    drawn = _points(problem, mode, off, shape, laplace) if len(mode) else np.zeros((POINTS, 0))
    mean, covariance = _law(drawn, own)
    kept = problem.z_of(drawn[:POINTS])
    if 0 < n <= CHECKED and len(mode):
        kept = _checked(problem, kept, off, shape, problem.scaled(kept) - problem.scaled(z))
    lift = problem.lift
    return Posterior(
        problem.names, z, problem.z_of(mean), lift @ covariance @ lift.T, lift @ laplace @ lift.T, kept,
        off, weights, shape.secant, problem.sd,
    )  # fmt: skip


def _law(drawn: Floats, slopes: Floats) -> tuple[Floats, Floats]:
    """Mean and covariance of the points (n, k) in directions that observations inform; else the prior's.

    A direction that no observation moves keeps its prior. The chance error of a few points would drift from trip to
    trip.
    """
    k = drawn.shape[1]
    if not len(slopes) or k == 0:
        return np.zeros(k), np.eye(k)
    _, sizes, rows = np.linalg.svd(slopes, full_matrices=False)
    told = rows[sizes > LEAST_TOLD]
    inside = drawn @ told.T
    within = np.cov(inside, rowvar=False).reshape(len(told), len(told))
    mean: Floats = inside.mean(axis=0) @ told
    covariance: Floats = np.eye(k) + told.T @ (within - np.eye(len(told))) @ told
    return mean, 0.5 * (covariance + covariance.T)


def _points(problem: Problem, mode: Floats, off: Floats, shape: Shape, laplace: Floats) -> Floats:
    """(points, k) w drawn from the posterior, with residuals quadratic in logarithms and shifts around the mode."""
    middle = problem.scaled(problem.z_of(mode))

    def log_likelihood(w: Floats) -> Floats:
        residuals = off + shape.of(problem.scaled(problem.z_of(w)) - middle)
        found: Floats = -0.5 * loss(residuals**2)[0].sum(axis=1)
        return found

    root = np.linalg.cholesky(laplace + 1e-12 * np.eye(len(mode)))
    starts = mode + np.random.default_rng(1).standard_normal((CHAINS, len(mode))) @ root.T
    return sample(log_likelihood, starts)


def _checked(problem: Problem, points: Floats, off: Floats, shape: Shape, away: Floats) -> Floats:
    """As many points, with replacements for those whose residuals by the solver are far worse than by the shape.

    Those that the shape bends most are solved first, until it is borne out by a number of them one after another.
    The replacements are other points, evenly chosen.
    """
    taken = off + shape.of(away)
    order = np.argsort(-np.abs(taken - off - away @ shape.slope.T).max(axis=1), kind="stable")
    good = np.ones(len(points), dtype=bool)
    for begin in range(0, len(points), IN_A_ROW):
        some = order[begin : begin + IN_A_ROW]
        good[some] = _gain(problem, points[some], taken[some]) > -CONTRADICTED
        if good[some].all():
            break
    left, bad = np.flatnonzero(good), np.flatnonzero(~good)
    if len(left) < LEAST_BORNE_OUT * len(points):
        return points
    made = points.copy()
    made[bad] = points[left[np.arange(len(bad)) * len(left) // max(len(bad), 1)]]
    return made


def _gain(problem: Problem, points: Floats, taken: Floats) -> Floats:
    """(points,) log likelihood by the solver, less that of the residuals ``taken`` (points, n)."""
    solved = np.stack([problem.residuals(z) for z in points])
    made: Floats = -0.5 * (loss(solved**2)[0] - loss(taken**2)[0]).sum(axis=1)
    return made


def _linear(at_zero: Floats, slopes: Floats, right: NDArray[np.bool_]) -> Floats:
    """The mode if residuals were linear, using only the observations marked right."""
    own = slopes * right[:, None]
    w = -np.linalg.solve(np.eye(slopes.shape[1]) + own.T @ own, own.T @ at_zero)
    return np.clip(w, -0.5 * WIDEST, 0.5 * WIDEST)


def _least(problem: Problem, w: Floats, right: NDArray[np.bool_], *, robust: bool) -> Floats:
    """The mode near ``w``, using only observations marked right, by the contaminated law if ``robust``."""
    n, k = len(problem.observations), len(w)
    if k == 0 or n == 0:
        return w
    last: tuple[Floats, Floats] | None = None

    def off(at: Floats) -> Floats:
        nonlocal last
        if last is None or not np.array_equal(last[0], at):
            last = (at.copy(), problem.residuals(problem.z_of(at)))
        return last[1]

    def residuals(at: Floats) -> Floats:
        return np.concatenate([np.where(right, off(at), 0.0), at])

    def slopes(at: Floats) -> Floats:
        own = problem.slopes(problem.z_of(at), STEP, both=False, here=off(at)) @ problem.lift
        return np.concatenate([np.where(right[:, None], own, 0.0), np.eye(k)])

    def rho(squares: Floats) -> Floats:
        out = np.stack([squares, np.ones_like(squares), np.zeros_like(squares)])
        out[:, :n] = loss(squares[:n])
        return out

    found = least_squares(
        residuals, w, jac=slopes, bounds=(-WIDEST, WIDEST), loss=rho if robust else "linear",
        xtol=1e-4, ftol=1e-5, gtol=1e-4, max_nfev=25,
    )  # fmt: skip
    made: Floats = found.x
    return made


def _suspect(residuals: Floats, slopes: Floats, right: NDArray[np.bool_]) -> int | None:
    """The observation farthest from what all others and the priors predict. None where none is far."""
    counted = slopes * right[:, None]
    covariance = np.linalg.inv(np.eye(slopes.shape[1]) + counted.T @ counted)
    share = np.einsum("ij,jk,ik->i", slopes, covariance, slopes)
    off = np.where(right, np.abs(residuals) / np.sqrt(np.maximum(1.0 - share, 1e-9)), 0.0)
    worst = int(np.argmax(off)) if len(off) else 0
    return worst if len(off) and off[worst] > SUSPECT else None


def _strains(z: Floats, slopes: Floats, right: NDArray[np.bool_]) -> int | None:
    """The observation that depends most on the number farthest from its prior. None where no number is far out.

    A counter's law has heavy tails: it follows a wrong depth so far that nothing disagrees any more.
    """
    farthest = int(np.argmax(np.abs(z))) if len(z) else 0
    if not len(z) or abs(z[farthest]) <= STRAINED or not right.any():
        return None
    return int(np.argmax(np.abs(slopes[:, farthest]) * right))


def fit(
    spread: Spread, observations: Sequence[Observation], *, name: str = "", made: datetime | None = None,
    season: Calibration | None = None,
) -> Fit:  # fmt: skip
    """The posterior of a spread's uncertain quantities; the prior where no observation is usable.

    ``season``: earlier knowledge of this very gear from other observations, used as the prior.
    Observations that tell nothing come back with their reason; they raise nothing.
    """
    spread = spread.with_values({})  # from the priors, without any earlier calibration
    checked = tuple(one.refused(why) if (why := unfit(spread, one)) else one for one in observations)
    problem = Problem(spread, [one for one in checked if one.used], season)
    found = posterior(problem)
    today = [j for j, own in enumerate(found.names) if OF_TRIP not in own]
    names = tuple(found.names[j] for j in today)
    subjects = tuple(problem.quantities[own].subject for own in names)
    of = prints(spread)
    calibration = Calibration(
        name, names, found.mode[today], found.covariance[np.ix_(today, today)], subjects,
        {one: of[one] for one in dict.fromkeys(subjects)}, made, spread.boat.name,
        tuple(Used(one.id, one.said, one.used, one.why) for one in checked),
        found.points[:, today] if today else None,
    )  # fmt: skip
    return Fit(spread, checked, found, calibration, season)
