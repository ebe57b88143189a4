"""The planner's page: between which depths, then proposed lengths beside the present ones, entered with one key."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult

from sternwatch.console.desk.hand import Desk, Tone
from sternwatch.console.desk.typing_line import TypingLine
from sternwatch.console.frame.notices import COMPUTED, wrapped
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen
from sternwatch.gear.values.units import UNITS, DisplaySystem, convert
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.planner.beside_session import PlanQuestion, Proposal, SpreadPlanning, question_of

if TYPE_CHECKING:
    from sternwatch.watch.forecast.model import Forecast

DEEPEST_M = 250.0
LEAST_TURN_S, MOST_TURN_S = 20.0, 600.0
INTRO = (
    "Settings and line out for every rod, so that the lures spread evenly between two depths and lines keep apart in "
    "U-turns to either side; and an order to let them out in. Nothing is changed until you enter it."
)
# Cells at which the columns end, the rod's and the setting's begin.
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
        made += [(), *_paragraph(f"The plan could not be made: {planning.trouble}", width, "caution")]
    elif planning.busy:
        made += [(), ((1, "The spread is being planned.", "state"),)]
    return made


def _plan(proposal: Proposal, units: DisplaySystem, width: int) -> list[Line]:
    # Behind the first plan, whose thread has loaded the solver: the screen never does.
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


# -- what is wanted ------------------------------------------------------------------------------------------------


def ask(desk: Desk, t_s: float) -> None:
    """Ask between which depths."""
    _type(desk, "LURES FROM WHAT DEPTH", "plan from", desk.units.length, desk.plan_from_m, t_s)


def _type(desk: Desk, title: str, what: str, unit: str, value: float | None, t_s: float) -> None:
    text = "" if value is None else f"{round(convert(value, unit), 1):g}"
    desk.typing = TypingLine(title, what, "", unit, t_s, text)


def from_typed(desk: Desk, t_s: float) -> None:
    """Enter on the shallower depth."""
    depth_m = _depth(desk, t_s)
    if depth_m is not None:
        desk.plan_from_m = depth_m
        _type(desk, "TO WHAT DEPTH", "plan to", desk.units.length, desk.plan_to_m, t_s)


def to_typed(desk: Desk, t_s: float) -> None:
    """Enter on the deeper one."""
    depth_m = _depth(desk, t_s)
    if depth_m is None or desk.plan_from_m is None:
        return
    if depth_m < desk.plan_from_m:
        assert desk.typing is not None
        desk.say(f"{desk.typing.value_words} is shallower than {desk.length(desk.plan_from_m)}", t_s)
        desk.typing.text = ""
        return
    desk.plan_to_m = depth_m
    _type(desk, "HALF A CIRCLE IN HOW MANY MINUTES", "plan turn", "min", desk.plan_turn_s, t_s)


def _depth(desk: Desk, t_s: float) -> float | None:
    line = desk.typing
    assert line is not None
    value = line.value
    if value is None:
        return None
    depth_m = UNITS[line.unit].to_si(value)
    if not 0.0 < depth_m <= DEEPEST_M:
        desk.say(f"{line.value_words}: more than 0 and at most {convert(DEEPEST_M, line.unit):.0f} is accepted", t_s)
        line.text = ""
        return None
    return depth_m


def turn_typed(desk: Desk, t_s: float) -> None:
    """Enter on the time of a U-turn: the plan is made."""
    line = desk.typing
    assert line is not None
    if line.value is None:
        return
    turn_s = line.value * 60.0
    if not LEAST_TURN_S <= turn_s <= MOST_TURN_S:
        desk.say(f"{line.value_words}: {LEAST_TURN_S / 60:.1f} to {MOST_TURN_S / 60:.0f} min is accepted", t_s)
        line.text = ""
        return
    desk.typing = None
    desk.plan_turn_s = turn_s
    question = _question(desk)
    if question is None:
        desk.say("What hangs from the rods is not known: nothing to plan", t_s)
        return
    desk.planning_spread.ask(question)
    low, high = desk.length(question.from_m), desk.length(question.to_m)
    desk.say(f"Planning for {low} to {high}; it takes some seconds", t_s)


def _question(desk: Desk) -> PlanQuestion | None:
    if desk.picture is None or desk.plan_from_m is None or desk.plan_to_m is None:
        return None
    knowing = desk.runner.knowing
    return question_of(
        desk.picture, desk.plan_from_m, desk.plan_to_m, desk.plan_turn_s, desk.preferences.let_out_m_s,
        None if knowing is None else knowing.learned,
    )  # fmt: skip


# -- entering it ---------------------------------------------------------------------------------------------------


def enter(desk: Desk, t_s: float) -> None:
    """The plan is entered, all rods in one entry; without one it is asked what is wanted."""
    proposal, picture = desk.planning_spread.proposal, desk.picture
    if proposal is None:
        if desk.planning_spread.busy:
            desk.say("The spread is being planned", t_s)
        else:
            ask(desk, t_s)
        return
    gear = picture.crew.gear if picture is not None and picture.crew is not None else None
    if not isinstance(gear, Rigging) or gear.spread is not proposal.question.spread:
        desk.say("The rigs have changed since: Tab plans anew", t_s)
        return
    rods = proposal.plan.entry
    desk.planning_spread.done(entered=bool(rods))
    if not rods:
        desk.say("Every rod is as planned already", t_s)
        return
    keys = " ".join(rod["rod"] for rod in rods)
    action = desk.submit("planned", None, f"rods {keys} as planned", t_s, rods=rods)
    for rod in rods:
        for what, field in (("line", "line_out_m"), ("setting", "setting")):
            if field in rod:
                desk.expect.put((what, rod["rod"]), rod[field], t_s)
    desk.say(f"Rods {keys} as planned: let out to these lengths", t_s, Tone.ENTRY, action)


def put_away(desk: Desk, t_s: float) -> None:
    """The views show it no more; its page still does."""
    if desk.planning_spread.proposal is not None:
        desk.planning_spread.done(entered=False)
        desk.say("The planned spread is put away; nothing was changed", t_s)


def drawn(desk: Desk) -> Forecast | None:
    """Every line as planned, for the views; None where no plan waits."""
    proposal = desk.planning_spread.proposal
    return None if proposal is None else proposal.plan.drawn


class SpreadPlanText(Scrolled):
    """The page."""

    @property
    def hint(self) -> str:
        if self.desk.planning_spread.proposal is not None:
            return "Enter: enters it · Tab: other depths"
        return f"{'Tab' if self.desk.planning_spread.newest is not None else 'Enter'}: between which depths"

    def lines(self, width: int) -> list[Line]:
        return page(self.desk.planning_spread, self.desk.units, width)


class SpreadPlanScreen(ScrolledScreen):
    """The planner over whatever runs; rod keys still are hits."""

    words = "PLAN THE SPREAD"
    own_keys: ClassVar[tuple[str, ...]] = (*ScrolledScreen.own_keys, "enter", "tab")

    def body(self) -> ComposeResult:
        yield SpreadPlanText()

    def key(self, token: str) -> bool:
        now = self.watch_app.clock()
        if token == "enter":
            enter(self.desk, now)
        elif token == "tab":
            ask(self.desk, now)
        else:
            return super().key(token)
        return True

    @property
    def desk(self) -> Desk:
        return self.watch_app.desk
