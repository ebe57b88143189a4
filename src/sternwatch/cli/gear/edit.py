"""``sternwatch edit``: the spread editor."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit, InputError


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "edit",
        help="put a spread together, or change it, on the screen",
        description="The spread editor: the stern from above, every rod and its chain, depths and findings as you "
        "type. It keeps the file's comments and its earlier versions.",
        epilog=COMPUTED,
    )
    parser.add_argument(
        "spread",
        metavar="SPREAD",
        type=Path,
        nargs="?",
        help="a spread file, existing or new; else your boat's",
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.session import preferences
    from sternwatch.console.editor.screen import edit
    from sternwatch.gear.shelf.pieces import load_shelf
    from sternwatch.gear.values.faults import SpreadError
    from sternwatch.places import boat_file

    terminal.need()
    chosen = preferences()
    try:
        said = edit(chosen, args.spread or boat_file(), load_shelf())
    except SpreadError as error:
        raise InputError(str(error)) from error
    if said:
        print(said, file=sys.stderr)
    return Exit.DONE
