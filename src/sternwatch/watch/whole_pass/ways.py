"""Ways as numbers that a search can change: seconds of straight and angles of turn, alternating.

A way of K turns is 2 K numbers: (seconds, radians, seconds, radians, ...). The rest of its time is straight.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.again.legs import HAIR, Leg
from sternwatch.watch.picture.manoeuvre import side_of
from sternwatch.watch.whole_pass.asked import PassAsked

Floats = NDArray[np.float64]

A_TURN_EACH_S = 60.0  # about so often a pass may turn
LEAST_TURNS, MOST_TURNS = 3, 24
LEAST_TURN_RAD = math.radians(4.0)  # less is no turn
MOST_TURN_RAD = math.radians(220.0)
HELD_S = 10.0  # a turn that comes as soon as this is not changed any more
EACH_S = 6.0  # between the samples of a screened way


def turns_for(lasts_s: float) -> int:
    """The most turns of a pass."""
    return int(min(max(round(lasts_s / A_TURN_EACH_S), LEAST_TURNS), MOST_TURNS))


def tamed(ways: Floats, held: Floats | None = None) -> Floats:
    """Make ways (n, 2 K) possible: no negative straight, no turn beyond a circle, no tiny turn.

    ``held`` (2,): the first straight and turn of all of them.
    """
    out = ways.copy()
    out[:, 0::2] = np.maximum(out[:, 0::2], 0.0)
    turn = np.clip(out[:, 1::2], -MOST_TURN_RAD, MOST_TURN_RAD)
    out[:, 1::2] = np.where(np.abs(turn) < LEAST_TURN_RAD, 0.0, turn)
    if held is not None:
        out[:, :2] = held
    return out


def held_of(kept: tuple[Leg, ...], speed_m_s: float) -> Floats | None:
    """The straight and turn that a way being steered holds, since the turn is under way or comes at once."""
    for k, leg in enumerate(kept[:2]):
        if leg.turn_rad:
            seconds = sum(one.length_m for one in kept[:k]) / speed_m_s
            return np.array([seconds, leg.turn_rad]) if seconds <= HELD_S else None
    return None


def legs_of(way: Floats, asked: PassAsked) -> tuple[Leg, ...]:
    """The legs of one way, cut at the end of its time."""
    left = asked.wish.lasts_s * asked.speed_m_s
    out: list[Leg] = []
    straight = 0.0
    for seconds, turn in way.reshape(-1, 2):
        straight += float(seconds) * asked.speed_m_s
        if not turn:
            continue
        for leg in (Leg(straight), Leg(asked.radius(side_of(turn)) * abs(turn), float(turn))):
            length = min(leg.length_m, left)
            if length > HAIR:
                out.append(Leg(length, leg.turn_rad * length / leg.length_m))
                left -= length
        straight = 0.0
    if left > HAIR:
        out.append(Leg(left))
    return tuple(out)


def rest_of(legs: tuple[Leg, ...], gone_m: float) -> tuple[Leg, ...]:
    """The rest of legs after some metres."""
    out = []
    for leg in legs:
        if gone_m >= leg.length_m:
            gone_m -= leg.length_m
            continue
        share = 1.0 - gone_m / leg.length_m
        out.append(Leg(leg.length_m * share, leg.turn_rad * share))
        gone_m = 0.0
    return tuple(out)


def way_of_legs(legs: tuple[Leg, ...], turns: int, speed_m_s: float) -> Floats:
    """The numbers of legs, as a beginning for a search. Turns after the first ``turns`` are left out."""
    out = np.zeros(2 * turns)
    k, straight = 0, 0.0
    for leg in legs:
        if not leg.turn_rad:
            straight += leg.length_m / speed_m_s
        elif k < turns:
            out[2 * k : 2 * k + 2] = straight, leg.turn_rad
            k, straight = k + 1, 0.0
    return out


def between_m(asked: PassAsked) -> float:
    """How much nearer to a place a way may come between two samples than at them."""
    return 0.5 * EACH_S * asked.speed_m_s


def tracks(ways: Floats, asked: PassAsked) -> tuple[Floats, Floats, Floats]:
    """(n, S) north, east through the water and heading of many ways, sampled each ``EACH_S``; from (0, 0)."""
    times = np.arange(0.0, asked.wish.lasts_s + HAIR, EACH_S)
    turn = ways[:, 1::2]
    radius = np.where(turn > 0.0, asked.radius("starboard"), asked.radius("port"))
    lasts = np.stack([ways[:, 0::2], radius * np.abs(turn) / asked.speed_m_s], axis=2).reshape(len(ways), -1)
    corners = np.concatenate([np.zeros((len(ways), 1)), np.cumsum(lasts, axis=1)], axis=1)
    turned = np.cumsum(np.stack([np.zeros_like(turn), turn], axis=2).reshape(len(ways), -1), axis=1)
    headings = asked.fleet.heading_rad + np.concatenate([np.zeros((len(ways), 1)), turned], axis=1)
    heading = np.stack([np.interp(times, corners[n], headings[n]) for n in range(len(ways))])
    middle = 0.5 * (heading[:, 1:] + heading[:, :-1])
    gone = asked.speed_m_s * EACH_S
    begin = np.zeros((len(ways), 1))
    north = np.concatenate([begin, np.cumsum(gone * np.cos(middle), axis=1)], axis=1)
    east = np.concatenate([begin, np.cumsum(gone * np.sin(middle), axis=1)], axis=1)
    return north, east, heading
