"""Makes a forecast: runs a fleet along a manoeuvre, measures separations, and sums up all members."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.chain.forces import B_KIND
from sternwatch.hydro.chain.model import BodyKind
from sternwatch.hydro.motion.report import SLACK_FLOW_M_S, SLACK_PULL_N
from sternwatch.hydro.separation.distance import Closest, Required, closest
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.boat.manoeuvres import path_of
from sternwatch.watch.chains.ensemble import Cast, Fleet, Run, run
from sternwatch.watch.chains.polylines import polylines, water_at
from sternwatch.watch.forecast.closer import Closer, looked_at
from sternwatch.watch.forecast.meeting_words import MOST
from sternwatch.watch.forecast.meetings import (
    Ints,
    Keys,
    both_known,
    columns_of,
    first_contact,
    over_until,
    passes,
    rod_of,
    shares_of,
    taken_over,
    worst_of,
)
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.meetings import Contact, NearPass
from sternwatch.watch.picture.outlook import Forecast, PairForecast, RodForecast

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Ratios of distance to required distance above this are exact only in the median member.
RESOLVE = 1.5

InZone = Callable[[Floats], NDArray[np.bool_]]  # depths -> whether they are in the zone


def forecast(
    fleet: Fleet,
    manoeuvre: Manoeuvre,
    *,
    speed_m_s: float,
    required: Required,
    in_zone: InZone | None = None,
    alerts_only: bool = False,
) -> Forecast:
    """What a manoeuvre that begins now does to every chain of the fleet.

    ``alerts_only``: only what alerts and their advice ask for. Of a pair that raises none, and of the rods by
    themselves, depths, speeds and how far apart they pass are left out.
    """
    done = run(fleet, path_of(manoeuvre, heading_rad=fleet.heading_rad, speed_m_s=speed_m_s))
    lines = polylines(done)
    found = closest(lines, done.path.time_s, done.cast.strands, required, resolve=1.0 if alerts_only else RESOLVE)
    closer = looked_at(fleet, done, found, required)
    worst = _worst_of_members(done, found, closer)
    told = [keys for keys, verdicts in worst.items() if not alerts_only or can_raise(verdicts)]
    if alerts_only:
        found = _resolved(done, lines, found, required, told)
    pairs, members = _pairs(done, lines, found, required, worst, told)
    crossing = _crossing(done, found, closer)
    made = Forecast(
        manoeuvre=manoeuvre,
        members=_deciding(done, closer),
        ends_s=done.path.ends_s,
        horizon_s=float(done.path.time_s[-1]),
        any_crossing=float(np.mean(crossing)) if crossing.size else None,
        pairs=pairs,
        rods=tuple(
            _rod_in_short(done, rod) if alerts_only else _rod(done, rod, in_zone) for rod in range(done.cast.rods)
        ),
        time_s=done.path.time_s,
        track_m=_own_track(done),
    )
    worst_pair = made.worst
    if worst_pair is None or worst_pair.time_s is None:
        return made
    member, moment = members[worst_pair.keys], worst_pair.time_s + done.path.starts_s
    if (contact := worst_pair.counting_contact) is not None:
        member, moment = contact.member, contact.time_s + done.path.starts_s
    shapes = {} if alerts_only else shapes_at(done, member, moment)
    return replace(made, worst_member=member, worst_s=moment, worst_shapes_m=shapes)


def _worst_of_members(done: Run, found: Closest, closer: Closer | None) -> dict[Keys, Ints]:
    """The worst verdict on each pair in every member that knows both rods, if there is one."""
    worst = {}
    for keys, own in columns_of(done.cast, found.pairs).items():
        both = both_known(done, keys)
        if both.any():
            worst[keys] = worst_of(found, own, both)
            if closer is not None and keys in closer.worst:
                worst[keys] = np.concatenate([worst[keys], closer.worst[keys]])
    return worst


def can_raise(worst: Ints) -> bool:
    """Whether a pair with these verdicts can raise an alert: it touches, or passes near in enough members."""
    return bool((worst >= Verdict.TOUCH).any()) or shares_of(worst).near_pass >= MOST


def _resolved(done: Run, lines: Floats, found: Closest, required: Required, told: list[Keys]) -> Closest:
    """``found``, where ratios above 1 were not minimised, as if those of the pairs told up to RESOLVE had been.

    Only ratios above 1 can differ, and they matter only where the median member's is one of them. The dearest pairs
    to measure are those that touch in most members, so they need not be measured again.
    """
    again = []
    columns = columns_of(done.cast, found.pairs)
    for keys in told:
        least = found.ratio[both_known(done, keys)][:, columns[keys]].min(axis=1)
        if 2 * int(np.sum(least < 1.0)) < len(least):
            again += columns[keys]
    if not again:
        return found
    better = closest(
        lines, done.path.time_s, done.cast.strands, required, pairs=found.pairs[again], resolve=RESOLVE
    )  # fmt: skip
    return taken_over(found, again, better)


class Risk:
    """The crossings of one run, touch or worse, as shares of its members; 1 where nothing is known."""

    def __init__(self, done: Run, found: Closest, closer: Closer | None = None) -> None:
        self.run = done
        self.members = _deciding(done, closer)
        crossing = _crossing(done, found, closer)
        self.any = float(np.mean(crossing)) if len(crossing) else 1.0
        self.by_pair: dict[Keys, float] = {}
        for keys, columns in columns_of(done.cast, found.pairs).items():
            crosses: Flags = np.any(found.crosses[np.any(done.known, axis=1)][:, columns], axis=1)
            if closer is not None and keys in closer.worst:
                crosses = np.concatenate([crosses, closer.worst[keys] >= Verdict.TOUCH])
            self.by_pair[keys] = float(np.mean(crosses)) if len(crosses) else 1.0

    @property
    def worst(self) -> Keys | None:
        """The pair that crosses in most members."""
        keys = max(self.by_pair, key=lambda k: self.by_pair[k], default=None)
        return keys if keys is not None and self.by_pair[keys] > 0.0 else None


def risk(fleet: Fleet, manoeuvre: Manoeuvre, *, speed_m_s: float, required: Required) -> Risk:
    """Only the share of members that cross, and which pairs. Limits and advice use it."""
    done = run(fleet, path_of(manoeuvre, heading_rad=fleet.heading_rad, speed_m_s=speed_m_s))
    found = closest(polylines(done), done.path.time_s, done.cast.strands, required, resolve=1.0)
    return Risk(done, found, looked_at(fleet, done, found, required, for_all=True))


def _deciding(done: Run, closer: Closer | None) -> int:
    """How many members decide about the whole spread."""
    return done.cast.members + (closer.members if closer is not None and closer.decides else 0)


def _crossing(done: Run, found: Closest, closer: Closer | None) -> Flags:
    """Of every member that decides about the whole spread: whether any pair touches or worse."""
    crossing: Flags = np.any(found.crosses[np.any(done.known, axis=1)], axis=1)
    return np.concatenate([crossing, closer.crosses]) if closer is not None and closer.decides else crossing


def _pairs(
    done: Run, lines: Floats, found: Closest, required: Required, worst: dict[Keys, Ints], told: list[Keys]
) -> tuple[tuple[PairForecast, ...], dict[Keys, int]]:
    """Every pair of rods, and the median member of each that is ``told`` whole."""
    cast = done.cast
    columns = columns_of(cast, found.pairs)
    chosen: dict[Keys, int] = {}
    for keys in told:
        members = np.flatnonzero(both_known(done, keys))
        order = members[np.argsort(found.ratio[members][:, columns[keys]].min(axis=1), kind="stable")]
        chosen[keys] = int(order[(len(order) - 1) // 2])
    exact = _exactly(done, lines, required, found, columns, chosen)
    out = []
    for keys in combinations(cast.keys, 2):
        if keys in chosen:
            own, both = columns[keys], both_known(done, keys)
            out.append(_pair(done, lines, keys, found, own, both, worst[keys], chosen[keys], *exact[keys]))
        elif keys in worst:
            parts = shares_of(worst[keys])
            out.append(
                PairForecast(
                    keys, parts.contact, None, None, None, None, None, None, shares=parts, members=len(worst[keys])
                )
            )
        else:
            out.append(PairForecast(keys, None, None, None, None, None, None, None))
    return tuple(out), chosen


def _exactly(
    done: Run,
    lines: Floats,
    required: Required,
    found: Closest,
    columns: dict[Keys, list[int]],
    chosen: dict[Keys, int],
) -> dict[Keys, tuple[Closest, int]]:
    """The least ratio of each pair in its median member: the value and its column."""
    out: dict[Keys, tuple[Closest, int]] = {}
    for member in sorted(set(chosen.values())):
        keys = [k for k, m in chosen.items() if m == member]
        asked = [column for k in keys for column in columns[k]]
        sure = closest(
            lines[:, member], done.path.time_s, done.cast.strands, required,
            pairs=found.pairs[asked],
        )  # fmt: skip
        at = 0
        for k in keys:
            own = sure.ratio[0, at : at + len(columns[k])]
            out[k] = (sure, at + int(np.argmin(own)))
            at += len(columns[k])
    return out


def _pair(
    done: Run,
    lines: Floats,
    keys: Keys,
    found: Closest,
    own: list[int],
    both: Flags,
    worst: Ints,
    member: int,
    sure: Closest,
    at: int,
) -> PairForecast:
    first = found.undercut_s[both][:, own]
    first = np.where(np.isnan(first), np.inf, first).min(axis=1)
    undercut = float(np.median(first[np.isfinite(first)])) if np.isfinite(first).any() else None
    parts = shares_of(worst)
    if not np.isfinite(sure.ratio[0, at]):
        return PairForecast(
            keys, parts.contact, None, None, None, None, None, None, undercut, parts, members=len(worst)
        )
    moment = float(sure.time_s[0, at])
    middle = 0.5 * (sure.where_m[0, at] + sure.other_where_m[0, at])
    astern, abeam, depth = _in_boat_axes(done, member, moment, middle)
    return PairForecast(
        keys=keys,
        probability=parts.contact,
        time_s=moment - done.path.starts_s,
        separation_m=float(sure.distance_m[0, at]),
        required_m=float(sure.required_m[0, at]),
        depth_m=float(depth),
        astern_m=float(astern),
        abeam_m=float(abeam),
        undercut_s=undercut,
        shares=parts,
        contact=_contact(done, keys, found, own, both),
        near_pass=_near_pass(done, lines, member, sure, at),
        members=len(worst),
    )


def _contact(done: Run, keys: Keys, found: Closest, own: list[int], both: Flags) -> Contact | None:
    at = first_contact(found, own, both)
    if at is None:
        return None
    member, column = at
    moment, starts_s = float(found.contact_s[member, column]), done.path.starts_s
    astern, abeam, depth = _in_boat_axes(done, member, moment, found.contact_m[member, column])
    swapped = [done.cast.keys[rod_of(done.cast, int(found.pairs[c, 0]))] != keys[0] for c in own]
    return Contact(
        time_s=moment - starts_s,
        depth_m=float(depth),
        astern_m=float(astern),
        abeam_m=float(abeam),
        touching_s=float(found.touching_s[member, column]),
        slides_m=float(found.slides_m[member, column]),
        passes=tuple(passes(found, member, own, swapped, starts_s)),
        member=member,
    )


def _near_pass(done: Run, lines: Floats, member: int, sure: Closest, at: int) -> NearPass | None:
    if sure.verdict[0, at] != Verdict.NEAR_PASS:
        return None
    a, b = (int(row) for row in sure.pairs[at])
    own = [done.cast.keys[rod_of(done.cast, row)] for row in (a, b)]
    if sure.where_m[0, at, 2] > sure.other_where_m[0, at, 2]:
        own.reverse()
    again, starts_s = float(sure.apart_again_s[0, at]), done.path.starts_s
    n_a, n_b = (int(done.cast.strands.n_nodes[row]) for row in (a, b))
    until = over_until(
        lines[:, member, a, :n_a], lines[:, member, b, :n_b], done.path.time_s, float(sure.time_s[0, at])
    )
    return NearPass(
        over=own[0],
        under=own[1],
        arc_m=float(sure.arc_m[0, at].max()),
        apart_again_s=again - starts_s if math.isfinite(again) else None,
        over_until_s=None if until is None else until - starts_s,
    )


def _in_boat_axes(done: Run, member: int, moment: float, points_m: Floats) -> Floats:
    """Points (..., 3) in the water frame as (3, ...): astern, abeam, depth from the transom's centre at a moment."""
    north, east, heading = (np.interp(moment, done.path.time_s, done.track[:, member, c]) for c in range(3))
    dx, dy = points_m[..., 0] - north, points_m[..., 1] - east
    c, s = math.cos(heading), math.sin(heading)
    return np.stack([-(c * dx + s * dy), c * dy - s * dx, points_m[..., 2]])


