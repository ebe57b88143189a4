"""The planner: settings and line out for every rod, so that lures spread evenly over a band and lines keep apart.

It begins from assignments of depths to rods, tries ways to fish them against one another, and goes to the best
neighbour while there is a better one. What all members then find to cross is held against the two ways that cross,
and the search goes on. Every step is counted, none is timed: the same spread and wishes give the same plan.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sternwatch.answers.belief.priors import MEMBERS, Draws
from sternwatch.answers.chains.arrays import AS_FILED, RodNow
from sternwatch.answers.depths.hand_out import beginnings, unevenness_m
from sternwatch.answers.depths.reach import Choice, Reach, Wanted, levels_m, off_band_m, reaches
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.planner.trial import Trial, Verdict, judge

# A pair is kept apart where no more than one member of sixteen crosses.
MOST_SHARE = 1.0 / MEMBERS
# What one rod more than a level needs costs beside a crossing, which is ten and more.
CROWDED = 5.0
PER_100_M = 0.05
OTHER_SETTING = 0.02
OTHER_LENGTH = 0.05  # of a rod whose depth does not follow from it
OFF_10_M = 1.0
HELD = 10.0  # against two ways that cross, times the share of the members
MOST_STEPS = 60
MOST_ROUNDS = 6
MOST_LOOKS = 8  # in all, however often it is looked on
PATIENCE = 3  # rounds that find nothing better before it is left at that
BEST_BEGINNINGS = 2


@dataclass(frozen=True, slots=True)
class Score:
    """How good a way to fish a spread is; compared in this order, less is better."""

    crossing: int  # pairs that more than one member of sixteen has crossing
    risk: float  # their shares, added up
    off_m: float  # how far lures lie outside the band, added up
    uneven_m: float  # root mean square off even depths, to a twentieth of a metre
    slight: float  # the shares of all pairs, added up: other members may find more of what these hardly do
    line_m: float  # out in all

    @property
    def rank(self) -> tuple[float, ...]:
        steps = (round(length_m * 20.0) / 20.0 for length_m in (self.off_m, self.uneven_m))
        return self.crossing, round(self.risk, 3), *steps, round(self.slight, 3), self.line_m


@dataclass(frozen=True)
class Found:
    """The best way found, how good it is, and what was looked at."""

    wanted: Wanted
    choices: Mapping[str, Choice]  # of every rod wanted, in file order
    reaches: tuple[Reach, ...]
    verdict: Verdict
    score: Score
    ways: int  # tried against one another
    rounds: int  # in which all members were asked


def search(
    spread: Spread,
    wanted: Wanted,
    *,
    u_turn_s: float | None,
    now: Mapping[str, RodNow] | None = None,
    draws: Draws | None = None,
) -> Found:
    """The best way found to fish the rods wanted. ``now``: how rods are, where it differs from the file."""
    return Planner(spread, wanted, u_turn_s=u_turn_s, now=now, draws=draws).best()


class Planner:
    """Looks for the best way; what is held against ways meanwhile makes it look on from there."""

    def __init__(
        self,
        spread: Spread,
        wanted: Wanted,
        *,
        u_turn_s: float | None,
        now: Mapping[str, RodNow] | None = None,
        draws: Draws | None = None,
    ) -> None:
        self._spread, self._wanted, self._u_turn_s, self._draws = spread, wanted, u_turn_s, draws or Draws()
        given = dict(now or {})
        self._reaches = reaches(spread, wanted, given)
        self._able = [reach for reach in self._reaches if reach.choices[0].level is not None]
        self._carriers = {rod.key: rod.clipped_to.rod for rod in spread.rods if rod.clipped_to is not None}
        own = [reach for reach in self._reaches if reach.key not in self._carriers]
        ways = [choice for reach in own for choice in reach.choices]
        self._carried = {
            reach.key: given.get(reach.key, AS_FILED)
            for reach in self._reaches
            if self._carriers.get(reach.key) in wanted.keys
        }
        self._trial = Trial(spread, ways, wanted, u_turn_s, self._carried)
        levels = levels_m(wanted, len(self._able)) if self._able else np.zeros(0)
        self._looking = _Search(spread, wanted, self._trial, own, len(levels), given)
        self._alone = {reach.key: reach.choices[0] for reach in own if reach.choices[0].level is None}
        begun = beginnings(spread, self._able, levels, given) or [{}]
        self._starts = [self._looking.numbers({**self._alone, **start}) for start in begun]
        self._judged: dict[tuple[int, ...], tuple[Verdict, Score]] = {}

    def best(self) -> Found:
        """The best there is, as far as it was looked for."""
        looking = self._looking
        self._starts.sort(key=looking.cost)
        at = min((looking.improved(start) for start in self._starts[:BEST_BEGINNINGS]), key=looking.cost)
        best: tuple[dict[str, int], Verdict, Score] | None = None
        rounds = better = 0
        for candidate in _rounds(looking, at, self._starts[0]):
            verdict, score = self._look(candidate)
            rounds += 1
            if best is None or score.rank < best[2].rank:
                best, better = (candidate, verdict, score), rounds
            bad = {pair: share for pair, share in verdict.pairs.items() if share > 0.0}
            tired = rounds >= MOST_ROUNDS or rounds - better >= PATIENCE or len(self._judged) >= MOST_LOOKS
            if not bad or tired:
                break
            for pair, share in bad.items():
                self._blame(candidate, pair, HELD * share)
        assert best is not None
        even = _even_by_inverse(looking, self._able, self._alone)
        if best[2].rank[:4] > (0, 0.0, 0.0, 0.0) and even is not None:
            verdict, score = self._look(even)
            if score.rank < best[2].rank:
                best = even, verdict, score
        chosen = {key: self._trial.ways[way] for key, way in best[0].items()}
        ordered = {reach.key: chosen.get(reach.key, reach.choices[0]) for reach in self._reaches}
        return Found(self._wanted, ordered, self._reaches, best[1], best[2], len(self._trial.ways), rounds)

    def hold_against(self, found: Found, pairs: Iterable[tuple[str, str]]) -> None:
        """Pairs of rods that come too near in some other way than fishing weigh more from now on."""
        at = self._looking.numbers(found.choices)
        for pair in pairs:
            self._blame(at, pair, HELD)

    def _look(self, at: Mapping[str, int]) -> tuple[Verdict, Score]:
        """What all members say of a way."""
        key = tuple(at.values())
        if key not in self._judged:
            rods = {rod: self._trial.ways[way].now for rod, way in at.items()} | self._carried
            verdict = judge(self._spread, rods, self._wanted, self._u_turn_s, self._draws)
            self._judged[key] = verdict, score_of(self._wanted, verdict, [self._trial.ways[way] for way in key])
        return self._judged[key]

    def _blame(self, at: Mapping[str, int], pair: tuple[str, str], cost: float) -> None:
        """A clipped rod's crossing is its carrier's."""
        first, second = (at.get(self._carriers.get(key, key)) for key in pair)
        if first is not None and second is not None and first != second:
            self._trial.blame(first, second, cost)


def score_of(wanted: Wanted, verdict: Verdict, choices: Sequence[Choice]) -> Score:
    """How good a way to fish is; ``choices`` that take a level count for how even depths are."""
    shares = verdict.pairs.values()
    over = [share for share in shares if share > MOST_SHARE]
    depths = [choice.depth_m for choice in choices if choice.level is not None]
    line = sum(choice.now.line_out_as_counter_m or 0.0 for choice in choices)
    off = float(np.nansum(off_band_m(wanted, np.array([choice.depth_m for choice in choices]))))
    return Score(len(over), sum(over), off, unevenness_m(wanted, depths), sum(shares), line)


def _rounds(looking: _Search, at: dict[str, int], other: dict[str, int]) -> Iterator[dict[str, int]]:
    """What to ask all members about: each time the best that is left, after what they said of the one before."""
    asked: list[dict[str, int]] = []
    while at not in asked:
        asked.append(at)
        yield at
        at = min((looking.improved(start) for start in (at, other)), key=looking.cost)


def _even_by_inverse(looking: _Search, able: Sequence[Reach], alone: Mapping[str, Choice]) -> dict[str, int] | None:
    """Levels handed out in file order at the settings there are: what one would do without looking at crossings."""
    made = dict(alone)
    for level, reach in enumerate(able):
        ways = [c for c in reach.choices if c.now.setting == looking.setting_now(reach.key)] or list(reach.choices)
        made[reach.key] = min(ways, key=lambda choice: abs((choice.level or 0) - level))
    return looking.numbers(made) if made else None


class _Search:
    """Goes from one way to fish a spread to a better neighbour."""

    def __init__(
        self, spread: Spread, wanted: Wanted, trial: Trial, own: Sequence[Reach], levels: int,
        now: Mapping[str, RodNow],
    ) -> None:  # fmt: skip
        self._spread, self._wanted, self._trial, self._levels, self._now = spread, wanted, trial, levels, now
        self._reach = {reach.key: reach for reach in own}
        self._of: dict[str, list[int]] = {reach.key: [] for reach in own}
        for number, way in enumerate(trial.ways):
            self._of[way.key].append(number)
        self._alone = [self._unary(number) for number in range(len(trial.ways))]

    def numbers(self, choices: Mapping[str, Choice]) -> dict[str, int]:
        """Choices by their numbers among the ways, in file order."""
        return {key: next(n for n in ways if self._trial.ways[n] == choices[key]) for key, ways in self._of.items()}

    def setting_now(self, key: str) -> str | None:
        rod = self._spread.rod_by_key(key)
        mine = self._now.get(key, AS_FILED).setting
        return mine if mine is not None or rod is None else self._spread.setting(rod)

    def _unary(self, number: int) -> float:
        way = self._trial.ways[number]
        cost = PER_100_M * (way.now.line_out_as_counter_m or 0.0) / 100.0
        cost += OFF_10_M * float(np.nan_to_num(off_band_m(self._wanted, np.array(way.depth_m)))) / 10.0
        reach = self._reach[way.key]
        if reach.fixed and way.now.line_out_as_counter_m != reach.present_m:
            cost += OTHER_LENGTH
        if way.now.setting is not None and way.now.setting != self.setting_now(way.key):
            cost += OTHER_SETTING
        return cost if self._trial.works(number) else cost + 1e3

    def cost(self, at: Mapping[str, int]) -> float:
        """Of a whole spread."""
        ways = list(at.values())
        pairs = [(a, b) for i, a in enumerate(ways) for b in ways[i + 1 :]]
        self._trial.look(pairs)
        return sum(self._alone[n] for n in ways) + sum(self._trial.cost(*pair) for pair in pairs) + self._crowding(at)

    def _crowding(self, at: Mapping[str, int]) -> float:
        """Levels that nobody takes."""
        taken = {self._trial.ways[n].level for n in at.values()} - {None}
        return CROWDED * (self._levels - len(taken))

    def improved(self, at: Mapping[str, int]) -> dict[str, int]:
        """The end of the steepest way down."""
        here = dict(at)
        for _ in range(MOST_STEPS):
            step = self._best_step(here)
            if step is None or step[0] > -1e-9:
                return here
            here = step[1]
        return here

    def _best_step(self, here: dict[str, int]) -> tuple[float, dict[str, int]] | None:
        moves = list(self._moves(here))
        asked = {
            (min(new, other), max(new, other))
            for move in moves
            for key, new in move.items()
            for at, other in {**here, **move}.items()
            if at != key
        }
        self._trial.look(asked)
        if not moves:
            return None
        change, number = min((self._change(here, move), number) for number, move in enumerate(moves))
        return change, {**here, **moves[number]}

    def _change(self, here: Mapping[str, int], move: Mapping[str, int]) -> float:
        """What a move adds to the cost."""
        there = {**here, **move}
        cost = self._trial.cost
        change = self._crowding(there) - self._crowding(here)
        done: set[str] = set()
        for key, new in move.items():
            done.add(key)
            change += self._alone[new] - self._alone[here[key]]
            for other in here:
                if other not in done:
                    change += cost(new, there[other]) - cost(here[key], here[other])
        return change

    def _moves(self, here: Mapping[str, int]) -> Iterator[dict[str, int]]:
        """One rod fished otherwise; or two that exchange depths, at any setting of either."""
        ways = self._trial.ways
        for key, options in self._of.items():
            yield from ({key: n} for n in options if n != here[key])
        keys = list(self._of)
        for i, a in enumerate(keys):
            for b in keys[i + 1 :]:
                la, lb = ways[here[a]].level, ways[here[b]].level
                if la is None or lb is None or la == lb:
                    continue
                at_b = [n for n in self._of[a] if ways[n].level == lb]
                at_a = [n for n in self._of[b] if ways[n].level == la]
                yield from ({a: x, b: y} for x in at_b for y in at_a)


def slower_turn_s(
    spread: Spread, found: Found, wanted: Wanted, u_turn_s: float, draws: Draws | None = None
) -> float | None:
    """How slow a half circle must be so that nothing crosses, at most four times as slow; None: even so it does."""
    rods = {key: choice.now for key, choice in found.choices.items()}
    for factor in (1.5, 2.0, 4.0):
        longer = math.ceil(u_turn_s * factor / 30.0) * 30.0
        verdict = judge(spread, rods, wanted, longer, draws or Draws())
        if not any(share > MOST_SHARE for share in verdict.pairs.values()):
            return longer
    return None
