"""``sternwatch depth``: where every lure of a spread is at a steady speed."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.calibrated import add_calibration, calibration_of
from sternwatch.cli.common.exits import Exit
from sternwatch.cli.common.inputs import spread_of
from sternwatch.cli.common.options import (
    add_json,
    add_rods,
    add_spread,
    add_units,
    quantity,
    rods_of,
    speed,
    units_of,
)
from sternwatch.cli.common.tables import table_console
from sternwatch.cli.gear import whatif
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from rich.table import Table

    from sternwatch.answers.belief.attribution import Attribution
    from sternwatch.answers.depths.colours import ColoursForDepth
    from sternwatch.answers.depths.depth import DepthAnswer, RodAnswer
    from sternwatch.answers.depths.inverse import LineForDepth
    from sternwatch.answers.depths.sensitivity import Sensitivity
    from sternwatch.gear.spread_file.models import Spread


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "depth",
        help="where every lure lies at a steady speed",
        description="Where every lure of a spread lies at a steady speed through the surface water.",
        epilog=COMPUTED,
    )
    add_spread(parser)
    add_rods(parser)
    parser.add_argument(
        "--speed",
        action="append",
        type=speed,
        metavar="SPEED",
        help='through the surface water, "2.3 mph"; may be given several times; else the file\'s trolling_speed',
    )
    parser.add_argument(
        "--heading",
        type=quantity(Dimension.ANGLE),
        metavar="ANGLE",
        help='true heading, "90 deg"; it matters with a current',
    )
    whatif.add_options(parser)
    add_calibration(parser)
    add_json(parser)
    add_units(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    spread = spread_of(args.spread)
    args.speed = args.speed or [spread.boat.usual_m_s]
    keys = {rod.key for rod in rods_of(spread, args.rod)}
    from sternwatch.places import set_numba_cache

    set_numba_cache()
    from sternwatch.answers.belief.answer import believed_answer

    if args.heading is None and spread.water.current:
        print("sternwatch: no --heading is given, so north; with this current it matters", file=sys.stderr)
    learned = calibration_of(args.calibration, spread)
    rods = [rod for rod in spread.rods if rod.key in keys]
    answers = [believed_answer(spread, v, rods=rods, heading_rad=args.heading, learned=learned) for v in args.speed]
    targets = [whatif.lines_for(spread, rods, args, v, learned) for v in args.speed]
    cores = [whatif.cores_for(spread, *given) for given in zip(targets, answers, strict=True)]
    slopes = [whatif.slopes_of(spread, rods, args, v, learned) for v in args.speed]
    parts = [whatif.parts_of(spread, rods, args, v, learned) for v in args.speed]
    if args.json:
        import json

        for answer, lines, made, changes, made_of in zip(answers, targets, cores, slopes, parts, strict=True):
            document = as_json(answer) | {"calibration": None if learned is None else learned.name}
            for rod in document["rods"]:
                if lines:
                    key = rod["key"]
                    rod.update(whatif.target_json(lines.get(key), made.get(key)))
                if changes:
                    rod.update(whatif.slopes_json(changes[rod["key"]]))
                    rod.update(whatif.parts_json(made_of[rod["key"]]))
            print(json.dumps(document, allow_nan=False))
    else:
        _print(spread, answers, targets, cores, slopes, parts, units_of(args))
    return Exit.DONE


def as_json(answer: DepthAnswer) -> dict[str, Any]:
    """The answer in the contract's form: SI, null where unknown."""
    return {
        "speed_through_water_m_s": answer.speed_through_water_m_s,
        "heading_deg": answer.heading_deg,
        "rods": [_rod_json(rod) for rod in answer.rods],
        "caution": COMPUTED,
    }


