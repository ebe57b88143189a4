"""``sternwatch plan``: what to put where, for lures between two depths, and in what order to let the lines out."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED, NO_GUARANTEE, WIRE
from sternwatch.cli.common.calibrated import add_calibration, calibration_of
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_spread, add_units, preferred, quantity, speed, units_of
from sternwatch.cli.common.tables import table_console
from sternwatch.cli.common.written import to_write_or_print, write_page
from sternwatch.gear.values.units import Dimension, DisplaySystem, limit_words

if TYPE_CHECKING:
    from sternwatch.gear.spread_file.models import Spread
    from sternwatch.watch.planner.plan import SpreadPlan

LEAST_TURN_S, MOST_TURN_S = 20.0, 600.0
DEEPEST_M = 250.0


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "plan",
        help="settings and line out for lures between two depths",
        description="Settings and line out for every rod, so that the lures spread evenly between two depths and "
        "lines keep apart in a straight tow and in U-turns to either side; what stands in the way of it; and the "
        "order in which to let the lines out so that none crosses on the way.",
        epilog=COMPUTED,
    )
    add_spread(parser)
    length = quantity(Dimension.LENGTH)
    parser.add_argument("--from", dest="first", required=True, type=length, metavar="DEPTH", help='"40 ft"')
    parser.add_argument("--to", dest="last", required=True, type=length, metavar="DEPTH", help='"80 ft"')
    parser.add_argument(
        "--speed", type=speed, metavar="SPEED", help='through the water, "2.3 mph"; else the file\'s trolling_speed'
    )
    parser.add_argument(
        "--u-turn",
        type=quantity(Dimension.TIME),
        metavar="TIME",
        help='half a circle to either side in "2 min" without a crossing; without it, only a straight tow',
    )
    parser.add_argument(
        "--rod", "--rods", dest="rods", metavar="KEYS", help="only these rods, as 1,2,5; the others are left in"
    )
    parser.add_argument("--heading", type=quantity(Dimension.ANGLE), metavar="ANGLE", help="matters with a current")
    parser.add_argument(
        "--seed", type=int, metavar="N", help="compute other versions (default: those of every answer)"
    )
    add_calibration(parser)
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="machine-readable output on standard output")
    form.add_argument(
        "--html", type=to_write_or_print, metavar="FILE", help="write one page for the deck; - is standard output"
    )
    add_units(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.inputs import spread_of
    from sternwatch.cli.common.solver import prepare_solver

    if not 0.0 < args.first <= args.last <= DEEPEST_M:
        units = units_of(args)
        first, last = (units.show(depth, Dimension.LENGTH) for depth in (args.first, args.last))
        most = limit_words(DEEPEST_M, units.length)
        raise InputError(
            f"--from {first} --to {last}: the shallower depth comes first, more than 0 and at most {most}"
        )
    if args.speed == 0.0:
        raise InputError("--speed is 0; a plan needs a boat that moves")
    if args.u_turn is not None and not LEAST_TURN_S <= args.u_turn <= MOST_TURN_S:
        raise InputError(f"--u-turn is {args.u_turn:g} s; accepted is {LEAST_TURN_S:g} s to {MOST_TURN_S / 60:g} min")
    spread = spread_of(args.spread)
    args.speed = args.speed or spread.boat.usual_m_s
    keys = _keys(spread, args.rods)
    learned = calibration_of(args.calibration, spread)
    prepare_solver()
    from sternwatch.answers.belief.priors import believed
    from sternwatch.answers.depths.reach import Wanted
    from sternwatch.watch.planner.plan import make_plan

    wanted = Wanted(args.first, args.last, args.speed, keys, args.heading)
    spread = believed(spread, learned)
    rate = preferred().let_out_m_s
    plan = make_plan(spread, wanted, u_turn_s=args.u_turn, seed=args.seed, learned=learned, pay_out_m_s=rate)
    if args.json:
        import json

        named = {"calibration": None if learned is None else learned.name}
        print(json.dumps(as_json(plan, spread) | named, allow_nan=False))
    elif args.html is not None:
        write_page(args.html, page(spread, plan, units_of(args)))
    else:
        _print(spread, plan, units_of(args))
    return Exit.DONE


def _keys(spread: Spread, given: str | None) -> tuple[str, ...]:
    known = [rod.key for rod in spread.rods]
    if given is None:
        return tuple(known)
    asked = [key.strip() for key in given.split(",") if key.strip()]
    for key in asked:
        if key not in known:
            raise InputError(f'--rods "{key}": the spread has no such rod; accepted: {", ".join(known)}')
    if not asked:
        raise InputError(f"--rods names none; accepted: {', '.join(known)}")
    for rod in spread.rods:
        if rod.key in asked and rod.clipped_to is not None and rod.clipped_to.rod not in asked:
            raise InputError(f"--rods: rod {rod.key} hangs on rod {rod.clipped_to.rod}'s cable; name that one too")
    return tuple(key for key in known if key in asked)


def as_json(plan: SpreadPlan, spread: Spread) -> dict[str, Any]:
    """The plan in SI, null where unknown; lengths are counter readings."""
    from sternwatch.gear.values.units import SYSTEMS
    from sternwatch.hydro.separation.verdicts import NAMES

    order = plan.letting_out
    return {
        "from_m": plan.wanted.from_m,
        "to_m": plan.wanted.to_m,
        "speed_through_water_m_s": plan.wanted.speed_m_s,
        "u_turn_s": plan.u_turn_s,
        "met": plan.met,
        "rods": [
            {
                "key": rod.key,
                "name": rod.name,
                "setting": rod.setting,
                "line_out_m": rod.line_out_m,
                "depth_m": rod.depth_m,
                "depth_interval_m": None if rod.depth_interval_m is None else list(rod.depth_interval_m),
                "depth_quantiles_m": None if rod.depth_quantiles_m is None else list(rod.depth_quantiles_m),
                "astern_m": rod.astern_m,
                "abeam_m": rod.abeam_m,
                "in_band": rod.in_band,
                "why": rod.why,
                "present_setting": rod.present_setting,
                "present_line_out_m": rod.present_line_out_m,
            }
            for rod in plan.rods
        ],
        "unevenness_m": plan.unevenness_m,
        "any_crossing": plan.any_crossing,
        "pairs": [{"keys": list(keys), "probability": share} for keys, share in plan.crossing],
        "slower_u_turn_s": plan.slower_s,
        "order": list(order.keys),
        "order_crossings": [
            {
                "going_out": one.going,
                "out": one.out,
                "distance_over_required": one.ratio,
                "verdict": NAMES[one.verdict],
            }
            for one in order.crossings
        ],
        "order_not_known": list(order.unknown),
        "order_time_s": order.time_s,
        "in_the_way": plan.in_the_way(spread, SYSTEMS["metric"]),
        "caution": COMPUTED,
    }


def page(spread: Spread, plan: SpreadPlan, units: DisplaySystem) -> str:
    """One page for the deck."""
    from html import escape

    from sternwatch.cli.common.printed_page import framed
    from sternwatch.watch.planner.words import found_words, headline, heads, rows

    head = "".join(f"<th>{escape(name)}</th>" for name in ("", *heads(units)))
    lines = [
        f"<tr><th>{number}</th>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>"
        for number, row in enumerate(rows(plan, units), 1)
    ]
    said = found_words(plan, spread, units)
    body = f"<table><tr>{head}</tr>{''.join(lines)}</table>{''.join(f'<p>{escape(text)}.</p>' for text in said)}"
    return framed("Plan", spread.boat.name, [headline(spread, plan, units)], f"<section>{body}</section>")


def _print(spread: Spread, plan: SpreadPlan, units: DisplaySystem) -> None:
    from rich.table import Table

    from sternwatch.watch.planner.words import found_words, headline, heads, rows

    console = table_console()
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for name in ("", *heads(units)):
        table.add_column(name, justify="left" if name in ("rod", "setting", "") else "right", no_wrap=True)
    for number, row in enumerate(rows(plan, units), 1):
        table.add_row(f"{number}.", *row)
    console.print(headline(spread, plan, units), soft_wrap=True)
    console.print(table)
    for text in found_words(plan, spread, units):
        console.print(f"{text}.", soft_wrap=True)
    for caution in (WIRE, COMPUTED, NO_GUARANTEE):
        console.print(caution)
