"""The page of this trip's fit: the observations that count, the gain, what to observe next, and keeping it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen, ends
from sternwatch.console.words.text import wrapped
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from sternwatch.answers.belief.fit_report import FitReport, Learned, Next, ObservationFit, RodFit
    from sternwatch.watch.sessions.how_sure import Fitted, Kept

NOTHING = (
    "Nothing to fit yet. Enter whatever shows where a line really is: a rod that touched bottom ({key}), a rod "
    "seen on the sounder, a logger's depth, an angle, a pull. What you already know goes into the spread file, as "
    "[[known]]."
)
UNCALIBRATED = "No calibration is in use: the numbers come from books and experience."
_SENTENCE = 6
AGAIN_S = 8.0  # time for the second press that keeps it


@dataclass(frozen=True, slots=True)
class Known:
    """The data of the page."""

    fitted: Fitted | None
    calibration: str  # the name of the calibration in use; empty: none
    observations: int  # this trip's
    known: bool  # there are observations or known facts, so a fit is being made
    trouble: str = ""
    kept: Kept | None = None
    touched: str = "h"  # the key of "touched bottom"


def page(known: Known, units: DisplaySystem, width: int) -> list[Line]:
    """The lines of the page."""
    using = f"Calibration in use: {known.calibration}." if known.calibration else UNCALIBRATED
    made = _says(using, width, "text")
    if known.kept is not None:
        made += _says(f"{known.kept.name}: {known.kept.words}.", width, "number" if known.kept.saved else "caution")
    if known.trouble:
        made += _says(f"The fit failed: {known.trouble}", width, "caution")
    if known.fitted is None:
        text = "Working out the fit." if known.known else NOTHING.format(key=known.touched)
        return [*made, (), *_says(text, width, "state")]
    report = known.fitted.report
    used, all_ = len(known.fitted.fit.used), len(known.fitted.fit.observations)
    made += _says(f"{used} of {all_} observations are used.", width, "number")
    made += _doubts(report, units, width)
    made += [(), *_observed(report, units, width)]
    made += [(), *_rods(report, units)]
    if report.learned:
        made += [(), *_learned(report, width)]
    if report.next:
        made += [(), ((1, "WOULD HELP MOST NEXT", "state"),)]
        names = {rod.key: rod.name for rod in report.rods}
        for number, step in enumerate(report.next):
            made += _says(_next(step, names, units), width, "number" if number == 0 else "text")
    return made


def _says(text: str, width: int, ink: str, x: int = 1) -> list[Line]:
    return [((x, line, ink),) for line in wrapped(text, width - x - 1, _SENTENCE)]


def _doubts(report: FitReport, units: DisplaySystem, width: int) -> list[Line]:
    from sternwatch.answers.belief.observation_words import beyond_words, unclear_words, unlikely_words

    made: list[Line] = []
    for far in report.beyond:
        made += _says(f"Warning: {beyond_words(far)}", width, "caution")
    for rod in report.unlikely:
        made += _says(f"Warning: {unlikely_words(rod, units)}", width, "caution")
    for one in report.unclear:
        made += _says(f"{unclear_words(one, units)[:1].upper()}{unclear_words(one, units)[1:]}", width, "caution")
    return made


def _observed(report: FitReport, units: DisplaySystem, width: int) -> list[Line]:
    """Every observation with the values before and after the fit; unused ones with the reason."""
    value, error, before, after, off = (min(width - 2, 92) - back for back in (39, 30, 20, 9, 0))
    heads = ((value, "seen"), (error, "±"), (before, "believed"), (after, "fitted"), (off, "off"))
    made: list[Line] = [((1, "OBSERVED", "state"), *(ends(at, text, "label") for at, text in heads))]
    for row in report.observations:
        made += _observation(row, units, width, (value, error, before, after, off))
    return made


def _observation(row: ObservationFit, units: DisplaySystem, width: int, at: tuple[int, ...]) -> list[Line]:
    from sternwatch.answers.belief.observation_words import said_words, value_words

    one = row.one
    ink = "label" if not one.used else "caution" if row.disagrees else "text"
    name = f"{one.rod} {said_words(one)}"
    room = at[0] - 12
    values = (
        value_words(one.what, one.value, units), value_words(one.what, one.error, units, label=False),
        value_words(one.what, row.before, units, label=False), value_words(one.what, row.after, units, label=False),
        "–" if row.off is None else f"{row.off:+.1f}",
    )  # fmt: skip
    made: list[Line] = [
        (
            (1, name if len(name) <= room else f"{name[: room - 1]}…", ink),
            *(ends(x, text, ink) for x, text in zip(at, values, strict=True)),
        )
    ]
    if one.why:
        made += _says(f"not used: {one.why}", width, "label", 5)
    elif row.disagrees:
        made += _says("disagrees with all the others, so it hardly counts", width, "caution", 5)
    return made


def _rods(report: FitReport, units: DisplaySystem) -> list[Line]:
    pace = units.show(report.speed_m_s, Dimension.SPEED, 1)
    made: list[Line] = [
        ((1, f"DEPTHS AT {pace}, {units.label(Dimension.LENGTH)}", "state"), ends(42, "before", "label"),
         ends(60, "now", "label"))
    ]  # fmt: skip
    for rod in report.rods:
        before = _depth(rod.depth_before_m, rod.interval_before_m, units)
        after = _depth(rod.depth_after_m, rod.interval_after_m, units)
        narrower = _narrower(rod)
        made.append(
            (
                (1, f"{rod.key} {rod.name}", "number" if rod.observed else "text"),
                ends(42, before, "text"),
                ends(60, after, "number"),
                (62, narrower, "text"),
            )
        )
    return made


def _depth(value: float | None, interval: tuple[float, float] | None, units: DisplaySystem) -> str:
    shown = units.show(value, Dimension.LENGTH, label=False)
    if interval is None:
        return shown
    low, high = (units.show(max(end, 0.0), Dimension.LENGTH, label=False) for end in interval)
    return f"{shown} ({low}–{high})"


def _narrower(rod: RodFit) -> str:
    if rod.interval_before_m is None or rod.interval_after_m is None:
        return ""
    before, after = (high - low for low, high in (rod.interval_before_m, rod.interval_after_m))
    return f"{100.0 * after / before:.0f} % as wide" if before > 0.0 and after / before < 0.95 else ""


def _learned(report: FitReport, width: int) -> list[Line]:
    from sternwatch.gear.spread_file.uncertain_words import words

    made: list[Line] = [
        ((1, "LEARNED, ABOUT THE VALUE IN USE", "state"), ends(52, "before", "label"), ends(74, "now", "label"))
    ]
    for one in report.learned:
        name = words(one.name)
        room = min(34, width - 46)
        made.append(
            (
                (1, name if len(name) <= room else f"{name[: room - 1]}…", "text"),
                ends(52, f"{_value(one, one.before[0])}–{_value(one, one.before[2])}", "text"),
                ends(74, f"{_value(one, one.after[1])} ({_value(one, one.after[0])}–{_value(one, one.after[2])})",
                      "number"),
            )
        )  # fmt: skip
    return made


def _value(one: Learned, value: float) -> str:
    from sternwatch.answers.belief.observation_words import quantity_words

    return quantity_words(value, one.unit)


def _next(step: Next, names: dict[str, str], units: DisplaySystem) -> str:
    from sternwatch.answers.belief.observation_words import wanted_words

    before = units.show(step.own_before_m, Dimension.LENGTH, 1, label=False)
    after = units.show(step.own_after_m, Dimension.LENGTH, 1)
    return (
        f"{step.rod} {names.get(step.rod, '')}: {wanted_words(step.what, step.at)}. Its ±{before} would be ±{after}; "
        f"{100.0 * step.share:.0f} % less doubt over all rods."
    )


class FitText(Scrolled):
    """The page, and the key that keeps the calibration."""

    def __init__(self) -> None:
        super().__init__()
        self.pressed_s = -math.inf

    @property
    def hint(self) -> str:
        if self._fitted() is None:
            return ""
        again = self.watch_app.clock() - self.pressed_s < AGAIN_S
        return "Enter again: keep it" if again else "Enter twice: keep it"

    def _fitted(self) -> Fitted | None:
        knowing, picture = self.watch_app.runner.knowing, self.controls.picture
        return None if knowing is None or picture is None else knowing.fitted(picture)

    def keep(self) -> None:
        """Take Enter: a second press within a few seconds keeps the calibration."""
        knowing, fitted, now = self.watch_app.runner.knowing, self._fitted(), self.watch_app.clock()
        if knowing is None or fitted is None:
            self.controls.say("There is nothing to keep yet", now)
        elif now - self.pressed_s < AGAIN_S:
            self.pressed_s = -math.inf
            knowing.keep(fitted)
            self.controls.say(f"Keeping {fitted.fit.calibration.name}", now)
        else:
            self.pressed_s = now
            self.controls.say(f"Enter once more keeps {fitted.fit.calibration.name}", now)

    def lines(self, width: int) -> list[Line]:
        controls, knowing, picture = self.controls, self.watch_app.runner.knowing, self.controls.picture
        fitted = self._fitted()
        seen = 0 if picture is None else len(picture.observations)
        known = Known(
            fitted=fitted,
            calibration="" if picture is None else picture.calibration,
            observations=seen,
            known=knowing is not None and picture is not None and knowing.anything(picture),
            trouble="" if knowing is None else knowing.fit_trouble,
            kept=None if knowing is None else knowing.kept,
            touched=self.keymap.label(controls.keyboard, "touched") or "palette",
        )
        return page(known, controls.units, width)


class FitScreen(ScrolledScreen):
    """The fit over any session. Rod keys still enter hits."""

    words = "FIT"

    def body(self) -> ComposeResult:
        yield FitText()

    def key(self, token: str) -> bool:
        if token == "enter":
            self.query_one(FitText).keep()
            return True
        return super().key(token)
