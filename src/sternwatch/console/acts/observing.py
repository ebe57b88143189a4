"""Observations of the chosen rod: one key for a touch of the bottom, a number for the others. Nothing modal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.gear.values.units import UNITS, Dimension, limit_words, unit_label
from sternwatch.watch.picture.model import RodPicture
from sternwatch.water.profile import DEEPEST_M

STEEPEST_DEG = 90.0
HARDEST_N = 5000.0

_At = Literal["lure", "device", "ball"]


@dataclass(frozen=True, slots=True)
class _Kind:
    """What to ask for one kind of observation."""

    title: str  # the typing line's title, for a rod and a piece of its chain
    dimension: Dimension
    field: str
    depth: bool = False


_KINDS = {
    "seen on sounder": _Kind("{at} OF {rod} ON THE SOUNDER: at what depth?", Dimension.LENGTH, "depth_m", True),
    "logger": _Kind("LOGGER AT THE {at} OF {rod}: what depth?", Dimension.LENGTH, "depth_m", True),
    "entry angle": _Kind(
        "{rod}: angle of its line below the horizontal, at the water?", Dimension.ANGLE, "angle_deg"
    ),
    "cable angle": _Kind("{rod}: angle of its cable off the vertical, at the water?", Dimension.ANGLE, "angle_deg"),
    "pull": _Kind("{rod}: pull at its tip?", Dimension.FORCE, "pull_N"),
}
WHAT = tuple(_KINDS)


def touched(controls: Controls, t_s: float) -> None:
    """Enter that the chosen rod touched bottom now, at the depth sounded where its tackle was."""
    rod = controls.chosen_rod(t_s)
    if rod is None:
        return
    controls.typing = None
    words = f"{controls.name(rod)} touched bottom"
    action = controls.submit("observed", rod.key, words, t_s, what="touched bottom")
    controls.say(f"TOUCHED BOTTOM  {controls.name(rod)}", t_s, Tone.ENTRY, action)


def ask(controls: Controls, what: str, t_s: float) -> None:
    """Ask for the number of one kind of observation of the chosen rod."""
    rod = controls.chosen_rod(t_s)
    if rod is None:
        return
    if what == "cable angle" and rod.rig != "ball":
        controls.say(f"{controls.name(rod)} has no ball on a cable", t_s)
        return
    device: _At = "ball" if rod.rig == "ball" else "device"
    has_device = rod.rig in ("ball", "diver", "weight")
    at: _At = device if what == "seen on sounder" and has_device else "lure"
    _open(controls, rod, what, at, "lure" if at != "lure" else device if has_device else "", t_s)


def _open(controls: Controls, rod: RodPicture, what: str, at: str, other: str, t_s: float, text: str = "") -> None:
    kind = _KINDS[what]
    controls.typing = TypingLine(
        kind.title.format(rod=controls.name(rod), at=at.upper()), f"observed {what}", f"{rod.key} {at}",
        controls.units.symbol(kind.dimension), t_s, text, other=other if kind.depth else "",
    )  # fmt: skip


def other(controls: Controls, t_s: float) -> None:
    """Switch between the lure and the device at the same typed depth."""
    line = controls.typing
    assert line is not None
    key, at = line.of.split()
    rod = controls.rod(key)
    if rod is not None:
        _open(controls, rod, line.what.removeprefix("observed "), line.other, at, t_s, line.text)


def typed(controls: Controls, t_s: float) -> None:
    """Take the typed number and enter it."""
    line = controls.typing
    assert line is not None
    assert line.value is not None
    what = line.what.removeprefix("observed ")
    kind = _KINDS[what]
    key, at = line.of.split()
    # An entry has angles in degrees, as typed; all else in SI.
    value = line.value if kind.dimension is Dimension.ANGLE else UNITS[line.unit].to_si(line.value)
    most = {"depth_m": DEEPEST_M, "angle_deg": STEEPEST_DEG, "pull_N": HARDEST_N}[kind.field]
    least_wrong = kind.field == "pull_N" and value <= 0.0
    if value > most or least_wrong:
        angle = kind.dimension is Dimension.ANGLE
        highest = f"{most:g} {unit_label(line.unit)}" if angle else limit_words(most, line.unit)
        asked = "more than 0, and " if kind.field == "pull_N" else ""
        controls.want(line.value_words, f"{asked}at most {highest}", t_s)
        return
    controls.typing = None
    named = controls.name(controls.rod(key), key)
    part = f" {at}" if kind.depth else ""
    words = f"{named}{part} {what} {line.value_words}"
    fields = {kind.field: value} | ({"at": at} if kind.depth else {})
    action = controls.submit("observed", key, words, t_s, what=what, **fields)
    controls.say(f"{what.upper()}  {named}{part} {line.value_words}", t_s, Tone.ENTRY, action)
