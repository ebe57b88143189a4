"""``sternwatch setup``: makes a boat's spread file from questions."""

from __future__ import annotations

import argparse
from pathlib import Path

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit, InputError


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "setup",
        help="set up your boat with 20 to 25 questions, in five minutes",
        description="Questions that you can answer standing in the boat, with nothing measured beforehand. The "
        "answers become a spread file; the version before it is kept. Afterwards the editor opens it.",
        epilog=COMPUTED,
    )
    parser.add_argument(
        "spread", metavar="SPREAD", type=Path, nargs="?", help="the spread file to make; else your boat's"
    )
    parser.add_argument("--every-question", action="store_true", help="ask everything about every rod, one by one")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.session import preferences
    from sternwatch.cli.gear import edit
    from sternwatch.console.ashore.questions import setup_app
    from sternwatch.gear.shelf.pieces import load_shelf
    from sternwatch.gear.values.faults import SpreadError
    from sternwatch.places import boat_file

    terminal.need()
    path = args.spread or boat_file()
    try:
        shelf = load_shelf()
    except SpreadError as error:
        raise InputError(str(error)) from error
    if setup_app(preferences(), shelf, path, every_question=args.every_question).run():
        return edit.run(argparse.Namespace(spread=path))
    return Exit.DONE
