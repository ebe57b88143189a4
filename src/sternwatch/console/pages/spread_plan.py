"""The planner's page: asks for depths, then shows proposed beside present lengths, which one key enters."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult

from sternwatch.cautions import COMPUTED
from sternwatch.console.acts import spread_plan as acts
from sternwatch.console.controls.controls import Controls
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen
from sternwatch.console.words.text import wrapped
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.watch.planner.beside_session import Proposal, SpreadPlanning

if TYPE_CHECKING:
    pass

INTRO = (
    "Settings and line out for every rod, so that the lures spread evenly between two depths and the lines keep "
    "apart in U-turns to either side; and the order to let them out in. Nothing changes until you accept it."
)
# Cells where the columns end; those of the rod and the setting begin there.
_ROD, _SETTING, _LINE, _NOW, _DEPTH, _WITHIN, _ABEAM = 5, 16, 33, 48, 55, 64, 72


def page(planning: SpreadPlanning, units: DisplaySystem, width: int) -> list[Line]:
    """The lines of the page."""
    if planning.newest is not None:
        waits = planning.newest is planning.proposal
        settled = "ENTERED: this is the order to let out in" if planning.was_entered else "PUT AWAY"
        head: list[Line] = [] if waits else [((1, settled, "state"),)]
        return [*head, *_plan(planning.newest, units, width)]
    made = _paragraph(INTRO, width, "text")
    if planning.trouble:
        made += [(), *_paragraph(f"The plan failed: {planning.trouble}", width, "caution")]
    elif planning.busy:
        made += [(), ((1, "Planning the spread.", "state"),)]
    else:
        made += [(), ((1, "Enter asks between which depths.", "state"),)]
    return made


def _plan(proposal: Proposal, units: DisplaySystem, width: int) -> list[Line]:
    # Only after the first plan, whose thread has loaded the solver: the screen never loads it.
    from sternwatch.watch.planner.words import found_words, headline, heads, rows

    plan, spread = proposal.plan, proposal.question.spread
    whose = "" if proposal.question.own_speed else " (the usual speed: she is not trolling)"
    made = _paragraph(headline(spread, plan, units) + whose, width, "text")
    ends = (_LINE, _NOW, _DEPTH, _WITHIN, _ABEAM)
    for number in (0, 1):
        told = [head.split("\n")[number] if head.count("\n") >= number else "" for head in heads(units)]
        spans = [(_ROD, told[0], "label"), (_SETTING, told[1], "label")]
        made.append((*spans, *((at - len(text), text, "label") for at, text in zip(ends, told[2:], strict=True))))
    for number, row in enumerate(rows(plan, units), 1):
        rod, setting, line, now, *rest = row
        changed = line != now
        spans = [(1, f"{number:>2}", "label"), (_ROD, rod, "number"), (_SETTING, setting, "text")]
        cells = ((line, "number" if changed else "text"), (now, "label"), *((text, "text") for text in rest))
        made.append((*spans, *((at - len(text), text, ink) for at, (text, ink) in zip(ends, cells, strict=True))))
    made.append(())
    first, *others = found_words(plan, spread, units)
    made += _paragraph(f"{first}.", width, "number")
    for text in others:
        made += _paragraph(f"{text}.", width, "text")
    return [*made, (), *_paragraph(COMPUTED, width, "label")]


def _paragraph(text: str, width: int, ink: str) -> list[Line]:
    return [((1, line, ink),) for line in wrapped(text, width - 2, 6)]


class SpreadPlanText(Scrolled):
    """The page."""

    @property
    def hint(self) -> str:
        return "" if self.controls.planning_spread.proposal is None else "Enter: enters it"

    def lines(self, width: int) -> list[Line]:
        return page(self.controls.planning_spread, self.controls.units, width)


class SpreadPlanScreen(ScrolledScreen):
    """The planner over any session. Rod keys still enter hits."""

    words = "PLAN THE SPREAD"
    own_keys: ClassVar[tuple[str, ...]] = (*ScrolledScreen.own_keys, "enter", "tab")

    @property
    def foot(self) -> tuple[tuple[str, str], ...]:  # type: ignore[override]
        """What Enter does is told on the page while a plan waits."""
        asks = "Enter" if self.controls.planning_spread.proposal is None else "Tab"
        return (asks, "between which depths"), ("↑ ↓", "move")

    def body(self) -> ComposeResult:
        yield SpreadPlanText()

    def key(self, token: str) -> bool:
        now = self.watch_app.clock()
        if token == "enter":
            acts.enter(self.controls, now)
        elif token == "tab":
            acts.ask(self.controls, now)
        else:
            return super().key(token)
        return True

    @property
    def controls(self) -> Controls:
        return self.watch_app.controls
