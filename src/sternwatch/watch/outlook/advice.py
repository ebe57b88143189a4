"""Advice against a forecast crossing or touch: the smallest single change that cures it, found by trying.

One member tries the candidates of each kind, from the smallest up. All members then confirm a cure found there.
For a crossing the one member is the median of those in which the likeliest pair crosses. For a touch
it is the deepest member within the set risk, with only the rod concerned. Every advice was simulated, and none brings
other tackle to the bottom.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Container, Iterable
from dataclasses import dataclass

import numpy as np

from sternwatch.gear.values.units import DisplaySystem
from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.boat.manoeuvres import path_of
from sternwatch.watch.chains.ensemble import Fleet, one_of, rods_of, run, with_line
from sternwatch.watch.forecast.bottom_ahead import Ground, raised_by, run_touches
from sternwatch.watch.forecast.make import Risk, risk
from sternwatch.watch.outlook.changes import (
    LINE_IN_STEPS,
    Change,
    line_step_m,
    lines,
    other_side,
    record,
    sentence,
    short,
    slower_turns,
    speeds,
    turns_away,
)
from sternwatch.watch.picture.outlook import RISK, Advice, Forecast

CONFIRMED = 3
# With a smaller share of a track sounded, nobody should send a boat there because it is deep enough.
SOUNDED = 0.8


@dataclass(frozen=True)
class Danger:
    """A forecast in which lines cross, and the limits of a cure."""

    fleet: Fleet
    made: Forecast
    speed_m_s: float
    required: Required
    set_risk: float = RISK
    ground: Ground | None = None
    on_bottom: Container[str] = ()

    def left(self, change: Change) -> float | None:
        """The share of all members that still cross after a change. None where it brings others to the bottom."""
        outcome = _try(change, self.fleet, self.speed_m_s, self.required)
        if outcome is None:
            return None
        if self.ground is not None:
            touching = {touch.key for touch in self.made.touches}
            if not touching >= {t.key for t in run_touches(outcome.run, self.ground, self.on_bottom)}:
                return None
        return outcome.any

    def advice(
        self, cures: Iterable[tuple[Change, float]], units: DisplaySystem, names: dict[str, str]
    ) -> tuple[Advice, ...]:
        """Cures in words."""
        v = self.speed_m_s
        return tuple(
            Advice(
                sentence(change, after, v, units, names, self.set_risk, members=self.made.members),
                record(change, v), after, short(change, v, units, names),
            )
            for change, after in cures
        )  # fmt: skip


def find_cures(danger: Danger, units: DisplaySystem, least_m: float = 0.0) -> list[tuple[Change, float]]:
    """At most three changes against a crossing, smallest first, with the share of members that still cross.

    In a turn a slower turn comes first: any helm can do it at once. None is tighter than ``least_m``. A change that
    leaves more than the set risk is kept only where nothing cures, and only if it at least halves the risk.
    """
    made, fleet, speed_m_s = danger.made, danger.fleet, danger.speed_m_s
    if made.worst is None or made.worst_member is None or made.any_crossing is None:
        return []
    manoeuvre, before = made.manoeuvre, made.any_crossing
    median = one_of(fleet, made.worst_member)

    def cures(change: Change) -> bool:
        outcome = _try(change, median, speed_m_s, danger.required)
        return outcome is not None and outcome.any == 0.0

    found: list[Change] = []
    slower = slower_turns(manoeuvre, speed_m_s, least_m)
    for kind in (slower, other_side(manoeuvre), speeds(manoeuvre, speed_m_s)):
        found += _first_cures(kind, cures)
    for key in _in_all(made, danger.set_risk):
        for sign in (1.0, -1.0):
            tried = lines(manoeuvre, key, sign * line_step_m(units), ball=_has_ball(fleet, key))
            found += _first_cures(tried, cures)
    return _confirmed(found, danger.left, before, danger.set_risk)


def advise(
    fleet: Fleet,
    made: Forecast,
    *,
    speed_m_s: float,
    required: Required,
    units: DisplaySystem,
    names: dict[str, str],
    set_risk: float = RISK,
    ground: Ground | None = None,
    on_bottom: Container[str] = (),
) -> tuple[Advice, ...]:
    """Cures of a crossing, in words.

    ``made``: the forecast to cure. ``names``: names of the rods, by key. Where ``ground`` is known, a change that
    brings another rod to the bottom (except those ``on_bottom`` on purpose) is no cure.
    """
    danger = Danger(fleet, made, speed_m_s, required, set_risk, ground, on_bottom)
    return danger.advice(find_cures(danger, units), units, names)


def advise_touch(
    fleet: Fleet,
    made: Forecast,
    key: str,
    ground: Ground,
    *,
    speed_m_s: float,
    required: Required,
    units: DisplaySystem,
    names: dict[str, str],
    set_risk: float = RISK,
    on_bottom: Container[str] = (),
) -> tuple[Advice, ...]:
    """The same against the bottom that rod ``key`` touches in ``made``, with the share of members that still touch.

    A change is no cure if more members then cross than before, or if it brings another rod to the bottom. Nor is a
    turn over ground of which less than ``SOUNDED`` is known.
    """
    manoeuvre = made.manoeuvre
    rod_alone = rods_of(fleet, (key,))
    path = path_of(manoeuvre, heading_rad=fleet.heading_rad, speed_m_s=speed_m_s)
    by, _ = raised_by(run(rod_alone, path), key, ground)
    known = np.flatnonzero(np.isfinite(by))
    if not len(known) or not (by[known] > 0.0).any():
        return ()
    order = known[np.argsort(-by[known], kind="stable")]
    deep = one_of(rod_alone, int(order[min(int(set_risk * len(known)), len(order) - 1)]))

    def keeps_off(change: Change) -> bool:
        left_m = _touching(change, deep, key, ground, speed_m_s)
        return left_m is not None and not (left_m > 0.0).any()

    found: list[Change] = []
    for kind in (
        slower_turns(manoeuvre, speed_m_s), other_side(manoeuvre), turns_away(manoeuvre, 1.0),
        turns_away(manoeuvre, -1.0), speeds(manoeuvre, speed_m_s),
        lines(manoeuvre, key, -line_step_m(units), LINE_IN_STEPS, ball=_has_ball(fleet, key)),
    ):  # fmt: skip
        found += _first_cures(kind, keeps_off)
    touching = {touch.key for touch in made.touches} | {key}
    crossing = max(set_risk, made.known_crossing)

    def left(change: Change) -> float | None:
        outcome = _try(change, fleet, speed_m_s, required)
        if outcome is None or outcome.any > crossing:
            return None
        if not touching >= {touch.key for touch in run_touches(outcome.run, ground, on_bottom)}:
            return None
        return _share(raised_by(outcome.run, key, ground)[0])

    return tuple(
        Advice(
            sentence(change, after, speed_m_s, units, names, set_risk, "bottom touch", members=made.members),
            record(change, speed_m_s), after, short(change, speed_m_s, units, names),
        )
        for change, after in _confirmed(found, left, _share(by), set_risk)
    )  # fmt: skip


def _share(by_m: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float:
    known = by_m[np.isfinite(by_m)]
    return float(np.mean(known > 0.0)) if len(known) else 1.0


def _in_all(made: Forecast, set_risk: float) -> tuple[str, ...]:
    """The rods that are in every pair likely to cross. Changing the line of one rod cures only these."""
    assert made.worst is not None
    likely = [set(pair.keys) for pair in made.pairs if pair.known_probability > set_risk]
    return tuple(key for key in made.worst.keys if all(key in keys for keys in likely))


def _changed(change: Change, fleet: Fleet) -> Fleet | None:
    """The fleet with the change's line. None where it is impossible, as for a rod on another's cable."""
    if change.rod is None:
        return fleet
    if fleet.cast.parent[fleet.cast.keys.index(change.rod)] >= 0:
        return None
    return with_line(fleet, change.rod, change.by_m)


def _has_ball(fleet: Fleet, key: str) -> bool:
    return "ball" in fleet.cast.rigs[fleet.cast.keys.index(key)].kinds


def _try(change: Change, fleet: Fleet, speed_m_s: float, required: Required) -> Risk | None:
    changed = _changed(change, fleet)
    return None if changed is None else risk(changed, change.manoeuvre, speed_m_s=speed_m_s, required=required)


def _touching(
    change: Change, alone: Fleet, key: str, ground: Ground, speed_m_s: float
) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]] | None:
    """How far a rod's members must still come up after a change. None where unknown."""
    changed = _changed(change, alone)
    if changed is None:
        return None
    path = path_of(change.manoeuvre, heading_rad=alone.heading_rad, speed_m_s=speed_m_s)
    by, sounded = raised_by(run(changed, path), key, ground)
    unknown = change.kind in ("turn", "side", "away") and sounded < SOUNDED
    return None if unknown or not np.isfinite(by).all() else by


def _first_cures(candidates: Iterable[Change], cures: Callable[[Change], bool]) -> list[Change]:
    """The smallest change of a kind that cures one member, and the next larger one as a second try."""
    cured: list[Change] = []
    for change in candidates:
        if cures(change):
            cured.append(change)
            if len(cured) == 2:
                break
    return cured


def _confirmed(
    found: list[Change], left: Callable[[Change], float | None], before: float, set_risk: float
) -> list[tuple[Change, float]]:
    """The smallest changes with the danger left in all members. Of each kind only the smallest that cures.

    A slower turn comes before all others. A still slower turn is no second advice.
    """
    found.sort(key=lambda change: (change.kind != "turn", change.effort))
    known = [(change, after) for change in found[:CONFIRMED] if (after := left(change)) is not None]
    good: list[tuple[Change, float]] = []
    for change, after in known:
        if after <= set_risk and all((change.kind, change.rod) != (c.kind, c.rod) for c, _ in good):
            good.append((change, after))
    if good:
        return good
    better = [(change, after) for change, after in known if after <= 0.5 * before and math.isfinite(after)]
    return sorted(better, key=lambda entry: entry[1])[:1]
