"""``sternwatch schema``: the JSON Schema of the spread file, for editors."""

from __future__ import annotations

import argparse

from sternwatch.cli.common.exits import Exit


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "schema",
        help="print the JSON Schema of the spread file",
        description="Print the JSON Schema of the spread file, for an editor that checks while you type.",
    )
    parser.set_defaults(run=run)


def run(_args: argparse.Namespace) -> int:
    import json

    from sternwatch.gear.spread_file.load import json_schema

    print(json.dumps(json_schema(), indent=2, ensure_ascii=False))
    return Exit.DONE
