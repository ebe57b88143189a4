"""``sternwatch forecast``: what a turn or a change of speed will do to every line of a spread."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.calibrated import add_calibration, calibration_of
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, add_spread, add_units, quantity, speed, units_of
from sternwatch.cli.common.solver import prepare_solver
from sternwatch.cli.common.tables import table_console
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from rich.table import Table

    from sternwatch.answers.belief.calibration import Calibration
    from sternwatch.gear.spread_file.models import Spread
    from sternwatch.watch.picture.manoeuvre import Manoeuvre
    from sternwatch.watch.picture.outlook import Advice, Forecast

# The turn starts after this long on a settled straight course.
WAIT_S = 30.0
HOLD = "hold"
TURN_EXAMPLE = '"port 180 deg radius 30 m" or "starboard 90 deg in 60 s"'


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "forecast",
        help="what a turn or a new speed will do to every line",
        description="What a turn or a new speed will do to every line of a spread, from a settled straight course: "
        f"it begins after {WAIT_S:.0f} s. Without --turn, --to-speed or --stop the course is held.",
        epilog=COMPUTED,
    )
    add_spread(parser)
    add_calibration(parser)
    parser.add_argument(
        "--speed", type=speed, metavar="SPEED", help='through the water, "2.3 mph"; else the file\'s trolling_speed'
    )
    parser.add_argument(
        "--turn", type=turn_words, metavar="TURN", help=f"{TURN_EXAMPLE}; the radius is that of the transom's way"
    )
    parser.add_argument("--to-speed", type=speed, metavar="SPEED", help="a new speed, reached while the turn begins")
    parser.add_argument("--stop", type=quantity(Dimension.TIME), metavar="TIME", help='out of gear for "20 s"')
    parser.add_argument("--heading", type=quantity(Dimension.ANGLE), metavar="ANGLE", help="matters with a current")
    parser.add_argument(
        "--seed", type=int, metavar="N", help="compute other versions (default: those of every answer)"
    )
    add_json(parser)
    add_units(parser)
    parser.set_defaults(run=run)


def turn_words(given: str) -> tuple[str, float, float | None, float | None]:
    """A turn for argparse: (side, rad, seconds or None, radius in m or None)."""
    match = re.fullmatch(
        r"\s*(port|starboard)\s+(\S+(?:\s*deg)?)\s*(?:\s(radius|in)\s+(.+?))?\s*", given, re.IGNORECASE
    )
    if match is None:
        raise argparse.ArgumentTypeError(f'"{given}" is not a turn; accepted is, for example, {TURN_EXAMPLE}')
    side, angle, how, much = match.groups()
    side, how = side.lower(), how and how.lower()
    turn = quantity(Dimension.ANGLE)(angle)
    if not 0.0 < turn <= math.radians(720):
        raise argparse.ArgumentTypeError(f'"{angle}": a turn is more than 0 and at most 720 deg')
    seconds = quantity(Dimension.TIME)(much) if how == "in" else None
    radius = quantity(Dimension.LENGTH)(much) if how == "radius" else None
    if radius is not None and not 1.0 <= radius <= 5000.0:
        raise argparse.ArgumentTypeError(f'"{much}": a radius is 1 m to 5000 m (3 to 16,400 ft)')
    if seconds is not None and not 1.0 <= seconds <= 600.0:
        raise argparse.ArgumentTypeError(f'"{much}": a turn takes 1 s to 600 s')
    return side, turn, seconds, radius


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.inputs import spread_of

    if args.stop is not None and not 0.0 <= args.stop <= 300.0:
        raise InputError(f"--stop is {args.stop:g} s; accepted is 0 s to 300 s")
    if args.speed == 0.0:
        raise InputError("--speed is 0; a forecast needs a boat that moves")
    spread = spread_of(args.spread)
    args.speed = args.speed or spread.boat.usual_m_s
    prepare_solver()
    learned = calibration_of(args.calibration, spread)
    made, advice = forecast_spread(spread, args, learned)
    if args.json:
        import json

        named = {"calibration": None if learned is None else learned.name}
        print(json.dumps(as_json(made, advice) | named, allow_nan=False))
    else:
        units = units_of(args)
        print(f"{spread.boat.name}: {asked_words(args, units)}")
        _print(spread, made, advice, units)
    return Exit.DONE


def _manoeuvre(args: argparse.Namespace) -> Manoeuvre:
    from sternwatch.watch.picture.manoeuvre import Manoeuvre

    side, rad, seconds, radius = args.turn or ("starboard", 0.0, None, None)
    return Manoeuvre(
        name="plan" if args.turn or args.to_speed is not None or args.stop is not None else HOLD,
        turn_rad=rad if side == "starboard" else -rad,
        rate_rad_s=rad / seconds if seconds else None,
        radius_m=radius,
        to_speed_m_s=args.to_speed,
        stop_s=args.stop,
        wait_s=WAIT_S,
    )


def asked_words(args: argparse.Namespace, units: DisplaySystem) -> str:
    """What is forecast, in a few words: "from 2.3 mph starboard 90°, radius 100 ft, to 1.8 mph"."""
    begun = units.show(args.speed, Dimension.SPEED, 1)
    parts: list[str] = []
    if args.turn is not None:
        side, rad, seconds, radius = args.turn
        parts.append(f"{side} {math.degrees(rad):.0f}°")
        if seconds is not None:
            parts[-1] += f" in {seconds:.0f} s"
        if radius is not None:
            parts.append(f"radius {units.show(radius, Dimension.LENGTH, 0)}")
    if args.to_speed is not None:
        parts.append(f"to {units.show(args.to_speed, Dimension.SPEED, 1)}")
    if args.stop is not None:
        parts.append(f"out of gear for {args.stop:.0f} s")
    return f"from {begun} {', '.join(parts)}" if parts else f"straight on at {begun}"


def forecast_spread(
    spread: Spread, args: argparse.Namespace, learned: Calibration | None = None
) -> tuple[Forecast, tuple[Advice, ...]]:
    """The forecast of a whole spread from a settled course, and the remedies for its worst pair."""
    from sternwatch.answers.belief.priors import Draws
    from sternwatch.answers.chains.arrays import AS_FILED, water_of
    from sternwatch.watch.boat.water import Waters
    from sternwatch.watch.chains.ensemble import required_of, settled_members
    from sternwatch.watch.forecast.make import forecast
    from sternwatch.watch.outlook.advice import advise
    from sternwatch.watch.picture.outlook import RISK

    rods = {rod.key: AS_FILED for rod in spread.rods}
    water, flow = water_of(spread), Waters.of(spread).flow
    heading = args.heading or 0.0
    draws = Draws(args.seed, calibration=learned)
    fleet = settled_members(
        spread, rods, draws, water=water, flow=flow, heading_rad=heading, speed_m_s=args.speed
    )  # fmt: skip
    required = required_of(spread)
    made = forecast(fleet, _manoeuvre(args), speed_m_s=args.speed, required=required)
    if made.any_crossing is None or made.any_crossing <= RISK:
        return made, ()
    names = {rod.key: rod.name for rod in spread.rods}
    units = units_of(args)
    return made, advise(fleet, made, speed_m_s=args.speed, required=required, units=units, names=names)


def as_json(made: Forecast, advice: tuple[Advice, ...]) -> dict[str, Any]:
    """The forecast in the contract's form: SI, null where unknown."""
    from sternwatch.watch.forecast.meeting_rows import meeting_row

    return {
        "pairs": [
            {
                "keys": list(pair.keys),
                "probability": pair.probability,
                "time_s": pair.time_s,
                "separation_m": pair.separation_m,
                "required_m": pair.required_m,
                "depth_m": pair.depth_m,
                "astern_m": pair.astern_m,
                "abeam_m": pair.abeam_m,
                **meeting_row(pair),
            }
            for pair in made.pairs
        ],
        "rods": [
            {
                "key": rod.key,
                "depth_min_m": rod.depth_min_m,
                "depth_max_m": rod.depth_max_m,
                "speed_min_m_s": rod.speed_min_m_s,
                "slack_s": rod.slack_s,
            }
            for rod in made.rods
        ],
        "advice": [
            {"text": one.text, "change": one.change, "probability_after": one.probability_after} for one in advice
        ],
        "any_crossing": made.any_crossing,
        "members": made.members,
        "horizon_s": made.horizon_s - WAIT_S,
    }


