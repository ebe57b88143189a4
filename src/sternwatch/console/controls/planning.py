"""Shapes a plan (a turn, a new speed or a stop) with a few keys while the rods stay in view.

Meanwhile the arrows belong to the plan; rod keys still enter hits. Enter keeps the plan and gives the arrows back,
Esc drops it, and after a while without a key it is kept. Its forecast is made in the background.
"""

from __future__ import annotations

from dataclasses import replace

from sternwatch.console.controls.controls import Closed, Controls
from sternwatch.console.controls.plan import USUAL_HALF_CIRCLE_S, Plan
from sternwatch.console.keys.acting import Keyboard
from sternwatch.console.words import outlook as said
from sternwatch.gear.values.units import UNITS, Dimension
from sternwatch.watch.picture.manoeuvre import Manoeuvre, side_of
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import Outlook, SideLimit

KEEPS_AFTER_S = 20.0  # without a key
COARSE_DEG, FINE_DEG, MOST_DEG = 90, 15, 360
# Seconds for half a circle, quickest first.
HALF_CIRCLES_S = (20, 25, 30, 35, 40, 50, 60, 70, 80, 90, 100, 110, 120, 140, 160, 180, 210, 240, 300, 360, 480, 600)
_SHAPES = ("left", "right", "up", "down", "pageup", "pagedown", "tab", "enter")
STOPS_S = (None, 20.0, 40.0, 60.0, 120.0)
SPEED_STEP = 0.1  # in the crew's unit
FASTEST_M_S = 5.0


def press(controls: Controls, t_s: float) -> None:
    """Open a plan, or go on shaping the present one."""
    if controls.picture is None:
        controls.say("No picture yet: nothing to plan from", t_s)
        return
    plan = controls.plan or Plan()
    _set(controls, replace(plan, shaping=True, last_t_s=t_s))
    controls.say("Plan: the arrows shape it", t_s)


def key(controls: Controls, token: str, t_s: float) -> bool:
    """Give a key to the plan being shaped. Returns whether the plan took it."""
    plan = controls.plan
    if plan is None or not plan.shaping:
        return False
    if token == "escape":
        drop(controls, t_s)
        return True
    if token == "enter":
        _keep(controls, plan, t_s)
        return True
    shaped = _shaped(controls, plan, token)
    if shaped is None:
        return False
    _set(controls, replace(shaped, last_t_s=t_s))
    return True


def drop(controls: Controls, t_s: float) -> None:
    """Drop the plan."""
    if controls.plan is not None:
        controls.plan = None
        controls.runner.plan(None)
        controls.say("Plan dropped", t_s)


def tick(controls: Controls, t_s: float) -> None:
    """Give the arrows back when nobody is shaping the plan."""
    plan = controls.plan
    if plan is not None and plan.shaping and t_s - plan.last_t_s >= KEEPS_AFTER_S:
        _keep(controls, plan, t_s)
        controls.closed = Closed("the plan", lambda token: token in _SHAPES, t_s)


def _keep(controls: Controls, plan: Plan, t_s: float) -> None:
    controls.plan = replace(plan, shaping=False)
    whose = "the rods'" if controls.keyboard is Keyboard.HELM else "the recording's"
    controls.say(f"Plan kept; the arrows are {whose} again", t_s)


def _set(controls: Controls, plan: Plan) -> None:
    unit = controls.units.speed
    before = None if controls.plan is None else controls.plan.manoeuvre(unit)
    controls.plan = plan
    if plan.manoeuvre(unit) != before:
        controls.runner.plan(plan.manoeuvre(unit))


