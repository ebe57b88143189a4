"""Options that several commands take, and quantities on the command line. Kept free of heavy imports."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from sternwatch.cli.common.exits import InputError
from sternwatch.gear.values.units import SYSTEMS, Dimension, DisplaySystem, QuantityError, parse_quantity


def quantity(dimension: Dimension) -> Callable[[str], float]:
    """An argparse type: text with its unit in, the SI value out."""

    def read(given: str) -> float:
        # A bare number is a string on the command line: say the same as of one in a file.
        try:
            return parse_quantity(given, dimension)
        except QuantityError as error:
            raise argparse.ArgumentTypeError(f'"{given}": {error}') from error

    return read


def speed(given: str) -> float:
    """Speed through water for argparse: 0 to 10 m/s."""
    value = quantity(Dimension.SPEED)(given)
    if not 0 <= value <= 10:
        raise argparse.ArgumentTypeError(f'"{given}": accepted is 0 to 10 m/s')
    return value


def add_spread(parser: argparse.ArgumentParser) -> None:
    """The spread file as the positional argument ``spread``."""
    parser.add_argument("spread", metavar="SPREAD", type=Path, help="the spread file (TOML)")


def add_json(parser: argparse.ArgumentParser) -> None:
    """``--json``: SI units, the unit in the field's name, null where not known."""
    parser.add_argument("--json", action="store_true", help="machine-readable output on standard output")


def add_units(parser: argparse.ArgumentParser) -> None:
    """``--units``: what a person reads; see :func:`units_of`."""
    parser.add_argument(
        "--units",
        choices=sorted(SYSTEMS),
        help="units for people: us (mph, ft, °F, lb), metric, knots; else those of your preferences",
    )


def units_of(args: argparse.Namespace) -> DisplaySystem:
    """The units to show: the option's, else the user's preference."""
    if args.units is not None:
        return SYSTEMS[args.units]
    from sternwatch.config import ConfigError, load_preferences

    try:
        return load_preferences().system
    except ConfigError as error:
        raise InputError(str(error)) from error


def write_page(target: str, text: str) -> None:
    """Write text to a file, or to standard output for ``-``; says on standard error where it went."""
    if target == "-":
        sys.stdout.write(text)
        return
    try:
        Path(target).write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(f"{target}: cannot be written ({error.strerror})") from error
    print(f"written: {target}", file=sys.stderr)
