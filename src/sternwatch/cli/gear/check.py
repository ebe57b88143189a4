"``sternwatch check``: finds what could break, trip, tangle or drag, before the spread goes out."

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.exits import Exit
from sternwatch.cli.common.options import add_json, add_spread, add_units, quantity, speed, units_of
from sternwatch.cli.common.tables import table_console
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from sternwatch.answers.checks.check import Check
    from sternwatch.answers.checks.loads import Loads
    from sternwatch.gear.spread_file.models import Spread


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "check",
        help="what could break, trip, tangle or drag, before the spread goes out",
        description="Check a spread on a straight course: pull against strength, a strike's peak, releases, "
        "leaders against the net, sides, numbers of rods, neighbours, the bottom. It tells what it "
        "found and what it could not check; finding nothing is not a guarantee.",
        epilog=COMPUTED,
    )
    add_spread(parser)
    parser.add_argument(
        "--speed", type=speed, metavar="SPEED", help="through the water; else the file's trolling_speed, or 2.3 mph"
    )
    parser.add_argument("--heading", type=quantity(Dimension.ANGLE), metavar="ANGLE", help="matters with a current")
    parser.add_argument("--bottom", type=quantity(Dimension.LENGTH), metavar="DEPTH", help="water depth at the place")
    parser.add_argument(
        "--fish",
        type=quantity(Dimension.MASS),
        metavar="MASS",
        help='weight of the fish that strikes, "11 lb" (else 5 kg)',
    )
    parser.add_argument(
        "--run", dest="fish_speed", type=speed, metavar="SPEED", help="how fast it pulls against the line; else 2 m/s"
    )
    add_json(parser)
    add_units(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.inputs import spread_of
    from sternwatch.places import set_numba_cache

    spread = spread_of(args.spread)
    set_numba_cache()
    from sternwatch.answers.checks.check import check_spread
    from sternwatch.answers.checks.strike import FISH_MASS_KG, FISH_SPEED_M_S

    units = units_of(args)
    found = check_spread(
        spread,
        spread.boat.usual_m_s if args.speed is None else args.speed,
        heading_rad=args.heading,
        bottom_m=args.bottom,
        fish_kg=FISH_MASS_KG if args.fish is None else args.fish,
        fish_m_s=FISH_SPEED_M_S if args.fish_speed is None else args.fish_speed,
        units=units,
    )
    if args.json:
        import json

        print(json.dumps(as_json(found), allow_nan=False))
    else:
        _print(spread, found, units)
    return Exit.DONE


def as_json(found: Check) -> dict[str, Any]:
    """The check in SI; its sentences use the chosen units."""
    return {
        "speed_through_water_m_s": found.speed_through_water_m_s,
        "findings": [
            {"kind": f.kind, "keys": list(f.keys), "where": f.where, "what": f.what, "why": f.why, "cure": f.cure,
             **f.values}
            for f in found.findings
        ],
        "unchecked": list(found.unchecked),
        "rods": [_loads_json(loads) for loads in found.loads],
    }  # fmt: skip


def _loads_json(loads: Loads) -> dict[str, Any]:
    weakest = loads.weakest
    return {
        "key": loads.key,
        "name": loads.name,
        "parts": [
            {"what": p.what, "pull_N": p.pull_N, "strength_N": p.strength_N, "margin": p.margin} for p in loads.parts
        ],
        "weakest": weakest.what if weakest is not None else None,
        "margin": weakest.margin if weakest is not None else None,
        "strike_peak_N": loads.strike_peak_N,
        "strike_without_snubber_N": loads.strike_without_snubber_N,
        "strike_with_usual_snubber_N": loads.strike_with_usual_snubber_N,
    }


def _print(spread: Spread, found: Check, units: DisplaySystem) -> None:
    from rich.table import Table

    console = table_console()
    shown = units.show(found.speed_through_water_m_s, Dimension.SPEED, 1)
    console.print(f"{spread.boat.name}: straight course, {shown} through the water")
    force = units.label(Dimension.FORCE)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in (
        "rod",
        f"pull\n{force}",
        "weakest\npart",
        "holds\ntimes",
        f"strike\n{force}",
        "no snubber\n" + force,
    ):
        table.add_column(heading, justify="left" if heading.startswith(("rod", "weakest")) else "right", no_wrap=True)
    for loads in found.loads:
        weakest = loads.weakest
        table.add_row(
            f"{loads.key} {loads.name}",
            units.show(loads.parts[0].pull_N, Dimension.FORCE, 1, label=False),
            "–" if weakest is None else weakest.what,
            "–" if weakest is None or weakest.margin is None else f"{weakest.margin:.1f}",
            units.show(loads.strike_peak_N, Dimension.FORCE, 0, label=False),
            units.show(loads.strike_without_snubber_N, Dimension.FORCE, 0, label=False),
        )
    console.print(table)
    console.print("strike: on top of the steady pull; an upper bound, as if rod and reel did not give")
    console.print()
    for finding in found.findings:
        console.print(f"{finding.where}: {finding.what}", soft_wrap=True)
        console.print(f"    why   {finding.why}", soft_wrap=True)
        console.print(f"    cure  {finding.cure}", soft_wrap=True)
    if not found.findings:
        console.print("These checks found nothing. This is not a guarantee.")
    if found.unchecked:
        console.print("\nnot looked at:")
        for line in found.unchecked:
            console.print(f"    {line}", soft_wrap=True)
    console.print()
    for caution in found.cautions:
        console.print(caution)
    console.print(COMPUTED)
