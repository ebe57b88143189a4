"""Finds what produces: compares every value of every factor with the rest, and says what stands out.

A value of the water (a depth, a speed) is compared with all others, in the hours in which it is known. Rods, and
groups of rods with something in common, are compared with all other rods. Where only some rods can have such a value
(only divers are high or low), they are compared with their like too. Any two rods are also a group. A limit on the
share of false discoveries holds for all comparisons together: with more questions each needs stronger evidence.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from sternwatch.debrief.counting.factors import OF_RIG, Factor, Value, words
from sternwatch.debrief.counting.rates import (
    FALSE_DISCOVERIES,
    TwoRates,
    discoveries,
    hours_to_tell,
    one_in,
    poisson_interval,
    two_rates,
)
from sternwatch.debrief.counting.tally import Count, Tally
from sternwatch.gear.values.units import DisplaySystem

HOUR_S = 3600.0
MOST_FINDINGS = 5


@dataclass(frozen=True, slots=True)
class Like:
    """The comparison of a value with its like: those that have another value of its factor."""

    words: tuple[Value, ...]  # the other values
    rods: tuple[str, ...]
    hits: int
    hours: float
    rates: TwoRates | None
    found: bool = False


@dataclass(frozen=True, slots=True)
class Comparison:
    """One value against the rest. Rates are hits per rod-hour; intervals are at 90 %."""

    value: Value
    rods: tuple[str, ...]
    hits: int
    hours: float
    rest_hits: int
    rest_hours: float
    rate_interval: tuple[float, float]
    rates: TwoRates | None  # None: there is nothing to compare with
    found: bool = False  # a discovery against the rest, or against its like
    like: Like | None = None  # None: its like is the whole rest

    @property
    def rate(self) -> float | None:
        """Hits per rod-hour."""
        return self.hits / self.hours if self.hours > 0 else None

    @property
    def share(self) -> float:
        """The share of the rod time."""
        return self.hours / (self.hours + self.rest_hours)

    @property
    def better(self) -> bool:
        """Whether its rate is above that of the rest, or of its like where only that difference stands out."""
        like = self.like
        if like is not None and like.found and _p(self.rates) > _p(like.rates):
            return self.hits * like.hours > like.hits * self.hours
        return self.hits * self.rest_hours > self.rest_hits * self.hours


@dataclass(frozen=True, slots=True)
class Finding:
    """Values that stand out together, with their sentence."""

    values: tuple[Value, ...]
    rods: tuple[str, ...]
    better: bool
    hits: int
    of: int
    share: float
    p: float
    text: str


@dataclass(frozen=True, slots=True)
class Producing:
    """All results on what produced."""

    hits: int  # hits in recorded fishing time
    hours: float  # rod-hours
    outside: int  # hits left out because their hours are unknown
    comparisons: tuple[Comparison, ...]
    findings: tuple[Finding, ...]
    undecided: str  # "not enough to tell …"; empty where something stands out

    @property
    def lines(self) -> tuple[str, ...]:
        """The sentences of the findings, or the reason why there are none."""
        said = [finding.text for finding in self.findings] or [self.undecided]
        if self.outside:
            s = "" if self.outside == 1 else "s"
            said.append(
                f"{self.outside} hit{s} outside recorded fishing time: no rate counts {'it' if not s else 'them'}"
            )
        return tuple(said)


def producing(tally: Tally, units: DisplaySystem, q: float = FALSE_DISCOVERIES) -> Producing:
    """Compare all values of all factors, and say what stands out."""
    compared = _judged(_compared(tally), q)
    total = tally.total
    findings = _findings(compared, tally, units)
    undecided = "" if findings else _undecided(compared, total, units, q)
    told = {value for finding in findings for value in finding.values}
    # All pairs count as questions; those that add nothing to their rods get no line.
    shown = tuple(c for c in compared if c.value.factor is not Factor.PAIR or c.value in told)
    return Producing(total.hits, total.seconds / HOUR_S, tally.outside, shown, findings, undecided)


def _compared(tally: Tally) -> list[Comparison]:
    result = []
    total = tally.total
    for factor in Factor:
        if factor is Factor.ALL:
            continue
        values = [(v, c) for v, c in tally.values(factor) if c.seconds > 0 or c.hits > 0]
        hits, seconds = sum(c.hits for _, c in values), sum(c.seconds for _, c in values)
        if factor not in OF_RIG or (hits, seconds) == (total.hits, total.seconds):
            result += [_one(value, count, hits, seconds) for value, count in values]
            continue
        for value, count in values:
            others = [(v, c) for v, c in values if v is not value]
            rods = tuple(sorted({rod for _, c in others for rod in c.rods}))
            like_hits, like_hours = hits - count.hits, (seconds - count.seconds) / HOUR_S
            rates = two_rates(count.hits, count.seconds / HOUR_S, like_hits, like_hours)
            like = Like(tuple(v for v, _ in others), rods, like_hits, like_hours, rates) if others else None
            result.append(replace(_one(value, count, total.hits, total.seconds), like=like))
    return [*result, *_pairs(tally)]


def _pairs(tally: Tally) -> Iterator[Comparison]:
    """Compare any two rods with all others."""
    total = tally.total
    for (_, one), (_, other) in combinations(tally.values(Factor.ROD), 2):
        both = Count(one.hits + other.hits, one.seconds + other.seconds, one.rods | other.rods)
        if len(both.rods) == 2 and both.seconds > 0:
            yield _one(Value(Factor.PAIR, word=_listed(sorted(both.rods))), both, total.hits, total.seconds)


def _one(value: Value, count: Count, hits: int, seconds: int) -> Comparison:
    hours, rest_hours = count.seconds / HOUR_S, (seconds - count.seconds) / HOUR_S
    low, high = poisson_interval(count.hits)
    per_hour = (low / hours, high / hours) if hours > 0 else (0.0, float("inf"))
    rates = two_rates(count.hits, hours, hits - count.hits, rest_hours)
    return Comparison(
        value, tuple(sorted(count.rods)), count.hits, hours, hits - count.hits, rest_hours, per_hour, rates
    )


def _judged(compared: list[Comparison], q: float) -> tuple[Comparison, ...]:
    """Mark discoveries. Comparisons that ask the same question count once."""
    asked = _asked(compared)
    told = {question for question, yes in zip(asked, discoveries(list(asked.values()), q), strict=True) if yes}
    judged = []
    for one in compared:
        like = None if one.like is None else replace(one.like, found=_like_question(one, one.like) in told)
        found = _question(one, compared) in told or (like is not None and like.found)
        judged.append(replace(one, found=found, like=like))
    return tuple(judged)


def _asked(compared: Sequence[Comparison]) -> dict[object, float]:
    """Every question with its p-value."""
    asked: dict[object, float] = {}
    for one in compared:
        if one.rates is not None:
            asked.setdefault(_question(one, compared), one.rates.p)
        if one.like is not None and one.like.rates is not None:
            asked.setdefault(_like_question(one, one.like), one.like.rates.p)
    return asked


def _p(rates: TwoRates | None) -> float:
    return rates.p if rates is not None else 1.0


def _least_p(one: Comparison) -> float:
    return min(_p(one.rates), _p(one.like.rates) if one.like is not None else 1.0)


def _question(one: Comparison, all_of: Sequence[Comparison]) -> object:
    """The question of a comparison: these against those, whatever the factor and the order of the two sides."""
    if one.value.factor in OF_RIG:
        every = frozenset(rod for c in all_of if c.value.factor is Factor.ROD for rod in c.rods)
        rest = every - frozenset(one.rods)
        return _sides(one, rest, one.rest_hits, one.rest_hours)
    if sum(c.value.factor is one.value.factor for c in all_of) == 2:
        return one.value.factor
    return one.value


def _like_question(one: Comparison, like: Like) -> object:
    return _sides(one, frozenset(like.rods), like.hits, like.hours)


def _sides(one: Comparison, rods: frozenset[str], hits: int, hours: float) -> object:
    return frozenset({(frozenset(one.rods), one.hits, round(one.hours, 6)), (rods, hits, round(hours, 6))})


def _findings(compared: Sequence[Comparison], tally: Tally, units: DisplaySystem) -> tuple[Finding, ...]:
    groups = [group for factor in Factor for group in _groups(compared, factor, len(tally.values(factor)))]
    made = [_finding(group, tally, units) for group in groups]
    made.sort(key=lambda f: (not f.better, f.p, [v.key for v in f.values]))
    kept: dict[tuple[tuple[str, ...], int, float], Finding] = {}
    for finding in made:
        # A lagging value is not named where it is simply all the rest of a catching one.
        told = any(k.hits == k.of - finding.hits and abs(k.share + finding.share - 1.0) < 1e-9 for k in kept.values())
        if finding.better or not told:
            kept.setdefault((finding.rods, finding.hits, finding.share), finding)
    return tuple(kept.values())[:MOST_FINDINGS]


def _groups(compared: Sequence[Comparison], factor: Factor, values: int) -> list[list[Comparison]]:
    """The values of a factor that stand out: the catching ones together, and the lagging ones together."""
    if factor is Factor.PAIR:
        return _telling_pairs(compared)
    found = [c for c in compared if c.found and c.value.factor is factor]
    better, worse = ([c for c in found if c.better is side] for side in (True, False))
    if values == 2 and len(better) == len(worse) == 1:
        worse = []  # of two values name the catching one; the other says the same
    return [group for group in (better, worse) if group]


def _telling_pairs(compared: Sequence[Comparison]) -> list[list[Comparison]]:
    """Catching pairs that show more than each of their rods alone; no rod twice."""
    alone = {c.rods: c for c in compared if c.value.factor is Factor.ROD and len(c.rods) == 1}
    taken = {rod for c in alone.values() if c.found for rod in c.rods}
    told = []
    for pair in sorted((c for c in compared if c.value.factor is Factor.PAIR and c.found and c.better), key=_least_p):
        rods = [alone[rod,] for rod in pair.rods if (rod,) in alone]
        if all(rod.better and _p(rod.rates) > _p(pair.rates) for rod in rods) and not taken & set(pair.rods):
            told.append([pair])
            taken |= set(pair.rods)
    return told


def _finding(group: Sequence[Comparison], tally: Tally, units: DisplaySystem) -> Finding:
    hits, hours = sum(c.hits for c in group), sum(c.hours for c in group)
    of, all_hours = group[0].hits + group[0].rest_hits, group[0].hours + group[0].rest_hours
    together = two_rates(hits, hours, of - hits, all_hours - hours)
    p = together.p if together is not None else min(_p(c.rates) for c in group)
    rods = tuple(sorted({rod for c in group for rod in c.rods}))
    name = _name(group, rods, tally, units)
    share = hours / all_hours
    count = f"{hits} of {of} hits" if hits else f"none of {of} hits"
    text = f"{name}: {count} in {share * 100:.0f} % of the rod time; by luck, that happens {one_in(p)}"
    text += _against_like(group, hits, hours, units)
    return Finding(tuple(c.value for c in group), rods, group[0].better, hits, of, share, p, text)


def _against_like(group: Sequence[Comparison], hits: int, hours: float, units: DisplaySystem) -> str:
    """The comparison with their like: "; against low divers alone 9 of 10 in 50 %, by luck 1 time in 90"."""
    like = group[0].like
    if like is None:
        return ""
    mine = {c.value for c in group}
    others = [value for value in like.words if value not in mine]
    of = group[0].hits + like.hits
    rest_hours = group[0].hours + like.hours - hours
    rates = two_rates(hits, hours, of - hits, rest_hours)
    if not others or rates is None:
        return ""
    named = _listed([words(value, units) for value in others[:2]]) if len(others) <= 2 else "others of the same kind"
    share = hours / (hours + rest_hours)
    return f"; against {named} alone {hits} of {of} in {share * 100:.0f} %, by luck {one_in(rates.p)}"


def _name(group: Sequence[Comparison], rods: Sequence[str], tally: Tally, units: DisplaySystem) -> str:
    """The name: the rods where the values cover just these rods, followed by what they have in common."""
    said = _listed([words(c.value, units) for c in group])
    factor = group[0].value.factor
    if factor not in OF_RIG:
        return said[0].upper() + said[1:]
    if factor in (Factor.ROD, Factor.PAIR):
        alike = [v for v, c in tally.by_value.items() if v.factor in OF_RIG and v.factor is not Factor.ROD
                 and tuple(sorted(c.rods)) == tuple(rods) and _whole(c, rods, tally)]  # fmt: skip
        same = min(alike, key=lambda v: _TELLING.index(v.factor), default=None)
        if len(group) == 1 and factor is Factor.ROD:
            return group[0].value.word
        return _listed(rods) + (f" ({words(same, units)})" if same is not None else "")
    seconds = sum(c.hours for c in group)
    whole = abs(seconds - sum(_rod_seconds(rod, tally) for rod in rods) / HOUR_S) < 1e-6
    return f"{_listed(rods)} ({said})" if whole else said[0].upper() + said[1:]


# The most informative factor first, for rods with several things in common.
_TELLING = (Factor.LEVEL, Factor.COLOUR, Factor.LURE, Factor.RIG, Factor.SETTING, Factor.SIDE)


def _whole(count: Count, rods: Sequence[str], tally: Tally) -> bool:
    return count.seconds == sum(_rod_seconds(rod, tally) for rod in rods)


def _rod_seconds(rod: str, tally: Tally) -> int:
    return sum(c.seconds for _, c in tally.values(Factor.ROD) if c.rods == {rod})


def _listed(items: Iterable[str]) -> str:
    found = list(items)
    return found[0] if len(found) == 1 else f"{', '.join(found[:-1])} and {found[-1]}"


def _undecided(compared: Sequence[Comparison], total: Count, units: DisplaySystem, q: float) -> str:
    hours = total.seconds / HOUR_S
    if total.hits == 0:
        return f"No hits in {_hours(hours)}: nothing to tell yet" if hours else "No fishing time recorded yet"
    so_far = f"Not enough to tell: {total.hits} hit{'s' * (total.hits != 1)} in {_hours(hours)}"
    ahead = [c for c in compared if c.rates is not None and c.better and c.value.factor is not Factor.HOUR]
    if not ahead:
        return so_far
    best = min(ahead, key=lambda c: _p(c.rates))
    questions = max(1, len(_asked(compared)))
    more = hours_to_tell(best.hits, best.hours, best.rest_hits, best.rest_hours, q / questions)
    name = words(best.value, units)
    part = f"{best.share * 100:.0f} % of the rod time"
    leads = f"{so_far}. Best so far: {name}, {best.hits} of {best.hits + best.rest_hits} hits in {part}"
    if more is None:
        return f"{leads}, which may well be luck"
    return f"{leads}. At this rate {_hours(max(more, 1.0), about=True)} more would tell"


def _hours(hours: float, *, about: bool = False) -> str:
    figure = f"{hours:.0f}" if about or hours >= 10 else f"{hours:.1f}"
    return f"{'about ' if about else ''}{figure} rod-hour{'s' * (figure != '1')}"
