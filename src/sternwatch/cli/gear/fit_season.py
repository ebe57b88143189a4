"""``sternwatch fit --season``: what the season has taught about every piece of gear; undoes the last trip's part."""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.common.written import write
from sternwatch.system_words import reason

if TYPE_CHECKING:
    from sternwatch.answers.season.keeping import Season, Update
    from sternwatch.answers.season.pieces import Known
    from sternwatch.gear.spread_file.models import Spread

WIDTH = 32  # cells in a line of the plot
_BARS = "▁▂▃▄▅▆▇█"
NOTHING = "the season holds nothing yet: it learns from what is observed on trips (h on the helm), at each trip's end"


def run(args: argparse.Namespace) -> int:
    """Undo the last trip's part, or bring the season up to date and show it."""
    from sternwatch.answers.belief.calibration_file import CalibrationError
    from sternwatch.answers.season.keeping import Season
    from sternwatch.answers.season.pieces import known
    from sternwatch.cli.gear.fit_words import print_json

    season = Season.own()
    try:
        if args.undo:
            return _undo(season, as_json=args.json)
        spread = _spread(args.of)
        spread = _caught_up(season, spread)
        updates = season.updates
    except CalibrationError as fault:
        raise InputError(str(fault)) from fault
    except OSError as fault:
        raise InputError(f"{season.folder}: {reason(fault)}") from fault
    if not updates:
        raise InputError(NOTHING)
    if spread is None:
        raise InputError("which spread? Give its file: sternwatch fit --season boat.toml")
    rows = known(spread, updates)
    if args.html is not None:
        write(args.html, html(spread, updates, rows))
    if args.json:
        print_json(as_json(updates, rows))
    else:
        print("\n".join(lines(spread, updates, rows)))
    return Exit.DONE


def _undo(season: Season, *, as_json: bool) -> int:
    from sternwatch.cli.gear.fit_words import print_json

    last = season.undo()
    if last is None:
        raise InputError("there is nothing to undo: the season holds no trip")
    if as_json:
        print_json({"undone": last.trip, "made": last.made.isoformat(), "left": len(season.updates)})
    else:
        print(
            f"undone: what trip {last.trip} taught ({last.used} observations); {len(season.updates)} trips are left"
        )
    return Exit.DONE


def _spread(asked: Sequence[str]) -> Spread | None:
    """The spread of the file given, else of the user's boat; None where there is neither."""
    from sternwatch.cli.common.inputs import spread_of
    from sternwatch.places import boat_file

    if len(asked) > 1 or any(not one.endswith(".toml") for one in asked):
        raise InputError(f'"{asked[-1]}": accepted with --season is one spread file (*.toml)')
    if asked:
        return spread_of(Path(asked[0]))
    return spread_of(boat_file()) if boat_file().exists() else None


def _caught_up(season: Season, spread: Spread | None) -> Spread | None:
    """Learn from ended trips not learned from yet. Returns the spread, else the last trip's."""
    from sternwatch.cli.common.books import opened
    from sternwatch.debrief.trip.observed import observed_on
    from sternwatch.debrief.trip.sources import TripError, from_logbook
    from sternwatch.feed.errors import FeedError
    from sternwatch.gear.values.faults import SpreadError
    from sternwatch.logbook.actions.kinds import ActionError
    from sternwatch.logbook.store.trips import trips
    from sternwatch.places import data_dir

    if not (data_dir() / "logbook.sqlite").exists():
        return spread
    last = spread
    with opened() as book:
        for trip in trips(book.reader):
            if trip.session != "live" or trip.ended is None or season.has(trip.id):
                continue
            try:
                data = from_logbook(book.reader, trip.id, data_dir())
                if not any(action.kind == "observed" for action in data.actions):
                    continue
                print(f"sternwatch: learning from trip {trip.id}", file=sys.stderr)
                own, seen = observed_on(data)
            except (TripError, FeedError, SpreadError, ActionError) as fault:
                print(f"sternwatch: trip {trip.id} taught nothing: {fault}", file=sys.stderr)
                continue
            last = spread or own
            seen = tuple(one for one in seen if not one.id.startswith("known "))
            if any(one.used for one in seen):
                season.add(own, seen, trip=trip.id, made=trip.ended)
    return last


def lines(spread: Spread, updates: Sequence[Update], rows: Sequence[Known]) -> list[str]:
    """The plot for a terminal: · the first 90 % range, ━ the present one, ● the middle."""
    from sternwatch.answers.belief.observation_words import quantity_words
    from sternwatch.gear.spread_file.uncertain_words import words

    made = [
        f"{spread.boat.name}: {len(updates)} trips, {sum(update.used for update in updates)} observations, "
        f"{updates[0].made:%Y-%m-%d} to {updates[-1].made:%Y-%m-%d}",
        "· nine in ten lay here at first   ━ lie here now   ● the middle; the bars: how wide after each trip",
    ]
    subject = ""
    for row in rows:
        if row.subject != subject:
            subject = row.subject
            made += ["", f"{_called(spread, subject)}: {_since(row)}"]
        low, middle, high = (quantity_words(value, row.unit) for value in row.now)
        made.append(f"  {words(row.name)[:34]:34} {bar(row)} {middle} ({low} to {high})")
        then, now = (f"{_small(value, row.unit)}" for value in (row.half_then, row.half_now))
        made.append(f"  {'':34} ±{then} → ±{now} {trend(row.widths)}")
    return made


