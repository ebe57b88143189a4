"""The sensor screen: what every source sends and how it is used. It shows why there are no depths."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from textual.app import ComposeResult

from sternwatch.console.frame.overlays import COMPUTING
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen, Span
from sternwatch.console.words import rods as words
from sternwatch.console.words import sensors as sensor_words
from sternwatch.console.words import speed as speed_words
from sternwatch.console.words.rods import SIGNS, Signs
from sternwatch.console.words.text import cut, wrapped
from sternwatch.feed.readings import Quantity, SensorState, SensorValue
from sternwatch.feed.sensors.board import SensorEntry
from sternwatch.feed.sentences.accounts import SourceReport
from sternwatch.feed.sources.base import SourceState, SourceStatus
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.local_time import BoatTime
from sternwatch.watch.picture.model import OwnBoat, Picture, SpeedSource
from sternwatch.watch.sessions.runner import Senses

_STATES = {SensorState.FRESH: "fresh", SensorState.NONE: "no value", SensorState.SILENT: "silent"}
_WELL = (SourceState.OPEN, SourceState.ENDED, SourceState.STOPPED, SourceState.CONNECTING)


@dataclass(frozen=True, slots=True)
class Known:
    """The data of the screen. ``busy``: what the session is preparing."""

    senses: Senses
    picture: Picture | None
    busy: str = ""
    timing: str = ""  # for a recording: the source of its times


def page(known: Known, units: DisplaySystem, signs: Signs, width: int) -> list[Line]:
    """Every line of the screen, for ``width`` cells: the speed behind the depths, the quantities, the sources."""
    return [
        *_verdict(known, units, width), (),
        *_quantities(known, units, signs, width), (),
        *_sources(known, width),
    ]  # fmt: skip


# -- what drives the depths, or why nothing does -------------------------------------------------------------


def _verdict(known: Known, units: DisplaySystem, width: int) -> Iterator[Line]:
    picture = known.picture
    own = picture.own if picture is not None else None
    if own is None or picture is None:
        yield from _paragraph(f"NO DEPTHS YET. {known.busy or COMPUTING}", width, "caution")
    elif own.speed_source is SpeedSource.THROUGH_WATER:
        yield ((1, f"Depths use speed through water, {_from(picture, Quantity.STW)}.", "number"),)
        yield from _water(own, units, width)
    elif own.speed_source is SpeedSource.OVER_GROUND:
        yield ((1, f"Depths use speed over ground, {_from(picture, Quantity.SOG)}:", "number"),)
        lacking = f"{_lack(picture.sensors.get(Quantity.STW), Quantity.STW)}."
        yield from _paragraph(f"speed through water: {lacking}", width, "text")
        yield from _water(own, units, width)
    else:
        yield ((1, " NO DEPTHS: THERE IS NO SPEED ".ljust(width - 2), "caution band"),)
        for quantity in (Quantity.STW, Quantity.SOG):
            name = sensor_words.NAMES[quantity][0]
            yield from _paragraph(f"· speed {name}: {_lack(picture.sensors.get(quantity), quantity)}", width, "text")
    yield from (line for text in _troubles(known.senses) for line in _paragraph(f"· {text}", width, "caution"))


def _water(own: OwnBoat, units: DisplaySystem, width: int) -> Iterator[Line]:
    """The current, the paddle wheel's own error, and what would reveal them."""
    for text in speed_words.sentences(own, units):
        yield from _paragraph(text, width, "text")


def _from(picture: Picture, quantity: Quantity) -> str:
    sensor = picture.sensors.get(quantity)
    if sensor is None or sensor.age_s is None:
        return "not heard now"
    return f"{sensor.source} {sensor.sentence}, {words.span(math.ceil(max(sensor.age_s, 0.0)))} old"


def _lack(sensor: SensorValue | None, quantity: Quantity) -> str:
    """Why a quantity is not used, and what would supply it."""
    if sensor is None or sensor.state is SensorState.NEVER:
        return f"never heard; {sensor_words.NAMES[quantity][1]} tells it"
    since = "" if sensor.age_s is None else f" for {words.span(sensor.age_s)}"
    if sensor.suspect:
        return f"doubted, {sensor.suspect}"
    if sensor.state is SensorState.NONE:
        return f"{sensor.source} {sensor.sentence} says it has none{since}"
    if sensor.state is SensorState.SILENT:
        return f"{sensor.source} {sensor.sentence} is silent{since}"
    return "reads nothing though the boat moves over ground (weed on the wheel?)"


