"""A command's calibration: a file, none, or the newest that holds for the spread. Standard error names it."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from sternwatch.cli.common.exits import InputError

if TYPE_CHECKING:
    from sternwatch.answers.belief.calibration import Calibration
    from sternwatch.gear.spread_file.models import Spread


def add_calibration(parser: argparse.ArgumentParser) -> None:
    """``--calibration``."""
    parser.add_argument(
        "--calibration", metavar="FILE",
        help='a calibration that "sternwatch fit --save" kept: a file or its name; "none" for none. Without it: '
             "what the season has taught about this spread, or a newer kept calibration",
    )  # fmt: skip


def calibration_of(asked: str | None, spread: Spread) -> Calibration | None:
    """The calibration asked for; standard error names it. Its faults become the command's."""
    from sternwatch.answers.belief.calibration_file import CalibrationError
    from sternwatch.answers.season.keeping import holding

    try:
        learned, words = holding(spread, asked)
    except CalibrationError as fault:
        raise InputError(str(fault)) from fault
    for word in words:
        print(f"sternwatch: {word}", file=sys.stderr)
    if learned is not None:
        print(f"sternwatch: calibration: {learned.name}", file=sys.stderr)
    return learned
