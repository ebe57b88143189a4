"""The planner: finds settings and line out so that lures spread evenly over a band and lines keep apart.

It begins with assignments of depths to rods, compares ways to fish them, and moves to the best
neighbour while there is a better one. All members then run the result. Crossings that they find add to the cost of
the two ways that cross, and the search goes on. Steps are counted, not timed: the same spread and wishes give the
same plan.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sternwatch.answers.belief.priors import Draws
from sternwatch.answers.chains.arrays import AS_FILED, RodNow
from sternwatch.answers.depths.hand_out import beginnings, unevenness_m
from sternwatch.answers.depths.reach import Choice, Reach, Wanted, levels_m, off_band_m, reaches
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.picture.outlook import RISK
from sternwatch.watch.planner.trial import Trial, Verdict, judge

# A pair counts as kept apart where it crosses in no greater share of the members than is warned of.
MOST_SHARE = RISK
# Cost of one rod more than a level needs; a crossing costs ten or more.
CROWDED = 5.0
PER_100_M = 0.05
OTHER_SETTING = 0.02
OTHER_LENGTH = 0.05  # most lengths of a rod whose depth does not depend on them
OFF_10_M = 1.0
HELD = 10.0  # cost added to two ways that cross, times the share of the members
MOST_STEPS = 60
MOST_ROUNDS = 6
MOST_LOOKS = 8  # in all, however often the search goes on
PATIENCE = 3  # rounds without anything better before the search ends
BEST_BEGINNINGS = 2


@dataclass(frozen=True, slots=True)
class Score:
    """How good a way to fish a spread is. Fields compare in this order; less is better."""

    crossing: int  # pairs that cross in more than ``MOST_SHARE`` of the members
    risk: float  # their shares, added up
    off_m: float  # sum of the lures' distances outside the band
    uneven_m: float  # root mean square distance from even depths, to a twentieth of a metre
    slight: float  # sum of the shares of all pairs: other members may cross more often
    line_m: float  # line out in all

    @property
    def rank(self) -> tuple[float, ...]:
        steps = (round(length_m * 20.0) / 20.0 for length_m in (self.off_m, self.uneven_m))
        return self.crossing, round(self.risk, 3), *steps, round(self.slight, 3), self.line_m


@dataclass(frozen=True)
class Found:
    """The best way found, its score, and the amount of work."""

    wanted: Wanted
    choices: Mapping[str, Choice]  # of every wanted rod, in file order
    reaches: tuple[Reach, ...]
    verdict: Verdict
    score: Score
    ways: int  # number of ways compared
    rounds: int  # rounds in which all members ran


def search(
    spread: Spread,
    wanted: Wanted,
    *,
    u_turn_s: float | None,
    now: Mapping[str, RodNow] | None = None,
    draws: Draws | None = None,
) -> Found:
    """Search the best way to fish the wanted rods. ``now``: how rods differ from the file."""
    return Planner(spread, wanted, u_turn_s=u_turn_s, now=now, draws=draws).best()


class Planner:
    """Searches for the best way. It goes on from there when costs are added to ways in the meantime."""

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
        """The best way so far."""
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
        """Add cost to pairs of rods that come too near at another time than while fishing."""
        at = self._looking.numbers(found.choices)
        for pair in pairs:
            self._blame(at, pair, HELD)

    def _look(self, at: Mapping[str, int]) -> tuple[Verdict, Score]:
        """Run a way with all members."""
        key = tuple(at.values())
        if key not in self._judged:
            rods = {rod: self._trial.ways[way].now for rod, way in at.items()} | self._carried
            verdict = judge(self._spread, rods, self._wanted, self._u_turn_s, self._draws)
            self._judged[key] = verdict, score_of(self._wanted, verdict, [self._trial.ways[way] for way in key])
        return self._judged[key]

    def _blame(self, at: Mapping[str, int], pair: tuple[str, str], cost: float) -> None:
        """Count a clipped rod's crossing against its carrier."""
        first, second = (at.get(self._carriers.get(key, key)) for key in pair)
        if first is not None and second is not None and first != second:
            self._trial.blame(first, second, cost)


def score_of(wanted: Wanted, verdict: Verdict, choices: Sequence[Choice]) -> Score:
    """Score of a way to fish. ``choices`` that take a level count for the evenness of depths."""
    shares = verdict.pairs.values()
    over = [share for share in shares if share > MOST_SHARE]
    depths = [choice.depth_m for choice in choices if choice.level is not None]
    line = sum(choice.now.line_out_as_counter_m or 0.0 for choice in choices)
    off = float(np.nansum(off_band_m(wanted, np.array([choice.depth_m for choice in choices]))))
    return Score(len(over), sum(over), off, unevenness_m(wanted, depths), sum(shares), line)


def _rounds(looking: _Search, at: dict[str, int], other: dict[str, int]) -> Iterator[dict[str, int]]:
    """Ways for all members to run: each time the best one left, after the result of the one before."""
    asked: list[dict[str, int]] = []
    while at not in asked:
        asked.append(at)
        yield at
        at = min((looking.improved(start) for start in (at, other)), key=looking.cost)


def _even_by_inverse(looking: _Search, able: Sequence[Reach], alone: Mapping[str, Choice]) -> dict[str, int] | None:
    """Levels in file order at the present settings: a plan that ignores crossings."""
    made = dict(alone)
    for level, reach in enumerate(able):
        ways = [c for c in reach.choices if c.now.setting == looking.setting_now(reach.key)] or list(reach.choices)
        made[reach.key] = min(ways, key=lambda choice: abs((choice.level or 0) - level))
    return looking.numbers(made) if made else None


class _Search:
    """Moves from one way to fish a spread to a better neighbour."""

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
        """The numbers of choices among the ways, in file order."""
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
        """Cost of a whole spread."""
        ways = list(at.values())
        pairs = [(a, b) for i, a in enumerate(ways) for b in ways[i + 1 :]]
        self._trial.look(pairs)
        return sum(self._alone[n] for n in ways) + sum(self._trial.cost(*pair) for pair in pairs) + self._crowding(at)

    def _crowding(self, at: Mapping[str, int]) -> float:
        """Cost of levels that no rod takes."""
        taken = {self._trial.ways[n].level for n in at.values()} - {None}
        return CROWDED * (self._levels - len(taken))

    def improved(self, at: Mapping[str, int]) -> dict[str, int]:
        """The end of the steepest descent."""
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
        """The change of cost by a move."""
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
        """Moves: one rod fished differently; or two rods that exchange depths, at any setting of each."""
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
    """Time of a half circle without crossings, at most four times as slow. None: lines cross even then."""
    rods = {key: choice.now for key, choice in found.choices.items()}
    for factor in (1.5, 2.0, 4.0):
        longer = math.ceil(u_turn_s * factor / 30.0) * 30.0
        verdict = judge(spread, rods, wanted, longer, draws or Draws())
        if not any(share > MOST_SHARE for share in verdict.pairs.values()):
            return longer
    return None
