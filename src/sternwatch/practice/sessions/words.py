"""Words a result in lines of text, for the screen and the terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from itertools import zip_longest
from typing import Any

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import BoatTime, m_ss
from sternwatch.logbook.store.results import Attempt
from sternwatch.practice.drills.levels import level
from sternwatch.practice.sessions.mistake_words import bent_words, instead, said
from sternwatch.practice.world.measures import EXPLAINED

BAR = 20
WIDE = 78  # cells that every terminal has


def result_lines(result: Mapping[str, Any], attempts: Sequence[Attempt], units: DisplaySystem) -> list[str]:
    """The score and its parts, mistakes, computed against true depths, and earlier attempts."""
    return [
        *_score(result, units),
        "",
        *_wrong(result, units),
        *believed_lines(result["rods"], units),
        *progress_lines(attempts),
    ]


def _score(result: Mapping[str, Any], units: DisplaySystem) -> list[str]:
    if result["score"] is None:
        return ["This session is not scored."]
    par = "" if result["par"] is None else f", par {result['par']:.0f}"
    state = "passed" if result["passed"] else "not passed"
    if name := level(result["score"], result["par"]):
        state += f", level {name}"
    done = "" if result["done"] else "; the goal was not reached"
    lines = [f"{result['score']:.0f} of 100{par}: {state}{done}"]
    for part in result["parts"]:
        said = measure_words(part["measure"], part["value"], units)
        lines.append(
            f"  {part['measure']:<16} {said:>10}   {part['share'] * part['weight']:4.1f} of {part['weight']:g}"
        )
    lines += [f"  not kept: {broken}" for broken in result["limits_broken"]]
    return lines


def measure_words(name: str, value: float | None, units: DisplaySystem) -> str:
    """A measure in words."""
    if value is None:
        return "–"
    unit = EXPLAINED[name][0]  # type: ignore[index]
    if unit == "m":
        return units.show(value, Dimension.LENGTH)
    if unit == "s":
        return m_ss(value)
    if name in ("zone", "hits kept"):
        return f"{100 * value:.0f} %"
    return f"{value:.2f} ×" if name == "least separation" else f"{value:.0f}"


def _wrong(result: Mapping[str, Any], units: DisplaySystem) -> list[str]:
    """The mistakes in order of time, each with what would have avoided it; then what the drill changed on purpose."""
    names = {rod["key"]: f"{rod['key']} {rod['name']}" for rod in result["rods"]}
    lines = []
    facts = result["mistakes"]
    for one, after in zip_longest(facts, facts[1:]):
        lines += _hung(said(one, names, units), "", "      ")
        better = instead(one, units)
        if better and (after is None or instead(after, units) != better):  # equal sentences appear once
            lines += _hung(better, "      ", "      ")
    if lines:
        lines = ["What went wrong, when, and how to avoid it", *lines, ""]
    if result["bent"]:
        untold = "; ".join(bent_words(one, units) for one in result["bent"])
        lines += [*_hung(f"The drill bends the truth on purpose: {untold}.", "", ""), ""]
    return lines


def _hung(text: str, first: str, rest: str) -> list[str]:
    return textwrap.wrap(text, WIDE, initial_indent=first, subsequent_indent=rest)


def believed_lines(rods: Iterable[Mapping[str, Any]], units: DisplaySystem) -> list[str]:
    """Computed and true depths by rod: the means, and the largest error."""
    lines = [
        f"Depth believed and true, {units.label(Dimension.LENGTH)}: means, the worst error (+ too deep), and",
        "how often the truth lay within the ±",
        f"  {'rod':<10} {'believed':>8} {'true':>6} {'worst':>6} {'in ±':>6}",
    ]
    for rod in rods:
        believed, true, worst = (
            "–" if rod.get(name) is None else units.show(rod[name], Dimension.LENGTH, 1, label=False)
            for name in ("depth_believed_mean_m", "depth_true_mean_m", "depth_error_worst_m")
        )
        sign = "+" if (rod["depth_error_worst_m"] or 0.0) > 0.0 else ""
        held = rod["interval_holds_share"]
        within = "–" if held is None else f"{100 * held:.0f} %"
        lines.append(
            f"  {rod['key']} {rod['name']:<8} {believed:>8} {true:>6} {sign + worst:>6} {within:>6}".rstrip()
        )
    return [*lines, ""]


def progress_lines(attempts: Sequence[Attempt], most: int = 10) -> list[str]:
    """Earlier attempts, the newest last, as bars."""
    scored = [one for one in attempts if one.score is not None][-most:]
    if not scored:
        return []
    lines = ["Attempts" if scored[-1].par is None else f"Attempts (par {scored[-1].par:.0f})"]
    for one in scored:
        assert one.score is not None
        bar = "█" * round(one.score / 100.0 * BAR)
        passed = "passed" if one.passed else ""
        lines.append(f"  {BoatTime().at(one.begun):%d %b %H:%M}  {one.score:3.0f}  {bar:<{BAR}} {passed}".rstrip())
    return lines