def _shaped(controls: Controls, plan: Plan, token: str) -> Plan | None:
    match token:
        case "left" | "right":
            step = 1 if token == "right" else -1
            turn, fine = _turned(plan, step)
            begins = bool(turn) and not plan.turn_deg and plan.half_circle_s == USUAL_HALF_CIRCLE_S
            half = _begin_with(controls.outlook, turn) if begins else plan.half_circle_s
            return replace(plan, turn_deg=turn, fine=fine, half_circle_s=half, stop_s=None)
        case "up" | "down":
            at = min(range(len(HALF_CIRCLES_S)), key=lambda n: abs(HALF_CIRCLES_S[n] - plan.half_circle_s))
            at = min(max(at + (-1 if token == "up" else 1), 0), len(HALF_CIRCLES_S) - 1)
            return replace(plan, half_circle_s=HALF_CIRCLES_S[at])
        case "pageup" | "pagedown":
            return _faster(controls, plan, 1 if token == "pageup" else -1)
        case "tab":
            at = STOPS_S.index(plan.stop_s) + 1
            return replace(plan, turn_deg=0, to_speed=None, stop_s=STOPS_S[at % len(STOPS_S)])
    return None


def _turned(plan: Plan, step: int) -> tuple[int, bool]:
    """The next turn to starboard (+1) or port (-1), and whether steps are small from now on.

    Steps are 90 degrees until an arrow goes back, then 15 until the turn is 0. So two keys make a U-turn, and any
    other turn is a few keys from the nearest quarter.
    """
    fine = bool(plan.turn_deg) and (plan.fine or step * plan.turn_deg < 0)
    turn = plan.turn_deg + step * (FINE_DEG if fine else COARSE_DEG)
    return min(max(turn, -MOST_DEG), MOST_DEG), fine


def _begin_with(outlook: Outlook | None, turn_deg: int) -> int:
    """Begin a new turn as slowly as the limit of its side requires, where that is known."""
    limits = outlook.limits if outlook is not None else None
    if limits is None:
        return USUAL_HALF_CIRCLE_S
    side: SideLimit = limits.of(side_of(turn_deg))
    if side.half_circle_s is None:
        return USUAL_HALF_CIRCLE_S
    slow_enough = [half for half in HALF_CIRCLES_S if half >= side.half_circle_s]
    return slow_enough[0] if slow_enough else HALF_CIRCLES_S[-1]


def _faster(controls: Controls, plan: Plan, step: int) -> Plan:
    own = controls.picture.own if controls.picture is not None else None
    now_m_s = (own.speed_mean_m_s or own.speed_m_s or 0.0) if own is not None else 0.0
    unit = UNITS[controls.units.speed]
    now = round(unit.from_si(now_m_s), 1)
    wanted = (now if plan.to_speed is None else plan.to_speed) + step * SPEED_STEP
    wanted = round(min(max(wanted, 0.0), unit.from_si(FASTEST_M_S)), 1)
    return replace(plan, to_speed=None if wanted == now else wanted, stop_s=None)


def words(controls: Controls, plan: Plan) -> tuple[str, str]:
    """The plan in one sentence, what it is and what it does; and a short form."""
    picture = controls.picture
    own = picture.own if picture is not None else None
    speed = (own.speed_mean_m_s or own.speed_m_s or 0.0) if own is not None else 0.0
    made = plan.manoeuvre(controls.units.speed)
    if made is None:
        return "PLAN: nothing yet. ← → turn · ↑ ↓ quicker, slower · PgUp PgDn speed · Tab stop", "PLAN: nothing yet."
    what = said.manoeuvre_words(made, speed, controls.units)
    does = _does(controls, picture, made)
    radius = said.radius_m(made, speed)
    wide = "" if radius is None else f", radius {controls.units.show(radius, Dimension.LENGTH)}"
    return f"PLAN {what}{wide}: {does[0]}", f"PLAN {what}: {does[-1]}"


def _does(controls: Controls, picture: Picture | None, made: Manoeuvre) -> said.Forms:
    forecast = said.planned(controls.outlook)
    if picture is None or forecast is None or forecast.manoeuvre != made:
        return ("being computed",) if controls.outlook is not None else ("no forecast yet",)
    return said.outcome(forecast, picture, controls.units)
