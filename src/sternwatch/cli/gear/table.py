"""``sternwatch table``: let-out cards, as a table to read, CSV, JSON or one page to print."""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sternwatch.cautions import COMPUTED, NO_GUARANTEE, WIRE
from sternwatch.cli.common.calibrated import add_calibration, calibration_of
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import (
    add_rods,
    add_spread,
    add_units,
    quantity,
    rods_of,
    speed,
    units_of,
)
from sternwatch.cli.common.tables import table_console
from sternwatch.cli.common.written import to_write_or_print, write_page
from sternwatch.cli.gear.card import line_label, page
from sternwatch.gear.values.units import COLOUR_M, UNITS, Dimension, DisplaySystem, convert

if TYPE_CHECKING:
    from rich.table import Table

    from sternwatch.answers.belief.calibration import Calibration
    from sternwatch.answers.depths.table import Card, CardTable, Cell
    from sternwatch.gear.spread_file.models import Rod, Spread

_SPEEDS = {
    "mph": (1.7, 2.0, 2.3, 2.6),
    "km/h": (2.7, 3.2, 3.7, 4.2),
    "kn": (1.4, 1.7, 2.0, 2.3),
}
_STEPS = {"ft": 10.0, "m": 5.0}
_ROWS = 10
_MOST_ROWS = 200


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "table",
        help="let-out cards: depth by line out and speed",
        description="A let-out card per rod: how deep its lure runs, by line out and speed, at each setting.",
        epilog=COMPUTED,
    )
    add_spread(parser)
    add_calibration(parser)
    length = quantity(Dimension.LENGTH)
    add_rods(parser)
    parser.add_argument(
        "--speed", action="append", type=speed, metavar="SPEED", help="a column; may be given several times"
    )
    parser.add_argument("--from", dest="first", type=length, metavar="LENGTH", help='the first row, "20 ft"')
    parser.add_argument("--to", dest="last", type=length, metavar="LENGTH", help="the last row")
    parser.add_argument("--step", type=length, metavar="LENGTH", help="from row to row")
    parser.add_argument("--setting", action="append", metavar="LABEL", help="only this setting of the divers")
    parser.add_argument("--heading", type=quantity(Dimension.ANGLE), metavar="ANGLE", help="matters with a current")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="machine-readable output on standard output")
    form.add_argument(
        "--csv", type=to_write_or_print, metavar="FILE", help="write comma-separated values; - is standard output"
    )
    form.add_argument(
        "--html", type=to_write_or_print, metavar="FILE", help="write one page to print; - is standard output"
    )
    add_units(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.inputs import spread_of
    from sternwatch.places import set_numba_cache

    spread = spread_of(args.spread)
    units = units_of(args)
    rods = rods_of(spread, args.rod)
    _check_settings(spread, rods, args.setting)
    rows = _rows(args, units)
    set_numba_cache()
    from sternwatch.answers.depths.table import alike

    learned = calibration_of(args.calibration, spread)

    # For people, equal rods share a card; for scripts each rod has its own.
    groups = [[rod] for rod in rods] if args.json or args.csv is not None else alike(spread, rods)
    cards = [_card(spread, group, args, units, rows, learned) for group in groups]
    if args.json:
        import json

        name = None if learned is None else learned.name
        print(
            json.dumps(
                {"calibration": name, "cards": [_json(card) for card in cards], "caution": COMPUTED}, allow_nan=False
            )
        )
    elif args.csv is not None:
        write_page(args.csv, _csv(cards, units))
    elif args.html is not None:
        write_page(args.html, page(spread.boat.name, cards, units))
    else:
        _print(spread, cards, units)
    return Exit.DONE


def _check_settings(spread: Spread, rods: Sequence[Rod], labels: Sequence[str] | None) -> None:
    known = dict.fromkeys(label for rod in rods for label in spread.settings(rod))
    for label in labels or ():
        if label not in known:
            raise InputError(f'--setting "{label}": no such setting; accepted: {", ".join(known) or "none"}')


def _rows(args: argparse.Namespace, units: DisplaySystem) -> tuple[float, ...] | None:
    """The rows asked for; None: each rod has its own."""
    if args.first is None and args.last is None:
        return None
    step = args.step or UNITS[units.length].to_si(_STEPS[units.length])
    first = step if args.first is None else args.first
    last = first + 15 * step if args.last is None else args.last
    if step <= 0.0 or last < first:
        raise InputError("the rows: --to must not be less than --from, and --step must be more than 0")
    count = int((last - first) / step + 1e-9) + 1
    if count > _MOST_ROWS:
        raise InputError(f"the rows: {count} of them; at most {_MOST_ROWS} are accepted")
    return tuple(first + step * n for n in range(count))


def _card(
    spread: Spread,
    group: Sequence[Rod],
    args: argparse.Namespace,
    units: DisplaySystem,
    rows: tuple[float, ...] | None,
    learned: Calibration | None,
) -> Card:
    from sternwatch.answers.belief.predictive import card_members
    from sternwatch.answers.belief.priors import believed
    from sternwatch.answers.depths.colours import colours_card, colours_of
    from sternwatch.answers.depths.table import even_readings, let_out_card

    rod = max(group, key=lambda rod: rod.line_out_m or 0.0)

    step = args.step or UNITS[units.length].to_si(_STEPS[units.length])
    speeds = args.speed or [UNITS[units.speed].to_si(number) for number in _SPEEDS[units.speed]]
    wanted = args.setting and [label for label in spread.settings(rod) if label in args.setting]
    nominal = believed(spread, learned)
    out = colours_of(spread, rod)
    if rows is None and out is not None:
        most = max(10.0, math.ceil(1.5 * out))
        card = colours_card(
            nominal, rod, [float(n) for n in range(1, int(most) + 1)], speeds, heading_rad=args.heading,
            members_of=lambda one: card_members(spread, one, args.heading or 0.0, learned),
        )  # fmt: skip
        return replace(card, key=" ".join(r.key for r in group), name=", ".join(r.name for r in group))
    card = let_out_card(
        nominal,
        rod,
        rows if rows is not None else even_readings(rod, step, _ROWS),
        speeds,
        settings=wanted,
        heading_rad=args.heading,
        members=card_members(spread, rod, args.heading or 0.0, learned),
    )
    return replace(card, key=" ".join(r.key for r in group), name=", ".join(r.name for r in group))


def _entries(card: Card) -> Iterator[tuple[CardTable, float, float | None, float, Cell]]:
    """Each cell with its setting's table, the counter's reading, and the lead-core's length [m] in rows of it."""
    cores: Sequence[float | None] = [n * COLOUR_M for n in card.colours] or [None] * len(card.line_out_as_counter_m)
    for table in card.tables:
        for line_out, core_m, cells in zip(card.line_out_as_counter_m, cores, table.cells, strict=True):
            for speed_m_s, cell in zip(card.speeds_m_s, cells, strict=True):
                yield table, line_out, core_m, speed_m_s, cell


def _json(card: Card) -> dict[str, Any]:
    return {
        "key": card.key,
        "name": card.name,
        "rows": [
            {
                "setting": table.setting,
                "line_out_m": line_out,
                "lead_core_m": core_m,
                "speed_through_water_m_s": speed_m_s,
                "depth_m": cell.depth_m,
                "plus_minus_m": cell.plus_minus_m,
                "depth_interval_m": None if cell.depth_quantiles_m is None else list(cell.depth_quantiles_m[::4]),
                "depth_quantiles_m": None if cell.depth_quantiles_m is None else list(cell.depth_quantiles_m),
                "slack": cell.slack,
                "board_pulled_under": cell.pulled_under,
            }
            for table, line_out, core_m, speed_m_s, cell in _entries(card)
        ],
        "why": card.why,
    }


def _csv(cards: Sequence[Card], units: DisplaySystem) -> str:
    import csv
    import io

    length, pace = units.symbol(Dimension.LENGTH), units.symbol(Dimension.SPEED)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        ["key", "name", "setting", f"line_out_{length}", f"lead_core_{length}", f"speed_through_water_{pace}",
         f"depth_{length}", f"plus_minus_{length}", "slack", "board_pulled_under", "caution"]
    )  # fmt: skip

    def number(value: float | None, symbol: str, digits: int = 1) -> str:
        return "" if value is None else f"{convert(value, symbol):.{digits}f}"

    for card in cards:
        for table, line_out, core_m, speed_m_s, cell in _entries(card):
            writer.writerow(
                [card.key, card.name, table.setting or "", number(line_out, length), number(core_m, length),
                 number(speed_m_s, pace, 2), number(cell.depth_m, length), number(cell.plus_minus_m, length),
                 int(cell.slack), int(cell.pulled_under), COMPUTED]
            )  # fmt: skip
    return out.getvalue()


