"""Outlooks made by hand, for tests of what is done with them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sternwatch.watch.boat.manoeuvres import hold
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre
from sternwatch.watch.picture.meetings import Shares
from sternwatch.watch.picture.outlook import Advice, Forecast, Outlook, PairForecast, RodForecast

TIMES = np.arange(0.0, 181.0, 3.0)


def pair(keys: tuple[str, str], probability: float | None, undercut_s: float | None = None) -> PairForecast:
    parts = Shares(0.0, probability or 0.0, 0.0)
    return PairForecast(keys, probability, 40.0, 0.5, 1.5, 12.0, 30.0, 4.0, undercut_s, parts)


def rod(key: str, bodies: Any = None) -> RodForecast:
    strip = np.tile([9.0, 10.0, 11.0], (len(TIMES), 1))
    return RodForecast(key, 10.0, 10.0, 9.0, 11.0, 1.0, None, None, 1.0, strip, bodies)


def forecast(name: str, *pairs: PairForecast, rods: tuple[RodForecast, ...] = ()) -> Forecast:
    manoeuvre = hold() if name == "hold" else Manoeuvre(name, math.pi, math.radians(2.0))
    any_crossing = max((p.probability or 0.0 for p in pairs), default=0.0)
    return Forecast(
        manoeuvre,
        16,
        60.0,
        float(TIMES[-1]),
        any_crossing,
        pairs,
        rods,
        TIMES,
        np.zeros((len(TIMES), 3)),
        3,
        40.0,
        {},
    )


def outlook(t_s: float, hold_share: float, going_share: float = 0.0, plan_share: float | None = None) -> Outlook:
    """Rods 1 and 2 cross with these shares when held on, as it goes, and in a plan."""
    keys = ("1", "2")
    made = [forecast("hold", pair(keys, hold_share)), forecast("as it goes", pair(keys, going_share, 20.0))]
    if plan_share is not None:
        made.append(forecast(PLAN, pair(keys, plan_share)))
    cure = Advice("Turn slower.", {"what": "turn"}, 0.0)
    return Outlook(t_s, 0.1, tuple(made), None, (cure,), "as it goes")


def hold_alone(share: float) -> Forecast:
    """Rods 1 and 2 held on."""
    return forecast("hold", pair(("1", "2"), share))
