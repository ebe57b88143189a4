"""The rods as rows, for screens narrower than a stern of columns."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sternwatch.console.paint.canvas import Grid
from sternwatch.console.paint.raster import line_ink
from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.model import Picture, RodPicture


@dataclass(frozen=True)
class _Field:
    """One column of the table: its heading, its width, and a rod's text in it."""

    head: str
    width: int
    right: bool
    say: Callable[[RodPicture], tuple[str, str]]  # text, ink


def paint_rows(grid: Grid, picture: Picture, rods: Sequence[RodPicture], units: DisplaySystem,
               signs: words.Signs, covered: int = 0) -> None:  # fmt: skip
    """Paint one row per rod, with sides apart where there is room. Columns that do not fit are left out whole.

    ``covered``: the lowest rows that something else covers. The headings go before a rod would lose its row.
    """
    fields = _fields(picture, units, signs)
    start = 14
    places = []
    x = start
    for field in fields:
        if x + field.width > grid.width - 9:
            break
        places.append((x, field))
        x += field.width + 1
    zone = words.zone(picture, units)
    headed = grid.height - covered > len(rods)
    if headed:
        for at, field in places:
            if field.right:
                grid.put_right(at + field.width, 0, field.head, "label")
            else:
                grid.put(at, 0, field.head, "label")
        mark = f"{signs.in_zone} {zone}"
        if zone and x + len(mark) <= grid.width:
            grid.put_right(grid.width, 0, mark, "zone word")
    y = 0
    before = None
    # A notice may come over the lowest row any time: rods should not move then.
    parted = grid.height - max(covered, 1) >= len(rods) + len({_side(rod) for rod in rods})
    for rod in rods:
        if headed and _side(rod) != before and (parted or before is None):
            if before is not None:
                grid.fill(start, y, grid.width - start, 1, signs.rule, "rule")
            grid.put(2, y, _side(rod) if parted else "ROD", "transom")
            y += 1
        before = _side(rod)
        ink = "chosen" if rod.chosen else "name"
        grid.fill(0, y, start - 1, 1, " ", ink)
        grid.put(0, y, signs.chosen if rod.chosen else " ", ink)
        grid.put(2, y, f"{rod.key} {rod.name}"[: start - 3], ink)
        line_ink_of, dash = line_ink(rod.key)
        grid.put(start - 1, y, signs.dashes[dash], line_ink_of)
        for at, field in places:
            text, text_ink = field.say(rod)
            text = text[: field.width]
            (grid.put_right(at + field.width, y, text, text_ink) if field.right else grid.put(at, y, text, text_ink))
        _remark(grid, x, y, picture, rod, units, signs)
        y += 1
    left = grid.height - covered - y
    if left >= _LEGEND_ROWS:
        lead = next((rod.lead_m for rod in picture.rods if rod.lead_m), None)
        _legend(grid, y + (left > _LEGEND_ROWS), units, signs, zone=bool(zone), lead_m=lead)


_LEGEND_ROWS = 2


def _legend(
    grid: Grid, y: int, units: DisplaySystem, signs: words.Signs, *, zone: bool, lead_m: float | None
) -> None:
    """Say what the short headings and the signs mean, where rows are left."""
    far = units.label(Dimension.LENGTH)
    grid.put(2, y, f"btm: {far} from the tackle to the bottom · next: {far} to the nearest line (whose)", "label")
    of_zone = f" · {signs.in_zone} in the zone, {signs.out_zone} outside" if zone else ""
    of_lead = f" · +{words.whole(lead_m, units)}: lead" if lead_m is not None else ""
    grid.put(2, y + 1, f"{signs.rising} rising, {signs.sinking} sinking · ~ known roughly{of_zone}{of_lead}", "label")


def _side(rod: RodPicture) -> str:
    """A rod's side in the words of the headings."""
    return rod.side.upper()


def _fields(picture: Picture, units: DisplaySystem, signs: words.Signs) -> list[_Field]:
    far, warm = units.label(Dimension.LENGTH), units.label(Dimension.TEMPERATURE)

    def first(forms: words.Forms, room: int) -> str:
        return next((form for form in forms if len(form) <= room), forms[-1])

    def number(text: str, ink: str = "text") -> tuple[str, str]:
        return text, "unknown" if text == words.UNKNOWN else ink

    decimals = 5 if units.length == "m" else 3
    return [
        _Field(far, decimals, True, lambda r: (words.rough(r, units, decimals), words.depth_ink(r))),
        _Field("within", 7, False, lambda r: number(words.interval(r, units) if r.depth_m is not None else "")),
        _Field("", 1, False, lambda r: (words.trend(r, signs)[-1], "number")),
        _Field("line out", 9, False, lambda r: number(first(words.line_out(r, units), 9))),
        _Field(units.label(Dimension.SPEED), 4, True, lambda r: number(words.speed(r.lure_speed_m_s, units))),
        _Field(warm, 6, False, lambda r: number(first(words.warmth(r, units, signs)[-2:], 6))),
        _Field("btm", 3, True, lambda r: number(words.room(r, units).lstrip("~"))),
        _Field("next", 6, False, lambda r: number(first(words.nearest(r, units)[-2:], 6))),
        _Field("hits", 6, False, lambda r: (first(words.hits(r, picture.t_s, signs)[3:], 6)
                                            if r.hits else "", "number")),
    ]  # fmt: skip


def _remark(grid: Grid, x: int, y: int, picture: Picture, rod: RodPicture, units: DisplaySystem,
            signs: words.Signs) -> None:  # fmt: skip
    """A remark where a rod is not simply fishing."""
    room = grid.width - x
    said = words.one_word(rod, words.worst_alert(picture, rod.key), units, signs) or words.wants_looking_at(rod)
    if said is None and words.ball_m(rod) is not None and room >= 8:
        grid.put(x + 1, y, words.ball_or_target(rod, units)[1], "label")
    if said is not None and room > 0:
        text = next((form for form in said.forms if len(form) <= room - 2), said.forms[-1][: room - 2])
        grid.fill(x, y, room, 1, " ", said.ink)
        grid.put(x + 1, y, text, said.ink)
