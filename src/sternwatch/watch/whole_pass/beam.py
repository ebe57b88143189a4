"""Ways grown step by step: many boats go on at once, each to port, straight or to starboard; the best are kept.

A bottom's edge that winds is followed by turns that hang together, which a search that changes one number of a way
at a time hardly finds. Of boats that come to the same place on the same course at the same time one is kept, so that
those kept lie apart (a beam search over a coarse state, which is dynamic programming where nothing is dropped).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.forecast.steered import transom_m
from sternwatch.watch.whole_pass.asked import PassAsked
from sternwatch.watch.whole_pass.ways import EACH_S, between_m
from sternwatch.watch.whole_pass.worth import Trailing

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

KEPT = 300  # boats after every step
CELL_M = 15.0
CELL_RAD = math.radians(18.0)


def grown(asked: PassAsked, trailing: Trailing, turns: int, turn_s: float, count: int) -> Floats:
    """(up to count, 2 turns) ways as ``ways`` has them, the best first.

    ``turn_s``: a turn more is worth it for more lure-seconds than this.
    """
    speed, drift = asked.speed_m_s, asked.ground.drift_m_s
    steps = round(asked.wish.lasts_s / EACH_S)
    rates = np.array([-speed / asked.radius("port"), 0.0, speed / asked.radius("starboard")])
    begin = transom_m(asked.ground)
    north, east = np.array([begin[0]]), np.array([begin[1]])
    heading, score = np.array([asked.fleet.heading_rad]), np.zeros(1)
    act: Ints = np.ones(1, dtype=np.int64)
    made: Ints = np.zeros(1, dtype=np.int64)
    parents: list[Ints] = []
    acts: list[Ints] = []
    for step in range(steps):
        parent = np.repeat(np.arange(len(score)), 3)
        new: Ints = np.tile(np.arange(3), len(score))
        begun = (new != act[parent]) & (new != 1)  # a turn
        turned = made[parent] + begun
        bend = rates[new] * EACH_S
        middle = heading[parent] + 0.5 * bend
        n = north[parent] + (speed * np.cos(middle) + drift[0]) * EACH_S
        e = east[parent] + (speed * np.sin(middle) + drift[1]) * EACH_S
        h = heading[parent] + bend
        s = score[parent] - turn_s * begun
        s = s + _there(asked, trailing, n, e, h, (step + 1) * EACH_S)
        keep = _kept(asked, n, e, h, new, s, turned <= turns)
        if not len(keep):
            return np.zeros((0, 2 * turns))
        north, east, heading, score = n[keep], e[keep], h[keep], s[keep]
        act, made = new[keep], turned[keep]
        parents.append(parent[keep])
        acts.append(act)
    order = np.argsort(-score, kind="stable")[:count]
    return np.array([_way(parents, acts, int(k), rates, turns) for k in order])


def _there(asked: PassAsked, trailing: Trailing, n: Floats, e: Floats, h: Floats, t_s: float) -> Floats:
    """What the lures are worth that come to where a boat is now, when they come there before the pass is over."""
    abeam = trailing.abeam_m[:, None]
    at_n = n - abeam * np.sin(h) + trailing.drift_m[:, :1]
    at_e = e + abeam * np.cos(h) + trailing.drift_m[:, 1:]
    in_time = t_s + trailing.lag_s <= asked.wish.lasts_s
    total: Floats = EACH_S * trailing.all_there(asked.floor, at_n, at_e)[in_time].sum(axis=0)
    return total


def _kept(
    asked: PassAsked, n: Floats, e: Floats, h: Floats, act: Ints, score: Floats, allowed: NDArray[np.bool_]
) -> Ints:
    """Which go on: the best of every cell, clear of dangers, ``KEPT`` at most."""
    for place, margin in asked.dangers_m:
        allowed = allowed & (np.hypot(n - place[0], e - place[1]) >= margin + between_m(asked))
    order = np.argsort(-score, kind="stable")
    order = order[allowed[order]]
    cell = act.copy()
    for value, size in ((n, CELL_M), (e, CELL_M), (h, CELL_RAD)):
        at = np.floor(value / size).astype(np.int64)
        at -= at.min()
        cell = cell * (at.max() + 1) + at
    _, first = np.unique(cell[order], return_index=True)
    return order[np.sort(first)[:KEPT]]


def _way(parents: list[Ints], acts: list[Ints], last: int, rates: Floats, turns: int) -> Floats:
    """The numbers of the way that ends as boat ``last``."""
    done: list[int] = []
    for parent, of in zip(reversed(parents), reversed(acts), strict=True):
        done.append(int(of[last]))
        last = int(parent[last])
    out, k, straight, before = np.zeros(2 * turns), -1, 0.0, 1
    for act in reversed(done):
        if act == 1:
            straight += EACH_S
        else:
            if act != before:
                k += 1
                out[2 * k] = straight
                straight = 0.0
            out[2 * k + 1] += float(rates[act]) * EACH_S
        before = act
    return out
