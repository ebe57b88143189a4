"""Fitting what is believed to what was observed: nonlinear least squares on priors and observations.

In standard normal numbers z (see ``gear.spread_file.uncertain``) the prior of every quantity is N(0, 1). The mode
minimises |z|² plus a loss on every observation's residual over its standard deviation. The loss is that of a normal
error contaminated by a flat one (Tukey 1960, "A survey of sampling from contaminated distributions"): near zero it is
the square, and one that is far from everything else believed stops pulling.

Residuals are smooth in the factors or their logarithms (and in the shifts), which are kinked in z where a prior is
wider to one side. The posterior is therefore given as points drawn from it, with
residuals quadratic in these about the mode; Laplace's covariance is kept beside them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from sternwatch.answers.belief.calibration import Calibration, Used
from sternwatch.answers.belief.observations import Observation, concerns, predicted, unfit
from sternwatch.answers.belief.priors import value_at
from sternwatch.answers.belief.slicing import CHAINS, sample
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import Uncertain, prints, uncertain

Floats = NDArray[np.float64]

# One observation in a hundred is taken to be wrong altogether (a snag, another rod, a slip of the key), anywhere
# within about a hundred of its standard deviations: memory. So one is given up that is a little over four deviations
# from all else believed.
WRONG_SHARE = 0.01
FLAT_DENSITY = 1.0 / 100.0
# Slopes are secants this far to either side: priors have a kink at 0, and a posterior is about as wide.
REACH = 0.5
WIDE_REACH = 1.0  # of what the posterior is drawn with
TWISTED = 4  # of an observation's quantities, those that move it most, are varied in pairs too
STEP = 0.05  # of the slopes that lead to the mode
# A quantity of which a standard deviation moves no observation by this share of its error is not told: what it adds
# to the residuals counts as more of their error.
LEAST_SLOPE = 0.1
WIDEST = 6.0  # no number is sought farther from its prior's middle
OUTLIERS = 3  # at most so many observations are tried as wrong
SUSPECT = 2.5  # standard deviations from what all others say, to be tried
STRAINED = 3.0  # so far from its prior's middle a number is hardly ever: what pulls it there is tried too
POINTS = 128  # that a calibration carries along
LOST = 30.0  # residual of a chain that has no steady shape there


@dataclass(frozen=True, slots=True)
class Posterior:
    """What a fit found; k quantities, n observations that were used."""

    names: tuple[str, ...]
    mode: Floats  # (k,) what is believed most
    mean: Floats  # (k,)
    covariance: Floats  # (k, k)
    laplace: Floats  # (k, k): the covariance about the mode, were all of it linear in z
    points: Floats  # (POINTS, k) drawn from it
    residuals: Floats  # (n,) predicted less observed at the mode, over the observation's standard deviation
    weights: Floats  # (n,) 1: counts in full; 0: not at all
    slopes: Floats  # (n, k) of the residuals


@dataclass(frozen=True, slots=True)
class Shape:
    """Residuals about a point as quadratics in ``Problem.scaled``; n of them, k quantities."""

    slope: Floats  # (n, k)
    bend: Floats  # (n, k) second derivatives by each alone
    secant: Floats  # (n, k) slopes by z, over a wide reach
    twists: tuple[tuple[int, int, int, float], ...]  # (observation, quantity, quantity, mixed derivative)

    def of(self, away: Floats) -> Floats:
        """(points, n) for (points, k)."""
        made: Floats = away @ self.slope.T + (0.5 * away**2) @ self.bend.T
        for at, j, other, twist in self.twists:
            made[:, at] += twist * away[:, j] * away[:, other]
        return made


@dataclass(frozen=True)
class Fit:
    """Posterior and observations; ``observations`` in the order given, those not used with their reason."""

    spread: Spread
    observations: tuple[Observation, ...]
    posterior: Posterior
    calibration: Calibration

    @property
    def used(self) -> tuple[Observation, ...]:
        """Those that the posterior's rows belong to."""
        return tuple(one for one in self.observations if one.used)


