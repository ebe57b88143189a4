"""The rods: columns across the stern where there is room, rows where there is not.

In columns the screen shows the stern from the helm: a bar for the transom, each rod below it in its place, and the
meaning of the rows once at the left. Both layouts take their words from ``rod_words``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from textual.geometry import Size

from sternwatch.console.helm.rod_rows import paint_rows
from sternwatch.console.paint import digits
from sternwatch.console.paint.canvas import Grid, Painted
from sternwatch.console.paint.look import Look
from sternwatch.console.paint.raster import swatch
from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.model import Picture, RodPicture

COLUMNS_FROM = 100  # from this width in cells on, rods are columns
_WIDEST = 26
_GUTTER = 3
_LEAST_GUTTER = 7  # cells from which the rows' names stand beside them; with fewer they stand below, in one line
_TALL = 44  # from this many terminal rows on, the board takes more of them

Forms = words.Forms


@dataclass(frozen=True)
class _Row:
    """One row of numbers below the depth: its names, longest first, and each rod's text in it."""

    names: Forms
    say: Callable[[RodPicture], words.Said]


class RodBoard(Painted):
    """Every rod of the spread, port to starboard."""

    def __init__(self, *, mirrored: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.mirrored = mirrored
        self._covered = 0

    def cover(self, rows: int) -> None:
        """Keep every rod out of the lowest ``rows`` rows, which something else covers."""
        if rows != self._covered:
            self._covered = rows
            self.repaint()

    def show(self, picture: Picture) -> None:
        before = self._picture
        if before is None or [rod.name for rod in picture.rods] != [rod.name for rod in before.rods]:
            self.refresh(layout=True)
        super().show(picture)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        """Rows wanted: one per rod, two headings and a notice if narrow; the transom, digits and numbers if wide."""
        rods = self._picture.rods if self._picture else ()
        count = len(rods) if self._picture else 8
        if width < COLUMNS_FROM:
            return count + 3
        tall = viewport.height >= _TALL
        scale = _scale(count, width, viewport.height)
        names = 1 + _stacked(rods, _column(count, width) - 1)
        legend = columns_of(count, width).gutter < _LEAST_GUTTER
        return 2 + names + digits.rows_of(scale) + 1 + (7 if tall else 5 if viewport.height >= 32 else 4) + 1 + legend

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        rods = words.across_stern(picture.rods, mirrored=self.mirrored)
        if not rods:
            grid.put(1, 0, "No rods in the spread.", "label")
        elif grid.width < COLUMNS_FROM:
            paint_rows(grid, picture, rods, self.units, words.SIGNS[look.glyphs], self._covered)
        else:
            _Columns(grid, picture, rods, self.units, look, mirrored=self.mirrored).paint()


def _stacked(rods: Sequence[RodPicture], inner: int) -> bool:
    """Whether a key stands above its name, because both do not fit side by side in every column."""
    return any(len(words.name_tab(rod)) > inner for rod in rods)


def _in_two(rod: RodPicture, inner: int) -> tuple[str, str]:
    """A tab of two lines. Where even the name is too long, its first word stands beside the key."""
    first, _, rest = rod.name.partition(" ")
    return (f"{rod.key} {first}", rest) if len(rod.name) > inner and rest else (rod.key, rod.name)


def _scale(count: int, width: int, height: int) -> int:
    """The scale of the digits: double where columns and screen are large enough."""
    column = _column(max(count, 1), width) - 1
    return 2 if column >= digits.width_of("199", 2) + 1 and height >= _TALL else 1


def _column(count: int, width: int) -> int:
    """Cells from one vertical rule to the next. Row names are in full where the columns stay wide enough."""
    for gutter, least in ((16, 13), (13, 12), (8, 11)):
        if (width - 1 - gutter) // count >= least:
            return min((width - 1 - gutter) // count, _WIDEST)
    return (width - 1 - _GUTTER) // count


@dataclass(frozen=True, slots=True)
class Columns:
    """The layout of the columns: the first vertical rule, the distance between rules, and the names' cells."""

    left: int
    column: int
    gutter: int


def columns_of(count: int, width: int) -> Columns:
    """The columns of ``count`` rods on ``width`` cells."""
    column = _column(count, width)
    used = column * count + 1
    gutter = min(width - used, 16)
    return Columns(gutter + max((width - used - gutter) // 2, 0), column, gutter)


def _large(text: str, scale: int, *, plain: bool) -> tuple[str, ...]:
    """Write a number in large signs, with small decimals after its foot."""
    head, point, tail = text.partition(".")
    lines = digits.big(head, scale, plain=plain)
    small = f"{point}{tail}"
    return tuple(line + (small if y == len(lines) - 1 else " " * len(small)) for y, line in enumerate(lines))


def _widest(signs: Sequence[Sequence[str]]) -> int:
    return max(len(line) for lines in signs for line in lines)


class _Columns:
    """One painting of the columns."""

    def __init__(self, grid: Grid, picture: Picture, rods: Sequence[RodPicture], units: DisplaySystem, look: Look,
                 *, mirrored: bool) -> None:  # fmt: skip
        self.grid, self.picture, self.rods, self.units = grid, picture, rods, units
        self.signs = words.SIGNS[look.glyphs]
        self.glyphs = look.glyphs
        self.plain = look.glyphs == "plain"
        self.mirrored = mirrored
        place = columns_of(len(rods), grid.width)
        self.column, self.gutter, self.left = place.column, place.gutter, place.left
        self.inner = self.column - 1
        self.pad = 1 if self.inner >= 9 else 0
        # Without the double digits a board is at most 16 rows high, whatever it is given.
        self.scale = 2 if self.inner >= digits.width_of("199", 2) + 1 and grid.height >= 17 else 1
        self.stacked = _stacked(rods, self.inner)

    def x(self, number: int) -> int:
        """The first inner cell of a column."""
        return self.left + 1 + number * self.column

    def paint(self) -> None:
        grid = self.grid
        self._transom(0)
        top = self._names_of_rods(1)
        self._words(top, [self._state(rod) for rod in self.rods], ("",))
        top += 1
        self._digits(top)
        self._gutter(top + digits.rows_of(self.scale) // 2, self._names("depth", Dimension.LENGTH))
        y = top + digits.rows_of(self.scale)
        self._certainty(y)
        y += 1
        told = self.gutter < _LEAST_GUTTER and grid.height > y + 3
        foot = grid.height - 1 - told
        rows = self._rows(foot - y)
        for row in rows:
            self._words(y, [row.say(rod) for rod in self.rods], row.names)
            y += 1
        self._foot(foot)
        self._rules(1, foot)
        if told:
            lead = f"Rows: {self._names('depth', Dimension.LENGTH)[0]}, 90 % within"
            forms = (", ".join((lead, *(row.names[min(n, len(row.names) - 1)] for row in rows))) for n in (0, 1))
            text = next((form for form in forms if len(form) < grid.width - 1), lead)
            grid.put(1, grid.height - 1, text, "label")

    def _names(self, name: str, dimension: Dimension, *short: str) -> Forms:
        unit = self.units.label(dimension)
        return (f"{name} {unit}", *(f"{s} {unit}" for s in short), unit)

    # The transom: the stern from the helm, with port and starboard shown by place and in words.

    def _transom(self, y: int) -> None:
        grid, start = self.grid, self.left
        width = self.column * len(self.rods) + 1
        grid.fill(start, y, width, 1, self.signs.heavy_rule, "transom")
        first, last = ("STARBOARD", "PORT") if self.mirrored else ("PORT", "STARBOARD")
        grid.put(start + 2, y, f" {first} ", "transom")
        grid.put_right(start + width - 2, y, f" {last} ", "transom")
        before = sum(rod.side == first.lower() for rod in self.rods)
        middle = sum(rod.side == "centre" for rod in self.rods)
        keel = self.left + self.column * before + (self.column * middle) // 2
        if 10 < keel - start < width - 15:
            grid.put_middle(keel - 4, y, 9, " STERN ", "transom")

    def _names_of_rods(self, y: int) -> int:
        """Write every rod's key and name as a tab; returns the next row."""
        fits = all(len(words.name_tab(rod)) <= self.inner - self.pad for rod in self.rods)
        pad = self.pad if fits or self.stacked else 0
        for number, rod in enumerate(self.rods):
            lines = _in_two(rod, self.inner) if self.stacked else (words.name_tab(rod),)
            ink = "chosen" if rod.chosen else "name"
            for row, text in enumerate(lines):
                self.grid.fill(self.x(number), y + row, self.inner, 1, " ", ink)
                self.grid.put(self.x(number) + pad, y + row, text[: self.inner - pad], ink)
        return y + 1 + self.stacked

    def _state(self, rod: RodPicture) -> words.Said:
        said = words.rod_state(rod, self.units, self.signs) or words.solver_state(rod)
        return said or words.Said(words.ball_or_target(rod, self.units), "label")

    def _digits(self, top: int) -> None:
        """Write the depths in the largest size in which all fit their columns; one size for all."""
        texts = [words.length(rod.depth_m, self.units) for rod in self.rods]
        signs = [_large(text, self.scale, plain=self.plain) for text in texts]
        rough = digits.tilded if self.plain and self.scale == 1 else digits.soft
        signs = [rough(lines) if rod.rough else lines for rod, lines in zip(self.rods, signs, strict=True)]
        if _widest(signs) > self.inner:
            # Quarter blocks are not plain characters: plain terminals show the number as text.
            signs = [self._narrow(rod, text) for rod, text in zip(self.rods, texts, strict=True)]
        if _widest(signs) > self.inner:
            signs = [("", text[: self.inner], "") for text in texts]
        field = min(self.pad + max(_widest(signs), digits.width_of("88", self.scale)), self.inner)
        for number, (rod, lines) in enumerate(zip(self.rods, signs, strict=True)):
            for offset, line in enumerate(lines):
                self.grid.put_right(self.x(number) + field, top + offset, line, words.depth_ink(rod))

    def _narrow(self, rod: RodPicture, text: str) -> tuple[str, ...]:
        """Write a depth in a column too narrow for filled signs. A sign precedes a rough value."""
        if self.plain:
            return ("", words.rough(rod, self.units, self.inner), "")
        lines = digits.narrow(text)
        if not rod.rough or _widest([lines]) >= self.inner:
            return lines
        return digits.tilded(lines)

    def _certainty(self, y: int) -> None:
        """Write the interval at the left; rising, sinking or the number's worth at the right."""
        trends = [words.trend(rod, self.signs) for rod in self.rods]
        roomy = max(len(forms[0]) for forms in trends) + len("100–140 ") <= self.inner - self.pad
        for number, (rod, forms) in enumerate(zip(self.rods, trends, strict=True)):
            x = self.x(number)
            worth = words.solver_state(rod)
            if worth is not None and words.rod_state(rod, self.units, self.signs) is not None:
                self._fitted(x, y, worth)
                continue
            within = words.interval(rod, self.units)
            self.grid.put(x + self.pad, y, within, "unknown" if within == words.UNKNOWN else "text")
            self.grid.put_right(x + self.inner - self.pad, y, forms[0 if roomy else -1], "number")
        self._gutter(y, ("90 % within", "within"))

    def _rows(self, room: int) -> list[_Row]:
        """The rows of numbers that fit. The least important are merged or left out first."""
        units, signs, t_s = self.units, self.signs, self.picture.t_s

        def plain(forms: Callable[[RodPicture], Forms], ink: str = "text") -> Callable[[RodPicture], words.Said]:
            return lambda rod: words.Said(forms(rod), ink)

        far = units.label(Dimension.LENGTH)
        line = _Row(self._names("line out", Dimension.LENGTH, "line"), plain(lambda r: words.line_out(r, units)))
        lure = _Row(self._names("lure speed", Dimension.SPEED, "lure"),
                    plain(lambda r: (words.speed(r.lure_speed_m_s, units),)))  # fmt: skip
        zone = words.zone(self.picture, units)
        marked = (f"temp, {signs.in_zone} {zone}", f"{signs.in_zone} {zone}") if zone else ()
        warm = _Row((*marked, *self._names("temperature", Dimension.TEMPERATURE, "temp")),
                    plain(lambda r: words.warmth(r, units, signs)))  # fmt: skip
        below = _Row((f"to bottom {far}", f"bottom {far}", f"{signs.bottom} {far}"),
                     plain(lambda r: words.room_below(r, units)))  # fmt: skip
        near = _Row((f"nearest {far}", f"{signs.nearest} {far}"), plain(lambda r: words.nearest(r, units)))
        # A letter for an arrow would be read as part of the word.
        joined = () if signs.plain else (f"{signs.bottom}bottom {signs.nearest}next",)
        both = _Row((f"bottom, next {far}", *joined,
                     f"{signs.bottom} btm {signs.nearest} next", f"{signs.bottom}btm {signs.nearest}nxt",
                     f"{signs.bottom} {signs.nearest} {far}"),
                    plain(lambda r: words.below_and_nearest(r, units, signs)))  # fmt: skip
        hits = _Row(("hits", "hit"), plain(lambda r: words.hits(r, t_s, signs), "number"))
        line_age = _Row(("line checked", "checked", "chk"), plain(lambda r: words.checked(r, t_s), "label"))
        if room >= 7:
            return [line, lure, warm, below, near, hits, line_age]
        if room == 6:
            return [line, lure, warm, both, hits, line_age]
        wide = self.inner - 2 * self.pad
        hits = _Row(("hits, checked", "hits, chk", "hits"),
                    plain(lambda r: words.hits_and_checked(r, t_s, signs, wide), "number"))  # fmt: skip
        return [line, lure, warm, both, hits] if room == 5 else [line, warm, both, hits][: max(room, 0)]

    def _words(self, y: int, said: Sequence[words.Said], names: Forms) -> None:
        """Write one row of words, all rods in the same form: the first that fits them all."""
        room = self.inner - 2 * self.pad
        longest = max(len(entry.forms) for entry in said)
        form = next(
            (f for f in range(longest) if all(len(e.forms[min(f, len(e.forms) - 1)]) <= room for e in said)), longest
        )
        for number, entry in enumerate(said):
            x = self.x(number)
            text = entry.forms[min(form, len(entry.forms) - 1)]
            if entry.ink in ("label", "text", "number"):
                self.grid.put(x + self.pad, y, text[:room], "unknown" if text == words.UNKNOWN else entry.ink)
            else:
                self._fitted(x, y, entry)
        self._gutter(y, names)

    def _fitted(self, x: int, y: int, said: words.Said) -> None:
        """A word as a tab that fills the column."""
        text = next((form for form in said.forms if len(form) <= self.inner - 2 * self.pad), said.forms[-1])
        self.grid.fill(x, y, self.inner, 1, " ", said.ink)
        self.grid.put(x + self.pad, y, text[: self.inner - self.pad], said.ink)

    def _gutter(self, y: int, names: Forms) -> None:
        fitting = next((name for name in names if len(name) <= self.gutter - 2), "")
        self.grid.put_right(self.left - 1, y, fitting, "label")

    def _foot(self, y: int) -> None:
        """Draw the lower border, in the look of the worst alert and with its word."""
        self.grid.fill(self.left, y, self.column * len(self.rods) + 1, 1, self.signs.rule, "rule")
        for number, rod in enumerate(self.rods):
            # Each rod's line as the views draw it: colour and dash are its own everywhere.
            self.grid.fill(self.x(number), y, self.inner, 1, " ", "rule")
            self.grid.put(self.x(number), y, *swatch(rod.key, self.inner, self.glyphs))
        for number, rod in enumerate(self.rods):
            alert = words.worst_alert(self.picture, rod.key)
            if alert is not None:
                forms = words.alert_words(alert)
                word = next((form for form in forms if len(form) <= self.inner), forms[-1])[: self.inner]
                ink = words.alert_ink(alert, band=True)
                self.grid.fill(self.x(number), y, self.inner, 1, " ", ink)
                self.grid.put_middle(self.x(number), y, self.inner, word, ink)
            elif (wants := words.wants_looking_at(rod)) is not None:
                text = next((form for form in wants.forms if len(form) <= self.inner - 2), wants.forms[-1])
                self.grid.put_middle(self.x(number), y, self.inner, f" {text} "[: self.inner], wants.ink)

    def _rules(self, top: int, bottom: int) -> None:
        """Draw vertical rules between columns: heavy beside the chosen rod, inked beside a rod with an alert."""
        for edge in range(len(self.rods) + 1):
            beside = [self.rods[n] for n in (edge - 1, edge) if 0 <= n < len(self.rods)]
            heavy = any(rod.chosen for rod in beside)
            alerts = [a for a in (words.worst_alert(self.picture, rod.key) for rod in beside) if a is not None]
            ink = words.alert_ink(alerts[0], band=False) if alerts else "number" if heavy else "rule"
            sign = self.signs.heavy_bar if heavy else self.signs.bar
            for y in range(top, bottom):
                self.grid.put(self.left + edge * self.column, y, sign, ink)
