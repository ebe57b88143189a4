"""``sternwatch fit``: what observations teach about the tackle, and how much surer the depths become."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, add_units, speed, units_of
from sternwatch.cli.common.written import to_write
from sternwatch.system_words import reason

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sternwatch.answers.belief.fit import Fit
    from sternwatch.answers.belief.observations import Observation
    from sternwatch.gear.spread_file.models import Spread

EXAMPLE = 'rod = "5", depth = "75 ft", speed = "2.3 mph"'


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "fit",
        help="learn drag, trim, counters … from what was observed",
        description="Fits what is believed about lines, tackle and counters to what was observed on trips (h on "
        "the helm) and to what you know ([[known]] in the spread file). It says what was learned, what "
        "disagrees and what to observe next.",
        epilog=COMPUTED,
    )
    parser.add_argument(
        "of", nargs="*", metavar="SPREAD|TRIP",
        help='a spread file (*.toml), or trips: "last", the beginning of an id, a packed trip, "demo"',
    )  # fmt: skip
    parser.add_argument(
        "--observe", action="append", default=[], metavar="KNOWN", help=f"one more observation: '{EXAMPLE}'"
    )
    parser.add_argument("--file", type=Path, metavar="FILE", help="a TOML file with [[known]] entries")
    parser.add_argument("--speed", type=speed, metavar="SPEED", help="at which depths are compared")
    parser.add_argument("--priors", action="store_true", help="only list what is uncertain, how much, and why")
    parser.add_argument(
        "--save", nargs="?", const="", metavar="FILE", help="keep it; without FILE, where sessions find the newest"
    )
    parser.add_argument("--name", metavar="NAME", help="its name on screens and in the logbook; else its date")
    parser.add_argument(
        "--season", action="store_true",
        help="what the season has taught about every piece of gear; first it learns from trips that it has not "
             "used yet",
    )  # fmt: skip
    parser.add_argument("--undo", action="store_true", help="with --season: take out what the last trip taught")
    parser.add_argument("--html", type=to_write, metavar="FILE", help="with --season: write it as a page too")
    add_json(parser)
    add_units(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.gear import fit_words
    from sternwatch.places import set_numba_cache

    units = units_of(args)
    if args.speed is not None and args.speed <= 0.0:
        raise InputError("--speed is 0, and then nothing is towed: give a speed above 0")
    set_numba_cache()
    if args.season:
        from sternwatch.cli.gear import fit_season

        return fit_season.run(args)
    if args.undo or args.html is not None:
        raise InputError("--undo and --html go with --season")
    if not args.of:
        raise InputError("nothing to fit is given; accepted are a spread file (*.toml) and trips, or --season")
    entries = _written(args)  # what is wrong with them is said before a trip is computed
    spread, observations = _gathered(args.of)
    if args.priors:
        fit_words.print_json(fit_words.priors_json(spread)) if args.json else fit_words.print_priors(spread)
        return Exit.DONE
    from sternwatch.answers.belief.fit_report import report, usual_speed

    observations += [
        _observation(spread, where, entry, f"given {number}") for number, (where, entry) in enumerate(entries, 1)
    ]
    if not observations:
        raise InputError(
            f"there is nothing to fit: no observation on the trips, no [[known]] in the file; "
            f"accepted is, for example, --observe '{EXAMPLE}'"
        )
    made = _fitted(args, spread, observations)
    found = report(made, args.speed if args.speed is not None else usual_speed(made))
    if not args.json:  # before it is saved: a report took minutes, and a full disk must not take it away
        fit_words.print_report(made, found, units)
    saved = _saved(args, made) if args.save is not None else None
    if args.json:
        fit_words.print_json(fit_words.as_json(made, found, saved))
    if saved is not None:
        print(f"sternwatch: saved: {saved}", file=sys.stderr)
    return Exit.DONE


def _fitted(args: argparse.Namespace, spread: Spread, observations: Sequence[Observation]) -> Fit:
    from datetime import UTC, datetime

    from sternwatch.answers.belief.fit import fit

    made = datetime.now(UTC).replace(microsecond=0)
    name = args.name or f"{made:%Y-%m-%d %H:%M} {spread.boat.name}"
    if not 1 <= len(name) <= 80:
        raise InputError(f"--name has {len(name)} letters; accepted are 1 to 80")
    return fit(spread, observations, name=name, made=made)


def _saved(args: argparse.Namespace, made: Fit) -> Path:
    from sternwatch.answers.belief import calibration_file

    try:
        return calibration_file.save(made.calibration, Path(args.save) if args.save else None)
    except calibration_file.NothingToKeepError as fault:
        raise InputError(str(fault)) from fault
    except OSError as fault:
        raise InputError(f"it cannot be saved: {reason(fault)}") from fault


def _gathered(asked: Sequence[str]) -> tuple[Spread, list[Observation]]:
    """The spread to fit (the file's, else the last trip's), and all observations of it."""
    from dataclasses import replace

    from sternwatch.answers.belief.observations import known_of
    from sternwatch.cli.common.inputs import spread_of

    files = [one for one in asked if one.endswith(".toml")]
    if len(files) > 1:
        raise InputError(f"{len(files)} spread files are given; accepted is one, and any number of trips")
    own = spread_of(Path(files[0])) if files else None
    observations = list(known_of(own)) if own is not None else []
    spread = own
    for one in asked:
        if one in files:
            continue
        trips_spread, seen = _trip(one)
        if own is None:
            spread = trips_spread
            observations = [kept for kept in observations if not kept.id.startswith("known ")]
        seen = tuple(kept if kept.id.startswith("known ") else replace(kept, trip=one) for kept in seen)
        observations += [kept for kept in seen if own is None or not kept.id.startswith("known ")]
    assert spread is not None  # the user gave observations
    return spread, observations


def _trip(asked: str) -> tuple[Spread, tuple[Observation, ...]]:
    import tempfile
    from contextlib import nullcontext

    from sternwatch.cli.common.books import opened, trip_asked, trip_data
    from sternwatch.debrief.trip.observed import observed_on
    from sternwatch.debrief.trip.packing import unpack
    from sternwatch.debrief.trip.sources import TripError
    from sternwatch.feed.errors import FeedError
    from sternwatch.gear.values.faults import SpreadError

    packed = trip_asked(asked)
    own_book = packed is None and asked != "demo"
    with tempfile.TemporaryDirectory() as folder, opened() if own_book else nullcontext() as book:
        try:
            data = unpack(packed, Path(folder)) if packed is not None else trip_data(asked, book)
            return observed_on(data)
        except (TripError, FeedError, SpreadError) as fault:
            raise InputError(str(fault)) from fault
        except OSError as fault:
            raise InputError(f"{asked} cannot be read: {reason(fault)}") from fault


def _written(args: argparse.Namespace) -> list[tuple[str, Any]]:
    """The observations of the command line and of the file as they are written, each with where it stands."""
    from sternwatch.reading import UnreadableError, toml_of

    entries: list[tuple[str, Any]] = []
    for text in args.observe:
        try:
            entries.append((f"--observe '{text}'", toml_of(f"entry = {{ {text} }}")["entry"]))
        except (UnreadableError, KeyError) as fault:
            raise InputError(f"--observe '{text}': {fault}; accepted is, for example, '{EXAMPLE}'") from fault
    return entries if args.file is None else entries + _entries(args.file)


def _entries(path: Path) -> list[tuple[str, Any]]:
    from sternwatch.gear.spread_file.load import read_text, read_toml
    from sternwatch.gear.values.faults import SpreadError

    try:
        data = read_toml(read_text(path, "file of observations"), path)
    except SpreadError as fault:
        raise InputError(str(fault)) from fault
    unknown = sorted(set(data) - {"known"})
    if unknown:
        raise InputError(f'{path}: unknown field "{unknown[0]}"; accepted: known')
    known = data.get("known")
    if not isinstance(known, list) or not known:
        raise InputError(f"{path}: there is no [[known]] entry in it")
    return [(str(path), entry) for entry in known]


def _observation(spread: Spread, where: str, entry: Any, name: str) -> Observation:
    from dataclasses import replace

    from pydantic import ValidationError

    from sternwatch.answers.belief.observations import known_of
    from sternwatch.gear.spread_file.known import Known
    from sternwatch.gear.spread_file.known_rules import find_known_faults
    from sternwatch.gear.spread_file.load import model_faults
    from sternwatch.gear.values.faults import SpreadError

    try:
        known = Known.model_validate(entry)
    except ValidationError as error:
        faults = model_faults(error, entry if isinstance(entry, dict) else {}, Known)
        raise InputError(str(SpreadError(where, faults))) from error
    faults = tuple(find_known_faults(spread, known))
    if faults:
        raise InputError(str(SpreadError(where, faults)))
    (one,) = known_of(spread.model_copy(update={"known": (known,)}))
    return replace(one, id=name)
