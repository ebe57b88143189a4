"""Plans a pass: screens ways by where lures trail, searches with one member's chains, confirms with all members.

Ways are grown step by step over the bottom. Beside that the search draws ways, keeps the best and draws again about
them (cross-entropy: Rubinstein 1999, The cross-entropy method for combinatorial and continuous optimization,
Methodol. Comput. Appl. Probab. 1:127; from memory). Draws are counted and their seed is fixed, so that the same
question gives the same pass.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.plan import Cannot
from sternwatch.watch.boat.manoeuvres import Path
from sternwatch.watch.chains.ensemble import Fleet, members_of, one_of
from sternwatch.watch.forecast.steered import middle
from sternwatch.watch.whole_pass.asked import PassAsked
from sternwatch.watch.whole_pass.beam import grown
from sternwatch.watch.whole_pass.rating import Rated, rated, screened, turn_s
from sternwatch.watch.whole_pass.ways import held_of, legs_of, tamed, turns_for, way_of_legs
from sternwatch.watch.whole_pass.worth import Lying, Trailing, lying_of, trailing

Floats = NDArray[np.float64]

DRAWS, ELITE, ROUNDS, BEGINNINGS = 128, 16, 7, 2  # of the screening ...
CHANGES, KEPT_WAYS, CHANGE = 16, 24, 0.35  # ... and how often, of how many and how much the best are changed then
KEEP = 0.3  # this share of the earlier spread stays after a round, so that the search does not narrow too soon
TURN_SPREAD_RAD = math.radians(60.0)
# With chains: as many ways as take this many seconds of one chain (measured: 0.4 million in a core-second, and the
# lines' distances as much again). The first of them are the best of the screening.
BUDGET_S = 180_000.0
LEAST_RUNS, MOST_RUNS = 8, 60
FIRST_SHARE = 0.4
NO_WORSE = 3  # ways that were worth more: beyond so many a way need not be asked whether lines cross
FEW = 4  # members that confirm a first proposal, which must come soon
BETTER = 0.05  # this much more lure time is worth leaving the way being steered
CONFIRMED = 2  # number of the best that run with all members
TOUCHES_S = 6.0  # a rod this long on the bottom in the median member is named
SEED = 24


@dataclass(frozen=True)
class WholePass:
    """A pass and its results. Seconds are lure-seconds: of all rods together."""

    legs: tuple[Leg, ...]
    path: Path
    over_ground_m: Floats  # (S, 2) the boat's track
    wanted_s: float  # median of the members
    wanted_range_s: tuple[float, float]  # 5 and 95 %
    by_rod_s: dict[str, float]
    straight_on_s: float | None  # the same if she goes straight on, after a turn that is under way; None: a danger
    lasts_s: float
    risk: float  # share of the members in which any lines touch
    members: int  # that confirmed it ...
    of_members: int  # ... of so many
    worst: tuple[str, str] | None
    touching: tuple[str, ...]  # rods that touch the bottom
    straight_touching: tuple[str, ...]  # and those that do if she goes straight on
    within_risk: bool
    stays: bool = False  # it is the rest of the pass that was being steered

    @property
    def provisional(self) -> bool:
        """Whether only some of the members have confirmed it yet."""
        return self.members < self.of_members

    @property
    def time_s(self) -> float:
        """From the beginning of its path to its end."""
        return float(self.path.time_s[-1])


def propose(
    asked: PassAsked, kept: tuple[Leg, ...] = (), seed: int = SEED, *, soon: bool = False
) -> WholePass | Cannot:
    """The pass with the most lure-minutes where they are wanted, within the allowed risk of crossing.

    ``kept``: the rest of the pass being steered. It is tried too, and stays if none is better. A turn of it that is
    under way, or comes at once, is finished in any case. ``soon``: a shorter search, confirmed by ``FEW`` members.
    """
    if asked.wish.over_bottom_m is not None and asked.floor.known == 0.0:
        return Cannot("No bottom is known around her: sound it, or import a grid")
    if asked.wish.zone and asked.in_zone is None:
        return Cannot("No zone of temperatures is chosen, or too little is known of the water's temperature")
    lying = lying_of(asked)
    alone = _Alone.of(asked, lying)
    turns = turns_for(asked.wish.lasts_s)
    begun = way_of_legs(kept, turns, asked.speed_m_s) if kept else None
    held = held_of(kept, asked.speed_m_s)
    stays = alone.rated(kept) if kept else None
    rng = np.random.default_rng(seed)
    best = _screen(asked, trailing(asked, lying), turns, begun, held, rng)
    straight = tamed(np.zeros((1, 2 * turns)), held)
    on = legs_of(straight[0], asked)
    begins = np.concatenate([straight, best])
    tried = sorted(_searched(alone, begins, held, rng, soon=soon), key=lambda one: -one.worth)
    if stays is not None and (not tried or tried[0].worth < stays.worth + BETTER * abs(stays.worth)):
        tried.insert(0, stays)
    if not tried:
        return Cannot(BLOCKED)
    order = lying.order
    some = order[:: max(len(order) // FEW, 1)][:FEW].tolist()  # from the middle ones to the oddest
    made = _confirmed(asked, members_of(asked.fleet, some) if soon else asked.fleet, tried, on, kept)
    return _proposed(made, kept)


def confirm(asked: PassAsked, kept: tuple[Leg, ...]) -> WholePass | Cannot:
    """The rest of the pass being steered, confirmed by all members; straight on where they do not keep it."""
    alone = _Alone.of(asked, lying_of(asked))
    stays = alone.rated(kept)
    if stays is None:
        return Cannot(BLOCKED)
    made = _confirmed(asked, asked.fleet, [stays], _straight(asked), kept)
    return _proposed(made, kept)


def _proposed(made: WholePass, kept: tuple[Leg, ...]) -> WholePass | Cannot:
    return replace(made, stays=made.legs is kept) if made.wanted_range_s[1] > 0.0 else Cannot(NOWHERE)


BLOCKED = "Every way goes too near a marked net or snag"
NOWHERE = "No way found that brings a lure there in that time, at the risk you allow"


def _straight(asked: PassAsked) -> tuple[Leg, ...]:
    return (Leg(asked.wish.lasts_s * asked.speed_m_s),)


@dataclass
class _Alone:
    """One member that stands for all, and the ways that it has run."""

    asked: PassAsked
    lone: Fleet
    around_m: Floats  # (rods, levels) how much deeper lures may run than its own
    worths: list[float] = field(default_factory=list)

    @classmethod
    def of(cls, asked: PassAsked, lying: Lying) -> _Alone:
        """The member that lies nearest to the middle of all."""
        first = int(lying.order[0])
        return cls(asked, one_of(asked.fleet, first), lying.apart_m(first))

    def rated(self, legs: tuple[Leg, ...]) -> Rated | None:
        """Run a way. Whether lines cross is asked only if few ways before were worth more."""
        before = sorted(self.worths, reverse=True)
        beyond = before[NO_WORSE - 1] if len(before) >= NO_WORSE else -math.inf
        one = rated(self.asked, self.lone, legs, beyond=beyond, around_m=self.around_m)
        if one is not None:
            self.worths.append(one.worth)
        return one


def _searched(
    alone: _Alone, begins: Floats, held: Floats | None, rng: np.random.Generator, *, soon: bool
) -> Iterator[Rated]:
    """Run ways with one member, each once: the beginnings, the best first, then changes of the best so far."""
    asked = alone.asked
    each_s = len(asked.fleet.cast.keys) * asked.wish.lasts_s
    runs = LEAST_RUNS if soon else int(min(max(BUDGET_S / each_s, LEAST_RUNS), MOST_RUNS))
    first = min(max(round(FIRST_SHARE * runs), 2), len(begins))
    spread = _widest(asked, begins.shape[1] // 2)
    rates: list[tuple[float, Floats]] = []
    for k in range(runs):
        if k < first:
            way = begins[k]
        elif rates:
            # With smaller and smaller changes.
            rates.sort(key=lambda rate: -rate[0])
            some = np.array([way for _, way in rates[:3]])
            change = spread * (1.0 - 0.7 * (k - first) / (runs - first))
            way = tamed(_changed(some, change, rng, 1), held)[0]
        else:
            return
        one = alone.rated(legs_of(way, asked))
        if one is not None:
            rates.append((one.worth, way))
            yield one


def _widest(asked: PassAsked, turns: int) -> Floats:
    """The first spread of a search."""
    return np.tile([0.8 * asked.wish.lasts_s / (turns + 1), TURN_SPREAD_RAD], turns)


def _screen(
    asked: PassAsked,
    trails: Trailing,
    turns: int,
    begun: Floats | None,
    held: Floats | None,
    rng: np.random.Generator,
) -> Floats:
    """The best of the ways screened, the best first, none twice."""
    between, widest = asked.wish.lasts_s / (turns + 1), _widest(asked, turns)
    ways = (
        grown(asked, trails, turns, turn_s(len(asked.fleet.cast.keys)), ELITE)
        if held is None
        else np.zeros((0, 2 * turns))
    )
    worths = screened(ways, asked, trails) if len(ways) else np.zeros(0)
    for beginning in range(BEGINNINGS):
        mean, spread = np.tile([between, 0.0], turns), widest.copy()
        if beginning == 0 and begun is not None:
            mean, spread = begun.copy(), 0.5 * spread
        for _ in range(ROUNDS):
            drawn = tamed(mean + spread * rng.standard_normal((DRAWS, 2 * turns)), held)
            worth = screened(drawn, asked, trails)
            order = np.argsort(-worth, kind="stable")[:ELITE]
            mean = drawn[order].mean(axis=0)
            spread = np.sqrt((1.0 - KEEP) * drawn[order].var(axis=0) + KEEP * (0.5 * spread) ** 2)
            ways, worths = _best_of(ways, worths, drawn[order], worth[order])
    for k in range(CHANGES):
        drawn = tamed(_changed(ways, widest * (1.0 - 0.8 * k / CHANGES), rng, DRAWS), held)
        ways, worths = _best_of(ways, worths, drawn, screened(drawn, asked, trails))
    return ways


def _best_of(ways: Floats, worths: Floats, more: Floats, their: Floats) -> tuple[Floats, Floats]:
    """The best of both, without duplicates."""
    all_ways, at = np.unique(np.concatenate([ways, more]), axis=0, return_index=True)
    all_worths = np.concatenate([worths, their])[at]
    order = np.argsort(-all_worths, kind="stable")[:KEPT_WAYS]
    return all_ways[order], all_worths[order]


def _changed(ways: Floats, spread: Floats, rng: np.random.Generator, count: int) -> Floats:
    """Ways with small changes: a leg or two, or one turn and the opposite in the next, so that the rest stays."""
    out: Floats = ways[rng.integers(0, len(ways), count)].copy()
    turns = out.shape[1] // 2
    for way in out:
        at, by = int(rng.integers(0, turns)), CHANGE * rng.standard_normal(2)
        kind = int(rng.integers(0, 4))
        if kind == 0:
            way[2 * at] += by[0] * spread[0]
        elif kind == 1:
            way[2 * at + 1] += by[0] * spread[1]
        else:
            then = (at + 1) % turns
            way[2 * at + 1] += by[0] * spread[1]
            way[2 * then + 1] -= by[0] * spread[1]
            way[2 * then] += by[1] * spread[0] * (kind == 3)
    return out


def _confirmed(
    asked: PassAsked, fleet: Fleet, tried: list[Rated], on: tuple[Leg, ...], kept: tuple[Leg, ...] = ()
) -> WholePass:
    """The best within the risk of a fleet's members: of the first, and of the way straight on (``on``).

    Where none keeps to it, the one in which lines touch least. She is not sent off her course for nothing that is
    told; but the way that is being steered (``kept``) stays.
    """
    sure: list[Rated] = []
    for one in tried[:CONFIRMED]:
        again = rated(asked, fleet, one.legs)
        assert again is not None  # a way clear of dangers is clear for all members
        sure.append(again)
        if again.risk is not None and again.risk.any <= asked.wish.risk:
            break
    straight = next((one for one in sure if one.legs == on), None) or rated(asked, fleet, on)
    sure += [straight] if straight is not None else []
    chosen = min(sure, key=lambda one: (max(_risk(one), asked.wish.risk), -one.worth))
    if straight is not None and chosen.legs is not kept and _as_good(straight, chosen, asked.wish.risk):
        chosen = straight
    cast, total = fleet.cast, chosen.wanted_s
    low, high = (float(v) for v in np.quantile(total, (0.05, 0.95)))
    by_rod = np.nan_to_num(middle(chosen.by_rod_s))
    return WholePass(
        legs=chosen.legs,
        path=chosen.path,
        over_ground_m=chosen.over_ground_m,
        wanted_s=float(np.median(total)),
        wanted_range_s=(low, high),
        by_rod_s={key: float(by_rod[rod]) for rod, key in enumerate(cast.keys)},
        straight_on_s=None if straight is None else float(np.median(straight.wanted_s)),
        lasts_s=float(chosen.path.time_s[-1]),
        risk=_risk(chosen),
        members=cast.members if chosen.risk is None else chosen.risk.members,
        of_members=asked.fleet.cast.members,
        worst=chosen.risk.worst if chosen.risk is not None else None,
        touching=_touching(chosen, cast.keys),
        straight_touching=() if straight is None else _touching(straight, cast.keys),
        within_risk=_risk(chosen) <= asked.wish.risk,
    )


def _touching(one: Rated, keys: Sequence[str]) -> tuple[str, ...]:
    """The rods whose lures are on the bottom."""
    bottom = np.nan_to_num(middle(one.on_bottom_s))
    return tuple(key for rod, key in enumerate(keys) if bottom[rod] >= TOUCHES_S)


def _as_good(straight: Rated, other: Rated, allowed: float) -> bool:
    """Whether straight on is no worse in all that is told: crossings, lure time, lures on the bottom."""
    return (
        max(_risk(straight), allowed) <= max(_risk(other), allowed)
        and float(np.median(straight.wanted_s)) >= float(np.median(other.wanted_s))
        and float(np.nansum(straight.on_bottom_s)) <= float(np.nansum(other.on_bottom_s))
    )


def _risk(one: Rated) -> float:
    return 1.0 if one.risk is None else one.risk.any
