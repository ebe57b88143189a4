"""``sternwatch tags``: prints the key and name of every rod, to tape to its holder."""

from __future__ import annotations

import argparse
from html import escape
from typing import TYPE_CHECKING

from sternwatch.cautions import COMPUTED, NO_GUARANTEE, WIRE
from sternwatch.cli.common.exits import Exit
from sternwatch.cli.common.options import add_spread
from sternwatch.cli.common.written import to_write_or_print, write_page

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sternwatch.gear.spread_file.models import Rod, Spread

_WIDE = 76  # cells in a printed line
_TAG = 18  # cells in a tag with its border

_STYLE = """
@page { margin: 10mm }
body { font-family: sans-serif; color: #000; background: #fff; margin: 0 }
section { display: inline-block; box-sizing: border-box; width: 60mm; height: 38mm; margin: 1mm; padding: 2mm;
  border: .6mm dashed #000; text-align: center; overflow: hidden; break-inside: avoid; position: relative }
section b { display: block; font-size: 54pt; line-height: 1 }
section i { display: block; font-style: normal; font-weight: bold; font-size: 20pt }
section small { position: absolute; left: 2mm; right: 2mm; bottom: 1.5mm; font-size: 9pt }
section.port { border-left: 3mm solid #000 }
section.starboard { border-right: 3mm solid #000 }
p { margin: 1mm; font-size: 10pt }
""".strip()


def add_parser(sub: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = sub.add_parser(
        "tags",
        help="key-and-name tags for the rod holders",
        description="A tag for every rod: its key, and its short name. Cut them out and tape them to the "
        "holders. A thick edge is the side of the boat.",
    )
    add_spread(parser)
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="machine-readable output on standard output")
    form.add_argument(
        "--html", type=to_write_or_print, metavar="FILE", help="write one page to print; - is standard output"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    from sternwatch.cli.common.inputs import spread_of

    spread = spread_of(args.spread)
    rods = in_key_order(spread)
    if args.json:
        import json

        print(json.dumps({"tags": [{"key": r.key, "name": r.name, "side": r.side} for r in rods]}, allow_nan=False))
    elif args.html is not None:
        write_page(args.html, page(spread, rods))
    else:
        print(text(rods), WIRE, COMPUTED, NO_GUARANTEE, sep="\n")
    return Exit.DONE


def in_key_order(spread: Spread) -> list[Rod]:
    """The rods in the order of their keys on the number row."""
    from sternwatch.gear.spread_file.models import ROD_KEYS

    return sorted(spread.rods, key=lambda rod: ROD_KEYS.index(rod.key))


def text(rods: Sequence[Rod]) -> str:
    """Boxes side by side, as many as fit in a printed line."""
    many = _WIDE // (_TAG + 1)
    rows = [rods[n : n + many] for n in range(0, len(rods), many)]
    return "\n\n".join(_row(row) for row in rows)


def _row(rods: Sequence[Rod]) -> str:
    inside = _TAG - 2
    lines = [
        ["┌" + "─" * inside + "┐" for _ in rods],
        [_edged(rod, "") for rod in rods],
        [_edged(rod, " ".join(("▐", rod.key, "▌"))) for rod in rods],
        [_edged(rod, rod.name) for rod in rods],
        [_edged(rod, rod.side) for rod in rods],
        ["└" + "─" * inside + "┘" for _ in rods],
    ]
    return "\n".join(" ".join(line) for line in lines)


def _edged(rod: Rod, words: str) -> str:
    left = "█" if rod.side == "port" else "│"
    right = "█" if rod.side == "starboard" else "│"
    return f"{left}{words:^{_TAG - 2}}{right}"


def page(spread: Spread, rods: Sequence[Rod]) -> str:
    """One page to print. It has no scripts and fetches nothing."""
    tags = (
        f'<section class="{escape(rod.side)}"><b>{escape(rod.key)}</b><i>{escape(rod.name)}</i>'
        f"<small>{escape(rod.side)}</small></section>"
        for rod in rods
    )
    head = (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>Rod tags: {escape(spread.boat.name)}</title><style>{_STYLE}</style></head><body>"
    )
    foot = (f"<p><b>{escape(caution)}</b></p>" for caution in (WIRE, COMPUTED, NO_GUARANTEE))
    return "\n".join([head, *tags, *foot, "</body></html>", ""])
