"""A rod's words and numbers on the board, in the crew's units, longest form first. No layout, no colour.

Each function returns forms from the longest to the shortest. The board takes the first that fits every rod, so that a
row has the same form from port to starboard.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sternwatch.console.paint.look import Glyphs
from sternwatch.gear.values.units import Dimension, DisplaySystem, convert
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import Picture, RodPicture, RodState, SolverState
from sternwatch.watch.picture.stern import across_stern as across_stern

UNKNOWN = "–"
ABREAST_M = 12.0  # the sounding for the bottom there was taken further away than this
TREND_M = 0.3048  # a change of this much in 10 s shows as rising or sinking

Forms = tuple[str, ...]


@dataclass(frozen=True)
class Signs:
    """The small signs of one set of glyphs."""

    hit: str
    in_zone: str
    out_zone: str
    sinking: str
    rising: str
    to: str
    chosen: str
    bottom: str
    nearest: str
    fish: str
    device: str
    bar: str
    heavy_bar: str
    rule: str
    heavy_rule: str
    ends: tuple[str, str]
    dashes: tuple[str, str, str, str]  # upright, as the views dash lines
    plain: bool = False  # in ASCII alone


_FINE = Signs(
    "●", "◆", "◇", "▼", "▲", "→", "▸", "↓", "↔", "∝", "•", "│", "┃", "─", "━", ("├", "┤"), ("│", "╎", "┊", "╏")
)
_PLAIN = Signs(
    "*",
    "*",
    "o",
    "v",
    "^",
    ">",
    ">",
    "v",
    "@",
    "~<",
    "o",
    "|",
    "#",
    "-",
    "=",
    ("|", "|"),
    ("|", "!", ":", ";"),
    True,
)
SIGNS: dict[Glyphs, Signs] = {"braille": _FINE, "block": _FINE, "plain": _PLAIN}


@dataclass(frozen=True)
class Said:
    """One entry of the board: its forms and its ink."""

    forms: Forms
    ink: str


def length(value_m: float | None, units: DisplaySystem) -> str:
    """A length in whole feet or half metres, or the dash."""
    if value_m is None:
        return UNKNOWN
    number = convert(value_m, units.length)
    if units.length == "m":
        return f"{round(number * 2) / 2 + 0.0:.1f}"
    return f"{round(number) + 0:d}"


def whole(value_m: float | None, units: DisplaySystem) -> str:
    """A length without decimals, or the dash, for line out and scale marks."""
    return UNKNOWN if value_m is None else f"{round(convert(value_m, units.length)) + 0:d}"


def speed(value_m_s: float | None, units: DisplaySystem) -> str:
    """A speed to one decimal, or the dash."""
    return UNKNOWN if value_m_s is None else f"{convert(value_m_s, units.speed) + 0.0:.1f}"


def temperature(value_c: float | None, units: DisplaySystem, decimals: int | None = None) -> str:
    """Whole degrees Fahrenheit or tenths of a degree Celsius, or the dash."""
    if value_c is None:
        return UNKNOWN
    if decimals is None:
        decimals = 0 if units.temperature == "degF" else 1
    return f"{convert(value_c, units.temperature) + 0.0:.{decimals}f}"


def span(seconds: float) -> str:
    """A length of time in a sentence: 34 s, 12 min, 1 h 5 min."""
    seconds = max(seconds, 0.0)
    if seconds < 60:
        return f"{int(seconds)} s"
    if seconds < 3600:
        return f"{int(seconds // 60)} min"
    return f"{int(seconds // 3600)} h {int(seconds % 3600 // 60)} min"


def ago(seconds: float) -> str:
    """A time since where cells are few: 34s, 12m, 1h05."""
    seconds = max(seconds, 0.0)
    if seconds < 60:
        return f"{int(seconds)}s"
    if seconds < 3600:
        return f"{int(seconds // 60)}m"
    return f"{int(seconds // 3600)}h{int(seconds % 3600 // 60):02d}"


def name_tab(rod: RodPicture) -> str:
    """The key and its short name."""
    return f"{rod.key} {rod.name}"


def rough(rod: RodPicture, units: DisplaySystem, room: int) -> str:
    """The depth in plain signs, after a sign where it is rough and there is room."""
    text = length(rod.depth_m, units)
    return f"~{text}" if rod.rough and len(text) < room else text


def depth_ink(rod: RodPicture) -> str:
    """The ink that shows how reliable the depth is."""
    if rod.depth_m is None:
        return "unknown"
    return "old" if rod.solver in (SolverState.OLD, SolverState.UNSETTLED) else "number"


def rod_state(rod: RodPicture, units: DisplaySystem, signs: Signs) -> Said | None:
    """The word for the crew's work on the rod; None while it simply fishes."""
    if rod.state is RodState.FIGHTING:
        return Said(("FIGHTING", "FIGHT"), "fight")
    if rod.state is RodState.IN:
        return Said(("IN",), "state")
    if rod.state is RodState.FISHING:
        return None
    word = "OUT" if rod.state is RodState.LETTING_OUT else "REEL"
    end = "" if rod.moving_to_m is None else whole(rod.moving_to_m, units)
    return Said((f"{word}{signs.to} {end}".rstrip(), f"{word}{signs.to}{end}", f"{word}{signs.to}"), "state")


