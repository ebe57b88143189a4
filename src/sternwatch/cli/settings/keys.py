"""``sternwatch keys``: learns which key this keyboard sends for each rod, for number pads and other keyboards."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "keys",
        help="press the key for every rod: for number pads and other keyboards",
        description="Asks for the key of every rod of a spread and saves what differs in your preferences. "
        "Afterwards every key that you press says what it means.",
    )
    parser.add_argument(
        "spread", metavar="SPREAD", type=Path, nargs="?", help="the spread file; else your boat's, else all stations"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.inputs import spread_of
    from sternwatch.cli.common.session import preferences
    from sternwatch.cli.gear.tags import in_key_order
    from sternwatch.console.ashore.keytest_screen import NUMBER_ROW, KeyTestApp
    from sternwatch.places import boat_file

    given = args.spread or (boat_file() if boat_file().exists() else None)
    rods = NUMBER_ROW if given is None else tuple((rod.key, rod.name) for rod in in_key_order(spread_of(given)))
    terminal.need()
    said = KeyTestApp(preferences(), rods).run()
    if said:
        print(said, file=sys.stderr)
    return Exit.DONE