def _print(spread: Spread, cards: Sequence[Card], units: DisplaySystem) -> None:

    console = table_console()
    console.print(f"{spread.boat.name}: computed, not measured")
    console.print(f"depth of the lure by line out ({units.label(Dimension.LENGTH)}) and speed through the water")
    console.print("± reaches the farther end of where it lies nine times in ten")
    for card in cards:
        console.print()
        if card.why:
            console.print(f"{card.key} {card.name}: {card.why}")
        for table in card.tables:
            setting = "" if table.setting is None else f", {table.setting}"
            console.print(f"{card.key} {card.name}{setting}: {' – '.join(card.rig)}")
            console.print(_table(card, table, units))
    console.print()
    if any(cell.slack or cell.pulled_under for card in cards for *_, cell in _entries(card)):
        console.print("* the diver is slack   † the board is pulled under")
    for caution in (WIRE, COMPUTED, NO_GUARANTEE):
        console.print(caution)


def _table(card: Card, table: CardTable, units: DisplaySystem) -> Table:
    from rich.table import Table

    shown = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    shown.add_column(units.label(Dimension.LENGTH), justify="right", no_wrap=True)
    for speed_m_s in card.speeds_m_s:
        heading = units.show(speed_m_s, Dimension.SPEED, 1)
        shown.add_column(heading, justify="right", no_wrap=True)
    rows = list(enumerate(table.cells))
    for row, cells in rows[:1] if card.flat else rows:
        shown.add_row(line_label(card, row, units), *(cell_text(cell, units) for cell in cells))
    return shown


def cell_text(cell: Cell, units: DisplaySystem) -> str:
    """A cell for people: depth, its fault, ±."""
    depth = units.show(cell.depth_m, Dimension.LENGTH, 0, label=False)
    wide = units.show(cell.plus_minus_m, Dimension.LENGTH, 0, label=False)
    return f"{depth}{'*' if cell.slack else ''}{'†' if cell.pulled_under else ''} ±{wide}"
