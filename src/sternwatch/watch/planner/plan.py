"""A plan of the spread as one value: settings and lengths, their results, what prevents more, and the order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sternwatch.answers.belief.answer import believed_answer, believed_line
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.priors import MEMBERS, Draws
from sternwatch.answers.chains.arrays import AS_FILED, RodNow
from sternwatch.answers.depths.depth import RodAnswer
from sternwatch.answers.depths.hand_out import unevenness_m
from sternwatch.answers.depths.reach import Choice, Wanted
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.gear.values.quantities import LET_OUT_M_S
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.outlook import Forecast
from sternwatch.watch.planner.letting_out import LetOut, LettingOut
from sternwatch.watch.planner.orders import practice_order
from sternwatch.watch.planner.search import MOST_SHARE, Found, Planner, slower_turn_s

# A lure this near to the band counts as in it: nobody sets a counter more finely.
NEARLY_M = 0.5


@dataclass(frozen=True, slots=True)
class RodOfPlan:
    """One rod as planned and as it is. Lengths as the counter reads. None: unknown, or does not exist."""

    key: str
    name: str
    setting: str | None
    line_out_m: float | None
    present_setting: str | None
    present_line_out_m: float | None
    depth_m: float | None
    depth_quantiles_m: tuple[float, ...] | None
    astern_m: float | None
    abeam_m: float | None
    in_band: bool
    why: str  # what prevents choosing its depth

    @property
    def depth_interval_m(self) -> tuple[float, float] | None:
        """From the 5 % to the 95 % quantile."""
        return None if self.depth_quantiles_m is None else (self.depth_quantiles_m[0], self.depth_quantiles_m[-1])

    @property
    def changes(self) -> bool:
        """Whether the plan changes anything of it."""
        setting = self.setting is not None and self.setting != self.present_setting
        return setting or (self.line_out_m is not None and self.line_out_m != self.present_line_out_m)


@dataclass(frozen=True)
class SpreadPlan:
    """A plan of the whole spread."""

    wanted: Wanted
    u_turn_s: float | None
    rods: tuple[RodOfPlan, ...]  # in file order
    unevenness_m: float
    any_crossing: float  # share of the members in which any pair crosses, in the worse turn
    crossing: tuple[tuple[tuple[str, str], float], ...]  # pairs that cross in more members than one of sixteen
    slower_s: float | None  # time of a half circle without a crossing; None: not searched, or not found
    letting_out: LetOut
    drawn: Forecast  # every line as it will be, for the views
    ways: int  # number of ways that were compared
    rounds: int

    @property
    def met(self) -> bool:
        """Whether every lure is in the band, and no pair crosses in more than one member of sixteen."""
        return all(rod.in_band for rod in self.rods) and not self.crossing

    @property
    def entry(self) -> list[dict[str, Any]]:
        """The rods of the entry "planned": those that the plan changes."""
        made = []
        for rod in self.rods:
            if rod.changes:
                setting = rod.setting if rod.setting != rod.present_setting else None
                given = {"rod": rod.key, "line_out_m": rod.line_out_m, "setting": setting}
                made.append({name: value for name, value in given.items() if value is not None})
        return made

    def in_the_way(self, spread: Spread, units: DisplaySystem) -> list[str]:
        """What prevents the plan from meeting the wish, a sentence each. Empty where nothing does."""
        names = {rod.key: f"{rod.key} {rod.name}" for rod in self.rods}
        said = []
        for rod in self.rods:
            if not rod.in_band:
                depth = units.show(rod.depth_m, Dimension.LENGTH)
                why = rod.why or "other lines are in the way"
                said.append(f"{names[rod.key]} runs at {depth}: {why}")
        for (a, b), share in self.crossing:
            how = "on a straight course" if self.u_turn_s is None else f"in a U-turn in {minutes(self.u_turn_s)}"
            said.append(f"{names[a]} and {names[b]} cross {how} in {100 * share:.0f} % of the versions")
        if self.crossing and self.u_turn_s is not None:
            none = "No slower U-turn avoids that, not even in four times the time"
            slower = (
                None if self.slower_s is None else f"A U-turn in {minutes(self.slower_s)} makes crossing unlikely"
            )
            said.append(slower or none)
        for rod in self.rods:
            filed = spread.rod_by_key(rod.key)
            if filed is not None and filed.speeds_m_s is not None:
                low, high = filed.speeds_m_s
                if not low <= self.wanted.speed_m_s <= high:
                    span = (
                        f"{units.show(low, Dimension.SPEED, 1, label=False)}–{units.show(high, Dimension.SPEED, 1)}"
                    )
                    said.append(f"{names[rod.key]}'s lure works at {span}")
        for one in self.letting_out.crossings:
            said.append(f"{names[one.going]} crosses {names[one.out]} on its way out, whatever the order")
        unknown = [names[key] for key in self.letting_out.unknown]
        if unknown:
            said.append(f"The way out of {', '.join(unknown)} could not be computed")
        return said


def minutes(seconds: float) -> str:
    """A time in words: "2 min", "90 s"."""
    return f"{seconds / 60.0:.0f} min" if seconds % 60.0 == 0.0 else f"{seconds:.0f} s"


def make_plan(
    spread: Spread,
    wanted: Wanted,
    *,
    u_turn_s: float | None,
    now: Mapping[str, RodNow] | None = None,
    seed: int | None = None,
    learned: Calibration | None = None,
    pay_out_m_s: float = LET_OUT_M_S,
) -> SpreadPlan:
    """Make the plan for the wanted rods.

    ``now``: how rods differ from the file; ``seed`` and ``learned``: of the members.
    """
    given, draws = dict(now or {}), Draws(seed, MEMBERS, learned)
    planner = Planner(spread, wanted, u_turn_s=u_turn_s, now=given, draws=draws)
    found = planner.best()
    _, order = _let_out(spread, found, pay_out_m_s)
    if order.crossings:  # another way to fish, looked for once: each takes as long as the first
        planner.hold_against(found, [(one.going, one.out) for one in order.crossings])
        other = planner.best()
        if other.choices != found.choices:
            _, other_order = _let_out(spread, other, pay_out_m_s)
            # Never exchange a plan for one that goes out without a crossing but crosses more while it fishes.
            if (other.score.rank[:2], len(other_order.crossings)) < (found.score.rank[:2], len(order.crossings)):
                found = other
    found = _by_median(spread, found, learned)
    out, order = _let_out(spread, found, pay_out_m_s)
    rods = {key: choice.now for key, choice in found.choices.items()}
    own = spread.model_copy(update={"rod": tuple(rod for rod in spread.rods if _fished(rod, rods))})
    answer = believed_answer(own, wanted.speed_m_s, heading_rad=wanted.heading_rad, now=rods, learned=learned)
    answers = {rod.key: rod for rod in answer.rods}
    planned = tuple(_rod(spread, rod, found, given, answers.get(rod.key)) for rod in spread.rods if rod.key in rods)
    over = {pair: share for pair, share in found.verdict.pairs.items() if share > MOST_SHARE}
    slower = slower_turn_s(spread, found, wanted, u_turn_s, draws) if over and u_turn_s is not None else None
    depths = [choice.depth_m for choice in found.choices.values() if choice.level is not None]
    return SpreadPlan(
        wanted=wanted,
        u_turn_s=u_turn_s,
        rods=planned,
        unevenness_m=unevenness_m(wanted, depths),
        any_crossing=found.verdict.any_crossing,
        crossing=tuple(sorted(over.items(), key=lambda one: (-one[1], one[0]))),
        slower_s=slower,
        letting_out=order,
        drawn=_drawn(out),
        ways=found.ways,
        rounds=found.rounds,
    )


def _by_median(spread: Spread, found: Found, learned: Calibration | None) -> Found:
    """The choices with line out for the median depths. The trials used nominal chains."""
    choices, wanted = dict(found.choices), found.wanted
    for key, choice in found.choices.items():
        rod = spread.rod_by_key(key)
        if rod is None or choice.level is None or choice.depth_m is None or rod.line_out_m is None:
            continue
        line = believed_line(
            spread, rod, choice.depth_m, wanted.speed_m_s, heading_rad=wanted.heading_rad, now=choice.now,
            learned=learned,
        ).line_out_as_counter_m  # fmt: skip
        if line is not None:
            choices[key] = replace(choice, now=replace(choice.now, line_out_as_counter_m=line))
    return replace(found, choices=choices)


def _let_out(spread: Spread, found: Found, pay_out_m_s: float) -> tuple[LettingOut, LetOut]:
    """Let every line out, and find the order with the fewest crossings."""
    wanted, rods = found.wanted, {key: choice.now for key, choice in found.choices.items()}
    out = LettingOut(spread, rods, wanted.speed_m_s, heading_rad=wanted.heading_rad, pay_out_m_s=pay_out_m_s)
    places = {key: float(going.shape_m[-1, -1, 1]) for key, going in out.goings.items()}
    return out, out.best(practice_order(spread, {key: rods[key] for key in out.goings}, places))


def _drawn(out: LettingOut) -> Forecast:
    """Every line once it is out: [astern, abeam, depth]."""
    shapes = {key: going.shape_m[-1] * np.array([-1.0, 1.0, 1.0]) for key, going in out.goings.items()}
    return Forecast(
        Manoeuvre("as planned"), 1, 0.0, 0.0, None, (), (), np.zeros(0), np.zeros((0, 3)), worst_shapes_m=shapes
    )  # fmt: skip


def _fished(rod: Rod, rods: Mapping[str, RodNow]) -> bool:
    """Whether a rod can be fished: not one on a cable that is not planned."""
    return rod.key in rods and (rod.clipped_to is None or rod.clipped_to.rod in rods)


def _rod(spread: Spread, rod: Rod, found: Found, now: Mapping[str, RodNow], answer: RodAnswer | None) -> RodOfPlan:
    choice: Choice = found.choices[rod.key]
    reach = next(reach for reach in found.reaches if reach.key == rod.key)
    mine, wanted = now.get(rod.key, AS_FILED), found.wanted
    depth = answer.depth_m if answer is not None else None
    setting = choice.now.setting if choice.now.setting is not None else spread.setting(rod)
    return RodOfPlan(
        key=rod.key,
        name=rod.name,
        setting=setting,
        line_out_m=choice.now.line_out_as_counter_m if rod.line_out_m is not None else None,
        present_setting=mine.setting if mine.setting is not None else spread.setting(rod),
        present_line_out_m=reach.present_m,
        depth_m=depth,
        depth_quantiles_m=answer.depth_quantiles_m if answer is not None else None,
        astern_m=answer.astern_m if answer is not None else None,
        abeam_m=answer.abeam_m if answer is not None else None,
        in_band=depth is not None and wanted.from_m - NEARLY_M <= depth <= wanted.to_m + NEARLY_M,
        why=reach.why,
    )
