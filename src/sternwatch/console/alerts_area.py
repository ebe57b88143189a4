"""Alerts, worst first, the advice beside each; the worst as a full-width inverse line."""

from __future__ import annotations

from dataclasses import dataclass

from textual.geometry import Size

from sternwatch.console.canvas import Grid, Painted
from sternwatch.console.look import Look
from sternwatch.console.rod_words import SIGNS, ago
from sternwatch.watch.picture import Alert, AlertState, Picture, Priority

_QUIET = "No alert raised."
_HEAD = 10  # cells before the text: the priority in words


class AlertsArea(Painted):
    """The alerts that stand."""

    _wanted = 0

    def show(self, picture: Picture) -> None:
        before, self._wanted = self._wanted, len(_lines(picture.alerts, self.size.width, ">"))
        if before != self._wanted:
            self.refresh(layout=True)
        super().show(picture)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        """A row or two whatever stands, so that the views stay where they are when an alert comes; more for more."""
        least, most = (1, 2) if viewport.height < 30 else (1, 3) if viewport.height < 40 else (2, 5)
        return min(max(self._wanted, least), most)

    def paint(self, grid: Grid, picture: Picture, look: Look) -> None:
        if not picture.alerts:
            grid.put(1, 0, _QUIET, "label")
            return
        lines = _lines(picture.alerts, grid.width, SIGNS[look.glyphs].to)
        more = _hidden(lines, grid.height)
        for y, line in enumerate(lines[: grid.height]):
            note = f"+{more} more" if more and y == grid.height - 1 else line.state
            _write(grid, y, line, note)


@dataclass(frozen=True)
class _Line:
    """One line of the area; a long alert takes a second for its advice."""

    alert: Alert
    head: str
    text: str
    advice: str
    advice_at: int
    ink: str
    band: bool
    state: str


def _lines(alerts: tuple[Alert, ...], width: int, arrow: str) -> list[_Line]:
    """The lines of all alerts: the text whole, the advice beside it where it fits, beneath where it does not."""
    split = _split(alerts, width)
    lines: list[_Line] = []
    for number, alert in enumerate(alerts):
        acknowledged = alert.state is AlertState.ACKNOWLEDGED
        # The worst, and every alarm, is inverse over the full width; an acknowledged one has been seen.
        band = not acknowledged and (number == 0 or alert.priority is Priority.ALARM)
        ink = "acknowledged" if acknowledged else f"{alert.priority.value} band" if band else alert.priority.value
        text, state = _text(alert), _state(alert)
        advice = f"{arrow} {alert.advice}" if alert.advice else ""
        end = width - 1 - (len(state) + 2 if state else 0)
        start = max(split, _HEAD + len(text) + 2)
        if start + len(advice) > end:
            start = _HEAD + len(text) + 2
        beside = start + len(advice) <= end
        lines.append(_Line(alert, _head(alert), text, advice if beside else "", start, ink, band, state))
        if advice and not beside:
            at = _HEAD if _HEAD + len(advice) <= width - 1 else 1
            lines.append(_Line(alert, "", "", advice, at, ink, band, ""))
    return lines


def _hidden(lines: list[_Line], room: int) -> int:
    """How many alerts have no line at all."""
    return len({line.alert.id for line in lines} - {line.alert.id for line in lines[:room]})


def _head(alert: Alert) -> str:
    word = alert.priority.value.upper()
    return f"{word:<8}" if alert.state is not AlertState.ACKNOWLEDGED else f"{word.lower():<8}"


def _state(alert: Alert) -> str:
    """What the crew did about it, or how long is left."""
    if alert.state is AlertState.ACKNOWLEDGED:
        return "acknowledged"
    return "" if alert.time_left_s is None else f"in {ago(alert.time_left_s)}"


def _split(alerts: tuple[Alert, ...], width: int) -> int:
    """The cell from which advice stands, the same on every line."""
    return min(max((len(_text(alert)) for alert in alerts), default=0) + _HEAD + 2, width * 3 // 5)


def _text(alert: Alert) -> str:
    """Its text; the rods' keys before it unless it begins with one."""
    named = not alert.keys or alert.text.startswith(alert.keys)
    return alert.text if named else f"{' '.join(alert.keys)}  {alert.text}"


def _write(grid: Grid, y: int, line: _Line, note: str) -> None:
    plain = line.ink if line.band or line.ink == "acknowledged" else "text"
    if line.band:
        grid.fill(0, y, grid.width, 1, " ", line.ink)
    end = grid.width - 1
    if note:
        end = grid.put_right(end, y, note, line.ink if line.band else "label") - 1
    grid.put(1, y, line.head, line.ink)
    grid.put(_HEAD, y, _cut(line.text, max(end - _HEAD, 0)), plain)
    if line.advice:
        grid.put(line.advice_at, y, _cut(line.advice, max(end - line.advice_at, 0)), plain)


def _cut(text: str, room: int) -> str:
    return text if len(text) <= room else f"{text[: max(room - 1, 0)]}…"[:room]
