"""The outlook's words on the screen: the shown forecast, limits, pairs, the plan. Longest form first.

Times in an outlook count from the moment it was made; the words here count from the picture's moment.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.watch.boat.manoeuvres import path_of
from sternwatch.watch.forecast.meeting_words import deep, verb
from sternwatch.watch.forecast.turn_words import crossing_share, limit_words, risk_words
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre, side_of
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import RISK, Forecast, Limits, Outlook, PairForecast, SideLimit, SpeedLimit

Forms = words.Forms

STRAIGHT_DEG_S = 0.15  # a slower rate is no turn


def planned(outlook: Outlook | None) -> Forecast | None:
    """The plan's forecast, if there is one."""
    return next((made for made in outlook.forecasts if made.manoeuvre.name == PLAN), None) if outlook else None


def worst_forecast(outlook: Outlook) -> Forecast | None:
    """The forecast of the present motion in which most members cross."""
    made = [one for one in outlook.forecasts if one.manoeuvre.name != PLAN]
    return max(made, key=lambda one: one.known_crossing, default=None)


def shown_forecast(picture: Picture) -> Forecast | None:
    """The forecast for the views: the plan's; else the present motion's where that is a change, or dangerous."""
    outlook = picture.ahead
    if picture.planned is not None:
        return picture.planned
    if outlook is None:
        return None
    if (plan := planned(outlook)) is not None:
        return plan
    worst = worst_forecast(outlook)
    if worst is not None and worst.known_crossing >= RISK:  # or while she turns
        return worst
    return next((one for one in outlook.forecasts if one.manoeuvre.turn_rad or one.manoeuvre.to_speed_m_s), None)


def left_s(picture: Picture, made: Forecast) -> float | None:
    """Seconds from the picture to the worst moment of a forecast; never negative."""
    if made.worst_s is None or picture.ahead is None:
        return None
    return max(made.worst_s - picture.ahead.age_s(picture.t_s), 0.0)


def name_of(made: Forecast) -> str:
    """A forecast's name on the screen."""
    return {"hold": "holding on", PLAN: "the plan"}.get(made.manoeuvre.name, made.manoeuvre.name)


def share(value: float | None) -> str:
    """A share of the members in whole per cent."""
    return words.UNKNOWN if value is None else f"{100 * value:.0f} %"


def legend(picture: Picture, made: Forecast) -> Forms:
    """The meaning of the dotted lines."""
    left = left_s(picture, made)
    if left is not None and left < 0.5:
        return (" dotted: now ", " now ", "now")
    when = "" if left is None else f" in {m_ss(left)}"
    return (f" dotted: {name_of(made)}{',' if when else ''}{when} ", f" dotted:{when} ", f"{when} ", when.strip())


# -- turning and its limits --------------------------------------------------------------------------------------


def turning(picture: Picture) -> Forms:
    """The words for her present rate of turn."""
    rate = picture.own.rate_of_turn_deg_s
    if rate is None:
        return ("turning: not known", "turn –")
    if abs(rate) < STRAIGHT_DEG_S:
        return ("going straight", "straight")
    side, ten = side_of(rate), f"{abs(rate) * 10:.0f}°"
    return (f"turning to {side} {ten} per 10 s", f"{side} {ten} per 10 s", f"turn {side[0].upper()} {ten}/10 s")


def over_limit(picture: Picture) -> bool:
    """Whether she turns faster than the tightest known turn within the risk."""
    limit, rate = limit_of(picture), picture.own.rate_of_turn_deg_s
    return limit is not None and limit.rate_deg_s is not None and rate is not None and abs(rate) > limit.rate_deg_s


def limit_of(picture: Picture) -> SideLimit | None:
    """The limit on the side of her turn; None on a straight course or where it is unknown."""
    limits = picture.ahead.limits if picture.ahead is not None else None
    rate = picture.own.rate_of_turn_deg_s
    if limits is None or rate is None or abs(rate) < STRAIGHT_DEG_S:
        return None
    return limits.of(side_of(rate))