@dataclass
class Problem:
    """Residuals of observations as functions of z; ``names`` are the quantities that any of them depends on."""

    spread: Spread
    observations: Sequence[Observation]
    quantities: Mapping[str, Uncertain] = field(init=False)
    names: tuple[str, ...] = field(init=False)
    sd: Floats = field(init=False)  # (n,) of the observations' errors
    _touches: list[NDArray[np.int64]] = field(init=False)

    def __post_init__(self) -> None:
        self.quantities = uncertain(self.spread)
        self.sd = np.array([one.sd for one in self.observations])
        touched = []
        for one in self.observations:
            rod = self.spread.rod_by_key(one.rod)
            assert rod is not None  # ``unfit`` has seen to it
            touched.append(set(concerns(self.spread, rod, self.quantities)))
        names = [name for name in self.quantities if any(name in own for own in touched)]
        self.names = tuple(names)
        self._touches = [
            np.array([j for j, name in enumerate(names) if name in own], dtype=np.int64) for own in touched
        ]

    def told(self, slopes: Floats) -> Floats:
        """Go on with the quantities that some observation tells; the slopes (n, fewer) that remain."""
        kept = np.abs(slopes).max(axis=0, initial=0.0) >= LEAST_SLOPE
        wider = np.sqrt(1.0 + (slopes[:, ~kept] ** 2).sum(axis=1))
        self.sd = self.sd * wider
        number = np.cumsum(kept) - 1
        self._touches = [number[own[kept[own]]] for own in self._touches]
        self.names = tuple(name for name, one in zip(self.names, kept, strict=True) if one)
        left: Floats = slopes[:, kept] / wider[:, None]
        return left

    def values(self, z: Floats) -> dict[str, float]:
        """Factors and shifts by name."""
        return {name: float(value_at(z[j], self.quantities[name])) for j, name in enumerate(self.names)}

    def residual(self, at: int, z: Floats) -> float:
        """Of one observation."""
        one = self.observations[at]
        off = (predicted(self.spread, one, self.values(z)) - one.value) / self.sd[at]
        return off if math.isfinite(off) else LOST

    def residuals(self, z: Floats) -> Floats:
        """(n,)"""
        return np.array([self.residual(at, z) for at in range(len(self.observations))])

    def slopes(self, z: Floats, reach: float, *, both: bool, here: Floats | None = None) -> Floats:
        """(n, k) secants of the residuals, to both sides or only one."""
        out = np.zeros((len(self.observations), len(self.names)))
        here = self.residuals(z) if here is None and not both else here
        for at, own in enumerate(self._touches):
            for j in own:
                moved = z.copy()
                moved[j] += reach
                ahead = self.residual(at, moved)
                if both:
                    moved[j] -= 2.0 * reach
                    out[at, j] = (ahead - self.residual(at, moved)) / (2.0 * reach)
                else:
                    assert here is not None
                    out[at, j] = (ahead - here[at]) / reach
        return out

    def scaled(self, z: Floats) -> Floats:
        """(…, k) what residuals are nearly quadratic in.

        Of lines the logarithms of factors; of tackle the factors themselves, since one piece pulls as its drag, lift
        and weight; shifts as they are.
        """
        made = np.empty(np.shape(z))
        for j, name in enumerate(self.names):
            one = self.quantities[name]
            value = value_at(z[..., j], one)
            made[..., j] = np.log(value) if one.law == "factor" and not name.startswith("tackle ") else value
        return made

    def shape(self, z: Floats, here: Floats) -> Shape:
        """How the residuals ``here`` go about z."""
        n, k = len(self.observations), len(self.names)
        slope, bend, secant, rises = (np.zeros((n, k)) for _ in range(4))
        middle = self.scaled(z)
        low, high = z - WIDE_REACH, z + WIDE_REACH
        flat = self.scaled(high) == self.scaled(low)  # a prior's flat side: asked about its kink instead
        low[flat], high[flat] = -WIDE_REACH, WIDE_REACH
        down, up = self.scaled(low) - middle, self.scaled(high) - middle
        twists: list[tuple[int, int, int, float]] = []
        for at, own in enumerate(self._touches):
            for j in own:
                rises[at, j] = rise = self._moved(at, z, {j: high[j]}) - here[at]
                fall = self._moved(at, z, {j: low[j]}) - here[at]
                if up[j] > 0.0 and down[j] < 0.0:
                    bend[at, j] = 2.0 * (rise / up[j] - fall / down[j]) / (up[j] - down[j])
                    slope[at, j] = rise / up[j] - 0.5 * bend[at, j] * up[j]
                elif up[j] != 0.0 or down[j] != 0.0:
                    slope[at, j] = rise / up[j] if up[j] != 0.0 else fall / down[j]
                secant[at, j] = 0.0 if flat[j] else (rise - fall) / (2.0 * WIDE_REACH)
            # Those that move it most also change what each other does.
            most = [j for j in own[np.argsort(-np.abs(rises[at, own]))][:TWISTED] if up[j] != 0.0]
            for j, other in combinations(most, 2):
                both = self._moved(at, z, {j: high[j], other: high[other]}) - here[at]
                twists.append((at, j, other, (both - rises[at, j] - rises[at, other]) / (up[j] * up[other])))
        return Shape(slope, bend, secant, tuple(twists))

    def _moved(self, at: int, z: Floats, to: Mapping[int, float]) -> float:
        moved = z.copy()
        for j, value in to.items():
            moved[j] = value
        return self.residual(at, moved)


