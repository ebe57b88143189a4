"""Let-out cards as one HTML page to print for the deck. It has no scripts and fetches nothing."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import TYPE_CHECKING

from sternwatch.cli.common.printed_page import framed
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from sternwatch.answers.depths.table import Card, Cell


def page(title: str, cards: Sequence[Card], units: DisplaySystem) -> str:
    """The whole page."""
    length, speed = units.label(Dimension.LENGTH), units.label(Dimension.SPEED)
    notes = [
        f"Depth of the lure in {length}, by line out as the counter reads ({length}) and speed through the water"
        f" ({speed}), straight course. ± reaches the farther end of where it lies nine times in ten;"
        " – is not known; * slack diver; † board pulled under."
    ]
    sections = "".join(f"{_section(card, units)}\n" for card in cards)
    return framed("Let-out card", title, notes, f'<div class="cards">\n{sections}</div>')


def _section(card: Card, units: DisplaySystem) -> str:
    rig = escape(" – ".join(card.rig))
    title = f"<h2>{escape(card.key)} {escape(card.name)}</h2><p>{rig}</p>"
    if card.why:
        return f"<section>{title}<p>{escape(card.why)}</p></section>"
    return f"<section>{title}{_table(card, units)}</section>"


def _table(card: Card, units: DisplaySystem) -> str:
    """A table with rows of line out and columns of speed, the settings side by side."""
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
    for i in range(1 if card.flat else len(card.line_out_as_counter_m)):
        cells = "".join(_cell(cell, k, units) for table in card.tables for k, cell in enumerate(table.cells[i]))
        rows.append(f"<tr><th>{line_label(card, i, units)}</th>{cells}</tr>")
    return f"<table>{settings}<tr><th>{unit}</th>{speeds}</tr>{''.join(rows)}</table>"


def line_label(card: Card, row: int, units: DisplaySystem) -> str:
    """Line out for people: lead-core in colours with the counter's reading; passes where the crew count passes."""
    line_out_m = card.line_out_as_counter_m[row]
    if card.colours:
        reads = units.show(line_out_m, Dimension.LENGTH, 0)
        plural = "" if card.colours[row] == 1.0 else "s"
        return f"{card.colours[row]:g} colour{plural} (counter {reads})"
    if card.flat:
        return "any"
    label = units.show(line_out_m, Dimension.LENGTH, 0, label=False)
    return label if card.per_pass_m is None else f"{label} ({line_out_m / card.per_pass_m:.1f} passes)"


def _first(column: int) -> str:
    return ' class="first"' if column == 0 else ""


def _cell(cell: Cell, column: int, units: DisplaySystem) -> str:
    depth = units.show(cell.depth_m, Dimension.LENGTH, 0, label=False)
    wide = units.show(cell.plus_minus_m, Dimension.LENGTH, 0, label=False)
    mark = ("*" if cell.slack else "") + ("†" if cell.pulled_under else "")
    return f"<td{_first(column)}><b>{depth}</b>{mark} <small>±{wide}</small></td>"