def _print(spread: Spread, made: Forecast, advice: tuple[Advice, ...], units: DisplaySystem) -> None:

    from sternwatch.watch.forecast.meeting_words import INDICATIVE, near_passes
    from sternwatch.watch.picture.outlook import RISK

    console = table_console()
    names = {rod.key: rod.name for rod in spread.rods}
    if made.any_crossing is None:
        console.print("No chain could be followed: nothing is known.")
    else:
        of_all = f"{100 * made.any_crossing:.0f} %" if made.any_crossing else "none"
        console.print(f"Any crossing (touch or worse): in {of_all} of {made.members} versions")
    pairs = _pairs_table(made, names, units)
    if pairs.row_count:
        console.print(pairs)
    for sentence in near_passes(made, names, units):
        console.print(sentence)
    if made.any_crossing:
        console.print(INDICATIVE[0])
    console.print(_rods_table(made, names, units))
    for one in advice:
        console.print(one.text)
    if not advice and made.any_crossing is not None and made.any_crossing > RISK:
        console.print("No single change that was tried avoids it.")
    console.print(COMPUTED)


def _table(words: Sequence[str], numbers: Sequence[str]) -> Table:
    """An empty table: words in left-aligned columns, numbers in right-aligned ones."""
    from rich.table import Table

    made = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in words:
        made.add_column(heading, justify="left", no_wrap=True)
    for heading in numbers:
        made.add_column(heading, justify="right", no_wrap=True)
    return made