_SOLVER_WORDS: dict[SolverState, tuple[Forms, str]] = {
    SolverState.UNSETTLED: (("UNSETTLED", "SETTLES"), "state"),
    SolverState.SLACK: (("SLACK",), "caution band"),
    SolverState.PULLED_UNDER: (("PULLED UNDER", "UNDER"), "caution band"),
    SolverState.FAILED: (("FAILED",), "caution band"),
    SolverState.OLD: (("OLD",), "state"),
    SolverState.NONE: (("NO DEPTH", "DEPTH ?"), "state"),
}


def solver_state(rod: RodPicture) -> Said | None:
    """The word for the worth of the computed place; None where it is settled, or the rod is in."""
    if rod.state is RodState.IN or rod.solver not in _SOLVER_WORDS:
        return None
    if rod.state is RodState.FISHING and rod.solver is SolverState.NONE and rod.line_out_m is None:
        return Said(("LINE UNKNOWN", "LINE ?"), "caution band")
    return Said(*_SOLVER_WORDS[rod.solver])


def target(rod: RodPicture, units: DisplaySystem) -> Forms:
    """The wanted depth, in as many forms as a ball's, beside which it stands."""
    if rod.target_depth_m is None:
        return ("",)
    wanted = whole(rod.target_depth_m, units)
    return (f"want {wanted}", f"want {wanted}", wanted)


def ball_or_target(rod: RodPicture, units: DisplaySystem) -> Forms:
    """A ball's own depth (not its lure's) and the wanted depth; without a ball only the wanted depth."""
    ball = ball_m(rod)
    if ball is None:
        return target(rod, units)
    deep = whole(ball, units)
    wanted = target(rod, units)[0]
    return (f"ball {deep} {wanted}".rstrip(), f"ball {deep}", deep)


def ball_m(rod: RodPicture) -> float | None:
    """The depth of a downrigger's ball."""
    if rod.rig != "ball" or not rod.points or (len(rod.points) < 2 and rod.depth_m is not None):
        return None
    return rod.points[0].depth_m


def interval(rod: RodPicture, units: DisplaySystem) -> str:
    """The 90 % interval from end to end in whole units, rounded outward; the dash where unknown.

    Its halves differ, often as two to one, so a single ± would be wrong on one side.
    """
    if rod.depth_m is None or rod.depth_interval_m is None:
        return UNKNOWN
    low, high = (convert(end, units.length) for end in rod.depth_interval_m)
    return f"{math.floor(max(low, 0.0) + 1e-9)}–{math.ceil(max(high, 0.0) - 1e-9)}"


def trend(rod: RodPicture, signs: Signs) -> Forms:
    """The word for rising or sinking, beyond a foot in ten seconds."""
    change = rod.depth_change_10s_m
    if change is None or abs(change) <= TREND_M:
        return ("",)
    return (f"{signs.sinking} sinking", signs.sinking) if change > 0 else (f"{signs.rising} rising", signs.rising)