def side_forms(limit: SideLimit) -> Forms:
    """The forms of one side's limit."""
    side = limit.side.upper()
    short = {"STARBOARD": "STBD"}.get(side, side)
    if limit.half_circle_s is None or limit.rate_deg_s is None:
        return (limit_words(limit), f"{side}: no turn found", f"{short}: none")
    at = m_ss(limit.half_circle_s)
    whole = limit_words(limit)
    by = () if limit.limited_by is None else (f"{whole} ({' '.join(limit.limited_by)})",)
    return (*by, whole, f"{side} 180° in {at} or slower", f"{side} 180° in {at}", f"{short} 180° in {at}")


def slowest_forms(limits: Limits, units: DisplaySystem) -> Forms:
    """The forms of the slowest speed, where some speed is too slow."""
    slow = limits.slowest
    if not slow.limited_by:
        return ("",)
    if slow.speed_m_s is None:
        return (no_speed(slow), "")
    speed = units.show(slow.speed_m_s, Dimension.SPEED, 1)
    return (f"slowest {speed}", f"min {speed}", "")


def no_speed(slow: SpeedLimit) -> str:
    """What happens at every speed that was tried."""
    return f"no speed avoids {'the bottom' if slow.limited_by == 'bottom' else 'crossing'}"


def risk_forms(limits: Limits) -> Forms:
    """The forms of the risk that the limits allow; it is never left out."""
    return (f"limits: {risk_words(limits.risk)}", f"risk {100 * limits.risk:.0f} %")


def age_forms(picture: Picture, since_t_s: float) -> Forms:
    """The forms of a computed value's age."""
    old_s = max(picture.t_s - since_t_s, 0.0)
    return (f"{words.span(old_s)} old", f"{words.ago(old_s)} old")


# -- pairs and plans -----------------------------------------------------------------------------------------------


def pair_names(picture: Picture, keys: tuple[str, str]) -> str:
    """Two rods by key and name."""
    names = {rod.key: f"{rod.key} {rod.name}".strip() for rod in picture.rods}
    return " and ".join(names.get(key, key) for key in keys)


def pair_words(pair: PairForecast, picture: Picture, units: DisplaySystem) -> str:
    """What a pair does, in how many members; the median's closest approach, when and where."""
    said = pair_names(picture, pair.keys)
    if pair.probability:
        said += f" {verb(pair)} {share(pair.probability)}"
        if (contact := pair.counting_contact) is not None:
            return f"{said} in {m_ss(max(contact.time_s, 0.0))}, {deep(contact.depth_m, units)}"
    if pair.time_s is None or pair.separation_m is None or pair.depth_m is None:
        return said
    digits = 0 if units.length == "ft" else 1
    apart = units.show(pair.separation_m, Dimension.LENGTH, digits)
    return f"{said}, nearest in {m_ss(max(pair.time_s, 0.0))}: {apart} apart, {deep(pair.depth_m, units)}"


def outcome(made: Forecast, picture: Picture, units: DisplaySystem) -> Forms:
    """A forecast's outcome: what touches bottom, the worst pair with its probability and time; then a short form."""
    touch = min(made.touches, key=lambda one: one.time_s, default=None)
    long = short = ""
    if touch is not None:
        names = {rod.key: f"{rod.key} {rod.name}".strip() for rod in picture.rods}
        when = "now" if touch.time_s <= 0.0 else f"in {m_ss(touch.time_s)}"
        more = f", {len(made.touches) - 1} more" if len(made.touches) > 1 else ""
        long, short = f"{names.get(touch.key, touch.key)} touches bottom {when}{more}", f"{touch.key} bottom {when}"
    lead, bones = (f"{long}; ", f"{short}; ") if touch is not None else ("", "")
    worst = made.worst
    if worst is None or made.any_crossing is None:
        return (f"{lead}nothing is known of any pair", f"{bones}pairs not known")
    risk = f"any crossing {share(made.any_crossing)}" if worst.probability else f"crossing in none of {made.members}"
    word = "worst" if worst.probability else "least room"
    keys = " and ".join(worst.keys)
    contact = worst.counting_contact
    at_s = worst.time_s if contact is None else contact.time_s
    when = "" if at_s is None else f" in {m_ss(max(at_s, 0.0))}"
    digits = 0 if units.length == "ft" else 1
    apart = f"{units.show(worst.separation_m, Dimension.LENGTH, digits)} apart"
    if contact is not None:
        apart = verb(worst)
    forms = (
        f"{lead}{risk}; {word} {pair_words(worst, picture, units)}",
        f"{lead}{risk}; {word} {keys}{when}, {apart}",
    )
    if not worst.probability:  # two rods and a time would read as a crossing
        return (*forms, f"{bones}{risk}")
    return (
        *forms,
        f"{bones}{risk}; {keys}{when}",
        f"{bones}{crossing_share(made.any_crossing, made.members)}; {keys}{when}",
    )


