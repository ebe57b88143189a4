"""Reads an old notebook in CSV: hits without hours, left out of every rate."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, time, timedelta, timezone
from pathlib import Path
from typing import Any, TypeVar

from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.gear.values.units import Dimension, QuantityError, parse_quantity
from sternwatch.logbook.actions.kinds import Action, ActionError, parse
from sternwatch.reading import UnreadableError, read_text

_LARGEST_BYTES = 16 << 20

T = TypeVar("T")

NEEDED = ("date",)
COLUMNS: dict[str, str] = {
    "date": "2024-07-18",
    "time": "19:42, the crew's clock; noon where it is empty",
    "rod": "a key or a name, at most one letter is kept as the key",
    "species": "coho",
    "outcome": "boxed, freed or dropped; boxed where it is empty",
    "length": '"24 in"',
    "mass": '"4.5 lb"',
    "lure": "spoon",
    "colour": "green",
    "setting": "low",
    "line out": '"180 ft"',
    "depth": '"60 ft"',
    "temperature": '"52 degF", at the surface',
    "bottom": '"140 ft"',
    "latitude": "47.02, degrees north",
    "longitude": "-89.55, degrees east",
    "note": "any text",
}
_QUANTITIES: dict[str, tuple[str, Dimension]] = {
    "length": ("length_m", Dimension.LENGTH),
    "mass": ("mass_kg", Dimension.MASS),
    "line out": ("line_out_m", Dimension.LENGTH),
    "depth": ("depth_m", Dimension.LENGTH),
    "temperature": ("temperature_c", Dimension.TEMPERATURE),
    "bottom": ("bottom_m", Dimension.LENGTH),
}


def read_notebook(path: Path, utc_offset_min: int) -> list[TripData]:
    """One trip for each date in the file, oldest first. The same file always gives the same trips.

    Raises TripError that names file, line, column, the value given and what is accepted; OSError.
    """
    try:
        text = read_text(path, _LARGEST_BYTES)
    except FileNotFoundError:
        raise TripError(f"{path}: there is no such file") from None
    except UnreadableError as fault:
        raise TripError(f"{path}: {fault}") from None
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    days: dict[date, list[Action]] = {}
    zone = timezone(timedelta(minutes=utc_offset_min))
    try:
        names = [name.strip().lower() for name in reader.fieldnames or ()]
        _check_columns(path, names)
        reader.fieldnames = names
        for row in reader:
            where = f"{path} line {reader.line_num}"
            if None in row:
                raise TripError(f"{where}: has more cells than there are columns")
            given = {name: (value or "").strip() for name, value in row.items()}
            if any(given.values()):
                _read_row(given, where, zone, days)
    except csv.Error as fault:
        raise TripError(f"{path} line {reader.line_num}: not CSV ({fault})") from None
    if not days:
        raise TripError(f"{path}: has no hits in it")
    return [_trip(day, actions, zone, utc_offset_min) for day, actions in sorted(days.items())]


def _check_columns(path: Path, names: list[str]) -> None:
    unknown = [name for name in names if name not in COLUMNS]
    if unknown:
        raise TripError(f"{path}: column {unknown[0]!r} is not known; accepted: {', '.join(COLUMNS)}")
    missing = [name for name in NEEDED if name not in names]
    if missing:
        raise TripError(f"{path}: column {missing[0]!r} is missing; the first line names the columns")
    if len(set(names)) != len(names):
        raise TripError(f"{path}: a column stands there twice")


def _read_row(
    given: Mapping[str, str], where: str, zone: timezone, days: dict[date, list[Action]]
) -> None:  # fmt: skip
    day = _cell(given, "date", where, date.fromisoformat)
    if day is None:
        raise TripError(f"{where}: date: is empty; accepted is, for example, {COLUMNS['date']}")
    clock = _cell(given, "time", where, time.fromisoformat) or time(12, 0)
    actions = days.setdefault(day, [])
    moment = datetime.combine(day, clock.replace(tzinfo=None), zone)
    digest = hashlib.sha256(f"{day}|{len(actions)}|{sorted(given.items())}".encode()).hexdigest()[:16]
    hit = f"n{digest}"
    rod = given.get("rod", "")

    def add(suffix: str, kind: str, fields: Mapping[str, Any]) -> None:
        body = {"id": hit + suffix, "time": moment.astimezone(UTC), "kind": kind, **fields}
        try:
            actions.append(parse(body, where))
        except ActionError as fault:
            raise TripError(str(fault)) from None

    add("", "hit", {"rod": rod[:1] or "?"})
    add("o", "outcome", {"of": hit, "outcome": given.get("outcome") or "boxed"})
    read = _noted(given, where)
    note = "; ".join(text for text in (rod if len(rod) > 1 else "", given.get("note", "")) if text)
    fish = {"species": given.get("species") or None, "note": note or None}
    fish |= {name: read.pop(name, None) for name in ("length_m", "mass_kg")}
    caught = {name: value for name, value in fish.items() if value is not None}
    if caught:
        add("c", "catch", {"of": hit, **caught})
    read |= _place(given, where)
    if read:
        add("n", "noted", {"of": hit, **read})


def _noted(given: Mapping[str, str], where: str) -> dict[str, Any]:
    """The quantities and words of a row, by field."""
    read: dict[str, Any] = {}
    for column, (field, dimension) in _QUANTITIES.items():
        value = _cell(given, column, where, _quantity(dimension))
        if value is not None:
            read[field] = value
    return read | {column: given[column] for column in ("lure", "colour", "setting") if given.get(column)}


def _place(given: Mapping[str, str], where: str) -> dict[str, float]:
    """The place of a row, as far as it is given."""
    columns = (("latitude", "latitude_deg"), ("longitude", "longitude_deg"))
    read = {field: _cell(given, column, where, float) for column, field in columns}
    return {field: value for field, value in read.items() if value is not None}


def _quantity(dimension: Dimension) -> Callable[[str], float]:
    return lambda text: parse_quantity(text, dimension)


def _cell(given: Mapping[str, str], column: str, where: str, read: Callable[[str], T]) -> T | None:
    text = given.get(column, "")
    if not text:
        return None
    try:
        return read(text)
    except (ValueError, QuantityError):
        raise TripError(
            f"{where}: {column}: {text!r} is not accepted; accepted is, for example, {COLUMNS[column]}"
        ) from None


def _trip(day: date, actions: list[Action], zone: timezone, utc_offset_min: int) -> TripData:
    begun = datetime.combine(day, time(0, 0), zone).astimezone(UTC)
    ids = hashlib.sha256("".join(action.id for action in actions).encode()).hexdigest()[:8]
    return TripData(
        f"{day:%Y%m%d}T000000Z-{ids}", begun, "", actions, None, "fishing", begun + timedelta(hours=24), "notebook",
        about={"utc_offset_min": utc_offset_min},
    )  # fmt: skip
