"""What two lines do, in words: a near pass in one line, and which of them not to reel in while it lasts."""

from __future__ import annotations

from collections.abc import Mapping

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.local_time import m_ss
from sternwatch.watch.picture.meetings import NearPass
from sternwatch.watch.picture.outlook import RISK, Forecast, PairForecast

MOST = 0.5  # share of the members, for a mere caution
NEAR_TIPS_M = 10.0  # length of arc within which a hand or a rod can still help

# Longest form first.
INDICATIVE = (
    "After a first touch the lines are computed as if they were free: from then on, take it as a rough guess.",
    "After a first touch the forecast is a rough guess.",
)

WORDS = {
    Verdict.CLEAR_OF_EACH_OTHER: "no near pass",
    Verdict.NEAR_PASS: "near pass",
    Verdict.TOUCH: "touch",
    Verdict.WRAPPED: "wrapped",
}


def verb(pair: PairForecast) -> str:
    """What two crossing rods do in most of the members in which they cross."""
    return "wrap" if pair.shares.wrapped > pair.shares.touch else "touch"


def folded_words(made: Forecast, rods: tuple[str, ...], does: str, cure: str) -> str:
    """Several pairs of one manoeuvre in one line, the worst rods first.

    "This turn wraps 1, 6, 7: slow to 180° in 2:13".
    """
    what, manoeuvre = "Holding on", made.manoeuvre
    if manoeuvre.turn_rad:
        what = "This turn"
    elif manoeuvre.to_speed_m_s is not None:
        what = "This change of speed"
    keys = ", ".join(rods)
    said = f"{what} wraps {keys}" if does == "wrap" else f"{what} lets {keys} touch"
    return f"{said}: {cure}" if cure else said


def deep(depth_m: float, units: DisplaySystem) -> str:
    """The depth of a place at which lines meet; it may be above the water."""
    return "above the water" if depth_m < 0.0 else f"{units.show(depth_m, Dimension.LENGTH)} down"


def comes_to(pair: PairForecast) -> str:
    """The outcome of a pair: in how many members it touches, if in any; else the verdict."""
    if pair.verdict is None:
        return "–"
    return f"{verb(pair)} {100 * pair.probability:.0f} %" if pair.probability else WORDS[pair.verdict]


def near_passes(made: Forecast, names: Mapping[str, str], units: DisplaySystem, risk: float = RISK) -> list[str]:
    """A sentence or two on each pair that comes nearer than required in most members and touches in hardly any."""
    found = []
    for pair in made.pairs:
        if pair.near_pass is not None and pair.known_probability < risk and pair.shares.near_pass >= MOST:
            text, reel = near_words(made, pair, pair.near_pass, names, units)
            found.append(f"{text}. {reel}".strip())
    return found


def near_words(
    made: Forecast, pair: PairForecast, near: NearPass, names: Mapping[str, str], units: DisplaySystem
) -> tuple[str, str]:
    """A near pass, and what not to do while one line is over the other, seen from above ("" where neither is).

    ``names``: what the rods are called, by key.
    """
    one, other = (_name(key, names) for key in pair.keys)
    apart = units.show(pair.separation_m, Dimension.LENGTH, 1)
    text = f"{one} and {other} pass {apart} apart"
    if near.arc_m <= NEAR_TIPS_M:
        text += " near the tips"
    elif pair.depth_m is not None:
        text += f", {deep(pair.depth_m, units)}"
    text += f", {names.get(near.over) or near.over} over {names.get(near.under) or near.under}"
    begins_s = made.manoeuvre.wait_s
    if near.apart_again_s is not None:
        turned = made.manoeuvre.turn_rad != 0.0
        after = near.apart_again_s + begins_s - made.ends_s
        if turned and after >= 0.0:
            text += f", apart again {m_ss(after)} after the turn"
        else:
            text += f", apart again in {m_ss(max(near.apart_again_s, 0.0))}"
    if near.over_until_s is None:
        return text, ""
    until = m_ss(max(near.over_until_s, 0.0))
    return text, f"Don't reel {near.under} in meanwhile: it lies under {near.over} for {until}."


def _name(key: str, names: Mapping[str, str]) -> str:
    return f"{key} {names.get(key, '')}".strip()
