"""The check's page: what could part, trip, tangle or drag with the present lengths."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import ComposeResult

from sternwatch.cautions import WIRE
from sternwatch.console.frame.bars import ControlsPainted
from sternwatch.console.frame.scrolled import Line, Scrolled, ScrolledScreen, ends
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.words.text import wrapped
from sternwatch.gear.values.units import Dimension, DisplaySystem

if TYPE_CHECKING:
    from sternwatch.answers.checks.loads import Loads
    from sternwatch.watch.planner.check import Checked

NOTHING = "These checks found nothing. This is not a guarantee."
_MOST = 9  # the most lines of one sentence
# Cells where the columns of pulls end, and where the column of the weakest part begins.
_PULL, _WEAKEST, _HOLDS, _STRIKE, _BARE = 24, 27, 48, 61, 73


def page(checked: Checked | None, units: DisplaySystem, width: int) -> list[Line]:
    """The lines of the page."""
    if checked is None:
        return [((1, "Checking the spread.", "state"),)]
    made: list[Line] = [((1, line, "text"),) for line in wrapped(_made_for(checked, units), width - 2, 3)]
    if checked.trouble:
        made += _says("The check failed", checked.trouble, "caution", width)
    if checked.check is None:
        return made
    made.append(())
    for finding in checked.findings:
        made += [((1, line, "caution"),) for line in wrapped(f"{finding.where}: {finding.what}", width - 2, _MOST)]
        made += _says("why", finding.why, "text", width)
        made += _says("cure", finding.cure, "number", width)
    if not checked.findings:
        made.append(((1, NOTHING, "state"),))
    made.append(())
    made += _pulls(checked.check.loads, units)
    if checked.check.unchecked:
        made += [(), ((1, "NOT LOOKED AT", "state"),)]
        for text in checked.check.unchecked:
            first, *rest = wrapped(text, width - 4, _MOST)
            made += [((1, f"· {first}", "text"),), *(((3, line, "text"),) for line in rest)]
    return made


def _made_for(checked: Checked, units: DisplaySystem) -> str:
    """The course for which the spread was checked."""
    asked = checked.question
    speed = units.show(asked.speed_m_s, Dimension.SPEED, 1)
    whose = "as she goes" if asked.own_speed else "the usual; she is not trolling"
    bottom = f", bottom {units.show(asked.bottom_m, Dimension.LENGTH)}" if asked.bottom_m is not None else ""
    return f"Straight course, {speed} through the water ({whose}){bottom}."


def _says(label: str, text: str, ink: str, width: int) -> list[Line]:
    """A sentence after its label."""
    at = max(10, len(label) + 5)
    first, *rest = wrapped(text, max(width - at - 1, 20), _MOST)
    return [((4, label, "label"), (at, first, ink)), *(((at, line, ink),) for line in rest)]


def _pulls(loads: tuple[Loads, ...], units: DisplaySystem) -> list[Line]:
    """The load on each rod: the steady pull, the part nearest to breaking, and the peak of a strike on top."""
    force = units.label(Dimension.FORCE)

    heads = ((_PULL, f"pull {force}"), (_HOLDS, "holds times"), (_STRIKE, f"strike {force}"), (_BARE, "no snubber"))
    made: list[Line] = [
        (
            (1, "PULLS", "state"),
            (_WEAKEST, "weakest", "label"),
            *(ends(at, text, "label") for at, text in heads),
        )
    ]
    for rod in loads:
        weakest = rod.weakest
        margin = None if weakest is None else weakest.margin
        made.append(
            (
                (1, f"{rod.key} {rod.name}", "number"),
                ends(_PULL, units.show(rod.parts[0].pull_N, Dimension.FORCE, 1, label=False), "text"),
                (_WEAKEST, ("–" if weakest is None else weakest.what)[: _HOLDS - _WEAKEST - 6], "text"),
                ends(_HOLDS, "–" if margin is None else f"{margin:.1f}", "text"),
                ends(_STRIKE, units.show(rod.strike_peak_N, Dimension.FORCE, 0, label=False), "text"),
                ends(_BARE, units.show(rod.strike_without_snubber_N, Dimension.FORCE, 0, label=False), "text"),
            )
        )
    made.append(((1, "strike: beyond the steady pull; an upper bound, rod and reel held stiff", "label"),))
    return made


class CheckText(Scrolled):
    """The page."""

    def lines(self, width: int) -> list[Line]:
        return page(self.controls.runner.findings(), self.controls.units, width)


class CheckCaution(ControlsPainted):
    """The caution above the page, which does not scroll."""

    def draw(self, grid: Grid) -> None:
        checked = self.controls.runner.findings()
        if checked is not None and checked.check is not None and checked.check.cautions:
            grid.put(1, 0, WIRE, "caution")


class CheckScreen(ScrolledScreen):
    """The check over any session. Rod keys still enter hits."""

    words = "CHECK"

    def body(self) -> ComposeResult:
        yield CheckCaution()
        yield CheckText()
