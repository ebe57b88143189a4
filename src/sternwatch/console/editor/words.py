"""The editor's words: depths and pulls of every rod, findings, help. No screen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from sternwatch.gear.editing.in_units import shown_in
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.planner.check import KINDS

if TYPE_CHECKING:
    from sternwatch.answers.checks.depths_and_check import Worked
    from sternwatch.answers.depths.depth import RodAnswer

HELP = (
    "The stern is seen from above, bow up: each tip stands where the file says, with its rod's key and name. Left, "
    "every rod with the depth of its lure at the boat's trolling speed, between which depths it lies nine times in "
    "ten, and the pull at the tip. Right, the chosen rod: what it is, its chain from the tip outward, the pieces in "
    "it, where its tip stands. Below, what the check finds; it says more with sternwatch check.",
    "← → choose a rod; before the first one is the boat with her speed and water. ↑ ↓ choose a row, Enter edits it: "
    "depths change as you type. Values stand in your units; the file may have others, and keeps "
    "them until you type a new value. A number without a unit is in the unit that stood there. An empty answer "
    "removes the entry, Esc drops the change. Line out may be typed as “14 passes” once the row "
    "“counter per pass” is known.",
    "a adds a rod with a rig of generic tackle or one of your shelf. c copies the chosen one, m makes its mirror "
    "image on the other side. g grabs its tip: arrows move it, Enter leaves it there, Esc puts it back. k gives the "
    "rods their keys as they stand, port to starboard. d removes the rod.",
    "r puts another whole rig on, b hangs the rig behind a side board or takes it from there. On a row of the chain, "
    "i puts a piece in behind it, x takes it out, [ and ] move it along the chain. Enter on a piece below the chain "
    "opens its own rows: diameter, weight, settings, drag; a change there counts for every rod that has the piece. h "
    "puts the piece or the whole rig on your shelf, for other rods and other days.",
    "u takes the newest change back, y does it again. s saves: the file is written whole, comments kept, the version "
    "before goes into the folder “earlier” beside it. What you did not save is offered again the next time.",
    "The mouse: click a tip to choose it, drag it to move it; click an empty place to add a rod there; click the "
    "keys below.",
    "Depths are computed, not measured. Not for navigation.",
)


def heads(units: DisplaySystem) -> tuple[str, str, str]:
    """The columns' heads."""
    return f"depth {units.label(Dimension.LENGTH)}", "90 % in", f"pull {units.label(Dimension.FORCE)}"


def depth_words(rod: RodAnswer | None, units: DisplaySystem) -> tuple[str, str, str]:
    """A rod's depth, its interval and its pull; dashes where unknown."""
    if rod is None:
        return "–", "–", "–"

    def length(value: float | None) -> str:
        return units.show(value, Dimension.LENGTH, 0, label=False)

    interval = rod.depth_interval_m
    within = "–" if interval is None else f"{length(max(0.0, interval[0]))}–{length(interval[1])}"
    return length(rod.depth_m), within, units.show(rod.tension_N, Dimension.FORCE, 1, label=False)


def findings(worked: Worked | None, trouble: str, rods: int) -> list[tuple[str, str]]:
    """Lines and their inks: the check's findings, worst first, or why there are none."""
    if trouble:
        return [(f"It cannot be computed: {trouble}", "alarm")]
    if not rods:
        return [("No rod yet: a adds one.", "state")]
    if worked is None:
        return [("Computing depths and the check.", "state")]
    rank = {kind: place for place, kind in enumerate(KINDS)}
    found = sorted(worked.check.findings, key=lambda finding: rank.get(finding.kind, len(rank)))
    whys = [(f"{rod.key} {rod.name}: {why}", "caution") for rod in worked.depths.rods for why in (rod.why,) if why]
    lines = [(f"{finding.where}: {finding.what}", "caution") for finding in found]
    return [*whys, *lines] or [("The check found nothing. This is not a guarantee.", "label")]


def trolling(tables: Mapping[str, Any], worked: Worked | None, units: DisplaySystem) -> str:
    """The speed that the depths are computed for."""
    if worked is not None:
        return f"at {units.show(worked.speed_m_s, Dimension.SPEED, 1)} through water"
    given = tables.get("boat", {}).get("trolling_speed")
    path = ("boat", "trolling_speed")
    return f"at {shown_in(str(given), path, Dimension.SPEED, units)}" if given else "at the usual speed"
