"""Carries a trip's posterior, slightly widened, on as the next trip's prior. Gear not aboard is kept.

Between trips every number z moves a small step back towards its prior (an autoregression of first order). So what is
never observed again is forgotten in the end, and nothing becomes wider than its prior.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from sternwatch.answers.belief.calibration import Calibration, Used
from sternwatch.answers.belief.fit import Fit, fit
from sternwatch.answers.belief.observations import Observation
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import prints

KEPT = 0.998  # share of every number kept from trip to trip: memory. Forty trips keep 0.92 of it


def aged(learned: Calibration, trips: int = 1) -> Calibration:
    """The same calibration some trips later."""
    keep = KEPT**trips
    mean, covariance = learned.law
    wider = keep**2 * covariance + (1.0 - keep**2) * np.eye(len(learned.names))
    return _with(learned, learned.names, learned.subjects, keep * mean, wider)


def _with(
    learned: Calibration, names: Sequence[str], subjects: Sequence[str], mean: np.ndarray, covariance: np.ndarray,
    used: tuple[Used, ...] = (), made: datetime | None = None, name: str = "",
) -> Calibration:  # fmt: skip
    symmetric = 0.5 * (covariance + covariance.T)
    return Calibration(
        name or learned.name, tuple(names), mean, symmetric, tuple(subjects), dict(learned.prints),
        made or learned.made, learned.spread, used,
    )  # fmt: skip


def carried_on(
    before: Calibration | None, spread: Spread, observations: Sequence[Observation], *, name: str, made: datetime
) -> tuple[Fit, Calibration]:
    """Fit a trip with the season as prior. Returns the fit, and the season after that trip.

    The season keeps what it knew of gear that this spread does not have or defines differently: it may come back.
    """
    own = None
    if before is not None:
        own, _ = aged(before).fitted_to(prints(spread))
        own = own if own.names else None
    found = fit(spread, observations, name=name, made=made, season=own)
    return found, merged(before, _whole(found).lasting(), name, made)


def _whole(found: Fit) -> Calibration:
    """The calibration with the mean and covariance of all points drawn, not only of the few that it keeps."""
    one, law = found.calibration, found.posterior
    at = [law.names.index(name) for name in one.names]
    return Calibration(
        one.name, one.names, law.mean[at], law.covariance[np.ix_(at, at)], one.subjects, one.prints, one.made,
        one.spread, one.observations,
    )  # fmt: skip


def merged(before: Calibration | None, now: Calibration, name: str, made: datetime) -> Calibration:
    """What is known of gear aboard now, and of other gear, with no correlation between the two."""
    mean, covariance = now.law
    names, subjects = list(now.names), list(now.subjects)
    held = dict(now.prints)
    if before is not None:
        stays = [
            j for j, subject in enumerate(before.subjects)
            if before.names[j] not in now.index and subject not in now.prints
            and before.prints[subject] not in set(now.prints.values())
        ]  # fmt: skip
        old_mean, old = before.law
        k = len(names)
        whole = np.zeros((k + len(stays), k + len(stays)))
        whole[:k, :k], whole[k:, k:] = covariance, old[np.ix_(stays, stays)]
        mean, covariance = np.concatenate([mean, old_mean[stays]]), whole
        names += [before.names[j] for j in stays]
        subjects += [before.subjects[j] for j in stays]
        held |= {before.subjects[j]: before.prints[before.subjects[j]] for j in stays}
    return Calibration(
        name, tuple(names), mean, 0.5 * (covariance + covariance.T), tuple(subjects), held, made, now.spread,
        now.observations,
    )  # fmt: skip