def _troubles(senses: Senses) -> Iterator[str]:
    """The faults of the sources, one sentence each."""
    for status in senses.statuses:
        if status.state not in _WELL:
            yield f"{status.source}: {status.text}"
    for report in senses.reports:
        if report.complaint:
            yield report.complaint
        if report.mending:
            yield f"{report.source}: {report.mending}"
    if senses.statuses and not any(report.lines for report in senses.reports):
        yield "no source has sent a line yet"
    told = {entry.quantity for entry in senses.entries}
    kinds = sorted({kind for report in senses.reports for kind in (*report.accepted, *report.unused)})
    if kinds and not told & {Quantity.STW, Quantity.SOG}:
        yield f"sentences arrive ({', '.join(kinds[:8])}), but none that tells a speed: VHW, RMC or VTG would"


# -- every quantity of every speaker -------------------------------------------------------------------------


class _Columns(NamedTuple):
    """Where each column begins; ``age``, ``every`` and ``limit`` are where their numbers end."""

    value: int
    state: int
    age: int
    every: int
    limit: int
    source: int

    @classmethod
    def of(cls, width: int) -> _Columns:
        gap = 1 + min(max(width - 80, 0) // 14, 4)
        value = 3 + 13 + gap
        state = value + 23 + gap
        age = state + 8 + gap + 4
        every = age + gap + 5
        limit = every + gap + 5
        return cls(value, state, age, every, limit, limit + gap + 1)


def _quantities(known: Known, units: DisplaySystem, signs: Signs, width: int) -> Iterator[Line]:
    time = BoatTime(utc=units.utc) if known.picture is None else known.picture.clock(units)
    at = _Columns.of(width)
    heads = ((3, "QUANTITY"), (at.value, "VALUE"), (at.state, "STATE"), (at.age - 3, "AGE"), (at.every - 5, "EVERY"),
             (at.limit - 5, "LIMIT"), (at.source, "FROM"))  # fmt: skip
    yield tuple((x, head, "label") for x, head in heads)
    for quantity in sensor_words.NAMES:
        entries = sorted((e for e in known.senses.entries if e.quantity is quantity), key=_order)
        if not entries and quantity in sensor_words.EXPECTED:
            name, told_by = sensor_words.NAMES[quantity]
            lacks = (at.state, f"never heard, wants {told_by}", "caution")
            yield ((3, name, "label"), (at.value, words.UNKNOWN, "unknown"), lacks)
        for number, entry in enumerate(entries):
            yield from _speaking(
                entry, sensor_words.value(quantity, entry.value, units, time), at, signs, width, number
            )


def _speaking(entry: SensorEntry, value: str, at: _Columns, signs: Signs, width: int, number: int) -> Iterator[Line]:
    """The lines of one speaker, the ``number``-th of its quantity; the first carries the quantity's name."""
    ink = "text" if entry.in_use or number == 0 else "label"
    wrong = entry.state is not SensorState.FRESH or bool(entry.suspect)
    look = "number" if entry.in_use and not wrong else "old" if number == 0 else "label"
    spans: list[Span] = [
        (3, sensor_words.NAMES[entry.quantity][0] if number == 0 else "", ink),
        (at.value, value, look),
        (at.state, "suspect" if entry.suspect else _STATES[entry.state], "caution" if wrong else ink),
    ]
    times = ((at.age, _seconds(entry.age_s)), (at.every, _every(entry)), (at.limit, _seconds(entry.timeout_s)))
    spans += [(end - len(text), text, ink) for end, text in times]
    room = width - at.source - 1
    who = next((form for form in _speaker(entry) if len(form) <= room), f"{entry.sentence} {entry.source}")
    spans.append((at.source, cut(who, room), ink))
    if entry.in_use:
        spans.append((1, signs.chosen, "number"))
    yield tuple(spans)
    if entry.suspect:
        yield ((at.value, cut(f"? {entry.suspect}", width - at.value - 1), "caution"),)


def _order(entry: SensorEntry) -> tuple[bool, bool, str, str]:
    return (not entry.in_use, entry.state is not SensorState.FRESH, entry.source, entry.sentence)


def _speaker(entry: SensorEntry) -> tuple[str, str]:
    """The speaker, with its sentence first because a source's name may be long; whole, and without its reference."""
    meant = {"magnetic": ", magnetic", "transducer": ", below the transducer", "keel": ", below the keel"}
    if len(entry.sentence) == 3 and len(entry.talker) <= 2:
        said = f"{entry.talker}{entry.sentence} {entry.source}"
    else:
        said = f"{entry.sentence} {entry.source}"
    who = f", {entry.talker}" if not said.startswith(entry.talker) else ""
    return f"{said}{meant.get(entry.reference, '')}{who}", said


def _seconds(value_s: float | None) -> str:
    return words.UNKNOWN if value_s is None else words.ago(math.ceil(max(value_s, 0.0) - 1e-6))


def _every(entry: SensorEntry) -> str:
    if entry.rate_hz is None:
        return words.UNKNOWN
    seconds = 1.0 / entry.rate_hz
    return f"{seconds:.1f}s" if seconds < 10 else words.ago(seconds)


# -- the sources ---------------------------------------------------------------------------------------------


def _sources(known: Known, width: int) -> Iterator[Line]:
    senses = known.senses
    if known.timing:
        yield from _paragraph(f"Times come from {known.timing}.", width, "text")
    statuses = {status.source: status for status in senses.statuses}
    reports = {report.source: report for report in senses.reports}
    if not statuses and not reports:
        yield ((1, "SOURCES", "label"), (10, "no source has sent anything yet", "text"))
    for name in dict.fromkeys((*statuses, *reports)):
        yield from _source(name, statuses.get(name), reports.get(name), senses.t_s, width)


def _source(
    name: str, status: SourceStatus | None, report: SourceReport | None, t_s: float, width: int
) -> Iterator[Line]:
    said, ink = "a recording", "text"
    if status is not None:
        ink = "text" if status.state in _WELL else "caution"
        baud = f" at {status.baud} baud" if status.baud else ""
        since = words.span(t_s - status.since_t_s)
        said = f"{status.text}{baud}, for {since}"
    yield ((1, "SOURCE", "label"), (8, name, "number"), (8 + len(name) + 2, cut(said, width - len(name) - 11), ink))
    if report is None:
        yield ((3, "no line yet", "caution"),)
        return
    used = _counts(report.accepted) or "nothing"
    yield from _paragraph(f"{report.lines} lines. Used: {used}.", width, "text", 3)
    if report.unused:
        yield from _paragraph(f"Read, not used: {_counts(report.unused)}.", width, "label", 3)
    failed = report.checksum_failures
    wrong = "" if failed is None else f"; {100 * failed:.1f} % wrong lately" if failed else "; none wrong lately"
    yield ((3, f"Checksums: {report.checksums.value}{wrong}.", "text"),)
    for cause, count in sorted(report.rejected.items(), key=lambda item: -item[1]):
        head = f"Refused, {cause.value}: {count}. Last: "
        last = sensor_words.sentence(report.last_rejected.get(cause, b""))
        yield ((3, head, "caution"), (3 + len(head), cut(last, width - 4 - len(head)), "text"))
    if report.bad_fields:
        head = f"Impossible fields: {report.bad_fields}. Last: "
        yield ((3, head, "caution"), (3 + len(head), cut(report.last_bad_field, width - 4 - len(head)), "text"))


def _counts(table: Mapping[str, int]) -> str:
    return ", ".join(f"{name} {count}" for name, count in sorted(table.items(), key=lambda item: (-item[1], item[0])))


def _paragraph(text: str, width: int, ink: str, x: int = 1) -> Iterator[Line]:
    yield from (((x, line, ink),) for line in wrapped(text, width - x - 1, 6))


class SensorText(Scrolled):
    """The page, from the runner's present knowledge."""

    def lines(self, width: int) -> list[Line]:
        controls = self.controls
        control = controls.runner.replay
        timing = control.status().timing if control is not None else ""
        known = Known(controls.runner.senses(), controls.picture, controls.runner.busy, timing)
        return page(known, controls.units, SIGNS[self.look.glyphs], width)


class SensorScreen(ScrolledScreen):
    """Every source and sensor. Rod keys still enter hits, and alerts still show on top."""

    words = "SENSORS"

    def body(self) -> ComposeResult:
        yield SensorText()
