"""``sternwatch practice``: a simulated boat for trying turns and speeds; it shows the truth afterwards."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.deck import add_deck, deck_of
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_units, spread_file, units_of
from sternwatch.cli.common.solver import prepare_solver

if TYPE_CHECKING:
    from datetime import datetime

    from sternwatch.config import Preferences
    from sternwatch.gear.spread_file.models import Spread
    from sternwatch.practice.drills.faults import SensorFault
    from sternwatch.practice.drills.files import DrillFile
    from sternwatch.practice.sessions.headless import Helmsman, Run
    from sternwatch.practice.sessions.runner import Plan, PracticeRunner
    from sternwatch.watch.picture.model import Picture
    from sternwatch.watch.sessions.runner import Runner


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "practice",
        help="a simulated boat, lake and fish to practise on",
        description="A simulated boat, lake and fish to practise on: the instruments speak NMEA as real ones do, the "
        "lines are not quite what the console believes, and the truth is shown afterwards. Without a drill there is "
        "a lake to try things on.",
        epilog=COMPUTED,
    )
    parser.add_argument(
        "drill", nargs="?", default="free", metavar="DRILL", help="a drill's name, or its file (TOML)"
    )
    parser.add_argument("--list", action="store_true", help="list the drills, with the best score so far")
    parser.add_argument("--course", action="store_true", help="the next of the first day's five drills")
    parser.add_argument("--spread", type=spread_file, metavar="FILE", help="another spread for the drill (TOML)")
    parser.add_argument("--seed", type=int, metavar="N", help="repeats the session with this number; else a new one")
    parser.add_argument(
        "--fault", action="append", default=[], metavar="FAULT",
        help='what goes wrong: KIND[:SENSOR][@START[+LENGTH]], as "dropout:gps@120 s+60 s"; several may be given',
    )  # fmt: skip
    parser.add_argument("--headless", action="store_true", help="no screen: a script steers")
    parser.add_argument(
        "--json", action="store_true", help="the result as one JSON object; with --headless or --list"
    )
    parser.add_argument(
        "--script", metavar="FILE",
        help='who steers: a file of actions (JSON Lines), "advised" or "novice"',
    )  # fmt: skip
    parser.add_argument(
        "--rows", action="store_true", help="with --headless --json: a row a second before the result"
    )
    parser.add_argument(
        "--serve", metavar="WHERE", help="give the feed to another program: tcp:PORT, tcp:HOST:PORT or pty"
    )
    add_units(parser)
    add_deck(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    if args.list:
        return _list(args)
    if args.course:
        args.drill = _next_of_course()
    if args.json and not args.headless:
        raise InputError("--json needs --headless: with the screen there is nothing to print")
    if args.rows and not args.json:
        raise InputError("--rows needs --headless --json")
    if args.headless and args.serve:
        raise InputError("--headless runs without wall time and serves no feed: leave one of the two out")
    if args.script and not (args.headless or args.serve):
        raise InputError("--script needs --headless or --serve: on the screen you steer")
    deck_of(args)  # refuse before making any file
    from sternwatch.places import set_numba_cache

    set_numba_cache()
    file, spread, faults = _opened(args)
    seed = args.seed if args.seed is not None else _drawn()
    if args.headless:
        return _headless(args, file, spread, seed, faults)
    if args.serve:
        return _serve(args, file, spread, seed, faults)
    return _screen(args, file, spread, seed, faults)


def _drawn() -> int:
    import secrets

    return secrets.randbelow(1_000_000)


def _opened(args: argparse.Namespace) -> tuple[DrillFile, Spread, tuple[SensorFault, ...]]:
    from sternwatch.cli.common.inputs import spread_of
    from sternwatch.practice.drills.faults import FaultError, SensorFault, parse_fault
    from sternwatch.practice.drills.files import DrillError, find_drill

    try:
        file = find_drill(args.drill)
        spread = file.spread() if args.spread is None else file.fitted(spread_of(args.spread), args.spread)
        given = [parse_fault(text) for text in args.fault]
    except (DrillError, FaultError) as fault:
        raise InputError(str(fault)) from fault
    lead_in = file.drill.start.lead_in_s
    return file, spread, tuple(SensorFault(f.kind, f.sensor, f.from_s + lead_in, f.for_s) for f in given)


# -- the list ------------------------------------------------------------------------------------------------------


def _list(args: argparse.Namespace) -> int:
    from sternwatch.practice.drills.files import all_drills
    from sternwatch.practice.drills.levels import HIGHEST, LEVELS, level

    found, wrong = all_drills()
    best = _best_scores()
    for fault in wrong:
        print(f"sternwatch: {fault}", file=sys.stderr)
    rows: list[dict[str, Any]] = [
        {
            "id": one.id, "name": one.drill.name, "par": one.drill.par, "best": best.get(one.id),
            "file": str(one.path), "briefing": one.drill.briefing,
            "time_s": None if one.drill.free else one.drill.time_s, "difficulty": one.drill.difficulty,
            "course": one.drill.course,
            "level": level(best.get(one.id), one.drill.par) or None,
        }
        for one in found
    ]  # fmt: skip
    if args.json:
        print(json.dumps(rows, allow_nan=False))
        return Exit.DONE
    wide = max((len(row["id"]) for row in rows), default=0)
    named = max((len(row["name"]) for row in rows), default=0)
    for row in rows:
        time = "" if row["time_s"] is None else f"{row['time_s'] / 60:.0f} min"
        par = "" if row["par"] is None else f"par {row['par']:.0f}"
        own = "" if row["best"] is None else f"best {row['best']:.0f} {row['level'] or ''}".rstrip()
        day = "" if row["course"] is None else f"first day {row['course']}"
        said = f"{row['id']:<{wide}}  {row['name']:<{named}}  {time:>6}  {row['difficulty'] or '':<4}"
        print(f"{said}  {par:<7}  {day:<11}  {own}".rstrip())
    levels = ", ".join(f"{name} from {100 * least:.0f} %" for least, name in LEVELS)
    print(f"Levels: {levels} of par, {HIGHEST} from par. --course begins the next drill of the first day.")
    return Exit.DONE


def _next_of_course() -> str:
    from sternwatch.practice.drills.files import all_drills
    from sternwatch.practice.drills.levels import course, next_of_course

    drills, _ = all_drills()
    found = next_of_course(drills, _best_scores())
    if found is None:
        names = ", ".join(one.id for one in course(drills))
        raise InputError(f"you have done the first day's course ({names}); practise any of them again by its name")
    print(f"first day, {found.drill.course} of {len(course(drills))}: {found.drill.name}", file=sys.stderr)
    return found.id


def _best_scores() -> dict[str, float]:
    """The best scores in the logbook, which a console may be writing; none where there is no logbook."""
    import contextlib
    import sqlite3

    from sternwatch.logbook.store.results import attempts
    from sternwatch.logbook.store.trips import open_read_only
    from sternwatch.places import data_dir

    path = data_dir() / "logbook.sqlite"
    if not path.exists():
        return {}
    best: dict[str, float] = {}
    try:
        with contextlib.closing(open_read_only(path)) as connection:
            for one in attempts(connection):
                if one.score is not None:
                    best[one.drill] = max(one.score, best.get(one.drill, 0.0))
    except sqlite3.Error as fault:
        print(f"sternwatch: {path}: earlier attempts cannot be read: {fault}", file=sys.stderr)
    return best


# -- without a screen ----------------------------------------------------------------------------------------------


def _session(
    args: argparse.Namespace, file: DrillFile, spread: Spread, seed: int, faults: tuple[SensorFault, ...],
    begin: datetime,
) -> tuple[Run, Helmsman | None]:  # fmt: skip
    """A session and who steers it."""
    from sternwatch.practice.helmsmen.script import NAMES, ScriptError, load_script
    from sternwatch.practice.sessions.headless import Run

    if args.script in NAMES:
        if args.script == "novice":
            from sternwatch.practice.helmsmen.scripted import Novice

            return Run(file, spread, seed, begin=begin, faults=faults), Novice(file.drill)
        from sternwatch.practice.helmsmen.advised import MEMBERS, Advised

        return Run(file, spread, seed, begin=begin, faults=faults, members=MEMBERS), Advised(file.drill)
    actions = []
    if args.script is not None:
        try:
            actions = load_script(Path(args.script), file.drill, begin)
        except ScriptError as fault:
            raise InputError(str(fault)) from fault
    return Run(file, spread, seed, begin=begin, faults=faults, actions=actions), None


def _headless(
    args: argparse.Namespace, file: DrillFile, spread: Spread, seed: int, faults: tuple[SensorFault, ...]
) -> int:
    if file.drill.goal is None:
        raise InputError(f"{file.path}: without a goal it never ends: --headless needs a drill with one")
    from sternwatch.practice.sessions.headless import BEGIN
    from sternwatch.practice.sessions.headless import run as sail

    units = units_of(args)
    prepare_solver()
    session, helmsman = _session(args, file, spread, seed, faults, BEGIN)
    result = sail(session, helmsman, _print_row if args.rows else None)
    if args.json:
        print(json.dumps(result, allow_nan=False))
    else:
        from sternwatch.practice.sessions.words import result_lines

        print("\n".join(result_lines(result, (), units)))
    return Exit.DONE


def _print_row(session: Run, picture: Picture) -> None:
    from sternwatch.watch.picture.rows import number, picture_row

    row = picture_row(picture)
    for rod in row["rods"]:
        true = session.world.below.at(rod["key"], picture.t_s)
        rod["true_depth_m"] = number(true.depth_m) if true is not None else None
    row["drill_s"] = number(session.world.drill_s, 3)
    print(json.dumps(row, allow_nan=False))


def _serve(
    args: argparse.Namespace, file: DrillFile, spread: Spread, seed: int, faults: tuple[SensorFault, ...]
) -> int:
    from datetime import UTC, datetime

    from sternwatch.practice.sessions.serve import ServeError, open_outlet, parse_serve, serve

    try:
        outlet = open_outlet(parse_serve(args.serve))
    except ServeError as fault:
        raise InputError(str(fault)) from fault
    try:
        prepare_solver()
        print(f"sternwatch: {outlet.words} (Ctrl+C ends it)", file=sys.stderr, flush=True)
        session, helmsman = _session(args, file, spread, seed, faults, datetime.now(UTC).replace(microsecond=0))
        serve(outlet, lambda t_s: session.lines(t_s, helmsman))
    finally:
        outlet.close()
    return Exit.DONE


# -- on the screen -------------------------------------------------------------------------------------------------


def _screen(
    args: argparse.Namespace, file: DrillFile, spread: Spread, seed: int, faults: tuple[SensorFault, ...]
) -> int:
    from sternwatch.cli.common.session import Screen, show
    from sternwatch.practice.sessions.runner import Plan

    path = args.spread if args.spread is not None else file.spread_path
    plan = Plan(file, spread, seed, faults)
    sat: list[PracticeRunner] = []

    def make(preferences: Preferences) -> Runner:
        sat.append(_runner(plan, path, preferences))
        return sat[0]

    done = show(Screen(make), deck_of(args))
    for line in sat[0].result:  # it shows in the terminal after the screen closes
        print(line)
    return done


def _runner(plan: Plan, spread_path: Path, preferences: Preferences) -> PracticeRunner:
    from datetime import UTC, datetime

    from sternwatch.feed.recording.recorder import Recorder
    from sternwatch.logbook.store.lock import LogbookBusyError
    from sternwatch.logbook.store.logbook import Logbook, LogbookError
    from sternwatch.logbook.store.trips import new_trip
    from sternwatch.places import data_dir
    from sternwatch.practice.sessions.runner import PracticeRunner
    from sternwatch.watch.picture.model import Session

    try:
        logbook = Logbook(data_dir() / "logbook.sqlite")
    except LogbookBusyError as fault:
        raise InputError(str(fault)) from fault
    try:
        earlier = logbook.attempts(plan.file.id)
    except LogbookError:
        earlier = []  # an alarm shows the logbook's fault; practice goes on
    drill = plan.file.drill
    about: dict[str, Any] = {"drill": plan.file.id, "seed": plan.seed}
    if drill.start.only:
        about["rods"] = list(drill.start.only)  # the rods that take part
    trip = new_trip(
        datetime.now(UTC), session=Session.PRACTICE.value, start=drill.start.rods, spread_name=plan.spread.boat.name,
        spread_text=spread_path.read_text(encoding="utf-8"), about=about,
    )  # fmt: skip
    recording = data_dir() / "recordings" / f"{trip.id}.nmea"
    recording.parent.mkdir(parents=True, exist_ok=True)
    logbook.begin_trip(trip)

    def make_setup() -> Any:
        from sternwatch.practice.world.sounded import sounded
        from sternwatch.watch.core.setup import Setup

        return Setup(
            plan.spread,
            Session.PRACTICE,
            trip=plan.file.id,
            start=drill.start.rods,
            zone_c=drill.fish.zone_c,
            units=preferences.system,
            charted=sounded(drill, plan.seed, trip.begun.timestamp()),
        )

    return PracticeRunner(
        plan, make_setup, logbook, trip.id, preferences.system, Recorder(recording), earlier, waits=True
    )  # fmt: skip
