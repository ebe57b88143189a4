"""``sternwatch shelf``: the user's own lines, tackle and lures, and the shipped generic ones."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.options import add_json, add_units, units_of

if TYPE_CHECKING:
    from sternwatch.gear.shelf.pieces import Shelf
    from sternwatch.gear.values.units import DisplaySystem

_PLURALS = {"line": "LINES", "tackle": "TACKLE", "leader": "LEADERS", "rig": "RIGS"}


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "shelf",
        help="list your lines, tackle and lures; put one on the shelf",
        description="What you can tie on: your own lines, tackle, lures, leaders and rigs, and the generic ones "
        "that come with sternwatch, each with the source of its numbers.",
    )
    parser.add_argument("--add", action="store_true", help="put something on the shelf, by questions on the screen")
    add_json(parser)
    add_units(parser)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.gear.shelf.pieces import load_shelf, shelf_path
    from sternwatch.gear.values.faults import SpreadError

    try:
        shelf = load_shelf()
    except SpreadError as error:
        raise InputError(str(error)) from error
    if args.add:
        from sternwatch.cli.common.session import preferences
        from sternwatch.console.ashore.questions import shelf_app

        terminal.need()
        shelf_app(preferences(), shelf, shelf_path()).run()
    elif args.json:
        import json

        print(json.dumps(as_json(shelf), ensure_ascii=False))
    else:
        print("\n".join(in_words(shelf, units_of(args))))
    return Exit.DONE


def as_json(shelf: Shelf) -> dict[str, list[dict[str, object]]]:
    """Every piece as written in its file, by kind. ``own``: it is the user's."""
    return {
        kind: [
            {"name": name, "own": (kind, name) in shelf.own, **table} for name, table in shelf.tables[kind].items()
        ]
        for kind in _PLURALS
    }  # fmt: skip


def in_words(shelf: Shelf, units: DisplaySystem) -> list[str]:
    """The list for people, in their units."""
    lines: list[str] = []
    for kind, title in _PLURALS.items():
        lines += ["", title] if lines else [title]
        for name, table in shelf.tables[kind].items():
            own = "yours" if (kind, name) in shelf.own else ""
            lines.append(f"  {name:<22} {own:<6} {_about(kind, name, table, units)}".rstrip())
    return lines


def _about(kind: str, name: str, table: dict[str, object], units: DisplaySystem) -> str:
    from sternwatch.gear.editing.in_units import told

    if "chain" in table:
        chain = table["chain"]
        assert isinstance(chain, list)  # parse_shelf has checked this
        return ", ".join(str(item.get("line") or item.get("tackle")) for item in chain)
    kind_of, note = ([str(table[key])] if key in table else [] for key in ("kind", "note"))
    return ", ".join([*kind_of, *told(kind, name, table, units), *note])
