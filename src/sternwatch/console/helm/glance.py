"""The glance: what matters most, as large as possible, to read from two metres in passing."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from textual.app import ComposeResult

from sternwatch.console.frame.alerts_area import AlertsArea
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.digits import big, rows_of, scale_for, soft, tilded, width_of
from sternwatch.console.paint.look import Look
from sternwatch.console.words import outlook as outlook_words
from sternwatch.console.words import rods as words
from sternwatch.console.words import sensors as sensor_words
from sternwatch.console.words import speed as speed_words
from sternwatch.console.words.text import wrapped
from sternwatch.feed.readings import Quantity, SensorState, SensorValue
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.again.steering import ENDS, PASS_ENDS, Said, said
from sternwatch.watch.picture.model import HitPicture, OwnBoat, Picture, RodPicture, SpeedSource

FEED_OLD_S = 3.0
_LEAST_GAP = 2  # cells between rods where there is no room for more
_MOST_AIR = 4  # further blank rows between groups of rows
_CELLS = (24, 14, 10)  # cells wanted by a rod: for name and state, for its state, for its key alone
NOTICE_ROWS = 2  # rows kept free at the foot
_LARGEST = 6
LARGE_TABS_FROM = 3


@dataclass(frozen=True, slots=True)
class Plan:
    """The layout of the glance: the scale of the signs, rods per row, rows of rods, and blank rows between."""

    scale: int
    per_row: int
    rod_rows: int
    gap: int
    together: bool  # bottom and temperature are in the row of the speed
    tab_rows: int = 1  # rows of a rod's key and state: large signs only where the depths are still larger
    water_scale: int = 1  # scale of bottom and temperature, which shrink first

    @property
    def rod_height(self) -> int:
        """Rows of one rod with the blank ones below it."""
        return self.tab_rows + rows_of(self.scale) + self.gap

    @property
    def height(self) -> int:
        water = 0 if self.together else rows_of(self.water_scale) + self.gap
        return rows_of(self.scale) + self.gap + self.rod_rows * self.rod_height + water + 1


def gap_of(scale: int) -> int:
    """Cells between two rods' numbers: over twice those within a number, so that each stands apart."""
    return 2 * scale + 1


