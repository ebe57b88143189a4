"""``sternwatch pass``: plans legs and turns that keep lures where fish are, from a moment of a trip."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.books import add_trip, trip_opened
from sternwatch.cli.common.exits import InputError
from sternwatch.cli.common.options import quantity, units_of
from sternwatch.cli.trips.ways import Ways, add_ways_options, grids_of, moment_of, played_to, tell
from sternwatch.gear.values.units import Dimension

if TYPE_CHECKING:
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.watch.again.plan import Cannot
    from sternwatch.watch.core.engine import Watch
    from sternwatch.watch.whole_pass.plan import WholePass
    from sternwatch.watch.whole_pass.wish import Band, Wish

USUAL_MIN, LEAST_MIN, MOST_MIN = 20.0, 10.0, 40.0
USUAL_RISK = 10.0  # per cent


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "pass",
        help="plan legs and turns that keep lures where they are wanted",
        description="The legs and turns for the next minutes that keep the lures longest at a height over the "
        "bottom, at a depth or in a zone of temperatures, from where the boat was at one moment of a "
        "trip. The bottom is what was sounded up to then, and beyond it the imported grids.",
        epilog=f"{COMPUTED} Only a proposal: whoever is in charge keeps the lookout and steers.",
    )
    length, warmth = quantity(Dimension.LENGTH), quantity(Dimension.TEMPERATURE)
    add_trip(parser)
    parser.add_argument(
        "--at", metavar="MOMENT", required=True,
        help="19:42 by the boat's clock, +5 (minutes) or +1:20:00 from the recording's start, or a number of seconds",
    )  # fmt: skip
    parser.add_argument(
        "--over-bottom", type=length, nargs=2, metavar=("FROM", "TO"), help="lures this high over the bottom"
    )
    parser.add_argument("--depth", type=length, nargs=2, metavar=("FROM", "TO"), help="lures at these depths")
    parser.add_argument("--zone", type=warmth, nargs=2, metavar=("FROM", "TO"), help="lures at these temperatures")
    parser.add_argument(
        "--within", type=length, metavar="LENGTH", help="lures count only within this distance from the boat"
    )
    parser.add_argument(
        "--minutes", type=float, default=USUAL_MIN, metavar="N",
        help=f"{LEAST_MIN:.0f} to {MOST_MIN:.0f} ({USUAL_MIN:.0f} without it)",
    )  # fmt: skip
    parser.add_argument(
        "--risk", type=float, default=USUAL_RISK, metavar="PERCENT",
        help=f"of any crossing that is allowed ({USUAL_RISK:.0f} without it)",
    )  # fmt: skip
    add_ways_options(parser, "the way as a route")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    _checked(args)
    units = units_of(args)
    with trip_opened(args.trip) as (data, _):
        at_s, clock = moment_of(data, args.at)
        found, wish, watch = _planned(data, args, at_s)
    from sternwatch.watch.again.plan import Cannot
    from sternwatch.watch.whole_pass.words import outcome, row, steps_of

    about = {"trip": data.id, "at_s": at_s, **row(found)}
    if isinstance(found, Cannot):
        return tell(args, Ways(watch, why=found.why), about, lambda _: [])
    return tell(
        args, Ways(watch, [("a pass", found)]), about,
        lambda rods: [
            f"A pass of {data.id}, from {clock} on:",
            *(f"  {step}" for step in steps_of(found)),
            f"{outcome(found, wish, units, rods)}.",
        ],
    )  # fmt: skip


def _checked(args: argparse.Namespace) -> None:
    """Check the options. Raises InputError."""
    if not LEAST_MIN <= args.minutes <= MOST_MIN:
        raise InputError(
            f"--minutes {args.minutes:g} is not accepted: give {LEAST_MIN:.0f} to {MOST_MIN:.0f} minutes"
        )
    if not 0.0 <= args.risk <= 100.0:
        raise InputError(f"--risk {args.risk:g} is not accepted: give 0 to 100 per cent")
    if args.within is not None and not args.within > 0.0:
        raise InputError("--within is not accepted: give a length above 0")
    if args.over_bottom is None and args.depth is None and args.zone is None:
        raise InputError("nothing is wanted: give --over-bottom, --depth or --zone, each with two ends")
    for option in ("over_bottom", "depth", "zone"):
        band = getattr(args, option)
        if band is not None and not (band[0] < band[1] and (option == "zone" or band[0] >= 0.0)):
            raise InputError(f"--{option.replace('_', '-')} is not accepted: give the lesser end, then the greater")


def _planned(data: TripData, args: argparse.Namespace, at_s: float) -> tuple[WholePass | Cannot, Wish, Watch]:
    from sternwatch.watch.again.asking import radii_found
    from sternwatch.watch.again.plan import Cannot
    from sternwatch.watch.whole_pass.asking import asked_of, taken
    from sternwatch.watch.whole_pass.plan import propose
    from sternwatch.watch.whole_pass.wish import Box, Wish

    def band(given: list[float] | None) -> Band | None:
        return None if given is None else (given[0], given[1])

    watch = played_to(data, at_s, band(args.zone))
    place, reach = watch.bottom.over.place_m, args.within
    box = None
    if reach is not None and place is not None:
        box = Box(place[0] - reach, place[1] - reach, place[0] + reach, place[1] + reach)
    wish = Wish(
        band(args.over_bottom), band(args.depth), args.zone is not None, box, args.minutes * 60.0, args.risk / 100.0
    )
    one = taken(wish, watch, None)
    if isinstance(one, Cannot):
        return one, wish, watch
    asked = asked_of(one, grids_of(data))
    radii = radii_found(asked.fleet, asked.speed_m_s, asked.required, asked.radius_m)
    return propose(replace(asked, radius_m=radii)), wish, watch
