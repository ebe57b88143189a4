"""The strip on top: the speed behind the depths, large; every sensor's value, source and age; clock and trip."""

from __future__ import annotations

import math
from dataclasses import dataclass

from textual.geometry import Size

from sternwatch.console.paint import digits
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.look import Look
from sternwatch.console.words import rods as words
from sternwatch.console.words import sensors as sensor_words
from sternwatch.console.words import speed as speed_words
from sternwatch.console.words.text import cut, wrapped
from sternwatch.feed.readings import Quantity, SensorState, SensorValue
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import BoatTime, h_mm_ss
from sternwatch.watch.picture.model import OwnBoat, Picture, SpeedSource

_HEIGHT = 3
_GAP = 2


@dataclass(frozen=True)
class _Cell:
    """One sensor on the strip: its name, value, source and age."""

    label: str
    value: str
    value_ink: str
    source: tuple[str, ...]  # longest form first
    source_ink: str

    def width(self, form: int) -> int:
        return max(len(self.label), len(self.value), len(self.source[min(form, len(self.source) - 1)]))


class TopStrip(Painted):
    """Speed, sensors, clock, trip."""

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return _HEIGHT

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        x = _speed(grid, picture, self.units, plain=look.glyphs == "plain")
        end = _clock(grid, picture, self.units)
        _cells(grid, x + _GAP, end - _GAP, cells(picture, self.units, short=grid.width < 100))


