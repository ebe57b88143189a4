"""``sternwatch observe``: compares a logger's file with the computed depths and learns from it."""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.books import TRIP_HELP, trip_opened, worked_through
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, add_units, units_of
from sternwatch.cli.common.written import unwritten
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from sternwatch.cli.common.books import Book
    from sternwatch.debrief.logger.matching import Beside, Compared, Match
    from sternwatch.debrief.logger.reading import Logged
    from sternwatch.debrief.trip.digest import Digest
    from sternwatch.debrief.trip.sources import TripData
    from sternwatch.logbook.actions.kinds import Action

WIDTH = 72
CLEARLY = 0.03  # the best rod's correlation must exceed the next by this


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "observe",
        help="take in the file of a depth and temperature logger that hung on a line",
        description="Reads a logger's file of time, depth and temperature, finds its clock's offset, compares it "
        "with what was computed, and enters independent observations of it into the trip: they count in fits, in the "
        "season and in the temperature profile. The same file again enters nothing twice.",
        epilog=COMPUTED,
    )
    parser.add_argument("trip", metavar="TRIP", help=TRIP_HELP)
    parser.add_argument(
        "--logger", type=Path, required=True, metavar="FILE", help="the logger's file: columns with headings"
    )
    parser.add_argument(
        "--rod", metavar="KEY", help="the rod on whose line it hung; else the one that fits best by far"
    )
    parser.add_argument("--at", choices=("lure", "device", "ball"), default="lure", help="where on it; default lure")
    parser.add_argument("--time-column", default="", metavar="NAME", help="if the headings do not say it")
    parser.add_argument("--depth-column", default="", metavar="NAME", help="the same for depth")
    parser.add_argument("--temperature-column", default="", metavar="NAME", help="the same for temperature")
    parser.add_argument("--depth-unit", default="", metavar="UNIT", help="m, ft, fathom, dbar, kPa or psi")
    parser.add_argument("--temperature-unit", default="", metavar="UNIT", help="C or F")
    parser.add_argument(
        "--offset", type=float, metavar="SECONDS", help="feed time of its first row; else it is worked out"
    )
    parser.add_argument(
        "--error", type=float, metavar="METRES", help="its error: nine times in ten it is within this"
    )
    parser.add_argument("--only-show", action="store_true", help="enter nothing")
    add_json(parser)
    add_units(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.debrief.logger.matching import beside, compared, memory_s, thinned

    units = units_of(args)
    logged = _read(args)
    with trip_opened(args.trip) as (data, book):
        digest = worked_through(data, book)
        args.rod = args.rod or _rod_of(args, data, digest, logged)
        found = _matched(args, data, digest, logged)
        rows = _rows(data, digest, args.rod)
        moments = beside(logged, found.offset_s, rows)
        seen = thinned(moments)
        added = _entries(args, data, digest, logged, found, seen)
        entered = 0 if args.only_show else _enter(book, data, added, args, logged, found)
    scores = compared(moments) if args.at == "lure" else ()
    memory = memory_s([one for one in moments if not one.hard])
    if args.json:
        print(json.dumps(_as_json(args, logged, found, scores, seen, memory, entered), allow_nan=False))
        return Exit.DONE
    for line in _lines(args, logged, found, moments, scores, seen, memory, units):
        print(line)
    print(f"{entered} entries are in the trip; sternwatch fit {args.trip} counts them." if entered else "Nothing was "
          "entered.")  # fmt: skip
    print(COMPUTED)
    return Exit.DONE


def _read(args: argparse.Namespace) -> Logged:
    from sternwatch.debrief.logger.reading import LoggerError, Told, read_logger

    if args.error is not None and not 0.0 < args.error <= 100.0:
        raise InputError(f"--error {args.error:g} is not accepted: give more than 0 and at most 100 metres")
    told = Told(
        args.time_column, args.depth_column, args.temperature_column, args.depth_unit, args.temperature_unit
    )  # fmt: skip
    try:
        return read_logger(args.logger, told)
    except LoggerError as fault:
        raise InputError(str(fault)) from fault


def _rows(data: TripData, digest: Digest, key: str) -> list[Any]:
    from sternwatch.debrief.logger.matching import rows_of

    keys = [rod.key for rod in data.spread.rods] if data.spread_text else []
    if key not in keys:
        raise InputError(f"--rod {key}: the trip has no such rod; accepted: {', '.join(keys) or 'none'}")
    return list(rows_of(digest.samples, key))


def _rod_of(args: argparse.Namespace, data: TripData, digest: Digest, logged: Logged) -> str:
    """The rod whose computed depths are by far the most like the logger's."""
    from sternwatch.debrief.logger.matching import UnmatchedError, match, rows_of

    alike: list[tuple[float, str]] = []
    for rod in data.spread.rods if data.spread_text else ():
        try:
            alike.append((match(logged, rows_of(digest.samples, rod.key)).alike, rod.key))
        except UnmatchedError:
            continue
    alike.sort(reverse=True)
    if not alike:
        raise InputError(f"{args.logger}: its depths are like those of no rod on that trip; say which with --rod")
    if len(alike) > 1 and alike[0][0] - alike[1][0] < CLEARLY:
        both = " and ".join(key for _, key in alike[:2])
        raise InputError(f"{args.logger}: its depths are alike those of rods {both}; say which with --rod")
    print(f"sternwatch: it hung on rod {alike[0][1]} (correlation {alike[0][0]:.2f})", file=sys.stderr)
    return alike[0][1]


def _matched(args: argparse.Namespace, data: TripData, digest: Digest, logged: Logged) -> Match:
    from sternwatch.debrief.logger.matching import Match, UnmatchedError, match

    rows = _rows(data, digest, args.rod)
    if args.offset is not None:
        if not math.isfinite(args.offset):
            raise InputError("--offset is not a number of seconds")
        return Match(args.offset, math.nan)
    try:
        return match(logged, rows)
    except UnmatchedError as fault:
        raise InputError(f"{args.logger}: {fault}") from fault


def _entries(
    args: argparse.Namespace, data: TripData, digest: Digest, logged: Logged, found: Match, seen: Sequence[Beside]
) -> tuple[Action, ...]:
    from sternwatch.debrief.logger.keeping import entries

    return entries(
        logged, found.offset_s, seen, rod=args.rod, at=args.at, utc_offset_s=digest.utc_offset_s, begun=data.begun,
        error_m=args.error,
    )  # fmt: skip


def _enter(
    book: Book | None, data: TripData, added: Sequence[Action], args: argparse.Namespace, logged: Logged, found: Match
) -> int:
    """Put the entries into the logbook and the series beside it. Returns how many of them it has now."""
    from sternwatch.debrief.logger.keeping import keep_series
    from sternwatch.debrief.report.logged import path_of

    if book is None:
        print(f"sternwatch: {data.id} is not in the logbook, so nothing can be entered", file=sys.stderr)
        return 0
    writer = book.need_writer("entering a logger's observations")
    known = {action.id for action in data.actions}
    for action in added:
        if action.id not in known:
            writer.submit(data.id, action).result()
    path = path_of(book.path.parent, data.id, args.rod, args.at)
    try:
        keep_series(path, logged, found.offset_s)
    except OSError as fault:
        raise unwritten(path, fault) from fault
    return len(added)


def _as_json(
    args: argparse.Namespace, logged: Logged, found: Match, scores: Sequence[Compared], seen: Sequence[Beside],
    memory: float, entered: int,
) -> dict[str, Any]:  # fmt: skip
    return {
        "caution": COMPUTED,
        "rod": args.rod,
        "at": args.at,
        "columns": list(logged.columns),
        "rows": len(logged.t_s),
        "rows_left_out": logged.left_out,
        "offset_s": found.offset_s,
        "correlation": None if math.isnan(found.alike) else found.alike,
        "compared": [
            {
                "way": one.way, "moments": one.moments, "rms_m": one.rms_m, "bias_m": one.bias_m,
                "inside": None if math.isnan(one.inside) else one.inside,
            }
            for one in scores
        ],
        "error_memory_s": memory,
        "observations": [
            {"elapsed_s": one.t_s, "depth_m": one.logged_m, "computed_m": one.computed_m, "way": one.way}
            for one in seen
        ],
        "entered": entered,
    }  # fmt: skip


def _lines(
    args: argparse.Namespace, logged: Logged, found: Match, moments: Sequence[Beside], scores: Sequence[Compared],
    seen: Sequence[Beside], memory: float, units: DisplaySystem,
) -> list[str]:  # fmt: skip
    from sternwatch.debrief.report.plots import Series, sparkline

    out = [f"{args.logger.name}: {len(logged.t_s)} rows; {'; '.join(logged.columns)}"]
    if logged.left_out:
        out.append(f"{logged.left_out} rows could not be read and are left out")
    how = "as given" if math.isnan(found.alike) else f"found, correlation {found.alike:.2f}"
    out.append(f"its first row is at {found.offset_s:.0f} s of the feed ({how})")
    if moments:
        begin, end = moments[0].t_s, moments[-1].t_s
        times = tuple(one.t_s for one in moments)
        curves = {"computed": [one.computed_m for one in moments], "logged": [one.logged_m for one in moments]}
        for name, values in curves.items():
            out.append(f"{name:9} {sparkline(Series(name, times, tuple(values)), begin, end, WIDTH, down=True)}")
    for score in scores:
        rms = units.show(score.rms_m, Dimension.LENGTH, 1)
        bias = units.show(abs(score.bias_m), Dimension.LENGTH, 1)
        way = "too deep" if score.bias_m > 0.0 else "too shallow"
        held = "" if math.isnan(score.inside) else f"; the interval held it in {100.0 * score.inside:.0f} %"
        out.append(f"{score.way:9} {score.moments} moments: off {rms} rms, computed {bias} {way} on the mean{held}")
    ways = [(way, sum(one.way == way for one in seen)) for way in ("straight", "turning", "sinking")]
    out.append(
        f"the error remembers itself for {memory:.0f} s: {len(seen)} independent observations "
        f"({', '.join(f'{number} {way}' for way, number in ways)})"
    )
    return out
