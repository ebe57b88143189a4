"""The trimmed row: what the page needs of a picture once a second, in under a thousand bytes for twelve rods."""

from __future__ import annotations

import json
from typing import Any

from sternwatch.deck import figures
from sternwatch.deck.about import letting_out_order, wanted_line_m
from sternwatch.deck.shown import Shown
from sternwatch.feed.readings import Quantity, SensorState
from sternwatch.gear.values.units import Dimension
from sternwatch.printable import printable
from sternwatch.watch.picture.alert import Alert, AlertState
from sternwatch.watch.picture.manoeuvre import side_of
from sternwatch.watch.picture.model import Picture, RodPicture, RodState, SolverState
from sternwatch.watch.picture.stern import across_stern

MOST_BYTES = 1000
_TEXT = 110  # characters of an alert's text, and of its advice
_SHORT = 40  # characters, where a text takes too many bytes
_HITS = 3
_GOING = 3  # the words name this many rods letting out at once; the tiles show all
_TURNING_DEG_S = 0.15  # a slower rate is no turn

# One letter each, so that twelve rods fit.
STATES = {RodState.IN: "i", RodState.LETTING_OUT: "o", RodState.FISHING: "f", RodState.REELING: "r",
          RodState.FIGHTING: "x"}  # fmt: skip
SOLVERS = {SolverState.SETTLED: "", SolverState.UNSETTLED: "u", SolverState.SLACK: "s", SolverState.PULLED_UNDER: "p",
           SolverState.FAILED: "e", SolverState.OLD: "o", SolverState.NONE: "n"}  # fmt: skip


def row(shown: Shown, now_s: float, *, number: int = 0, positions: bool = False) -> dict[str, Any]:
    """The row at monotonic time ``now_s`` [s], its ``t``. ``age`` [s] is the time since the helm's last news.

    Rods go from port to starboard, as in ``about``. Each is (depth, low, high, state, line out, temperature, zone,
    solver, hits), cut after the last known value.
    """
    picture, units = shown.picture, shown.units
    said: dict[str, Any] = {
        "n": number,
        "t": round(now_s, 2),
        "age": round(max(now_s - shown.told_s, 0.0), 1),
        "face": shown.face,
        "turn": _turn(shown, now_s),
    }
    if shown.paused:
        said["paused"] = 1
    if picture is None:
        said["busy"] = shown.busy or "No picture yet"
        return said
    own = picture.own
    said |= {
        "boat": [
            units.show(own.speed_mean_m_s if own.speed_mean_m_s is not None else own.speed_m_s, Dimension.SPEED, 1),
            own.speed_source.value,
            figures.whole(picture.bottom_m, units),
            figures.temperature(_surface_c(picture), units),
        ],
        "now": now_words(shown),
        "alert": _alert(picture.alerts[0]) if picture.alerts else None,
        "fish": [
            [one.key, None if one.clear is None else list(one.clear), int(one.ball_down)] for one in picture.fights
        ],
        "hits": _hits(picture),
        "rods": [_rod(rod, shown) for rod in across_stern(picture.rods)],
    }
    if positions and own.position_deg is not None:
        said["at"] = [round(part, 5) for part in own.position_deg]
    return said


def packed(said: dict[str, Any]) -> bytes:
    """A row as bytes. It drops the least important parts until the row fits."""
    data = _json(said)
    for shorten in (_one_hit, _no_advice, _one_fish, _short_words):
        if len(data) <= MOST_BYTES:
            break
        data = _json(said := shorten(said))
    return data


def _one_hit(said: dict[str, Any]) -> dict[str, Any]:
    return {**said, "hits": said.get("hits", [])[:1]}


def _no_advice(said: dict[str, Any]) -> dict[str, Any]:
    alert = said.get("alert")
    return {**said, "alert": alert and [*alert[:2], "", *alert[3:]]}


def _one_fish(said: dict[str, Any]) -> dict[str, Any]:
    return {**said, "fish": said.get("fish", [])[:1]}


