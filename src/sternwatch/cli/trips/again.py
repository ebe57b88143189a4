"""``sternwatch again``: plans how to bring a hit's lure through the same place once more."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.books import add_trip, trip_opened
from sternwatch.cli.common.exits import InputError
from sternwatch.cli.common.options import units_of
from sternwatch.cli.trips.ways import Ways, add_ways_options, played_to, tell

if TYPE_CHECKING:
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.gear.values.units import DisplaySystem
    from sternwatch.watch.again.plan import Cannot, Proposal
    from sternwatch.watch.core.engine import Watch

# By default a plan begins this long after the hit.
AFTER_S = 60.0


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "again",
        help="bring the lure of a hit through that place once more",
        description="How to steer so that the lure of a hit passes that place again at its depth, and what the whole "
        "spread does on the way. Planned from where the boat was some time after the hit.",
        epilog=f"{COMPUTED} Only a proposal: whoever is in charge keeps the lookout and steers.",
    )
    add_trip(parser)
    parser.add_argument(
        "--hit", metavar="N", help="which hit: its number in the trip, or its id; without it, the last"
    )
    parser.add_argument(
        "--after", metavar="SECONDS", type=float, default=AFTER_S,
        help=f"plan from so long after the hit ({AFTER_S:.0f} without it)",
    )  # fmt: skip
    parser.add_argument(
        "--over-ground",
        action="store_true",
        help="keep the hit's speed over ground, not its speed through the water",
    )
    add_ways_options(parser, "the ways as routes")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    if not 0.0 <= args.after <= 3600.0:
        raise InputError(f"--after {args.after:g} is not accepted: give 0 to 3600 seconds")
    units = units_of(args)
    with trip_opened(args.trip) as (data, _):
        hit = _hit_of(data, args.hit)
        found, watch = _planned(data, args, hit)
    from sternwatch.watch.again.plan import Cannot
    from sternwatch.watch.again.rows import route_names, rows

    about = {"trip": data.id, "hit": hit.called, **rows(found)}
    if isinstance(found, Cannot):
        why = f"Hit {hit.called} of {data.id} again: {found.why[:1].lower()}{found.why[1:]}"
        return tell(args, Ways(watch, why=why), about, lambda _: [])

    names = route_names(found, f"again, hit {hit.called}")
    return tell(
        args, Ways(watch, list(zip(names, found, strict=True))), about,
        lambda rods: [
            f"Hit {hit.called} of {data.id} again.",
            *(line for one in found for line in _listed(one, units, rods)),
        ],
    )  # fmt: skip


def _listed(one: Proposal, units: DisplaySystem, rods: Mapping[str, str]) -> list[str]:
    """One way: its names, what has to be done first, its legs, and what comes of it."""
    from sternwatch.watch.again.words import first_act, outcome, steps_of

    names, first = ", ".join(one.names), first_act(one, units)
    return [
        f"{names[:1].upper()}{names[1:]}{f'; {first}' if first else ''}:",
        *(f"  {step}" for step in steps_of(one, units)),
        f"  {outcome(one, units, rods)}.",
    ]


def _planned(data: TripData, args: argparse.Namespace, hit: _Hit) -> tuple[tuple[Proposal, ...] | Cannot, Watch]:
    """Play the trip up to the moment from which to plan, and plan."""
    from sternwatch.watch.again.asking import asked_now, of_hit, over_ground, radii_found
    from sternwatch.watch.again.plan import Cannot, propose
    from sternwatch.watch.forecast.snapshot import snapshot

    watch = played_to(data, hit.t_s + args.after)
    crew = watch.crew.rods
    context = watch.memory.hits.by_id.get(hit.id)
    rod = context.rod if context is not None else None
    target = of_hit(context, watch.bottom.origin_deg, crew[rod].line_out_m if rod in crew else None)
    if isinstance(target, Cannot):
        return target, watch
    if args.over_ground and context is not None and context.moment is not None and context.moment.sog_m_s:
        target = over_ground(target, context.moment.sog_m_s)
    now = snapshot(watch)
    asked = asked_now(target, now, watch.bottom, watch.boat)
    if isinstance(asked, Cannot):
        return asked, watch
    radii = radii_found(asked.fleet, asked.speed_m_s, asked.required, asked.radius_m)
    return propose(replace(asked, radius_m=radii)), watch


class _Hit(NamedTuple):
    called: str  # its number in the trip, or its id where it was named by that
    id: str
    t_s: float


def _hit_of(data: TripData, asked: str | None) -> _Hit:
    """A hit by its number in order of time or by its id; the last without either."""
    from sternwatch.logbook.crew.fold import fold
    from sternwatch.watch.chains.spread_in_force import Rigging

    crew = fold(data.actions, Rigging.of(data.spread), data.start)
    hits = sorted(
        (hit for hit in crew.hits_by_id.values() if hit.when.elapsed_s is not None),
        key=lambda hit: hit.when.elapsed_s or 0.0,
    )
    if not hits:
        raise InputError(f"{data.id} has no hit whose moment is known")
    if asked is None:
        asked = str(len(hits))
    if asked.isdecimal() and 1 <= int(asked) <= len(hits):
        hit = hits[int(asked) - 1]
    else:
        named = next((one for one in hits if one.id == asked), None)
        if named is None:
            raise InputError(f"--hit {asked} is not accepted: give 1 to {len(hits)}, or the id of a hit of {data.id}")
        hit = named
    return _Hit(asked, hit.id, hit.when.elapsed_s or 0.0)
