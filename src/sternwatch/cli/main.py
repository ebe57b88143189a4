"""The ``sternwatch`` command: parse, call, print.

A command is a module of this package with ``add_parser(sub)`` and ``run(args) -> int``; ``COMMANDS`` names it. Its
top level imports nothing heavy (numpy, pydantic, Textual): ``run`` imports what the command needs.
"""

from __future__ import annotations

import argparse
import difflib
import importlib
import os
import re
import sys
from collections.abc import Sequence
from typing import NoReturn, Protocol, cast

from sternwatch import __version__, kernel_files
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.printable import filtered_output, one_line

COMMANDS = (
    "sessions.start",
    "gear.setup",
    "gear.edit",
    "gear.shelf",
    "gear.depth",
    "gear.table",
    "gear.check",
    "gear.tags",
    "gear.forecast",
    "gear.plan",
    "gear.fit",
    "sessions.practice",
    "gear.schema",
    "trips.paths",
    "settings.preferences",
    "settings.keys",
    "sessions.watch",
    "sessions.replay",
    "sessions.demo",
    "sessions.ports",
    "trips.debrief",
    "trips.again",
    "trips.observe",
    "trips.pass_",
    "trips.season",
    "trips.trip",
    "trips.logbook",
    "trips.bottom",
    "trips.completion",
    "trips.manual",
)

OTHER_WORDS = {
    "drills": "practice --list",
    "drill": "practice --list",
    "course": "practice --course",
    "settings": "preferences",
    "config": "preferences",
    "boat": "setup",
    "spread": "edit",
    "live": "watch",
    "play": "replay",
    "trips": "trip list",
    "help": "manual",
}
"""Words that are no commands but are typed as such, and what they mean."""


def called(name: str) -> str:
    """The command's word for a module of ``COMMANDS``: its name without the ``_`` that follows a Python keyword."""
    return name.rpartition(".")[2].rstrip("_")


class Parser(argparse.ArgumentParser):
    """Answers a mistyped command with the nearest one."""

    def error(self, message: str) -> NoReturn:
        given = re.match(r"argument (COMMAND|ACT): invalid choice: '([^']*)' \(choose from (.*)\)", message)
        if given is None:
            super().error(message)
        if given[1] == "ACT":
            known = re.findall(r"[\w-]+", given[3])
            close = difflib.get_close_matches(given[2], known, n=1, cutoff=0.5)
            mean = f'; did you mean "{close[0]}"? Accepted' if close else "; accepted"
            self.exit(Exit.USAGE, f'{self.prog}: there is no "{given[2]}"{mean}: {", ".join(known)}\n')
        meant = {called(name): called(name) for name in COMMANDS} | OTHER_WORDS
        near = difflib.get_close_matches(given[2].lower(), meant, n=1, cutoff=0.5)
        hint = f'; did you mean "{meant[near[0]]}"?' if near else "."
        self.exit(
            Exit.USAGE, f'sternwatch: there is no command "{given[2]}"{hint} "sternwatch --help" lists them all.\n'
        )


class Command(Protocol):
    """The functions of a command's module. ``add_parser`` ends with ``parser.set_defaults(run=run)``, and with
    ``console=True`` too where the command opens the console."""

    def add_parser(self, sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None: ...

    def run(self, args: argparse.Namespace) -> int: ...


def build_parser() -> argparse.ArgumentParser:
    """The parser of the whole command line with every command."""
    parser: argparse.ArgumentParser = Parser(
        prog="sternwatch",
        description="Where every lure of a trolling spread is, and what the next turn does to all of them.",
        epilog="Depths are computed, not measured. Not for navigation.",
    )
    parser.add_argument("--version", action="version", version=f"sternwatch {__version__}")
    sub = parser.add_subparsers(title="commands", dest="command", metavar="COMMAND")
    for name in COMMANDS:
        command = cast("Command", importlib.import_module(f"sternwatch.cli.{name}"))
        command.add_parser(sub)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code. For usage faults argparse exits with code 2."""
    from sternwatch.cli.common.unexpected import keep_tracebacks_off_the_screen
    from sternwatch.places import keep_blas_to_one_thread

    keep_tracebacks_off_the_screen()
    keep_blas_to_one_thread()
    with filtered_output():
        return _main(argv)


def _in_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _main(argv: Sequence[str] | None) -> int:
    parser = build_parser()
    args = parser.parse_args(argv)
    if args.command is None:
        if not _in_terminal():
            parser.print_help(sys.stderr)
            return Exit.USAGE
        args = parser.parse_args(["start"])
    try:
        code = int(args.run(args))
        sys.stdout.flush()
        if words := kernel_files.said():
            print(f"sternwatch: {words}", file=sys.stderr)
    except InputError as error:
        words = one_line(str(error))
        print(f"sternwatch: {words}", file=sys.stderr)
        if getattr(args, "console", False) and not getattr(args, "headless", False) and _in_terminal():
            # A file that cannot be used leaves nobody without a screen.
            args = parser.parse_args(["start"], argparse.Namespace(notice=words))
            return int(args.run(args))
        return Exit.WRONG_INPUT
    except BrokenPipeError:
        # The reader of our output has gone (a pager was closed): nothing is wrong, and no more output is possible.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.DONE
    except KeyboardInterrupt:
        return Exit.DONE
    return code
