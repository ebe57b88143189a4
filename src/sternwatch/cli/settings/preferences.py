"""``sternwatch preferences``: shows every preference on a screen and writes each change at once."""

from __future__ import annotations

import argparse

from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "preferences",
        help="units, theme, keys, bell, risk, species and feeds, on the screen",
        description="Every preference with its present value and what is accepted. Changes are saved in the "
        "preferences file, which keeps its comments; `sternwatch paths` says where it is.",
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:  # noqa: ARG001
    from sternwatch.cli.common.session import preferences
    from sternwatch.console.ashore.settings_screen import SettingsApp

    terminal.need()
    SettingsApp(preferences()).run()
    return Exit.DONE
