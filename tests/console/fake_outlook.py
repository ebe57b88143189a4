"""Believable outlooks for the console's tests, beside the pictures of ``fake_picture``; nothing computed."""

from __future__ import annotations

import math
from dataclasses import replace

import fake_picture
import numpy as np

from sternwatch.watch.boat.manoeuvres import hold
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre
from sternwatch.watch.picture.meetings import Contact, Shares
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import (
    Advice,
    Forecast,
    Limits,
    Outlook,
    PairForecast,
    RodForecast,
    SideLimit,
    SpeedLimit,
)

TURN = Manoeuvre("as it goes", math.radians(150), math.radians(2.4))
TIMES = np.linspace(0.0, 200.0, 60)


def _rod(rod, bend):
    depth = (rod.depth_m or 0.0) * (1.0 + 0.25 * bend * np.exp(-(((TIMES - 70.0) / 30.0) ** 2)))
    strip = np.column_stack([0.85 * depth, depth, 1.12 * depth])
    return RodForecast(
        rod.key, float(depth.min()), float(depth.max()), float(strip[:, 0].min()), float(strip[:, 2].max()), 0.6,
        None, 10.0, 1.0, strip,
    )  # fmt: skip


def forecast(manoeuvre: Manoeuvre, probability: float) -> Forecast:
    """A forecast in which 6 and 7 cross with ``probability`` in 40 s."""
    turn = math.copysign(1.0, manoeuvre.turn_rad) if manoeuvre.turn_rad else 0.0
    rods = fake_picture.rods(1.3 * turn)
    pairs = []
    for n, one in enumerate(rods):
        for other in rods[n + 1 :]:
            keys = (one.key, other.key)
            mine = probability if keys == ("6", "7") else 0.3 * probability if keys == ("7", "8") else 0.0
            near = 0.4 if mine else 6.0
            meets = Contact(36.0, 14.0, 32.0, 8.0, 5.0, 0.4, (), 3) if mine else None
            parts = Shares(0.0, 0.6 * mine, 0.4 * mine)
            undercut_s = 34.0 if mine else None
            pairs.append(PairForecast(keys, mine, 40.0, near, 1.5, 14.0, 32.0, 8.0, undercut_s, parts, meets))
    shapes = {rod.key: np.array(rod.shape_m) for rod in rods}
    return Forecast(
        manoeuvre, 16, 60.0, 200.0, probability, tuple(pairs),
        tuple(_rod(rod, turn * (1 if rod.side == "starboard" else -0.3)) for rod in rods), TIMES,
        np.zeros((len(TIMES), 3)), 3, 40.0, shapes,
    )  # fmt: skip


LIMITS = Limits(
    fake_picture.T_0 - 12.0,
    SideLimit("port", 32.0, 1.64, 110.0, ("2", "3"), ((120.0, 0.0), (32.0, 0.06), (25.0, 0.4))),
    SideLimit("starboard", 25.0, 2.1, 86.0, ("6", "7"), ((120.0, 0.0), (25.0, 0.0), (20.0, 0.5))),
    SpeedLimit(0.62, "bottom", ("5",), ((1.03, 0.0), (0.62, 0.06), (0.5, 0.3))),
)
ADVICE = Advice(
    "Turn slower, 150° to starboard in 1:40 (15° per 10 s): crossing in none of 16.",
    {"what": "turn", "side": "starboard", "turn_deg": 150.0, "turn_s": 100.0}, 0.0,
)  # fmt: skip
ALERT = Alert(
    "ahead 1", "crossing", Priority.WARNING, AlertState.ACTIVE, ("6", "7"),
    "6 S LOW and 7 S HIGH touch (63 %), 46 ft down, 105 ft back", ADVICE.text, fake_picture.T_0 - 3.0, 36.0,
)  # fmt: skip


def quiet(t_s: float = fake_picture.T_0 - 1.0) -> Outlook:
    """A straight course; nothing crosses."""
    still = Manoeuvre("as it goes")
    return Outlook(t_s, 0.3, (forecast(hold(), 0.0), forecast(still, 0.0)), LIMITS)


def turning(t_s: float = fake_picture.T_0 - 1.0) -> Outlook:
    """A turn to starboard in which two cross, with the alert it raised and what would avoid it."""
    made = (forecast(hold(), 0.06), forecast(TURN, 0.63))
    return Outlook(t_s, 0.3, made, LIMITS, (ADVICE,), "as it goes", (ALERT,))


def planned(manoeuvre: Manoeuvre, probability: float = 0.38) -> Outlook:
    """A straight course and a plan."""
    before = quiet()
    return replace(before, forecasts=(*before.forecasts, forecast(replace(manoeuvre, name=PLAN), probability)))


def with_outlook(picture: Picture, outlook: Outlook) -> Picture:
    """As the screen shows both."""
    return replace(picture, ahead=outlook, alerts=(*outlook.alerts, *picture.alerts))
