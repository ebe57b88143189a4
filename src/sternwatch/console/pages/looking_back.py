"""Plays a finished practice again: the true lines, moment by moment, with mistakes on a timeline."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar, Final

from textual.app import ComposeResult
from textual.containers import Horizontal

from sternwatch.console.frame.alerts_area import WorstAlert
from sternwatch.console.frame.bars import ControlsPainted
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.helm.views import PlanView, SideView
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.words.text import wrapped
from sternwatch.local_time import m_ss
from sternwatch.practice.sessions.mistake_words import instead, said
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions.runner import Runner

if TYPE_CHECKING:
    from sternwatch.practice.sessions.kept import Moment
    from sternwatch.practice.sessions.runner import LookingBack

STEP_S: Final = 5.0
FAST: Final = 5.0  # seconds of the drill per second of playing
LEAD_S: Final = 10.0  # playing starts this long before a mistake's cause
_BARS: Final = " ▁▂▃▄▅▆▇█"
_PLAIN_BARS: Final = " .:-=+*#@"


def back_of(runner: Runner) -> LookingBack | None:
    """What a finished practice can show again. Only a practice session imports the simulation."""
    if runner.session is not Session.PRACTICE:
        return None
    from sternwatch.practice.sessions.runner import PracticeRunner

    return runner.looking_back if isinstance(runner, PracticeRunner) else None


class Head(ControlsPainted):
    """The present time, and mistakes near it."""

    def draw(self, grid: Grid) -> None:
        screen = self.screen
        assert isinstance(screen, LookingBackScreen)
        back = screen.looking_back
        if back is None or not back.moments:
            grid.put(1, 0, "Nothing to look back at yet: first finish a drill.", "label")
            return
        state = f"playing {FAST:g}×" if screen.playing else "paused: Space plays"
        x = grid.put(1, 0, f"THE TRUTH at {m_ss(screen.at_s)} of {m_ss(back.moments[-1].drill_s)}", "number")
        grid.put(x + 2, 0, state, "label")
        if not back.mistakes:
            grid.put(1, 1, "Nothing went wrong.", "text")
            return
        grid.put_right(grid.width - 1, 0, f"{screen.chosen + 1} of {len(back.mistakes)}", "label")
        fact, names, units = back.mistakes[screen.chosen], screen.names, self.controls.units
        lines = [(line, "text") for line in wrapped(said(fact, names, units), grid.width - 2, 2)]
        lines += [(line, "state") for line in wrapped(instead(fact, units), grid.width - 2, 2)]
        for y, (text, ink) in enumerate(lines[: grid.height - 1]):
            grid.put(1, 1 + y, text, ink)


class Timeline(ControlsPainted):
    """The rate of turn, over a heavy line where beyond the limit; the mistakes; and the present moment."""

    def draw(self, grid: Grid) -> None:
        screen = self.screen
        assert isinstance(screen, LookingBackScreen)
        back = screen.looking_back
        if back is None or not back.moments or grid.width < 20:
            return
        plain = self.look.glyphs == "plain"
        left = grid.put(1, 0, "turn ", "label")
        width, whole = grid.width - left - 1, max(back.moments[-1].drill_s, 1.0)
        most = max([abs(one.turned_deg) for one in back.moments] + [10.0])
        bars = _PLAIN_BARS if plain else _BARS
        times = [one.drill_s for one in back.moments]
        grid.fill(left, 1, width, 1, "-" if plain else "─", "rule")
        for x in range(width):
            one = back.moments[max(bisect_right(times, (x + 0.5) / width * whole) - 1, 0)]
            level = round(abs(one.turned_deg) / most * (len(bars) - 1))
            grid.put(left + x, 0, bars[level], "alarm" if _beyond(one) else "water")
            if _beyond(one):
                grid.put(left + x, 1, "=" if plain else "━", "alarm")
        for n, fact in enumerate(back.mistakes):
            x = left + min(int(max(fact["t_s"], 0.0) / whole * width), width - 1)
            grid.put(x, 1, "!", "number" if n == screen.chosen else "caution")
        x = left + min(int(screen.at_s / whole * width), width - 1)
        grid.put(x, 1, "#" if plain else "█", "state")


def _beyond(one: Moment) -> bool:
    return one.allowed is not None and abs(one.turned_deg) > one.allowed.turn_deg(one.turned_deg)


class LookingBackScreen(WatchScreen):
    """The practice played again with the true lines. Rod keys and helm keys keep their meaning."""

    words = "LOOKING BACK"
    foot = (("↑ ↓", "what went wrong"), ("← →", "5 s"), ("Space", "plays"), ("Enter", "result"))
    own_keys: ClassVar[tuple[str, ...]] = ("up", "down", "left", "right", "space", "enter")

    def __init__(self) -> None:
        super().__init__()
        self.at_s = 0.0
        self.chosen = 0
        self.playing = False
        self._played_s: float | None = None  # monotonic time of the last step
        self._base: Picture | None = None
        self._begun = False

    @property
    def looking_back(self) -> LookingBack | None:
        """The data to look back at."""
        runner = self.watch_app.runner
        return back_of(runner)

    @property
    def names(self) -> dict[str, str]:
        """The names of the rods."""
        rods = () if self._base is None else self._base.rods
        return {rod.key: f"{rod.key} {rod.name}".strip() for rod in rods}

    def above(self) -> ComposeResult:
        yield WorstAlert(units=self.watch_app.controls.units)

    def body(self) -> ComposeResult:
        units = self.watch_app.controls.units
        yield Head(units=units)
        with Horizontal(id="views"):
            yield PlanView(units=units, mirrored=self.watch_app.preferences.mirror)
            yield SideView(units=units)
        yield Timeline(units=units)

    def fit_body(self) -> None:
        self.query_one(SideView).display = self.size.width >= 100

    def key(self, token: str) -> bool:
        if token not in self.own_keys:
            return False
        back = self.looking_back
        if token == "enter":
            self.watch_app.show_drill()
        elif back is not None and back.moments:
            self._move(token, back)
            self._redraw()
        return True

    def _move(self, token: str, back: LookingBack) -> None:
        if token == "space":
            self.playing, self._played_s = not self.playing, None
            if self.playing and self.at_s >= back.moments[-1].drill_s:
                self.at_s = back.moments[0].drill_s
        elif token in ("up", "down"):
            step = -1 if token == "up" else 1
            self.choose(min(max(self.chosen + step, 0), max(len(back.mistakes) - 1, 0)))
        else:
            self._to(self.at_s + (STEP_S if token == "right" else -STEP_S), back)

    def choose(self, number: int) -> None:
        """Go to a little before a mistake's cause, and play."""
        back, self.chosen = self.looking_back, number
        if back is None or not back.moments:
            return
        at_s = 0.0
        if back.mistakes:
            fact = back.mistakes[number]
            led_s = fact.get("cause_t_s")
            at_s = (fact["t_s"] if led_s is None else led_s) - LEAD_S
        self._to(at_s, back)
        self.playing, self._played_s = True, None

    def _to(self, at_s: float, back: LookingBack) -> None:
        self.at_s = min(max(at_s, back.moments[0].drill_s), back.moments[-1].drill_s)

    def on_screen_resume(self) -> None:
        if not self._begun and self.looking_back is not None:
            self._begun = True
            self.choose(0)
        super().on_screen_resume()

    def renew(self, now: float) -> None:
        back = self.looking_back
        if self.composed and self.playing and back is not None:
            if self._played_s is not None:
                self._to(self.at_s + FAST * (now - self._played_s), back)
            self._played_s = now
            self.playing = self.at_s < back.moments[-1].drill_s
            self._redraw()
        super().renew(now)

    def show_picture(self, picture: Picture) -> None:
        self._base = picture
        if self.composed:
            self.query_one(WorstAlert).show(picture)
        self._redraw()

    def _redraw(self) -> None:
        back = self.looking_back
        if not self.composed or self._base is None or back is None or not back.moments:
            return
        after = bisect_right([one.drill_s for one in back.moments], self.at_s)
        concerned = back.mistakes[self.chosen]["keys"] if back.mistakes else ()
        made = true_picture(self._base, back.moments[max(after - 1, 0)], concerned)
        for view in (self.query_one(PlanView), self.query_one(SideView)):
            view.show(made)


def true_picture(base: Picture, moment: Moment, concerned: Sequence[str]) -> Picture:
    """A picture with the true lines of a moment; those ``concerned`` are heavy.

    Forecasts, and the bottom sounded since, are left out.
    """
    rods = tuple(
        replace(
            rod, shape_m=moment.shapes_m.get(rod.key), points=(), depth_m=moment.depth_m.get(rod.key),
            why_no_depth="was in", chosen=rod.key in concerned,
        )
        for rod in base.rods
    )  # fmt: skip
    own = replace(base.own, rate_of_turn_deg_s=moment.turned_deg / 10.0)
    return replace(
        base, t_s=moment.drill_s, rods=rods, own=own, ahead=None, planned=None, hits=(), bottom_track=(),
        bottom_m=None,
    )  # fmt: skip
