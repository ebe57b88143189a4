"""Plans the spread at the controls: the crew type the depths and the turn, then enter the plan or put it away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.gear.values.units import UNITS, convert, limit_words
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.planner.beside_session import PlanQuestion, question_of

if TYPE_CHECKING:
    from sternwatch.watch.picture.outlook import Forecast

DEEPEST_M = 250.0
LEAST_TURN_S = 20.0
MOST_TURN_S = 600.0


def ask(controls: Controls, t_s: float) -> None:
    """Ask for the depths between which to plan."""
    _type(controls, "LURES FROM WHAT DEPTH", "plan from", controls.units.length, controls.plan_from_m, t_s)


def _type(controls: Controls, title: str, what: str, unit: str, value: float | None, t_s: float) -> None:
    text = "" if value is None else f"{round(convert(value, unit), 1):g}"
    controls.typing = TypingLine(title, what, "", unit, t_s, text, offered=bool(text))


def from_typed(controls: Controls, t_s: float) -> None:
    """Take the shallower depth."""
    depth_m = _depth(controls, t_s)
    if depth_m is not None:
        controls.plan_from_m = depth_m
        _type(controls, "TO WHAT DEPTH", "plan to", controls.units.length, controls.plan_to_m, t_s)


def to_typed(controls: Controls, t_s: float) -> None:
    """Take the deeper depth."""
    depth_m = _depth(controls, t_s)
    if depth_m is None or controls.plan_from_m is None:
        return
    if depth_m < controls.plan_from_m:
        assert controls.typing is not None
        controls.refuse(
            f"{controls.typing.value_words} is shallower than {controls.length(controls.plan_from_m)}", t_s
        )
        return
    controls.plan_to_m = depth_m
    _type(controls, "HALF A CIRCLE IN HOW MANY MINUTES", "plan turn", "min", controls.plan_turn_s, t_s)


def _depth(controls: Controls, t_s: float) -> float | None:
    line = controls.typing
    assert line is not None
    value = line.value
    if value is None:
        return None
    depth_m = UNITS[line.unit].to_si(value)
    if not 0.0 < depth_m <= DEEPEST_M:
        controls.want(line.value_words, f"more than 0, and at most {limit_words(DEEPEST_M, line.unit)}", t_s)
        return None
    return depth_m


def turn_typed(controls: Controls, t_s: float) -> None:
    """Take the time of a U-turn and make the plan."""
    line = controls.typing
    assert line is not None
    if line.value is None:
        return
    turn_s = line.value * 60.0
    if not LEAST_TURN_S <= turn_s <= MOST_TURN_S:
        controls.want(line.value_words, f"{LEAST_TURN_S / 60:.1f} to {MOST_TURN_S / 60:.0f} min", t_s)
        return
    controls.typing = None
    controls.plan_turn_s = turn_s
    question = _question(controls)
    if question is None:
        controls.say("What hangs from the rods is not known: nothing to plan", t_s)
        return
    controls.planning_spread.ask(question)
    low, high = controls.length(question.from_m), controls.length(question.to_m)
    controls.say(f"Planning for {low} to {high}; it takes some seconds", t_s)


def _question(controls: Controls) -> PlanQuestion | None:
    if controls.picture is None or controls.plan_from_m is None or controls.plan_to_m is None:
        return None
    knowing = controls.runner.knowing
    return question_of(
        controls.picture, controls.plan_from_m, controls.plan_to_m, controls.plan_turn_s,
        controls.preferences.let_out_m_s,
        None if knowing is None else knowing.learned,
    )  # fmt: skip


def enter(controls: Controls, t_s: float) -> None:
    """Enter the plan, all rods in one entry. Without a plan ask what is wanted."""
    proposal, picture = controls.planning_spread.proposal, controls.picture
    if proposal is None:
        if controls.planning_spread.busy:
            controls.say("The spread is being planned", t_s)
        else:
            ask(controls, t_s)
        return
    gear = picture.crew.gear if picture is not None and picture.crew is not None else None
    if not isinstance(gear, Rigging) or gear.spread is not proposal.question.spread:
        controls.say("The rigs have changed since: Tab plans anew", t_s)
        return
    rods = proposal.plan.entry
    controls.planning_spread.done(entered=bool(rods))
    if not rods:
        controls.say("Every rod is as planned already", t_s)
        return
    keys = " ".join(rod["rod"] for rod in rods)
    action = controls.submit("planned", None, f"rods {keys} as planned", t_s, rods=rods)
    for rod in rods:
        for what, field in (("line", "line_out_m"), ("setting", "setting")):
            if field in rod:
                controls.expect.put((what, rod["rod"]), rod[field], t_s)
    controls.say(f"Rods {keys} as planned: let out to these lengths", t_s, Tone.ENTRY, action)


def put_away(controls: Controls, t_s: float) -> None:
    """Take the plan out of the views; its page keeps it."""
    if controls.planning_spread.proposal is not None:
        controls.planning_spread.done(entered=False)
        controls.say("The planned spread is dropped; nothing was changed", t_s)


def drawn(controls: Controls) -> Forecast | None:
    """Every planned line, for the views; None where no plan waits."""
    proposal = controls.planning_spread.proposal
    return None if proposal is None else proposal.plan.drawn