def manoeuvre_words(plan: Manoeuvre, speed_m_s: float, units: DisplaySystem) -> str:
    """A plan in the helm's words."""
    parts = []
    if plan.stop_s is not None:
        parts.append(f"stop {m_ss(plan.stop_s)}, then on again")
    if plan.turn_rad:
        side = side_of(plan.turn_rad)
        rate = plan.rate_rad_s or 0.0
        if rate > 0.0:
            seconds = abs(plan.turn_rad) / rate
            ten = f"{10 * math.degrees(rate):.0f}° per 10 s"
            parts.append(f"{side} {math.degrees(abs(plan.turn_rad)):.0f}° in {m_ss(seconds)} ({ten})")
    if plan.to_speed_m_s is not None:
        parts.append(f"to {units.show(plan.to_speed_m_s, Dimension.SPEED, 1)}")
    return ", ".join(parts) or f"straight on at {units.show(speed_m_s, Dimension.SPEED, 1)}"


@lru_cache(maxsize=64)
def radius_m(plan: Manoeuvre, speed_m_s: float) -> float | None:
    """The mean radius of a planned turn; None without one."""
    if not plan.turn_rad:
        return None
    path = path_of(plan, heading_rad=0.0, speed_m_s=speed_m_s)
    bends = abs(path.heading_rad[1:] - path.heading_rad[:-1]) > 1e-9
    way = float((0.5 * (path.speed_m_s[1:] + path.speed_m_s[:-1]) * path.step_s)[bends].sum())
    return way / abs(plan.turn_rad)


# -- traffic astern --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Reach:
    """The water that the lines take up."""

    back_m: float
    wide_m: float


def reach_of(picture: Picture) -> Reach | None:
    """How far back the longest line reaches, and the width of all lines; None with no line known."""
    shapes = [rod.shape_m for rod in picture.rods if rod.shape_m is not None]
    if not shapes:
        return None
    back = max(float(shape[:, 0].max()) for shape in shapes)
    left, right = min(float(s[:, 1].min()) for s in shapes), max(float(s[:, 1].max()) for s in shapes)
    return Reach(back, right - left)


def reach_words(picture: Picture, units: DisplaySystem) -> str:
    """The reach in words for traffic astern, rounded up."""
    back, wide = reach_forms(picture, units)
    return f"{back[0]}, {wide[-1]}" if back and wide else ""


def reach_forms(picture: Picture, units: DisplaySystem) -> tuple[Forms, Forms]:
    """The forms of length and width; both empty with no line known."""
    reach = reach_of(picture)
    if reach is None:
        return (), ()
    back, wide = (_up(value, units) for value in (reach.back_m, reach.wide_m))
    return (f"longest {back} back", f"{back} back"), (f"lines {wide} wide", f"{wide} wide")


def _up(value_m: float, units: DisplaySystem) -> str:
    """Rounded up to the next ten feet, or five metres."""
    step = 10.0 * 0.3048 if units.length == "ft" else 5.0
    return units.show(math.ceil(value_m / step - 1e-9) * step, Dimension.LENGTH)
