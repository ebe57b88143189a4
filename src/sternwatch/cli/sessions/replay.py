"""``sternwatch replay``: plays a recorded feed, on the screen or as rows of JSON."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.calibrated import add_calibration, calibration_of
from sternwatch.cli.common.deck import add_deck, deck_of
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.inputs import actions_of, spread_of, told_recording_of
from sternwatch.cli.common.options import SPREAD_HELP, spread_file
from sternwatch.places import shipped

if TYPE_CHECKING:
    from sternwatch.feed.recording.reader import Recording
    from sternwatch.gear.spread_file.models import Spread
    from sternwatch.logbook.actions.kinds import Action
    from sternwatch.watch.core.player import Player
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.picture.model import Picture


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "replay",
        help="play a recorded feed",
        description="Play a recorded feed with a spread: on the screen, or as one JSON object per second.",
        epilog=COMPUTED,
    )
    parser.add_argument(
        "feed",
        metavar="FEED",
        help="the recording, plain or gzipped: NMEA 0183; n2k:PATH (NMEA 2000 as text) or signalk:PATH where the "
        'file itself does not say what it holds; or "demo"',
    )
    parser.add_argument("--spread", type=spread_file, metavar="SPREAD", help=SPREAD_HELP)
    parser.add_argument("--actions", type=Path, metavar="FILE", help="the crew's entries, as JSON Lines")
    add_calibration(parser)
    parser.add_argument("--outlook", action="store_true", help="with --headless: adds the forecast to every row")
    parser.add_argument("--headless", action="store_true", help="no screen; with --json")
    parser.add_argument("--json", action="store_true", help="one JSON object per UTC second on standard output")
    parser.add_argument("--no-checksum", action="store_true", help="use sentences even if their checksum is wrong")
    parser.add_argument("--rate", type=float, default=1.0, metavar="N", help="how fast it plays on the screen")
    add_deck(parser)
    parser.set_defaults(run=run, console=True)


def run(args: argparse.Namespace) -> int:
    if args.headless and not args.json:
        raise InputError("--headless prints rows for machines: give --json with it")
    if args.json and not args.headless:
        raise InputError("--json needs --headless: with the screen there is nothing to print")
    if args.outlook and not args.headless:
        raise InputError("--outlook is for rows: give --headless --json with it; on the screen it always runs")
    deck = deck_of(args)
    demo = args.feed == "demo" and not Path(args.feed).exists()
    if demo:
        _take_the_demo(args)
    spread = spread_of(args.spread)
    actions = actions_of(args.actions)
    recording, speech = told_recording_of(args.feed)
    if args.headless:
        return _headless(args, recording, spread, actions, demo=demo)
    recording.close()
    from sternwatch.cli.common.session import Play, Screen, show

    learned = calibration_of(args.calibration, spread)
    play = Play(recording.path, spread, actions, speech, rate=args.rate, unchecked=args.no_checksum, learned=learned)
    return show(Screen.demo(play, ()) if demo else Screen.replay(play), deck)


def _take_the_demo(args: argparse.Namespace) -> None:
    """The invented evening, on the boat of its crew with their entries unless another boat is named."""
    folder = shipped("demo_logs")
    args.feed = str(folder / "evening.nmea")
    if args.spread is None:
        args.spread = folder / "evening.toml"
        args.actions = args.actions or folder / "evening.actions.jsonl"


def _headless(
    args: argparse.Namespace, recording: Recording, spread: Spread, actions: list[Action], *, demo: bool
) -> int:
    from sternwatch.logbook.crew.fold import start_state
    from sternwatch.watch.core.player import Player, rows_of
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.picture.model import Session
    from sternwatch.watch.picture.rows import picture_row

    for note in (*recording.notes, recording.timing):
        print(f"sternwatch: {note}", file=sys.stderr)
    learned = calibration_of(args.calibration, spread)
    session = Session.DEMO if demo else Session.REPLAY
    setup = Setup(spread, session, trip=recording.path.name, start=start_state(actions), calibration=learned)
    player = Player(recording, setup, actions, unchecked=args.no_checksum)
    write = sys.stdout.write
    for row in rows_of(player, _with_outlook(player, setup) if args.outlook else picture_row):
        write(json.dumps(row, allow_nan=False))
        write("\n")
    for report in player.decoder.reports():
        if report.complaint:
            print(f"sternwatch: {report.complaint}", file=sys.stderr)
    return Exit.DONE


def _with_outlook(player: Player, setup: Setup) -> Callable[[Picture], dict[str, Any]]:
    """A function for rows that carry the forecast made at their own time."""
    from sternwatch.watch.outlook.rows import OutlookRows

    ahead = OutlookRows(setup.spread, setup.units)
    return lambda picture: ahead.row(player.watch, picture)