def line_out(rod: RodPicture, units: DisplaySystem) -> Forms:
    """Line out as a counter reading, with the diver's setting or the downrigger's lead."""
    if rod.moving_to_m is not None and rod.uncounted_m > 0.0:
        first = whole(rod.uncounted_m, units)  # the counter stands until then
        return (f"{first} {units.length}, then it counts", f"{first} before 0", f"{first} first", f"{first} to 0")
    out = whole(rod.line_out_m, units)
    if rod.setting:
        short = tuple(f"{out} {rod.setting[:letters]}." for letters in (4, 3) if len(rod.setting) > letters + 1)
        return (f"{out} {rod.setting}", *short, out)
    if rod.lead_m is not None:
        lead = whole(rod.lead_m, units)
        return (f"{out} lead {lead}", f"{out} +{lead}", f"{out}+{lead}")
    return (out,)


def zone_mark(rod: RodPicture, signs: Signs) -> str:
    """The mark for in or out of the zone; nothing where that is unknown."""
    if rod.in_zone is None:
        return ""
    return signs.in_zone if rod.in_zone else signs.out_zone


def warmth(rod: RodPicture, units: DisplaySystem, signs: Signs) -> Forms:
    """The temperature at the lure, and whether it is in the zone."""
    mark, text = zone_mark(rod, signs), temperature(rod.temperature_c, units)
    if rod.temperature_c is None and rod.temperature_range_c is not None:
        low, high = (temperature(end, units, 0) for end in rod.temperature_range_c)
        return (f"{low}–{high}",)  # below the last reading: a range, and no mark of the zone
    roomy = f"{text} {mark} in zone" if rod.in_zone else f"{text} {mark}"
    return (roomy.rstrip(), f"{text} {mark}".rstrip(), f"{text}{mark}")


def zone(picture: Picture, units: DisplaySystem) -> str:
    """The wanted temperatures, in whole degrees or tenths, with their unit; "" where no zone is chosen."""
    if picture.zone_c is None:
        return ""
    low, high = (temperature(end, units) for end in picture.zone_c)
    return f"{low.removesuffix('.0')}–{high.removesuffix('.0')} {units.label(Dimension.TEMPERATURE)}"


def room(rod: RodPicture, units: DisplaySystem) -> str:
    """The least room between a piece of tackle and the bottom; the dash where it is unknown.

    ``~`` marks a bottom that was sounded abreast or comes from a grid.
    """
    if rod.bottom is None:
        return whole(rod.clearance_m, units)
    about = rod.bottom.off_m > ABREAST_M or rod.bottom.error_m is not None
    return f"{'~' if about else ''}{whole(rod.bottom.room_m, units)}"


def room_below(rod: RodPicture, units: DisplaySystem) -> Forms:
    """That room, its piece where that is not the lure, the wanted clearance, and the time of a touch."""
    below, text = rod.bottom, room(rod, units)
    if below is None:
        return (text,)
    if below.touches_s is not None:
        left = ago(below.touches_s)
        return (f"{text} touch {left}", f"{text} in {left}", f"{text} {left}", text)
    if below.error_m is not None:
        off = whole(below.error_m, units)
        return (f"{text} ±{off} by the grid", f"{text} ±{off} grid", f"{text}±{off}", text)
    if rod.clearance_wanted_m is not None:
        wanted = whole(rod.clearance_wanted_m, units)
        return (f"{text} want {wanted}", f"{text} ({wanted})", f"{text}/{wanted}", text)
    lure = rod.points[-1].what if rod.points else below.what
    return (text,) if below.what == lure else (f"{text} {below.what}", f"{text} {below.what[:4]}", text)


def nearest(rod: RodPicture, units: DisplaySystem) -> Forms:
    """The distance to the nearest other chain, and whose it is."""
    if rod.nearest_m is None:
        return (UNKNOWN,)
    far = whole(rod.nearest_m, units)
    return (
        (f"{far} to {rod.nearest_key}", f"{far} ({rod.nearest_key})", f"{far}:{rod.nearest_key}")
        if rod.nearest_key
        else (far,)
    )


