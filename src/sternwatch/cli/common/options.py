"""Options that several commands share, and quantities on the command line. It imports nothing heavy."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from sternwatch.cli.common.exits import InputError
from sternwatch.gear.values.units import SYSTEMS, Dimension, DisplaySystem, QuantityError, parse_quantity
from sternwatch.places import shipped

if TYPE_CHECKING:
    from sternwatch.config import Preferences
    from sternwatch.gear.spread_file.models import Rod, Spread

SPREAD_HELP = 'the spread file (TOML), or "demo"; else your boat\'s'


def quantity(dimension: Dimension) -> Callable[[str], float]:
    """An argparse type: a quantity as people write it becomes its SI value. A bare number gets the user's unit."""

    def read(given: str) -> float:
        from sternwatch.gear.values.typed_quantities import as_written

        try:
            return parse_quantity(as_written(given, dimension, _usual(given).symbol(dimension)), dimension)
        except QuantityError as error:
            raise argparse.ArgumentTypeError(f'"{given}": {error}') from error

    return read


def _usual(given: str) -> DisplaySystem:
    """The units of a bare number: those of ``--units`` anywhere on the line, else the user's preference."""
    if any(char.isalpha() for char in given):
        return SYSTEMS["us"]  # it has its unit: no preference is needed
    named = argparse.ArgumentParser(add_help=False, exit_on_error=False)
    add_units(named)
    try:
        return units_of(named.parse_known_args(sys.argv[1:])[0])
    except (argparse.ArgumentError, InputError):
        return SYSTEMS["us"]  # the full parse reports this fault


def speed(given: str) -> float:
    """Speed through water for argparse: 0 to 10 m/s."""
    value = quantity(Dimension.SPEED)(given)
    if not 0 <= value <= 10:
        raise argparse.ArgumentTypeError(f'"{given}": accepted is 0 to 22 mph (10 m/s)')
    return value


def spread_file(given: str) -> Path:
    """A spread file for argparse: a path; ``demo``, where no file has that name, is the invented boat's."""
    path = Path(given)
    return shipped("demo_logs") / "evening.toml" if given == "demo" and not path.exists() else path


def add_spread(parser: argparse.ArgumentParser) -> None:
    """Add the positional argument ``spread``, a spread file; None means the user's own boat."""
    parser.add_argument("spread", metavar="SPREAD", type=spread_file, nargs="?", help=SPREAD_HELP)


def add_rods(parser: argparse.ArgumentParser) -> None:
    """``--rod``: see :func:`rods_of`."""
    parser.add_argument("--rod", action="append", metavar="KEY", help="only this rod; can be given several times")


def rods_of(spread: Spread, keys: Sequence[str] | None) -> list[Rod]:
    """The rods asked for, in the file's order; all rods where none is named."""
    known = {rod.key: rod for rod in spread.rods}
    for key in keys or ():
        if key not in known:
            raise InputError(f'--rod "{key}": the spread has no such rod; accepted: {", ".join(known)}')
    return [rod for rod in spread.rods if keys is None or rod.key in keys]


def add_json(parser: argparse.ArgumentParser) -> None:
    """Add ``--json``: SI units, the unit in the field's name, null where unknown."""
    parser.add_argument("--json", action="store_true", help="machine-readable output on standard output")


def add_units(parser: argparse.ArgumentParser) -> None:
    """Add ``--units``: the units that a person reads; see :func:`units_of`."""
    parser.add_argument(
        "--units",
        choices=sorted(SYSTEMS),
        help="units to show: us (mph, ft, °F, lb), metric or knots; else those of your preferences",
    )


def units_of(args: argparse.Namespace) -> DisplaySystem:
    """The units to show: by the option, else by the user's preference."""
    return preferred().system if args.units is None else SYSTEMS[args.units]


def preferred() -> Preferences:
    """The user's preferences, for a command without a screen. Their faults become the command's."""
    from sternwatch.config import ConfigError, load_preferences

    try:
        return load_preferences()
    except ConfigError as error:
        raise InputError(str(error)) from error