def shapes_at(done: Run, member: int, moment: float) -> dict[str, Floats]:
    """Every known chain of a member at a moment, (n, 3) [astern, abeam, depth]."""
    times = done.path.time_s
    k = min(max(int(np.searchsorted(times, moment, side="right")) - 1, 0), len(times) - 2)
    share = min(max((moment - times[k]) / (times[k + 1] - times[k]), 0.0), 1.0)
    out = {}
    for rod, key in enumerate(done.cast.keys):
        if done.known[member, rod]:
            n = int(done.cast.rows.n_nodes[rod])
            chain = done.positions_m[k : k + 2, member, rod, :n]
            out[key] = _in_boat_axes(done, member, moment, (1 - share) * chain[0] + share * chain[1]).T.copy()
    return out


def _own_track(done: Run) -> Floats:
    """The boat's track, (samples, 3): astern, abeam in the present axes (ahead is negative), heading change."""
    path = done.path
    c, s = math.cos(path.heading_rad[0]), math.sin(path.heading_rad[0])
    ahead = c * path.north_m + s * path.east_m
    abeam = c * path.east_m - s * path.north_m
    return np.stack([-ahead, abeam, path.heading_rad - path.heading_rad[0]], axis=1)


def body_nodes(cast: Cast, rod: int) -> NDArray[np.int64]:
    """The nodes of a rod's tackle in chain order, the lure last. A bare line's end counts as its lure."""
    found = cast.rows.body_node[rod][cast.rows.body_node[rod] >= 0]
    nodes: NDArray[np.int64] = found if len(found) else cast.rows.n_nodes[rod : rod + 1] - 1
    return nodes


