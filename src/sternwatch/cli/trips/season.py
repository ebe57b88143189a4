"""``sternwatch season``: what caught fish across trips."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, add_units, quantity, units_of
from sternwatch.gear.values.units import Dimension

if TYPE_CHECKING:
    from sternwatch.cli.common.books import Book
    from sternwatch.debrief.counting.producing import Producing
    from sternwatch.debrief.counting.season import Filters, Season
    from sternwatch.gear.values.units import DisplaySystem


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "season",
        help="what produced across trips",
        description="What produced across the trips of the logbook. A trip counts once it has been debriefed; "
        "--update debriefs those that have not been.",
        epilog=COMPUTED,
    )
    parser.add_argument("--species", default="", metavar="FISH", help="only hits of this fish")
    parser.add_argument(
        "--month", type=_number(1, 12), action="append", metavar="N", help="1 to 12; can be given several times"
    )
    parser.add_argument("--year", type=_number(1980, 2200), action="append", metavar="N", help="several times")
    parser.add_argument(
        "--near", type=_place, metavar="PLACE", help='only around a place, "47.02 -89.55" (north, east)'
    )
    parser.add_argument(
        "--within", type=quantity(Dimension.LENGTH), metavar="DISTANCE", help='how far around it; default "3000 m"'
    )
    parser.add_argument(
        "--rig", default="", metavar="WORD", help="only rigs, rods, lures or settings with this word in them"
    )
    parser.add_argument("--update", action="store_true", help="first debrief the trips that have not been")
    add_json(parser)
    add_units(parser)
    parser.set_defaults(run=run)


def _number(low: int, high: int) -> Callable[[str], int]:
    def read(given: str) -> int:
        if not given.isascii() or not given.isdigit() or not low <= int(given) <= high:
            raise argparse.ArgumentTypeError(f'"{given}": accepted is a whole number, {low} to {high}')
        return int(given)

    return read


def _place(given: str) -> tuple[float, float]:
    parts = given.replace(",", " ").split()
    try:
        north, east = (float(part) for part in parts)
    except ValueError:
        raise argparse.ArgumentTypeError(f'"{given}": accepted are two numbers of degrees, "47.02 -89.55"') from None
    if not (-90 <= north <= 90 and -180 <= east <= 180):
        raise argparse.ArgumentTypeError(f'"{given}": latitude is −90 to 90, longitude −180 to 180')
    return north, east


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.books import opened
    from sternwatch.debrief.counting.producing import producing
    from sternwatch.debrief.counting.season import Filters, season

    if args.within is not None and args.near is None:
        raise InputError("--within needs --near: the distance is from that place")
    filters = Filters(
        args.species, frozenset(args.month or ()), frozenset(args.year or ()), args.near,
        args.within if args.within is not None else 3000.0, args.rig,
    )  # fmt: skip
    units = units_of(args)
    with opened() as book:
        if args.update:
            _update(book)
        found = season(book.reader, filters)
    said = producing(found.tally, units)
    if args.json:
        print(json.dumps(_as_json(found, said, filters, units), ensure_ascii=False, allow_nan=False))
    else:
        sys.stdout.write(_text(found, said, filters, units, updated=args.update))
    return Exit.DONE


def _update(book: Book) -> None:
    from sternwatch.cli.common.books import trip_data, worked_through
    from sternwatch.debrief.counting.season import season

    book.need_writer("debriefing trips")
    for trip_id in season(book.reader).undigested:
        print(f"sternwatch: working {trip_id} through", file=sys.stderr)
        try:
            worked_through(trip_data(trip_id, book), book)
        except InputError as fault:
            print(f"sternwatch: left out: {fault}", file=sys.stderr)


def _as_json(found: Season, said: Producing, filters: Filters, units: DisplaySystem) -> dict[str, Any]:
    from sternwatch.debrief.report.asjson import comparison_json

    return {
        "filters": filters.words,
        "trips": found.trips,
        "trips_not_debriefed": list(found.undigested),
        "rod_hours": round(said.hours, 4),
        "hits_in_hours": said.hits,
        "hits_outside_hours": said.outside,
        "notebook_hits": found.notebook,
        "species": {name or "not named": n for name, n in found.species},
        "lines": list(said.lines),
        "comparisons": [comparison_json(one, units) for one in said.comparisons],
    }


def _text(found: Season, said: Producing, filters: Filters, units: DisplaySystem, *, updated: bool) -> str:
    from sternwatch.debrief.report.prepared import rates_table
    from sternwatch.debrief.report.text import table_lines

    title = f"{found.trips} trip{'s' * (found.trips != 1)}" + (f", {filters.words}" if filters.words else "")
    lines = [title, "═" * len(title)]
    species = ", ".join(f"{name or 'unnamed fish'} {n}" for name, n in found.species)
    alone = f": {species}" if species and not found.notebook else ""
    hits = said.hits + said.outside
    lines.append(f"{hits} hit{'s' * (hits != 1)} in {said.hours:.0f} rod-hours{alone}")
    if found.notebook:
        notebook = "1 hit" if found.notebook == 1 else f"{found.notebook} hits"
        lines.append(f"In no rate: {notebook} from a notebook, without hours")
        lines.append(f"All hits: {species}")
    if found.undigested:
        n = len(found.undigested)
        many = n != 1
        lines.append(
            f"{n} trip{'s' * many} could not be debriefed and {'are' if many else 'is'} not counted"
            if updated
            else f"{n} trip{'s have' if many else ' has'} not been debriefed: --update takes them in"
        )
    lines += ["", *said.lines, ""]
    if said.hours:
        lines += [*table_lines(rates_table(said, units)), ""]
    lines.append(COMPUTED)
    return "\n".join(lines) + "\n"
