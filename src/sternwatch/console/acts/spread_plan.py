"""Planning the spread at the desk: the depths and the turn are typed, the plan is entered or put away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sternwatch.console.desk.hand import Desk, Tone
from sternwatch.console.desk.typing_line import TypingLine
from sternwatch.gear.values.units import UNITS, convert
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.planner.beside_session import PlanQuestion, question_of

if TYPE_CHECKING:
    from sternwatch.watch.picture.outlook import Forecast

DEEPEST_M = 250.0
LEAST_TURN_S = 20.0
MOST_TURN_S = 600.0


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
