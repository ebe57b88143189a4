"""``sternwatch`` without a command: shows the start screen, runs the command chosen there, and repeats."""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

from sternwatch.cautions import COMPUTED
from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit, InputError

if TYPE_CHECKING:
    from sternwatch.console.ashore.start_words import Answered


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "start",
        help="the start screen, which also opens without a command",
        description="The start screen: the demo, your boat, feeds, practice, recordings, trips, setting up.",
        epilog=COMPUTED,
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.session import preferences
    from sternwatch.config import Preferences
    from sternwatch.console.ashore.start import StartApp

    terminal.need()
    notice = str(getattr(args, "notice", ""))
    while True:
        try:
            chosen = preferences()
        except InputError as wrong:
            chosen, notice = Preferences(), str(wrong)
        command = StartApp(chosen, beside, notice).run()
        if command is None:
            return Exit.DONE
        notice = dispatch(command)


def dispatch(command: tuple[str, ...]) -> str:
    """Run a command as if typed. Returns its standard error, or why it failed."""
    from sternwatch.cli.main import build_parser

    said = io.StringIO()
    with contextlib.redirect_stderr(said):
        try:
            args = build_parser().parse_args(command)
            args.run(args)
        except InputError as wrong:
            return str(wrong)
        except SystemExit:
            pass  # a usage fault, which argparse has printed
        except KeyboardInterrupt:
            return ""
    return next((line for line in reversed(said.getvalue().splitlines()) if line.strip()), "")


def beside(command: tuple[str, ...]) -> Answered:
    """Run a printing command in its own process, so that the screen goes on."""
    from sternwatch.console.ashore.start_words import Answered

    wide = str(max(shutil.get_terminal_size().columns - 4, 40))  # wide enough that a page's lines do not wrap
    done = subprocess.run(
        [sys.executable, "-m", "sternwatch", *command],
        capture_output=True, encoding="utf-8", check=False, stdin=subprocess.DEVNULL,
        env={**os.environ, "COLUMNS": wide, "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    return Answered(done.returncode, done.stdout, done.stderr)
