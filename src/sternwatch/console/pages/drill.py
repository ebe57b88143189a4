"""The drill's page: the task, its present state, and the truth once it is over."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult

from sternwatch.console.acts.practice import steering
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen
from sternwatch.console.keys.acting import Keyboard
from sternwatch.console.keys.keymap import Keymap
from sternwatch.console.pages.looking_back import back_of
from sternwatch.console.words.text import wrapped
from sternwatch.local_time import m_ss
from sternwatch.watch.picture.model import PracticePicture, Session
from sternwatch.watch.sessions.runner import Runner


def page(
    practice: PracticePicture | None, width: int, keys: Sequence[str] = (), busy: str = ""
) -> list[tuple[str, str]]:
    """(text, ink) per line of the terminal. ``keys``: the important keys, shown before the drill begins.

    ``busy``: what is being prepared while there is no boat yet.
    """
    if practice is None:
        return [
            ("Getting the practice boat ready.", "state"),
            *((line, "number") for line in wrapped(busy, width, 3)),
        ]
    head = [(practice.drill.upper(), "state")]
    briefing = [(line, "text") for line in wrapped(practice.briefing, width, 12)]
    goal = [(line, "number") for line in wrapped(f"Goal: {practice.goal}.", width, 3)] if practice.goal else []
    # Computed values are in columns: they are cut, never wrapped.
    result = [(line[:width], "text") for line in practice.result]
    if practice.over:
        # The result comes first: the crew have read the briefing.
        came = result or [("Over. Working out the result.", "state")]
        if practice.result:
            came.insert(1, ("Enter plays it again: the true lines, and what went wrong on a timeline.", "state"))
        return [*head, *came, ("", "text"), *goal, *briefing]
    if practice.waits:
        goal += [("", "text"), ("Enter begins. The keys that matter:", "state"), *((one, "text") for one in keys)]
    elif practice.drill_s < 0.0:
        goal.append((f"Begins in {m_ss(-practice.drill_s)}.", "state"))
    elif practice.time_left_s is not None:
        goal.append((f"{m_ss(practice.drill_s)} since it began, {m_ss(practice.time_left_s)} left.", "label"))
    said = [(f"· {line}", "text") for line in practice.says]
    parts = [[*head, *briefing], goal, said, result]
    return [line for part in parts if part for line in (("", "text"), *part)][1:]


def keys_that_matter(keymap: Keymap, keyboard: Keyboard) -> list[str]:
    """Five keys to begin with."""

    def of(*acts: str) -> str:
        return " ".join(keymap.label(keyboard, act) for act in acts)

    return [
        f"  {of('helm port', 'helm starboard'):<6} the helm, a little to port or starboard with each press",
        f"  {of('throttle less', 'throttle more'):<6} the throttle, slower or faster",
        f"  {of('hold'):<6} holds the present heading",
        f"  {of('plan'):<6} plans a turn: you see what it will do before you make it",
        f"  {of('rod 1') or '1'} to 8 a hit on that rod; the foot of the screen says what comes next",
    ]


def briefs(runner: Runner) -> bool:
    """Whether a session begins with the drill's page and waits until the crew have read it."""
    from sternwatch.practice.sessions.runner import PracticeRunner

    return runner.session is Session.PRACTICE and isinstance(runner, PracticeRunner) and runner.waits


class DrillText(Scrolled):
    """The page."""

    def lines(self, width: int) -> list[Line]:
        picture = self.controls.picture
        practice = picture.practice if picture is not None else None
        keys = keys_that_matter(self.keymap, self.controls.keyboard)
        made = page(practice, max(width - 2, 10), keys, self.controls.runner.busy)
        return [((1, text, ink),) for text, ink in made]


class DrillScreen(ScrolledScreen):
    """The drill over any session. Rod keys still enter hits, and the boat still answers helm and throttle."""

    words = "DRILL"

    def key(self, token: str) -> bool:
        """Enter begins a waiting drill, and plays a finished one again."""
        if token == "enter" and steering.begin(self.watch_app.controls):
            self.watch_app.show_view("helm")
            return True
        if token == "enter" and back_of(self.watch_app.controls.runner) is not None:
            self.watch_app.show_view("looking back")
            return True
        return super().key(token)

    def body(self) -> ComposeResult:
        yield DrillText()
