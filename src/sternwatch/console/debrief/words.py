"""The debrief's parts in lines for the screen: the summary, and tables with as many columns as fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sternwatch.console.frame.scrolled import Line
from sternwatch.console.words.text import wrapped

if TYPE_CHECKING:
    from sternwatch.debrief.report.model import Report, Table

_NAME = 11  # cells of a summary's name
_MOST = 9  # the most lines of one sentence
_APART = 2  # cells between columns
_LONG = 22  # least cells of a column that may be cut

# Columns that a narrow screen drops first, by the heading's beginning. The line below shows them for the chosen row.
DROPPED = (
    "boat", "surface", "turn", "moving", "off", "90", "setting", "remarks", "times", "by luck", "stood", "lure's",
    "at", "lure", "line", "priority", "end",
)  # fmt: skip


def summary(report: Report, width: int) -> list[Line]:
    """The trip, what produced, the sentence for the radio, notes."""
    made: list[Line] = [((1, report.title, "number"),)]
    for name, text in report.summary:
        first, *rest = wrapped(text, max(width - _NAME - 2, 20), _MOST)
        made.append(((1, name, "label"), (_NAME, first, "text")))
        made += [((_NAME, line, "text"),) for line in rest]
    found = bool(report.producing.findings)
    made += [(), ((1, "WHAT PRODUCED", "state"),)]
    for text in report.lines:
        made += paragraph(text, width, "number" if found else "text")
    made += [(), ((1, "FOR THE RADIO", "state"),), *paragraph(report.radio, width, "text")]
    if report.notes:
        made += [(), ((1, "NOTES", "state"),)]
        for text in report.notes:
            made += paragraph(text, width, "text")
    return [*made, (), ((1, report.caution, "label"),)]


def paragraph(text: str, width: int, ink: str) -> list[Line]:
    """A sentence in as many lines as it needs."""
    return [((1, line, ink),) for line in wrapped(text, width - 2, _MOST)]


@dataclass(frozen=True, slots=True)
class Columns:
    """A table's layout: the columns shown, and the first and end cell of each."""

    shown: tuple[int, ...]
    spans: tuple[tuple[int, int], ...]


def columns(table: Table, width: int) -> Columns:
    """The columns with contents, as many as fit, most wanted first. Columns of words get the remaining room."""
    filled = [i for i in range(len(table.headings)) if any(row[i] not in ("", "–") for row in table.rows)]
    wide = {i: max(len(table.headings[i]), *(len(row[i]) for row in table.rows)) for i in filled}

    def last_wanted(i: int) -> int:
        return next((n for n, word in enumerate(DROPPED) if table.headings[i].startswith(word)), len(DROPPED))

    shown: list[int] = []
    for i in sorted(filled, key=lambda i: (-last_wanted(i), i)):
        if _needs([*shown, i], wide) <= width - 2:
            shown.append(i)
    filled = sorted(shown)
    spare = width - 2 - _needs(filled, wide)
    spans, x = [], 1
    for i in filled:
        cells = wide[i]
        if cells > _LONG:
            cells = min(cells, _LONG + max(spare, 0))
            spare -= cells - _LONG
        spans.append((x, x + cells))
        x += cells + _APART
    return Columns(tuple(filled), tuple(spans))


def _needs(shown: list[int], wide: dict[int, int]) -> int:
    """The least cells of columns: a column of sentences may be cut, but not to nothing."""
    return sum(min(wide[i], _LONG) for i in shown) + _APART * max(len(shown) - 1, 0)


def heads(table: Table, fit: Columns) -> Line:
    """The headings over their columns."""
    return tuple(
        _cell(table.headings[i], span, "label", right=i in table.right)
        for i, span in zip(fit.shown, fit.spans, strict=True)
    )


def row(table: Table, fit: Columns, number: int, ink: str) -> Line:
    """One row, cut to its columns."""
    cells = table.rows[number]
    return tuple(
        _cell(cells[i], span, ink, right=i in table.right) for i, span in zip(fit.shown, fit.spans, strict=True)
    )


def _cell(text: str, span: tuple[int, int], ink: str, *, right: bool) -> tuple[int, str, str]:
    start, end = span
    if len(text) > end - start:
        text = text[: end - start - 1] + "…"
    return (end - len(text), text, ink) if right else (start, text, ink)


def beneath(table: Table, fit: Columns, number: int, width: int) -> list[Line]:
    """The rest of one row, which its columns do not show, in words."""
    cells = table.rows[number]
    cut = {i for i, (start, end) in zip(fit.shown, fit.spans, strict=True) if len(cells[i]) > end - start}
    told = [
        f"{table.headings[i]}: {cells[i]}" if table.headings[i] else cells[i]
        for i in range(len(cells))
        if (i not in fit.shown or i in cut) and cells[i] not in ("", "–")
    ]
    return paragraph(" · ".join(told), width, "text") if told else []
