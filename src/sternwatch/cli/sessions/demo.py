"""``sternwatch demo``: the invented evening in the package."""

from __future__ import annotations

import argparse

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.deck import add_deck, deck_of
from sternwatch.cli.common.exits import InputError
from sternwatch.places import shipped


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "demo",
        help="an invented evening on the screen",
        description="An invented evening on Lake Superior: eight rods, turns, hits. It opens just before a tight "
        "turn, and is played with the keys of a replay: Space, arrows, [ and ].",
        epilog=COMPUTED,
    )
    parser.add_argument("--rate", type=float, default=1.0, metavar="N", help="how fast the evening passes")
    parser.add_argument("--no-tour", action="store_true", help="do not say what to look at")
    parser.add_argument("--from-start", action="store_true", help="begin with the rods in")
    add_deck(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.inputs import actions_of, spread_of
    from sternwatch.cli.common.session import Play, Screen, show
    from sternwatch.console.controls.tour import EVENING, EVENING_FROM_S, EVENING_RUN_UP_S

    folder = shipped("demo_logs")
    feed = folder / "evening.nmea"
    if not feed.exists():
        raise InputError(f"the demo's files are missing: {feed}")
    spread = spread_of(folder / "evening.toml")
    actions = actions_of(folder / "evening.actions.jsonl")
    begin = 0.0 if args.from_start else EVENING_FROM_S
    tour = () if args.no_tour or args.from_start else EVENING
    play = Play(feed, spread, actions, begin_s=begin, run_up_s=EVENING_RUN_UP_S, rate=args.rate)
    return show(Screen.demo(play, tour), deck_of(args))
