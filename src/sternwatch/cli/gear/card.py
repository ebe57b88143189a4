"""Let-out cards as one HTML page to print for the deck: no scripts, nothing from elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from sternwatch.cli.gear.table import line_label
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from sternwatch.answers.depths.table import Card, Cell

_STYLE = """
@page { size: landscape; margin: 8mm }
body { font: 10pt/1.25 sans-serif; color: #000; background: #fff; margin: 1em }
h1 { font-size: 1.3em; margin: 0 .8em .2em 0; display: inline-block }
h2 { font-size: 1.15em; margin: 0 }
p { margin: .15em 0 }
.computed { font-weight: bold; border: 2px solid #000; padding: .15em .5em; display: inline-block }
.cards { margin-top: .4em; orphans: 1; widows: 1 }
section { display: inline-block; vertical-align: top; margin: .3em 1.6em .3em 0; break-inside: avoid }
table { border-collapse: collapse; margin-top: .2em }
th, td { border: 1px solid #777; padding: .05em .35em; text-align: right; white-space: nowrap }
th.first, td.first { border-left: 2px solid #000 }
th[colspan] { text-align: center }
td b { font-size: 1.1em }
td small { color: #333 }
tr:nth-child(even) td { background: #eee }
@media print { body { font-size: 8pt; margin: 0 } }
""".strip()


def page(title: str, cards: Sequence[Card], units: DisplaySystem, cautions: Sequence[str]) -> str:
    """The whole page. ``cautions`` stand at its head, after the one that depths are computed."""
    length, speed = units.label(Dimension.LENGTH), units.label(Dimension.SPEED)
    notes = [
        f"Depth of the lure in {length}, by line out as the counter reads ({length}) and speed through the water"
        f" ({speed}), straight course. ± is the 90 % interval of the computed depth; – is not known; * slack diver;"
        " † board pulled under."
    ]
    sections = "".join(f"{_section(card, units)}\n" for card in cards)
    return framed("Let-out card", title, notes, f'<div class="cards">\n{sections}</div>', cautions)


def framed(what: str, title: str, notes: Sequence[str], body: str, cautions: Sequence[str] = ()) -> str:
    """A page to print: its title, that it is computed, notes, cautions, and a body that is HTML already."""
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en"><head><meta charset="utf-8">',
            f"<title>{escape(what)}: {escape(title)}</title>",
            f"<style>{_STYLE}</style></head><body>",
            f"<h1>{escape(what)}: {escape(title)}</h1>",
            '<p class="computed">Computed, not measured. Not for navigation.</p>',
            *(f"<p>{escape(note)}</p>" for note in notes),
            *(f"<p><b>{escape(caution)}</b></p>" for caution in cautions),
            body,
            "</body></html>",
            "",
        ]
    )


def _section(card: Card, units: DisplaySystem) -> str:
    rig = escape(" – ".join(card.rig))
    title = f"<h2>{escape(card.key)} {escape(card.name)}</h2><p>{rig}</p>"
    if card.why:
        return f"<section>{title}<p>{escape(card.why)}</p></section>"
    return f"<section>{title}{_table(card, units)}</section>"


def _table(card: Card, units: DisplaySystem) -> str:
    """Rows of line out; columns of speed, side by side for every setting."""
    unit = escape(f"{units.label(Dimension.LENGTH)} \\ {units.label(Dimension.SPEED)}")
    many = len(card.speeds_m_s)
    settings = ""
    if card.tables[0].setting is not None:
        names = "".join(f'<th class="first" colspan="{many}">{escape(t.setting or "")}</th>' for t in card.tables)
        settings = f"<tr><th></th>{names}</tr>"
    speeds = "".join(
        f"<th{_first(k)}>{units.show(speed, Dimension.SPEED, 1, label=False)}</th>"
        for _ in card.tables
        for k, speed in enumerate(card.speeds_m_s)
    )
    rows = []
    for i, line_out in enumerate(card.line_out_as_counter_m[: 1 if card.flat else None]):
        cells = "".join(_cell(cell, k, units) for table in card.tables for k, cell in enumerate(table.cells[i]))
        rows.append(f"<tr><th>{line_label(card, line_out, units)}</th>{cells}</tr>")
    return f"<table>{settings}<tr><th>{unit}</th>{speeds}</tr>{''.join(rows)}</table>"


def _first(column: int) -> str:
    return ' class="first"' if column == 0 else ""


def _cell(cell: Cell, column: int, units: DisplaySystem) -> str:
    depth = units.show(cell.depth_m, Dimension.LENGTH, 0, label=False)
    wide = units.show(cell.plus_minus_m, Dimension.LENGTH, 0, label=False)
    mark = ("*" if cell.slack else "") + ("†" if cell.pulled_under else "")
    return f"<td{_first(column)}><b>{depth}</b>{mark} <small>±{wide}</small></td>"
