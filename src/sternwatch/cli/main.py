"""The ``sternwatch`` command: parse, call, print.

A command is a module of this package with ``add_parser(sub)`` and ``run(args) -> int``; ``COMMANDS`` names it. Its
top level imports nothing heavy (numpy, pydantic, Textual): ``run`` imports what the command needs.
"""

from __future__ import annotations

import argparse
import difflib
import errno
import importlib
import os
import re
import sys
from collections.abc import Iterable, Sequence
from typing import Any, NoReturn, Protocol, cast

from sternwatch import __version__, kernel_files
from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.printable import filtered_output, one_line

GROUPS = {
    "to begin with": ("sessions.demo", "sessions.start", "gear.setup", "trips.manual"),
    "on the water": ("sessions.watch", "gear.check", "gear.depth", "gear.forecast"),
    "your gear": ("gear.edit", "gear.shelf", "gear.table", "gear.plan", "gear.tags"),
    "after a trip": (
        "trips.debrief",
        "sessions.replay",
        "trips.season",
        "trips.again",
        "trips.pass_",
        "gear.fit",
        "trips.observe",
        "trips.trip",
        "trips.logbook",
        "trips.bottom",
    ),
    "to practise": ("sessions.practice",),
    "this computer": (
        "sessions.ports",
        "settings.preferences",
        "settings.keys",
        "trips.paths",
        "trips.completion",
        "gear.schema",
    ),
}
"""The modules of all commands by what they are for, as help lists them."""

COMMANDS = tuple(name for names in GROUPS.values() for name in names)

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
    """Says what is accepted where a command, an act or an option is missing, mistyped or unknown."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        self.color = False  # from Python 3.14 help has styles, and the filter of what is printed writes them out
        self._negative_number_matcher = re.compile(r"-\.?\d")  # also "-4:00" is a value and no option

    def error(self, message: str) -> NoReturn:
        given = re.match(r"argument (COMMAND|ACT): invalid choice: '([^']*)' \(choose from (.*)\)", message)
        acts = self._acts()
        if given is None and acts and message.endswith(": ACT"):
            self._refuse(f"say what to do: {', '.join(acts)}")
        if given is None:
            super().error(message)
        if given[1] == "ACT":
            near = _nearest(given[2], acts)
            mean = f'; did you mean "{near}"? Accepted' if near else "; accepted"
            self._refuse(f'there is no "{given[2]}"{mean}: {", ".join(acts)}')
        meant = {called(name): called(name) for name in COMMANDS} | OTHER_WORDS
        near = _nearest(given[2].lower(), meant)
        hint = f'; did you mean "{meant[near]}"?' if near else "."
        self._refuse(f'there is no command "{given[2]}"{hint} "sternwatch --help" lists them all.')

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As inherited, but the command whose words they are refuses those that it does not know."""
        found, unknown = super().parse_known_args(args, namespace)
        for word in unknown:
            if not word.startswith("-"):
                self._refuse(f'"{word}" is one word too many; "{self.prog} --help" says what is accepted')
            option = word.partition("=")[0]
            known = {name.lstrip("-"): name for name in self._option_string_actions}
            near = _nearest(option.lstrip("-"), known)
            hint = f'; did you mean "{known[near]}"?' if near else ";"
            self._refuse(f'there is no option "{option}"{hint} "{self.prog} --help" lists them all')
        return found, unknown

    def format_help(self) -> str:
        """As inherited, but the commands stand under what they are for."""
        of_commands = (one for one in self._actions if isinstance(one, argparse._SubParsersAction))
        listed = next((one for one in of_commands if one.dest == "command"), None)
        if listed is None:
            return super().format_help()
        formatter = self._get_formatter()
        formatter.add_usage(self.usage, self._actions, self._mutually_exclusive_groups)
        formatter.add_text(self.description)
        rows = {row.dest: row for row in listed._choices_actions}
        for title, names in GROUPS.items():
            formatter.start_section(title)
            formatter.add_arguments([rows[called(name)] for name in names])
            formatter.end_section()
        formatter.start_section("options")
        formatter.add_arguments([one for one in self._actions if one is not listed])
        formatter.end_section()
        formatter.add_text(self.epilog)
        return formatter.format_help()

    def _acts(self) -> list[str]:
        """What can be asked of a command that has several acts."""
        return [str(act) for one in self._actions if one.metavar == "ACT" for act in one.choices or ()]

    def _refuse(self, words: str) -> NoReturn:
        self.exit(Exit.USAGE, f"{self.prog}: {words}\n")


def _nearest(given: str, known: Iterable[str]) -> str | None:
    return next(iter(difflib.get_close_matches(given, list(known), n=1, cutoff=0.5)), None)


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
    from sternwatch.places import collect_seldom, keep_blas_to_one_thread

    keep_tracebacks_off_the_screen()
    keep_blas_to_one_thread()
    collect_seldom()
    with filtered_output():
        return _main(argv)


def _main(argv: Sequence[str] | None) -> int:
    parser = build_parser()
    args = argparse.Namespace()
    try:
        args = parser.parse_args(argv)
        if args.command is None:
            if not terminal.there():
                parser.print_help(sys.stderr)
                return Exit.USAGE
            args = parser.parse_args(["start"])
        code = int(args.run(args))
        sys.stdout.flush()
        if words := kernel_files.said():
            print(f"sternwatch: {words}", file=sys.stderr)
    except InputError as error:
        words = one_line(str(error))
        print(f"sternwatch: {words}", file=sys.stderr)
        if getattr(args, "console", False) and not getattr(args, "headless", False) and terminal.there():
            # A file that cannot be used leaves nobody without a screen.
            args = parser.parse_args(["start"], argparse.Namespace(notice=words))
            return int(args.run(args))
        return Exit.WRONG_INPUT
    except OSError as error:
        if not isinstance(error, BrokenPipeError) and (os.name != "nt" or error.errno != errno.EINVAL):
            raise
        # The reader of our output has gone (a pager was closed; Windows says EINVAL): nothing is wrong, and no more
        # output is possible.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return Exit.DONE
    except KeyboardInterrupt:
        return Exit.DONE
    return code