def _speed(grid: Grid, picture: Picture, units: DisplaySystem, *, plain: bool) -> int:
    """Write the speed behind the depths: the 15 s mean, the last minute's range, and its source."""
    own = picture.own
    mean = own.speed_mean_m_s if own.speed_mean_m_s is not None else own.speed_m_s
    text = words.speed(mean, units) if own.speed_source is not SpeedSource.NONE else words.UNKNOWN
    for y, line in enumerate(digits.big(text, plain=plain)):
        grid.put(1, y, line, "unknown" if text == words.UNKNOWN else "number")
    x = 1 + max(digits.width_of(text), digits.width_of("2.3")) + 1
    unit = units.label(Dimension.SPEED)
    first = "no speed" if own.speed_source is SpeedSource.NONE else f"{unit} {speed_words.kind(own)}"
    grid.put(x, 0, first, "caution" if own.speed_source is SpeedSource.NONE else "number")
    second = f"({_range(own, units)})" if own.speed_range_m_s else ""
    if second and grid.width >= 100:
        second += " last minute"
    quantity = Quantity.STW if own.speed_source is SpeedSource.THROUGH_WATER else Quantity.SOG
    forms, ink = _source(picture.sensors.get(quantity))
    if own.speed_source is SpeedSource.NONE:
        room = max(grid.width // 4, 22)
        why = wrapped(own.why_no_speed, room, 2)
        for row, line in enumerate(why, 1):
            grid.put(x, row, line, "text")
        return x + max(len(first), *map(len, why), 0)
    grid.put(x, 1, second, "text")
    said = speed_words.drives(own, units)
    third = said[0] if grid.width >= 120 else said[min(1, len(said) - 1)]
    source = forms[1] if len(forms) > 1 else forms[0]
    grid.put(grid.put(x, 2, f"{third} ", "label"), 2, source, ink)
    return x + max(len(first), len(second), len(third) + 1 + len(source))


def _range(own: OwnBoat, units: DisplaySystem) -> str:
    low, high = own.speed_range_m_s or (None, None)
    return f"{words.speed(low, units)}–{words.speed(high, units)}"


def _clock(grid: Grid, picture: Picture, units: DisplaySystem) -> int:
    """Write clock and trip at the right edge. The frame above shows the kind of session."""
    if picture.utc_s is None:
        clock, zone = h_mm_ss(picture.t_s), "since start"
    else:
        time = picture.clock(units)
        clock = f"{time.at(picture.utc_s):%H:%M:%S}"
        zone = f"{time.at(picture.utc_s):%a %d %b} {time.name(picture.utc_s)}"
    end = grid.width - 1
    left = grid.put_right(end, 0, cut(picture.trip, 18), "text")
    left = min(left, grid.put_right(end, 1, clock, "number"))
    if grid.width < 100:
        zone = zone.split(" ")[-1] if picture.utc_s is not None else zone
    return min(left, grid.put_right(end, 2, zone, "label"))


def cells(picture: Picture, units: DisplaySystem, *, short: bool = False) -> list[_Cell]:
    """Every sensor that a boat usually has, and any other heard; most wanted first."""
    driven = picture.own.speed_source is SpeedSource.THROUGH_WATER
    # Where a current is subtracted, the receiver's speed differs from the speed behind the depths.
    less = speed_words.kind(picture.own) == speed_words.LESS
    there = _at_probe(picture, units)
    boat: list[_Wanted] = [
        (Quantity.SOG, "SOG" if short else "OVER GROUND", driven or less),
        (Quantity.STW, "STW" if short else "THROUGH WATER", not driven),
        (Quantity.BOTTOM, "BOTTOM", True),
        (Quantity.WATER_TEMPERATURE, "SURFACE", True),
        (Quantity.COG, "COURSE", True),
        (Quantity.HEADING, "HEADING", True),
        (Quantity.PROBE_SPEED, f"SPEED {there}", False),
        (Quantity.PROBE_TEMPERATURE, f"TEMP {there}", False),
    ]
    rest: list[_Wanted] = [(Quantity.RATE_OF_TURN, "TURN", False), (Quantity.POSITION, "POSITION", True)]
    return [
        *_made(picture, boat, units), *_typed_speed(picture, units), *_zone(picture, units),
        *_made(picture, rest, units),
    ]  # fmt: skip


_Wanted = tuple[Quantity, str, bool]  # quantity, its label, whether it shows even before it is heard


def _made(picture: Picture, wanted: list[_Wanted], units: DisplaySystem) -> list[_Cell]:
    made = []
    for quantity, label, expected in wanted:
        sensor = picture.sensors.get(quantity)
        if expected or (sensor is not None and sensor.state is not SensorState.NEVER
                        and quantity not in (Quantity.SOG, Quantity.STW)):  # fmt: skip
            made.append(_cell(label, sensor, units, picture.clock(units)))
    return made


def _at_probe(picture: Picture, units: DisplaySystem) -> str:
    """The probe's depth, where it reports one."""
    below = picture.sensors.get(Quantity.PROBE_DEPTH)
    if below is None or below.state is not SensorState.FRESH or not isinstance(below.value, float | int):
        return "AT PROBE"
    return f"AT {words.whole(below.value, units)} {units.label(Dimension.LENGTH)}"


def _typed_speed(picture: Picture, units: DisplaySystem) -> list[_Cell]:
    """The newest speed read from a gauge at a depth; it is of the past, not the present."""
    read = picture.depth_speed
    if read is None:
        return []
    label = f"SPEED AT {words.whole(read.depth_m, units)} {units.label(Dimension.LENGTH)}"
    value = f"{words.speed(read.speed_m_s, units)} {units.label(Dimension.SPEED)}"
    age = words.ago(picture.t_s - read.t_s)
    return [_Cell(label, value, "old", (f"gauge, {age} ago", f"gauge {age}"), "label")]


def _zone(picture: Picture, units: DisplaySystem) -> list[_Cell]:
    """The wanted temperatures, and the rods that have them."""
    if not (shown := words.zone(picture, units)):
        return []
    known = [rod for rod in picture.rods if rod.in_zone is not None]
    there = words.across_stern(tuple(rod for rod in known if rod.in_zone))
    if not known:
        said: words.Forms = ("no rod's known", "not known")
    elif not there:
        said = ("no rod in it", "no rod")
    else:
        said = (f"in it {' '.join(rod.key for rod in there)}", f"{len(there)} of {len(picture.rods)} in it")
    return [_Cell(f"ZONE {picture.zone_name}".rstrip(), shown, "number", said, "label")]


def _cell(label: str, sensor: SensorValue | None, units: DisplaySystem, time: BoatTime) -> _Cell:
    forms, ink = _source(sensor)
    if sensor is None or sensor.value is None:
        return _Cell(label, words.UNKNOWN, "unknown", forms, ink)
    if sensor_words.lost(sensor):
        return _Cell(
            label, "lost", "caution", (f"? {sensor.suspect}", "suspect") if sensor.suspect else forms, "caution"
        )
    shown = sensor_words.value(sensor.quantity, sensor.value, units, time)
    if sensor.state is not SensorState.FRESH:
        return _Cell(label, shown, "old", forms, ink)
    if sensor.suspect:
        return _Cell(label, f"{shown} ?", "caution", (f"? {sensor.suspect}", "suspect"), "caution")
    return _Cell(label, shown, "number", forms, ink)


def _source(sensor: SensorValue | None) -> tuple[tuple[str, ...], str]:
    """A value's source and age, or what is wrong with it."""
    if sensor is None or sensor.state is SensorState.NEVER:
        return ("never heard", "never"), "label"
    age = "" if sensor.age_s is None else words.ago(math.ceil(max(sensor.age_s, 1.0)))
    if sensor.state is SensorState.SILENT:
        return (f"{sensor.source} silent {age}", f"silent {age}"), "caution"
    if sensor.state is SensorState.NONE:
        return (f"{sensor.source} no value {age}", f"no value {age}", f"none {age}"), "caution"
    whole = (f"{sensor.source} {sensor.sentence} {age}", f"{sensor.sentence} {age}", age)
    return tuple(" ".join(form.split()) for form in whole), "label"


def _cells(grid: Grid, start: int, end: int, wanted: list[_Cell]) -> None:
    """As many sensors as fit, most wanted first, each with the longest form of its source that fits."""
    room = end - start
    # As many as fit in the shortest form; then the longest form that loses none of the first five.
    fitting = [_fitting(wanted, form, room) for form in range(3)]
    most = len(fitting[-1])
    form = next(form for form in range(3) if len(fitting[form]) >= (most if form == 0 else min(most, 5)))
    shown = fitting[form]
    if not shown:
        return
    spare = (room - _needed(shown, form)) // len(shown)
    x = start
    for cell in shown:
        grid.put(x, 0, cell.label, "label")
        grid.put(x, 1, cell.value, cell.value_ink)
        width = cell.width(form) + min(spare, 4)
        source = next((text for text in cell.source if len(text) <= width), cell.source[-1])
        grid.put(x, 2, source, cell.source_ink)
        x += width + _GAP


def _fitting(wanted: list[_Cell], form: int, room: int) -> list[_Cell]:
    shown = list(wanted)
    while shown and _needed(shown, form) > room:
        shown.pop()
    return shown


def _needed(shown: list[_Cell], form: int) -> int:
    return sum(cell.width(form) for cell in shown) + _GAP * max(len(shown) - 1, 0)
