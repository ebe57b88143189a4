"""Planning a whole pass at the desk: what is wanted, between what, for how long; and put away."""

from __future__ import annotations

from sternwatch.console.desk.hand import Desk
from sternwatch.console.desk.lists import Listing
from sternwatch.console.desk.typing_line import TypingLine
from sternwatch.gear.values.units import UNITS, convert
from sternwatch.watch.whole_pass.wish import LEAST_S, MOST_S, USUAL_S, Box, Wish

NOT_YET = "The solver is being prepared; choose it again in a moment"
OVER, DEPTH, ZONE = "height over the bottom", "depth", "the zone of temperatures"
DEEPEST_M = 250.0
_TITLES = {OVER: "LURES OVER THE BOTTOM BY", DEPTH: "LURES FROM WHAT DEPTH"}
_MINUTES = "A PASS OF HOW MANY MINUTES"


def ask(desk: Desk, t_s: float) -> None:
    """Ask what lures are to be brought into, from where she is."""
    _ask(desk, None, t_s)


def ask_in_view(desk: Desk, t_s: float) -> None:
    """The same, and lures count in what the chart shows."""
    if desk.chart_view_m is None:
        desk.say("The chart was not looked at yet: what it shows is the box", t_s)
        return
    _ask(desk, Box(*desk.chart_view_m), t_s)


def _ask(desk: Desk, box: Box | None, t_s: float) -> None:
    if desk.runner.passing is None:
        desk.say(NOT_YET, t_s)
        return
    desk.pass_box = box
    desk.listing = Listing("A PASS BY WHAT", "", (OVER, DEPTH, ZONE), t_s, what="pass")


def taken(desk: Desk, t_s: float) -> None:
    """Enter on what is wanted."""
    assert desk.listing is not None
    desk.pass_by = desk.listing.choice
    desk.listing = None
    if desk.pass_by == ZONE:
        _ask_minutes(desk, t_s)
    else:
        _type(desk, _TITLES[desk.pass_by], "pass from", desk.pass_from_m, t_s)


def _type(desk: Desk, title: str, what: str, value_m: float | None, t_s: float) -> None:
    unit = desk.units.length
    text = "" if value_m is None else f"{round(convert(value_m, unit), 1):g}"
    desk.typing = TypingLine(title, what, "", unit, t_s, text)


def _ask_minutes(desk: Desk, t_s: float) -> None:
    desk.typing = TypingLine(_MINUTES, "pass minutes", "", "min", t_s, f"{USUAL_S / 60.0:g}")


def from_typed(desk: Desk, t_s: float) -> None:
    """Enter on the lower number."""
    value = _length(desk, t_s)
    if value is not None:
        desk.pass_from_m = value
        _type(desk, "TO", "pass to", desk.pass_to_m, t_s)


def to_typed(desk: Desk, t_s: float) -> None:
    """Enter on the greater one."""
    value = _length(desk, t_s)
    if value is None or desk.pass_from_m is None:
        return
    if value <= desk.pass_from_m:
        assert desk.typing is not None
        desk.say(f"{desk.typing.value_words}: more than {desk.length(desk.pass_from_m)} is accepted", t_s)
        desk.typing.text = ""
        return
    desk.pass_to_m = value
    _ask_minutes(desk, t_s)


def _length(desk: Desk, t_s: float) -> float | None:
    line = desk.typing
    assert line is not None
    if line.value is None:
        return None
    value = UNITS[line.unit].to_si(line.value)
    if not 0.0 <= value <= DEEPEST_M:
        desk.say(f"{line.value_words}: 0 to {convert(DEEPEST_M, line.unit):.0f} is accepted", t_s)
        line.text = ""
        return None
    return value


def minutes_typed(desk: Desk, t_s: float) -> None:
    """Enter on the minutes: the pass is planned."""
    line, passing = desk.typing, desk.runner.passing
    assert line is not None
    if line.value is None or passing is None:
        return
    lasts_s = line.value * 60.0
    if not LEAST_S <= lasts_s <= MOST_S:
        desk.say(f"{line.value_words}: {LEAST_S / 60:.0f} to {MOST_S / 60:.0f} min is accepted", t_s)
        line.text = ""
        return
    desk.typing = None
    band = (desk.pass_from_m or 0.0, desk.pass_to_m or 0.0)
    if desk.runner.again is not None:
        desk.runner.again.drop()  # nobody steers two ways
    passing.want(
        Wish(
            over_bottom_m=band if desk.pass_by == OVER else None,
            depth_m=band if desk.pass_by == DEPTH else None,
            zone=desk.pass_by == ZONE,
            box=desk.pass_box,
            lasts_s=lasts_s,
            risk=desk.preferences.risk,
        )
    )
    desk.say("PASS  looking for a way; it takes some seconds", t_s)


def no_more(desk: Desk, t_s: float) -> None:
    """The pass is put away."""
    if desk.runner.passing is not None:
        desk.runner.passing.drop()
    desk.say("PASS  put away", t_s)