def loss(squares: Floats) -> Floats:
    """(3, …): the loss at squared residuals, and its first two derivatives, as ``least_squares`` wants them."""
    flat = WRONG_SHARE * FLAT_DENSITY
    right = (1.0 - WRONG_SHARE) * np.exp(-0.5 * np.minimum(squares, 1400.0))
    weight = right / (right + flat)
    value = -2.0 * np.log((right + flat) / (1.0 - WRONG_SHARE + flat))
    return np.stack([value, weight, -0.5 * weight * (1.0 - weight)])


def posterior(problem: Problem) -> Posterior:
    """The mode that costs least, nothing or some observations being wrong, and Laplace's covariance there."""
    n = len(problem.observations)
    slopes = problem.told(problem.slopes(np.zeros(len(problem.names)), REACH, both=True))
    at_zero = problem.residuals(np.zeros(len(problem.names)))
    best: tuple[float, Floats] | None = None
    right = np.ones(n, dtype=bool)
    for _ in range(min(OUTLIERS, n // 2) + 1):
        start = _linear(at_zero, slopes, right)
        z = _least(problem, start, right, robust=False)
        off = problem.residuals(z)
        suspect = _suspect(off, slopes, right)
        if suspect is None:
            suspect = _strains(z, slopes, right)
        if suspect is not None or not right.all():
            z = _least(problem, z, np.ones(n, dtype=bool), robust=True)
            off = problem.residuals(z)
        cost = float(loss(off**2)[0].sum() + (z**2).sum())
        if best is None or cost < best[0] - 1e-6:
            best = (cost, z)
        if suspect is None:
            break
        right[suspect] = False
    assert best is not None  # the loop runs at least once
    mode = best[1]
    off = problem.residuals(mode)
    weights = loss(off**2)[1]
    shape = problem.shape(mode, off)
    slopes = shape.secant
    laplace = np.linalg.inv(np.eye(len(mode)) + slopes.T @ (weights[:, None] * slopes))
    points = _points(problem, mode, off, shape, laplace) if len(mode) else np.zeros((POINTS, 0))
    covariance = np.cov(points, rowvar=False).reshape(len(mode), len(mode))
    return Posterior(
        problem.names, mode, points.mean(axis=0), covariance, laplace, points[:POINTS], off, weights, slopes
    )


def _points(problem: Problem, mode: Floats, off: Floats, shape: Shape, laplace: Floats) -> Floats:
    """Drawn from the posterior with residuals quadratic in logarithms and shifts about the mode."""
    middle = problem.scaled(mode)

    def log_likelihood(z: Floats) -> Floats:
        residuals = off + shape.of(problem.scaled(z) - middle)
        found: Floats = -0.5 * loss(residuals**2)[0].sum(axis=1)
        return found

    root = np.linalg.cholesky(laplace + 1e-12 * np.eye(len(mode)))
    starts = mode + np.random.default_rng(1).standard_normal((CHAINS, len(mode))) @ root.T
    return sample(log_likelihood, starts)


def _linear(at_zero: Floats, slopes: Floats, right: NDArray[np.bool_]) -> Floats:
    """The mode were the residuals linear, observations not marked right left out."""
    own = slopes * right[:, None]
    z = -np.linalg.solve(np.eye(slopes.shape[1]) + own.T @ own, own.T @ at_zero)
    return np.clip(z, -0.5 * WIDEST, 0.5 * WIDEST)


def _least(problem: Problem, z: Floats, right: NDArray[np.bool_], *, robust: bool) -> Floats:
    """The mode near ``z``; observations not marked right do not count, others by the contaminated law if robust."""
    n, k = len(problem.observations), len(z)
    if k == 0 or n == 0:
        return z

    def residuals(at: Floats) -> Floats:
        return np.concatenate([np.where(right, problem.residuals(at), 0.0), at])

    def slopes(at: Floats) -> Floats:
        own = problem.slopes(at, STEP, both=False)
        return np.concatenate([np.where(right[:, None], own, 0.0), np.eye(k)])

    def rho(squares: Floats) -> Floats:
        out = np.stack([squares, np.ones_like(squares), np.zeros_like(squares)])
        out[:, :n] = loss(squares[:n])
        return out

    found = least_squares(
        residuals, z, jac=slopes, bounds=(-WIDEST, WIDEST), loss=rho if robust else "linear",
        xtol=1e-4, ftol=1e-5, gtol=1e-4, max_nfev=25,
    )  # fmt: skip
    made: Floats = found.x
    return made


def _suspect(residuals: Floats, slopes: Floats, right: NDArray[np.bool_]) -> int | None:
    """The observation that lies farthest from what all others and the priors say; None where none lies far."""
    counted = slopes * right[:, None]
    covariance = np.linalg.inv(np.eye(slopes.shape[1]) + counted.T @ counted)
    share = np.einsum("ij,jk,ik->i", slopes, covariance, slopes)
    off = np.where(right, np.abs(residuals) / np.sqrt(np.maximum(1.0 - share, 1e-9)), 0.0)
    worst = int(np.argmax(off)) if len(off) else 0
    return worst if len(off) and off[worst] > SUSPECT else None


def _strains(z: Floats, slopes: Floats, right: NDArray[np.bool_]) -> int | None:
    """The observation that hangs most on the number that lies farthest out; None where none lies far out.

    A counter's law is heavy-tailed: it follows a wrong depth so far that nothing disagrees any more.
    """
    farthest = int(np.argmax(np.abs(z))) if len(z) else 0
    if not len(z) or abs(z[farthest]) <= STRAINED or not right.any():
        return None
    return int(np.argmax(np.abs(slopes[:, farthest]) * right))


def fit(spread: Spread, observations: Sequence[Observation], *, name: str = "", made: datetime | None = None) -> Fit:
    """The posterior of a spread's uncertain quantities; with no usable observation it is the prior.

    Observations that cannot inform come back with their reason; nothing is raised for them.
    """
    spread = spread.with_values({})  # from the priors, whatever was believed of it
    checked = tuple(one.refused(why) if (why := unfit(spread, one)) else one for one in observations)
    used = [one for one in checked if one.used]
    problem = Problem(spread, used)
    found = posterior(problem)
    subjects = tuple(problem.quantities[name].subject for name in found.names)
    of = prints(spread)
    calibration = Calibration(
        name, found.names, found.mode, found.covariance, subjects, {one: of[one] for one in dict.fromkeys(subjects)},
        made, spread.boat.name, tuple(Used(one.id, one.said, one.used, one.why) for one in checked),
        found.points if found.names else None,
    )  # fmt: skip
    return Fit(spread, checked, found, calibration)
