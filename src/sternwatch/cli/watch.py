"""``sternwatch watch``: on the water, with a live feed."""

from __future__ import annotations

import argparse
from pathlib import Path

from sternwatch.cli.exits import InputError
from sternwatch.cli.options import CAUTION


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "watch",
        help="the console on the water, with a live feed",
        description="The console on the water: reads the feed, records it, computes every rod's depth, keeps hits. "
        "An open trip is taken up again.",
        epilog=CAUTION,
    )
    parser.add_argument("spread", metavar="SPREAD", type=Path, help="the spread file (TOML)")
    parser.add_argument(
        "--feed",
        action="append",
        required=True,
        metavar="SOURCE",
        help="where sentences come from, the preferred one first; may be given several times: "
        "serial:PORT, serial:PORT@BAUD, serial:auto, tcp:HOST:PORT, udp:PORT, gpsd:, - or a file",
    )
    parser.add_argument("--new-trip", action="store_true", help="end the open trip and begin another")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.depth import load
    from sternwatch.cli.session import Screen, show
    from sternwatch.feed.errors import FeedError
    from sternwatch.feed.specs import parse_specs

    spread = load(args.spread)
    try:
        feed = parse_specs(args.feed)
    except FeedError as fault:
        raise InputError(str(fault)) from fault
    return show(Screen.live(args.spread, spread, feed, new=args.new_trip))
