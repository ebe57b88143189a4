"""A result in lines of text, for the screen and the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import BoatTime
from sternwatch.logbook.store.results import Attempt
from sternwatch.practice.drills.levels import level
from sternwatch.practice.world.measures import EXPLAINED

BAR = 20


def result_lines(result: Mapping[str, Any], attempts: Sequence[Attempt], units: DisplaySystem) -> list[str]:
    """Score and its parts, what went wrong, believed against true, and earlier attempts."""
    return [
        *_score(result, units),
        "",
        *_wrong(result),
        *believed_lines(result["rods"], units),
        *progress_lines(attempts),
    ]


def _score(result: Mapping[str, Any], units: DisplaySystem) -> list[str]:
    if result["score"] is None:
        return ["Nothing is scored here."]
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
    """A measure as a person reads it."""
    if value is None:
        return "–"
    unit = EXPLAINED[name][0]  # type: ignore[index]
    if unit == "m":
        return units.show(value, Dimension.LENGTH)
    if unit == "s":
        return f"{int(value) // 60}:{int(value) % 60:02d}"
    if name in ("zone", "hits kept"):
        return f"{value:.0%}"
    return f"{value:.2f} ×" if name == "least separation" else f"{value:.0f}"


def _wrong(result: Mapping[str, Any]) -> list[str]:
    names = {rod["key"]: f"{rod['key']} {rod['name']}" for rod in result["rods"]}
    lines = []
    for one in result["crossings"]:
        a, b = (names[key] for key in one["keys"])
        how = "wrapped" if one["wrapped"] else "touched"
        lines.append(f"{_clock(one['t_s'])}  {a} and {b} {how}")
    for one in result["touches"]:
        lines.append(f"{_clock(one['t_s'])}  {names[one['key']]} touched bottom")
    for one in result["strikes"]:
        if not one["right"]:
            said = "not written down" if not one["keyed"] else "written down, but not how it ended"
            lines.append(f"{_clock(one['t_s'])}  {names[one['key']]}: {one['kind']} {said}")
    lines.sort(key=lambda line: [int(n) for n in line.split()[0].split(":")])
    return [*lines, ""] if lines else []


def _clock(seconds: float) -> str:
    whole = max(int(seconds), 0)
    return f"{whole // 60}:{whole % 60:02d}"


def believed_lines(rods: Iterable[Mapping[str, Any]], units: DisplaySystem) -> list[str]:
    """What was believed and what was true, rod by rod: means, and the error that was largest."""
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
        within = "–" if held is None else f"{held:.0%}"
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