def ways(done: Run, rod: int) -> Floats:
    """The paths of a rod's tackle, (samples, members, bodies, 3) [astern, abeam, depth] in the present axes."""
    way = done.positions_m[:, :, rod][:, :, body_nodes(done.cast, rod)]  # a copy
    way[..., :2] -= done.track[0, :, None, :2]
    c, s = math.cos(done.path.heading_rad[0]), math.sin(done.path.heading_rad[0])
    north, east = way[..., 0], way[..., 1]
    return np.stack([-(c * north + s * east), c * east - s * north, way[..., 2]], axis=-1)


def _middle_ways(done: Run, rod: int) -> Floats:
    """The medians of them over the members that are known, (bodies, samples, 3)."""
    middle: Floats = np.moveaxis(np.median(ways(done, rod)[:, done.known[:, rod]], axis=1), 0, 1)
    return middle


def _rod_in_short(done: Run, rod: int) -> RodForecast:
    """A rod's way alone."""
    known = done.known[:, rod]
    return RodForecast(
        done.cast.keys[rod], None, None, None, None, None, None, None, float(known.mean()), np.empty((0, 3)),
        _middle_ways(done, rod) if known.any() else None,
    )  # fmt: skip


def _flow_past(done: Run, rod: int, node: int) -> Floats:
    """Mean speed of the water past a node in each step, (S - 1, M)."""
    place = done.positions_m[:, :, rod, node]
    velocity = np.diff(place, axis=0) / done.path.step_s[:, None, None]
    water = water_at(done.cast, rod, 0.5 * (place[1:, :, 2] + place[:-1, :, 2]))
    dx, dy = velocity[..., 0] - water[..., 0], velocity[..., 1] - water[..., 1]
    return np.sqrt(dx * dx + dy * dy + velocity[..., 2] ** 2)


