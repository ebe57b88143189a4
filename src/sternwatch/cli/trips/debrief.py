"""``sternwatch debrief``: what happened on a trip, what caught, and how sure that is."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Callable
from contextlib import nullcontext
from typing import TYPE_CHECKING

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.books import add_trip, trip_data
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, add_units, spread_file, units_of
from sternwatch.cli.common.solver import prepare_solver
from sternwatch.cli.common.written import to_write, write

if TYPE_CHECKING:
    from sternwatch.debrief.report.model import Report
    from sternwatch.debrief.trip.digest import Digest
    from sternwatch.debrief.trip.sources import TripData


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "debrief",
        help="what a trip caught, where and how deep",
        description="What a trip caught, where, how deep and what the boat was doing, and how sure that is.",
        epilog=COMPUTED,
    )
    add_trip(parser)
    parser.add_argument("--screen", action="store_true", help="on the screen, the recording beside it")
    parser.add_argument("--html", type=to_write, metavar="FILE", help="write one page to look at, print or send")
    parser.add_argument("--positions", action="store_true", help="show places too; else files leave them out")
    parser.add_argument(
        "--spread", type=spread_file, metavar="FILE", help="the same trip with another spread beside it"
    )
    parser.add_argument(
        "--calibration",
        metavar="FILE",
        help="the same trip with another calibration beside it: a file, a name in the folder, or none",
    )
    parser.add_argument("--again", action="store_true", help="compute the trip anew")
    add_json(parser)
    add_units(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    if args.screen:
        return _on_screen(args)
    if args.html is not None:
        _check_page()
    made = report_of(args)
    if args.json:
        from sternwatch.debrief.report.asjson import as_json

        print(as_json(made))
    if args.html is not None:
        from sternwatch.debrief.report.page import page

        write(args.html, page(made))
        print(f"sternwatch: written to {args.html}", file=sys.stderr)
    elif not args.json:
        from sternwatch.debrief.report.text import text_of

        sys.stdout.write(text_of(made, shutil.get_terminal_size((100, 24)).columns))
    return Exit.DONE


def _check_page() -> None:
    """A page that cannot be made is refused before the trip is worked through."""
    from sternwatch.debrief.report.page import PageError, check_installed

    try:
        check_installed()
    except PageError as fault:
        raise InputError(str(fault)) from fault


def _on_screen(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.books import opened, trip_asked
    from sternwatch.cli.common.session import show
    from sternwatch.cli.sessions.past import past_screen

    if args.json or args.html is not None or args.positions:
        raise InputError("--screen takes no --json, --html or --positions: on the screen a key tells places")
    if trip_asked(args.trip) is not None:
        raise InputError(f"{args.trip} must be in the logbook for the screen: sternwatch trip unpack {args.trip}")
    with nullcontext() if args.trip == "demo" else opened() as book:
        data = trip_data(args.trip, book)
        return show(past_screen(data, book, again=args.again, other=_otherwise(args), other_name=_other_name(args)))


def report_of(args: argparse.Namespace) -> Report:
    """The debrief asked for."""
    from sternwatch.cli.common.books import trip_opened, worked_through
    from sternwatch.debrief.report.prepared import report
    from sternwatch.debrief.trip.foretold import with_foretold

    units = units_of(args)
    with trip_opened(args.trip) as (data, book):
        digest = worked_through(data, book, again=args.again)
        how = _otherwise(args)
        other = how(data) if how is not None else None
        data = with_foretold(data)
    return report(data, digest, units, positions=args.positions, other=other, other_name=_other_name(args))


def _other_name(args: argparse.Namespace) -> str:
    """The words for the other spread or calibration of the same trip; empty without one."""
    named = [str(args.spread)] if args.spread is not None else []
    if args.calibration is not None:
        named.append("no calibration" if args.calibration == "none" else str(args.calibration))
    return " and ".join(named)


def _otherwise(args: argparse.Namespace) -> Callable[[TripData], Digest] | None:
    """A function that computes the trip with the spread and calibration asked for; None where neither was.

    Faults of the files become the command's.
    """
    if args.spread is None and args.calibration is None:
        return None
    from sternwatch.answers.belief import calibration_file
    from sternwatch.cli.common.inputs import spread_of

    spread = spread_of(args.spread) if args.spread is not None else None

    def work(data: TripData) -> Digest:
        from sternwatch.debrief.trip.digest import make_digest
        from sternwatch.feed.recording.reader import open_recording

        if data.feed is None:
            raise InputError(f"the recording of {data.id} is not there, so it cannot be run again")
        try:
            if args.calibration is None:
                setup = data.setup(spread)
            else:
                setup = data.setup(spread, calibration_file.chosen(args.calibration, spread or data.spread)[0])
        except calibration_file.CalibrationError as fault:
            raise InputError(str(fault)) from fault
        prepare_solver()
        with open_recording(data.feed) as recording:
            return make_digest(recording, setup, data.actions)

    return work
