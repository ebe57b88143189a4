"""Plans a whole pass at the controls: asks what is wanted, between which values and for how long; puts it away."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls
from sternwatch.console.controls.lists import Listing
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.gear.values.units import UNITS, convert, limit_words
from sternwatch.watch.whole_pass.wish import LEAST_S, MOST_S, USUAL_S, Box, Wish

NOT_YET = "The solver is being prepared; choose it again in a moment"
OVER, DEPTH, ZONE = "height over the bottom", "depth", "the zone of temperatures"
DEEPEST_M = 250.0
_TITLES = {OVER: "LURES OVER THE BOTTOM BY", DEPTH: "LURES FROM WHAT DEPTH"}
_MINUTES = "A PASS OF HOW MANY MINUTES"


def ask(controls: Controls, t_s: float) -> None:
    """Ask what lures should be brought into, beginning from the boat's place."""
    _ask(controls, None, t_s)


def ask_in_view(controls: Controls, t_s: float) -> None:
    """The same, but lures count only within the chart's view."""
    if controls.chart_view_m is None:
        controls.say("Look at the chart first: what it shows is the box", t_s)
        return
    _ask(controls, Box(*controls.chart_view_m), t_s)


def _ask(controls: Controls, box: Box | None, t_s: float) -> None:
    if controls.runner.passing is None:
        controls.say(NOT_YET, t_s)
        return
    controls.pass_box = box
    controls.listing = Listing("A PASS BY WHAT", "", (OVER, DEPTH, ZONE), t_s, what="pass")


def taken(controls: Controls, t_s: float) -> None:
    """Take what is wanted."""
    assert controls.listing is not None
    controls.pass_by = controls.listing.choice
    controls.listing = None
    if controls.pass_by == ZONE:
        _ask_minutes(controls, t_s)
    else:
        _type(controls, _TITLES[controls.pass_by], "pass from", controls.pass_from_m, t_s)


def _type(controls: Controls, title: str, what: str, value_m: float | None, t_s: float) -> None:
    unit = controls.units.length
    text = "" if value_m is None else f"{round(convert(value_m, unit), 1):g}"
    controls.typing = TypingLine(title, what, "", unit, t_s, text, offered=bool(text))


def _ask_minutes(controls: Controls, t_s: float) -> None:
    controls.typing = TypingLine(_MINUTES, "pass minutes", "", "min", t_s, f"{USUAL_S / 60.0:g}", offered=True)


def from_typed(controls: Controls, t_s: float) -> None:
    """Take the lower number."""
    value = _length(controls, t_s)
    if value is not None:
        controls.pass_from_m = value
        _type(controls, "TO", "pass to", controls.pass_to_m, t_s)


def to_typed(controls: Controls, t_s: float) -> None:
    """Take the greater number."""
    value = _length(controls, t_s)
    if value is None or controls.pass_from_m is None:
        return
    if value <= controls.pass_from_m:
        assert controls.typing is not None
        controls.want(controls.typing.value_words, f"more than {controls.length(controls.pass_from_m)}", t_s)
        return
    controls.pass_to_m = value
    _ask_minutes(controls, t_s)


def _length(controls: Controls, t_s: float) -> float | None:
    line = controls.typing
    assert line is not None
    if line.value is None:
        return None
    value = UNITS[line.unit].to_si(line.value)
    if not 0.0 <= value <= DEEPEST_M:
        controls.want(line.value_words, f"0 to {limit_words(DEEPEST_M, line.unit)}", t_s)
        return None
    return value


def minutes_typed(controls: Controls, t_s: float) -> None:
    """Take the minutes and plan the pass."""
    line, passing = controls.typing, controls.runner.passing
    assert line is not None
    if line.value is None or passing is None:
        return
    lasts_s = line.value * 60.0
    if not LEAST_S <= lasts_s <= MOST_S:
        controls.want(line.value_words, f"{LEAST_S / 60:.0f} to {MOST_S / 60:.0f} min", t_s)
        return
    controls.typing = None
    band = (controls.pass_from_m or 0.0, controls.pass_to_m or 0.0)
    if controls.runner.again is not None:
        controls.runner.again.drop()  # one can steer only one way
    passing.want(
        Wish(
            over_bottom_m=band if controls.pass_by == OVER else None,
            depth_m=band if controls.pass_by == DEPTH else None,
            zone=controls.pass_by == ZONE,
            box=controls.pass_box,
            lasts_s=lasts_s,
            risk=controls.preferences.risk,
        )
    )
    controls.say("PASS looking for a way; it takes some seconds", t_s)


def no_more(controls: Controls, t_s: float) -> None:
    """Put the pass away."""
    if controls.runner.passing is not None:
        controls.runner.passing.drop()
    controls.say("PASS dropped", t_s)
