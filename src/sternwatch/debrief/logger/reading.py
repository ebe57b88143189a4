"""Reads a logger's file: columns of time, depth and temperature, in the words and units of its heading.

It knows no maker's format: it looks for a row of headings with words for the three quantities and their units. Where
the heading leaves something open, the error names the option that answers it.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sternwatch.gear.values.units import STANDARD_GRAVITY_M_S2 as G
from sternwatch.reading import UnreadableError, read_text

Floats = NDArray[np.float64]

LARGEST_BYTES = 60_000_000
FEWEST = 20
_HEADING_IN = 60  # rows
_WATER = 1000.0  # kg/m3: fresh

_WORDS = {
    "time": ("time", "date", "timestamp", "datetime", "clock", "elapsed", "seconds"),
    "depth": ("depth", "pressure", "deep"),
    "temperature": ("temp", "temperature"),
}
# Factor and shift to SI by a unit's word; pressures become depths of fresh water.
DEPTHS = {"m": 1.0, "meter": 1.0, "meters": 1.0, "metre": 1.0, "metres": 1.0, "ft": 0.3048, "feet": 0.3048,
          "foot": 0.3048, "fathom": 1.8288, "fathoms": 1.8288, "dbar": 1e4 / (_WATER * G),
          "mbar": 1e2 / (_WATER * G), "kpa": 1e3 / (_WATER * G), "psi": 6894.757 / (_WATER * G)}  # fmt: skip
TEMPERATURES = {"c": (1.0, 0.0), "degc": (1.0, 0.0), "celsius": (1.0, 0.0), "f": (5 / 9, -160 / 9),
                "degf": (5 / 9, -160 / 9), "fahrenheit": (5 / 9, -160 / 9)}  # fmt: skip
_TIMES = (
    "%Y-%m-%d %H:%M:%S.%f", "%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M", "%Y/%m/%d %H:%M:%S", "%d.%m.%Y %H:%M:%S",
    "%d.%m.%Y %H:%M", "%m/%d/%Y %H:%M:%S", "%m/%d/%Y %H:%M", "%m/%d/%y %H:%M:%S", "%m/%d/%Y %I:%M:%S %p",
    "%d/%m/%Y %H:%M:%S", "%H:%M:%S.%f", "%H:%M:%S",
)  # fmt: skip


class LoggerError(ValueError):
    """A logger's file is faulty. The message is one sentence that says what is accepted."""


@dataclass(frozen=True, slots=True)
class Told:
    """The user's words where the heading leaves something open: names of columns, units."""

    time: str = ""
    depth: str = ""
    temperature: str = ""
    depth_unit: str = ""
    temperature_unit: str = ""


@dataclass(frozen=True, slots=True)
class Logged:
    """Seconds since the first row, depth [m] and temperature [°C] (nan without one), in order of time.

    ``begun`` is the first row's time in the file, read as UTC; None where the file only counts seconds.
    """

    t_s: Floats
    depth_m: Floats
    temperature_c: Floats
    begun: datetime | None
    columns: tuple[str, ...]  # as found: "time: Date Time", "depth: Depth (ft)", …
    left_out: int = 0  # rows that could not be read


def read_logger(path: Path, told: Told = Told()) -> Logged:
    """Read a logger's file. Raises LoggerError."""
    try:
        text = read_text(path, LARGEST_BYTES)
    except FileNotFoundError:
        raise LoggerError(f"{path}: there is no such file") from None
    except UnreadableError as fault:
        raise LoggerError(f"{path}: not a logger's file: {fault}") from None
    return parse(text, str(path), told)


def parse(text: str, where: str, told: Told) -> Logged:
    """Read the file's text. ``where`` begins the sentence of an error."""
    rows = _rows(text)
    at, names = _heading(rows, where, told)
    time_at = _columns(names, "time", told.time, where)
    depth_at = _columns(names, "depth", told.depth, where)[0]
    warm = _columns(names, "temperature", told.temperature, where, needed=False)
    by = _depth_unit(names[depth_at], told.depth_unit, where)
    degrees = _temperature_unit(names[warm[0]], told.temperature_unit, where) if warm else (1.0, 0.0)
    times: list[float] = []
    depths: list[float] = []
    temperatures: list[float] = []
    begun: datetime | None = None
    left_out, form = 0, ""
    dated = False
    for row in rows[at + 1 :]:
        if not any(cell.strip() for cell in row):
            continue
        try:
            moment, form = _moment(" ".join(row[i].strip() for i in time_at), form)
            depth = _number(row[depth_at])
        except (ValueError, IndexError):
            left_out += 1
            continue
        if isinstance(moment, datetime):
            begun = begun or moment
            dated = True
            times.append((moment - begun).total_seconds())
        else:
            times.append(moment)
        depths.append(depth * by)
        temperatures.append(_warmth(row, warm, degrees))
    if len(times) < FEWEST:
        raise LoggerError(
            f"{where}: {len(times)} rows with a time and a depth were read, at least {FEWEST} are wanted; "
            f"{left_out} could not be read"
        )
    t = np.array(times)
    if dated and form.startswith("%H"):  # bare times of day restart after midnight
        t = t + 86400.0 * np.cumsum(np.concatenate([[0.0], np.diff(t) < -43200.0]))
    order = np.argsort(t, kind="stable")
    t, first = np.unique(t[order], return_index=True)
    keep = order[first]
    columns = (
        f"time: {' '.join(names[i] for i in time_at)}", f"depth: {names[depth_at]}",
        f"temperature: {names[warm[0]]}" if warm else "temperature: none",
    )  # fmt: skip
    known = begun if begun is not None and begun.year > 1900 else None
    return Logged(
        t - t[0], np.array(depths)[keep], np.array(temperatures)[keep],
        None if known is None else known + timedelta(seconds=float(t[0])), columns, left_out,
    )  # fmt: skip