def _rod(done: Run, rod: int, in_zone: InZone | None) -> RodForecast:
    cast = done.cast
    key, known = cast.keys[rod], done.known[:, rod]
    if not known.any():
        strip = np.full((len(done.path.time_s), 3), np.nan)
        return RodForecast(key, None, None, None, None, None, None, None, 0.0, strip)
    rows = cast.rows
    nodes = body_nodes(cast, rod)
    lure = int(nodes[-1])
    depth = done.positions_m[:, known, rod, lure, 2]
    least, greatest = depth.min(axis=0), depth.max(axis=0)
    steps = done.path.step_s
    speed = _flow_past(done, rod, lure)[:, known].min(axis=0)
    slack = None
    for node in nodes:
        item = rows.node_body[rod, node]
        if item >= 0 and rows.body[rod, item, B_KIND] == BodyKind.DIVER:
            weak = (_flow_past(done, rod, int(node)) < SLACK_FLOW_M_S) | (
                done.tensions_N[:, :, rod, node - 1] < SLACK_PULL_N
            )
            seconds = float(np.median((weak[:, known] * steps[:, None]).sum(axis=0)))
            slack = seconds if slack is None else max(slack, seconds)
    outside = None
    if in_zone is not None:
        out = ~in_zone(0.5 * (depth[1:] + depth[:-1]))
        outside = float(np.median((out * steps[:, None]).sum(axis=0)))
    return RodForecast(
        key=key,
        depth_min_m=float(np.median(least)),
        depth_max_m=float(np.median(greatest)),
        depth_low_m=float(least.min()),
        depth_high_m=float(greatest.max()),
        speed_min_m_s=float(np.median(speed)),
        slack_s=slack,
        out_of_zone_s=outside,
        known=float(known.mean()),
        depth_m=np.quantile(depth, (0.05, 0.5, 0.95), axis=1).T,
        bodies_m=_middle_ways(done, rod),
    )