def plan(width: int, height: int, screen_rows: int, depths: list[str]) -> Plan:
    """The largest layout that fits ``width`` × ``height`` cells on a screen of ``screen_rows`` rows.

    Signs are at least an eighth of the screen's height where they fit, else the largest possible. Beyond that, space
    between the rows and large names come before still larger signs.
    """
    count = max(len(depths), 1)
    least = scale_for(math.ceil(screen_rows / 8))
    tried: list[tuple[tuple[int, ...], Plan]] = []
    for scale in range(max(_LARGEST, least), 0, -1):
        widest = max(width_of(text, scale) for text in (*depths, "88"))
        tabs = (rows_of(1), 1) if scale >= LARGE_TABS_FROM else (1,)
        waters = range(scale, 0, -1)
        gaps = (gap_of(scale), _LEAST_GAP)
        for roomy, together, tab_rows, water, gap, gap_x in itertools.product(
            _CELLS, (False, True), tabs, waters, (1, 0), gaps
        ):
            cell = max(widest + gap_x, roomy)
            rod_rows = math.ceil(count / max(min(count, (width + gap_x) // cell), 1))
            made = Plan(scale, math.ceil(count / rod_rows), rod_rows, gap, together, tab_rows, water)
            wide = not together or width >= 4 * (width_of("88.8", scale) + 12)
            if wide and made.height <= height and made.per_row * cell <= width + gap_x:
                rank = (
                    min(scale, least),
                    min(water, least),
                    gap_x > _LEAST_GAP,
                    roomy > _CELLS[-1],
                    gap,
                    tab_rows,
                    scale,
                    water,
                    not together,
                    roomy,
                )
                tried.append((rank, made))
    if not tried:
        per_row = max(min(count, width // _CELLS[-1]), 1)
        return Plan(1, per_row, math.ceil(count / per_row), 0, False, 1, 1)
    return max(tried, key=lambda ranked: ranked[0])[1]


class GlanceBoard(Painted):
    """Speed, turning, every rod, bottom, surface temperature or the course to steer, last hit, the feed's age."""

    def __init__(
        self, *, mirrored: bool = False, steered: Callable[[], Said | None] = lambda: None, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.mirrored, self.steered = mirrored, steered

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        rods = words.across_stern(picture.rods, mirrored=self.mirrored)
        depths = [words.length(rod.depth_m, self.units) for rod in rods]
        layout = plan(grid.width - 2, grid.height - NOTICE_ROWS, self.screen.size.height, depths)
        numbers, plain = rows_of(layout.scale), look.glyphs == "plain"
        half = grid.width // (4 if layout.together else 2)
        _speed(grid, picture.own, self.units, (1, 0), layout.scale, plain=plain)
        _turning(grid, picture, (1 + half, 0), layout.scale, half - 2, plain=plain)
        # Spread the remaining rows between the parts; leave no blank foot.
        sections = 1 + layout.rod_rows + (not layout.together)
        air = min(max(grid.height - NOTICE_ROWS - layout.height, 0) // sections, _MOST_AIR)
        y = 0
        if layout.together:
            self._water(grid, picture, (1 + 2 * half, 0), half, layout.water_scale, plain=plain)
        y += numbers + layout.gap + air
        column = (grid.width - 2) // max(layout.per_row, 1)
        signs = words.SIGNS[look.glyphs]
        large = not plain and all(_large_name(rod) <= column - 1 for rod in rods)  # one size of names for all rods
        nothing = words.Said(("",), "label")
        worded = [
            words.one_word(rod, words.worst_alert(picture, rod.key), self.units, signs) or nothing for rod in rods
        ]
        if layout.tab_rows == 1:
            worded = _alike(rods, worded, column - 1)
        for number, (rod, depth, word) in enumerate(zip(rods, depths, worded, strict=True)):
            row, place = divmod(number, layout.per_row)
            at = (1 + place * column, y + row * (layout.rod_height + air))
            if place:
                for line in range(layout.tab_rows + rows_of(layout.scale)):
                    grid.put(at[0] - 1, at[1] + line, signs.bar, "rule")
            _rod(grid, rod, depth, at, (column - 1, layout, large), word, signs)
        y += layout.rod_rows * (layout.rod_height + air)
        if not layout.together:
            self._water(grid, picture, (1, y), half, layout.water_scale, plain=plain)
            y += rows_of(layout.water_scale) + layout.gap + air
        self._foot(grid, picture, y)

    def _water(
        self, grid: Grid, picture: Picture, at: tuple[int, int], step: int, scale: int, *, plain: bool
    ) -> None:
        x, y = at
        bottom = words.whole(picture.bottom_m, self.units)
        lost = sensor_words.lost(picture.sensors.get(Quantity.BOTTOM))
        lower = ("BOTTOM", "lost" if lost else self.units.label(Dimension.LENGTH), "")
        _number(grid, bottom, at, scale, lower, plain=plain)
        if (told := self.steered()) is not None:  # more pressing than the surface's temperature
            beside = (f"STEER · {told.end}", told.off, told.turn)
            _number(grid, told.course.rstrip("°"), (x + step, y), scale, beside, plain=plain)
            return
        warmth = _fresh(picture.sensors.get(Quantity.WATER_TEMPERATURE))
        text = words.temperature(warmth, self.units)
        _number(
            grid, text, (x + step, y), scale, ("SURFACE", self.units.label(Dimension.TEMPERATURE), ""), plain=plain
        )

    def _foot(self, grid: Grid, picture: Picture, y: int) -> None:
        hit = _last_hit(picture)
        x = grid.put(1, y, "LAST HIT  ", "label")
        grid.put(x, y, "none" if hit is None else self._hit_words(picture, hit), "number" if hit else "label")
        if old := feed_age(picture):
            grid.put_right(grid.width - 1, y, f" {old} ", "caution band")

    def _hit_words(self, picture: Picture, hit: HitPicture) -> str:
        rod = next((rod for rod in picture.rods if rod.key == hit.rod), None)
        name = f"{rod.key} {rod.name}" if rod else f"{hit.rod}"
        depth = words.length(hit.depth_m, self.units)
        where = f" at {depth} {self.units.label(Dimension.LENGTH)}" if hit.depth_m is not None else ""
        fish = f", {hit.species}" if hit.species else ""
        return f"{name}  {words.span(picture.t_s - hit.t_s)} ago{where}, {hit.state}{fish}"


def _number(
    grid: Grid, text: str, at: tuple[int, int], scale: int, beside: tuple[str, str, str], *, plain: bool
) -> None:
    """Write a large number with up to three lines of small words beside it."""
    x, y = at
    for row, signs in enumerate(big(text, scale, plain=plain)):
        grid.put(x, y + row, signs, "unknown" if text == words.UNKNOWN else "number")
    start = x + width_of(text, scale) + 2
    for row, line in enumerate(beside):
        grid.put(start, y + row, line, "label" if row == 0 else "text")


def _speed(grid: Grid, own: OwnBoat, units: DisplaySystem, at: tuple[int, int], scale: int, *, plain: bool) -> None:
    unit = units.label(Dimension.SPEED)
    if own.speed_source is SpeedSource.NONE:
        why = [*wrapped(own.why_no_speed, grid.width // 2 - 12, 2), "", ""]
        _number(grid, words.UNKNOWN, at, scale, ("NO SPEED", why[0], why[1]), plain=plain)
        return
    mean = own.speed_mean_m_s if own.speed_mean_m_s is not None else own.speed_m_s
    low_high = ""
    if own.speed_range_m_s is not None:
        low, high = own.speed_range_m_s
        low_high = f"({words.speed(low, units)}–{words.speed(high, units)})"
    _number(grid, words.speed(mean, units), at, scale, (speed_words.kind(own).upper(), unit, low_high), plain=plain)


def _turning(grid: Grid, picture: Picture, at: tuple[int, int], scale: int, cells: int, *, plain: bool) -> None:
    """The present rate against the limit of its side; on a straight course against both limits. In ``cells``."""
    rate = picture.own.rate_of_turn_deg_s
    if rate is None:
        text, head, unit = words.UNKNOWN, "TURNING", "not known"
    elif abs(rate) < outlook_words.STRAIGHT_DEG_S:
        text, head, unit = "0", "TURNING", "degrees per 10 s, straight"
    else:
        text = f"{abs(rate) * 10:.0f}"
        head, unit = f"TURNING to {'STARBOARD' if rate > 0 else 'PORT'}", "degrees per 10 s"
    beside = width_of(text, scale) + 2
    most = _most(picture, cells - beside)
    _number(grid, text, at, scale, (head, unit, most), plain=plain)
    if outlook_words.over_limit(picture):
        grid.put(at[0] + beside, at[1] + 2, f" {most} ", "warning band")


def _most(picture: Picture, room: int) -> str:
    """The fastest turn within the risk in ``room`` cells, to the side to which she turns, or to either."""
    limits = picture.ahead.limits if picture.ahead is not None else None
    if limits is None:
        return "limit not known yet"
    mine = outlook_words.limit_of(picture)
    sides = (limits.port, limits.starboard) if mine is None else (mine,)
    rates = [words.UNKNOWN if limit.rate_deg_s is None else f"{10 * limit.rate_deg_s:.0f}" for limit in sides]
    risk = f"{100 * limits.risk:.0f} %"
    if mine is not None:
        return f"at most {rates[0]}, risk {risk}"
    port, starboard = rates
    forms = (
        f"at most port {port}, starboard {starboard} (risk {risk})",
        f"port {port}, starboard {starboard}, risk {risk}",
        f"at most P {port} S {starboard}, risk {risk}",
    )
    return next((form for form in forms if len(form) <= room), forms[-1])


def _rod(
    grid: Grid,
    rod: RodPicture,
    depth: str,
    at: tuple[int, int],
    room: tuple[int, Plan, bool],
    said: words.Said,
    signs: words.Signs,
) -> None:
    """Write a rod's key, name and word, and below them its depth in large signs."""
    x, y = at
    width, layout, large = room
    scale = layout.scale
    if layout.tab_rows > 1:
        end = _large_tab(grid, rod, (x, y), large=large, plain=signs.plain)
        if not large:
            grid.put(end, y, rod.name[: max(x + width - end, 0)], "chosen" if rod.chosen else "name")
    else:
        name = _small_name(rod, said, width)
        gap = int(len(name) + len(said.forms[0]) < width)  # the whole word rather than a blank before it
        ink = "chosen" if rod.chosen else "name"
        if rod.chosen and not layout.gap:  # a dark tab would run into the strokes above and below it
            name, ink = f"{signs.chosen}{name[1:]}", "name"
        end = grid.put(x, y, name, ink) + gap
    left = x + width - end
    text = next((form for form in said.forms if len(form) <= left), said.forms[-1][: max(left, 0)])
    grid.put(end, y + layout.tab_rows // 2, text, said.ink)
    top = y + layout.tab_rows
    signs_of = big(depth, scale, plain=signs.plain)
    if rod.rough:
        signs_of = tilded(signs_of) if signs.plain and scale == 1 else soft(signs_of)
    for row, line in enumerate(signs_of):
        grid.put(x, top + row, line, words.depth_ink(rod))
    trend = words.trend(rod, signs)[-1]
    if trend and depth != words.UNKNOWN and width_of(depth, scale) + 2 < width:
        grid.put(x + width_of(depth, scale) + 1, top, trend, "text")


def _small_name(rod: RodPicture, said: words.Said, width: int) -> str:
    """Key and name, or the key alone where the word beside it would have no room."""
    name = f" {rod.key} {rod.name} "
    return name if len(name) + len(said.forms[-1]) <= width else f" {rod.key} "


def _alike(rods: Sequence[RodPicture], said: Sequence[words.Said], width: int) -> list[words.Said]:
    """The words beside small names: the same word has the same form at every rod, however long its name is."""
    shortest: dict[words.Forms, int] = {}
    for rod, word in zip(rods, said, strict=True):
        left = width - len(_small_name(rod, word, width))
        fits = next((n for n, form in enumerate(word.forms) if len(form) <= left), len(word.forms) - 1)
        shortest[word.forms] = max(shortest.get(word.forms, 0), fits)
    return [words.Said(word.forms[shortest[word.forms] :], word.ink) for word in said]


_STATE_ROOM = 14


def _large_name(rod: RodPicture) -> int:
    """The cells of key and name in large signs, with room for a word after them."""
    return width_of(f"{rod.key} {rod.name}") + 5 + _STATE_ROOM


def _large_tab(grid: Grid, rod: RodPicture, at: tuple[int, int], *, large: bool, plain: bool) -> int:
    """Write the key, and the name where all fit, in large signs. Returns the next x.

    The chosen rod's name is inverted, large or small. A bar beside the key would read as a digit: 11 for 1.
    """
    x, y = at
    text = f"{rod.key} {rod.name}" if large else rod.key
    inverted = rod.chosen and large
    if inverted:
        grid.fill(x + 2, y, width_of(text) + 2, rows_of(1), " ", "chosen")
    for row, line in enumerate(big(text, plain=plain)):
        grid.put(x + 3, y + row, line, "chosen" if inverted else "number" if rod.chosen else "text")
    return x + width_of(text) + 5


def _last_hit(picture: Picture) -> HitPicture | None:
    counted = [hit for hit in picture.hits if hit.rod is not None and not hit.doubtful and hit.state != "no fish"]
    return counted[-1] if counted else None


def _fresh(sensor: SensorValue | None) -> float | None:
    if sensor is None or sensor.state is not SensorState.FRESH or not isinstance(sensor.value, float | int):
        return None
    return float(sensor.value)


def feed_age(picture: Picture) -> str:
    """The age of the newest value from the boat where it is not fresh; else ""."""
    ages = [sensor.age_s for sensor in picture.sensors.values() if sensor.age_s is not None]
    if not ages:
        return "no feed yet"
    return f"feed {words.span(min(ages))} old" if min(ages) > FEED_OLD_S else ""


class GlanceScreen(WatchScreen):
    """The glance screen."""

    words = "GLANCE"

    @property
    def notice_rows(self) -> int:
        return NOTICE_ROWS

    def body(self) -> ComposeResult:
        units = self.watch_app.controls.units
        yield AlertsArea(units=units)
        yield GlanceBoard(units=units, mirrored=self.watch_app.preferences.mirror, steered=self._steered)

    def _steered(self) -> Said | None:
        """How to steer on a way of *again* or of a pass; None where none is steered."""
        controls = self.watch_app.controls
        for by, ends in ((controls.runner.again, ENDS), (controls.runner.passing, PASS_ENDS)):
            if by is not None and by.bar and by.steering is not None:
                return said(by.steering, controls.units, ends)
        return None
