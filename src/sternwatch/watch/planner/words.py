"""A plan of the spread in words: the wish, a row for each rod in the order to let out, and the result."""

from __future__ import annotations

from sternwatch.answers.belief.priors import MEMBERS
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.planner.plan import RodOfPlan, SpreadPlan, minutes


def headline(spread: Spread, plan: SpreadPlan, units: DisplaySystem) -> str:
    """The wish in one line."""
    low = units.show(plan.wanted.from_m, Dimension.LENGTH, label=False)
    high = units.show(plan.wanted.to_m, Dimension.LENGTH)
    pace = units.show(plan.wanted.speed_m_s, Dimension.SPEED, 1)
    turn = "" if plan.u_turn_s is None else f", U-turns in {minutes(plan.u_turn_s)}"
    return f"{spread.boat.name}: lures from {low} to {high} at {pace} through the water{turn}"


def heads(units: DisplaySystem) -> tuple[str, ...]:
    """The heading over :func:`rows`, in two lines."""
    length = units.label(Dimension.LENGTH)
    return (
        "rod", "setting", f"line out\n{length}", f"now\n{length}", f"depth\n{length}", f"90 % in\n{length}",
        f"abeam\n{length}",
    )  # fmt: skip


def rows(plan: SpreadPlan, units: DisplaySystem) -> list[tuple[str, ...]]:
    """One row for each rod, in the order to let out. Rods without their own line come last."""
    by_key = {rod.key: rod for rod in plan.rods}
    order = [*plan.letting_out.keys, *(key for key in by_key if key not in plan.letting_out.keys)]
    return [_row(by_key[key], units) for key in order]


def _row(rod: RodOfPlan, units: DisplaySystem) -> tuple[str, ...]:
    def length(value: float | None) -> str:
        return units.show(value, Dimension.LENGTH, 0 if units.length == "ft" else 1, label=False)

    interval = rod.depth_interval_m
    side = "" if rod.abeam_m is None else " P" if rod.abeam_m < 0 else " S"
    now = length(rod.present_line_out_m) if rod.line_out_m is not None else "–"
    if rod.setting != rod.present_setting:
        now += f" {rod.present_setting}"
    return (
        f"{rod.key} {rod.name}",
        rod.setting or "–",
        length(rod.line_out_m),
        now,
        length(rod.depth_m),
        "–" if interval is None else f"{length(max(0.0, interval[0]))}–{length(interval[1])}",
        "–" if rod.abeam_m is None else length(abs(rod.abeam_m)) + side,
    )


def found_words(plan: SpreadPlan, spread: Spread, units: DisplaySystem) -> list[str]:
    """How the order goes, how likely lines cross, and what prevents more: a sentence each, without a full stop."""
    share = (
        f"{100 * plan.any_crossing:.0f} % of the versions" if plan.any_crossing else f"in none of {MEMBERS} versions"
    )
    where = "on a straight course" if plan.u_turn_s is None else "in the worse of the U-turns"
    return [_order(plan), f"Any crossing {where}: {share}", *plan.in_the_way(spread, units)]


def _order(plan: SpreadPlan) -> str:
    order = plan.letting_out
    if not order.keys:
        return "No line to let out"
    about = f"about {max(order.time_s / 60.0, 1.0):.0f} min with one pair of hands"
    count = len(order.crossings)
    pairs = "1 pair touches" if count == 1 else f"{count} pairs touch"
    crossed = f"{pairs} on the way out" if count else "no line touches another on its way out"
    return f"Let out in this order: as simulated, {crossed}; {about}"
