"""A debrief as one self-contained page, to print, to send, to read on a phone."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from sternwatch.debrief.report.model import Report, Table
from sternwatch.extras import missing
from sternwatch.gear.spread_file.models import ROD_KEYS
from sternwatch.watch.picture.stern import drawn_as

NEEDS = ("jinja2", "matplotlib")


class PageError(RuntimeError):
    """A page cannot be made; the message says why in one sentence."""


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot as SVG, already markup; ``kind`` as in ``figures.Figured``."""

    svg: Any
    caption: str
    kind: str


@dataclass(frozen=True, slots=True)
class _Shown:
    """A table without its empty columns."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int]
    empty: str
    note: str
    kept: tuple[int, ...]


def check_installed() -> None:
    """Raise :class:`PageError` where a package is missing."""
    if any(find_spec(name) is None for name in NEEDS):
        raise PageError(missing("a page", "report"))


def page(report: Report) -> str:
    """The page. The same debrief makes the same bytes.

    Raises PageError where the libraries for it are not installed.
    """
    check_installed()
    import jinja2
    import markupsafe

    from sternwatch.debrief.report.figures import figures

    loader = jinja2.FileSystemLoader(Path(__file__).parent / "templates")
    environment = jinja2.Environment(
        loader=loader, autoescape=True, undefined=jinja2.StrictUndefined, keep_trailing_newline=True
    )
    plots = [Plot(markupsafe.Markup(one.svg), one.caption, one.kind) for one in figures(report)]
    tables = (report.rates, report.alerts, report.separations, *report.extras)
    hues = {key: drawn_as(key)[0] for key in ROD_KEYS}
    return environment.get_template("debrief.html.j2").render(
        report=report, plots=plots, hits=_shown(report.hits), tables=[_shown(table) for table in tables], hues=hues
    )


def _shown(table: Table) -> _Shown:
    kept = tuple(i for i in range(len(table.headings)) if any(row[i] not in ("", "–") for row in table.rows))
    return _Shown(table.title, table.headings, table.rows, table.right, table.empty, table.note, kept)