def _rod_json(rod: RodAnswer) -> dict[str, Any]:
    return {
        "key": rod.key,
        "name": rod.name,
        "depth_m": rod.depth_m,
        "astern_m": rod.astern_m,
        "abeam_m": rod.abeam_m,
        "tension_N": rod.tension_N,
        "entry_angle_deg": rod.entry_angle_deg,
        "depth_interval_m": None if rod.depth_interval_m is None else list(rod.depth_interval_m),
        "depth_quantiles_m": None if rod.depth_quantiles_m is None else list(rod.depth_quantiles_m),
        "temperature_c": rod.temperature_c,
        "points": [
            {"what": p.what, "depth_m": p.depth_m, "astern_m": p.astern_m, "abeam_m": p.abeam_m} for p in rod.points
        ],
        "why": rod.why,
        "remarks": list(rod.remarks),
    }


def _print(
    spread: Spread,
    answers: list[DepthAnswer],
    targets: list[dict[str, LineForDepth]],
    cores: list[dict[str, ColoursForDepth]],
    slopes: list[dict[str, Sensitivity]],
    parts: list[dict[str, Attribution]],
    units: DisplaySystem,
) -> None:

    console = table_console()
    for answer, lines, made, changes, made_of in zip(answers, targets, cores, slopes, parts, strict=True):
        shown = units.show(answer.speed_through_water_m_s, Dimension.SPEED, 1)
        console.print(f"{spread.boat.name}: {shown} through the water")
        console.print(_table(spread, answer, units))
        for rod in answer.rods:
            for remark in (*((rod.why,) if rod.why else ()), *_core(spread, rod.key), *rod.remarks):
                console.print(f"{rod.key} {rod.name}: {remark}")
        if lines:
            console.print("\nline out for a depth:")
            for line in whatif.target_lines(spread, list(lines.values()), made, units):
                console.print(f"    {line}", soft_wrap=True)
        if changes:
            console.print("\nwhat changes the depth:")
            console.print(whatif.slopes_table(list(changes.values()), units))
            console.print("\nwhat the 90 % interval is made of, if the speed is known:")
            for line in whatif.parts_lines(spread, list(made_of.values()), units):
                console.print(f"    {line}", soft_wrap=True)
        console.print()
    console.print(COMPUTED)


def _core(spread: Spread, key: str) -> list[str]:
    """The colours of lead-core out, for rods whose line out could be mistaken for them."""
    from sternwatch.answers.depths.colours import colours_of

    rod = spread.rod_by_key(key)
    colours = None if rod is None else colours_of(spread, rod)
    return [] if colours is None else [f"{colours:g} colours out; line out is what its counter reads"]


def _table(spread: Spread, answer: DepthAnswer, units: DisplaySystem) -> Table:
    from rich.table import Table

    length = units.label(Dimension.LENGTH)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("rod", no_wrap=True)
    headings = [f"line out\n{length}", "setting", f"depth\n{length}", f"90 % in\n{length}"]
    headings += [f"astern\n{length}", f"abeam\n{length}", f"pull\n{units.label(Dimension.FORCE)}", "entry\n°"]
    if spread.water.profile:
        headings.append(f"water\n{units.label(Dimension.TEMPERATURE)}")
    for heading in headings:
        table.add_column(heading, justify="left" if heading == "setting" else "right", no_wrap=True)

    def lengths(value: float | None) -> str:
        return units.show(value, Dimension.LENGTH, 0, label=False)

    filed_by = {rod.key: rod for rod in spread.rods}
    for rod in answer.rods:
        filed = filed_by[rod.key]
        interval = rod.depth_interval_m
        table.add_row(
            f"{rod.key} {rod.name}",
            lengths(filed.line_out_m),
            spread.setting(filed) or "–",
            lengths(rod.depth_m),
            "–" if interval is None else f"{lengths(max(0.0, interval[0]))}–{lengths(interval[1])}",
            lengths(rod.astern_m),
            _abeam(rod.abeam_m, lengths),
            units.show(rod.tension_N, Dimension.FORCE, 1, label=False),
            "–" if rod.entry_angle_deg is None else f"{rod.entry_angle_deg:.0f}",
            *([units.show(rod.temperature_c, Dimension.TEMPERATURE, 0, label=False)] if spread.water.profile else []),
        )
    return table


def _abeam(value: float | None, lengths: Callable[[float | None], str]) -> str:
    if value is None:
        return lengths(None)
    return f"{lengths(abs(value))} {'P' if value < 0 else 'S'}"