def _pairs_table(made: Forecast, names: Mapping[str, str], units: DisplaySystem) -> Table:
    """A table of the twelve pairs nearest to crossing, the worst first."""
    from sternwatch.watch.forecast.meeting_words import comes_to

    turns = made.manoeuvre.name != HOLD  # on a held course there is nothing to count seconds from
    pairs = _table(("pair", "comes to"), ("closest", "wanted", *(("after",) if turns else ()), "depth", "astern"))
    known = [pair for pair in made.pairs if pair.probability is not None and pair.separation_m is not None]
    known.sort(key=lambda p: (-p.known_probability, (p.separation_m or 0.0) / (p.required_m or 1.0)))
    for pair in known[:12]:
        pairs.add_row(
            " · ".join(f"{key} {names[key]}" for key in pair.keys),
            comes_to(pair),
            units.show(pair.separation_m, Dimension.LENGTH, 1),
            units.show(pair.required_m, Dimension.LENGTH, 1),
            *((_after(pair.time_s),) if turns else ()),
            _depth(pair.depth_m, units),
            units.show(pair.astern_m, Dimension.LENGTH, 0),
        )
    return pairs


def _rods_table(made: Forecast, names: Mapping[str, str], units: DisplaySystem) -> Table:
    """A table of what every rod does meanwhile."""
    rods = _table(("rod",), ("least depth", "greatest", "slowest lure", "slack"))
    for rod in made.rods:
        rods.add_row(
            f"{rod.key} {names[rod.key]}",
            _depth(rod.depth_min_m, units),
            _depth(rod.depth_max_m, units),
            units.show(rod.speed_min_m_s, Dimension.SPEED, 1),
            _seconds(rod.slack_s),
        )
    return rods


def _depth(depth_m: float | None, units: DisplaySystem) -> str:
    """A depth; a point in the air, as where two lines meet near the tips, is told as so far up."""
    if depth_m is None or depth_m >= 0.0:
        return units.show(depth_m, Dimension.LENGTH, 0)
    return f"{units.show(-depth_m, Dimension.LENGTH, 0)} up"


def _after(begun_s: float | None) -> str:
    """How long after the turn began; on the settled course before it there is no more to say than that."""
    return "before" if begun_s is not None and begun_s < 0.0 else _seconds(begun_s)


def _seconds(value_s: float | None) -> str:
    return "–" if value_s is None else f"{value_s:.0f} s"
