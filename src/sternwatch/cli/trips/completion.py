"""``sternwatch completion``: lets the Tab key of your shell complete the command line."""

from __future__ import annotations

import argparse

from sternwatch.cli.common.exits import Exit

SHELLS = ("bash", "zsh", "tcsh")


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "completion",
        help="print what makes your shell complete commands",
        description="Print the script that makes your shell complete sternwatch's commands and options. For bash: "
        "sternwatch completion bash > ~/.local/share/bash-completion/completions/sternwatch",
    )
    parser.add_argument("shell", choices=SHELLS, metavar="SHELL", help=", ".join(SHELLS))
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    import shtab

    from sternwatch.cli.main import build_parser

    print(shtab.complete(build_parser(), shell=args.shell))
    return Exit.DONE
