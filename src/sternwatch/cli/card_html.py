"""Let-out cards as one HTML page to print for the deck: no scripts, nothing from elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from sternwatch.cli.options import CAUTION
from sternwatch.gear.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from sternwatch.answers.table import Card, CardTable

_STYLE = """
@page { margin: 12mm }
body { font: 11pt/1.3 sans-serif; color: #000; background: #fff; margin: 1.5em }
h1 { font-size: 1.4em; margin: 0 }
h2 { font-size: 1.15em; margin: 1.2em 0 .1em }
p { margin: .3em 0 }
.computed { font-weight: bold; border: 2px solid #000; padding: .3em .6em; display: inline-block }
section { break-inside: avoid }
.tables { display: flex; flex-wrap: wrap; gap: 1.2em }
table { border-collapse: collapse; break-inside: avoid }
caption { text-align: left; font-weight: bold; padding: .2em 0 }
th, td { border: 1px solid #777; padding: .15em .5em; text-align: right }
td b { font-size: 1.15em }
td small { color: #333 }
tr:nth-child(even) td { background: #eee }
""".strip()


def page(title: str, cards: Sequence[Card], units: DisplaySystem, cautions: Sequence[str]) -> str:
    """The whole page. ``cautions`` stand at its head, after the one that depths are computed."""
    length, speed = units.label(Dimension.LENGTH), units.label(Dimension.SPEED)
    head = [
        "<!DOCTYPE html>",
        '<html lang="en"><head><meta charset="utf-8">',
        f"<title>Let-out card: {escape(title)}</title>",
        f"<style>{_STYLE}</style></head><body>",
        f"<h1>Let-out card: {escape(title)}</h1>",
        f'<p class="computed">Computed, not measured. {escape(CAUTION)}</p>',
        f"<p>Depth of the lure in {escape(length)}, by line out as the counter reads ({escape(length)}) and speed"
        f" through the water ({escape(speed)}), straight course. ± is the 90 % interval of the computed depth;"
        " – is not known; * slack diver; † board pulled under.</p>",
        *(f"<p><b>{escape(caution)}</b></p>" for caution in cautions),
    ]
    return "\n".join([*head, *(_section(card, units) for card in cards), "</body></html>", ""])


def _section(card: Card, units: DisplaySystem) -> str:
    rig = escape(" – ".join(card.rig))
    title = f"<h2>{escape(card.key)} {escape(card.name)}</h2><p>{rig}</p>"
    if card.why:
        return f"<section>{title}<p>{escape(card.why)}</p></section>"
    tables = "".join(_table(card, table, units) for table in card.tables)
    return f'<section>{title}<div class="tables">{tables}</div></section>'


def _table(card: Card, table: CardTable, units: DisplaySystem) -> str:
    speeds = "".join(f"<th>{units.show(speed, Dimension.SPEED, 1, label=False)}</th>" for speed in card.speeds_m_s)
    caption = f"<caption>{escape(table.setting)}</caption>" if table.setting is not None else ""
    rows = []
    for line_out, cells in zip(card.line_out_as_counter_m, table.cells, strict=True):
        body = []
        for cell in cells:
            depth = units.show(cell.depth_m, Dimension.LENGTH, 0, label=False)
            wide = units.show(cell.plus_minus_m, Dimension.LENGTH, 0, label=False)
            mark = ("*" if cell.slack else "") + ("†" if cell.pulled_under else "")
            body.append(f"<td><b>{depth}</b>{mark} <small>±{wide}</small></td>")
        rows.append(f"<tr><th>{units.show(line_out, Dimension.LENGTH, 0, label=False)}</th>{''.join(body)}</tr>")
    unit = f"{units.label(Dimension.LENGTH)} \\ {units.label(Dimension.SPEED)}"
    return f"<table>{caption}<tr><th>{escape(unit)}</th>{speeds}</tr>{''.join(rows)}</table>"
