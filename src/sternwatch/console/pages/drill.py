"""The drill's page: the task, how it stands, and the truth once it is over."""

from __future__ import annotations

from textual.app import ComposeResult

from sternwatch.console.frame.practice_bar import clock
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen
from sternwatch.console.words.text import wrapped
from sternwatch.watch.picture.model import PracticePicture


def page(practice: PracticePicture | None, width: int) -> list[tuple[str, str]]:
    """(text, ink) per line of the terminal."""
    if practice is None:
        return [("The practice boat is being made ready.", "state")]
    head = [(practice.drill.upper(), "state")]
    briefing = [(line, "text") for line in wrapped(practice.briefing, width, 12)]
    goal = [(line, "number") for line in wrapped(f"Goal: {practice.goal}.", width, 3)] if practice.goal else []
    # What was computed stands in columns: it is cut, never wrapped.
    result = [(line[:width], "text") for line in practice.result]
    if practice.over:
        # What came of it stands first: the briefing has been read.
        came = result or [("Over. The result is being made.", "state")]
        return [*head, *came, ("", "text"), *goal, *briefing]
    if practice.drill_s < 0.0:
        goal.append((f"Begins in {clock(practice.drill_s)}.", "state"))
    elif practice.time_left_s is not None:
        goal.append((f"{clock(practice.drill_s)} since it began, {clock(practice.time_left_s)} left.", "label"))
    said = [(f"· {line}", "text") for line in practice.says]
    parts = [[*head, *briefing], goal, said, result]
    return [line for part in parts if part for line in (("", "text"), *part)][1:]


class DrillText(Scrolled):
    """The page."""

    def lines(self, width: int) -> list[Line]:
        picture = self.desk.picture
        made = page(picture.practice if picture is not None else None, max(width - 2, 10))
        return [((1, text, ink),) for text, ink in made]


class DrillScreen(ScrolledScreen):
    """The drill over whatever runs; rod keys still are hits, and the boat still answers helm and throttle."""

    words = "DRILL"

    def body(self) -> ComposeResult:
        yield DrillText()