def below_and_nearest(rod: RodPicture, units: DisplaySystem, signs: Signs) -> Forms:
    """Both distances in one row."""
    below, near = room(rod, units), whole(rod.nearest_m, units)
    key = rod.nearest_key or ""
    whose = f" ({key})" if key else ""
    return (
        f"{below}{signs.bottom} {near}{signs.nearest}{whose}",
        f"{below}{signs.bottom} {near}{signs.nearest}{key}",
        f"{below}{signs.bottom}{near}{signs.nearest}",
        f"{below} {near}",
    )


def hits(rod: RodPicture, t_s: float, signs: Signs) -> Forms:
    """The trip's hits, and the time since the last."""
    if rod.hits == 0:
        return ("",)
    dots = signs.hit * rod.hits if rod.hits <= 3 else f"{rod.hits}{signs.hit}"
    few = f"{rod.hits}{signs.hit}"
    last_s = None if rod.last_hit_t_s is None else t_s - rod.last_hit_t_s
    since, brief = ("", "") if last_s is None else (span(last_s), ago(last_s))
    told = tuple(f"{one} {time}".rstrip() for time in (since, brief) for one in (dots, few))
    return (*told, f"{few}{brief}", few)


def checked(rod: RodPicture, t_s: float) -> Forms:
    """The time since the line was let out, changed or checked."""
    return ("",) if rod.set_t_s is None else (span(t_s - rod.set_t_s), ago(t_s - rod.set_t_s))


def hits_and_checked(rod: RodPicture, t_s: float, signs: Signs, width: int) -> Forms:
    """Both in ``width`` cells, the hits at the left and the line's age at the right; the hits alone without room."""
    age = checked(rod, t_s)[-1]
    alone = hits(rod, t_s, signs)[2:] if rod.hits else ("",) * 4  # gives as many forms as a rod with hits has
    both = tuple(f"{form.ljust(width - len(age) - 1)} {age}" for form in alone) if age else alone
    return (*both, *alone)


def wants_looking_at(rod: RodPicture) -> Said | None:
    """What needs a look but is no alert: the rod has left the zone, or its line was not checked for long."""
    if rod.left_zone_s is not None:
        return Said((f"LEFT ZONE {ago(rod.left_zone_s)}", "LEFT ZONE", "ZONE"), "state")
    if rod.unchecked:
        return Said(("CHECK LINE", "CHECK"), "state")
    return None


def worst_alert(picture: Picture, key: str) -> Alert | None:
    """The worst alert that names this rod; alerts are worst first."""
    return next((alert for alert in picture.alerts if key in alert.keys), None)


# Shorter words where a kind's own name does not fit.
_SHORT_KINDS = {
    "bottom touch": "TOUCH",
    "bottom near": "BOTTOM",
    "snag ahead": "SNAG",
    "net ahead": "NET",
    "lure speed": "SPEED",
    "pulled under": "UNDER",
    "propeller": "PROP",
}


def alert_words(alert: Alert) -> Forms:
    """An alert's kind as a column's word."""
    short = _SHORT_KINDS.get(alert.kind)
    return (alert.kind.upper(), short) if short is not None else (alert.kind.upper(),)


def alert_ink(alert: Alert, *, band: bool) -> str:
    """The ink of an alert: as a band, or as words."""
    if alert.state is AlertState.ACKNOWLEDGED and alert.priority is not Priority.ALARM:
        return "acknowledged"
    return f"{alert.priority.value} band" if band else alert.priority.value


def one_word(rod: RodPicture, alert: Alert | None, units: DisplaySystem, signs: Signs) -> Said | None:
    """Where there is room for one word: a warning, the crew's work, the worth of the number, or a caution."""
    told = None if alert is None else Said(alert_words(alert), alert_ink(alert, band=True))
    said = rod_state(rod, units, signs) or solver_state(rod)
    grave = alert is not None and alert.priority is not Priority.CAUTION
    return (told or said) if grave else (said or told)
