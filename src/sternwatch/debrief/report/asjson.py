"""A debrief for machines: SI units, the unit in the field's name, null where unknown."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from typing import Any

from sternwatch.debrief.counting.factors import TITLES, words
from sternwatch.debrief.counting.producing import Comparison
from sternwatch.debrief.report.model import Report
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.logbook.store.samples import HitRow, hit_body


def as_json(report: Report) -> str:
    """One JSON document. It has positions only where the report may show places."""
    said = report.producing
    found: dict[str, Any] = {
        "title": report.title,
        "summary": dict(report.summary),
        "rod_hours": round(said.hours, 4),
        "hits_in_hours": said.hits,
        "hits_outside_hours": said.outside,
        "lines": list(report.lines),
        "radio": report.radio,
        "comparisons": [comparison_json(one, report.units) for one in said.comparisons],
        "hits": [_hit(hit, positions=report.positions) for hit in report.digest.hits],
        "alerts": [asdict(alert) for alert in report.digest.alerts],
        "separations": [asdict(one) for one in report.digest.separations],
        "touches_on_purpose": [asdict(one) for one in report.digest.touches],
        "notes": list(report.notes),
        "caution": report.caution,
    }
    if report.practised is not None:
        found["practice"] = {name: value for name, value in report.practised.items() if name != "pairs"}
    if report.beside is not None:
        found["beside"] = [dict(zip(report.beside.headings, row, strict=True)) for row in report.beside.rows]
    return json.dumps(found, ensure_ascii=False, allow_nan=False)


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def comparison_json(one: Comparison, units: DisplaySystem) -> dict[str, Any]:
    """One comparison, SI; infinite limits are null."""
    rates = one.rates
    return {
        "by": TITLES[one.value.factor],
        "value": words(one.value, units),
        "rods": list(one.rods),
        "hits": one.hits,
        "rod_hours": round(one.hours, 4),
        "rest_hits": one.rest_hits,
        "rest_rod_hours": round(one.rest_hours, 4),
        "hits_per_rod_hour": one.rate,
        "hits_per_rod_hour_interval": [_finite(limit) for limit in one.rate_interval],
        "ratio": _finite(rates.ratio) if rates is not None else None,
        "ratio_interval": [_finite(rates.low), _finite(rates.high)] if rates is not None else None,
        "p": rates.p if rates is not None else None,
        "stands_out": one.found,
        "like": None if one.like is None else {
            "hits": one.like.hits,
            "rod_hours": round(one.like.hours, 4),
            "p": one.like.rates.p if one.like.rates is not None else None,
            "stands_out": one.like.found,
        },
    }  # fmt: skip


def _hit(hit: HitRow, *, positions: bool) -> dict[str, Any]:
    body: dict[str, Any] = json.loads(hit_body(hit))
    if not positions:
        body.pop("lure_deg", None)
        for part in (body.get("boat", {}), body.get("noted", {})):
            part.pop("latitude_deg", None)
            part.pop("longitude_deg", None)
    return body
