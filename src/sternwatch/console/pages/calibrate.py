"""The page for calibrating on purpose: rod, line, speed, bottom, the keys to press, and the gain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen
from sternwatch.console.words.text import wrapped
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.picture.model import Picture, RodPicture

if TYPE_CHECKING:
    from sternwatch.answers.season.purpose import Guide, Touch
    from sternwatch.watch.sessions.how_sure import Purpose

NO_BOTTOM = "The sounder shows no bottom now. A touch tells a depth only where it does: go there."
FREE = "Keep clear of nets, wrecks and snags that you know of. Take in at once when it ticks; gloves on, no wraps."
_PACE = 0.08  # a speed within this many m/s counts as right


@dataclass(frozen=True, slots=True)
class Now:
    """The data of the page. ``fell_m``: the fall of the bottom just passed; None where unknown."""

    picture: Picture
    purpose: Purpose
    guide: Guide | None
    touched: int
    fell_m: float | None
    flat: bool
    after_m: tuple[float, float] | None  # the interval after the fit; None before it is made
    key: str  # the key of "touched bottom"


def page(now: Now, units: DisplaySystem, width: int) -> list[Line]:
    """The lines of the page."""
    from sternwatch.answers.season.purpose import LASTS_S, TOUCHES

    picture, purpose = now.picture, now.purpose
    rod = next((one for one in picture.rods if one.key == purpose.key), None)
    name = purpose.key if rod is None else f"{rod.key} {rod.name}"
    left_min = max(0.0, LASTS_S - (picture.t_s - purpose.begun_s)) / 60.0
    made: list[Line] = [((1, f"CALIBRATE {name}", "state"),)]
    if now.touched >= TOUCHES:
        return made + _outcome(now, units, width)
    if left_min <= 0.0:
        late = f"The quarter of an hour is over with {now.touched} of {TOUCHES} touches. Enter begins again."
        return made + _says(late, width, "caution") + (_outcome(now, units, width) if now.touched else [])
    made += _says(f"Touch {now.touched + 1} of {TOUCHES}; {left_min:.0f} min left.", width, "number")
    if picture.bottom_m is None:
        return made + _says(NO_BOTTOM, width, "caution")
    made += _says(_bottom(now, units), width, "text" if now.flat else "caution")
    if now.guide is None:
        return made + _says("Working out how much line that takes.", width, "state")
    step = now.guide.touches[min(now.touched, TOUCHES - 1)]
    if step.line_out_m is None:
        depth = units.show(now.guide.bottom_m, Dimension.LENGTH, 0)
        return made + _says(
            f"This rod does not get down to {depth}: left and right choose another.", width, "caution"
        )
    made += [(), *_step(now, rod, step, units, width), (), *_says(FREE, width, "label")]
    return made


def _bottom(now: Now, units: DisplaySystem) -> str:
    depth = units.show(now.picture.bottom_m, Dimension.LENGTH, 0)
    if now.fell_m is None:
        return f"Bottom {depth} here; whether it is flat is not known yet: hold this course for a minute."
    fell = units.show(now.fell_m, Dimension.LENGTH, 0)
    if now.flat:
        return f"Bottom {depth} here, flat enough: it varied by {fell} along the way just passed."
    return f"Bottom {depth} here, not flat: it varied by {fell} along the way just passed. Touch where it is flat."


def _step(now: Now, rod: RodPicture | None, step: Touch, units: DisplaySystem, width: int) -> list[Line]:
    pace = units.show(step.speed_m_s, Dimension.SPEED, 1)
    line = units.show(step.line_out_m, Dimension.LENGTH, 0)
    speed = now.picture.own.speed_mean_m_s or now.picture.own.speed_m_s
    made = []
    if speed is None or abs(speed - step.speed_m_s) > _PACE:
        shown = "not known" if speed is None else units.show(speed, Dimension.SPEED, 1)
        made += _says(
            f"1. Go {pace} through the water, straight, for two minutes; it is {shown} now.", width, "number"
        )
    else:
        made += _says(f"1. {pace} through the water: as it is. Hold it, straight.", width, "text")
    out = "" if rod is None or rod.line_out_m is None else units.show(rod.line_out_m, Dimension.LENGTH, 0)
    beside = f" ({out} now)" if out else ""
    made += _says(f"2. Let out slowly: it should tick at about {line} out{beside}.", width, "number")
    made += _says(f"3. When it ticks, press {now.key}, then take in a little.", width, "number")
    return made


def _outcome(now: Now, units: DisplaySystem, width: int) -> list[Line]:
    before, after = now.purpose.interval_m, now.after_m
    if after is None:
        return _says("Working out what that taught.", width, "state")
    digits = 0 if units.length == "ft" else 1
    now_is = units.show(0.5 * (after[1] - after[0]), Dimension.LENGTH, digits)
    if before is None:
        return _says(f"Its depth at the length in the file is now known to ±{now_is}.", width, "number")
    was = units.show(0.5 * (before[1] - before[0]), Dimension.LENGTH, digits, label=False)
    return _says(
        f"As filed, at the usual speed: ±{was} became ±{now_is}. It goes into the season at the trip's end; the page "
        "fit says what was learned.", width, "number",
    )  # fmt: skip


def _says(text: str, width: int, ink: str) -> list[Line]:
    return [((1, line, ink),) for line in wrapped(text, width - 2, 8)]


class CalibrateText(Scrolled):
    """The page for a quarter of an hour, which starts when the page opens, and again with Enter."""

    @property
    def hint(self) -> str:
        return "← →: another rod · Enter: begin again"

    def begin(self) -> None:
        """Start now, with the chosen rod."""
        knowing, picture = self.watch_app.runner.knowing, self.controls.picture
        if knowing is not None and picture is not None and (key := self._key(picture)) is not None:
            knowing.begin_purpose(picture, key)

    def _key(self, picture: Picture) -> str | None:
        """The chosen rod, else the least certain one."""
        if self.controls.chosen is not None:
            return self.controls.chosen
        wide = {
            rod.key: rod.depth_interval_m[1] - rod.depth_interval_m[0] for rod in picture.rods if rod.depth_interval_m
        }
        return max(wide, key=lambda key: wide[key]) if wide else None

    def lines(self, width: int) -> list[Line]:
        from sternwatch.answers.season.purpose import fall_m, flat

        controls, knowing, picture = self.controls, self.watch_app.runner.knowing, self.controls.picture
        if knowing is None or picture is None:
            return [((1, "CALIBRATE", "state"),), *_says("There is no depth yet.", width, "state")]
        key = self._key(picture)
        if knowing.purpose is None or (key is not None and key != knowing.purpose.key):
            self.begin()
        purpose = knowing.purpose
        if purpose is None:
            return [((1, "CALIBRATE", "state"),), *_says("No rod is fishing: let one out first.", width, "state")]
        fell = fall_m(picture.bottom_track)
        touched = knowing.touched(picture)
        now = Now(
            picture, purpose, knowing.guide(picture), touched, fell,
            picture.bottom_m is not None and flat(picture.bottom_m, fell),
            knowing.purpose_interval(picture) if touched else None,
            self.keymap.label(controls.keyboard, "touched") or "the key of touched bottom",
        )  # fmt: skip
        return page(now, controls.units, width)


class CalibrateScreen(ScrolledScreen):
    """The page over any session. Rod keys still enter hits, and choose the rod."""

    words = "CALIBRATE"

    def body(self) -> ComposeResult:
        yield CalibrateText()

    def key(self, token: str) -> bool:
        if token == "enter":
            self.query_one(CalibrateText).begin()
            return True
        return super().key(token)