def _rows(text: str) -> list[list[str]]:
    sample = text[:20_000]
    delimiter = max(",;\t", key=sample.count)
    return list(csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=delimiter))


def _heading(rows: Sequence[Sequence[str]], where: str, told: Told) -> tuple[int, list[str]]:
    """The first row that names a depth and a time, in its own or the user's words."""
    for at, row in enumerate(rows[:_HEADING_IN]):
        names = [cell.strip() for cell in row]
        if len(names) >= 2 and _found(names, "depth", told.depth) and _found(names, "time", told.time):
            return at, names
    raise LoggerError(
        f"{where}: no row of headings with a time and a depth among the first {_HEADING_IN}; accepted are headings "
        "such as time, depth (ft), temperature (F), or the names of yours with --time-column and --depth-column"
    )


def _found(names: Sequence[str], what: str, told: str) -> list[int]:
    if told:
        return [i for i, name in enumerate(names) if name.casefold() == told.casefold()]
    return [i for i, name in enumerate(names) if any(word in name.casefold() for word in _WORDS[what])]


def _columns(names: Sequence[str], what: str, told: str, where: str, *, needed: bool = True) -> list[int]:
    """The column of a quantity; for a time also two columns, date and time of day."""
    found = _found(names, what, told)
    if what == "time":
        dates = [i for i in found if "date" in names[i].casefold()]
        if len(found) == 2 and len(dates) == 1 and not told:
            return [dates[0], next(i for i in found if i != dates[0])]
        both = [i for i in found if "date" in names[i].casefold() and "time" in names[i].casefold()]
        found = both[:1] or found[:1]
    if len(found) > 1:
        several = ", ".join(f'"{names[i]}"' for i in found)
        raise LoggerError(f"{where}: which column is the {what}: {several}? Say so with --{what}-column")
    if not found and (needed or told):
        named = ", ".join(f'"{name}"' for name in names)
        raise LoggerError(f"{where}: no column of {what} is found; say which of {named} with --{what}-column")
    return found


def _unit_of(name: str, known: Sequence[str]) -> str:
    """The word of a heading that is a unit: in brackets first, else its last word."""
    inside = re.findall(r"[(\[]([^)\]]*)[)\]]", name)
    words = [*inside, *re.split(r"[\s_/,.:\-]+", re.sub(r"[()\[\]]", " ", name))[::-1]]
    plain = [word.casefold().replace("°", "").strip() for word in words]
    return next((word for word in plain if word in known), "")


def _depth_unit(name: str, told: str, where: str) -> float:
    unit = told.casefold() or _unit_of(name, tuple(DEPTHS))
    if unit not in DEPTHS:
        given = f'"{told}" is not a unit of depth; ' if told else f'the heading "{name}" tells no unit of depth; '
        raise LoggerError(f"{where}: {given}accepted with --depth-unit: m, ft, fathom, dbar, kPa, psi")
    return DEPTHS[unit]


def _temperature_unit(name: str, told: str, where: str) -> tuple[float, float]:
    unit = told.casefold().replace("°", "") or _unit_of(name, tuple(TEMPERATURES))
    if unit not in TEMPERATURES:
        given = f'"{told}" is not' if told else f'the heading "{name}" tells no'
        raise LoggerError(f"{where}: {given} unit of temperature; accepted with --temperature-unit: C, F")
    return TEMPERATURES[unit]


def _number(cell: str) -> float:
    text = cell.strip()
    if "," in text and "." not in text:
        text = text.replace(",", ".")
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(cell)
    return value


def _warmth(row: Sequence[str], at: Sequence[int], degrees: tuple[float, float]) -> float:
    if not at:
        return math.nan
    try:
        return _number(row[at[0]]) * degrees[0] + degrees[1]
    except (ValueError, IndexError):
        return math.nan


def _moment(text: str, form: str) -> tuple[datetime | float, str]:
    """A moment or seconds from text, and its form, which is tried first for the next row."""
    if form == "iso" or not form:
        try:
            made = datetime.fromisoformat(text.replace("Z", "+00:00"))
            return (made if made.tzinfo is not None else made.replace(tzinfo=UTC)).astimezone(UTC), "iso"
        except ValueError:
            if form:
                raise
    for one in (form,) if form and form != "seconds" else () if form else _TIMES:
        try:
            return datetime.strptime(text, one).replace(tzinfo=UTC), one
        except ValueError:
            continue
    if form and form != "seconds":
        raise ValueError(text)
    return _number(text), "seconds"
