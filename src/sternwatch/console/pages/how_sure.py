"""The page on how sure a rod's depth is, and on the parts of its ±, in words and bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import ComposeResult

from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen
from sternwatch.console.keys.acting import Keyboard
from sternwatch.console.pages.fit import UNCALIBRATED
from sternwatch.console.paint.look import Glyphs
from sternwatch.console.words import speed as speed_words
from sternwatch.console.words.text import wrapped
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.model import Picture, RodPicture

if TYPE_CHECKING:
    from sternwatch.answers.belief.attribution import Attribution

_SENTENCE = 6  # the most lines of one sentence
_WHAT, _BAR = 34, 50  # most cells of a part's name, and cells of a full bar
_LEAST = 0.005  # smaller shares are summed up
_FULL: dict[Glyphs, str] = {"braille": "█", "block": "█", "plain": "#"}


def page(
    picture: Picture | None,
    rod: RodPicture | None,
    found: Attribution | None,
    units: DisplaySystem,
    width: int,
    glyphs: Glyphs,
    trouble: str = "",
) -> list[Line]:
    """The lines of the page for one rod. ``found`` None: it is not ready, or there is nothing to compute."""
    if picture is None or rod is None:
        return [((1, "No picture yet.", "state"),)]
    made: list[Line] = [((1, f"{rod.key} {rod.name}", "number"),)]
    if rod.depth_m is None:
        return [*made, *_says(f"No depth now: {rod.why_no_depth or 'nothing is known of it'}.", width, "text")]
    made += _says(_now(rod, units), width, "text")
    made += _calibrated(picture, width)
    made.append(())
    if found is None:
        text = f"It could not be worked out: {trouble}" if trouble else "Working out what this is made of."
        return [*made, *_says(text, width, "caution" if trouble else "state")]
    if found.off_m is None:
        return [*made, *_says(f"It is not known what this is made of: {found.why}.", width, "caution")]
    made += _parts(found, units, width, glyphs)
    made += [(), *_speed(picture, units, width)]
    from sternwatch.answers.belief.attribution import advice

    if said := advice(found, units):
        made += [(), *_says(said, width, "number")]
    return made


def _says(text: str, width: int, ink: str) -> list[Line]:
    return [((1, line, ink),) for line in wrapped(text, width - 2, _SENTENCE)]


def _now(rod: RodPicture, units: DisplaySystem) -> str:
    depth = units.show(rod.depth_m, Dimension.LENGTH)
    if rod.depth_interval_m is None:
        return f"At {depth}; how sure that is, is not known."
    low, high = (units.show(value, Dimension.LENGTH, label=False) for value in rod.depth_interval_m)
    return f"At {depth}; nine times in ten between {low} and {high} {units.label(Dimension.LENGTH)}."


def _calibrated(picture: Picture, width: int) -> list[Line]:
    """The calibration behind the coefficients."""
    if picture.calibration:
        return _says(f"Calibrated: {picture.calibration}.", width, "text")
    return _says(UNCALIBRATED, width, "text")


def _parts(found: Attribution, units: DisplaySystem, width: int, glyphs: Glyphs) -> list[Line]:
    from sternwatch.answers.belief.attribution import sentence

    pace = units.show(found.speed_m_s, Dimension.SPEED, 1)
    said = f"On a straight course at {pace}: ±{_off(found.off_m, units)} {units.label(Dimension.LENGTH)}. "
    made = _says(said + sentence(found), width, "number")
    made.append(())
    room = min(_WHAT, width - 26)
    numbers = room + 3
    cells = min(_BAR, width - numbers - 17)
    heads = ("ALONE", "SHARE")
    made.append(
        (
            (1, "WHAT", "label"),
            (numbers + 6 - len(heads[0]), heads[0], "label"),
            (numbers + 13 - len(heads[1]), heads[1], "label"),
        )
    )
    rest = 0.0
    for part in found.parts:
        if part.share < _LEAST:
            rest += part.share
            continue
        made.append(_row(part.what, _off(part.off_m, units), part.share, (room, numbers, cells), glyphs))
    if rest >= _LEAST:
        made.append(_row("all the rest", "", rest, (room, numbers, cells), glyphs))
    made += [(), *_says("Alone: the ± if only this were unknown. Share: its part of the whole ±.", width, "label")]
    return made


def _row(what: str, off: str, share: float, at: tuple[int, int, int], glyphs: Glyphs) -> Line:
    room, numbers, cells = at
    name = what if len(what) <= room else f"{what[: room - 1]}…"
    bar = _FULL[glyphs] * round(max(share, 0.0) * cells)
    percent = f"{100.0 * share:.0f} %"
    alone = f"±{off}" if off else ""
    return (
        (1, name, "text"),
        (numbers + 6 - len(alone), alone, "number"),
        (numbers + 13 - len(percent), percent, "text"),
        (numbers + 15, bar, "number"),
    )


def _off(value_m: float | None, units: DisplaySystem) -> str:
    shown = units.show(value_m, Dimension.LENGTH, 0 if units.length == "ft" else 1, label=False)
    return shown if shown.strip("0.") else units.show(value_m, Dimension.LENGTH, 1, label=False)


def _speed(picture: Picture, units: DisplaySystem, width: int) -> list[Line]:
    """How well the speed is known, and what would improve that."""
    made: list[Line] = []
    for text in speed_words.sentences(picture.own, units):
        made += _says(text, width, "text")
    return made


class SureText(Scrolled):
    """The page of the chosen rod."""

    @property
    def hint(self) -> str:
        return "← →: another rod" if self.controls.keyboard is Keyboard.HELM else "a rod's key: that rod"

    def lines(self, width: int) -> list[Line]:
        controls, knowing = self.controls, self.watch_app.runner.knowing
        picture = controls.picture
        across = controls.across()
        rod = controls.rod(controls.chosen) or (across[0] if across else None)
        found = None
        if knowing is not None and picture is not None and rod is not None:
            found = knowing.parts(picture, rod.key)
        trouble = "" if knowing is None else knowing.trouble
        return page(picture, rod, found, controls.units, width, self.look.glyphs, trouble)


class SureScreen(ScrolledScreen):
    """The page over any session. Rod keys still enter hits, and choose the rod."""

    words = "HOW SURE"

    def body(self) -> ComposeResult:
        yield SureText()