def _short_words(said: dict[str, Any]) -> dict[str, Any]:
    """Shorten words in scripts that take several bytes per letter."""
    alert = said.get("alert")
    return {
        **said,
        "now": _cut(said.get("now", ""), _SHORT),
        "turn": _cut(said["turn"], _SHORT),
        "alert": alert and [alert[0], _cut(alert[1], _SHORT), *alert[2:]],
    }


def _json(said: dict[str, Any]) -> bytes:
    return printable(json.dumps(said, ensure_ascii=False, separators=(",", ":"), allow_nan=False)).encode()


def _rod(rod: RodPicture, shown: Shown) -> list[Any]:
    units = shown.units
    low, high = figures.ends(rod.depth_interval_m, units) if rod.depth_m is not None else (None, None)
    made: list[Any] = [
        figures.depth(rod.depth_m, units),
        low,
        high,
        STATES[rod.state],
        figures.line(rod.line_out_m, units),
        figures.temperature(rod.temperature_c, units),
        None if rod.in_zone is None else int(rod.in_zone),
        SOLVERS[rod.solver] if rod.state is not RodState.IN else "",
        rod.hits,
    ]
    while made and made[-1] in (None, "", 0):
        made.pop()
    return made


def now_words(shown: Shown) -> str:
    """What to let out now: "6 S LOW: out to 172 ft, setting low". With none going out: the next."""
    picture = shown.picture
    if picture is None or picture.fights:
        return ""
    going = [rod for rod in across_stern(picture.rods) if rod.state is RodState.LETTING_OUT]
    if going:
        more = f" · and {len(going) - _GOING} more" if len(going) > _GOING else ""
        return " · ".join(_out_words(picture, rod, shown) for rod in going[:_GOING]) + more
    waiting = {rod.key: rod for rod in picture.rods if rod.state is RodState.IN}
    following = next((key for key in letting_out_order(shown) if key in waiting), None)
    return "" if following is None else f"Next {_out_words(picture, waiting[following], shown)}"


def _out_words(picture: Picture, rod: RodPicture, shown: Shown) -> str:
    length = figures.line(wanted_line_m(picture, rod), shown.units)
    unit = shown.units.label(Dimension.LENGTH)
    to = "length not known" if length is None else f"out to {length} {unit}"
    setting = f", setting {rod.setting}" if rod.setting else ""
    lead = "" if rod.lead_m is None else f", lead {figures.line(rod.lead_m, shown.units)} {unit}"
    return f"{rod.key} {rod.name}: {to}{setting}{lead}"


def _turn(shown: Shown, now_s: float) -> str:
    """The called turn, else the boat's present turn; nothing on a straight course."""
    if shown.turn is not None and (left_s := round(shown.turn.at_s - now_s)) > 0:
        return f"{shown.turn.words} in {left_s} s"
    rate = shown.picture.own.rate_of_turn_deg_s if shown.picture is not None else None
    if rate is not None and abs(rate) >= _TURNING_DEG_S:
        return f"turning to {side_of(rate)} {abs(rate) * 10:.0f}° per 10 s"
    return ""


def _alert(alert: Alert) -> list[Any]:
    return [alert.priority.value, _cut(alert.text), _cut(alert.advice), int(alert.state is AlertState.ACKNOWLEDGED)]


def _cut(text: str, most: int = _TEXT) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"


def _hits(picture: Picture) -> list[list[Any]]:
    """The last hits, newest first: rod, how long ago [s], outcome."""
    counted = [hit for hit in picture.hits if hit.rod is not None and hit.state != "no fish"]
    return [[hit.rod, max(round(picture.t_s - hit.t_s), 0), hit.state] for hit in counted[: -_HITS - 1 : -1]]


def _surface_c(picture: Picture) -> float | None:
    read = picture.sensors.get(Quantity.WATER_TEMPERATURE)
    fresh = read is not None and read.state is SensorState.FRESH and not read.suspect
    return read.value if fresh and read is not None and isinstance(read.value, float) else None
