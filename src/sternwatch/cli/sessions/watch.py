"""``sternwatch watch``: on the water, with a live feed."""

from __future__ import annotations

import argparse
from pathlib import Path

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.calibrated import add_calibration, calibration_of
from sternwatch.cli.common.deck import add_deck, deck_of
from sternwatch.cli.common.exits import InputError


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "watch",
        help="the console on the water, with a live feed",
        description="The console on the water: it reads and records the feed, computes every rod's depth and keeps "
        "hits. If a trip is still open, it goes on.",
        epilog=COMPUTED,
    )
    parser.add_argument(
        "spread", metavar="SPREAD", type=Path, nargs="?", help="the spread file (TOML); else your boat's"
    )
    parser.add_argument(
        "--feed",
        action="append",
        metavar="SOURCE",
        help="where sentences come from, the preferred one first; may be given several times: "
        "serial:PORT, serial:PORT@BAUD, serial:auto, tcp:HOST:PORT, udp:PORT, gpsd:, - or a file; n2k: before one of "
        "them for an NMEA 2000 gateway; signalk:HOST for a Signal K server. "
        "Without it, the sources of the preferences' [feed] table",
    )
    add_calibration(parser)
    parser.add_argument("--new-trip", action="store_true", help="end the open trip and begin another")
    add_deck(parser)
    parser.set_defaults(run=run, console=True)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.boat import boat_on_the_water
    from sternwatch.cli.common.inputs import spread_path
    from sternwatch.cli.common.session import Screen, forgiving_preferences, show
    from sternwatch.config import NAME
    from sternwatch.feed.errors import FeedError
    from sternwatch.feed.sources.specs import ACCEPTED, parse_config, parse_specs
    from sternwatch.feed.sources.streams import set_apart
    from sternwatch.places import config_dir

    boat = boat_on_the_water(spread_path(args.spread))
    where = config_dir() / NAME
    try:
        chosen, faults = forgiving_preferences()
        feed = parse_specs(args.feed) if args.feed else parse_config(chosen.feed, str(where))
        if any(spec.kind == "stdin" for spec in feed.specs):
            set_apart()
    except FeedError as fault:
        raise InputError(str(fault)) from fault
    if not feed.specs:
        wanted = f"no feed: give --feed, or a [feed] table in {where}; accepted are {ACCEPTED}"
        raise InputError("; ".join((*faults, wanted)))
    learned = calibration_of(args.calibration, boat.spread)
    return show(Screen.live(boat, feed, new=args.new_trip, learned=learned), deck_of(args))
