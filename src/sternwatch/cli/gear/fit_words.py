"""What ``sternwatch fit`` prints: tables for people, one JSON document for machines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sternwatch.answers.belief.observation_words import (
    beyond_words,
    said_words,
    unclear_words,
    unlikely_words,
    value_words,
    wanted_words,
)
from sternwatch.answers.belief.observations import Observation, What
from sternwatch.cautions import COMPUTED
from sternwatch.cli.common.tables import table_console
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from rich.table import Table

    from sternwatch.answers.belief.fit import Fit
    from sternwatch.answers.belief.fit_report import FitReport, Next
    from sternwatch.gear.spread_file.models import Spread

_FIELD = {What.DEPTH: "m", What.PULL: "N", What.ENTRY_ANGLE: "deg", What.CABLE_ANGLE: "deg"}


def print_json(document: dict[str, Any]) -> None:
    """One document on standard output."""
    import json

    print(json.dumps(document, allow_nan=False, ensure_ascii=False))


def priors_json(spread: Spread) -> dict[str, Any]:
    """Every uncertain quantity of a spread."""
    return {
        "priors": [
            {
                "name": one.name, "law": one.law, "low": one.low, "high": one.high, "unit": one.unit,
                "source": one.source, "of": one.subject,
            }
            for one in uncertain(spread, fitted=True).values()
        ]
    }  # fmt: skip


def print_priors(spread: Spread) -> None:
    """Print them as a table."""

    console = table_console()
    table = _table("uncertain", "from", "to", "", "source")
    for one in uncertain(spread, fitted=True).values():
        if one.law == "factor":
            table.add_row(one.name, f"× {one.low:.3g}", f"× {one.high:.3g}", "", one.source)
        else:
            table.add_row(one.name, _shift(one.low, one.unit), _shift(one.high, one.unit), "", one.source)
    console.print(
        'Nine times in ten between, about the value in use; [prior."NAME"] in the spread file sets its own.'
    )
    console.print(table)


def _shift(value: float, unit: str) -> str:
    return f"{math.degrees(value):+.1f}°" if unit == "rad" else f"{value:+.3g} {unit}"


def _table(*headings: str) -> Table:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for number, heading in enumerate(headings):
        table.add_column(heading, justify="left" if number == 0 or heading in ("source", "") else "right")
    return table


def as_json(fit: Fit, found: FitReport, saved: Path | None) -> dict[str, Any]:
    """The whole fit in SI, angles in degrees; null where unknown."""
    learned = fit.calibration
    return {
        "calibration": learned.name,
        "saved": None if saved is None else str(saved),
        "speed_through_water_m_s": found.speed_m_s,
        "quantities": [
            {
                "name": one.name, "unit": one.unit, "source": one.source, "before": list(one.before),
                "after": list(one.after), "mean_sd": one.mean, "sd": one.sd,
            }
            for one in found.learned
        ],
        "rods": [
            {
                "key": one.key, "name": one.name, "observed": one.observed,
                "depth_before_m": one.depth_before_m, "depth_before_interval_m": _pair(one.interval_before_m),
                "depth_after_m": one.depth_after_m, "depth_after_interval_m": _pair(one.interval_after_m),
                "ensemble_over_linear": one.check,
            }
            for one in found.rods
        ],
        "observations": [
            {
                "id": row.one.id, "rod": row.one.rod, "what": row.one.said, "at": row.one.at,
                "quantity": row.one.what.value, "unit": _FIELD[row.one.what],
                "value": _out(row.one, row.one.value), "error": _out(row.one, row.one.error),
                "believed_before": _out(row.one, row.before), "believed_after": _out(row.one, row.after),
                "off_sd": row.off, "weight": row.weight, "used": row.one.used, "why": row.one.why or None,
                "disagrees": row.disagrees,
            }
            for row in found.observations
        ],
        "beyond_prior": [
            {"name": one.name, "unit": one.unit, "now": one.now, "low": one.low, "high": one.high}
            for one in found.beyond
        ],
        "unlikely": [{"rod": one.rod, "off_m": one.off_m} for one in found.unlikely],
        "cannot_tell": [
            {
                "rod": one.rod, "moved_m": one.moved_m, "causes": list(one.causes), "would_tell": one.deed,
                "at_speed_m_s": one.at if one.deed in ("slower", "faster") else None,
                "at_line_out_m": one.at if one.deed == "shorter" else None, "doubt_left": one.left,
            }
            for one in found.unclear
        ],
        "next": [
            {
                "rod": one.rod, "quantity": one.what.value, "at": one.at, "variance_taken_away": one.share,
                "half_width_before_m": one.own_before_m, "half_width_after_m": one.own_after_m,
            }
            for one in found.next
        ],
    }  # fmt: skip


def _pair(pair: tuple[float, float] | None) -> list[float] | None:
    return None if pair is None else list(pair)


def _out(one: Observation, value: float | None) -> float | None:
    if value is None or not math.isfinite(value):
        return None
    return math.degrees(value) if _FIELD[one.what] == "deg" else value


def print_report(fit: Fit, found: FitReport, units: DisplaySystem) -> None:
    """Print the fit for people."""

    console = table_console()
    used = len(fit.used)
    pace = units.show(found.speed_m_s, Dimension.SPEED, 1)
    console.print(f"{fit.calibration.name}: {used} of {len(fit.observations)} observations used\n")
    console.print(_observed(found, units))
    for line in (*_remarks(found), *doubts(found, units)):
        console.print(line, soft_wrap=True)
    console.print(f"\ndepth at {pace} through the water, and where it lies nine times in ten:")
    console.print(_rods(found, units))
    if found.learned:
        console.print("\nlearned, about the value in use:")
        table = _table("", "before", "now", "from", "to")
        for one in found.learned:
            say = _factor if one.unit == "1" else (lambda value, unit=one.unit: _shift(value, unit))
            before = f"{say(one.before[0])} to {say(one.before[2])}"
            table.add_row(one.name, before, say(one.after[1]), say(one.after[0]), say(one.after[2]))
        console.print(table)
    if found.next:
        console.print("\nwhat would help most next:")
        for step in found.next:
            console.print(f"    {_next(fit.spread, step, units)}", soft_wrap=True)
    console.print(f"\n{COMPUTED}")


def _factor(value: float) -> str:
    return f"× {value:.2f}"


def _observed(found: FitReport, units: DisplaySystem) -> Table:
    table = _table("observed", "", "value", "±", "believed", "now", "off")
    for row in found.observations:
        one = row.one
        off = "–" if row.off is None else f"{row.off:+.1f}"
        table.add_row(
            f"rod {one.rod}", said_words(one), value_words(one.what, one.value, units),
            value_words(one.what, one.error, units), value_words(one.what, row.before, units),
            value_words(one.what, row.after, units), off,
        )  # fmt: skip
    return table


def _remarks(found: FitReport) -> Sequence[str]:
    out = []
    for row in found.observations:
        if row.one.why:
            out.append(f"not used, rod {row.one.rod} {row.one.said}: {row.one.why}")
        elif row.disagrees:
            out.append(f"disagrees with all the others, so it hardly counts: rod {row.one.rod} {row.one.said}")
    return out


def doubts(found: FitReport, units: DisplaySystem) -> list[str]:
    """Sentences on quantities that the fit pushed too far, and on those that the observations do not decide."""
    said = [f"warning: {beyond_words(one)}" for one in found.beyond]
    said += [f"warning: {unlikely_words(one, units)}" for one in found.unlikely]
    return said + [unclear_words(one, units) for one in found.unclear]


def _rods(found: FitReport, units: DisplaySystem) -> Table:
    length = units.label(Dimension.LENGTH)
    table = _table("rod", f"before\n{length}", "90 % in", f"now\n{length}", "90 % in")

    def lengths(value: float | None) -> str:
        return units.show(value, Dimension.LENGTH, 0, label=False)

    def within(pair: tuple[float, float] | None) -> str:
        return "–" if pair is None else f"{lengths(max(0.0, pair[0]))}–{lengths(pair[1])}"

    for one in found.rods:
        name = f"{one.key} {one.name}{' *' if one.observed else ''}"
        table.add_row(
            name, lengths(one.depth_before_m), within(one.interval_before_m), lengths(one.depth_after_m),
            within(one.interval_after_m),
        )  # fmt: skip
    return table


def _next(spread: Spread, step: Next, units: DisplaySystem) -> str:
    rod = spread.rod_by_key(step.rod)
    name = f"{step.rod} {rod.name}" if rod is not None else step.rod
    digits = 0 if units.length == "ft" else 1
    before = units.show(step.own_before_m, Dimension.LENGTH, digits, label=False)
    after = units.show(step.own_after_m, Dimension.LENGTH, digits)
    would = f"its ± {before} would be {after}; {100 * step.share:.0f} % less doubt over all rods"
    return f"{name}: {wanted_words(step.what, step.at)} ({would})"