def _small(value: float, unit: str) -> str:
    """A half width in words: a factor's in per cent, an angle's in degrees."""
    if unit == "1":
        return f"{100.0 * value:.1f} %"
    return f"{math.degrees(value):.1f}°" if unit == "rad" else f"{value:.2g} {unit}"


def bar(row: Known) -> str:
    """Both ranges in one line of ``WIDTH`` cells."""
    low, high = min(row.then[0], row.now[0]), max(row.then[2], row.now[2])
    wide = max(high - low, 1e-12)

    def cell(value: float) -> int:
        return round((value - low) / wide * (WIDTH - 1))

    cells = [" "] * WIDTH
    for (start, _, end), mark in ((row.then, "·"), (row.now, "━")):
        for at in range(cell(start), cell(end) + 1):
            cells[at] = mark
    cells[cell(row.now[1])] = "●"
    return "".join(cells)


def trend(widths: Sequence[float]) -> str:
    """The width after each of the last forty trips against the first, one bar each."""
    return "".join(_BARS[min(max(round(width * 8) - 1, 0), 7)] for width in widths[-40:])


def _called(spread: Spread, subject: str) -> str:
    kind, _, name = subject.partition(" ")
    rod = spread.rod_by_key(name) if kind in ("rod", "reel") else None
    if rod is not None:
        return f"{'counter of rod' if kind == 'reel' else 'rig of rod'} {rod.key} {rod.name}"
    return subject


def _since(row: Known) -> str:
    if row.since is None or row.last is None:
        return "told by what it hangs together with"
    many = "1 observation" if row.observations == 1 else f"{row.observations} observations"
    return f"{many}, {row.since:%Y-%m-%d} to {row.last:%Y-%m-%d}"


def as_json(updates: Sequence[Update], rows: Sequence[Known]) -> dict[str, Any]:
    """Trips and quantities; half widths at 90 %."""
    return {
        "trips": [{"trip": one.trip, "made": one.made.isoformat(), "observations": one.used} for one in updates],
        "quantities": [
            {
                "name": row.name, "unit": row.unit, "of": row.subject,
                "since": None if row.since is None else row.since.isoformat(),
                "last": None if row.last is None else row.last.isoformat(), "observations": row.observations,
                "then": list(row.then), "now": list(row.now), "half_width_then": row.half_then,
                "half_width_now": row.half_now, "width_after_each_trip": list(row.widths),
            }
            for row in rows
        ],
    }  # fmt: skip


def html(spread: Spread, updates: Sequence[Update], rows: Sequence[Known]) -> str:
    """The season as one page with drawings."""
    from sternwatch.answers.belief.observation_words import quantity_words
    from sternwatch.cli.common.printed_page import framed
    from sternwatch.gear.spread_file.uncertain_words import words

    body = ["<table><tr><th>of</th><th>quantity</th><th>at first and now</th><th>now</th><th>± at first</th>"
            "<th>± now</th><th>after each trip</th><th>learned</th></tr>"]  # fmt: skip
    for row in rows:
        low, middle, high = (quantity_words(value, row.unit) for value in row.now)
        body.append(
            f"<tr><td>{escape(_called(spread, row.subject))}</td><td>{escape(words(row.name))}</td>"
            f"<td>{_drawn(row)}</td><td><b>{middle}</b> <small>{low} to {high}</small></td>"
            f"<td>{_small(row.half_then, row.unit)}</td><td>{_small(row.half_now, row.unit)}</td>"
            f"<td>{_curve(row.widths)}</td>"
            f"<td>{escape(_since(row))}</td></tr>"
        )
    body.append("</table>")
    notes = [f"{len(updates)} trips, {updates[0].made:%Y-%m-%d} to {updates[-1].made:%Y-%m-%d}."]
    return framed("season", spread.boat.name, notes, "\n".join(body))


def _drawn(row: Known) -> str:
    low, high = min(row.then[0], row.now[0]), max(row.then[2], row.now[2])
    by = 196.0 / max(high - low, 1e-12)
    at = [2.0 + (value - low) * by for value in (*row.then, *row.now)]
    return (
        '<svg width="200" height="14" role="img">'
        f'<line x1="{at[0]:.1f}" x2="{at[2]:.1f}" y1="7" y2="7" stroke="#999" stroke-width="2" '
        'stroke-dasharray="2 3"/>'
        f'<line x1="{at[3]:.1f}" x2="{at[5]:.1f}" y1="7" y2="7" stroke="#000" stroke-width="4"/>'
        f'<circle cx="{at[4]:.1f}" cy="7" r="4"/></svg>'
    )


def _curve(widths: Sequence[float]) -> str:
    step = 116.0 / max(len(widths), 1)
    points = " ".join(f"{2.0 + step * (n + 1):.1f},{16.0 - 14.0 * min(w, 1.0):.1f}" for n, w in enumerate(widths))
    return (
        '<svg width="120" height="18" role="img">'
        f'<polyline points="2,2 {points}" fill="none" stroke="#000" stroke-width="1.5"/></svg>'
    )
