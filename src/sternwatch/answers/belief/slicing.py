"""Draws points of a posterior with a standard normal prior, by elliptical slice sampling.

Murray, Adams & MacKay (2010), "Elliptical slice sampling", AISTATS: no step to tune, exact for any likelihood. Many
chains run side by side from a law that is already near. It is all arithmetic on arrays, so it takes under a second.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CHAINS = 256
BURN = 40
KEPT = 8  # moves of every chain
EVERY = 6  # moves of which a point is kept
SHRINKS = 40  # after these the angle is almost zero: a chain stays


def sample(log_likelihood: Callable[[Floats], Floats], starts: Floats, seed: int = 0) -> Floats:
    """Points (KEPT × chains, k) drawn from N(0, I) times the likelihood; the first ``chains`` are independent.

    Parameters
    ----------
    log_likelihood
        For many points at once: (n, k) -> (n,).
    starts
        (chains, k) the starts of the chains.
    """
    rng = np.random.default_rng(seed)
    z = starts.copy()
    level = log_likelihood(z)
    kept: list[Floats] = []
    for move in range(BURN + KEPT * EVERY):
        z, level = _moved(log_likelihood, z, level, rng)
        if move >= BURN and (move - BURN) % EVERY == EVERY - 1:
            kept.append(z)
    return np.concatenate(kept)


def _moved(
    log_likelihood: Callable[[Floats], Floats], z: Floats, level: Floats, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Move every chain once."""
    n = len(z)
    other = rng.standard_normal(z.shape)
    floor = level + np.log(rng.random(n))
    angle = rng.random(n) * 2.0 * np.pi
    low, high = angle - 2.0 * np.pi, angle.copy()
    out, found = z.copy(), level.copy()
    open_ = np.arange(n)
    for _ in range(SHRINKS):
        c, s = np.cos(angle[open_])[:, None], np.sin(angle[open_])[:, None]
        tried = z[open_] * c + other[open_] * s
        there = log_likelihood(tried)
        taken = there > floor[open_]
        out[open_[taken]], found[open_[taken]] = tried[taken], there[taken]
        open_ = open_[~taken]
        if not len(open_):
            break
        back = angle[open_] < 0.0
        low[open_[back]] = angle[open_[back]]
        high[open_[~back]] = angle[open_[~back]]
        angle[open_] = low[open_] + rng.random(len(open_)) * (high[open_] - low[open_])
    return out, found
